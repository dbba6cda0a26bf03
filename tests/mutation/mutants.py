"""Small faults to put into a module, one at a time: each is one node of its syntax tree in place of another.

Left alone: texts and the arguments of exceptions, type hints, imports, decorators, the numbers of an enumeration (they are
names) and ``dtype``. A name bound once is never unbound and no result is replaced by nothing, since any test would notice.
"""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

_SWAPS: dict[type[ast.AST], tuple[type[ast.AST], ...]] = {
    ast.Add: (ast.Sub,),
    ast.Sub: (ast.Add,),
    ast.Mult: (ast.Div,),
    ast.Div: (ast.Mult,),
    ast.Pow: (ast.Mult,),
    ast.FloorDiv: (ast.Mult,),
    ast.Mod: (ast.Mult,),
    ast.BitAnd: (ast.BitOr,),
    ast.BitOr: (ast.BitAnd,),
    ast.And: (ast.Or,),
    ast.Or: (ast.And,),
    # each comparison once at its boundary and once turned round
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}

_TWINS = [
    ("minimum", "maximum"),
    ("min", "max"),
    ("nanmin", "nanmax"),
    ("argmin", "argmax"),
    ("any", "all"),
    ("sin", "cos"),
    ("arcsin", "arccos"),
    ("sinh", "cosh"),
    ("floor", "ceil"),
    ("zeros", "ones"),
    ("zeros_like", "ones_like"),
]
_TWIN = {**dict(_TWINS), **{b: a for a, b in _TWINS}, "tan": "sin"}
_UNWRAPPED = {
    "abs",
    "sqrt",
    "square",
    "clip",
    "nan_to_num",
    "exp",
    "log",
    "log10",
    "tan",
    "arctan",
    "sum",
    "float",
    "round",
}
_TURNED = {"where": (1, 2), "cross": (0, 1), "arctan2": (0, 1), "divide": (0, 1), "subtract": (0, 1)}
_OPTIONAL = {"axis", "keepdims", "where", "initial"}
_NOT_ENTERED = {"annotation", "returns", "decorator_list", "bases", "ctx", "type_params", "exc", "cause"}


class _Slot(NamedTuple):
    """Where a node hangs: a field of its parent, or a place in a list there."""

    parent: ast.AST
    name: str
    place: int | None

    def put(self, node: ast.AST) -> None:
        if self.place is None:
            setattr(self.parent, self.name, node)
        else:
            getattr(self.parent, self.name)[self.place] = node


@dataclass(frozen=True)
class Mutant:
    """One fault; its key stays the same when other functions of the module change."""

    module: str
    function: str
    line: int
    lines: tuple[int, int]
    """First and last line of the statement, or of its head, that a test must run to notice."""
    operator: str
    before: str
    after: str
    ordinal: int
    top: int
    """Place of the changed statement in the module."""

    @property
    def key(self) -> str:
        return f"{self.module}.{self.function} {self.operator} {self.before} -> {self.after} #{self.ordinal}"


@dataclass
class _Scope:
    """What is known where the walk stands."""

    function: str = ""
    lines: tuple[int, int] = (0, 0)
    bound: set[str] = field(default_factory=set)


def _names(target: ast.AST) -> list[str]:
    return [node.id for node in ast.walk(target) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)]


def _called(node: ast.Call) -> str:
    function = node.func
    return (
        function.attr if isinstance(function, ast.Attribute) else function.id if isinstance(function, ast.Name) else ""
    )


def _with(node: ast.AST, **changes: object) -> ast.AST:
    """Return a copy of a node that shares its children, with some fields changed."""
    fields = {**dict(ast.iter_fields(node)), **changes}
    return ast.copy_location(type(node)(**fields), node)


def _swapped(values: list[ast.AST], place: int, value: ast.AST) -> list[ast.AST]:
    return [*values[:place], value, *values[place + 1 :]]


def _of_number(node: ast.Constant) -> Iterator[ast.AST]:
    value = node.value
    if isinstance(value, bool):
        yield _with(node, value=not value)
    elif isinstance(value, (int, float)):
        yield _with(node, value=type(value)(0 if value == 1 else value + 1))


def _of_call(node: ast.Call) -> Iterator[tuple[str, ast.AST]]:
    name = _called(node)
    if name in _TWIN:
        if isinstance(node.func, ast.Attribute):
            twin: ast.AST = _with(node.func, attr=_TWIN[name])
        else:
            twin = _with(node.func, id=_TWIN[name])
        yield "function", _with(node, func=twin)
    if name in _UNWRAPPED and node.args and isinstance(node.func, (ast.Attribute, ast.Name)):
        yield "unwrap", node.args[0]
    if name in _TURNED and len(node.args) > max(_TURNED[name]):
        first, second = _TURNED[name]
        args = list(node.args)
        args[first], args[second] = args[second], args[first]
        yield "arguments", _with(node, args=args)
    if isinstance(node.func, ast.Attribute):
        for place, keyword in enumerate(node.keywords):
            if keyword.arg in _OPTIONAL:
                yield "keyword", _with(node, keywords=[*node.keywords[:place], *node.keywords[place + 1 :]])


def _of_expression(node: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    match node:
        case ast.BinOp() | ast.BoolOp():
            for other in _SWAPS.get(type(node.op), ()):
                yield "operator", _with(node, op=other())
        case ast.Compare():
            for place, operation in enumerate(node.ops):
                for other in _SWAPS[type(operation)]:
                    yield "comparison", _with(node, ops=_swapped(list(node.ops), place, other()))
        case ast.UnaryOp(op=ast.USub() | ast.Not() | ast.Invert()):
            yield "sign", node.operand
        case ast.Constant():
            for number in _of_number(node):
                yield "number", number
        case ast.IfExp():
            yield "branch", node.body
            yield "branch", node.orelse
        case ast.Attribute(attr="T"):
            yield "transpose", node.value
        case ast.comprehension():
            for place in range(len(node.ifs)):
                yield "filter", _with(node, ifs=[*node.ifs[:place], *node.ifs[place + 1 :]])
        case ast.Call():
            yield from _of_call(node)


def _of_statement(node: ast.stmt, scope: _Scope, alone: bool) -> Iterator[tuple[str, ast.AST]]:
    """Yield what may stand in place of a statement; ``alone`` in the body of an ``if``, which is mutated itself."""
    nothing = ast.copy_location(ast.Pass(), node)
    match node:
        case ast.AugAssign():
            for other in _SWAPS.get(type(node.op), ()):
                yield "operator", _with(node, op=other())
            yield "remove", nothing
        case ast.Expr(value=ast.Call()):
            yield "remove", nothing
        case ast.Raise() if not alone:
            yield "remove", nothing
        case ast.Assign(targets=[ast.Subscript() | ast.Attribute()]):
            yield "remove", nothing
        case ast.Assign(targets=[ast.Name() | ast.Tuple() as target]):
            names = _names(target)
            if scope.function and names and scope.bound.issuperset(names):
                yield "remove", nothing
        case ast.If():
            for value in (True, False):
                yield "condition", _with(node, test=ast.copy_location(ast.Constant(value), node.test))
        case ast.Break():
            yield "loop", ast.copy_location(ast.Continue(), node)
        case ast.Continue():
            yield "loop", ast.copy_location(ast.Break(), node)


def _is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant))


def _is_enumeration(node: ast.AST) -> bool:
    return isinstance(node, ast.ClassDef) and any("Enum" in ast.unparse(base) for base in node.bases)


def _head(node: ast.stmt) -> tuple[int, int]:
    body = getattr(node, "body", None)
    last = body[0].lineno - 1 if body else node.end_lineno or node.lineno
    return node.lineno, max(node.lineno, last)


def _walk(node: ast.AST, scope: _Scope) -> Iterator[tuple[_Slot, ast.AST, ast.AST, str, _Scope]]:
    """Yield every replacement below a node: where, what was there, what comes, the sort of fault, and the scope."""
    for name, value in ast.iter_fields(node):
        if name in _NOT_ENTERED:
            continue
        children = value if isinstance(value, list) else [value]
        for place, child in enumerate(children):
            if not isinstance(child, ast.AST) or _is_text(child) or _is_enumeration(child):
                continue
            if isinstance(child, (ast.Import, ast.ImportFrom, ast.Assert)):
                continue
            slot = _Slot(node, name, place if isinstance(value, list) else None)
            yield from _at(slot, child, scope)


def _at(slot: _Slot, node: ast.AST, scope: _Scope) -> Iterator[tuple[_Slot, ast.AST, ast.AST, str, _Scope]]:
    if isinstance(node, ast.stmt):
        scope = _Scope(scope.function, _head(node), scope.bound)
        alone = isinstance(slot.parent, ast.If) and slot.name == "body" and len(slot.parent.body) == 1
        found = _of_statement(node, scope, alone)
    else:
        found = _of_expression(node)
    for operator, other in list(found):
        yield slot, node, other, operator, scope
    inner = scope
    if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
        # what stands in the head, such as a default, acts when the body runs
        inner = _Scope(f"{scope.function}.{node.name}".lstrip("."), (node.lineno, node.end_lineno or node.lineno))
        if isinstance(node, ast.FunctionDef):
            inner.bound = {argument.arg for argument in ast.walk(node.args) if isinstance(argument, ast.arg)}
    yield from _walk(node, inner)
    if isinstance(node, (ast.Assign, ast.AnnAssign, ast.For)):
        scope.bound.update(_names(node))


def _shown(node: ast.AST) -> str:
    """Return a node in one line; of a compound statement only the head."""
    if isinstance(node, ast.comprehension):
        node = ast.ListComp(ast.Name("_", ast.Load()), [node])
    return " ".join(ast.unparse(node).splitlines()[0].split())[:160]


def mutate(module: str, tree: ast.Module) -> Iterator[Mutant]:
    """Yield the mutants of a module one after another; ``tree`` holds the fault until the next one is asked for."""
    counts: Counter[tuple[str, ...]] = Counter()
    for top, statement in enumerate(tree.body):
        if isinstance(statement, (ast.Import, ast.ImportFrom)) or _is_text(statement) or _is_enumeration(statement):
            continue
        for slot, before, after, operator, scope in list(_at(_Slot(tree, "body", top), statement, _Scope())):
            old, new = _shown(before), _shown(after)
            if old == new and not isinstance(before, ast.stmt):
                continue
            named = (scope.function, operator, old, new)
            counts[named] += 1
            line = getattr(before, "lineno", scope.lines[0])
            slot.put(after)
            try:
                yield Mutant(module, scope.function, line, scope.lines, operator, old, new, counts[named], top)
            finally:
                slot.put(before)
