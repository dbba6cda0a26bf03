"""Arms that bend: the fitting counts as rigid, yet a long one gives as much at a support as the joint that holds it.

A support may then stop the sway of an arm and not its turning. What the joint gets is no longer that of a rigid body, and neither
softening the support nor leaving it out bounds it: the moment at the joint may turn its sign. So nothing is computed, it is said.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from anchorsize.assessment.distance import bore_of
from anchorsize.assessment.holding import motion_alone, stiffness_known, support_stiffness
from anchorsize.assessment.results import Finding
from anchorsize.mechanics.arm import arm_flexibility
from anchorsize.reference.pipes import standard_wall
from anchorsize.study import Array, Joint, JointStiffness, Study, Support
from anchorsize.units import show

TENTH = 0.1
"""Share of what the joint gives from which that of the arm is told: common practice, no source."""

STEEL = 200e9
"""Modulus of a fitting [Pa], of which a case file says nothing: steel, common practice, no source."""

LIMBER_ARM = "limber arm"
BEYOND = "support beyond the pipe's length"


@dataclass(frozen=True)
class _Pipe:
    """What the arm is taken to be: pieces from and to (n, 3), outside diameters at their ends (n, 2), wall [m], modulus [Pa]."""

    start: Array
    end: Array
    outside: Array
    wall: float
    modulus: float
    words: str


@dataclass(frozen=True)
class _Arm:
    """A support on an arm: its lever from the joint [m], and how often the give of the joint, and of both, the arm gives there."""

    support: Support
    lever: float
    of_joint: float
    of_both: float


def limber_arms(study: Study, supports: tuple[Support, ...]) -> tuple[Finding, ...]:
    """Supports at whose place the arm from a joint bends noticeably beside what the joint gives; spring hangers pull as set."""
    found: list[Finding] = []
    for joint in study.joints.values():
        # a joint taken as rigid starves its supports, which is told by itself
        if stiffness_known(joint):
            found += _of_joint(study, joint, [each for each in supports if each.kind != "spring_hanger"])
    return tuple(found)


def _of_joint(study: Study, joint: Joint, supports: list[Support]) -> list[Finding]:
    arms, pipes = [], {}
    for each in supports:
        pipe = _pipe(study, joint, each.at)
        arms.append(_arm(study, joint, each, pipe))
        pipes[each.name] = pipe.words
    limber = [arm for arm in arms if arm.of_both >= 1.0]
    beyond = [arm for arm in arms if arm not in limber and _farther(joint, arm)]
    bends = [arm for arm in arms if arm not in limber and arm not in beyond and arm.of_joint > TENTH]
    found = []
    if limber:
        times = [f"{arm.of_both:.2g}" for arm in limber]
        found.append(
            Finding(
                LIMBER_ARM,
                None,
                f"The arm from joint '{joint.name}' counts as rigid, yet bends {' and '.join(times)} times as much as joint and support "
                f"give way: {_listed(study, limber)}. Their shares of the loads are NOT to be trusted: bending at the joint (nozzle "
                "moment) and support force may be larger than shown. Have the arm calculated as a beam (pipe stress calculation), or put "
                "the support near the joint; a softer joint does not make up for it. "
                f"{_joined(pipes[arm.support.name] for arm in limber)}",
                doubtful=True,
            )
        )
    if beyond and joint.pipe_behind is not None:
        length = show(float(joint.pipe_behind.length), "length", study.units)
        found.append(
            Finding(
                BEYOND,
                None,
                f"Farther from the joint than the pipe behind it is long (joint '{joint.name}', {length}): {_listed(study, beyond)}. The "
                "fitting counts as rigid, yet the arm itself bends too: gaps and movements come out too small, forces differ.",
            )
        )
    if bends:
        times = [f"{arm.of_joint:.2g}" for arm in bends]
        found.append(
            Finding(
                LIMBER_ARM,
                None,
                f"The arm from joint '{joint.name}' counts as rigid, yet bends {' and '.join(times)} times as much as the joint gives way: "
                f"{_listed(study, bends)}. Bending at the joint (nozzle moment), support force, gaps and movements may be larger "
                f"than shown. {_joined(pipes[arm.support.name] for arm in bends)}",
            )
        )
    return found


def _joined(words: Iterable[str]) -> str:
    return " ".join(dict.fromkeys(words))


def _listed(study: Study, arms: list[_Arm]) -> str:
    """Kind, name and lever of their supports."""
    return ", ".join(
        f"{arm.support.kind.replace('_', ' ').capitalize()} '{arm.support.name}' ({show(arm.lever, 'length', study.units)})"
        for arm in arms
    )


def _farther(joint: Joint, arm: _Arm) -> bool:
    """Whether a support stands farther from the joint than the pipe that gives way behind it is long."""
    behind = joint.pipe_behind
    return behind is not None and not isinstance(joint.stiffness, JointStiffness) and arm.lever > float(behind.length)


def _arm(study: Study, joint: Joint, support: Support, pipe: _Pipe) -> _Arm:
    """What arm, joint and support give at the support, along its line, or of an anchor along the worst line."""
    arm = arm_flexibility(pipe.start, pipe.end, support.at, pipe.outside, pipe.wall, pipe.modulus)
    from_joint = _joint_gives(study, joint, support.at)
    own = _support_gives(study, support)
    lever = float(np.linalg.norm(support.at - joint.center))
    return _Arm(support, lever, _ratio(arm, from_joint, support), _ratio(arm, from_joint + own, support))


def _ratio(arm: Array, rest: Array, support: Support) -> float:
    if support.kind == "anchor":
        return float(np.max(np.linalg.eigvals(np.linalg.solve(rest, arm)).real))
    n = support.toward
    return float(n @ arm @ n) / float(n @ rest @ n)


def _joint_gives(study: Study, joint: Joint, at: Array) -> Array:
    """Flexibility (3, 3) [m/N] of a joint alone at a point: movements by a unit force along each axis."""
    pull = np.eye(3)
    motion = motion_alone(study, joint, (-pull, -np.cross(at - joint.center, pull)))
    return np.asarray((motion[:, :3] + np.cross(motion[:, 3:], at)).T)


def _support_gives(study: Study, support: Support) -> Array:
    """Flexibility (3, 3) [m/N] of a support; of one that acts along a line only along that."""
    along = np.multiply.outer(support.toward, support.toward)
    if support.kind != "anchor":
        return np.asarray(along / float(support_stiffness(support, study.up)))
    if not isinstance(support.six_way, JointStiffness):
        return np.zeros((3, 3))
    return np.asarray(along / support.six_way.axial + (np.eye(3) - along) / support.six_way.shear)


def _pipe(study: Study, joint: Joint, at: Array) -> _Pipe:
    """The arm from a joint to a point: along the centerline where a shape tells it, else straight; its section and modulus.

    The wall is that of the shape at the joint, else of the pipe behind, else the standard wall of a pipe of that bore.
    """
    bore, behind, fitting = bore_of(study.openings[joint.at]), joint.pipe_behind, study.fitting
    modulus, assumed = (STEEL, ", assumed") if behind is None else (float(behind.modulus), "")
    wall, source = (
        (standard_wall(bore), "standard wall, assumed")
        if behind is None
        else (float(behind.wall), "that of the pipe behind")
    )
    if fitting.centerline is None or fitting.widths is None:
        start, end = joint.center[None], at[None]
        outside = np.full((1, 2), bore + 2.0 * wall if behind is None else float(behind.outside))
    else:
        pieces = _between(fitting.centerline, joint.center, at)
        start, end, outside, at_joint = _cut(fitting.centerline, fitting.widths, pieces, joint.center)
        if at_joint - bore > 1e-6 * bore:
            wall, source = (at_joint - bore) / 2.0, "as its shape"
        else:
            outside = outside + 2.0 * wall
    words = (
        f"Arm taken as pipe of {show(bore + 2.0 * wall, 'length', study.units)} outside, wall {show(wall, 'length', study.units)} "
        f"({source}), modulus {show(modulus, 'modulus', study.units)}{assumed}."
    )
    return _Pipe(start, end, outside, wall, modulus, words)


def _nearest(lines: Array, point: Array) -> tuple[int, float]:
    """The piece of lines (n, 2, 3) nearest to a point, and the share of its length at which it is so."""
    along = lines[:, 1] - lines[:, 0]
    squares = np.maximum(np.sum(along**2, axis=-1), 1e-300)
    shares = np.clip(np.sum((point - lines[:, 0]) * along, axis=-1) / squares, 0.0, 1.0)
    away = np.linalg.norm(lines[:, 0] + shares[:, None] * along - point, axis=-1)
    piece = int(np.argmin(away))
    return piece, float(shares[piece])


def _reach(lines: Array, point: Array) -> dict[int, float]:
    """How far along each piece the way from the start of the first leads to a point; a branch leaves an earlier piece."""
    piece, share = _nearest(lines, point)
    reached = {piece: share}
    while piece > 0:
        piece, share = _nearest(lines[:piece], lines[piece, 0])
        reached[piece] = share
    return reached


def _between(lines: Array, first: Array, second: Array) -> dict[int, tuple[float, float]]:
    """The way between two points along a centerline that may branch: of each piece the shares where it begins and ends."""
    one, other = _reach(lines, first), _reach(lines, second)
    ends = {piece: (one.get(piece, 0.0), other.get(piece, 0.0)) for piece in sorted({*one, *other})}
    return {piece: (min(pair), max(pair)) for piece, pair in ends.items()}


def _cut(
    lines: Array, widths: Array, pieces: dict[int, tuple[float, float]], at: Array
) -> tuple[Array, Array, Array, float]:
    """Ends and outside diameters [m] of cut pieces of a centerline, and the outside diameter at a point of it."""
    index = list(pieces)
    shares = np.array(list(pieces.values()))
    along = lines[index, 1] - lines[index, 0]
    start, end = (lines[index, 0] + shares[:, [side]] * along for side in (0, 1))
    outside = widths[index, :1] + shares * (widths[index, 1:] - widths[index, :1])
    piece, share = _nearest(lines, at)
    return start, end, outside, float(widths[piece, 0] + share * (widths[piece, 1] - widths[piece, 0]))
