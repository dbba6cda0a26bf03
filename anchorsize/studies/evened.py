"""A joint tightened as its tightening window has it: every bolt of a size alike, or each at its target."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from anchorsize.assessment.findings_target import held_back
from anchorsize.studies.boltup import ALIKE
from anchorsize.studies.window_threads import bearable_target, counted_from_target, on_other_threads
from anchorsize.study import Array, Joint, Study, Tightening


def with_even_tightening(study: Study, joint: str) -> Study:
    """The study with one joint tightened as :func:`evenly_tightened` says."""
    return replace(study, joints={**study.joints, joint: evenly_tightened(study.joints[joint])})


def evenly_tightened(joint: Joint) -> Joint:
    """The joint with the greatest tightening of each bolt size on all bolts of it, with the friction that a target would have.

    Where that friction is not the one found, or the bolts of a size have different friction, each gets its target. Itself where that is
    so already, and where the gasket stays and bolts get to the target only by being loosened: their threads stay as they are.
    """
    given, there, count = joint.tightening, joint.bolts.present, len(joint.bolts.numbers)
    values = None if given is None else given.values
    if given is None or values is None or held_back(joint):
        return joint
    anew = given.with_target_friction
    kinds = anew.kinds(joint.bolts.sizes)
    if given.target_torque is not None and counted_from_target(joint):
        # what was found on other threads is no measure: the target of each bolt is
        target = bearable_target(joint, anew, given.target_torque)
        return replace(joint, tightening=replace(anew, torque=target, preload=None))
    each = np.broadcast_to(values, count)
    same = np.array([[own == kind for own in kinds] for kind in kinds])
    even = np.array([np.max(each[row & there], initial=0.0) for row in same])
    # a window tells what to tighten to: on the threads as they will be, not as they were found
    if np.allclose(each[there], even[there], rtol=ALIKE, atol=0.0) and not on_other_threads(joint):
        return joint
    return replace(joint, tightening=retightened(anew, even))


def retightened(given: Tightening, values: Array) -> Tightening:
    """The tightening with other values (n,) of what it controls: torque [N·m] or preload [N]."""
    return replace(given, preload=values) if given.torque is None else replace(given, torque=values)


def kinds_there(joint: Joint) -> set[tuple[str, float]]:
    """The sizes and nut factors of the bolts that are there."""
    given, bolts = joint.tightening, joint.bolts
    each = () if given is None else given.kinds(bolts.sizes)
    return {kind for kind, there in zip(each, bolts.present, strict=True) if there}


def uneven(joint: Joint) -> bool:
    """Whether bolts of one size and friction that are there are tightened differently."""
    given, bolts = joint.tightening, joint.bolts
    values = None if given is None else given.values
    if given is None or values is None:
        return False
    each, kinds = np.broadcast_to(values, len(bolts.numbers)), given.kinds(bolts.sizes)
    alike = [each[bolts.present & np.array([own == kind for own in kinds])] for kind in kinds_there(joint)]
    return any(np.ptp(same) > ALIKE * np.max(same) for same in alike)
