"""The plane of flow and pressure as a picture, one panel per case: what holds, its boundary and what makes it, the case's own point."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any, Literal, cast

import numpy as np

from anchorsize.assessment.results import StudyError
from anchorsize.present.limits import check_words, stop_words
from anchorsize.present.words import column, quantity
from anchorsize.studies.limits import CaseLimits, Limits
from anchorsize.studies.limits_boundary import Boundary
from anchorsize.studies.limits_scan import Span, Stop
from anchorsize.study import Array
from anchorsize.units import System, convert

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PAPER: dict[str, Any] = {"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": "none", "alpha": 0.85}
WIDTH, PANEL = 7.5, 4.2  # [in]
LEFT, RIGHT, BELOW, ABOVE, TOP = 0.85, 0.15, 0.5, 0.12, 0.35  # free space about a panel, and for the title of all [in]
TITLE_ROW = 0.15  # a line above a panel [in]
TITLE_WIDTH = 100  # letters


def drawn(found: Limits) -> list[CaseLimits]:
    """The cases that have a plane to draw."""
    return [case for case in found.cases.values() if case.boundary is not None]


def limits_picture(found: Limits, kind: Literal["svg", "png"]) -> bytes:
    """A picture as ``svg`` or ``png``.

    Raises
    ------
    StudyError
        No case has both a flow and a pressure to change, or nothing holds anywhere.
    """
    cases = drawn(found)
    if not cases:
        raise StudyError("there is no plane to draw: no case has a flow and a pressure at which the checks hold")
    from matplotlib.figure import Figure

    from anchorsize.present.pictures.style import GREY, NOTE_SIZE, clean, look, render

    titles = [_title(case, found) for case in cases]
    heights = [PANEL + TITLE_ROW * title.count("\n") for title in titles]
    whole = TOP + sum(heights)
    with look():
        figure = Figure(figsize=(WIDTH, whole), facecolor="white")
        floor = whole - TOP
        for case, title, height in zip(cases, titles, heights, strict=True):
            # Places in inches: letting the figure measure its letters would draw it twice.
            floor -= height
            inner = height - BELOW - ABOVE - TITLE_ROW * (title.count("\n") + 1)
            wide = WIDTH - LEFT - RIGHT
            axes = figure.add_axes((LEFT / WIDTH, (floor + BELOW) / whole, wide / WIDTH, inner / whole))
            _panel(axes, case, found)
            axes.set_title(title, fontsize=NOTE_SIZE + 1, loc="left", color=GREY)
            axes.xaxis.set_label_coords(0.5, -0.27 / inner)
            axes.yaxis.set_label_coords(-0.6 / wide, 0.5)
        figure.suptitle(clean(found.study.title, 80), fontsize=10, y=1.0 - 0.1 / whole, va="top")
        return render(figure, kind)


def limits_alt(found: Limits) -> str:
    """What the picture shows, in words."""
    return " ".join(_alt(case, found) for case in drawn(found))


def _alt(case: CaseLimits, found: Limits) -> str:
    system = found.study.units
    point = quantity(case.own_flow, "flow", system), quantity(case.own_pressure or 0.0, "pressure", system)
    words = f"Flow against pressure of '{case.name}'; the case itself stands at {point[0]} and {point[1]} and "
    words += "holds." if case.holds else f"does not hold ({stop_words(case.governing, found)})."
    for what, span in (("flow", case.flow), ("pressure", case.pressure)):
        if span is not None:
            words += f" By {what} it holds {_alt_span(span, what, found)}."
    if case.fixed:
        failing = ", ".join(check_words(each.check, each.where, found) for each in case.fixed)
        words += f" Not counted: {failing}, failing at every flow and pressure."
    return words


def _alt_span(span: Span, what: str, found: Limits) -> str:
    parts, system = [], found.study.units
    for each in span.intervals:
        upper = f"to {quantity(each.high, what, system)} ({stop_words(each.high_by, found)})"
        if each.high_by is None:
            upper = f"with no limit found up to {quantity(each.high, what, system)}"
        parts.append(f"from {quantity(each.low, what, system)} {upper}")
    return " and ".join(parts) or "nowhere"


def _panel(axes: Axes, case: CaseLimits, found: Limits) -> None:
    from anchorsize.present.pictures.style import FAINT, GREY, INK, PALE, clean

    plane, system = cast("Boundary", case.boundary), found.study.units
    flows, pressures = _shown(plane.along, "flow", system), _shown(plane.across, "pressure", system)
    safe = axes.contourf(flows, pressures, plane.measure[0].T, levels=[-1.0, 0.0], colors=[PALE], hatches=["//"])
    safe.set_edgecolor(FAINT)
    safe.set_linewidth(0.0)
    for place, each in enumerate(case.checks, start=1):
        if each.moves:
            axes.contour(flows, pressures, plane.measure[place].T, levels=[0.0], colors=[FAINT], linewidths=0.6)
    axes.contour(flows, pressures, plane.measure[0].T, levels=[0.0], colors=[INK], linewidths=1.6)
    _name(axes, _makers(plane, found), float(plane.flows[-1]), system)
    if case.path is not None:
        axes.plot(
            _shown(case.path[0], "flow", system), _shown(case.path[1], "pressure", system), color=GREY, lw=0.7, ls=":"
        )
    own = float(_shown(case.own_flow, "flow", system)), float(_shown(case.own_pressure or 0.0, "pressure", system))
    axes.plot(
        *own, color=INK, marker="o", markersize=6, markerfacecolor="white", markeredgecolor=INK, zorder=6, clip_on=False
    )
    axes.annotate(
        f"'{clean(case.name)}' {'holds' if case.holds else 'FAILS'}",
        own,
        xytext=(7, 7),
        textcoords="offset points",
        color=INK,
        zorder=7,
        bbox=PAPER,
    )
    axes.set_xlim(0.0, max(float(flows[-1]), own[0] * 1.05))
    axes.set_ylim(0.0, max(float(pressures[-1]), own[1] * 1.05))
    axes.set_xlabel(f"flow into the fitting [{column([0.0], 'flow', system)[1]}]")
    axes.set_ylabel(f"gauge pressure at '{clean(case.at or '')}' [{column([0.0], 'pressure', system)[1]}]")


def _title(case: CaseLimits, found: Limits) -> str:
    from anchorsize.present.pictures.style import clean

    counted = "every check" if not case.fixed else "all that flow and pressure move"
    lines = [f"'{clean(case.name)}': hatched, {counted} holds; faint, each check alone; dotted, as the flow changes"]
    lines += [
        f"{clean(check_words(each.check, each.where, found), 60)} fails everywhere: nothing is safe until it is mended"
        for each in case.fixed
    ]
    return "\n".join(textwrap.fill(line, TITLE_WIDTH) for line in lines)


def _shown(values: float | Array, kind: str, system: System) -> Array:
    return np.asarray(convert(values, kind, system)[0])


def _makers(plane: Boundary, found: Limits) -> dict[str, Array]:
    """Points (m, 2) of the boundary, flow and pressure, by what stops there."""
    points: dict[str, list[tuple[float, float]]] = {}
    for at, span in zip(plane.flows, plane.pressure_at[0], strict=True):
        for value, stop in _ends(span):
            points.setdefault(stop_words(stop, found), []).append((float(at), value))
    for at, span in zip(plane.pressures, plane.flow_at[0], strict=True):
        for value, stop in _ends(span):
            points.setdefault(stop_words(stop, found), []).append((value, float(at)))
    return {name: np.array(each) for name, each in points.items()}


def _ends(span: Span) -> list[tuple[float, Stop]]:
    ends = [end for each in span.intervals for end in ((each.low, each.low_by), (each.high, each.high_by))]
    return [(value, stop) for value, stop in ends if stop is not None]


def _name(axes: Axes, makers: dict[str, Array], end: float, system: System) -> None:
    """Write the name of each check that makes the boundary beside the middle of its points, up to the flow ``end``."""
    from anchorsize.present.pictures.style import GREY, clean

    middle = float(np.mean(np.concatenate(list(makers.values()))[:, 0])) if makers else 0.0
    for name, points in makers.items():
        flow, pressure = points[np.argsort(points[:, 0])[len(points) // 2]]
        far = (
            flow > 0.6 * end or 0.3 * end < flow < middle
        )  # else the name would leave the panel, or stand on the region
        axes.annotate(
            clean(name, 60),
            (float(_shown(flow, "flow", system)), float(_shown(pressure, "pressure", system))),
            xytext=(-12 if far else 12, 10),
            textcoords="offset points",
            ha="right" if far else "left",
            arrowprops={"arrowstyle": "-", "color": GREY, "linewidth": 0.6, "shrinkA": 0, "shrinkB": 0},
            bbox=PAPER,
            zorder=7,
        )
