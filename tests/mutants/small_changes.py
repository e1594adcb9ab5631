"""The changes that one node of a syntax tree can have: operators, comparisons, constants, conditions."""

import ast

_ARITHMETIC = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult, ast.Pow: ast.Mult, ast.MatMult: ast.Mult, ast.LShift: ast.RShift, ast.RShift: ast.LShift,
    ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd, ast.BitXor: ast.BitAnd,
}  # fmt: skip
# An ordering is moved by its edge and turned round; anything else is turned round.
_COMPARED = {
    ast.Lt: (ast.LtE, ast.GtE), ast.LtE: (ast.Lt, ast.Gt), ast.Gt: (ast.GtE, ast.LtE), ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,), ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,), ast.NotIn: (ast.In,),
}  # fmt: skip
_PAIRS = (
    ("min", "max"), ("any", "all"), ("floor", "ceil"), ("minimum", "maximum"), ("argmin", "argmax"), ("amin", "amax"),
    ("nanmin", "nanmax"), ("mean", "median"), ("sin", "cos"),
)  # fmt: skip
_OTHER_NAME = {a: b for pair in _PAIRS for a, b in (pair, pair[::-1])}
_OTHER_TEXT = {"left": "right", "right": "left"}
_UNWRAPPED = {"abs", "fabs", "sorted", "reversed", "sqrt", "round"}


def changed(node, parent, field):
    """The nodes that may stand in a node's place."""
    kind = type(node)
    found = list(_CHANGES[kind](node)) if kind in _CHANGES else []
    if field == "test" or (field == "ifs" and isinstance(parent, ast.comprehension)):
        found += _negated(node)
    return found


def droppable(node, bound):
    """Whether a statement can be left out and the function still mean something.

    An assignment can where the name had a value before; else leaving it out only says that the name is not there.
    """
    if isinstance(node, ast.Expr | ast.AugAssign | ast.Raise | ast.Continue | ast.Break | ast.Delete):
        return True
    if isinstance(node, ast.Assign):
        return all(not isinstance(each, ast.Name) or each.id in bound for each in node.targets)
    return False


def _negated(node):
    one = isinstance(node, ast.Compare) and len(node.ops) == 1
    if one or (isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not)):
        return []  # turned round already
    return [ast.UnaryOp(ast.Not(), node)]


def _binary(node):
    if not any(isinstance(each, _NO_NUMBER) or _is_text(each) for each in (node.left, node.right)):
        yield ast.BinOp(node.left, _ARITHMETIC[type(node.op)](), node.right)


_NO_NUMBER = (
    ast.JoinedStr,
    ast.List,
    ast.Tuple,
    ast.Set,
    ast.Dict,
)  # a minus between these fails at once: no test of a test


def _is_text(node):
    return isinstance(node, ast.Constant) and (node.value is None or isinstance(node.value, str))


def _augmented(node):
    yield ast.AugAssign(node.target, _ARITHMETIC[type(node.op)](), node.value)


def _compare(node):
    for at, op in enumerate(node.ops):
        for other in _COMPARED[type(op)]:
            yield ast.Compare(node.left, [*node.ops[:at], other(), *node.ops[at + 1 :]], node.comparators)


def _boolean(node):
    yield ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), node.values)


def _unary(node):
    if not isinstance(node.op, ast.UAdd):
        yield node.operand


def _constant(node):
    value = node.value
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, int):
        yield from (ast.Constant(value + 1), ast.Constant(value - 1))
    elif isinstance(value, float):
        yield from map(
            ast.Constant, (float(f"{value * 1.1:.6g}"), float(f"{value * 0.9:.6g}")) if value else (1.0, -1.0)
        )
    elif isinstance(value, str) and value and not any(sign.isspace() for sign in value):
        yield ast.Constant(_OTHER_TEXT.get(value, f"XX{value}"))


def _call(node):
    name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", None)
    if name in _OTHER_NAME:
        other = _OTHER_NAME[name]
        whole = isinstance(node.func, ast.Attribute)
        func = ast.Attribute(node.func.value, other, ast.Load()) if whole else ast.Name(other, ast.Load())
        yield ast.Call(func, node.args, node.keywords)
    if name in _UNWRAPPED and node.args:
        yield node.args[0]


def _choice(node):
    yield node.body
    yield node.orelse


def _step(node):
    yield ast.Break() if isinstance(node, ast.Continue) else ast.Continue()


_CHANGES = {
    ast.BinOp: _binary,
    ast.AugAssign: _augmented,
    ast.Compare: _compare,
    ast.BoolOp: _boolean,
    ast.UnaryOp: _unary,
    ast.Constant: _constant,
    ast.Call: _call,
    ast.IfExp: _choice,
    ast.Continue: _step,
    ast.Break: _step,
}
