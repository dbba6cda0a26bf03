"""A tightened joint: what preload and stiffness it has, and what its bolts and face carry in a case.

Every service result is worked out three times, at the least, the mean and the greatest preload that the tightening leaves.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from anchorsize.assessment.refusing import Refuse, raise_at_once
from anchorsize.assessment.results import StudyError
from anchorsize.mechanics import contact, stiffness, tightening
from anchorsize.mechanics.face_integrals import Annulus
from anchorsize.study import Array, Joint, Number, Tightening

PITCH_DIAMETER = 0.649519  # d2 = d − 0.649519 P, ISO 724 and ASME B1.1


@dataclass(frozen=True)
class Stiffnesses:
    """Stiffness of each bolt (..., n) [N/m], the face, and its pressure per closing ``modulus`` [Pa/m]."""

    bolts: Array
    face: Annulus
    modulus: Number

    @property
    def load_factor(self) -> Array:
        """Share C of a centered external load that the bolts take while the face is closed [-]."""
        return stiffness.load_factor(np.sum(self.bolts, axis=-1), self.modulus * self.face.area())


@dataclass(frozen=True)
class Clamping:
    """Preload of each bolt (..., n) [N] at its least, mean and greatest, and the stiffnesses where all are known.

    ``torque_arm`` (..., n) [m] is torque over preload, None where the preload itself is controlled. ``assembled`` is the joint
    as tightened at those three preloads, worked out once for all cases; None without the stiffnesses.
    """

    least: Array
    mean: Array
    greatest: Array
    torque: Array | None
    torque_arm: Array | None
    stiff: Stiffnesses | None
    assembled: tuple[contact.Assembled, contact.Assembled, contact.Assembled] | None = None

    @property
    def torque_wanted(self) -> Array | None:
        """Torque (..., n) [N·m] as given, or the one that gives the mean preload; None where nothing links the two."""
        if self.torque is not None or self.torque_arm is None:
            return self.torque
        return tightening.torque_from_preload(self.mean, self.torque_arm)


@dataclass(frozen=True)
class Service:
    """What bolts and face carry in one case. ``None`` fields need the stiffnesses.

    ``tension`` (..., n) [N] is at the mean preload. The bounds ``tension_bound`` (..., n) and ``clamp_bound`` (...) [N] hold
    whatever the stiffness for an even ring of bolts: all external tension added to the greatest preload, all of it taken
    from the least clamp. With bolts missing or loose they are estimates, since bolts and face are then not about one center.
    ``lift_off_use`` is the share of the load at which the face first opens, inverted: over 1 it has opened.
    """

    tension_bound: Array
    clamp_bound: Array
    external_bound: (
        Array  # external tension in the bound (..., n) [N]: without the relief of an axial force that presses
    )
    tension_least: Array | None = None
    tension: Array | None = None
    tension_greatest: Array | None = None
    clamp: Array | None = None
    clamp_least: Array | None = None
    pressure_min: Array | None = None
    pressure_max: Array | None = None
    pressure_min_least: Array | None = None
    pressure_max_greatest: Array | None = None
    lift_off: Array | None = None
    lift_off_least: Array | None = None
    lift_off_use: Array | None = None
    face_moment_least: Array | None = None  # of the face's pressure about the joint's center [N·m]
    opens_toward: Array | None = None


def clamping(joint: Joint, refuse: Refuse = raise_at_once) -> Clamping | None:
    """Preload and stiffness of a joint; None where nothing is said of its tightening.

    Raises
    ------
    StudyError
        A torque without anything to turn it into a preload, or a preload over the tensile strength.
    """
    given = joint.tightening
    if given is None:
        return None
    arm = _torque_arm(joint, given)
    if given.preload is not None:
        mean = given.preload
    elif given.torque is not None and arm is not None:
        mean = tightening.preload_from_torque(given.torque, arm)
    else:
        raise StudyError(
            f"joint '{joint.name}': a torque gives no preload by itself; add tightening / nut_factor, or thread_friction and "
            "bearing_friction with bearing_diameter, or give the preload"
        )
    mean = np.where(joint.carrying, mean, 0.0)
    spread = tightening.preload_range(mean, _column(given.scatter), _column(given.relaxation))
    _within_strength(joint, spread.greatest, refuse)
    stiff = joint_stiffnesses(joint)
    clamped = Clamping(spread.least, mean, spread.greatest, given.torque, arm, stiff)
    if stiff is None:
        return clamped

    def tightened(preload: Array) -> contact.Assembled:
        return contact.assemble(joint.bolts.xy, preload, stiff.face, stiff.modulus)

    return replace(clamped, assembled=(tightened(spread.least), tightened(mean), tightened(spread.greatest)))


def _column(value: Number | None) -> Array:
    """A value of the joint as a column beside the bolts; 0 where not given."""
    return np.asarray(0.0 if value is None else value)[..., None]


def _torque_arm(joint: Joint, given: Tightening) -> Array | None:
    bolts = joint.bolts
    if given.nut_factor is not None:
        return tightening.torque_arm_from_nut_factor(given.nut_factor, bolts.diameter)
    if given.thread_friction is None or given.bearing_friction is None or given.bearing_diameter is None:
        return None
    return tightening.torque_arm_from_friction(
        bolts.pitch,
        bolts.diameter - PITCH_DIAMETER * bolts.pitch,
        _column(given.thread_friction),
        _column(given.bearing_friction),
        _column(given.bearing_diameter),
    )


def _within_strength(joint: Joint, greatest: Array, refuse: Refuse) -> None:
    strength = joint.bolts.tensile_strength
    if strength is None:
        return
    stress = greatest / joint.bolts.tensile_area

    found = joint.tightening is not None and joint.tightening.target_torque is not None

    def why(pulled: float, stands: float, place: float) -> str:
        bolt = joint.bolts.numbers[int(place)]
        if found:
            return (
                f"joint '{joint.name}': as found, bolt {bolt} would be pulled at {pulled / 1e6:.4g} MPa at the greatest preload, over its "
                f"tensile strength of {stands / 1e6:.4g} MPa: it would have broken. Torque or friction is not what was found, or the bolt is "
                f"stretched: correct them, or write it as one to be replaced, bolts / missing: [{bolt}] (and - for its torque)"
            )
        return (
            f"joint '{joint.name}': the greatest preload pulls a bolt at {pulled / 1e6:.4g} MPa, over its tensile strength of "
            f"{stands / 1e6:.4g} MPa: it would break while being tightened; check torque, nut factor and size"
        )

    broken = np.any(stress > np.asarray(strength)[..., None], axis=-1)
    refuse(broken, why, np.max(stress, axis=-1), strength, np.argmax(stress, axis=-1))


def preload_moment(joint: Joint, preload: Array) -> Array:
    """Moment of preloads (..., n) about the ring's center [N·m]: a missing or slack bolt presses the ring unevenly."""
    moments = np.sum(preload[..., None] * joint.bolts.xy, axis=-2)
    size: Array = np.hypot(moments[..., 0], moments[..., 1])
    return size


def joint_stiffnesses(joint: Joint) -> Stiffnesses | None:
    """Stiffness of bolts and face; None unless both are known."""
    bolts, ring = joint.bolts, joint.gasket
    each = bolts.stiffness
    if each is None and joint.grip is not None and joint.bolt_modulus is not None:
        grip = np.asarray(joint.grip)[..., None]
        threaded = grip if joint.thread_length_in_grip is None else np.asarray(joint.thread_length_in_grip)[..., None]
        each = stiffness.bolt_stiffness(
            grip, threaded, bolts.shank_area, bolts.tensile_area, np.asarray(joint.bolt_modulus)[..., None]
        )
    modulus = _face_modulus(joint)
    if each is None or ring is None or modulus is None:
        return None
    return Stiffnesses(np.where(joint.carrying, each, 0.0), Annulus(ring.inside, ring.outside), modulus)


def stiffness_wanting(joint: Joint) -> tuple[str, ...]:
    """What to supply so that the stiffnesses of bolts and face are known, by the file's keys; empty where they are."""
    bolts, ring = joint.bolts, joint.gasket
    wanted: list[tuple[str, object]] = []
    if ring is None or _face_modulus(joint) is None:
        pressed = (None, None) if ring is None else (ring.thickness, ring.modulus)
        wanted += [("gasket / thickness", pressed[0]), ("gasket / modulus", pressed[1])]
    if bolts.stiffness is None:
        wanted += [("grip", joint.grip), ("bolt_modulus", joint.bolt_modulus)]
    return tuple(words for words, value in wanted if value is None)


def _face_modulus(joint: Joint) -> Number | None:
    """Pressure per closing of the face [Pa/m]: the gasket's, else that of the metal clamped face to face."""
    ring, members, bolts = joint.gasket, joint.members, joint.bolts
    if ring is None:
        return None
    if ring.modulus is not None and ring.thickness is not None:
        return stiffness.face_modulus_of_gasket(ring.modulus, ring.thickness)
    if members is None or joint.grip is None:
        return None
    each = stiffness.member_stiffness(
        np.asarray(joint.grip)[..., None],
        bolts.diameter,
        np.asarray(members.face_diameter)[..., None],
        np.asarray(members.modulus)[..., None],
    )
    carrying = joint.carrying
    count = np.sum(carrying, axis=-1)
    mean = np.sum(np.where(carrying, each, 0.0), axis=-1) / count
    return stiffness.face_modulus_of_members(mean, count, stiffness.annulus_area(ring.inside, ring.outside))


def service(
    joint: Joint,
    clamped: Clamping,
    axial: Array,
    bending1: Array,
    bending2: Array,
    external: Array,
    refuse: Refuse = raise_at_once,
) -> Service:
    """What the bolts and the face of a tightened joint carry under an axial demand [N] (annulus included) and bending [N·m].

    ``external`` (..., n) [N] is the linear bolt group's external tension without the relief of an axial force that presses, for
    the bounds that need no stiffness: a stiff gasket takes all of such a force.
    """
    bound = np.where(joint.carrying, stiffness.greatest_tension_bound(clamped.greatest, external), 0.0)
    clamp_bound = stiffness.least_clamp_bound(np.sum(clamped.least, axis=-1), axial)
    stiff, assembled = clamped.stiff, clamped.assembled
    if stiff is None or assembled is None:
        return Service(bound, clamp_bound, external)

    def solve(preload: Array, tightened: contact.Assembled) -> contact.ContactResult:
        found = contact.solve_preloaded_joint(
            axial, bending1, bending2, joint.bolts.xy, stiff.bolts, preload, stiff.face, stiff.modulus, tightened
        )
        refuse(
            ~found.converged,
            f"joint '{joint.name}': bolts and gasket cannot hold the load together (no equilibrium); more bolts, a larger "
            "circle or a support is needed",
        )
        return found

    preloads = (clamped.least, clamped.mean, clamped.greatest)
    least, mean, greatest = (solve(preload, tightened) for preload, tightened in zip(preloads, assembled, strict=True))
    change = contact.closed_change(axial, bending1, bending2, joint.bolts.xy, stiff.bolts, stiff.face, stiff.modulus)
    return Service(
        tension_bound=bound,
        clamp_bound=clamp_bound,
        external_bound=external,
        tension_least=least.bolt_tension,
        tension=mean.bolt_tension,
        tension_greatest=greatest.bolt_tension,
        clamp=mean.clamp,
        clamp_least=least.clamp,
        pressure_min=mean.pressure_min,
        pressure_max=mean.pressure_max,
        pressure_min_least=least.pressure_min,
        pressure_max_greatest=greatest.pressure_max,
        lift_off=mean.lift_off,
        lift_off_least=least.lift_off,
        lift_off_use=_lift_off_use(assembled[0].closing, change, stiff.face),
        opens_toward=least.opens_toward,
        face_moment_least=_face_moment(joint, least.bolt_tension, bending1, bending2),
    )


def _face_moment(joint: Joint, tension: Array, bending1: Array, bending2: Array) -> Array:
    """Moment of the face's pressure about the joint's center [N·m], from the balance of bolts, face and load."""
    about = np.sum(tension[..., None] * joint.bolts.xy, axis=-2)
    return np.asarray(np.hypot(about[..., 0] - bending2, about[..., 1] + bending1))


def _lift_off_use(closing: Array, change: Array, face: Annulus) -> Array:
    """One over the load multiple at which the face first opens, from the field (..., 3) that closes it and the load's change.

    While closed, the face is pressed in by c = c₀ + λ Δ, both linear over it. The least over the rim, c at the center less R times
    its gradient, is zero at the smallest positive root of a quadratic in λ.
    """
    rim = np.asarray(face.reach())[..., None]
    start, change = (np.concatenate([each[..., :1], rim * each[..., 1:]], axis=-1) for each in (closing, change))
    # c² − |t|² as a quadratic in u = 1/λ: the face opens where start·u + change touches the cone c = |t|
    sign = np.array([1.0, -1.0, -1.0])
    a, b, c = ((sign * one * other).sum(axis=-1) for one, other in ((start, start), (start, change), (change, change)))
    closed = (a > 0.0) & (start[..., 0] > 0.0)
    root = (-b + np.sqrt(np.maximum(b * b - a * c, 0.0))) / np.where(closed, a, np.nan)
    return np.where(closed, np.maximum(root, 0.0), np.inf)
