"""The two XML formats of tracks: TCX and GPX."""
