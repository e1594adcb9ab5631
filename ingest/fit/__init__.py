"""FIT, the binary format that most straps and watches write: the scan of its messages, and the streams in them."""
