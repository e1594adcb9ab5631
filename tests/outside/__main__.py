"""``python -m tests.outside``: get what the checks need from outside, as far as that can be done here.

Nothing that is missing ends this: the tests are then skipped by name, and the last line of the run tells how to get it.
"""

import os
import sys

from tests.outside import browser, recordings

NO_APT = "OWNMARK_NO_APT"  # set: nothing is installed by apt


def main(what):
    """Get the recordings, the browser, or both."""
    missing = 0
    if "recordings" in what and recordings.absent():
        print(f"Fetching open recordings into {recordings.folder()} (once, about 60 MB) ...", flush=True)
        trouble = recordings.fetch()
        for line in trouble:
            print(f"  not there: {line}")
        missing += len(trouble)
    if "browser" in what and browser.chromium() is None and not os.environ.get(NO_APT) and browser.can_install():
        print("Installing Chromium by apt-get, to look at pages with (once) ...", flush=True)
        missing += not browser.install()
    return int(missing > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:] or ("recordings", "browser")))
