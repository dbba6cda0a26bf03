"""What holds the fitting: the joints and the supports of an option, and how they share the reaction.

A single joint without supports carries the whole reaction, whatever its stiffness. Otherwise the fitting is a rigid body on
joints and supports (:mod:`anchorsize.mechanics.restraint`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from anchorsize.assessment.clamping import joint_stiffnesses
from anchorsize.assessment.refusing import Refuse
from anchorsize.assessment.results import StudyError, SupportResult, no_such
from anchorsize.mechanics import frames, joint_stiffness, momentum, restraint, rigid_body, support_capacity
from anchorsize.mechanics.restraint import Action, RestraintStatus, SupportState
from anchorsize.mechanics.rigid_body import FreeMotion
from anchorsize.study import Array, Joint, JointStiffness, Number, Study, Support

Wrench: TypeAlias = tuple[Array, Array]
"""Force (..., 3) [N] on the fitting and moment (..., 3) [N·m] about the center of what gives it."""

NO_SUPPORT = "bolts alone"
ALONG = 0.999
"""Cosine from which a support counts as standing along up, so that its plane is counted from +x."""

NOISE = 1e-9
"""Share of the loads under which a force is the rounding of zero."""

STILL = 1e-12
"""Movement [m] that is the rounding of zero: a hundredth of an atom."""

ACTIONS = {
    "hanger": Action.ONE_WAY,
    "tie": Action.ONE_WAY,
    "rest": Action.ONE_WAY,
    "thrust_block": Action.ONE_WAY,
    "guide": Action.TWO_WAY,
    "strut": Action.TWO_WAY,
    "spring_hanger": Action.CONSTANT,
}


@dataclass(frozen=True)
class Holding:
    """Joints and six-way anchors as mounts, the joints first, and the other supports as springs, in the order named."""

    joints: tuple[str, ...]
    anchors: tuple[Support, ...]
    springs: tuple[Support, ...]
    mounts: restraint.Mounts
    supports: restraint.Supports


@dataclass(frozen=True)
class Shared:
    """Who carries what in one case: the wrench of each joint, the result of each support, the motion (..., 6) of the world origin.

    ``motion`` is None where nothing was solved.
    """

    joints: dict[str, Wrench]
    supports: dict[str, SupportResult]
    motion: Array | None = None


def chosen_option(study: Study, option: str | None) -> str:
    """Name of the support option asked for, the first of the file if None. Raises StudyError where there is none."""
    names = list(study.supports) or [NO_SUPPORT]
    chosen = names[0] if option is None else option
    if chosen not in names:
        error = no_such("support option", chosen, names)
        if chosen == NO_SUPPORT:  # the name of the row that a comparison adds
            raise StudyError(f"{error}; without any support: write '{NO_SUPPORT}: []' under supports")
        raise error
    return chosen


def with_option(study: Study, option: str | None) -> Study:
    """The study with the option asked for in the first place, so that whatever is asked of it is asked with that option."""
    chosen = chosen_option(study, option)
    if chosen not in study.supports:
        return study
    return replace(study, supports={chosen: study.supports[chosen], **study.supports})


def with_own_tables(study: Study, option: str) -> Study:
    """The study without the table rows that only supports of other options take."""
    used = {row for support in study.supports.get(option, ()) for row in support.tables}
    others = {row for supports in study.supports.values() for support in supports for row in support.tables} - used
    return replace(study, provenance=tuple(row for row in study.provenance if row not in others)) if others else study


def stiffness_known(joint: Joint) -> bool:
    """Whether the joint gives way by a known amount; otherwise it counts as rigid."""
    return isinstance(joint.stiffness, JointStiffness) or joint.pipe_behind is not None


def loose_joints(study: Study) -> list[str]:
    """Names of the joints of which nothing says how they give way."""
    return [name for name, joint in study.joints.items() if not stiffness_known(joint) and joint.stiffness != "rigid"]


def how_joints_share(study: Study) -> str:
    """What to write, and where, so that it is known how several joints share the reaction."""
    keys = ", ".join(f"joints / {name}" for name in loose_joints(study))
    return (
        f"under {keys}: `pipe_behind: {{outside, wall, length, modulus, poisson}}`, `stiffness: {{axial, shear, bending, torsion}}`, or in "
        "one joint `stiffness: rigid`, to share the reaction"
    )


def holding(study: Study, option: str) -> Holding | None:
    """What holds the fitting; None where one joint holds it alone, nothing is named, or joints have no stiffness to share by.

    Raises
    ------
    StudyError
        Two mounts are rigid, or joints and supports leave a movement free.
    """
    supports = study.supports.get(option, ())
    if not supports and len(study.joints) < 2:
        return None
    if len(study.joints) > 1 and loose_joints(study):
        return None
    anchors = tuple(each for each in supports if each.kind == "anchor")
    springs = tuple(each for each in supports if each.kind != "anchor")
    rigid = [not stiffness_known(joint) for joint in study.joints.values()]
    rigid += [not isinstance(anchor.six_way, JointStiffness) for anchor in anchors]
    stiff = [_joint_stiffness(study, joint) for joint in study.joints.values()]
    stiff += [_anchor_stiffness(study, anchor) for anchor in anchors]
    centers = [joint.center for joint in study.joints.values()] + [anchor.at for anchor in anchors]
    mounts = restraint.Mounts(_stacked(centers, (0, 3)), _stacked(stiff, (0, 6, 6)), tuple(rigid))
    held = Holding(tuple(study.joints), anchors, springs, mounts, _springs(springs, study.up))
    _refuse_two_rigid(held)
    if not study.joints:
        _refuse_free(option, held)
    return held


def _stacked(parts: list[Array], empty: tuple[int, ...]) -> Array:
    if not parts:
        return np.zeros(empty)
    axis = -2 if parts[0].ndim == 1 or len(empty) == 2 else -3
    return np.stack(np.broadcast_arrays(*parts), axis=axis)


def _joint_stiffness(study: Study, joint: Joint) -> Array:
    """6×6 stiffness of a joint in world axes; zeros where it counts as rigid."""
    axis = study.openings[joint.at].outward
    e1, e2 = frames.joint_frame(axis, joint.reference)
    if isinstance(joint.stiffness, JointStiffness):
        return rigid_body.in_world_axes(_given(joint.stiffness), axis, e1, e2)
    if joint.pipe_behind is None:
        return np.zeros((6, 6))
    pipe = joint.pipe_behind
    parts = [joint_stiffness.pipe_flexibility(pipe.outside, pipe.wall, pipe.length, pipe.modulus, pipe.poisson)]
    stiff = None if joint.stiffness == "rigid" else joint_stiffnesses(joint)
    if stiff is not None:
        parts.append(joint_stiffness.clamped_flexibility(joint.bolts.xy, stiff.bolts, stiff.face, stiff.modulus))
    return rigid_body.in_world_axes(joint_stiffness.joint_from_flexibility(*parts), axis, e1, e2)


def motion_alone(study: Study, joint: Joint, wrench: Wrench) -> Array:
    """Motion (..., 6) of the world origin [m] and rotation [rad] of a fitting that a joint of known stiffness holds alone."""
    on_fitting = np.concatenate(np.broadcast_arrays(*wrench), axis=-1)
    about_center = np.linalg.solve(_joint_stiffness(study, joint), -on_fitting[..., None])[..., 0]
    return np.asarray(rigid_body.shift(-joint.center) @ about_center[..., None])[..., 0]


def _given(given: JointStiffness) -> Array:
    return joint_stiffness.given_stiffness(given.axial, given.shear, given.bending, given.torsion)


def _anchor_stiffness(study: Study, anchor: Support) -> Array:
    """6×6 stiffness of an anchor, its axis along ``toward``; zeros where it is rigid."""
    if not isinstance(anchor.six_way, JointStiffness):
        return np.zeros((6, 6))
    e1, e2 = axes_across(anchor.toward, study.up)
    return rigid_body.in_world_axes(_given(anchor.six_way), anchor.toward, e1, e2)


def axes_across(axis: Array, up: Array) -> tuple[Array, Array]:
    """Unit vectors e1 and e2 across ``axis`` (..., 3): e1 along up, or along +x where the axis itself runs along up."""
    along_up = np.abs(np.sum(np.asarray(axis) * up, axis=-1, keepdims=True)) > ALONG
    return frames.joint_frame(axis, np.where(along_up, np.array([1.0, 0.0, 0.0]), up))


def _springs(springs: tuple[Support, ...], up: Array) -> restraint.Supports:
    def column(values: list[Number]) -> Array:
        return np.stack(np.broadcast_arrays(*values), axis=-1) if values else np.zeros(0)

    before = [_before_the_load(each, up) for each in springs]
    return restraint.Supports(
        point=_stacked([each.at for each in springs], (0, 3)),
        direction=_stacked([each.toward for each in springs], (0, 3)),
        action=np.array([ACTIONS[each.kind] for each in springs], dtype=np.int64),
        stiffness=column([1.0 if each.kind == "spring_hanger" else support_stiffness(each, up) for each in springs]),
        gap=column([gap for gap, _ in before]),
        set_load=column([set_load for _, set_load in before]),
        friction=column([0.0 if each.friction is None else each.friction for each in springs]),
        stick_stiffness=column(
            [1.0 if each.kind == "spring_hanger" else _across_stiffness(each, up) for each in springs]
        ),
    )


def _before_the_load(support: Support, up: Array) -> tuple[Number, Number]:
    """Gap [m] and force [N] of a support while the fitting stands still: as set, and what it has settled since.

    A foundation that moves by z against ``toward`` makes the force s − k (δ + z). A support that acts one way and has no force left
    stands off by the rest of z, a gap.
    """
    set_load = 0.0 if support.set_load is None else support.set_load
    if support.settles is None:
        return support.gap, set_load
    spring = support_stiffness(support, up)
    left = np.asarray(set_load - np.asarray(spring) * support.settles)
    if ACTIONS[support.kind] == Action.TWO_WAY:
        return support.gap, left
    return support.gap + np.maximum(-left, 0.0) / spring, np.maximum(left, 0.0)


def support_stiffness(support: Support, up: Array) -> Number:
    """Stiffness of a support along its direction [N/m]: as given, EA/L of rod or post, or its block on the subgrade.

    Raises
    ------
    StudyError
        Nothing that it could follow from is given.
    """
    if support.stiffness is not None:
        return support.stiffness
    area = support.rod_area if support.section is None else support.section.area
    if area is not None and support.length is not None and support.modulus is not None:
        return support_capacity.axial_stiffness(area, support.length, support.modulus)
    block = support.block
    bearing = None if block is None else block.bearing_area(support.toward, up)
    if block is not None and bearing is not None and block.subgrade_modulus is not None:
        return support_capacity.soil_stiffness(block.subgrade_modulus, bearing)
    raise StudyError(f"support '{support.name}': nothing gives its stiffness")


def _across_stiffness(support: Support, up: Array) -> Number:
    """Stiffness across a support while its friction sticks [N/m]: of a post's free top, else the support's own."""
    section = support.section
    if section is None or support.length is None or support.modulus is None:
        return support_stiffness(support, up)
    return support_capacity.sideways_stiffness(support.modulus, section.second_moment, support.length)


def _refuse_two_rigid(held: Holding) -> None:
    names = [*(f"joint '{name}'" for name in held.joints), *(f"anchor '{each.name}'" for each in held.anchors)]
    rigid = [name for name, is_rigid in zip(names, held.mounts.rigid, strict=True) if is_rigid]
    if len(rigid) > 1:
        raise StudyError(
            f"{' and '.join(rigid)} are rigid: how they share the load is not determined; give one of them a stiffness "
            "(a joint: stiffness or pipe_behind; an anchor: six_way)"
        )


def _refuse_free(option: str, held: Holding) -> None:
    """Without a joint the supports alone must hold the fitting every way."""
    free = restraint.hold(held.supports, held.mounts)
    if free:
        listed = "; ".join(_free_words(motion) for motion in free)
        raise StudyError(
            f"support option '{option}': nothing holds the fitting against {listed}; another support is missing there"
        )


def _free_words(motion: FreeMotion) -> str:
    if not motion.turns:
        return f"moving along {_rounded(motion.direction)}"
    return f"turning about the line along {_rounded(motion.direction)} through {_rounded(motion.through)} m"


def _rounded(vector: Array) -> str:
    return f"[{', '.join(f'{value:.3g}' for value in np.round(vector, 6) + 0.0)}]"


def share_out(study: Study, case: str, held: Holding | None, force: Array, moment: Array, refuse: Refuse) -> Shared:
    """Share the reaction, force (..., 3) [N] and moment (..., 3) [N·m] about the origin, among joints and supports."""
    if held is None:
        joints = {
            name: (force, momentum.transfer(force, moment, np.zeros(3), joint.center))
            for name, joint in study.joints.items()
        }
        return Shared(joints if len(joints) == 1 else {}, {})
    solved = restraint.solve_restraint(-force, -moment, held.supports, held.mounts)
    refuse(~solved.converged, _why_not(case, held, solved))
    wrenches = [
        (solved.mount_wrench[..., i, :3], solved.mount_wrench[..., i, 3:]) for i in range(len(held.mounts.rigid))
    ]
    noise = NOISE * _load_scale(force, solved)
    results = {each.name: _spring_result(each, solved, i, noise) for i, each in enumerate(held.springs)}
    for anchor, wrench in zip(held.anchors, wrenches[len(held.joints) :], strict=True):
        results[anchor.name] = _anchor_result(anchor, wrench, solved, noise)
    return Shared(dict(zip(held.joints, wrenches, strict=False)), results, solved.motion)


def _why_not(case: str, held: Holding, solved: restraint.Restraint) -> str:
    """Words for the worst row without an answer."""
    lost = ~solved.converged
    if not np.any(lost):
        return ""
    row = int(np.argmax(np.ravel(lost)))
    status = RestraintStatus(int(np.ravel(solved.status)[row]))
    lack = solved.unbalanced.reshape(-1, 6)[row]
    short = f"short by force [{', '.join(f'{v:.4g}' for v in lack[:3])}] N and moment [{', '.join(f'{v:.4g}' for v in lack[3:])}] N·m"
    if status == RestraintStatus.SLIDES:
        return f"case '{case}': the fitting slides off its supports: friction does not hold it ({short}); add a support across"
    if status == RestraintStatus.NO_EQUILIBRIUM:
        return (
            f"case '{case}': joints and supports cannot hold the load ({short}): supports that only push or only pull face the "
            "wrong way; add one against that force or moment"
        )
    if not np.any(np.asarray(held.supports.friction) > 0.0):
        return f"case '{case}': no state of joints and supports in balance was found: the load lies at the limit of what they hold, or their stiffnesses too far apart"
    return (
        f"case '{case}': friction at the supports does not settle on one state: take the friction out, or less of it, and judge the "
        "case both ways"
    )


def _load_scale(force: Array, solved: restraint.Restraint) -> Array:
    """Yardstick for what is rounding (...) [N]: the reaction, and the greatest that any joint or support gives."""
    wrench = np.abs(solved.mount_wrench).max(axis=(-2, -1), initial=0.0)  # moments count per meter of arm
    given = np.abs(solved.support_force).max(axis=-1, initial=0.0)
    return np.asarray(np.linalg.norm(force, axis=-1) + wrench + given)


def _without_noise(values: Array, noise: Array | float) -> Array:
    return np.where(np.abs(values) <= noise, 0.0, values)


def _spring_result(support: Support, solved: restraint.Restraint, place: int, noise: Array) -> SupportResult:
    push = _without_noise(solved.support_force[..., place], noise)
    drag = _without_noise(solved.friction_force[..., place, :], noise[..., None])
    clearance, state = _without_noise(solved.clearance[..., place], STILL), solved.state[..., place]
    just_touches = (state == SupportState.OPEN) & (clearance == 0.0)
    return SupportResult(
        support=support,
        force=_without_noise(push[..., None] * support.toward + drag, noise[..., None]),
        push=push,
        friction=drag,
        movement=_without_noise(solved.movement[..., place], STILL),
        clearance=clearance,
        state=np.where(just_touches, SupportState.CARRYING, state).astype(np.int8),
        single=solved.single,
    )


def _anchor_result(anchor: Support, wrench: Wrench, solved: restraint.Restraint, noise: Array) -> SupportResult:
    force, moment = (_without_noise(part, noise[..., None]) for part in wrench)
    push = _without_noise(np.sum(force * anchor.toward, axis=-1), noise)
    arm = anchor.at
    moved = solved.motion[..., :3] + np.cross(solved.motion[..., 3:], arm)
    return SupportResult(
        support=anchor,
        force=force,
        push=push,
        friction=_without_noise(force - push[..., None] * anchor.toward, noise[..., None]),
        movement=_without_noise(np.sum(moved * anchor.toward, axis=-1), STILL),
        clearance=np.zeros_like(push),
        state=np.full(push.shape, SupportState.CARRYING, dtype=np.int8),
        moment=moment,
        single=solved.single,
    )
