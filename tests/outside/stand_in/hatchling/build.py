"""Stands in for a builder of packages, see ``mesonpy``."""

from mesonpy import prepare_metadata_for_build_wheel

__all__ = ["prepare_metadata_for_build_wheel"]
