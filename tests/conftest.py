"""Fixtures that every test may use."""

import os
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("ownmark", deadline=None)  # no test is timed: machines are noisy
settings.load_profile("ownmark")

REAL = Path(__file__).resolve().parents[2] / "shared" / "real"


@pytest.fixture(scope="session")
def real_dir() -> Path:
    """Folder of the open recordings that lie beside the project, not in it; in CI it must be there."""
    if not REAL.is_dir():
        if os.environ.get("CI"):
            pytest.fail(f"{REAL} is missing: the checks against real recordings must run in CI")
        pytest.skip("the folder of real recordings is not beside this clone")
    return REAL
