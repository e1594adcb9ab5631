"""The changes that are tried, and that a run tells a change that is noticed from one that is not."""

import json
import subprocess
import sys

import pytest

from tests.mutants.kept import Kept
from tests.mutants.module_tests import BESIDE, ROOT, files_beside, modules
from tests.mutants.points import DROPPED, mutants, mutated
from tests.mutants.reasons import reasons

SOURCE = '''"""What it does."""

STEP: float = 1.5


def share(part: int, whole=2):
    """Part of the whole."""
    if part < whole and not whole == 0:
        part += 1
    return f"{part - 1} of" if part > 5 else part / whole
'''


def changes(source):
    return {(each.where, each.was, each.now) for each in mutants(source)}


def test_a_comparison_is_moved_by_its_edge_and_turned_round():
    assert changes("def f(a):\n    return a < 0.5") == {
        ("f", "return a < 0.5", "return a <= 0.5"),
        ("f", "return a < 0.5", "return a >= 0.5"),
        ("f", "return a < 0.5", "return a < 0.55"),
        ("f", "return a < 0.5", "return a < 0.45"),
    }


def test_operators_constants_conditions_and_statements_are_changed_and_words_are_not():
    found = changes(SOURCE)
    head = "if part < whole and (not whole == 0):"
    assert {
        ("module", "STEP: float = 1.5", "STEP: float = 1.65"),
        ("share", "def share(part: int, whole=2):", "def share(part: int, whole=3):"),
        ("share", head, "if part < whole or not whole == 0:"),
        ("share", head, "if not (part < whole and (not whole == 0)):"),
        ("share", head, "if part < whole and whole == 0:"),
        ("share", "part += 1", "part -= 1"),
        ("share", "part += 1", DROPPED),
    } <= found
    assert not [each for each in found if "part - 2" in each[2] or "XX" in each[2]]  # nothing inside a formatted text


def test_an_assignment_is_left_out_where_the_name_had_a_value():
    assert ("f", "a = 2", DROPPED) in changes("def f(a):\n    a = 2\n    return a")
    assert ("f", "b = 2", DROPPED) not in changes("def f(a):\n    b = 2\n    return a + b")


def test_a_changed_module_does_what_the_change_says():
    one = next(each for each in mutants(SOURCE) if each.now.endswith("part * whole"))
    room = {}
    exec(mutated(SOURCE, one.number, "share.py"), room)
    assert room["share"](5, 2) == 10


def test_equal_changes_of_equal_statements_have_keys_of_their_own():
    found = mutants("def f(a):\n    a += 1\n    a += 1\n    return a")
    assert len({each.key for each in found}) == len(found)


def test_every_module_has_its_tests_and_every_row_its_module_and_files():
    known = modules()
    assert set(BESIDE) <= set(known)
    missing = [(name, file) for name in known for file in files_beside(name) if not (ROOT / file).is_file()]
    assert missing == []
    assert [name for name in known if not files_beside(name)] == []


def test_every_reason_is_about_a_change_that_can_still_be_made():
    can_be = {module: changes((ROOT / module).read_text()) for module in {each[0] for each in reasons()}}
    for module, where, was, now in reasons():
        assert (where, was, now) in can_be[module], (module, where, was)


def test_what_was_noticed_counts_until_the_module_changes_and_what_was_not_until_the_tests_change(
    tmp_path, monkeypatch
):
    monkeypatch.setenv("OWNMARK_MUTANTS", str(tmp_path / "kept.jsonl"))
    one = ("m", "m with tests")
    Kept().put(one, "test_a")
    Kept().put(("n", "n with tests"), None)
    with (tmp_path / "kept.jsonl").open("a") as file:
        file.write('{"at": "cut')  # a run that was ended in the middle of a line
    assert Kept().get(("m", "m with other tests")) == (True, "test_a")
    assert Kept().get(("n", "n with tests")) == (True, None)
    assert Kept().get(("n", "n with other tests")) == (False, None)
    assert Kept(afresh=True).get(one) == (False, None)


RUNS = """
import json, sys
from pathlib import Path
from tests.mutants.one_run import run
from tests.mutants.points import mutants, mutated

root = Path(sys.argv[1])
source = (root / "toy.py").read_text()
TRIED = {"while n >= 0:": 30, "while n > 1:": 30, "n -= 2": 30, "n += 1": 2}  # the last never ends
told = {"plain": run(["test_toy.py"], root=root, scratch=root, limit_s=60).how}
for each in mutants(source):
    if each.now not in TRIED:
        continue
    other = ("toy", str(root / "toy.py"), mutated(source, each.number, "toy.py"))
    told[each.now] = run(["test_toy.py"], root=root, scratch=root, other=other, limit_s=TRIED[each.now]).how
print(json.dumps(told))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs fork")
def test_a_run_tells_what_is_noticed_from_what_is_not_and_touches_no_file(tmp_path):
    source = "def down(n):\n    while n > 0:\n        n -= 1\n    return n\n"
    (tmp_path / "toy.py").write_text(source)
    (tmp_path / "test_toy.py").write_text(
        f"import sys\nsys.path.insert(0, {str(tmp_path)!r})\nfrom toy import down\n\n"
        "def test_down():\n    assert down(4) == 0\n"
    )
    done = subprocess.run([sys.executable, "-c", RUNS, tmp_path], cwd=ROOT, capture_output=True, text=True, check=True)
    told = json.loads(done.stdout)
    assert told["plain"] == "green"
    assert told["while n >= 0:"] == "red"  # ends at -1
    assert told["n += 1"] == "too long"
    assert told["while n > 1:"] == "red"
    assert told["n -= 2"] == "green"  # 4 is even: this test cannot know
    assert (tmp_path / "toy.py").read_text() == source
