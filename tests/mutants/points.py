"""Where one module can be changed by a little, and what it is then: a plain list over its syntax tree.

A change is made in a tree that lives in memory; no file is ever written. Left alone are what does not run (annotations,
docstrings), what only words a sentence (texts with a space, formatted texts), and decorators.
"""

import ast
from collections import Counter
from dataclasses import dataclass

from tests.mutants.small_changes import changed, droppable

DROPPED = "(left out)"
_AROUND = 70  # letters of a long statement that are shown on each side of the change


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: its number in the module, the line, the function, the statement before and after it."""

    number: int
    line: int
    where: str
    was: str
    now: str
    turn: int  # the same change of an equal statement in the same function, counted

    @property
    def key(self) -> str:
        """What stays the same when lines are added elsewhere in the module."""
        return "\n".join((self.where, self.was, self.now, str(self.turn)))


@dataclass(frozen=True, slots=True)
class _Spot:
    """A place in the tree: the list or the field that holds a node."""

    parent: ast.AST
    field: str
    at: int | None

    def put(self, node):
        if self.at is None:
            setattr(self.parent, self.field, node)
        else:
            getattr(self.parent, self.field)[self.at] = node


def mutants(source: str) -> list[Mutant]:
    """All changes of a module, in the order of its text."""
    found, seen = [], Counter()
    for number, (spot, old, new, statement, where) in enumerate(_changes(ast.parse(source))):
        was = _said(statement)
        spot.put(new)
        now = DROPPED if isinstance(new, ast.Pass) else _said(new if old is statement else statement)
        spot.put(old)
        was, now = (was, now) if now == DROPPED else _near(was, now)
        turn = seen[where, was, now]
        seen[where, was, now] += 1
        found.append(Mutant(number, old.lineno, where, was, now, turn))
    return found


def mutated(source: str, number: int, path: str):
    """The module's code with one change, compiled."""
    tree = ast.parse(source)
    for turn, (spot, old, new, _, _) in enumerate(_changes(tree)):
        if turn == number:
            spot.put(ast.copy_location(new, old))
            return compile(ast.fix_missing_locations(tree), path, "exec")
    raise IndexError(number)


def _changes(tree):
    """Yield ``(spot, old node, new node, its statement, its function)`` for each change."""
    yield from _below(tree, None, (), frozenset())


def _below(node, statement, names, bound):
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        names = (*names, node.name)
        bound = frozenset(each.arg for each in ast.walk(node) if isinstance(each, ast.arg))
    for field, value in ast.iter_fields(node):
        if field in _SILENT or (field == "keywords" and isinstance(node, ast.ClassDef)):
            continue
        for at, child in enumerate(value) if isinstance(value, list) else ((None, value),):
            if not isinstance(child, ast.AST) or _left_alone(child):
                continue
            spot = _Spot(node, field, at)
            own = child if isinstance(child, ast.stmt) else statement
            where = ".".join(names) or "module"
            if isinstance(child, ast.stmt) and droppable(child, bound):
                yield spot, child, ast.Pass(), child, where
            for new in changed(child, node, field):
                yield spot, child, new, own, where
            yield from _below(child, own, names, bound)
            if isinstance(child, ast.Assign):
                bound |= {
                    each.id for target in child.targets for each in ast.walk(target) if isinstance(each, ast.Name)
                }


_SILENT = {"annotation", "returns", "decorator_list", "type_params", "ctx", "op", "ops"}
_WORDS_OF_TYPES = {"Literal", "TypeVar", "cast", "NewType"}


def _left_alone(node):
    if isinstance(node, ast.JoinedStr | ast.Import | ast.ImportFrom | ast.Global | ast.Nonlocal):
        return True
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return True  # a docstring
    if isinstance(node, ast.Assign) and any(isinstance(t, ast.Name) and t.id == "__all__" for t in node.targets):
        return True
    if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
        return True
    called = node.func if isinstance(node, ast.Call) else node.value if isinstance(node, ast.Subscript) else None
    return isinstance(called, ast.Name) and called.id in _WORDS_OF_TYPES


def _near(was, now):
    """Two long statements cut to where they differ."""
    if len(was) <= 3 * _AROUND:
        return was, now
    start = max(0, _alike(was, now) - _AROUND)
    end = max(0, _alike(was[:start:-1], now[:start:-1]) - _AROUND)
    return tuple("… " * (start > 0) + text[start : len(text) - end] + " …" * (end > 0) for text in (was, now))


def _alike(one, other):
    """How many letters two texts share at their start."""
    return next((at for at, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))


def _said(statement):
    """A statement in one line, of a compound one only its head."""
    bodies = {field: getattr(statement, field) for field in _BODIES if getattr(statement, field, None)}
    if isinstance(statement, ast.If | ast.For | ast.While | ast.With | ast.FunctionDef | ast.ClassDef | ast.Try):
        for field in bodies:
            setattr(statement, field, [ast.Pass()] if field == "body" else [])
    text = ast.unparse(statement)
    for field, kept in bodies.items():
        setattr(statement, field, kept)
    return " ".join(text.removesuffix("pass").split())


_BODIES = ("body", "orelse", "finalbody", "handlers", "decorator_list")
