"""The migrations make the tables that the program knows."""

from importlib.resources import files

from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from ownmark.records import open_logbook
from ownmark.records.store.tables import metadata
from ownmark.records.store.version import SCHEMA, VERSION_TABLE


def test_the_migrations_end_at_the_version_that_is_known():
    script = ScriptDirectory(str(files("ownmark.records.store") / "migrations"))
    assert script.get_heads() == [SCHEMA]
    assert [step.revision for step in script.walk_revisions()][::-1] == [f"{n:04d}" for n in range(1, int(SCHEMA) + 1)]


def test_the_migrations_make_the_tables_that_are_used(logbook):
    with logbook.reading() as connection:
        context = MigrationContext.configure(connection, opts={"version_table": VERSION_TABLE, "compare_type": False})
        assert compare_metadata(context, metadata) == []


def test_alembic_is_loaded_only_to_make_or_change_tables(tmp_path):
    import subprocess
    import sys

    open_logbook(tmp_path / "logbook.db").close()
    code = (
        "import sys; from ownmark.records import open_logbook\n"
        "with open_logbook(sys.argv[1]) as logbook: logbook.students(), list(logbook.trials())\n"
        "print([name for name in ('alembic', 'psycopg', 'numpy', 'scipy', 'pandas') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "logbook.db")], capture_output=True, text=True, check=True
    )
    assert done.stdout == "[]\n"


def test_the_package_loads_no_database():
    import subprocess
    import sys

    code = (
        "import sys, ownmark.records\nownmark.records.check_code\n"
        "print([n for n in ('sqlalchemy', 'scipy', 'numpy') if n in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
