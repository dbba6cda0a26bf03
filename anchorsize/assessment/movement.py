"""How far the fitting moves, and what the pipe behind a joint gets at its fixed end: what no check of bolts tells.

Each function reads evaluated cases of a study with one row.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from anchorsize.assessment.distance import greatest_bore
from anchorsize.assessment.holding import motion_alone, stiffness_known
from anchorsize.assessment.results import CaseResult, Finding, JointResult
from anchorsize.mechanics import momentum, rigid_body
from anchorsize.study import Array, Study
from anchorsize.units import figures, show

SMALL_MOVEMENT = 0.05
"""Share of the fitting's size up to which its movement counts as small: common practice, no source."""

TOO_FAR = "moves too far"

BORES = 5.0
"""Bores that the size of a fitting with one known point is taken as: common practice, no source."""


def pipe_moment(study: Study, joint: str, result: JointResult) -> float | None:
    """Moment, bending and torsion together, at the fixed end of the pipe behind a joint [N·m]; None where no pipe is given.

    The joint's wrench moved along the pipe, which itself is taken as weightless.
    """
    held = study.joints[joint]
    if held.pipe_behind is None:
        return None
    axis = study.openings[held.at].outward
    end = held.center + np.asarray(held.pipe_behind.length) * axis
    moment = momentum.transfer(result.reaction_force, result.reaction_moment, held.center, end)
    return float(np.linalg.norm(moment))


def greatest_movement(study: Study, case: CaseResult, with_supports: bool = True) -> tuple[str, float] | None:
    """Which known point of the fitting moves most, and how far [m]; None where a joint counts as rigid or nothing is known.

    The points of the supports that act in the case count as known ones, unless ``with_supports`` is False: then all options are
    compared by the same points.
    """
    motion = _motion(study, case)
    if motion is None:
        return None
    points = {**_own_points(study), **(_support_points(case) if with_supports else {})}
    moved = {name: float(np.linalg.norm((rigid_body.shift(point) @ motion)[:3])) for name, point in points.items()}
    return max(moved.items(), key=lambda pair: pair[1])


class Farthest(NamedTuple):
    """The case and the known point, of the fitting and its supports, that moves most of all, and how far [m]."""

    case: str
    where: str
    value: float


def farthest(study: Study, cases: Mapping[str, CaseResult]) -> Farthest | None:
    """What moves most over all cases; None where nothing is known."""
    moves = [Farthest(name, *found) for name, case in cases.items() if (found := greatest_movement(study, case))]
    return max(moves, key=lambda each: each.value, default=None)


def moves_too_far(study: Study, cases: Mapping[str, CaseResult]) -> tuple[Finding, ...]:
    """Whether the fitting moves so far that statics of small movements no longer holds."""
    found = farthest(study, cases)
    if found is None:
        return ()
    (worst, where, most), size = found, _size(study)
    if most <= SMALL_MOVEMENT * size:
        return ()
    return (
        Finding(
            TOO_FAR,
            None,
            f"The movement is too large for this calculation: {where} moves {show(most, 'length', study.units)} in '{worst}', "
            f"{figures(100 * most / size, 3)} % of the fitting's size of {show(size, 'length', study.units)}. Forces are found on the fitting "
            f"where it stands unloaded, which holds for small movements only (up to some {100 * SMALL_MOVEMENT:.0f} % of it). Are the modulus, lengths and "
            "stiffnesses of joint, pipe and supports right? If so, it needs a stiffer hold.",
            doubtful=True,
        ),
    )


def _motion(study: Study, case: CaseResult) -> Array | None:
    if not all(stiffness_known(joint) for joint in study.joints.values()):
        return None
    if case.motion is not None or len(study.joints) != 1 or not case.joints:
        return case.motion
    ((name, joint),) = study.joints.items()
    held = case.joints[name]
    return motion_alone(study, joint, (held.reaction_force, held.reaction_moment))


def _own_points(study: Study) -> dict[str, Array]:
    """What is known of the fitting: openings, centers of mass, and where loads act."""
    fitting = study.fitting
    found: dict[str, Array] = {f"opening '{name}'": opening.center for name, opening in study.openings.items()}
    if fitting.mass_center is not None:
        found["the center of mass"] = fitting.mass_center
    found |= {f"'{each.name}'": each.center for each in fitting.extra_masses}
    return found | {f"the point of '{each.name}'": each.at for each in study.external}


def _support_points(case: CaseResult) -> dict[str, Array]:
    """Where the supports stand that act in a case: those of its own option."""
    return {f"the point of support '{name}'": each.support.at for name, each in case.supports.items()}


def _size(study: Study) -> float:
    """Greatest distance between known points of the fitting [m]; of one point alone some bores."""
    points = np.array(list(_own_points(study).values()))
    span = float(np.max(np.linalg.norm(points[:, None] - points[None], axis=-1)))
    return span if span > 0.0 else BORES * greatest_bore(study)
