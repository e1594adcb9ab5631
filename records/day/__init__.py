"""A class's day as it happens: what was pressed, noted, received and answered, entry by entry."""
