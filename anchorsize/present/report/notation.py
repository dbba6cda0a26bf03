"""How a formula is written: the walk over its tree, and what a notation has to know. MathML and plain text share the walk."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeAlias

SUM, PRODUCT, POWER, WHOLE = 1, 2, 3, 4  # how firmly a piece holds together, for parentheses

GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "kappa": "κ", "lambda_": "λ", "mu": "μ", "nu": "ν", "phi": "φ",
    "pi": "π", "rho": "ρ", "sigma": "σ", "tau": "τ", "theta": "θ", "omega": "ω", "Delta": "Δ", "mdot": "ṁ", "ell": "ℓ",
}  # fmt: skip


@dataclass(frozen=True)
class Piece:
    """A piece of a written formula and how firmly it holds together."""

    text: str
    strength: int = WHOLE


@dataclass(frozen=True)
class Figure:
    """A number as printed: the digits without a sign, the power of ten behind them, and the value that they stand for."""

    digits: str
    exponent: int
    value: float


Leaf: TypeAlias = Callable[[str, int | None], Piece]  # writes a symbol; in a sum over bolts its place in the row


class Notation(Protocol):
    """What a notation has to write; the walk sees to parentheses."""

    def constant(self, value: float) -> Piece: ...
    def symbol(self, base: str, subscript: str, vector: bool) -> Piece: ...
    def number(self, figure: Figure, unit: str) -> Piece: ...
    def vector(self, figures: Sequence[Figure], unit: str) -> Piece: ...
    def negative(self, a: str) -> str: ...
    def between(self, sign: str, a: str, b: str) -> str: ...
    def over(self, a: Piece, b: Piece) -> Piece: ...
    def power(self, a: str, exponent: str) -> str: ...
    def root(self, a: Piece) -> Piece: ...
    def bars(self, a: str) -> str: ...
    def call(self, name: str, arguments: Sequence[str]) -> str: ...
    def group(self, a: str) -> str: ...
    def sigma(self, a: str) -> str: ...
    def system(self, matrix: Sequence[Sequence[str]], unknowns: Sequence[str], right: Sequence[str]) -> str: ...


def parts(name: str) -> tuple[str, str]:
    """Base and subscript of a symbol's name: ``beta_in`` → β, in."""
    base, _, subscript = name.partition("_")
    return GREEK.get(base, base), " ".join(GREEK.get(each, each) for each in subscript.split("_"))


@dataclass(frozen=True)
class Writer:
    """Writes expressions in a notation.

    ``leaf`` writes the symbols: their names, or the numbers put in. ``count`` is the number of bolts that a sum is written out
    over; None leaves the sum as a sign. ``unknowns`` are the written unknowns of a linear system. ``nothing`` tells of a term,
    and of the place of the bolt in a sum, whether it is 0 and left out. ``alike`` writes equal terms of a sum over bolts once,
    with their number before them.
    """

    to: Notation
    leaf: Leaf
    count: int | None = None
    unknowns: Sequence[str] = ()
    nothing: Callable[[ast.expr, int | None], bool] = lambda _term, _row: False
    alike: bool = False

    def terms(self, node: ast.expr) -> tuple[list[tuple[str, str]], bool]:
        """The terms of a sum, each with its sign, so that a long line can break between them; and whether any was left out."""
        found: list[tuple[str, str]] = []
        left_out = False
        summands = terms(node)
        for sign, term in summands:
            match term:
                case ast.Call(func=ast.Name(id="total"), args=[operand]) if self.count is not None:
                    rows = [i for i in range(self.count) if not self.nothing(operand, i)]
                    left_out |= len(rows) < self.count
                    for text in self._rows(operand, rows):
                        found.append(self._led(sign or "+", text) if not found else (sign or "+", text))
                case _ if len(summands) > 1 and self.nothing(term, None):
                    left_out = True
                case _:
                    text = self.held(term, PRODUCT if sign and (found or sign == "−") else SUM, None)
                    found.append((sign, text) if found else self._led(sign, text))
        if not found:
            return [("", self.to.constant(0.0).text)], False
        return found, left_out

    def _led(self, sign: str, text: str) -> tuple[str, str]:
        """The first term that stands in a sum: its own sign belongs to it, and plus is not written."""
        return "", self.to.negative(text) if sign == "−" else text

    def _rows(self, operand: ast.expr, rows: Sequence[int]) -> list[str]:
        """The terms of a sum over bolts; equal ones once, as ``8 · term``, where they are to be written alike."""
        written = [self.held(operand, PRODUCT, i) for i in rows]
        if not self.alike:
            return written
        counts = Counter(written)
        many = [self.to.between("·", self.to.constant(float(count)).text, text) for text, count in counts.items()]
        return [text if count == 1 else product for (text, count), product in zip(counts.items(), many, strict=True)]

    def held(self, node: ast.expr, least: int, row: int | None) -> str:
        """An expression in parentheses where it holds together less firmly than ``least``."""
        piece = self.write(node, row)
        return piece.text if piece.strength >= least else self.to.group(piece.text)

    def _total(self, operand: ast.expr) -> Piece:
        if self.count is None:
            return Piece(self.to.sigma(self.held(operand, PRODUCT, 0)), PRODUCT)
        text = self.held(operand, SUM, 0)
        for i in range(1, self.count):
            text = self.to.between("+", text, self.held(operand, PRODUCT, i))
        return Piece(text, SUM)

    def write(self, node: ast.expr, row: int | None = None) -> Piece:
        """An expression; ``row`` is the place of the bolt within a sum over bolts."""
        to = self.to

        def inner(part: ast.expr) -> Piece:
            return self.write(part, row)

        def held(part: ast.expr, least: int) -> str:
            return self.held(part, least, row)

        match node:
            case ast.Constant(value=value):
                return to.constant(float(value))  # type: ignore[arg-type]
            case ast.Name(id="pi"):
                return to.symbol("π", "", False)
            case ast.Name(id=name):
                return self.leaf(name, row)
            case ast.UnaryOp(operand=operand):
                return Piece(to.negative(held(operand, PRODUCT)), SUM)
            case ast.BinOp(left=left, op=ast.Add() | ast.Sub() as op, right=right):
                sign = "+" if isinstance(op, ast.Add) else "−"
                return Piece(to.between(sign, held(left, SUM), held(right, PRODUCT)), SUM)
            case ast.BinOp(left=left, op=ast.Mult(), right=right):
                return Piece(to.between("·", held(left, PRODUCT), held(right, PRODUCT)), PRODUCT)
            case ast.BinOp(left=left, op=ast.Div(), right=right):
                return to.over(inner(left), inner(right))
            case ast.BinOp(left=left, op=ast.Pow(), right=right):
                return Piece(to.power(held(left, WHOLE), inner(right).text), POWER)
            case ast.Call(func=ast.Name(id="solve"), args=[matrix, right]):
                rows = [[inner(each).text for each in line.elts] for line in matrix.elts]  # type: ignore[attr-defined]
                sides = [inner(each).text for each in right.elts]  # type: ignore[attr-defined]
                return Piece(to.system(rows, self.unknowns, sides))
            case ast.Call(func=ast.Name(id="sqrt"), args=[operand]):
                return to.root(inner(operand))
            case ast.Call(func=ast.Name(id="abs" | "norm"), args=[operand]):
                return Piece(to.bars(inner(operand).text))
            case ast.Call(func=ast.Name(id="cross"), args=[left, right]):
                return Piece(to.between("×", held(left, PRODUCT), held(right, PRODUCT)), PRODUCT)
            case ast.Call(func=ast.Name(id="dot"), args=[left, right]):
                return Piece(
                    to.between("⋅", held(left, PRODUCT), held(right, PRODUCT)), SUM
                )  # kept apart from other products
            case ast.Call(func=ast.Name(id="total"), args=[operand]):
                return self._total(operand)
            case ast.Call(func=ast.Name(id=name), args=arguments):
                return Piece(to.call(name, [inner(each).text for each in arguments]))
        raise TypeError(f"{ast.dump(node)} has no place in a formula")


def terms(node: ast.expr) -> list[tuple[str, ast.expr]]:
    """The terms of a sum with their signs, in order; one term where it is no sum."""
    match node:
        case ast.BinOp(left=left, op=ast.Add(), right=right):
            return [*terms(left), ("+", right)]
        case ast.BinOp(left=left, op=ast.Sub(), right=right):
            return [*terms(left), ("−", right)]
    return [("", node)]
