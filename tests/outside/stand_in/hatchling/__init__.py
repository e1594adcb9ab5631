"""Stands in for a builder of packages, see ``mesonpy``."""
