"""Lets ``python -m ownmark.cli`` do what ``ownmark`` does."""

import sys

from .main import main

sys.exit(main())
