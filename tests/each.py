"""Many small cases in one test: pytest's own work for a case is more than most of a catalogue's cases are."""

import inspect

import pytest


def for_each(cases, name=str):
    """Make a check of one case a test of all; every case that fails is told by its name, not the first alone.

    cases : a value each, or a tuple each where the check takes several
    name : of a case
    """
    cases = tuple(cases)
    assert cases

    def made(check):
        several = len(inspect.signature(check).parameters) > 1

        def test():
            wrong = []
            for case in cases:
                try:
                    check(*case) if several else check(case)
                except (Exception, pytest.fail.Exception) as reason:  # noqa: BLE001 the others are looked at
                    wrong.append(f"[{name(case)}] {type(reason).__name__}: {reason}")
            assert not wrong, "\n\n".join([f"{len(wrong)} of {len(cases)} cases fail:", *wrong])

        test.__name__, test.__qualname__, test.__doc__ = check.__name__, check.__qualname__, check.__doc__
        test.__module__ = check.__module__
        return test

    return made
