"""What the figures say, as codes with values; their words stand in ``words/``."""
