"""Checks of ownmark, most of them against the outside world."""
