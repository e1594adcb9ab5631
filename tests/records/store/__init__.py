"""Checks of the logbook, on SQLite and on a private PostgreSQL server."""
