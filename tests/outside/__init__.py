"""What the checks need and this folder does not hold: open recordings, a browser, a database server."""
