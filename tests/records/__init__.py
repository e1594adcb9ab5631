"""The use of the logbook's values: entry, classes, occasions, checklist, safety."""
