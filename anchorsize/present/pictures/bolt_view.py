"""The bolt circle as seen from the fitting: what each bolt carries, drawn to scale and written beside it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure

from anchorsize.assessment.asking import first_greatest
from anchorsize.assessment.evaluation import bolt_weights
from anchorsize.assessment.results import Assessment, Check, JointResult
from anchorsize.mechanics import bolt_group
from anchorsize.mechanics.frames import joint_frame
from anchorsize.present.pictures import labels
from anchorsize.present.pictures.body import direction_name
from anchorsize.present.pictures.face import draw_bolts, draw_flange, page, ring_pieces, sheet_bounds
from anchorsize.present.pictures.style import (
    ACCENT,
    FAINT,
    INK,
    NOTE_SIZE,
    PALE,
    ROW,
    Frame,
    Sheet,
    arrow,
    clean,
    look,
    scale_bar,
    sheet,
    shown_force,
    text_width,
)
from anchorsize.present.words import clock
from anchorsize.study import Array, Joint, Study
from anchorsize.units import System

WIDTH, TALLEST = 6.5, 5.6  # of the drawing area [in]
BAR_SHARE = 0.5
"""Length of the greatest force as a share of the reach of the pattern [-]."""
ROOMY, FULL = 12, 40
"""Bolts up to which each has all its figures, and up to which each has a label at all."""


def bolt_view(assessment: Assessment, case: str, joint: str) -> Figure:
    """Draw the bolts of a joint in one case, seen from the fitting toward the pipe with e1 upward.

    A bar outward from a bolt is its external tension (hollow and inward where the face is pressed there), an arrow the shear
    that it puts on the fitting, both to one scale of forces.

    Raises
    ------
    KeyError
        Where the assessment holds no such case, or no result for this joint.
    """
    study, result, given = assessment.study, assessment.cases[case].joints[joint], assessment.study.joints[joint]
    opening = study.openings[given.at]
    tension, shears = np.asarray(result.external_tension, dtype=float), shear_vectors(given, result)
    per_newton = bar_scale(given, result)
    chosen = governing(assessment, case, joint)
    bold = None if chosen is None else bolt_number(chosen)
    outward = _outward(given)
    texts = _texts(given, result, chosen, study.units)
    title = f"Bolts of {clean(joint)}, case '{clean(case)}', seen from the fitting toward the pipe"
    frame = Frame(title, *axis_names(study, given), _notes(given, result, texts, chosen))
    with look():
        most = float(np.max(np.maximum(tension, 0.0), initial=0.0))
        reach = 0.9 * float(np.max(given.bolts.diameter)) + per_newton * most
        paper = sheet(sheet_bounds(given, opening, reach), *_room(texts), frame, study.units)
        if given.gasket is not None:
            paper.pieces(ring_pieces(given.gasket), facecolor=PALE, edgecolor=FAINT, linewidth=0.6, zorder=1.5)
        draw_flange(paper, given, opening)
        draw_bolts(paper, given, bold)
        for i in np.flatnonzero(given.carrying):
            _bar(paper, given, int(i), tension[i] * per_newton, outward[i])
            _shear_arrow(paper, given, int(i), shears[i] * per_newton)
        _write(paper, given, texts, [_end(given, i, tension[i] * per_newton, outward[i]) for i in texts], bold)
        greatest = _greatest(result, given)
        if greatest > 0.0:
            scale_bar(paper, per_newton, greatest, study.units)
    return paper.figure


def bolt_alt(assessment: Assessment, case: str, joint: str) -> str:
    """What :func:`bolt_view` shows, in words."""
    study, result, given = assessment.study, assessment.cases[case].joints[joint], assessment.study.joints[joint]
    bolts, system = given.bolts, study.units
    lost = f", {_numbers(bolts.missing)} missing" if bolts.missing else ""
    lost += f", {_numbers(given.loose)} loose" if given.loose else ""
    chosen = governing(assessment, case, joint)
    start = f"Bolt pattern of joint '{clean(joint)}' in case '{clean(case)}', seen from the fitting toward the pipe"
    end = "" if chosen is None else f" {_governs(chosen)}."
    if _greatest(result, given) == 0.0:
        return f"{start}: {int(bolts.present.sum())} bolts{lost}. No load acts on them but their preload.{end}"
    tension, shear = np.asarray(result.external_tension), np.asarray(result.bolt_shear)
    said = f"External tension {_range(given, tension, system)}; shear {_range(given, shear, system)}"
    return f"{start}: {int(bolts.present.sum())} bolts{lost}. {said}.{end}"


def shear_vectors(joint: Joint, result: JointResult) -> Array:
    """Shear that each bolt puts on the fitting (n, 2) along e1 and e2 [N], zero where a bolt is missing or loose."""
    return bolt_group.shear(result.shear1, result.shear2, result.torsion, joint.bolts.xy, bolt_weights(joint))


def bar_scale(joint: Joint, result: JointResult) -> float:
    """Length on the drawing of one newton [m/N]."""
    greatest = _greatest(result, joint)
    reach = float(np.max(np.hypot(joint.bolts.xy[:, 0], joint.bolts.xy[:, 1])))
    return BAR_SHARE * reach / greatest if greatest > 0.0 else 0.0


def governing(assessment: Assessment, case: str, joint: str) -> Check | None:
    """The check with the greatest utilization among those of this case and joint that a single bolt decides.

    None where there is none or nothing is used.
    """
    of_bolts = [
        c
        for c in assessment.cases[case].checks
        if c.where == joint and c.bolt is not None and np.any(c.utilization > 0.0)
    ]
    return max(of_bolts, key=lambda check: float(check.utilization), default=None)


def bolt_number(check: Check) -> int:
    """Number of the bolt that governs a check."""
    return int(np.asarray(check.bolt))


def axis_names(study: Study, joint: Joint) -> tuple[str, str]:
    """What the page's directions are called: e2 to the right and e1 upward, in the directions of the world."""
    e1, e2 = joint_frame(study.openings[joint.at].outward, joint.reference)
    return f"e2, {direction_name(e2)}", f"e1, {direction_name(e1)}"


def _governs(check: Check) -> str:
    return f"Bolt {bolt_number(check)} governs: {check.check}, {_used(float(check.utilization))}"


def _used(utilization: float) -> str:
    """How much of an allowable is used, in words; without bound where nothing is left to hold."""
    if utilization > 9.995:
        return "more than 10 times what is allowed"
    return f"{utilization:.0%} used" if utilization >= 0.005 else "under 1% used"


def _greatest(result: JointResult, joint: Joint) -> float:
    """The greatest external tension or shear of the bolts that carry [N]; 0 where all of it is rounding."""
    carrying = joint.carrying
    sizes = np.abs(np.concatenate([result.external_tension[carrying], result.bolt_shear[carrying]]))
    return float(np.max(sizes, initial=0.0)) if np.max(sizes, initial=0.0) > 1e-6 else 0.0


def _outward(joint: Joint) -> Array:
    """Direction of each bolt's bar on the page (n, 2): away from the middle of the pattern, upward for a bolt in it."""
    away = page(joint.bolts.xy - joint.bolts.xy.mean(axis=0))
    length = np.hypot(away[:, 0], away[:, 1])[:, None]
    near = length < 1e-6 * np.max(length, initial=1e-9)
    return np.asarray(np.where(near, (0.0, 1.0), away / np.where(near, 1.0, length)))


def _end(joint: Joint, i: int, length: float, outward: Array) -> Array:
    """Outer end [m] on the page of a bolt and its bar."""
    return np.asarray(page(joint.bolts.xy[i]) + (0.5 * joint.bolts.diameter[i] + max(length, 0.0)) * outward)


def _bar(paper: Sheet, joint: Joint, i: int, length: float, outward: Array) -> None:
    """The external tension of a bolt as a bar from the rim of its circle: solid outward, hollow inward where pressed."""
    if length == 0.0:
        return
    radius, number = 0.5 * float(joint.bolts.diameter[i]), joint.bolts.numbers[i]
    across = 0.3 * radius * np.array([-outward[1], outward[0]])
    start = page(joint.bolts.xy[i]) + np.sign(length) * radius * outward
    end = start + length * outward
    corners = [start + across, end + across, end - across, start - across]
    if length > 0.0:
        paper.area(corners, facecolor=INK, edgecolor=INK, linewidth=0.5, zorder=3, label=f"tension of bolt {number}")
    else:
        paper.area(
            corners,
            facecolor="white",
            edgecolor=INK,
            linewidth=0.8,
            hatch="////",
            zorder=3,
            label=f"tension of bolt {number}",
        )


def _shear_arrow(paper: Sheet, joint: Joint, i: int, shear: Array) -> None:
    flat = page(shear)
    if np.hypot(*flat) * paper.to_shown * paper.scale < 0.01:
        return
    start = page(joint.bolts.xy[i]) + 0.5 * float(joint.bolts.diameter[i]) * flat / np.hypot(*flat)
    arrow(paper, start, start + flat, f"shear of bolt {joint.bolts.numbers[i]}", color=ACCENT, linewidth=1.4)


def _place(joint: Joint, i: int) -> str:
    """Where a bolt is, in words."""
    return clock(float(joint.bolts.angle[i]))


def _texts(joint: Joint, result: JointResult, chosen: Check | None, system: System) -> dict[int, tuple[str, ...]]:
    """The lines beside each bolt, by its index; beyond a full picture only the bolts that stand out have any."""
    bolts, bold = joint.bolts, None if chosen is None else bolt_number(chosen)
    service = None if result.service is None else result.service.tension
    shown = range(len(bolts.numbers)) if len(bolts.numbers) <= FULL else _outstanding(joint, result, bold)
    made: dict[int, tuple[str, ...]] = {}
    for i in shown:
        name = f"bolt {bolts.numbers[i]} at {_place(joint, i)}"
        if not joint.carrying[i]:
            made[i] = (f"{name} {'loose' if bolts.present[i] else 'missing'}",)
            continue
        pull, shear = (
            shown_force(_plain(values, i), system) for values in (result.external_tension, result.bolt_shear)
        )
        governs = bolts.numbers[i] == bold and chosen is not None
        if len(bolts.numbers) > ROOMY:
            lines = [f"{bolts.numbers[i]}: {pull}, {shear}", *(["Governs"] if governs else [])]
        else:
            lines = [name, f"external tension {pull}", f"shear {shear}"]
            lines += [] if service is None else [f"service tension {shown_force(float(service[i]), system)}"]
            lines += ["Governs:", chosen.check] if governs and chosen is not None else []
        made[i] = tuple(lines)
    return made


def _plain(values: Array, i: int) -> float:
    """One value, rounding noise beside the greatest read as zero."""
    value = float(values[i])
    return value if abs(value) > 1e-9 * max(float(np.max(np.abs(values))), 1e-3) else 0.0


def _outstanding(joint: Joint, result: JointResult, bold: int | None) -> list[int]:
    """Bolts with the greatest and least tension, the greatest shear, the one that governs, and those missing or loose."""
    carrying = np.flatnonzero(joint.carrying)
    tension, shear = np.asarray(result.external_tension)[carrying], np.asarray(result.bolt_shear)[carrying]
    found = {int(carrying[int(i)]) for i in map(first_greatest, (tension, -tension, shear))}
    found |= {i for i, number in enumerate(joint.bolts.numbers) if number == bold}
    return sorted(found | set(np.flatnonzero(~joint.carrying).tolist()[: FULL // 2]))


def _room(texts: dict[int, tuple[str, ...]]) -> tuple[tuple[float, float], tuple[float, float, float]]:
    """Margins and size of the drawing area [in] that hold the texts in a column on each side."""
    rows = sum(len(lines) for lines in texts.values()) / 2.0 + 6.0
    height = min(ROW * NOTE_SIZE * rows + 0.025 * len(texts) + 0.5, TALLEST)
    return (_column_width(texts) + 0.3, 0.35), (WIDTH, max(height, 3.2), TALLEST)


def _column_width(texts: dict[int, tuple[str, ...]]) -> float:
    return max((text_width(line, NOTE_SIZE) for lines in texts.values() for line in lines), default=0.0)


def _write(
    paper: Sheet, joint: Joint, texts: dict[int, tuple[str, ...]], ends: Sequence[Array], bold: int | None
) -> None:
    """Set the texts in two columns beside the pattern, each joined to its bolt."""
    anchors = {i: paper.inches(end) for i, end in zip(texts, ends, strict=True)}
    middle = paper.size[0] / 2.0
    line, wide = ROW * NOTE_SIZE, _column_width(texts)
    order = sorted(texts, key=lambda i: anchors[i][0])
    left = _left_column(order, anchors, texts, middle)
    for column, on_left in ((left, True), ([i for i in order if i not in left], False)):
        heights = [line * len(texts[i]) + 0.05 for i in column]
        low = 0.08 if on_left else 0.42  # the scale bar stands below the right column
        places = labels.spread([float(anchors[i][1]) for i in column], heights, low, float(paper.size[1]) - 0.05)
        for i, height in zip(column, places, strict=True):
            edge = wide + 0.05 if on_left else float(paper.size[0]) - wide - 0.05
            _set(paper, joint.bolts.numbers[i] == bold, texts[i], anchors[i], np.array([edge, height]))


def _left_column(
    order: Sequence[int], anchors: dict[int, Array], texts: dict[int, tuple[str, ...]], middle: float
) -> list[int]:
    """Bolts whose texts go to the left: those left of the middle, and of those on it every other one, to fill both alike."""
    left = [i for i in order if anchors[i][0] < middle - 0.05]
    rows = sum(len(texts[i]) for i in left) - sum(len(texts[i]) for i in order if anchors[i][0] > middle + 0.05)
    for i in order:
        if abs(anchors[i][0] - middle) <= 0.05:
            if rows <= 0:
                left.append(i)
            rows += len(texts[i]) if rows <= 0 else -len(texts[i])
    return left


def _set(paper: Sheet, bold: bool, lines: tuple[str, ...], anchor: Array, place: Array) -> None:
    """Set lines of text at a place [in] on the side away from their bolt, and a thin line from there to it."""
    on_left = bool(place[0] < anchor[0])
    gap = np.array([0.05 if on_left else -0.05, 0.0])
    paper.line(paper.metres([place + gap, anchor]), color=FAINT, linewidth=0.5, zorder=2.5)
    paper.text(
        paper.metres(place),
        "\n".join(lines),
        fontsize=NOTE_SIZE,
        ha="right" if on_left else "left",
        fontweight="bold" if bold else "normal",
        linespacing=1.1,
        zorder=8,
    )


def _range(joint: Joint, values: Array, system: System) -> str:
    """The least and the greatest of the bolts that carry, each with its bolt; one figure where all are alike."""
    carrying = np.flatnonzero(joint.carrying)
    least, most = (int(carrying[int(first_greatest(each))]) for each in (-values[carrying], values[carrying]))
    figures = [shown_force(_plain(values, i), system) for i in (least, most)]
    if figures[0] == figures[1]:
        return f"{figures[0]} in every bolt"
    low, high = (
        f"{text} at bolt {joint.bolts.numbers[i]} ({_place(joint, i)})"
        for text, i in zip(figures, (least, most), strict=True)
    )
    return f"from {low} to {high}"


def _numbers(numbers: Sequence[int]) -> str:
    shown = ", ".join(str(number) for number in numbers)
    return f"bolt {shown}" if len(numbers) == 1 else f"bolts {shown}"


def _notes(
    joint: Joint, result: JointResult, texts: dict[int, tuple[str, ...]], chosen: Check | None
) -> tuple[str, ...]:
    if _greatest(result, joint) > 0.0:
        notes = [
            "Bar outward: external tension; hatched and inward: the face is pressed there. Arrow: shear on the fitting. One scale."
        ]
    else:
        notes = ["No load acts on the bolts in this case but their preload."]
    notes.append(
        f"{_governs(chosen)}."
        if chosen is not None
        else "No bolt governs: no check that a single bolt decides uses anything."
    )
    if len(joint.bolts.numbers) > ROOMY:
        notes.append("Beside a bolt: its number, external tension, shear.")
    if len(texts) < len(joint.bolts.numbers):
        notes.append("Too many bolts to write beside all: figures stand at those with the greatest and least forces.")
    return tuple(notes)
