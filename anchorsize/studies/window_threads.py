"""On which threads a tightening window is: those of the target, where they are not those that the bolts were found tightened on."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from anchorsize.assessment.clamping import clamping
from anchorsize.assessment.findings_target import nut_factors
from anchorsize.assessment.refusing import Refused
from anchorsize.study import Array, Joint, Tightening

ALIKE = 1e-9  # relative difference of nut factors or scatters up to which it is rounding
BEARABLE = 0.5  # of the tensile strength, to which a target over it is brought down to count its multiples from


@dataclass(frozen=True)
class Threads:
    """What a tightening counts on: nut factors [-] with the bolts of each, None where nothing links a torque, and the scatter ± [-]."""

    factors: tuple[tuple[float | None, tuple[int, ...]], ...]
    scatter: float | None


def threads(joint: Joint, given: Tightening) -> Threads:
    """The threads of the bolts that are there, with the friction and scatter of a tightening; for a study of one row."""
    known = nut_factors(joint, given)
    each = [None] * len(joint.bolts.numbers) if known is None else known.tolist()
    found: dict[float | None, list[int]] = {}
    for number, factor, there in zip(joint.bolts.numbers, each, joint.bolts.present, strict=True):
        if there:
            found.setdefault(factor, []).append(number)
    factors = tuple((factor, tuple(bolts)) for factor, bolts in found.items())
    return Threads(factors, None if given.scatter is None else float(given.scatter))


def on_other_friction(joint: Joint) -> bool:
    """Whether the target counts on another friction of bolts that are there than they were found tightened on."""
    given = joint.tightening
    if given is None or given.target_nut_factor is None:
        return False
    found, anew = nut_factors(joint, given), nut_factors(joint, given.with_target_friction)
    if found is None or anew is None:
        return True
    there = joint.bolts.present
    return not np.allclose(found[there], anew[there], rtol=ALIKE, atol=0.0)


def with_other_scatter(joint: Joint) -> bool:
    """Whether the target counts on another scatter than the tightening found."""
    given = joint.tightening
    if given is None or given.target_scatter is None:
        return False
    return not np.allclose(given.target_scatter, given.scatter or 0.0, rtol=ALIKE, atol=ALIKE)


def found_threads(joint: Joint) -> Threads | None:
    """The threads that the bolts were found tightened on; None where a window is on the same."""
    given = joint.tightening
    return threads(joint, given) if given is not None and on_other_threads(joint) else None


def on_other_threads(joint: Joint) -> bool:
    """Whether what the bolts were found tightened to is no measure for a window, for its friction or scatter is another."""
    return on_other_friction(joint) or with_other_scatter(joint)


def counted_from_target(joint: Joint) -> bool:
    """Whether a window is counted in multiples of the target of each bolt, for what was found is no measure for them.

    So it is on other threads, and where bolts of one size have different friction.
    """
    given = joint.tightening
    if given is None or given.target_torque is None or not given.with_target_friction.links_torque:
        return False
    kinds = given.with_target_friction.kinds(joint.bolts.sizes)
    return len(set(kinds)) > len(set(joint.bolts.sizes)) or on_other_threads(joint)


def bearable_target(joint: Joint, anew: Tightening, target: Array) -> Array:
    """The target torques (n,) [N·m], all brought down alike where they would pull a bolt over its tensile strength."""
    each = np.broadcast_to(target, len(joint.bolts.numbers)).astype(np.float64)
    bolts, refused = joint.bolts, Refused(())
    clamped = clamping(replace(joint, tightening=replace(anew, torque=each, preload=None), gasket=None), refused)
    if not refused.reasons or clamped is None or bolts.tensile_strength is None:
        return each
    strength = np.asarray(bolts.tensile_strength)[..., None] * bolts.tensile_area
    return each * (BEARABLE / float(np.max(clamped.greatest / strength)))


def friction_of_its_own(joint: Joint) -> bool:
    """Whether the file gives a friction or a scatter for the target."""
    given = joint.tightening
    return given is not None and (given.target_nut_factor is not None or given.target_scatter is not None)


def target_there(joint: Joint) -> tuple[float, float] | None:
    """The least and the greatest target torque of the bolts that are there [N·m]."""
    target = None if joint.tightening is None else joint.tightening.target_torque
    if target is None:
        return None
    each = np.broadcast_to(target, len(joint.bolts.numbers))[joint.bolts.present]
    return float(np.min(each)), float(np.max(each))
