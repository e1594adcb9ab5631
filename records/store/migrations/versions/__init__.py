"""One module a step; its number is the logbook's version."""
