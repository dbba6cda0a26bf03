"""What tightening alone does to the bolts: beside the allowable of bolt tension, which counts only what the loads add, and with its twist."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from anchorsize.assessment.asking import in_force
from anchorsize.assessment.clamping import PITCH_DIAMETER, clamping
from anchorsize.assessment.findings_target import held_back
from anchorsize.assessment.findings_tightening import as_found, numbered
from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import Finding
from anchorsize.mechanics import tightening
from anchorsize.study import Allowable, Array, Joint, Number, Study
from anchorsize.units import System, show

PRELOAD_OVER_TENSION = "preload over the bolt tension allowable"
TWIST = "twist of tightening"
SCATTER_LEFT_OUT = "scatter left out"
RELAXATION_LEFT_OUT = "relaxation left out"
OF_YIELD = 0.9  # share of yield that pull and twist together are kept to while tightening: VDI 2230 Part 1, from memory
_TARGET = "of the target"
THREAD_SHARE = 0.5  # of the torque, where only a nut factor is given: common practice, no source


@dataclass(frozen=True)
class Pulled:
    """The greatest preload of any bolt beside the least ``allowed`` bolt tension of any case, both in ``unit``."""

    greatest: float
    allowed: float
    unit: Literal["Pa", "N"]

    @property
    def over(self) -> bool:
        """Whether tightening alone pulls a bolt further than the allowable has for the loads."""
        return self.greatest > self.allowed

    def shown(self, system: System) -> tuple[str, str]:
        """Both as text."""
        kind = "force" if self.unit == "N" else "stress"
        return show(self.greatest, kind, system), show(self.allowed, kind, system)


def pulled(study: Study, joint: Joint, greatest: Array) -> Pulled | None:
    """The ``greatest`` preloads (n,) [N] beside the allowable of bolt tension; None where no case has one."""
    given = [in_force(study, joint, case).bolt_tension for case in study.cases.values()]
    found = [_beside(joint, greatest, allowable) for allowable in given if allowable is not None]
    return max(found, key=lambda each: each.greatest / each.allowed, default=None)


def _beside(joint: Joint, greatest: Array, allowable: Allowable) -> Pulled:
    force = allowable.unit == "N"
    each = greatest if force else greatest / joint.bolts.tensile_area
    return Pulled(float(np.max(each)), float(np.min(allowable.value)), "N" if force else "Pa")


def notice_preload(study: Study) -> tuple[Finding, ...]:
    """Joints whose scatter or loss is not known, and whose tightening, as given or as aimed at, pulls a bolt over the allowable of bolt
    tension, or twists it: told, not judged.

    Codes set such allowables for loads, and tightening may exceed them (common practice, no source).
    """
    return tuple(
        finding
        for joint in study.joints.values()
        for made in (_left_out, _over, _twisted)
        for finding in made(study, joint)
    )


def _left_out(_: Study, joint: Joint) -> list[Finding]:
    """That nothing is counted for how far the preload is off, or for what of it is lost after tightening."""
    given = joint.tightening
    if given is None or not _states(joint):
        return []
    lost = "no loss of preload after tightening is counted, though gaskets creep, soft ones most: give tightening / relaxation"
    if given.scatter is not None:
        return (
            []
            if given.relaxation is not None
            else [Finding(RELAXATION_LEFT_OUT, None, f"Joint '{joint.name}': no relaxation given; {lost}.")]
        )
    also = "" if given.relaxation is not None else f" Nor is a relaxation given: {lost}."
    exactly = "its torque makes of it" if given.preload is None else "it is given"
    return [
        Finding(
            SCATTER_LEFT_OUT,
            None,
            f"Joint '{joint.name}': NO SCATTER given, so each bolt counts as pulled to exactly what {exactly}. Torque wrenches are off by "
            f"some 25 to 35 %, other methods by less (table tightening_scatter): give tightening / scatter, or method.{also}",
        )
    ]


def _states(joint: Joint) -> dict[str, Joint]:
    """The joint as tightened and as aimed at, as far as a preload is known, by what its torques are called."""
    given = joint.tightening
    if given is None:
        return {}
    states = {"given" if given.target_torque is None else "as found": joint}
    if given.target_torque is not None:  # which a bolt that is missing gets as well, once it is in
        every = replace(joint.bolts, present=np.ones_like(joint.bolts.present))
        states[_TARGET] = replace(joint, bolts=every, tightening=given.at_target)
    return {
        name: state
        for name, state in states.items()
        if (each := state.tightening) is not None and (each.torque is None or each.links_torque)
    }


def _to_come(joint: Joint) -> dict[str, Joint]:
    """The states of the joint without a target that no bolt is to be tightened to."""
    given_up = {_TARGET} if held_back(joint) else set()
    return {name: state for name, state in _states(joint).items() if name not in given_up}


def _to_go(joint: Joint, gone: tuple[int, ...]) -> str:
    """That bolts over yield must go; beside a gasket that stays nobody takes them out before the engineer has said how."""
    if joint.gasket_stays:
        return f"{numbered(gone).capitalize()} to be REPLACED, nut too, over yield for good: the engineer says how, since the gasket stays."
    return f"REPLACE {numbered(gone)}, nut too: over yield for good."


def _twisted(study: Study, joint: Joint) -> list[Finding]:
    """Bolts that pull and twist together bring near yield while they are tightened; by pull alone they may still be under proof."""
    told = []
    for name, state in _to_come(joint).items():
        share, stress = twisted(state), twisted_stress(state)
        if share <= OF_YIELD:
            continue
        was = "brought" if name == "as found" else "brings"
        near = _over_share(state, OF_YIELD)
        which = "every bolt" if len(near) == int(np.sum(joint.bolts.present)) else numbered(near)
        upto = " to up to" if len(near) > 1 else " to"
        end = "Less torque or less scatter keeps it from stretching."
        if name == "as found":
            gone = overstretched(joint)
            end = _to_go(joint, gone) if gone else "It may be stretched."
        told.append(
            Finding(
                TWIST,
                None,
                f"Joint '{joint.name}': the torque {name} {was} {which}{upto} {show(stress, 'stress', study.units)} by pull and twist together, at the "
                f"greatest preload: {share:.0%} of its yield strength (VDI 2230 keeps to {OF_YIELD:.0%}, from memory). Bolt proof counts the "
                f"pull alone. {end}",
            )
        )
    return told


def twisted(joint: Joint) -> float:
    """The greatest share of its yield strength to which tightening brings a bolt by pull and twist, in proportion to the torque.

    0 where yield strength or torque is not known, or where it would break a bolt.
    """
    strength = joint.bolts.yield_strength
    return 0.0 if strength is None else twisted_stress(joint) / float(np.min(strength))


def twisted_stress(joint: Joint) -> float:
    """The greatest stress of any bolt from pull and twist [Pa]; 0 where no torque is known, or where it would break a bolt."""
    return float(np.max(_twisted_stresses(joint)))


def overstretched(joint: Joint) -> tuple[int, ...]:
    """The bolts that the torque found brought over yield by pull and twist, at the greatest preload: stretched, however sound they look."""
    return _over_share(joint, 1.0) if as_found(joint) else ()


def _over_share(joint: Joint, share: float) -> tuple[int, ...]:
    """The bolts that pull and twist bring over a share of their yield strength; none where that is not known."""
    strength = joint.bolts.yield_strength
    if strength is None:
        return ()
    over = _twisted_stresses(joint) > share * float(np.min(strength))
    return tuple(number for number, is_over in zip(joint.bolts.numbers, over, strict=True) if is_over)


def _twisted_stresses(joint: Joint) -> Array:
    """Stress of each bolt (n,) [Pa] from pull and twist at the greatest preload; 0 as :func:`twisted_stress` says."""
    refused, none = Refused(()), np.zeros(len(joint.bolts.numbers))
    clamped = clamping(replace(joint, gasket=None), refused)
    given = joint.tightening
    if clamped is None or refused.reasons or given is None:
        return none
    torque, arm, bolts = clamped.torque_wanted, clamped.torque_arm, joint.bolts
    if torque is None or arm is None:
        return none
    share: Number = THREAD_SHARE
    if given.nut_factor is None and given.thread_friction is not None:
        middle = bolts.diameter - PITCH_DIAMETER * bolts.pitch
        share = tightening.thread_share(bolts.pitch, middle, np.asarray(given.thread_friction)[..., None], arm)
    stress = tightening.twisted_stress(clamped.greatest, np.asarray(torque) * share, bolts.tensile_area)
    return np.where(joint.carrying, stress, 0.0)


def _over(study: Study, joint: Joint) -> list[Finding]:
    found = [each for state in _to_come(joint).values() if (each := _pulled_by(study, state)) is not None]
    most = max(found, key=lambda each: each.greatest / each.allowed, default=None)
    if most is None or not most.over:
        return []
    greatest, allowed = most.shown(study.units)
    return [
        Finding(
            PRELOAD_OVER_TENSION,
            None,
            f"Joint '{joint.name}': tightening alone pulls a bolt to {greatest} at the greatest preload, over allow / bolt_tension, "
            f"{allowed}. That allowable is compared with what the loads add, not with the tightening: make sure that it is not meant for both.",
        )
    ]


def _pulled_by(study: Study, joint: Joint) -> Pulled | None:
    """That of a joint as it is tightened; None also where the tightening would break a bolt, which is told elsewhere."""
    refused = Refused(())
    clamped = clamping(joint, refused)
    return None if clamped is None or refused.reasons else pulled(study, joint, clamped.greatest)
