"""Memory that a worker's jobs free is kept for its next one."""

import ctypes

TRIM_THRESHOLD, MMAP_THRESHOLD = -1, -3
"""Parameters of mallopt(3) in the GNU C library."""
KEPT_BYTES = 64 * 2**20
"""What may lie free at the end of a worker's memory: the arrays of one job of 20 minutes."""
ONE_BYTES = 32 * 2**20
"""An array of more than this goes back to the system at once; the library takes no more here."""


def keep_memory() -> bool:
    """Have the C library keep what is freed, up to a limit; whether it can be told so.

    A job makes and frees some hundred arrays of a megabyte. By itself the library gives each back to the system and
    asks for it again, and the system fills every page of it with zeros anew: 4,600 pages a trial, a tenth of its time.
    Only GNU's library knows the two limits; elsewhere nothing is changed.
    """
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError, TypeError):
        return False
    return bool(mallopt(MMAP_THRESHOLD, ONE_BYTES)) and bool(mallopt(TRIM_THRESHOLD, KEPT_BYTES))
