"""Supports that run through a free jet or through the fitting: told in words, only where the geometry of the file leaves no doubt.

A support with a length is the straight line from its point to its other end. A jet keeps its line and bore for as far as it has
not yet fallen by its own radius. The fitting is known where it has a shape, round its centerline; else only the ends of its
openings are.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.mechanics.momentum import STANDARD_GRAVITY
from anchorsize.study import Array, Study, Support
from anchorsize.units import show

IN_JET = "support in a free jet"
THROUGH = "support through the fitting"

INSIDE, CLEAR = 0.95, 1.05
"""Shares of a radius within which a point is inside without doubt, and from which it is clear: common practice, no source."""

TOWARD_AXIS = 0.5
"""Share of its distance from the axis at which a line must pass to have entered from its own side: common practice, no source."""

SAMPLES = 401
HUNG = ("hanger", "tie", "spring_hanger")

Cases = Mapping[str, CaseResult]


@dataclass(frozen=True)
class _Tube:
    """Straight round pieces: starts and ends (n, 3) [m], radii (n, 2) [m] there."""

    start: Array
    end: Array
    radius: Array

    def off(self, points: Array) -> tuple[Array, Array]:
        """Least distance of points (k, 3) from the axis, each (k,) as a share of the radius there: beside a piece, and of any place.

        The first is infinite beyond the flat ends; the second takes the ends as round, so that no gap is left at a bend.
        """
        along = self.end - self.start
        share = np.einsum("kni,ni->kn", points[:, None] - self.start, along) / np.einsum("ni,ni->n", along, along)
        held = np.clip(share, 0.0, 1.0)
        radius = self.radius[:, 0] + held * (self.radius[:, 1] - self.radius[:, 0])
        away = np.linalg.norm(points[:, None] - self.start - held[..., None] * along, axis=-1) / radius
        beside = np.where(share == held, away, np.inf)
        return np.asarray(np.min(beside, axis=-1)), np.asarray(np.min(away, axis=-1))


def clashes(study: Study, supports: tuple[Support, ...], cases: Cases) -> tuple[Finding, ...]:
    """The supports whose line passes through a free jet, through the fitting away from its own point, or an opening's end."""
    found = []
    for each in supports:
        points = _line(each)
        if points is not None:
            found += [*_in_jets(study, each, points, cases), *_through(study, each, points)]
    return tuple(found)


def _line(support: Support) -> Array | None:
    """Points (k, 3) [m] from a support's point to its other end; None where no length says where that is."""
    if support.length is None:
        return None
    away = (1.0 if support.kind in HUNG else -1.0) * float(support.length) * support.toward
    return np.asarray(support.at + np.linspace(0.0, 1.0, SAMPLES)[:, None] * away)


def _label(support: Support) -> str:
    return f"{support.kind.replace('_', ' ').capitalize()} '{support.name}'"


def _in_jets(study: Study, support: Support, points: Array, cases: Cases) -> list[Finding]:
    found = []
    for name, opening in study.openings.items():
        speeds = [float(case.openings[name].velocity) for case in cases.values() if _jets(case, name)]
        if not any(speeds):
            continue
        radius = float(np.sqrt(opening.area / np.pi))
        reach = max(speeds) * float(np.sqrt(2.0 * radius / STANDARD_GRAVITY))
        jet = _tube(opening.center, opening.center + reach * opening.outward, radius)
        off, _ = jet.off(points)
        if off[0] <= 1.0 or not np.any(off <= INSIDE):  # one that starts in the jet stands on the end of its pipe
            continue
        place = points[int(np.argmin(off))]
        away = float((place - opening.center) @ opening.outward)
        found.append(
            Finding(
                IN_JET,
                None,
                f"{_label(support)} runs through the free jet of '{name}', {show(away, 'length', study.units)} from its end: the stream "
                "would strike it and be turned, which is not computed. Move its foot or its point.",
                doubtful=True,
            )
        )
    return found


def _jets(case: CaseResult, name: str) -> bool:
    return case.openings[name].exit == "free_jet" and float(case.openings[name].flow) > 0.0


def _tube(start: Array, end: Array, radius: float) -> _Tube:
    return _Tube(start[None], end[None], np.full((1, 2), radius))


def _through(study: Study, support: Support, points: Array) -> list[Finding]:
    fitting = study.fitting
    if fitting.centerline is None or fitting.widths is None:
        return _through_ends(study, support, points)
    off, away = _Tube(fitting.centerline[:, 0], fitting.centerline[:, 1], fitting.widths / 2.0).off(points)
    inside, clear = off <= INSIDE, away >= CLEAR
    left = int(np.argmax(clear)) if np.any(clear) else len(points)
    back = np.flatnonzero(inside[left:])
    if len(back):
        far = float(np.linalg.norm(points[left + back[0]] - points[0]))
        how = (
            f"runs through the fitting {show(far, 'length', study.units)} from its own point: it cannot stand there. Move its foot or its "
            "point."
        )
        return [Finding(THROUGH, None, f"{_label(support)} {how}", doubtful=True)]
    if left and off[0] >= TOWARD_AXIS and np.min(off[:left]) <= TOWARD_AXIS * min(off[0], CLEAR):
        how = (
            "starts at the far side of the fitting and runs through it: right only where a clamp or yoke goes round the pipe. Else put "
            "its point on the near side, or turn it round."
        )
        return [Finding(THROUGH, None, f"{_label(support)} {how}")]
    return []


def _through_ends(study: Study, support: Support, points: Array) -> list[Finding]:
    """Where the fitting has no shape: a line that passes through the open end of an opening away from its own point."""
    found = []
    for name, opening in study.openings.items():
        ahead = (points - opening.center) @ opening.outward
        radius = float(np.sqrt(opening.area / np.pi))
        if abs(ahead[0]) <= radius or ahead[0] * ahead[-1] >= 0.0:
            continue
        cross = points[0] + ahead[0] / (ahead[0] - ahead[-1]) * (points[-1] - points[0])
        if float(np.linalg.norm(cross - opening.center)) > INSIDE * radius:
            continue
        far = show(float(np.linalg.norm(cross - points[0])), "length", study.units)
        found.append(
            Finding(
                THROUGH,
                None,
                f"{_label(support)} runs through the end of '{name}' {far} from its own point: it cannot stand there. Move its foot or "
                "its point.",
                doubtful=True,
            )
        )
    return found
