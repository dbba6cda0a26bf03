"""Pressure over the face of a joint at the least preload, with the part that has lifted off."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from anchorsize.assessment.clamping import Service
from anchorsize.assessment.results import Assessment
from anchorsize.present.pictures.bolt_view import axis_names
from anchorsize.present.pictures.face import (
    Plane,
    band,
    draw_bolts,
    draw_flange,
    page,
    pressure_plane,
    ring_pieces,
    sheet_bounds,
)
from anchorsize.present.pictures.style import ACCENT, GREY, INK, NOTE_SIZE, Frame, Sheet, clean, look, nice, sheet
from anchorsize.present.words import clock
from anchorsize.study import Array, Gasket, Joint
from anchorsize.units import System, convert, show

SIZE = (6.5, 3.2, 3.6)  # width, least and greatest height of the drawing area [in]
MARGINS = (1.7, 0.3)
LIGHTEST, DARKEST = 0.95, 0.45  # greys of the least and the greatest pressure band
FEWEST_BANDS = 4
NEARLY_EVEN = 0.9
"""Share of the greatest pressure that the least must be for the face to be called nearly even: a band of grey or two."""
SCALE_HEIGHT = 2.2  # [in]


def face_view(assessment: Assessment, case: str, joint: str) -> Figure | None:
    """Draw the face pressure of a joint in one case at the least preload; None where bolts and face were not solved.

    Raises
    ------
    KeyError
        Where the assessment holds no such case, or no result for this joint.
    """
    found = face_plane(assessment, case, joint)
    if found is None:
        return None
    gasket, plane, service = found
    study, given = assessment.study, assessment.study.joints[joint]
    opening = study.openings[given.at]
    reach = 0.8 * float(np.max(given.bolts.diameter))
    title = f"Face pressure of {clean(joint)} at the least preload, case '{clean(case)}'"
    notes = ("Seen from the fitting toward the pipe. " + _said(gasket, plane, service, study.units),)
    with look():
        frame = Frame(title, *axis_names(study, given), notes)
        paper = sheet(sheet_bounds(given, opening, reach), MARGINS, SIZE, frame, study.units)
        levels = pressure_levels(greatest(gasket, plane), study.units)
        _draw_bands(paper, gasket, plane, levels)
        paper.pieces(ring_pieces(gasket), facecolor="none", edgecolor=INK, linewidth=0.9, zorder=3)
        draw_flange(paper, given, opening)
        draw_bolts(paper, given)
        _name_missing(paper, given)
        _draw_scale(paper, levels, float(np.asarray(service.lift_off_least)), study.units)
        _draw_extremes(paper, gasket, plane)
    return paper.figure


def face_alt(assessment: Assessment, case: str, joint: str) -> str | None:
    """What :func:`face_view` shows, in words; None where there is no picture."""
    found = face_plane(assessment, case, joint)
    if found is None:
        return None
    gasket, plane, service = found
    said = _said(gasket, plane, service, assessment.study.units)
    return f"Pressure over the gasket of joint '{clean(joint)}' in case '{clean(case)}', at the least preload. {said}"


def face_plane(assessment: Assessment, case: str, joint: str) -> tuple[Gasket, Plane, Service] | None:
    """The ring, its pressure at the least preload and the solution it comes from; None where there is none."""
    service, gasket = assessment.cases[case].joints[joint].service, assessment.study.joints[joint].gasket
    if service is None or gasket is None:
        return None
    plane = pressure_plane(gasket, service)
    return None if plane is None else (gasket, plane, service)


def greatest(gasket: Gasket, plane: Plane) -> float:
    """The greatest pressure on the ring [Pa]."""
    return float(plane.at(0.5 * float(gasket.outside) * plane.pressed))


def pressure_levels(most: float, system: System) -> Array:
    """Round pressures [Pa] from 0 past the greatest, at which one grey gives way to the next."""
    if most <= 0.0:
        return np.zeros(1)
    per_unit = float(convert(1.0, "stress", system)[0])
    step = nice(most * per_unit / FEWEST_BANDS) / per_unit
    return np.asarray(step * np.arange(int(np.ceil(most / step - 1e-9)) + 1))


def _grey(i: int, count: int) -> str:
    return f"{LIGHTEST - (LIGHTEST - DARKEST) * i / max(count - 1, 1):.3f}"


def _draw_bands(paper: Sheet, gasket: Gasket, plane: Plane, levels: Array) -> None:
    """The ring in bands of grey, darker where pressed harder, and hatched where lifted off."""
    reach, bands = 0.5 * float(gasket.outside), len(levels) - 1
    if plane.slope == 0.0:
        if plane.even > 0.0:
            at = int(np.searchsorted(levels, plane.even * (1 - 1e-9))) - 1
            paper.pieces(ring_pieces(gasket), facecolor=_grey(at, bands), edgecolor="none", zorder=1.5, label="pressed")
        else:
            _hatch(paper, ring_pieces(gasket))
        return
    for i in range(bands):
        low, high = (plane.opens + level / plane.slope for level in levels[i : i + 2])
        rings = band(gasket, plane.pressed, max(low, -reach), min(high, reach))
        if rings:
            paper.pieces(
                rings, facecolor=_grey(i, bands), edgecolor="white", linewidth=0.5, zorder=1.5, label="pressed"
            )
    if plane.opens > -reach:
        _hatch(paper, band(gasket, plane.pressed, -reach, plane.opens))


def _hatch(paper: Sheet, rings: list[Array]) -> None:
    if rings:
        paper.pieces(
            rings, facecolor="white", edgecolor=ACCENT, hatch="////", linewidth=0.9, zorder=1.6, label="lifted off"
        )


def _name_missing(paper: Sheet, joint: Joint) -> None:
    """Say beside each empty place, on its outer side, that its bolt is missing."""
    for i, number in enumerate(joint.bolts.numbers):
        if not joint.bolts.present[i]:
            at = paper.inches(page(joint.bolts.xy[i]))
            right = at[0] >= 0.5 * paper.size[0]
            reach = 0.5 * float(joint.bolts.diameter[i]) * paper.to_shown * paper.scale + 0.08
            place = at + np.array([reach if right else -reach, 0.0])
            ha = "left" if right else "right"
            paper.text(paper.metres(place), f"{number} missing", fontsize=NOTE_SIZE, ha=ha, bbox=_CLEAR)


def _draw_scale(paper: Sheet, levels: Array, lifted: float, system: System) -> None:
    """A column of the greys with their pressures, and the hatch of the part that has lifted off."""
    count = len(levels) - 1
    unit = convert(0.0, "stress", system)[1]
    left, wide = float(paper.size[0]) - 0.95, 0.2
    bottom = 0.5 * (float(paper.size[1]) - SCALE_HEIGHT)
    height = SCALE_HEIGHT / max(count, 1)
    for i in range(count):
        y = bottom + i * height
        box = paper.metres([(left, y), (left + wide, y), (left + wide, y + height), (left, y + height)])
        paper.area(box, facecolor=_grey(i, count), edgecolor="white", linewidth=0.5, zorder=2)
    for i, level in enumerate(levels[: count + 1] if count else ()):
        text = f"{float(convert(float(level), 'stress', system)[0]):.4g}"
        paper.text(paper.metres((left + wide + 0.06, bottom + i * height)), text, fontsize=NOTE_SIZE, ha="left")
    if count:
        paper.text(
            paper.metres((left, bottom + SCALE_HEIGHT + 0.13)),
            f"pressure [{unit}]",
            fontsize=NOTE_SIZE,
            ha="left",
            va="bottom",
        )
    if lifted > 0.0:
        y = bottom - 0.36
        box = paper.metres([(left, y), (left + wide, y), (left + wide, y + 0.16), (left, y + 0.16)])
        paper.area(box, facecolor="white", edgecolor=ACCENT, hatch="////", linewidth=0.9, zorder=2)
        paper.text(paper.metres((left + wide + 0.06, y + 0.08)), "lifted off", fontsize=NOTE_SIZE, ha="left")


def _draw_extremes(paper: Sheet, gasket: Gasket, plane: Plane) -> None:
    """A quiet arrow through the middle to the side that is pressed the most."""
    if plane.slope == 0.0:
        return
    inside = 0.5 * float(gasket.inside)
    tip = page(plane.pressed) * 0.8 * inside
    paper.line([-tip, tip], color=GREY, linewidth=0.8, linestyle=(0, (4, 2)), zorder=2.5)
    for end, words in ((tip, "most"), (-tip, "least")):
        paper.text(end * 0.75, f"{words} pressed", fontsize=NOTE_SIZE, color=GREY, bbox=_CLEAR)


_CLEAR = {"facecolor": "white", "edgecolor": "none", "pad": 1.0}


def _said(gasket: Gasket, plane: Plane, service: Service, system: System) -> str:
    """The main figures of the face in one sentence."""
    lifted = float(np.asarray(service.lift_off_least))
    if lifted >= 1.0:
        return "The whole face has lifted off."
    if plane.slope == 0.0:
        return f"Pressure is even, {show(plane.even, 'stress', system)}."
    away = float(np.arctan2(plane.pressed[1], plane.pressed[0]))
    most = f"Pressure is greatest at {clock(away)} with {show(greatest(gasket, plane), 'stress', system)}"
    other = clock(away + np.pi)
    if lifted > 0.0:
        return f"{most}; {lifted:.1%} of the face has lifted off, on the side at {other}."
    least = float(plane.at(-0.5 * float(gasket.outside) * plane.pressed))
    if least >= NEARLY_EVEN * greatest(gasket, plane):
        low, high = (show(pressure, "stress", system) for pressure in (least, greatest(gasket, plane)))
        return (
            f"Pressure is nearly even: from {low} at {other} to {high} at {clock(away)}; the face is closed all round."
        )
    return f"{most} and least at {other} with {show(least, 'stress', system)}; the face is closed all round."
