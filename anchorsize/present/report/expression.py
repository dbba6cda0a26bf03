"""A formula as one expression: evaluated, and written in any notation, from the same text.

The text of a formula is a Python expression over symbols such as ``beta*rho*Q**2/A``. A value of a symbol is a number, a vector
of three, or a row with one number per bolt; rows stand inside ``total(…)`` only, which adds over them. Functions: ``sqrt``,
``abs``, ``max``, ``min``, ``ln``, ``cross``, ``dot``, ``norm``, ``total`` and ``solve(matrix, right side)`` of a linear system.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import TypeAlias

import numpy as np

from anchorsize.study import Array

Plain: TypeAlias = float | Array
Sized: TypeAlias = tuple[Plain, Plain]  # a value, and the greatest size of the terms that it is made from

CONSTANTS = {"pi": math.pi}
LEAST_SHARE = 0.01  # of the greatest part of a vector, in the size of each of its parts


@lru_cache(maxsize=4096)
def tree(formula: str) -> ast.expr:
    """The expression tree of a formula."""
    return ast.parse(formula, mode="eval").body


def symbols(node: ast.AST) -> list[str]:
    """Names of the symbols of an expression, each once, in order of appearance; constants and functions left out."""
    calls = {id(each.func) for each in ast.walk(node) if isinstance(each, ast.Call)}
    found = [each for each in ast.walk(node) if isinstance(each, ast.Name) and id(each) not in calls]
    found.sort(key=lambda each: each.col_offset)
    return [name for name in dict.fromkeys(each.id for each in found) if name not in CONSTANTS]


def evaluate(node: ast.expr, values: Mapping[str, Plain]) -> Sized:
    """The value of an expression, and the size of its terms, by which rounding is told from a result.

    The size is the value that the expression would have if nothing in it canceled.
    """
    match node:
        case ast.Constant():
            number = float(ast.literal_eval(node))
            return number, abs(number)
        case ast.Name(id=name):
            known: Plain = CONSTANTS[name] if name in CONSTANTS else values[name]
            return known, _size(known)
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            value, size = evaluate(operand, values)
            return -value, size
        case ast.BinOp(left=left, op=op, right=right):
            return _binary(op, evaluate(left, values), evaluate(right, values))
        case ast.Call(func=ast.Name(id="solve"), args=[matrix, right]):
            return _solve(matrix, right, values)
        case ast.Call(func=ast.Name(id=name), args=arguments):
            return _FUNCTIONS[name](*(evaluate(each, values) for each in arguments))
    raise TypeError(f"{ast.dump(node)} has no place in a formula")


def _size(value: Plain) -> Plain:
    """The size of a value; each part of a vector counts at least for a share of the greatest, beside which it is rounded."""
    sizes = np.abs(value)
    return sizes if np.ndim(value) == 0 else np.maximum(sizes, LEAST_SHARE * np.max(sizes))


def _binary(op: ast.operator, left: Sized, right: Sized) -> Sized:
    (a, a_size), (b, b_size) = left, right
    match op:
        case ast.Add():
            return a + b, a_size + b_size
        case ast.Sub():
            return a - b, a_size + b_size
        case ast.Mult():
            return a * b, a_size * b_size
        case ast.Div():
            return a / b, a_size / np.abs(b)
        case ast.Pow():
            return a**b, a_size**b
    raise TypeError(f"{op} has no place in a formula")


def _solve(matrix: ast.expr, right: ast.expr, values: Mapping[str, Plain]) -> Sized:
    rows = [[evaluate(each, values) for each in row.elts] for row in matrix.elts]  # type: ignore[attr-defined]
    sides = [evaluate(each, values) for each in right.elts]  # type: ignore[attr-defined]
    inverse = np.linalg.inv(np.array([[value for value, _ in row] for row in rows]))
    found = inverse @ np.array([value for value, _ in sides])
    return found, np.abs(inverse) @ np.array([size for _, size in sides])


def _cross(left: Sized, right: Sized) -> Sized:
    (a, a_size), (b, b_size) = left, right
    turned = np.array([a_size[1] * b_size[2], a_size[2] * b_size[0], a_size[0] * b_size[1]])  # type: ignore[index]
    other = np.array([a_size[2] * b_size[1], a_size[0] * b_size[2], a_size[1] * b_size[0]])  # type: ignore[index]
    return np.cross(np.asarray(a), np.asarray(b)), turned + other


def _extreme(pick: Callable[..., float]) -> Callable[..., Sized]:
    def extreme(*sized: Sized) -> Sized:
        return pick(*(float(value) for value, _ in sized)), max(float(size) for _, size in sized)

    return extreme


_FUNCTIONS: dict[str, Callable[..., Sized]] = {
    "sqrt": lambda a: (np.sqrt(a[0]), np.sqrt(a[1])),
    "abs": lambda a: (np.abs(a[0]), a[1]),
    "ln": lambda a: (np.log(a[0]), np.abs(np.log(a[0]))),
    "max": _extreme(max),
    "min": _extreme(min),
    "cross": _cross,
    "dot": lambda a, b: (np.dot(a[0], b[0]), np.dot(a[1], b[1])),
    "norm": lambda a: (float(np.linalg.norm(a[0])), float(np.linalg.norm(a[1]))),
    "total": lambda a: (np.sum(a[0]), np.sum(a[1])),
}
