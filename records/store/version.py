"""Which version of the logbook this ownmark writes, and the table that tells it."""

SCHEMA = "0009"
"""The newest migration that this ownmark knows."""
VERSION_TABLE = "ownmark_version"
