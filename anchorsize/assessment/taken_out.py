"""What becomes of a closed face as a bolt that was found loose is taken out to be looked at, without any load on the joint."""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.clamping import clamping, preload_moment
from anchorsize.assessment.findings_tightening import far_looser
from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import StudyError
from anchorsize.mechanics import joint_checks
from anchorsize.study import Joint


def parts_without(joint: Joint) -> tuple[int, ...]:
    """The bolts found far looser than the others with any one of which out the ring is no longer pressed all round, the rest as found.

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
    left = np.where(np.arange(len(joint.bolts.numbers)) == np.array(at)[:, None], 0.0, clamped.mean)
    off_center = preload_moment(joint, left) / np.sum(left, axis=-1)
    parts = off_center > joint_checks.kern_radius(ring.inside, ring.outside)
    return tuple(bolt for bolt, does in zip(looser, parts, strict=True) if does)
