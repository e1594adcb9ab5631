"""A command as it is typed, and the logbook of the exports."""

import pytest
from ownmark.cli.main import main

from tests.records.conftest import new_logbooks_by_kept_sql  # noqa: F401
from tests.reports.exports.conftest import filled  # noqa: F401


@pytest.fixture
def typed(capsys, tmp_path, monkeypatch):
    """A command as it is typed in an empty folder with a logbook of its own: ends with ``code``, and what it says."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))

    def call(*words, code=0):
        found = main([str(word) for word in words])
        told = " ".join("".join(capsys.readouterr()).split())
        assert found == code, told
        return told

    return call
