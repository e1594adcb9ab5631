"""What the worker does: functions from plain JSON values to plain JSON values, over the logbook and received files.

Numbers and decisions come from ``ingest``, ``metrics`` and ``records``; nothing is worked out here. A job is a function
of a module here, named in that module's table.
"""
