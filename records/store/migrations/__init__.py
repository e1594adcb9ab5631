"""How a logbook came to its tables, step by step."""
