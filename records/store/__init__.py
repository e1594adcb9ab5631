"""Where the logbook's values are kept: SQLite by default, PostgreSQL for a district. Nothing else knows SQL."""
