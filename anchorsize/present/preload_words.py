"""What the preload of a joint comes to beside the strength of its bolts and beside the allowable of bolt tension."""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.findings_preload import pulled
from anchorsize.study import Array, Joint, Study

ALLOWED_TENSION = "Bolt-tension allowable"


def beside_allowable(study: Study, joint: Joint, preload: tuple[Array, Array, Array]) -> list[tuple[str, str]]:
    """That the allowable of bolt tension does not count the tightening, what that pulls, and what checks it; empty without one."""
    found = pulled(study, joint, preload[2])
    if found is None:
        return []
    greatest, allowed = found.shown(study.units)
    share, given = proof_share(joint, preload), joint.tightening
    once = " once repaired" if given is not None and given.target_torque is not None else ""
    if share is not None:
        checked = f"{share[0]:.0%} of {share[1]}, checked as bolt proof{once}"
    elif joint.bolts.property_class is None:
        checked = "NOT CHECKED against the bolt's strength: supply bolts / class"
    else:
        checked = f"NOT CHECKED against proof, class {joint.bolts.property_class} has none; only against breaking"
    return [
        (
            ALLOWED_TENSION,
            f"{allowed}, for what the loads add, NOT for the tightening; that alone pulls up to {greatest} ({checked})",
        )
    ]


def proof_share(joint: Joint, preload: tuple[Array, Array, Array]) -> tuple[float, str] | None:
    """What share of the strength of its bolt the greatest preload reaches, and which strength; None where none is known."""
    bolts = joint.bolts
    strength, name = bolts.proof_strength, "proof strength"
    if strength is None:
        strength, name = bolts.yield_strength, "yield strength"
    if strength is None:
        return None
    share = preload[2] / (np.asarray(strength)[..., None] * bolts.tensile_area)
    return float(np.max(share)), name
