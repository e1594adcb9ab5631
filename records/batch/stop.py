"""Being stopped by whoever called: what is measured is stored first, a second press ends at once."""

from collections.abc import Generator
from contextlib import contextmanager


class Stop:
    """``pressed`` is a handler of SIGINT. A press interrupts only what is done inside of ``waiting``."""

    def __init__(self) -> None:
        self.asked = self.pressed_again = False
        self._waits = False

    def pressed(self, *_: object) -> None:
        """Somebody pressed Ctrl-C.

        Raises
        ------
        KeyboardInterrupt
            While something is waited for; the second time wherever it is.
        """
        self.pressed_again, self.asked = self.asked, True
        if self.pressed_again or self._waits:
            raise KeyboardInterrupt

    @contextmanager
    def waiting(self) -> Generator[None]:
        """A wait that a press may end.

        Raises
        ------
        KeyboardInterrupt
        """
        if self.asked:
            raise KeyboardInterrupt
        self._waits = True
        try:
            yield
        finally:
            self._waits = False
