"""The logbook of the exports, for the command that writes them."""

from tests.reports.exports.conftest import filled  # noqa: F401
