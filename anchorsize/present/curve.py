"""A curve as text, machine output, comma-separated values and picture, all from one list of columns."""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from anchorsize.assessment.results import JointResult
from anchorsize.assessment.statements import DEFERRAL
from anchorsize.present.machine import FORMAT
from anchorsize.present.pulls_held import pulls_held_words
from anchorsize.present.words import column, number, quantity, table
from anchorsize.studies.curve import Curve, PressureRule
from anchorsize.study import Array, Case
from anchorsize.units import KINDS, convert

if TYPE_CHECKING:
    from matplotlib.axes import Axes

STYLES: tuple[Any, ...] = ("-", "--", "-.", ":", (0, (8, 2, 1, 2, 1, 2)), (0, (1, 4)), (0, (12, 3)))
GREYS = ("0.0", "0.35")
FROM_LOSSES = "from losses, as in the file"
PRESSURE_WORDS = {
    "held": "pressures held",
    "square": "given pressures with the square of the flow",
    "from losses": "pressure from losses, their coefficient kept",
}


@dataclass(frozen=True)
class Column:
    """One result over the points of a curve; ``joint`` is None for the reaction."""

    name: str
    kind: str
    joint: str | None
    values: Array  # (m,)

    @property
    def key(self) -> str:
        """Name in the machine output, unit last."""
        joint = "" if self.joint is None else f"{self.joint} "
        return f"{joint}{self.name} {_key_unit(self.kind)}".replace(" ", "_")


def columns(curve: Curve) -> list[Column]:
    """Every result of a curve: the reaction, then the actions of each joint and its most loaded bolt."""
    result, shape = curve.result, curve.x.shape
    force = np.broadcast_to(result.reaction_force, (*shape, 3))
    found = [Column(f"reaction {axis}", "force", None, force[:, i]) for i, axis in enumerate("xyz")]
    found.append(Column("vertical reaction", "force", None, np.broadcast_to(result.vertical_reaction, shape)))
    for name, joint in result.joints.items():
        present = curve.study.joints[name].bolts.present
        found += [
            Column(what, kind, name, np.broadcast_to(values, shape)) for what, kind, values in _of_joint(joint, present)
        ]
    for name, support in result.supports.items():
        push, across = support.push, np.linalg.norm(support.friction, axis=-1)
        found.append(Column("along", "force", name, np.broadcast_to(push, shape)))
        if np.any(across > 0.0):
            found.append(Column("across", "force", name, np.broadcast_to(across, shape)))
    return found


def place_title(curve: Curve, where: str | None) -> str:
    """Heading of a group of columns: the reaction, a joint or a support."""
    if where is None:
        return "Reaction on the fitting"
    return f"{'Joint' if where in curve.study.joints else 'Support'} '{where}'"


def _of_joint(joint: JointResult, present: Any) -> list[tuple[str, str, Any]]:
    def greatest(tension: Array) -> Array:
        return np.asarray(np.max(np.where(present, tension, -np.inf), axis=-1))

    actions = [
        ("axial", "force", joint.axial),
        ("shear", "force", joint.shear),
        ("bending", "moment", joint.bending),
        ("torsion", "moment", joint.torsion),
        ("greatest external tension", "force", greatest(joint.external_tension)),
    ]
    if joint.service is not None and joint.service.tension is not None:
        actions.append(("greatest service tension", "force", greatest(joint.service.tension)))
    return actions


def curve_text(curve: Curve, width: int) -> str:
    """The tables of a curve, the reaction first, then one for each joint, with the balance below."""
    system, made = curve.study.units, columns(curve)
    title = f"{curve.study.title or 'untitled'}: case '{curve.case}' over {curve.what}"
    lines = [textwrap.fill(title, width), _terms(curve, width), ""]
    x, x_unit = column(curve.x, curve.kind, system)
    for joint in dict.fromkeys(each.joint for each in made):
        group = [each for each in made if each.joint == joint]
        shown = [column(each.values, each.kind, system) for each in group]
        # column names break at their blanks, so that the table keeps within the narrowest report
        names = ["\n".join(each.name.split()) for each in group]
        headers = [f"{_axis(curve)}\n{x_unit}", *(f"{n}\n{unit}" for n, (_, unit) in zip(names, shown, strict=True))]
        rows = [list(row) for row in zip(x, *(figures for figures, _ in shown), strict=True)]
        lines += [place_title(curve, joint), table(rows, headers, left=0), ""]
    lines.append(textwrap.fill(balance_words(curve), width))
    if curve.pressure is not None:
        lines += [
            textwrap.fill(line, width) for line in pulls_held_words(curve.study, [curve.case], "the forces and moments")
        ]
    lines.append(textwrap.fill(DEFERRAL, width))
    return "\n".join(lines) + "\n"


def _axis(curve: Curve) -> str:
    return "flow" if curve.pressure is not None else curve.what.rsplit("/", 1)[-1].replace("_", " ")


def _terms(curve: Curve, width: int) -> str:
    terms = (
        "all else as given"
        if curve.pressure is None
        else pressure_words(curve.pressure, [curve.study.cases[curve.case]])
    )
    axial = "axial without the pressure annulus, positive opens the joint" if curve.result.joints else ""
    tightened = any(
        joint.service is not None and joint.service.tension is not None for joint in curve.result.joints.values()
    )
    service = "service tension at the mean preload" if tightened else ""
    return textwrap.fill("; ".join(term for term in (terms, axial, service) if term), width)


def pressure_words(rule: PressureRule, cases: Sequence[Case]) -> str:
    """What is done with the pressures as the flow changes: by the rule asked for, and by the losses that cases of the file state."""
    said = PRESSURE_WORDS[rule]
    stating = [case for case in cases if any(state.losses is not None for state in case.states.values())]
    if rule == "from losses" or not stating:
        return said
    given = any(
        state.pressure is not None and bool(np.any(np.asarray(state.pressure) != 0.0))
        for case in cases
        for state in case.states.values()
    )
    if len(stating) < len(cases):
        names = ", ".join(f"'{case.name}'" for case in stating)
        return f"{said}; those {FROM_LOSSES}, in {names}"
    return f"{said}; those {FROM_LOSSES}" if given else f"pressures {FROM_LOSSES}"


def balance_words(curve: Curve) -> str:
    """Where the vertical reaction changes sign."""
    if not curve.balance.size:
        return "The vertical reaction does not change sign in this range."
    places = " and ".join(quantity(float(value), curve.kind, curve.study.units, 6) for value in curve.balance)
    return f"The vertical reaction changes sign at {places} (balance)."


def curve_dict(curve: Curve) -> dict[str, Any]:
    """The machine output of ``curve --json``."""
    balance = [float(value) for value in curve.balance]
    keys, rows = _keyed(curve)
    return {
        "format": FORMAT,
        "title": curve.study.title,
        "case": curve.case,
        "varied": curve.what,
        "unit": KINDS[curve.kind].si,
        "pressure": curve.pressure,
        "balance_flow_m3_s": balance[0] if balance and curve.kind == "flow" else None,
        "balance_at": balance,
        "columns": keys,
        "points": [dict(zip(keys, row, strict=True)) for row in rows],
    }


def _x_key(curve: Curve) -> str:
    return f"{'flow' if curve.pressure is not None else 'value'}_{_key_unit(curve.kind)}".rstrip("_")


def _key_unit(kind: str) -> str:
    """The SI unit of a kind as keys end in it: m3_s for m³/s, Nm for N·m, nothing for a number."""
    plain = KINDS[kind].si.translate(str.maketrans("²³⁴/", "234_", "·"))
    return "" if plain == "1" else plain


def _keyed(curve: Curve) -> tuple[list[str], list[list[float | None]]]:
    """The keys, and the values of every point in their order."""
    made = columns(curve)
    rows = [[number(curve.x[i]), *(number(each.values[i]) for each in made)] for i in range(curve.x.size)]
    return [_x_key(curve), *(each.key for each in made)], rows


def curve_csv(curve: Curve) -> str:
    """The points as comma-separated values in SI, the keys of the machine output in the first row."""
    keys, rows = _keyed(curve)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(keys)
    writer.writerows(["" if value is None else repr(value) for value in row] for row in rows)
    return text.getvalue()


def curve_picture(curve: Curve, suffix: Literal["svg", "png"], whole: bool = True) -> bytes:
    """A picture as ``svg`` or ``png``: reaction, forces of each joint, moments of each joint, one below the other.

    Without ``whole`` only the reaction, which shows where it changes sign.
    """
    from matplotlib.figure import Figure

    from anchorsize.present.pictures.style import clean, look, render

    made = _apart_from_each_other(columns(curve))
    groups = list(dict.fromkeys((each.joint, each.kind) for each in made if whole or each.joint is None))
    with look():
        height = 1.0 + 2.6 * len(groups)
        figure = Figure(figsize=(7.5, height), facecolor="white")
        axes = figure.subplots(len(groups), 1, sharex=True, squeeze=False)[:, 0]
        # The names stand beside the right end of the lines; margins in inches, since laying out by measuring is slow.
        figure.subplots_adjust(left=0.13, right=0.74, bottom=0.55 / height, top=1.0 - 0.42 / height, hspace=0.12)
        for at, (joint, kind) in zip(axes, groups, strict=True):
            _draw(at, curve, [each for each in made if (each.joint, each.kind) == (joint, kind)])
            at.yaxis.set_label_coords(-0.135, 0.5)
        axes[-1].xaxis.set_label_coords(0.5, -0.3 / (2.6 - 0.4 / len(groups)))
        x_label = column(curve.x, curve.kind, curve.study.units)[1]
        axes[-1].set_xlabel(f"{clean(_axis(curve))} [{x_label}]")
        figure.suptitle(clean(f"{curve.study.title}: '{curve.case}'", 90), fontsize=10, y=1.0 - 0.12 / height, va="top")
        return render(figure, suffix)


def _apart_from_each_other(made: list[Column]) -> list[Column]:
    """The columns, the vertical reaction merged into the part along an axis of the world that it is equal to."""
    vertical = next(each for each in made if each.name == "vertical reaction")
    for each in made:
        if (
            each is not vertical
            and each.joint is None
            and np.allclose(each.values, vertical.values, rtol=1e-9, atol=0.0)
        ):
            merged = replace(each, name=f"{each.name}\n(vertical)")
            return [merged if other is each else other for other in made if other is not vertical]
    return made


def _draw(axes: Axes, curve: Curve, made: Sequence[Column]) -> None:
    """Draw the columns of one kind, each line with its own style and its name at its right end."""
    x, system = _shown(curve.x, curve.kind, curve), curve.study.units
    lines = [_shown(each.values, each.kind, curve) for each in made]
    for i, (each, y) in enumerate(zip(made, lines, strict=True)):
        axes.plot(x, y, linestyle=STYLES[i % len(STYLES)], color=GREYS[i % 2], linewidth=1.4, label=each.name)
    axes.axhline(0.0, color="0.7", linewidth=0.6, zorder=0)
    for place in _shown(curve.balance, curve.kind, curve) if made[0].joint is None else ():
        axes.axvline(place, color="0.55", linewidth=0.8, linestyle=":")
        axes.annotate(
            f"balance {place:.4g}",
            (place, 0.02),
            xycoords=("data", "axes fraction"),
            rotation=90,
            ha="right",
            va="bottom",
        )
    from anchorsize.present.pictures.style import clean

    what = "reaction" if made[0].joint is None else clean(place_title(curve, made[0].joint))
    axes.set_ylabel(f"{what} [{column([0.0], made[0].kind, system)[1]}]")
    axes.margins(x=0.0)
    low, high = axes.get_ylim()
    for each, y, place in zip(made, lines, _apart([y[-1] for y in lines], 0.085 * (high - low)), strict=True):
        axes.annotate(
            each.name,
            (x[-1], y[-1]),
            xytext=(1.03, (place - low) / (high - low)),
            textcoords="axes fraction",
            va="center",
            fontsize=8,
            arrowprops={"arrowstyle": "-", "color": "0.6", "linewidth": 0.5, "shrinkA": 0, "shrinkB": 0},
        )


def _shown(values: Array, kind: str, curve: Curve) -> Array:
    return np.asarray(convert(values, kind, curve.study.units)[0])


def _apart(places: Sequence[float], least: float) -> list[float]:
    """Heights of labels in the order of ``places``, moved up where they would stand closer than ``least``."""
    moved = [0.0] * len(places)
    floor = -np.inf
    for i in sorted(range(len(places)), key=lambda i: places[i]):
        moved[i] = floor = max(places[i], floor + least)
    return moved
