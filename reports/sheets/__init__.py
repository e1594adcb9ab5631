"""The builders: from the values of the logbook to pages."""
