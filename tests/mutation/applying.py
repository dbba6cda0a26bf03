"""Put a fault into a module that is already imported: new code into the functions and constants that everyone holds.

Functions keep their identity, so that whoever imported one by name runs the fault too, and nothing is imported twice.
"""

from __future__ import annotations
import __future__

import ast
import functools
import sys
from collections.abc import Callable, Iterator
from types import CodeType, FunctionType, ModuleType

_NOWHERE = object()
FLAGS = __future__.annotations.compiler_flag


def acts_at_import(tree: ast.Module, top: int) -> bool:
    """Return whether a statement of a module has done its work once the module is imported: a constant, or what makes one."""
    statement = tree.body[top]
    if not isinstance(statement, (ast.FunctionDef, ast.ClassDef)):
        return True
    others = (other for other in tree.body if not isinstance(other, (ast.FunctionDef, ast.ClassDef)))
    nodes = (node for other in others for node in ast.walk(other))
    return any(isinstance(node, ast.Name) and node.id == statement.name for node in nodes)


def compiled(tree: ast.Module, top: int, filename: str) -> CodeType:
    """Return the code of one statement of a module, for :func:`put`; of all where constants may follow from it."""
    part = tree if acts_at_import(tree, top) else ast.Module([tree.body[top]], [])
    code: CodeType = compile(part, filename, "exec", flags=FLAGS, dont_inherit=True)
    return code


def put(module: ModuleType, code: CodeType, undo: list[Callable[[], None]]) -> None:
    """Run the code beside the module and carry over what it defines; ``undo`` gains the steps that take it back."""
    space = dict(vars(module))
    before = dict(space)
    exec(code, space)
    for name, new in space.items():
        old = before.get(name)
        if new is old or name.startswith("__"):
            continue
        if isinstance(new, FunctionType) and isinstance(old, FunctionType):
            _carry(old, new, undo)
        elif isinstance(new, type) and isinstance(old, type):
            for member, fresh in vars(new).items():
                _carry_member(vars(old).get(member), fresh, undo)
        else:
            _rebind(module, name, old, new, undo)


def _carry(old: FunctionType, new: FunctionType, undo: list[Callable[[], None]]) -> None:
    for part in ("__code__", "__defaults__", "__kwdefaults__"):
        undo.append(functools.partial(setattr, old, part, getattr(old, part)))
        setattr(old, part, getattr(new, part))


def _carry_member(old: object, new: object, undo: list[Callable[[], None]]) -> None:
    match old, new:
        case FunctionType(), FunctionType():
            _carry(old, new, undo)
        case classmethod(__func__=one), classmethod(__func__=other):
            _carry_member(one, other, undo)
        case staticmethod(__func__=one), staticmethod(__func__=other):
            _carry_member(one, other, undo)
        case property(), property():
            _carry_member(old.fget, new.fget, undo)


def _rebind(module: ModuleType, name: str, old: object, new: object, undo: list[Callable[[], None]]) -> None:
    """Give a constant its new value here, wherever it was imported under its name, and where it is a default."""
    for other in list(sys.modules.values()):
        ours = getattr(other, "__name__", "").startswith(("anchorsize", "tests"))
        if other is module or (ours and vars(other).get(name, _NOWHERE) is old):
            undo.append(functools.partial(setattr, other, name, old))
            setattr(other, name, new)
            for function in _functions(other):
                values = function.__defaults__ or ()
                if any(value is old for value in values):
                    undo.append(functools.partial(setattr, function, "__defaults__", values))
                    function.__defaults__ = tuple(new if value is old else value for value in values)


def _functions(module: ModuleType) -> Iterator[FunctionType]:
    for value in list(vars(module).values()):
        members = vars(value).values() if isinstance(value, type) else [value]
        yield from (member for member in members if isinstance(member, FunctionType))
