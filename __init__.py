"""ownmark: one student, measured against that student's own mark.

The path of the data runs one way: bytes, ``ingest``, ``Recording``, ``metrics``, ``EffortSheet``, ``cli``.
"""

__version__ = "0.1.0"
