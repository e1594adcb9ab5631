"""Change between a student's baseline and re-test. ``comparison.compare`` is the way in; the rest are its parts."""
