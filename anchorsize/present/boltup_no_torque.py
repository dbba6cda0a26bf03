"""Why the installer's sheet gives no torque, and what its reader is to ask for."""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.findings_target import why_held_back
from anchorsize.present.boltup_passes import own_asked
from anchorsize.present.boltup_stays import where_it_stays
from anchorsize.present.boltup_words import numbered, short
from anchorsize.studies.boltup import BoltUp
from anchorsize.studies.repaired import why_stretched


def no_torque(plan: BoltUp) -> str:
    """Why the sheet gives no torque and what to supply; empty where it gives one."""
    if plan.lacking is None:
        return ""
    return " ".join(filter(None, [_why(plan), own_torque(plan)]))


def _why(plan: BoltUp) -> str:
    """The same without what bolts beside a gasket that stays ask for."""
    at = f"joints / {short(plan.joint.name)} / tightening"
    if plan.lacking == "as found":
        given = plan.joint.tightening
        what = "torques" if given is not None and given.torque is not None else "preloads"
        found = (
            f"gives the bolts different {what}"
            if given is not None and np.any(given.values)
            else "has no bolt tightened"
        )
        return (
            f"NO TARGET TORQUE: the file {found}, as found; say the torque to tighten to with {at} / "
            "target_torque. Do not tighten by feel on this sheet."
        )
    if plan.lacking == "held back":
        return (
            f"NO TORQUE IS GIVEN, and no repair is judged: {why_held_back(plan.joint)}. Do not tighten on this sheet."
        )
    if plan.lacking == "stretched":
        return (
            f"NO TORQUE IS GIVEN, and no repair is judged: {why_stretched(plan.joint)}. Do not tighten on this sheet."
        )
    if plan.lacking == "too strong":
        return (
            f"NO TORQUE IS GIVEN: the target torque of the file would pull a bolt over its tensile strength; correct {at} / "
            "target_torque, or the nut factor or friction."
        )
    if plan.lacking == "tightening":
        return (
            "NO TORQUE IS GIVEN: the case file says nothing of how this joint is tightened. Supply "
            f"{at}: torque or preload, with nut_factor (or thread_friction and bearing_friction), "
            "scatter and relaxation. Do not tighten by feel on this sheet."
        )
    return (
        "NO TORQUE IS GIVEN: the case file asks for a preload but links no torque to it. Supply "
        f"{at}: nut_factor, or thread_friction and bearing_friction with bearing_diameter; or "
        "measure the preload (stretch, load-indicating washers, hydraulic tensioner)."
    )


def own_torque(plan: BoltUp) -> str:
    """That bolts which go in beside nuts that stay tight get a torque of their own, on a sheet that gives none.

    Empty where none go in so, where the joint is taken apart, and where nothing is tightened by the sheet.
    """
    stays = plan if plan.gasket_stays else where_it_stays(plan)
    own = () if stays is None else own_asked(stays)
    if not own:
        return ""
    lead = "The gasket STAYS" if plan.gasket_stays else "If the gasket STAYS"
    theirs = "a torque of its OWN" if len(own) == 1 else "torques of their OWN"
    return f"{lead}: the engineer gives {numbered(own)} {theirs}, not that of the others, for new or cleaned threads turn easier."
