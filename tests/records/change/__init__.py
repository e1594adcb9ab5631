"""Checks of the logbook's values and of change."""
