"""Tables of text: layout, columns, units, times, streams."""
