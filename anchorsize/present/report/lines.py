"""A worked line written in a notation: its formula, the numbers put in term by term, and its result."""

from __future__ import annotations

import ast
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from anchorsize.present.mathml import MathML
from anchorsize.present.report.expression import evaluate, symbols, tree
from anchorsize.present.report.notation import Notation, Piece, Writer, parts
from anchorsize.present.report.plain import PlainText, signed_text
from anchorsize.present.report.steps import Step, figure
from anchorsize.units import System, convert, show

LEFT_OUT = "all other terms are zero"
FIGURES = 4
"""Of a result in US units that is of no kind of quantity a file can give."""

IN_US = {
    "N": ("force", 1, "lbf"), "N·m": ("moment", 1, "ft·lbf"), "N/m": ("stiffness", 1, "lbf/in"), "Pa": ("stress", 1, "psi"),
    "Pa/m": ("subgrade_modulus", 1, "lbf/in³"), "Pa²": ("stress", 2, "psi²"), "m": ("length", 1, "in"), "m²": ("area", 1, "in²"),
    "m⁴": ("second_moment", 1, "in⁴"), "m/N": ("stiffness", -1, "in/lbf"), "1/N": ("force", -1, "1/lbf"),
    "rad/(N·m)": ("moment", -1, "rad/(ft·lbf)"),
}  # fmt: skip
"""US unit of a coherent SI one, and the kind whose factor, to a power, leads to it."""


@dataclass(frozen=True)
class Written:
    """A worked line: ``put_in`` and ``result`` are pieces with the sign before each, so that a long line can break."""

    symbol: str
    formula: str
    put_in: list[tuple[str, str]]
    result: str
    also: str  # the result in the units of the study, empty where they are SI
    left_out: bool  # whether terms that are 0 are left out of ``put_in``


def in_mathml(step: Step, system: System, full: bool) -> Written:
    """A line in MathML; terms of a sum that are 0 stand in it where it is ``full``."""
    return _written(step, system, MathML(numbers=False), MathML(numbers=True), full)


def in_text(step: Step, system: System, full: bool) -> Written:
    """A line in plain text; terms of a sum that are 0 stand in it where it is ``full``."""
    return _written(step, system, PlainText(), PlainText(), full)


def _written(step: Step, system: System, letters: Notation, numbers: Notation, full: bool) -> Written:
    node = tree(step.formula)

    def name(symbol: str, row: int | None) -> Piece:
        base, subscript = parts(symbol)
        quantity = step.values.get(symbol)
        indexed = row is not None and quantity is not None and quantity.row
        vector = quantity is not None and not quantity.row and not quantity.single
        return letters.symbol(base, f"{subscript} i".strip() if indexed else subscript, vector)

    unknowns = [letters.symbol(*parts(each), False).text for each in step.unknowns]
    rows = [len(value.parts) for value in step.values.values() if value.row]
    nothing = (lambda _term, _row: False) if full else _nothing(step)
    put_in = Writer(numbers, _numbers(step, numbers), rows[0] if rows else 0, unknowns, nothing, alike=not full)
    terms, left_out = put_in.terms(node)

    def of_result(symbol: str, row: int | None) -> Piece:
        _ = row
        return letters.symbol(*parts(symbol), not step.result.single)

    return Written(
        letters.call("", unknowns) if step.unknowns else Writer(letters, of_result).write(tree(step.symbol)).text,
        Writer(letters, name, unknowns=unknowns).write(node).text,
        terms,
        _result(step, numbers),
        _also(step, system),
        left_out,
    )


def _nothing(step: Step) -> Callable[[ast.expr, int | None], bool]:
    """Tells whether a term of a line is 0 with the numbers put in."""

    def nothing(term: ast.expr, at: int | None) -> bool:
        values = {
            name: step.values[name].parts[at] if at is not None and step.values[name].row else step.values[name].value
            for name in symbols(term)
        }
        return bool(np.all(evaluate(term, values)[0] == 0.0))

    return nothing


def _numbers(step: Step, to: Notation) -> Callable[[str, int | None], Piece]:
    """Writes a symbol as the number put in for it."""

    def number(symbol: str, row: int | None) -> Piece:
        quantity, figures = step.values[symbol], step.put_in[symbol]
        if quantity.row:
            return to.number(figures[row or 0], quantity.unit_of(row or 0))
        if quantity.single:
            return to.number(figures[0], quantity.unit_of(0))
        return to.vector(figures, quantity.unit_of(0))

    return number


def _result(step: Step, to: Notation) -> str:
    figures, result = step.result_figures, step.result
    if result.single:
        return to.number(figures[0], result.unit_of(0)).text
    if isinstance(result.unit, str):
        return to.vector(figures, result.unit).text
    return to.call("", [to.number(figure, result.unit_of(i)).text for i, figure in enumerate(figures)])


def _in_us(value: float, unit: str) -> str:
    """A value [SI] with its US unit; empty where there is none."""
    if unit not in IN_US:
        return ""
    kind, power, name = IN_US[unit]
    return f"{signed_text(figure(value * float(convert(1.0, kind, 'us')[0]) ** power, FIGURES))} {name}"


def _also(step: Step, system: System) -> str:
    """The result in the units of the study, where those are not what the line has already."""
    if step.kind == "number" or not any(step.result.parts):
        return ""
    if step.kind is None:
        shown = (
            [_in_us(part, step.result.unit_of(i)) for i, part in enumerate(step.result.parts)] if system == "us" else []
        )
        if not any(shown):
            return ""
        shown = [
            one or f"{signed_text(figure(part, FIGURES))} {step.result.unit_of(i)}".strip()
            for i, (one, part) in enumerate(zip(shown, step.result.parts, strict=True))
        ]
    else:
        shown = [show(part, step.kind, system) for part in step.result.parts]
    units = {each.rsplit(" ", 1)[-1] for each in shown}
    if len(units) == 1:
        unit = units.pop()
        if unit == step.result.unit_of(0):
            return ""
        shown = [each.rsplit(" ", 1)[0] for each in shown]
        return f"{shown[0]} {unit}" if len(shown) == 1 else f"({', '.join(shown)}) {unit}"
    return f"({', '.join(shown)})"
