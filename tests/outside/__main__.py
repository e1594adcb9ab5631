"""``python -m tests.outside``: get what the checks need from outside, as far as that can be done here.

Nothing that is missing ends this: the tests are then skipped by name, and the last line of the run tells how to get it.
"""

import sys

from tests.outside import browser, recordings, system

SHELL, WHOLE = "chromium-headless-shell", "chromium"
"""Where the system has no browser without windows, the whole one does as well; tests in it take longer."""
WANTED = {
    SHELL: lambda: browser.shell() is not None,
    "libgomp1": lambda: system.has_library("libgomp.so.1"),
}


def main(what):
    """Get the recordings, what apt can bring, or both."""
    trouble = []
    if "recordings" in what and recordings.absent():
        print(f"Fetching open recordings into {recordings.folder()} (once, about 60 MB) ...", flush=True)
        trouble = recordings.fetch()
        for line in trouble:
            print(f"  not there: {line}")
    if "apt" in what and system.can_install():
        missing = [package for package, there in WANTED.items() if not there()]
        if missing:
            print(f"Installing {' and '.join(missing)} by apt-get (once) ...", flush=True)
            system.install(missing)
        if browser.chromium() is None:
            rest = [package for package, there in WANTED.items() if package != SHELL and not there()]
            system.install([*rest, WHOLE])  # apt installs all that it is asked for, or nothing
    return int(bool(trouble))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:] or ("recordings", "apt")))
