"""``python -m tests.mutants metrics/bounds.py --most 60 --seed 1``: which small wrong changes no test notices."""

import argparse
import os
import random
import signal
import sys
import time
from collections import Counter
from tempfile import TemporaryDirectory

for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")  # a process with threads cannot be forked

from tests.mutants.kept import Kept  # noqa: E402
from tests.mutants.module_tests import ROOT, files_beside, modules  # noqa: E402
from tests.mutants.one_run import module_name, run, warm  # noqa: E402
from tests.mutants.points import mutants, mutated  # noqa: E402
from tests.mutants.reasons import reasons  # noqa: E402

ASKED = 90  # per cent noticed, of those that change anything


def main():
    asked = _asked()
    if not hasattr(os, "fork"):
        sys.exit("This needs a system with fork: Linux or macOS.")
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # so that what was started is ended too
    until = time.monotonic() + 60 * asked.minutes if asked.minutes else None
    kept, total = Kept(afresh=asked.afresh), Counter()
    with TemporaryDirectory(prefix="ownmark-mutants-") as scratch:
        for module in asked.modules or modules():
            total += one_module(module, asked, kept, until, scratch)
    print(f"\nAll: {_share(total)}")
    counted = total["noticed"] + total["not noticed"]
    return int(counted > 0 and 100 * total["noticed"] < ASKED * counted)


def _asked():
    words = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    words.add_argument("modules", nargs="*", help="modules such as metrics/bounds.py; all without")
    words.add_argument("--most", type=int, help="at most so many changes a module, drawn at random")
    words.add_argument("--seed", type=int, default=1, help="of the draw (%(default)s)")
    words.add_argument("--minutes", type=float, help="stop after so long; the next run goes on")
    words.add_argument("--tests", nargs="+", help="test files in place of those beside the module")
    words.add_argument("--quick", type=float, default=20, help="leave out tests that take longer [s] (%(default)s)")
    words.add_argument("--afresh", action="store_true", help="forget what earlier runs found")
    words.add_argument("--list", action="store_true", help="only list the changes")
    return words.parse_args()


def one_module(module, asked, kept, until, scratch):
    """Try a module's changes and print those that nothing noticed."""
    source = (ROOT / module).read_text()
    drawn = mutants(source)
    if asked.most is not None and asked.most < len(drawn):
        drawn = sorted(random.Random(f"{asked.seed} {module}").sample(drawn, asked.most), key=lambda each: each.number)
    if asked.list:
        for each in drawn:
            print(_line(module, each))
        return Counter()
    tests = asked.tests or files_beside(module)
    print(f"\n{module}: {len(drawn)} changes, beside it {' '.join(tests) or 'no tests'}", flush=True)
    if not tests:
        return Counter({"not noticed": len(drawn)})
    known = {each: kept.get(kept.places(module, source, tests, each)) for each in drawn}
    new = [each for each in drawn if not known[each][0]]
    results = {each: by for each, (told, by) in known.items() if told}
    if new:
        results |= _tried(module, source, tests, new, asked, kept, until, scratch)
    return _told(module, drawn, results)


def _tried(module, source, tests, new, asked, kept, until, scratch):
    plain = run(tests, root=ROOT, scratch=scratch, limit_s=1800)
    if plain.how != "green":
        sys.exit(f"The tests beside {module} are {plain.how} without any change: {plain.by}")
    warm(plain.modules)
    slow = frozenset(test for test, took in plain.durations.items() if took > asked.quick)
    if slow:
        print(f"  left out, slower than {asked.quick:g} s: {' '.join(sorted(slow))}", flush=True)
    spent = {test: took for test, took in plain.durations.items() if test not in slow}
    limit, hits, found = 20 + 3 * sum(spent.values()), Counter(), {}
    for each in new:
        if until and time.monotonic() > until:
            break
        first = sorted(spent, key=lambda test: (-hits[test], spent[test]))
        code = mutated(source, each.number, str(ROOT / module))
        ended = run(tests, root=ROOT, scratch=scratch, other=(module_name(module), str(ROOT / module), code),
                    limit_s=limit, first=first, left_out=slow)  # fmt: skip
        if ended.how == "no tests":
            sys.exit(f"No test beside {module} is quicker than {asked.quick:g} s.")
        by = None if ended.how == "green" else ended.by or "it took too long"
        hits[by] += 1
        kept.put(kept.places(module, source, tests, each), by)
        found[each] = by
    return found


def _told(module, drawn, results):
    excused, counts = reasons(), Counter()
    for each in drawn:
        if each not in results:
            counts["not tried"] += 1
        elif results[each]:
            counts["noticed"] += 1
        elif why := excused.get((module, each.where, each.was, each.now)):
            counts["changes nothing"] += 1
            print(f"  same  {_line(module, each)}\n        because {why}")
        else:
            counts["not noticed"] += 1
            print(f"  LEFT  {_line(module, each)}")
    print(f"  {_share(counts)}", flush=True)
    return counts


def _line(module, each):
    return f"{module}:{each.line} {each.where}\n          {each.was}\n        > {each.now}"


def _share(counts):
    counted = counts["noticed"] + counts["not noticed"]
    share = f" ({100 * counts['noticed'] / counted:.0f} %)" if counted else ""
    rest = ", ".join(f"{counts[name]} {name}" for name in ("changes nothing", "not tried") if counts[name])
    return f"{counts['noticed']} of {counted} noticed{share}{'; ' + rest if rest else ''}"


if __name__ == "__main__":
    sys.exit(main())
