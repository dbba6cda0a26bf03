"""Worked steps: a formula, the numbers put in, the result and the source, all from one expression.

The numbers are in coherent SI units (m, kg, s, N, N·m, Pa), so that a line is recomputed as it stands, without a factor; the
result is given again in the units of the study where those differ. Numbers put in carry as many figures, six at least, as
make the line give the printed result when it is recomputed from the printed numbers. A number with fewer than six figures put
in, or fewer than five in a result, is exact. A result under a billionth of the terms that it is made from is rounding: it
reads 0 and goes on as 0. So does a part of a vector under a billionth of the greatest part.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from anchorsize.present.report.expression import Plain, evaluate, symbols, tree
from anchorsize.present.report.notation import Figure
from anchorsize.study import Array
from anchorsize.units import KINDS

PUT_IN, RESULT = 6, 5  # figures of the numbers put in, at least, and of a result
MOST_FIGURES = 15
NOISE = 1e-9  # share of its terms under which a result is rounding, and share of a vector under which a part of it is
AGREEMENT = 1e-6  # share of its terms to which a worked result must meet the assessment's
ROUNDING = 1e-9  # what counts as nothing beside any force or moment [N, N·m] or length [m]


class LineError(ArithmeticError):
    """A worked line does not give what the assessment has: a report must not print two answers."""


@dataclass(frozen=True)
class Quantity:
    """A value of a worked line in coherent SI: a number, a vector of three, or a ``row`` with one number per bolt.

    ``unit`` is one for all parts, or one for each where a linear system gives several.
    """

    value: Plain
    unit: str | tuple[str, ...] = ""
    row: bool = False

    def unit_of(self, part: int) -> str:
        """The unit of one part."""
        return self.unit if isinstance(self.unit, str) else self.unit[part]

    @property
    def parts(self) -> list[float]:
        """The parts one by one; one for a number."""
        return [float(part) for part in np.ravel(self.value)]

    @property
    def number(self) -> float:
        """The value of a single number."""
        return float(self.value)

    @property
    def single(self) -> bool:
        """Whether it is one number."""
        return np.ndim(self.value) == 0


def quantity(value: object, kind: str = "number") -> Quantity:
    """A number or vector of a kind of quantity; parts of a vector that are rounding beside it are 0."""
    unit = KINDS[kind].si
    array = without_traces(np.asarray(value, dtype=float))
    return Quantity(float(array) if array.ndim == 0 else array, "" if unit == "1" else unit)


def without_traces(values: Array) -> Array:
    """A vector (3,) with 0 for parts under a billionth of its greatest, such as the cosine of a right angle."""
    sizes = np.abs(values)
    return np.where(sizes < NOISE * np.max(sizes), 0.0, values)


def row(values: Array, kind: str = "number") -> Quantity:
    """One number per bolt."""
    unit = KINDS[kind].si
    return Quantity(np.asarray(values, dtype=float), "" if unit == "1" else unit, row=True)


def figure(value: float, figures: int) -> Figure:
    """A number printed with ``figures`` figures, or fewer where those are all that it has."""
    if value == 0.0:
        return Figure("0", 0, 0.0)
    size = abs(value)
    power = math.floor(math.log10(float(f"{size:.{figures - 1}e}")))
    exponent = power if power < -3 or power >= figures else 0
    places = max(figures - 1 - (power - exponent), 0)
    digits = f"{size / 10.0**exponent:.{places}f}"
    shown = float(f"{digits}e{exponent}")
    if abs(shown - size) <= 1e-12 * size and "." in digits:
        digits = digits.rstrip("0").rstrip(".")
    return Figure(digits, exponent, math.copysign(shown, value))


def last_digit(printed: Figure, figures: int) -> float:
    """What one unit in the last digit of a number printed with ``figures`` figures is worth."""
    if printed.value == 0.0:
        return 0.0
    return float(10.0 ** (math.floor(math.log10(abs(printed.value))) - figures + 1))


@dataclass(frozen=True)
class Step:
    """One worked line. ``formula`` is an expression over the symbols of ``values`` (see :mod:`.expression`).

    ``label`` tells lines of one formula apart, ``kind`` is the kind of quantity of the result where the study's own unit is to be
    shown beside SI, ``unknowns`` are the symbols of a linear system's solution.
    """

    name: str
    symbol: str
    formula: str
    values: Mapping[str, Quantity]
    result: Quantity
    source: str
    label: str = ""
    kind: str | None = None
    unknowns: tuple[str, ...] = ()

    @cached_property
    def result_figures(self) -> list[Figure]:
        """The result as printed, part by part."""
        return [figure(part, RESULT) for part in self.result.parts]

    @cached_property
    def put_in(self) -> dict[str, list[Figure]]:
        """The numbers put in as printed, part by part, with figures enough for the printed result."""
        allowed = np.array([0.5 * last_digit(each, RESULT) for each in self.result_figures])
        exact = np.ravel(self.result.value)
        for figures in range(PUT_IN, MOST_FIGURES + 1):
            printed = {name: [figure(part, figures) for part in q.parts] for name, q in self.values.items()}
            found, _ = evaluate(tree(self.formula), {name: self._as_printed(name, printed[name]) for name in printed})
            off = np.abs(np.ravel(found) - exact)
            if np.all((off <= allowed) | (allowed == 0.0)):
                break
        return printed

    def _as_printed(self, name: str, printed: list[Figure]) -> Plain:
        values = [each.value for each in printed]
        return values[0] if self.values[name].single else np.array(values)


@dataclass(frozen=True)
class Of:
    """What a worked line is of: the kind of quantity of its result, or else its unit (one for each part of a linear system).

    ``label`` tells lines of one formula apart, ``agrees`` is what the assessment has for the result, ``unknowns`` are the symbols
    of a linear system's solution.
    """

    kind: str | None = None
    unit: str | tuple[str, ...] = ""
    label: str = ""
    agrees: object = None
    unknowns: tuple[str, ...] = ()


@dataclass
class Workings:
    """Collects worked lines; each gives its result on to the lines below it.

    ``known_to`` is what forces and moments can be known to in the case, by kind of quantity: rounding of all that was added up or
    shared out to find them, which may be far greater than the terms of a line.
    """

    steps: list[Step] = field(default_factory=list)
    known_to: Mapping[str, float] = field(default_factory=dict)

    def step(self, name: str, symbol: str, formula: str, source: str, of: Of, /, **values: Quantity) -> Quantity:
        """Work a line out and keep it; ``values`` holds its symbols, and may hold more.

        Raises
        ------
        LineError
            Where the line does not give what the assessment has.
        """
        node = tree(formula)
        found, size = evaluate(node, {key: value.value for key, value in values.items()})
        clean = np.where(np.abs(found) <= NOISE * np.asarray(size), 0.0, found)
        if not of.unknowns:
            clean = without_traces(clean)
        if of.agrees is not None:
            # what the assessment has may lack as much as that, and so may each term of the line
            rounding = self.known_to.get(of.kind or "", 0.0) * (1 + len(symbols(node)))
            known = np.asarray(of.agrees, dtype=float)
            clean = np.where((known == 0.0) & (np.abs(clean) <= rounding), 0.0, clean)
            if not np.all(np.abs(clean - known) <= AGREEMENT * np.asarray(size) + ROUNDING + rounding):
                raise LineError(f"worked line '{name}' {of.label} gives {clean} where the assessment has {known}")
        unit = of.unit if of.kind is None else "" if KINDS[of.kind].si == "1" else KINDS[of.kind].si
        result = Quantity(float(clean) if clean.ndim == 0 else clean, unit)
        used = {key: values[key] for key in symbols(node)}
        self.steps.append(Step(name, symbol, formula, used, result, source, of.label, of.kind, of.unknowns))
        return result
