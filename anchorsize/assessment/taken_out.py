"""What becomes of a closed face as a bolt that was found loose is taken out to be looked at, without any load on the joint."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from anchorsize.assessment.clamping import clamping, preload_moment
from anchorsize.assessment.findings_preload import overstretched
from anchorsize.assessment.findings_target import mean_preload, new_threads_if_it_stays, only_loosened
from anchorsize.assessment.findings_tightening import far_looser
from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import StudyError
from anchorsize.mechanics import joint_checks
from anchorsize.study import Array, Joint


def parts_without(joint: Joint) -> tuple[int, ...]:
    """The bolts found far looser than the others with any one of which out the ring is no longer pressed all round.

    The rest as found, but the missing in and tightened, as :func:`missing_in` has them.

    By the mean preloads: their resultant lies outside the kern of the ring (compression with bending of a section, any
    strength-of-materials book). The weight of the fitting, which is held meanwhile, is left out, and so is what the other bolts
    gain or lose as one goes. None where the preloads or the ring are not known.
    """
    ring, looser = joint.gasket, tuple(far_looser(joint))
    if ring is None or not looser:
        return ()
    try:
        clamped = clamping(joint, Refused(()))
    except StudyError:
        return ()
    if clamped is None:
        return ()
    at = [joint.bolts.numbers.index(bolt) for bolt in looser]
    target = missing_in(joint)
    by_then = clamped.mean if target is None else np.where(joint.bolts.present, clamped.mean, target)
    left = np.where(np.arange(len(joint.bolts.numbers)) == np.array(at)[:, None], 0.0, by_then)
    off_center = preload_moment(joint, left) / np.sum(left, axis=-1)
    parts = off_center > joint_checks.kern_radius(ring.inside, ring.outside)
    return tuple(bolt for bolt, does in zip(looser, parts, strict=True) if does)


def missing_in(joint: Joint) -> Array | None:
    """Mean preload (n,) [N] that the missing bolts get, which go in before any other comes out; None where none is, or none is told.

    The target must be one that no tight nut is loosened for, and not one that new threads want a torque of their own beside: then the
    engineer has still to say how tight they are.
    """
    given, gone = joint.tightening, joint.bolts.missing
    if not gone or given is None or given.target_torque is None:
        return None
    if only_loosened(joint) or overstretched(joint) or set(gone) & set(new_threads_if_it_stays(joint)):
        return None
    whole = replace(joint.bolts, present=np.ones_like(joint.bolts.present))
    return mean_preload(replace(joint, bolts=whole), given.at_target)
