"""The logbook's trials in forms that other systems take: CSV, XLSX, Parquet, JSON, HL7 FHIR; sentences for plans.

    from ownmark.reports.exports import export
    export(logbook, "xlsx", "district.xlsx", since=date(2026, 9, 1))

Trials are read once, in batches, and written as they come: memory does not grow with the logbook.
"""

from .rows import rows
from .run import FORMATS, Exported, export

__all__ = ["FORMATS", "Exported", "export", "rows"]
