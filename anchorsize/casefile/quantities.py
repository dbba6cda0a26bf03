"""One quantity of a case file: central value, spread and shape, from any of the forms that the format allows."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from anchorsize.casefile.hints import clock_angle, commas, direction, nominal_size, pound_sign, tightened_by_feel
from anchorsize.casefile.problems import Problem, sentence, shorten
from anchorsize.casefile.reading import Branch, Items, Text, Tree
from anchorsize.study import Array, Number
from anchorsize.units import KINDS, System, UnitError, offered, show, split_quantity, to_si
from anchorsize.units.names import US_UNITS

Shape: TypeAlias = Literal["normal", "uniform"]
SHAPES: tuple[Shape, ...] = ("normal", "uniform")

MOST_METERS = 10.0  # a place under which a bare number is likely in meters
_LONGEST_NOMINAL = 60  # characters in which a nominal size is looked for
_SPREAD = re.compile(r"±|\+\s*/\s*[-−–]|\+-")

# What nobody means, by kind, in SI: (least, greatest). Outside of it the unit is in doubt.
_BELIEVABLE: dict[str, tuple[float, float]] = {
    "length": (-1e3, 1e3),
    "area": (0.0, 1e3),
    "volume": (0.0, 1e5),
    "mass": (0.0, 1e7),
    "density": (0.01, 25_000.0),
    "pressure": (-1.1e5, 1e9),
    "absolute_pressure": (0.0, 1e9),
    "stress": (0.0, 1e10),
    "modulus": (0.0, 2e12),
    "force": (-1e9, 1e9),
    "moment": (-1e10, 1e10),
    "flow": (-1e4, 1e4),
    "flow_change": (-1e4, 1e4),
    "mass_flow": (0.0, 1e7),
    "velocity": (0.0, 1e4),
    "angle": (-1e3, 1e3),
    "stiffness": (0.0, 1e15),
    "rotational_stiffness": (0.0, 1e15),
    "subgrade_modulus": (0.0, 1e15),
    "second_moment": (0.0, 1e3),
    "temperature_change": (-5e3, 5e3),
    "temperature": (1.0, 5e3),
    "time": (0.0, 1e6),
    "viscosity": (0.0, 1e6),
    "molar_mass": (1e-3, 1.0),
    "number": (-1e6, 1e6),
    "share": (0.0, 10.0),
}


@dataclass(frozen=True)
class Bounds:
    """Limits of one entry of the format, in SI: ``above`` and ``below`` are exclusive, ``least`` and ``most`` inclusive.

    Beyond ``most`` and under ``low`` the unit is in doubt; the others say what is impossible. ``hint`` says what to write instead,
    in place of the doubt about the unit.
    """

    above: float | None = None
    least: float | None = None
    most: float | None = None
    below: float | None = None
    low: float | None = None
    hint: str = ""

    def complaint(self, value: Number, kind: str) -> tuple[str, str] | None:
        """Return what is wrong with the value, or with any element of it, as (message, hint); None if nothing is."""
        array = np.asarray(value, dtype=np.float64)
        if self.above is not None and np.any(array <= self.above):
            return f"must be more than {self._shown(self.above, kind)}", self.hint
        if self.least is not None and np.any(array < self.least):
            return f"must not be less than {self._shown(self.least, kind)}", self.hint
        if self.below is not None and np.any(array >= self.below):
            return f"must be less than {self._shown(self.below, kind)}", self.hint
        low, high = _BELIEVABLE.get(kind, (-np.inf, np.inf))
        high = high if self.most is None else self.most
        low = low if self.low is None else self.low
        if np.any(array > high):
            return f"is more than {self._shown(high, kind)}", self.hint or "is this unit right?"
        if low == 0 and np.any(array < 0):
            return "must not be less than 0", self.hint
        if np.any(array < low):
            return f"is less than {self._shown(low, kind)}", self.hint or "is this unit right?"
        return None

    @staticmethod
    def _shown(limit: float, kind: str) -> str:
        if kind == "modulus" and limit < 1e9:
            kind = "stress"  # a soft one reads better in MPa
        return "0" if limit == 0 else show(limit, kind, "metric")


@dataclass
class Quantity:
    """A quantity as read: ``given`` as written, ``si`` in the SI unit of ``kind``, with its place in the file.

    ``plus_minus`` is the half width in SI, ``None`` where the user gave none. ``si`` is NaN where the text was no
    quantity (the problem is then recorded already), so that later comparisons stay silent about it. Overrides replace
    ``si`` by an array of the batch shape; nothing else changes a quantity after reading.
    """

    given: str
    si: Number
    kind: str
    line: int
    path: tuple[str, ...]
    plus_minus: float | None = None
    shape: Shape | None = None
    bounds: Bounds = field(default_factory=Bounds, repr=False)


@dataclass
class Collector:
    """Gathers the problems of one file; passed to pydantic as its validation context."""

    file: str
    problems: list[Problem] = field(default_factory=list)
    system: System = "metric"  # whose units are offered
    up: Sequence[float] | None = None  # of the file, where it can be read
    lines: Sequence[str] = ()  # of the file
    supply: dict[tuple[str, ...], str] = field(default_factory=dict)  # what to write at a key path that is missing

    def add(self, line: int, path: tuple[str, ...], message: str, hint: str, kind: str, found: str = "") -> None:
        """Record one problem."""
        self.problems.append(Problem(self.file, line, path, found, sentence(message), sentence(hint), kind))

    def at(self, node: Tree, message: str, hint: str, kind: str) -> None:
        """Record a problem with the value at ``node``."""
        self.add(node.line, node.path, message, hint, kind, str(node) if isinstance(node, Text) else "")

    def about(self, quantity: Quantity, message: str, hint: str, kind: str) -> None:
        """Record a problem with a quantity that was read."""
        self.add(quantity.line, quantity.path, message, hint, kind, quantity.given)


def read_quantity(node: Tree, kinds: tuple[str, ...], bounds: Bounds, collector: Collector) -> Quantity:
    """Read one quantity of one of ``kinds``; problems go to the collector and leave NaN behind."""
    if isinstance(node, Items):
        collector.at(node, f"a list where {_nouns(kinds)} is expected", "write one value", "wrong_form")
        return Quantity("", np.nan, kinds[0], node.line, node.path)
    if isinstance(node, Branch):
        return _from_mapping(node, kinds, bounds, collector)
    if not node.strip():
        collector.at(
            node, f"nothing is given where {_nouns(kinds)} is expected", "write it, or take out the key", "empty"
        )
        return Quantity("", np.nan, kinds[0], node.line, node.path)
    center, *spread = _SPREAD.split(node, maxsplit=1)
    return _assemble(node, center, spread[0] if spread else None, kinds, bounds, collector)


def _from_mapping(node: Branch, kinds: tuple[str, ...], bounds: Bounds, collector: Collector) -> Quantity:
    """Read ``{value, plus_minus, shape}``."""
    broken = Quantity("", np.nan, kinds[0], node.line, node.path)
    known = ("value", "plus_minus", "shape")
    for key in node:
        if key not in known:
            line, path = node.lines[key], (*node.path, key)
            collector.add(line, path, f"unknown key '{shorten(key)}'", "known: " + ", ".join(known), "unknown_key", key)
    value, spread, shape = (node.get(key) for key in known)
    if not isinstance(value, Text) or not (spread is None or isinstance(spread, Text)):
        collector.at(node, "'value' is needed, as one text", "write {value: …, plus_minus: …}", "missing_key")
        return broken
    quantity = _assemble(value, value, spread, kinds, bounds, collector)
    if shape is not None and shape not in SHAPES:
        collector.at(shape, f"'{shorten(str(shape))}' is no shape of scatter", "known: normal, uniform", "choice")
    elif shape is not None and spread is None:
        collector.at(shape, "a shape without 'plus_minus'", "give plus_minus, or take out shape", "contradiction")
    else:
        quantity.shape = next((known for known in SHAPES if known == shape), quantity.shape)
    quantity.path, quantity.line = node.path, node.line
    if isinstance(spread, Text):
        quantity.given = f"{value} ± {spread}"
    return quantity


def _assemble(
    place: Text, center: str, spread: str | None, kinds: tuple[str, ...], bounds: Bounds, collector: Collector
) -> Quantity:
    """Put center and spread together; where one of them lacks its unit, the other's serves for both."""
    given = str(place).strip()
    quantity = Quantity(given, np.nan, kinds[0], place.line, place.path, bounds=bounds)
    try:
        number, unit = split_quantity(center)
        width = split_quantity(spread) if spread is not None else None
        if width and not unit and width[1] != "%":
            unit = width[1]
        quantity.si, quantity.kind = _first_fit(number, unit, kinds)
        if width:
            quantity.plus_minus = _half_width(quantity, unit, *width)
            quantity.shape = "normal"
    except UnitError as error:
        quantity.si = np.nan
        hint = _special(place, given, kinds[0], error, collector)
        if not hint:
            advice = offered(kinds[0], "us") if error.offers and collector.system == "us" else error.hint
            hint = "; ".join(filter(None, (error.reason, advice)))
        collector.at(place, f"'{shorten(given)}' is not {_nouns(kinds)}", hint, error.kind)
        return quantity
    complaint = bounds.complaint(quantity.si, quantity.kind)
    if complaint:
        percent = quantity.kind == "share" and not unit and 1.0 <= number < 100.0
        hint = f"write {number:g} %" if percent else complaint[1]
        collector.at(place, f"'{shorten(given)}' {complaint[0]}", hint, "out_of_range")
        quantity.si = np.nan
    return quantity


def _special(place: Text, given: str, kind: str, error: UnitError, collector: Collector) -> str:
    """What to write in place of what people write first for a quantity of the kind; nothing where the error says all."""
    if kind == "length" and len(given) <= _LONGEST_NOMINAL:
        return nominal_size(given, place.path[-1] if place.path else "", collector.system)
    if error.kind == "no_unit" and 0 < place.line <= len(collector.lines):
        return pound_sign(given, collector.lines[place.line - 1], KINDS[kind].noun)
    if kind in ("moment", "force") and error.kind == "not_a_number" and "tightening" in place.path:
        return tightened_by_feel(given, _usual(kind, collector))
    if {"nut_factor", "target_nut_factor"} & set(place.path[-2:]) and error.kind == "not_a_number":
        return "write a number such as 0.2; `anchorsize table nut_factors` lists it by surface and lubricant"
    angle = clock_angle(given) if kind == "angle" else None
    return "" if angle is None else _no_clock(angle)


def _no_clock(angle: float) -> str:
    """What to write for a clock position, which has no meaning before it is said where 12:00 is."""
    return (
        "clock positions are not read: write the angle from the reference direction, clockwise seen from the fitting: "
        f"{angle:g} deg where 12:00 lies on it"
    )


def _first_fit(number: float, unit: str, kinds: tuple[str, ...]) -> tuple[float, str]:
    """Convert as the first of ``kinds`` that the unit fits; complain about the first kind if none does."""
    for kind in kinds[1:]:
        try:
            return to_si(number, unit, kind), kind
        except UnitError:
            continue
    return to_si(number, unit, kinds[0]), kinds[0]


def _half_width(quantity: Quantity, unit: str, number: float, spread_unit: str) -> float:
    """Return the SI half width: a share of the central value for %, else a difference in its own or the same unit.

    Shares written in % take their ± in points: ``30 % ± 5 %`` runs from 25 % to 35 %.
    """
    if number < 0:
        raise UnitError("out_of_range", "the ± is negative")
    if spread_unit == "%" and unit != "%":
        if quantity.kind == "temperature":
            raise UnitError("wrong_dimension", "a temperature has no ± in %", "write the ± in degC, degF or K")
        return number / 100 * abs(float(quantity.si))
    kind = "temperature_change" if quantity.kind == "temperature" else quantity.kind
    return to_si(number, spread_unit or unit, kind)


def read_vector(node: Tree, kind: str, collector: Collector) -> tuple[Quantity, Quantity, Quantity]:
    """Read ``[0.10, 0, -0.05 m]``: each entry its own unit, or the last one's for all that have none."""
    noun = KINDS[kind].noun
    broken = Quantity("", np.nan, kind, node.line, node.path)
    if not isinstance(node, Items) or len(node) != 3 or not all(isinstance(entry, Text) for entry in node):
        form = f"write [x, y, z {_usual(kind, collector)}]" if KINDS[kind].usual else "write [x, y, z]"
        found = f"'{shorten(str(node))}' is" if isinstance(node, Text) else "this is"
        if isinstance(node, Items):
            found = f"{len(node)} entr{'y is' if len(node) == 1 else 'ies are'}"
        if kind == "number" and isinstance(node, Text):
            form = direction(node, collector.up)
        form = without_commas(node, kind, collector) or form
        collector.at(node, f"{found} not three numbers", form, "wrong_form")
        return broken, broken, broken
    texts = with_last_unit([entry for entry in node if isinstance(entry, Text)])
    if kind != "number" and all(_unit_of(text) == "" for text in texts):
        hint = f"the last entry gives it for all: [{', '.join(texts)} {_likely(texts, kind, collector)}], if that is the unit meant"
        collector.at(node, f"no entry of this list has a unit; {noun} is expected", hint, "no_unit")
        return broken, broken, broken
    parts = []
    for axis, text in zip("xyz", texts, strict=True):
        part = read_quantity(text, (kind,), Bounds(), collector)
        part.path = (*node.path, axis)
        parts.append(part)
    return parts[0], parts[1], parts[2]


def without_commas(node: Tree, kind: str, collector: Collector) -> str:
    """How to write a list of quantities that only blanks part; nothing where that is not what is there."""
    text = node[0] if isinstance(node, Items) and len(node) == 1 else node
    if not isinstance(text, Text):
        return ""
    return commas(text, _likely(text.split(), kind, collector) if KINDS[kind].usual else "")


def _likely(numbers: Sequence[str], kind: str, collector: Collector) -> str:
    """The unit that bare numbers are likely meant in: of places in a metric file meters where they are small, else the usual one."""
    if kind != "length" or collector.system == "us":
        return _usual(kind, collector)
    sizes = [abs(float(np.asarray(split_quantity(each)[0]))) for each in numbers if _unit_of(each) is not None]
    return "m" if max(sizes, default=MOST_METERS) < MOST_METERS else _usual(kind, collector)


def _usual(kind: str, collector: Collector) -> str:
    """The unit that examples are written in."""
    us = (name for name in KINDS[kind].usual if name in US_UNITS)
    return next(us, KINDS[kind].usual[0]) if collector.system == "us" else KINDS[kind].usual[0]


def with_last_unit(texts: list[Text]) -> list[Text]:
    """Give the last entry's unit to the bare numbers before it; beside other units only to zeros."""
    unit = _unit_of(texts[-1]) if texts else ""
    if unit is None:  # a wrong word with a unit behind it: the others are judged with that unit
        unit = texts[-1].strip().partition(" ")[2]
    if not unit:
        return texts
    alone = not any(_unit_of(text) for text in texts[:-1])  # a wrong word among them has no unit either
    return [
        Text(f"{text} {unit}", text.line, text.path)
        if _unit_of(text) == "" and (alone or split_quantity(text)[0] == 0)
        else text
        for text in texts
    ]


def _unit_of(text: str) -> str | None:
    """Return the unit of a text, '' for a bare number, None for what is no number."""
    try:
        parts = [split_quantity(part)[1] for part in _SPREAD.split(text, maxsplit=1)]
    except UnitError:
        return None
    return parts[-1] or parts[0]


def no_quantity(text: str) -> bool:
    """Whether a text does not even start with a number."""
    return _unit_of(text) is None


def is_bare(text: str) -> bool:
    """Whether a text is a number without a unit."""
    return _unit_of(text) == ""


def _nouns(kinds: tuple[str, ...]) -> str:
    return " or ".join(KINDS[kind].noun for kind in kinds)


def si(quantity: Quantity | None) -> Number | None:
    """Return the SI value, or None for what was not given."""
    return None if quantity is None else quantity.si


def vector(parts: tuple[Quantity, Quantity, Quantity]) -> Array:
    """Stack three components on a last axis, broadcasting the batch shapes of overrides."""
    stacked: NDArray[np.float64] = np.stack(np.broadcast_arrays(*(np.asarray(part.si) for part in parts)), axis=-1)
    return stacked.astype(np.float64)
