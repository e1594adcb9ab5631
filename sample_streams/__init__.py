"""The demo scenario: an invented school, six students, and the recordings of one test day.

``scenario.json`` lists the sheets in the order of the demo; ``generate.py`` made every file and the truth beside it.
"""

from pathlib import Path

FOLDER = Path(__file__).resolve().parent
