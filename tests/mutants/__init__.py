"""Small wrong changes to the code, one at a time, to see whether the tests beside it notice."""
