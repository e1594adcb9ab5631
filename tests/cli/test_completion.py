"""Tab completes commands, options and files, never a student; no command starts later for it."""

import os
import subprocess
import sys

import pytest
from ownmark.cli.main import main
from ownmark.records import open_logbook
from ownmark.records.student import Student

MAIN = "import sys; from ownmark.cli.main import main; main()"


def offered(tmp_path, line):
    """What a shell is told at the end of a line."""
    (tmp_path / "strap.fit").write_bytes(b"")
    with open_logbook(tmp_path / "book.db") as logbook:
        if not logbook.students():
            logbook.add_student(Student(code="TH-11"))
    out = tmp_path / "out"
    asked = {"_ARGCOMPLETE": "1", "_ARGCOMPLETE_STDOUT_FILENAME": str(out), "IFS": "\013", "COMP_LINE": line}
    asked |= {"COMP_POINT": str(len(line)), "OWNMARK_LOGBOOK": str(tmp_path / "book.db"), "COMP_TYPE": "9"}
    subprocess.run([sys.executable, "-c", MAIN], env={**os.environ, **asked}, cwd=tmp_path, check=True, timeout=60)
    return {each.strip() for each in out.read_text(encoding="utf-8").split("\013") if each.strip()}


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("ownmark sa", {"safety"}),
        ("ownmark protocol ed", {"edit"}),
        ("ownmark change --fi", {"--figure"}),
        ("ownmark trial edit 1 --no", {"--note", "--no-practice"}),
        ("ownmark export x", {"xlsx"}),
        ("ownmark look st", {"strap.fit"}),
        ("ownmark change TH", set()),  # no student's code
        ("ownmark change st", set()),  # and no file where a code is meant
        ("ownmark student show T", set()),
        ("ownmark card TH-11 --protocol s", set()),
    ],
)
def test_commands_options_and_files_are_completed_and_no_student(tmp_path, line, told):
    assert offered(tmp_path, line) == told


@pytest.mark.parametrize(
    ("shell", "held"), [("bash", "complete "), ("zsh", "compdef"), ("fish", "complete"), ("powershell", "Argument")]
)
def test_the_lines_for_each_shell_name_the_command(capsys, shell, held):
    assert main(["completion", shell]) == 0
    told = capsys.readouterr().out
    assert held in told
    assert "ownmark" in told


def test_a_command_that_is_run_does_not_load_it():
    code = (
        "import sys\nfrom ownmark.cli.main import main\nmain(['--help'])\n"
        "sys.exit(bool({'argcomplete', 'ownmark.cli.completion'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], stdout=subprocess.DEVNULL, check=False).returncode == 0
