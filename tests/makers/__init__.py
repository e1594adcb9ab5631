"""Writers of recordings for tests, independent of the readers under test."""
