"""What holds for every test of a batch."""

import pytest
from ownmark.records.batch import writer


@pytest.fixture(autouse=True)
def no_hurry(monkeypatch):
    """However slow the machine is: what waits is stored because there is enough of it or it is the end."""
    monkeypatch.setattr(writer, "AT_ONCE_S", 1000.0)
