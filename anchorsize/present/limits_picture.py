"""The plane of flow and pressure as a picture, one panel per case: what holds, its boundary and what makes it, the case's own point."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, cast

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment.results import StudyError
from anchorsize.present.limits import check_words, stop_words
from anchorsize.present.words import column, joined, quantity
from anchorsize.studies.limits import CaseLimits, Limits
from anchorsize.studies.limits_boundary import Boundary
from anchorsize.studies.limits_scan import Span, Stop
from anchorsize.study import Array
from anchorsize.units import System, convert

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PAPER: dict[str, Any] = {"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": "none", "alpha": 0.85}
WIDTH, PANEL = 7.2, 3.9  # [in]
LEFT, RIGHT, BELOW, ABOVE, TOP = 0.85, 0.15, 0.5, 0.12, 0.35  # free space about a panel, and for the title of all [in]
TITLE_ROW = 0.15  # a line above a panel [in]
TITLE_WIDTH, WORDS_WIDTH = 96, 46  # letters of a line above a panel, and of the large words in one
FINE = (106, 64)  # places along flow and pressure where the region is drawn
AT_RIM, CLOSE = 0.6, 0.3  # measures of a place near the boundary, and of a check that may make it
FAR = 99.0  # beyond any place of a panel [in]
ON_RIM = 4  # how many times the boundary counts among what names are kept clear of
NEAR = 0.06  # distance of the places on a line that names are kept clear of [in]


def drawn(found: Limits) -> list[CaseLimits]:
    """The cases that have a plane to draw."""
    return [case for case in found.cases.values() if case.boundary is not None]


def limits_picture(found: Limits, kind: Literal["svg", "png"], only: str | None = None) -> bytes:
    """A picture as ``svg`` or ``png``, of every case or of the case ``only``.

    Raises
    ------
    StudyError
        No case has both a flow and a pressure to change, or nothing holds anywhere.
    """
    cases = [case for case in drawn(found) if only in (None, case.name)]
    if not cases:
        raise StudyError("there is no plane to draw: no case has a flow and a pressure at which the checks hold")
    from matplotlib.figure import Figure

    from anchorsize.present.pictures.style import GREY, NOTE_SIZE, clean, look, render

    titles = [_title(case) for case in cases]
    heights = [PANEL + TITLE_ROW * title.count("\n") for title in titles]
    top = TOP if only is None else 0.0
    whole = top + sum(heights)
    with look():
        figure = Figure(figsize=(WIDTH, whole), facecolor="white")
        floor = whole - top
        for case, title, height in zip(cases, titles, heights, strict=True):
            # Places in inches: letting the figure measure its letters would draw it twice.
            floor -= height
            inner = height - BELOW - ABOVE - TITLE_ROW * (title.count("\n") + 1)
            wide = WIDTH - LEFT - RIGHT
            axes = figure.add_axes((LEFT / WIDTH, (floor + BELOW) / whole, wide / WIDTH, inner / whole))
            _panel(axes, case, found, np.array([wide, inner]))
            axes.set_title(title, fontsize=NOTE_SIZE + 1, loc="left", color=GREY)
            axes.xaxis.set_label_coords(0.5, -0.27 / inner)
            axes.yaxis.set_label_coords(-0.6 / wide, 0.5)
        if only is None:
            figure.suptitle(clean(found.study.title, 80), fontsize=10, y=1.0 - 0.1 / whole, va="top")
        return render(figure, kind)


def limits_alt(found: Limits, only: str | None = None) -> str:
    """What the picture shows, in words."""
    return " ".join(_alt(case, found) for case in drawn(found) if only in (None, case.name))


def _alt(case: CaseLimits, found: Limits) -> str:
    system = found.study.units
    point = quantity(case.own_flow, "flow", system), quantity(case.own_pressure or 0.0, "pressure", system)
    words = f"Flow against pressure of '{case.name}'; the case itself stands at {point[0]} and {point[1]} and "
    words += "holds." if case.holds else f"does not hold ({stop_words(case.governing, found)})."
    if case.fixed:
        return f"{words} It {_nowhere(case, found)}."
    for what, span in (("flow", case.flow), ("pressure", case.pressure)):
        if span is not None:
            words += f" By {what} it holds {_alt_span(span, what, found)}."
    return words


def _nowhere(case: CaseLimits, found: Limits) -> str:
    """That nothing holds, and what fails whatever flow and pressure are."""
    failing = joined([check_words(each.check, each.where, found) for each in case.fixed])
    return f"holds nowhere: {failing} fail{'' if len(case.fixed) > 1 else 's'} whatever the flow and pressure"


def _alt_span(span: Span, what: str, found: Limits) -> str:
    parts, system = [], found.study.units
    for each in span.intervals:
        upper = f"to {quantity(each.high, what, system)} ({stop_words(each.high_by, found)})"
        if each.high_by is None:
            upper = f"with no limit found up to {quantity(each.high, what, system)}"
        parts.append(f"from {quantity(each.low, what, system)} {upper}")
    return " and ".join(parts) or "nowhere"


def _panel(axes: Axes, case: CaseLimits, found: Limits, size: Array) -> None:
    """One case on axes of a ``size`` (2,) [in]."""
    from anchorsize.present.pictures.style import FAINT, GREY, INK, clean

    plane, system = cast("Boundary", case.boundary), found.study.units
    flows, pressures = _shown(plane.along, "flow", system), _shown(plane.across, "pressure", system)
    own = float(_shown(case.own_flow, "flow", system)), float(_shown(case.own_pressure or 0.0, "pressure", system))
    ends = max(float(flows[-1]), own[0] * 1.05), max(float(pressures[-1]), own[1] * 1.05)
    axes.set_xlim(0.0, ends[0])
    axes.set_ylim(0.0, ends[1])
    for place, each in enumerate(case.checks, start=1):
        if each.moves:
            axes.contour(flows, pressures, plane.measure[place].T, levels=[0.0], colors=[FAINT], linewidths=0.6)
    texts = [_Text((f"'{clean(case.name)}' {'holds' if case.holds else 'FAILS'}",), np.array(own), bold=not case.holds)]
    rim: list[Array] = []
    if case.fixed:
        words = textwrap.fill(_nowhere(case, found).capitalize(), WORDS_WIDTH)
        axes.text(
            0.5, 0.55, words, transform=axes.transAxes, ha="center", va="center", fontsize=11, weight="bold", color=INK,
            bbox=PAPER, zorder=7,
        )  # fmt: skip
    else:
        rim = _region(axes, case, plane, (flows, pressures), size / np.array(ends))
        makers = _makers(plane, found)
        texts += [
            _Text((clean(name, 60),), np.array([_shown(each, kind, system) for each, kind in zip(at, ("flow", "pressure"), strict=True)]))
            for name, points in makers.items()
            for at in [points[np.argsort(points[:, 0])[len(points) // 2]]]
        ]  # fmt: skip
    if case.path is not None:
        axes.plot(
            _shown(case.path[0], "flow", system), _shown(case.path[1], "pressure", system), color=GREY, lw=0.7, ls=":"
        )
    axes.plot(
        *own, color=INK, marker="o", markersize=6, markerfacecolor="white", markeredgecolor=INK, zorder=6, clip_on=False
    )
    _name(axes, texts, rim, size / np.array(ends), size)
    axes.set_xlabel(f"flow into the fitting [{column([0.0], 'flow', system)[1]}]")
    axes.set_ylabel(f"gauge pressure at '{clean(case.at or '')}' [{column([0.0], 'pressure', system)[1]}]")


def _region(axes: Axes, case: CaseLimits, plane: Boundary, shown: tuple[Array, Array], per_unit: Array) -> list[Array]:
    """Draw where every check holds, hatched, and its boundary; return the lines (n, 2) of the boundary.

    The measure of all checks together has a corner where two of them meet, and a contour of it would cut that off. So it is made
    anew on a finer grid, of the distance to the contour of each.
    """
    from anchorsize.present.pictures.style import FAINT, INK, PALE

    fixed = {(each.check, each.where) for each in case.fixed}
    counted = [plane.measure[i] for i, each in enumerate(case.checks, 1) if (each.check, each.where) not in fixed]
    if counted and np.any(refused := (plane.measure[0] >= 1.0) & (np.max(counted, axis=0) < 1.0)):
        counted.append(np.where(refused, 1.0, -1.0))
    flows, pressures = (np.linspace(0.0, each[-1], count) for each, count in zip(shown, FINE, strict=True))
    points = np.stack(np.meshgrid(flows, pressures), axis=-1) * per_unit
    worst = np.max(
        [_beyond(measure, shown, per_unit, points) for measure in _binding(counted) or plane.measure[:1]], axis=0
    )
    safe = axes.contourf(flows, pressures, worst, levels=[-2.0 * FAR, 0.0], colors=[PALE], hatches=["//"])
    safe.set_edgecolor(FAINT)
    safe.set_linewidth(0.0)
    made = axes.contour(flows, pressures, worst, levels=[0.0], colors=[INK], linewidths=1.6)
    return [np.asarray(line) for line in made.allsegs[0]]


def _binding(measures: list[Array]) -> list[Array]:
    """Those of some measures (s, t) of checks that may make the boundary: none is far from the worst wherever that is near it.

    Leaving out the others spares time. All are kept where the rest would not tell holding from failing on every place of the grid.
    """
    if not measures:
        return []
    worst = np.max(measures, axis=0)
    near = np.abs(worst) < AT_RIM
    kept = [measure for measure in measures if np.any(near & (measure > worst - CLOSE))]
    same = bool(kept) and np.array_equal(np.max(kept, axis=0) > 0.0, worst > 0.0)
    return kept if same else measures


def _beyond(measure: Array, shown: tuple[Array, Array], per_unit: Array, points: Array) -> Array:
    """How far places (..., 2) [in] lie beyond the contour of a measure (s, t), negative where it holds."""
    from contourpy import FillType, LineType, contour_generator

    if np.all(measure <= 0.0):
        return np.full(points.shape[:-1], -FAR)
    # what matplotlib finds its contours with, and comes with it
    traced = contour_generator(*shown, measure.T, line_type=LineType.Separate, fill_type=FillType.OuterOffset)
    areas, offsets = cast("tuple[list[Array], list[NDArray[np.uint32]]]", traced.filled(-2.0, 0.0))
    rings = [ring * per_unit for area, at in zip(areas, offsets, strict=True) for ring in np.split(area, at[1:-1])]
    lines = [line * per_unit for line in cast("list[Array]", traced.lines(0.0)) if len(line) > 1]
    far = np.full(points.shape[:-1], FAR)
    for start, end in ((each[i], each[i + 1]) for each in lines for i in range(len(each) - 1)):
        along = end - start
        share = np.clip((points - start) @ along / max(float(along @ along), 1e-18), 0.0, 1.0)
        off = points - start - share[..., None] * along
        far = np.minimum(far, np.hypot(off[..., 0], off[..., 1]))
    inside = np.zeros(points.shape[:-1], dtype=np.bool_)
    x, y = points[..., 0], points[..., 1]
    for (x0, y0), (x1, y1) in ((ring[i - 1], ring[i]) for ring in rings for i in range(len(ring))):
        if y0 != y1:
            inside ^= ((y0 > y) != (y1 > y)) & (x < x0 + (y - y0) * (x1 - x0) / (y1 - y0))
    return np.where(inside, -far, far)


def _title(case: CaseLimits) -> str:
    from anchorsize.present.pictures.style import clean

    line = f"'{clean(case.name)}': hatched, every check holds; faint, each check alone; dotted, as the flow changes"
    if case.fixed:
        line = f"'{clean(case.name)}': faint, where each other check begins to fail; dotted, as the flow changes"
    return textwrap.fill(line, TITLE_WIDTH)


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


@dataclass(frozen=True)
class _Text:
    """Words for a place (2,) in the units shown."""

    lines: tuple[str, ...]
    at: Array
    bold: bool = False


def _name(axes: Axes, texts: list[_Text], rim: list[Array], per_unit: Array, size: Array) -> None:
    """Write words beside their places, clear of the boundary ``rim`` and of one another; ``per_unit`` [in] lead to the page."""
    from anchorsize.present.pictures.body import along_line
    from anchorsize.present.pictures.labels import Label, place
    from anchorsize.present.pictures.style import GREY, TEXT_SIZE

    lines = [along_line(line * per_unit, NEAR) for line in rim if len(line) > 1]
    marks = texts[0].at * per_unit + 0.08 * np.array([[1, 1], [-1, 1], [1, -1], [-1, -1], [0, 0]])
    covered = np.concatenate([*lines, marks])
    # the boundary counts several times: a name may stand on hatching, never on the line that it names
    obstacles = np.concatenate([*(lines * ON_RIM), marks])
    middle = covered.mean(axis=0)
    labels = [
        Label(
            each.lines, each.at * per_unit, each.at * per_unit - middle if i else np.array([1.0, 0.6]), bold=each.bold
        )
        for i, each in enumerate(texts)
    ]
    for label, box in zip(labels, place(labels, obstacles, size), strict=True):
        nearest = np.clip(label.anchor, box.middle - box.half, box.middle + box.half)
        if np.hypot(*(nearest - label.anchor)) > 0.1:
            ends = np.stack([nearest, label.anchor]) / per_unit
            axes.plot(ends[:, 0], ends[:, 1], color=GREY, linewidth=0.6, zorder=6.5)
        axes.text(
            float(box.middle[0] / per_unit[0]), float(box.middle[1] / per_unit[1]), "\n".join(label.lines), ha="center", va="center", fontsize=TEXT_SIZE,
            weight="bold" if label.bold else "normal", bbox=PAPER, zorder=7,
        )  # fmt: skip
