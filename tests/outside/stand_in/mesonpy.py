"""Stands in for what would build a source archive: pip is told the archive's name, and nothing of it runs."""

from email import message_from_string
from pathlib import Path


def prepare_metadata_for_build_wheel(metadata_directory, config_settings=None):
    """Give pip the name and version that the archive, which is the working folder, states in its ``PKG-INFO``."""
    text = Path("PKG-INFO").read_text(encoding="utf-8")
    stated = message_from_string(text)
    name = f"{stated['Name'].replace('-', '_')}-{stated['Version']}.dist-info"
    folder = Path(metadata_directory) / name
    folder.mkdir()
    (folder / "METADATA").write_text(text, encoding="utf-8")
    return name
