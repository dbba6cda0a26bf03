"""Free-body picture of the fitting in one case: openings, body, forces and supports, to scale."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from anchorsize.assessment.results import Assessment, CaseResult
from anchorsize.present.pictures import acting as forces
from anchorsize.present.pictures import beside, glyphs, labels
from anchorsize.present.pictures.acting import Acting
from anchorsize.present.pictures.body import (
    STEP,
    Direction,
    View,
    along_line,
    body,
    bore,
    centerline,
    disk,
    silhouette,
    view,
)
from anchorsize.present.pictures.style import (
    ACCENT,
    FAINT,
    GREY,
    INK,
    PALE,
    Frame,
    Sheet,
    arrow,
    clean,
    look,
    scale_bar,
    sheet,
    shown_force,
)
from anchorsize.present.support_words import state_word
from anchorsize.study import Array, Joint, Study, Support
from anchorsize.units import System, show

SIZE = (6.5, 2.4, 4.6)  # width, least and greatest height of the drawing area [in]
MARGINS = (1.35, 0.55)
ARROW_SHARE = 0.45
"""Length of the greatest force as a share of the greatest extent of the fitting [-]."""
SHORTEST = 0.015
"""Length of an arrow as a share of the greatest extent of the fitting under which a force is listed and not drawn [-]."""
NO_TURN = 1e-3
"""Share of the greatest moment, or force times extent of the fitting, under which a moment is none that turns the page [-]."""
DASHES: dict[str, dict[str, Any]] = {
    "thrust": {"color": INK},
    "weight": {"color": INK, "linewidth": 1.0},
    "external": {"color": INK, "linestyle": (0, (5, 1.2, 1.2, 1.2))},
    "reaction": {"color": ACCENT, "linewidth": 2.4, "hollow": True},
    "support": {"color": ACCENT, "linestyle": (0, (3, 1.2)), "hollow": True},
}


def fitting_view(assessment: Assessment, case: str, direction: Direction, joint: str | None = None) -> Figure:
    """Draw the fitting with every force on it in one case.

    Parameters
    ----------
    assessment : a judged study without batch axes
    case : name of the operating case
    direction : ``side``, across the joint axis (from above where the fitting lies flat), or ``flange``, along it
    joint : the joint that a flange view looks along; None takes the first of the file

    Raises
    ------
    KeyError
        Where the assessment holds no such case, or the study no such joint.
    """
    study, result = assessment.study, assessment.cases[case]
    seen = view(study, direction, joint)
    acts = forces.acting(assessment, case)
    size, most = _extent(study), forces.greatest(acts)
    per_newton = (
        ARROW_SHARE * size / most if most > 0.0 else 0.0
    )  # the greatest force spans a fixed share of the fitting
    supports = study.supports.get(assessment.option, ())
    pieces = [piece for piece in body(study, seen) if len(piece) > 2]
    acted = [act for act in acts if act.magnitude > forces.NOTHING * most]
    drawn = [act for act in acted if act.magnitude * per_newton >= SHORTEST * size]
    small = [act for act in acted if act.magnitude * per_newton < SHORTEST * size]
    title = f"Forces on the fitting, case '{clean(case)}': {seen.title}"
    frame = Frame(title, *seen.axes, _notes(acted, small, result, study))
    with look():
        paper = sheet(_bounds(study, seen, pieces, acts, supports, per_newton), MARGINS, SIZE, frame, study.units)
        covered = _draw_body(paper, study, seen, pieces)
        signs = _draw_supports(paper, supports, seen)
        covered += signs
        texts: list[labels.Label] = []
        strokes: list[Array] = []
        for act, place in zip(drawn, beside.places(paper, drawn, seen, per_newton, signs), strict=True):
            texts.append(_draw_force(paper, act, place, seen, per_newton, study.units, strokes))
        texts += _draw_moments(paper, acts, seen, NO_TURN * most * size, study.units, strokes)
        covered += [along_line(stroke, STEP) for stroke in strokes]
        texts += _opening_labels(paper, result, study, seen) + _support_labels(paper, supports, seen, result)
        covered += _draw_center(paper, study, result, seen)
        if drawn:
            scale_bar(paper, per_newton, most, study.units)
            corner = np.array([paper.size[0] - 0.12, 0.14])
            covered.append(corner - np.array([[0.1 * i, 0.12 * j] for i in range(12) for j in (0, -1)]))
        obstacles = np.concatenate(covered)
        for label, box in zip(texts, labels.place(texts, obstacles, paper.size, strokes), strict=True):
            labels.write(paper, label, box)
    return paper.figure


def _extent(study: Study) -> float:
    """Greatest extent of the fitting [m]."""
    points = [disk(each.center, each.outward, bore(each)) for each in study.openings.values()]
    points.append(centerline(study))
    points += [
        center[None] for center in (study.fitting.mass_center, study.fitting.contents_center) if center is not None
    ]
    return float(np.max(np.ptp(np.concatenate(points), axis=0)))


def fitting_alt(assessment: Assessment, case: str, direction: Direction, joint: str | None = None) -> str:
    """What :func:`fitting_view` shows, in words."""
    study = assessment.study
    acts = forces.acting(assessment, case)
    named = [
        f"{act.name} {shown_force(act.magnitude, study.units)}"
        for act in acts
        if act.magnitude > forces.NOTHING * forces.greatest(acts)
    ]
    openings = ", ".join(clean(name) for name in study.openings)
    said = f"Forces on it, to scale: {'; '.join(named)}." if named else "No force acts on it."
    supports = [f"{clean(s.name)} ({glyphs.KIND_WORDS[s.kind]})" for s in study.supports.get(assessment.option, ())]
    held = f" Supports: {', '.join(supports)}." if supports else ""
    title = view(study, direction, joint).title
    return f"Fitting with openings {openings} in case '{clean(case)}', {title}. {said}{held}"


def _notes(acted: Sequence[Acting], small: Sequence[Acting], result: CaseResult, study: Study) -> tuple[str, ...]:
    system = study.units
    notes = [
        "The outline between the openings is a sketch; openings, places and forces are to scale."
        if study.fitting.centerline is None
        else "Pipe, places and forces are to scale; the pipe is as wide as its outside, or its bore where no wall is given."
    ]
    if result.supports:
        notes.append("Supports are drawn as signs at their places, not to length.")
    if acted:
        notes.append("An arrow or mark that would lie on another stands beside it.")
        notes.append(
            "Each figure is the whole force; where it leans out of the page, what is in view stands beside it."
        )
    else:
        notes.append("No force acts on the fitting in this case.")
    notes += [f"Weights together: {act.detail}." for act in acted if act.detail]
    if small:
        listed = "; ".join(f"{act.name} {shown_force(act.magnitude, system)}" for act in small)
        notes.append(f"Too small to draw to this scale: {listed}.")
    notes += [
        f"Not drawn, for it has no single place: {source}, {shown_force(size, system)}."
        for source, size in forces.unplaced(result)
    ]
    return tuple(notes)


def _bounds(
    study: Study,
    seen: View,
    pieces: Sequence[Array],
    acts: Sequence[Acting],
    supports: Sequence[Support],
    per_newton: float,
) -> Array:
    """Least and greatest places (2, 2) [m] of what is drawn."""
    points = [seen.flat(disk(each.center, each.outward, bore(each))) for each in study.openings.values()]
    points += [seen.flat(_flange_rim(study, joint)) for joint in study.joints.values()]
    points += [*pieces, *(np.stack(beside.ends(act, seen, per_newton)) for act in acts)]
    points += [seen.flat(each.at)[None] for each in supports]
    every = np.concatenate(points)
    return np.stack([every.min(axis=0), every.max(axis=0)])


def _flange_rim(study: Study, joint: Joint) -> Array:
    return disk(joint.center, study.openings[joint.at].outward, _flange_diameter(joint))


def _flange_diameter(joint: Joint) -> float:
    """Outside diameter of the flange [m]; where unknown, what just covers the bolts."""
    if joint.flange.outside is not None:
        return float(joint.flange.outside)
    reach = np.hypot(joint.bolts.xy[..., 0], joint.bolts.xy[..., 1]) + 0.75 * joint.bolts.diameter
    return 2.0 * float(np.max(reach))


def _draw_body(paper: Sheet, study: Study, seen: View, pieces: Sequence[Array]) -> list[Array]:
    """Draw the body, the openings across their bore, the flanges and the start of the pipe; return places covered."""
    if pieces:
        paper.pieces(pieces, facecolor=FAINT, edgecolor=FAINT, linewidth=1.6, zorder=1)
        paper.pieces(pieces, facecolor=PALE, edgecolor=PALE, linewidth=0.2, zorder=1.1, label="body")
    covered = [silhouette([paper.inches(piece) for piece in pieces], STEP)] if pieces else []
    for joint in study.joints.values():
        rim = seen.flat(_flange_rim(study, joint))
        paper.line(rim, color=GREY, linewidth=1.2, zorder=2, label="flange")
        covered.append(along_line(paper.inches(rim), STEP))
        covered += _draw_pipe(paper, study, joint, seen)
    for name, opening in study.openings.items():
        rim = seen.flat(disk(opening.center, opening.outward, bore(opening)))
        paper.line(rim, linewidth=2.0, zorder=3, label=f"opening {name}")
        covered.append(along_line(paper.inches(rim), STEP))
    return covered


def _draw_pipe(paper: Sheet, study: Study, joint: Joint, seen: View) -> list[Array]:
    """Draw the pipe behind a joint, broken off, where it is seen from the side; return places covered."""
    opening = study.openings[joint.at]
    away = seen.flat(opening.outward)
    if np.hypot(*away) < 0.5:
        return []
    size, covered = bore(opening), []
    for edge in (-0.5, 0.5):
        across = np.array([-away[1], away[0]]) / np.hypot(*away)
        start = seen.flat(opening.center) + edge * size * across
        wall = np.stack([start, start + 0.45 * size * away])
        paper.line(wall, color=FAINT, linestyle=(0, (4, 2)), zorder=1, label="pipe")
        covered.append(along_line(paper.inches(wall), STEP))
    return covered


def _draw_supports(paper: Sheet, supports: Sequence[Support], seen: View) -> list[Array]:
    return [glyphs.draw_support(paper, each, seen.flat(each.at), seen.flat(each.toward)) for each in supports]


def _support_labels(paper: Sheet, supports: Sequence[Support], seen: View, result: CaseResult) -> list[labels.Label]:
    made = []
    for each in supports:
        along = seen.flat(each.toward)
        hangs = each.kind in ("hanger", "tie", "spring_hanger")
        toward = along if hangs else -along
        length = float(np.hypot(*toward))
        shift = toward / length if length > glyphs.END_ON else np.array([1.0, 0.0])
        reach = {"rest": 0.2, "thrust_block": 0.28, "guide": 0.12, "anchor": 0.12}.get(each.kind, glyphs.ROD)
        anchor = paper.inches(seen.flat(each.at)) + (reach if length > glyphs.END_ON else 0.1) * shift
        judged = result.supports.get(each.name)
        state = f", {state_word(judged)}" if judged is not None and np.all(judged.idle) else ""
        end_on = ", seen end on" if length <= glyphs.END_ON and each.kind != "anchor" else ""
        made.append(
            labels.Label((f"{clean(each.name)} ({glyphs.KIND_WORDS[each.kind]}){state}{end_on}",), anchor, shift)
        )
    return made


def _opening_labels(paper: Sheet, result: CaseResult, study: Study, seen: View) -> list[labels.Label]:
    words = {"connected": "", "free_jet": " (free jet)", "capped": " (capped)"}
    made = []
    middle = np.mean([seen.flat(np.asarray(each.center)) for each in study.openings.values()], axis=0)
    for name, opening in study.openings.items():
        rim = paper.inches(seen.flat(disk(opening.center, opening.outward, bore(opening))))
        away = seen.flat(opening.outward)
        if np.hypot(*away) < 0.2:
            away = paper.inches(seen.flat(opening.center)) - paper.inches(middle)
        across = np.array([-away[1], away[0]])
        across = across if across[1] >= 0.0 else -across
        if np.hypot(*across) < 1e-9:
            across = np.array([0.0, 1.0])
        across = across / np.hypot(*across)
        anchor = rim[int(np.argmax(rim @ across))]
        text = f"{clean(name)}{words[result.openings[name].exit]}"
        made.append(labels.Label((text,), anchor, across + 0.4 * away))
    return made


def _draw_force(
    paper: Sheet, act: Acting, place: beside.Place, seen: View, per_newton: float, system: System, strokes: list[Array]
) -> labels.Label:
    """Draw one force and return its label; the line it is drawn along [in] is added to ``strokes``."""
    mark = place.mark
    flat, look_of = seen.flat(act.force), DASHES[act.sort]
    lines = [act.title or act.name, shown_force(act.magnitude, system)]
    if mark is not None:
        toward_reader = bool(act.force @ seen.to_eye > 0.0)
        glyphs.end_on(paper, paper.metres(mark), toward_reader, look_of["color"], act.name)
        lines[1] += " toward you" if toward_reader else " away from you"
        strokes.append(mark + 0.07 * np.array([[1, 1], [-1, -1], [-1, 1], [1, -1]]))
        return labels.Label(tuple(lines), mark, np.array([1.0, 0.3]), look_of["color"])
    shift = place.shift / paper.scale / paper.to_shown
    tail, tip = (each + shift for each in beside.ends(act, seen, per_newton))
    arrow(paper, tail, tip, act.name, **look_of)
    in_view = shown_force(float(np.hypot(*flat)), system)
    if in_view != lines[1]:
        lines[1] += f", {in_view} in view"
    away = -flat if act.pushes else flat
    strokes.append(paper.inches([tail, tip]))
    outer = paper.inches(tail if act.pushes else tip)
    return labels.Label(tuple(lines), outer, away / np.hypot(*away), look_of["color"])


def _draw_moments(
    paper: Sheet, acts: Sequence[Acting], seen: View, least: float, system: System, strokes: list[Array]
) -> list[labels.Label]:
    """Draw the part of every moment that turns the page, over ``least`` [N·m], and return its labels.

    The arcs [in] are added to ``strokes``.
    """
    made = []
    most = max((float(np.linalg.norm(act.moment)) for act in acts), default=0.0)
    least = max(least, NO_TURN * most)
    for act in acts:
        turn = float(act.moment @ seen.to_eye)
        if abs(turn) <= least:
            continue
        radius = 0.3 if act.sort == "reaction" else 0.2
        arc = glyphs.turning(paper, seen.flat(act.at), turn > 0.0, radius, act.name)
        strokes.append(arc)
        alone = sum(other.sort == "reaction" for other in acts) == 1
        whose = (
            ("the reaction" if alone else f"the {act.name}")
            if act.sort == "reaction"
            else act.name.removeprefix("force of ")
        )
        text = (f"moment of {whose}", f"{show(abs(turn), 'moment', system)} in this plane")
        middle = paper.inches(seen.flat(act.at))
        toward = np.array(
            [1.0 if 2.0 * middle[0] < paper.size[0] else -1.0, -0.7]
        )  # an end of the arc, where more room is
        made.append(labels.Label(text, middle + radius * toward / np.hypot(*toward), toward, ACCENT))
    return made


def _draw_center(paper: Sheet, study: Study, result: CaseResult, seen: View) -> list[Array]:
    """Draw the center of mass; return places covered."""
    found = forces.weight_and_center(study, result)
    return [] if found is None else [glyphs.center_of_mass(paper, seen.flat(found[1]))]
