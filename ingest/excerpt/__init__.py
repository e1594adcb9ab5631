"""The part of a recording that belongs to one trial: cut out of a file, written in an open form, read back equal."""
