"""New logbooks for tests: the steps to today's tables are gone through once, and their SQL is said again for the next.

Going through them takes alembic longer than most tests take with the logbook. What it says to a database that holds
nothing is the same each time, so it is kept and repeated in the same transaction. A logbook of an older version goes
through its steps, and so does every one that another process makes.
"""

from ownmark.records.store import opening
from sqlalchemy import event, inspect

_READING = ("SELECT", "PRAGMA", "SHOW")


class Replayed:
    """Takes the place of ``opening._migrate``."""

    def __init__(self, migrate):
        self.migrate = migrate
        self.said = {}  # by dialect: statements with their parameters

    def __call__(self, connection):
        dialect = connection.dialect.name
        if inspect(connection).has_table(opening.VERSION_TABLE):
            self.migrate(connection)
        elif dialect in self.said:
            for statement, parameters in self.said[dialect]:
                connection.exec_driver_sql(statement, parameters)
        else:
            self.said[dialect] = self._listened(connection)

    def _listened(self, connection):
        """Go through the steps; every statement that is no question."""
        said = []

        def listen(_, __, statement, parameters, ___, ____):
            if not statement.lstrip().upper().startswith(_READING):
                said.append((statement, parameters))

        event.listen(connection, "before_cursor_execute", listen)
        try:
            self.migrate(connection)
        finally:
            event.remove(connection, "before_cursor_execute", listen)
        return said
