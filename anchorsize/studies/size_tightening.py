"""A candidate, and the tightening that goes with it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from anchorsize.assessment import StudyError
from anchorsize.assessment.clamping import clamping
from anchorsize.assessment.refusing import Refused
from anchorsize.studies.size_flange import MisfitError
from anchorsize.study import Array, Joint, Tightening
from anchorsize.units import System, convert, to_si


@dataclass(frozen=True)
class Candidate:
    """One choice: ``circle`` [m]; one of ``torque`` [N·m] and ``preload_share`` [-], or neither for the file's tightening.

    ``flange`` is the standard flange that brings the drilling, None for the flange of the file.
    """

    count: int
    size: str
    circle: float
    bolt_class: str | None
    torque: float | None = None
    preload_share: float | None = None
    flange: str | None = None


def without_gasket(joint: Joint) -> Joint:
    """The joint for its preloads alone, so that nothing is prepared for the face."""
    return replace(joint, gasket=None)


def tightening_of(fitted: Joint, joint: Joint, candidate: Candidate, system: System) -> Tightening | None:
    """The tightening of a candidate; a share of proof becomes a torque where friction is known.

    Either has four figures in the unit that the system shows, for that is what is set on a wrench.
    """
    given, count, bolts = _of_one_friction(joint), candidate.count, fitted.bolts
    strength = bolts.yield_strength if bolts.proof_strength is None else bolts.proof_strength
    tightened = given is not None or candidate.torque is not None or candidate.preload_share is not None
    if tightened and strength is None and bolts.property_class is not None:
        raise MisfitError(
            f"class {bolts.property_class} has neither proof nor yield strength, so nothing says how far it may be tightened"
        )
    if candidate.torque is not None:
        return replace(given or Tightening(), torque=np.full(count, candidate.torque), preload=None)
    if candidate.preload_share is None:
        return (
            None
            if given is None
            else replace(given, torque=_alike(joint, given.torque, count), preload=_alike(joint, given.preload, count))
        )
    if strength is None:
        raise StudyError(f"joint '{joint.name}': a preload as a share of proof needs the class of the bolts")
    preload = np.full(count, candidate.preload_share * float(strength) * float(bolts.tensile_area[0]))
    wanted = replace(given or Tightening(), torque=None, preload=preload)
    clamped = clamping(without_gasket(replace(fitted, tightening=wanted)), Refused(()))
    if clamped is None or clamped.torque_arm is None:
        return replace(wanted, preload=np.full(count, _four(preload[0], "force", system)))
    return replace(
        wanted, torque=np.full(count, _four(preload[0] * clamped.torque_arm[0], "moment", system)), preload=None
    )


def _of_one_friction(joint: Joint) -> Tightening | None:
    """The tightening of a joint, for any number of bolts; a nut factor of each bolt belongs to the bolts that are there."""
    given = joint.tightening
    factors = (
        [] if given is None else [each for each in (given.nut_factor, given.target_nut_factor) if each is not None]
    )
    if any(np.ptp(factor) > 0.0 for factor in factors):
        raise StudyError(
            f"joint '{joint.name}': its nut factor differs from bolt to bolt; give one for all to choose bolts with"
        )
    if given is None:
        return None
    nut_factor, target = (
        None if each is None else np.asarray(each)[..., :1] for each in (given.nut_factor, given.target_nut_factor)
    )
    return replace(given, nut_factor=nut_factor, target_nut_factor=target)


def _four(value: float, kind: str, system: System) -> float:
    number, unit = convert(float(value), kind, system)
    return to_si(float(f"{number:.4g}"), unit, kind)


def _alike(joint: Joint, values: Array | None, count: int) -> Array | None:
    if values is None:
        return None
    there = values[..., joint.bolts.present]
    if np.ptp(there) > 0.0:
        raise StudyError(
            f"joint '{joint.name}': its tightening differs from bolt to bolt; name torques or preload shares to choose from"
        )
    return np.full(count, there[0])
