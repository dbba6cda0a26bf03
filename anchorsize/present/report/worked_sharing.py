"""Worked lines of who carries what: how stiff joints and supports are, how the fitting moves on them, what each then gives.

The solver finds the movement of the fitting: a displacement u of the world origin and a rotation θ. Both are printed where they are put
in, and the force of every joint and support follows from them by hand; that these forces add up to the reaction, force and moment,
is what only the right movement can do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from anchorsize.assessment.holding import ACTIONS, Holding, axes_across, holding
from anchorsize.assessment.results import CaseResult, SupportResult
from anchorsize.mechanics import frames, restraint
from anchorsize.mechanics.restraint import Action, SupportState
from anchorsize.present.report.steps import Of, Quantity, Workings, quantity
from anchorsize.present.report.worked_compliance import Values, by_compliance, compliance, given
from anchorsize.study import Array, Joint, JointStiffness, Study, Support

SPRINGS = "rigid body on springs; derived here"
STRENGTH = "strength of materials"
NOTHING_MOVES = "a rigid joint or anchor lets nothing move"


@dataclass(frozen=True)
class Mount:
    """A joint or an anchor with its axes and what it gives by: ``given`` stiffnesses, or else compliances; neither where it is rigid."""

    name: str
    place: Array
    axes: dict[str, Quantity]
    given: Values
    compliance: Values


@dataclass(frozen=True)
class Sharing:
    """What the lines of every case use of what holds the fitting; ``springs`` are the stiffnesses along and across of each support."""

    held: Holding
    springs: dict[str, Values]
    mounts: list[Mount]

    @property
    def rigid(self) -> bool:
        """Whether one of them lets nothing move."""
        return any(self.held.mounts.rigid)


def sharing(work: Workings, study: Study, option: str, stiff: dict[str, dict[str, Quantity]]) -> Sharing | None:
    """Stiffness of each support and compliance of each joint; None where one joint carries all, or nothing says how they share."""
    held = holding(study, option)
    if held is None:
        return None
    springs = {each.name: _spring(work, each, held, i, study.up) for i, each in enumerate(held.springs)}
    mounts = [_of_joint(work, study, study.joints[name], stiff.get(name, {})) for name in held.joints]
    mounts += [_of_anchor(each, study.up) for each in held.anchors]
    return Sharing(held, springs, mounts)


def _spring(work: Workings, support: Support, held: Holding, at: int, up: Array) -> Values:
    """Stiffness of a support along its direction, and across it where friction holds."""
    if ACTIONS[support.kind] == Action.CONSTANT:
        return {}
    along = float(np.asarray(held.supports.stiffness)[..., at])
    across = float(np.asarray(held.supports.stick_stiffness)[..., at])
    found = {"k": _along(work, support, along, up)}
    if support.friction is None:
        return found
    section = support.section
    if section is None or support.length is None or support.modulus is None:
        return found | {"k_t": found["k"]}
    found["k_t"] = work.step(
        "Stiffness across a post, its foot held and its top free, while friction sticks",
        "k_t",
        "3*E*I/L**3",
        STRENGTH,
        Of("stiffness", label=support.name, agrees=across),
        E=quantity(support.modulus, "modulus"),
        I=quantity(section.second_moment, "second_moment"),
        L=quantity(support.length, "length"),
    )
    return found


def _along(work: Workings, support: Support, agrees: float, up: Array) -> Quantity:
    """Stiffness along a support: as given, of its rod or post, or of the soil under its block."""
    area = support.rod_area if support.section is None else support.section.area
    of = Of("stiffness", label=support.name, agrees=agrees)
    if support.stiffness is not None:
        return quantity(agrees, "stiffness")
    if area is not None and support.length is not None and support.modulus is not None:
        return work.step(
            "Stiffness along a rod or post",
            "k",
            "E*A/L",
            STRENGTH,
            of,
            E=quantity(support.modulus, "modulus"),
            A=quantity(area, "area"),
            L=quantity(support.length, "length"),
        )
    block = support.block
    bearing = None if block is None else block.bearing_area(support.toward, up)
    if block is None or bearing is None or block.subgrade_modulus is None:
        return quantity(agrees, "stiffness")
    return work.step(
        "Stiffness of the soil that a block bears on",
        "k",
        "k_s*A_b",
        "Winkler foundation",
        of,
        k_s=Quantity(float(block.subgrade_modulus), "N/m³"),
        A_b=quantity(bearing, "area"),
    )


def _axes(axis: Array, e1: Array, e2: Array) -> dict[str, Quantity]:
    return {"a": quantity(axis), "e_1": quantity(e1), "e_2": quantity(e2)}


def _of_joint(work: Workings, study: Study, joint: Joint, stiff: dict[str, Quantity]) -> Mount:
    axis = study.openings[joint.at].outward
    axes = _axes(axis, *frames.joint_frame(axis, joint.reference))
    if isinstance(joint.stiffness, JointStiffness):
        return Mount(joint.name, joint.center, axes, given(joint.stiffness), {})
    return Mount(joint.name, joint.center, axes, {}, compliance(work, joint, stiff))


def _of_anchor(anchor: Support, up: Array) -> Mount:
    axes = _axes(anchor.toward, *axes_across(anchor.toward, up))
    springs = given(anchor.six_way) if isinstance(anchor.six_way, JointStiffness) else {}
    return Mount(anchor.name, anchor.at, axes, springs, {})


def carried(work: Workings, shared: Sharing, result: CaseResult) -> None:
    """How the fitting moves in a case, and what each joint and support gives for it."""
    held = shared.held
    solved = restraint.solve_restraint(-result.reaction_force, -result.reaction_moment, held.supports, held.mounts)
    moved = {"u": quantity(solved.motion[:3], "length"), "theta": Quantity(quantity(solved.motion[3:]).value, "rad")}
    for support in held.springs:
        _force(work, support, result.supports[support.name], shared, moved)
    if shared.rigid:
        return
    for mount in shared.mounts:
        _wrench(work, mount, result, moved)


def _wrench(work: Workings, mount: Mount, result: CaseResult, moved: Values) -> None:
    """What a joint or an anchor gives for the movement at its center."""
    joint = result.joints.get(mount.name)
    if joint is not None:
        force, moment = joint.reaction_force, joint.reaction_moment
    else:
        anchor = result.supports[mount.name]
        force, moment = anchor.force, np.zeros(3) if anchor.moment is None else anchor.moment
    at_center = work.step(
        "Movement of the fitting at the center of a joint or anchor",
        "d",
        "u + cross(theta, r)",
        SPRINGS,
        Of("length", label=mount.name),
        r=quantity(mount.place, "length"),
        **moved,
    )
    parts = {}
    for i, axis in enumerate(("a", "e_1", "e_2")):
        for symbol, whole, unit in (
            (f"d_{i + 1}", {"d": at_center}, "m"),
            (f"d_{i + 4}", {"theta": moved["theta"]}, "rad"),
        ):
            parts[symbol] = work.step(
                "Its parts along the axes of the joint, 1 to 3 moved and 4 to 6 turned",
                symbol,
                f"dot({next(iter(whole))}, {axis})",
                "geometry",
                Of(unit=unit, label=mount.name),
                **whole,
                **mount.axes,
            )
    given_by = (
        _by_stiffness(work, mount, parts) if mount.given else by_compliance(work, mount.name, mount.compliance, parts)
    )
    for name, symbol, numbers, kind, agrees in (
        ("Force of a joint or anchor on the fitting", "R_J", "123", "force", force),
        ("Moment of a joint or anchor about its center", "M_J", "456", "moment", moment),
    ):
        formula = " + ".join(f"f_{n}*{axis}" for n, axis in zip(numbers, ("a", "e_1", "e_2"), strict=True))
        work.step(name, symbol, formula, SPRINGS, Of(kind, label=mount.name, agrees=agrees), **given_by, **mount.axes)


def _by_stiffness(work: Workings, mount: Mount, parts: Values) -> Values:
    return {
        f"f_{i}": work.step(
            "Force or moment along an axis, by the stiffness given",
            f"f_{i}",
            f"-(k_{i}*d_{i})",
            SPRINGS,
            Of("force" if i < 4 else "moment", label=mount.name),
            **{f"k_{i}": mount.given[f"k_{i}"], f"d_{i}": parts[f"d_{i}"]},
        )
        for i in range(1, 7)
    }


def _force(work: Workings, support: Support, result: SupportResult, shared: Sharing, moved: Values) -> None:
    """The force of a support along its direction, what it has settled counted (z), and by friction across it."""
    action, springs = ACTIONS[support.kind], shared.springs[support.name]
    set_load = quantity(0.0 if support.set_load is None else support.set_load, "force")
    of = Of("force", label=support.name, agrees=result.push)
    settled = {} if support.settles is None else {"z": quantity(support.settles, "length")}
    if settled and shared.rigid:
        formula = "max(s - k*z, 0)" if action == Action.ONE_WAY else "s - k*z"
        name = "Force of a support: what is set, less what it settles"
        work.step(name, "P", formula, NOTHING_MOVES, of, s=set_load, k=springs["k"], **settled)
        return
    if action == Action.CONSTANT or shared.rigid:
        why = "constant force" if action == Action.CONSTANT else NOTHING_MOVES
        work.step("Force of a support: its set load", "P", "s", why, of, s=set_load)
        return
    place = {"d": quantity(support.toward), "r": quantity(support.at, "length"), **moved}
    delta = work.step(
        "Movement of the fitting at a support along its direction",
        "delta",
        "dot(d, u + cross(theta, r))",
        SPRINGS,
        Of("length", label=support.name),
        **place,
    )
    values = {"k": springs["k"], "delta": delta, "g": quantity(support.gap, "length"), "s": set_load}
    values |= settled
    moved_by = "delta + z" if settled else "delta"
    if action == Action.ONE_WAY:
        formula = "max(s - k*(delta + g), 0)" if float(support.gap) > 0.0 else f"max(s - k*({moved_by}), 0)"
        push = work.step("Force of a support that acts one way", "P", formula, SPRINGS, of, **values)
    elif float(support.gap) > 0.0:
        formula = "-(k*(max(delta - g, 0) + min(delta + g, 0)))"
        push = work.step("Force of a support that acts both ways past its gap", "P", formula, SPRINGS, of, **values)
    else:
        push = work.step("Force of a support that acts both ways", "P", f"s - k*({moved_by})", SPRINGS, of, **values)
    if "k_t" in springs and push.number > 0.0 and float(support.friction or 0.0) > 0.0:
        _friction(work, support, result, springs["k_t"], (delta, push), place)


def _friction(
    work: Workings,
    support: Support,
    result: SupportResult,
    stick: Quantity,
    along: tuple[Quantity, Quantity],
    place: Values,
) -> None:
    """Friction of a support: the pull of its top while that is under what friction gives, else that, against the movement."""
    delta, push = along
    name = support.name
    across = work.step(
        "Movement of the fitting at a support across its direction",
        "w",
        "u + cross(theta, r) - delta*d",
        SPRINGS,
        Of("length", label=name),
        delta=delta,
        **place,
    )
    most = work.step(
        "Friction at most",
        "F_m",
        "mu*P",
        "Coulomb",
        Of("force", label=name),
        mu=quantity(support.friction),
        P=push,
    )
    pull = work.step(
        "Force across if it sticks", "F_s", "k_t*norm(w)", SPRINGS, Of("force", label=name), k_t=stick, w=across
    )
    if int(result.state) == SupportState.SLIDING:
        what, formula = f"Friction of a support that slides ({_more(pull, most)})", "-(F_m/norm(w)*w)"
    else:
        what, formula = "Friction of a support that sticks, F_s not over F_m", "-(k_t*w)"
    work.step(
        what, "F_f", formula, "Coulomb", Of("force", label=name, agrees=result.friction), F_m=most, w=across, k_t=stick
    )


def _more(pull: Quantity, most: Quantity) -> str:
    return "F_s over F_m" if pull.number > most.number else "F_s just F_m"
