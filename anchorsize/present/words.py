"""Numbers and names as people read them: figures, clock positions, status words."""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Iterable, Sequence

import numpy as np
import tabulate as tables

from anchorsize import units
from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.results import Assessment, Check
from anchorsize.mechanics.frames import clock_position
from anchorsize.study import Array, Joint, Study
from anchorsize.units import System, over_one

tables.MIN_PADDING = 0  # headers no wider than their words: reports must fit 80 columns

NO_CLAMP = "no clamp"
OF_A_BOUND = "a bound for want of stiffness: the true demand may be less"
UNBOUNDED = {"joint lift-off": "opens at any load", "slip at the bolts": NO_CLAMP}
KIND_OF_UNIT = {"Pa": "stress", "N": "force", "Nm": "moment", "m": "length", "m2": "area", "1": "number"}

_BARE_INCHES = re.compile(r"(?:\d+[\s-]+)?\d+/\d+|\d+(?:\.\d+)?", re.ASCII)


def figure(value: float, digits: int = 4, negligible: float = 0.0) -> str:
    """``value`` with ``digits`` significant figures and no exponent; at or below ``negligible`` it reads 0."""
    value = float(value)
    if math.isnan(value):
        return "-"
    if math.isinf(value):
        return "unlimited" if value > 0 else "-unlimited"
    if abs(value) <= negligible or value == 0.0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    return f"{value:,.{min(places, 9)}f}"


def size_words(size: str) -> str:
    """The size of a bolt with its unit, where the file has it in inches and leaves them out: `3/4` is `3/4 in`."""
    return f"{size} in" if _BARE_INCHES.fullmatch(size) else size


def column(values: Iterable[float], kind: str, system: System) -> tuple[list[str], str]:
    """A table column of one kind: the figures and the unit label; rounding noise reads 0."""
    shown = [_convert(value, kind, system) for value in values]
    numbers = [number for number, _ in shown]
    noise = 1e-9 * max((abs(n) for n in numbers if math.isfinite(n)), default=0.0)
    label = _convert(0.0, kind, system)[1]
    return [figure(number, units.figures_for(number, label), noise) for number in numbers], label


def _convert(value: float, kind: str, system: System) -> tuple[float, str]:
    number, label = units.convert(float(value), kind, system)
    return float(number), label


def quantity(value: float, kind: str, system: System, digits: int = 4) -> str:
    """One figure with its unit."""
    number, label = _convert(value, kind, system)
    return f"{figure(number, units.figures_for(number, label, digits))}{'' if label == '°' else ' '}{label}".rstrip()


def clock(angle: float) -> str:
    """Clock position of a bolt (12:00 at e1), looking from the fitting toward the pipe."""
    hour, minute = clock_position(angle)
    return f"{int(hour)}:{int(minute):02d}"


def acts(joint: Joint, place: int, tension: Array) -> str:
    """What the loads do to the bolt at a place of the pattern by the tensions (n,) [N]; that it is missing or loose where it is."""
    if not joint.carrying[place]:
        return "loose" if joint.bolts.present[place] else "missing"
    return "pulled" if tension[place] > 0 else "pressed"


def margin(value: float) -> str:
    """Margin in percent, signed; from ten times on it says no more than that."""
    if math.isinf(value):
        return "unlimited"
    whole = f"{value:+.0%}"
    if value < 0.0 and whole == "-0%":  # it fails, by however little
        return next(
            (text for text in (f"{value:+.{places}%}" for places in range(1, 7)) if float(text[:-1]) < 0.0),
            "just under 0",
        )
    return whole if value < 10 else "over 10×"


def used(value: object, digits: int = 3) -> str:
    """A utilization, one over 1 with as many figures as show it; an infinite one is no freedom without limit but more than any strength bears."""
    utilization = float(np.asarray(value))
    shown = figure(utilization, digits)
    told = math.isinf(utilization) or (utilization > 1.0 and float(shown.replace(",", "")) <= 1.0)
    return over_one(utilization) if told else shown


def used_cell(check: str, value: object) -> str:
    """A utilization in a narrow column."""
    words = used_by(check, value)
    return words if words == NO_CLAMP else used(value)


def used_by(check: str, value: object) -> str:
    """A utilization; an infinite one of lift-off is a face that is open before any load comes on, one of a bolt a clamp of nothing."""
    beyond = float(np.asarray(value)) == math.inf
    return UNBOUNDED[check] if beyond and check in UNBOUNDED else used(value)


def use_words(check: str, value: object) -> str:
    """A utilization as part of a sentence."""
    words = used_by(check, value)
    return f"a bolt has {words}" if words == NO_CLAMP else f"utilization {words}"


def demand_words(check: Check, system: System) -> tuple[str, str]:
    """Demand and allowable of a check with their unit."""
    kind = KIND_OF_UNIT[check.unit]
    sign = "≥ " if check.least else ""
    return quantity(float(check.demand), kind, system), sign + quantity(float(check.allowable), kind, system)


def is_bound(check: Check) -> bool:
    """Whether its demand stands in for one that only the stiffness of bolts and gasket gives."""
    return "bound without stiffness" in check.source


def place_words(study: Study, where: str) -> str:
    """What a check is about: a joint or a support, by name."""
    return f"{'joint' if where in study.joints else 'support'} '{where}'"


def failing_words(assessment: Assessment) -> list[str]:
    """Each check that fails, once for each place: where it is one of several, in which cases, and its greatest utilization."""
    failing: dict[tuple[str, str], list[tuple[str, float]]] = {}
    for name, case in assessment.cases.items():
        for check in case.checks:
            if not check.holds:
                failing.setdefault((check.words, check.where), []).append((name, float(check.utilization)))
    study = assessment.study
    several = len(study.joints) + len(study.supports.get(assessment.option, ())) > 1
    return [
        f"{check}{_of(where, several)} "
        f"{cases_words(list(dict(found)), list(assessment.cases))}, {use_words(check, max(use for _, use in found))}"
        for (check, where), found in failing.items()
    ]


def _of(where: str, several: bool) -> str:
    return f" of '{where}'" if several else ""


def cases_words(some: Sequence[str], every: Sequence[str]) -> str:
    """In which of the cases: by name as long as there are few, with their number from three on."""
    if len(some) == 1:
        return f"in '{some[0]}'"
    if len(some) == len(every):
        return "in both cases" if len(every) == 2 else f"in every case ({len(every)})"
    if len(some) == 2:
        return f"in '{some[0]}' and '{some[1]}'"
    return f"in {len(some)} of {len(every)} cases"


def when(check: str, case: str) -> str:
    """In which case a check is as said; one of layout is the same in all."""
    return "in every case" if check in LAYOUT else f"in '{case}'"


def joined(words: Sequence[str]) -> str:
    """A list in words: `3`, `3 and 4`, `3, 4 and 5`."""
    return " and ".join(filter(None, [", ".join(words[:-1]), words[-1]]))


def table(rows: Sequence[Sequence[str]], headers: Sequence[str], left: int = 1, indent: str = "  ") -> str:
    """A plain text table; the first ``left`` columns are set left, the rest right."""
    align = ["left"] * left + ["right"] * (len(headers) - left)
    text = tables.tabulate(rows, headers=headers, tablefmt="simple", colalign=align, disable_numparse=True)
    return textwrap.indent(text, indent)


def wrapped(name: str, width: int = 16) -> str:
    """A name in a table's cell, in lines of ``width``."""
    return "\n".join(textwrap.wrap(name, width, break_on_hyphens=False)) or "-"


def paragraph(text: str, width: int, bullet: str = "- ") -> str:
    """A wrapped list item."""
    indent = "  " + " " * len(bullet)
    return textwrap.fill(text, width, initial_indent=f"  {bullet}", subsequent_indent=indent, break_on_hyphens=False)


def number(value: object) -> float | None:
    """A plain float for machine output; None where it is not finite."""
    as_float = float(np.asarray(value))
    return as_float if math.isfinite(as_float) else None
