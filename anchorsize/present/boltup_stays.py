"""The installer's sheet where nobody says whether the gasket stays: the same joint, were it to stay closed on the gasket in it."""

from __future__ import annotations

from dataclasses import replace

from anchorsize.assessment.findings_preload import overstretched
from anchorsize.assessment.findings_target import only_loosened
from anchorsize.present.boltup_words import numbered
from anchorsize.studies.boltup import BoltUp, Lacking
from anchorsize.study import Joint


def where_it_stays(plan: BoltUp) -> BoltUp | None:
    """The plan of the joint with its gasket in place, as the case file would have it with that condition; None where the file says."""
    if not plan.gasket_not_said:
        return None
    was = plan.was
    lacking: Lacking | None = "stretched" if overstretched(was) else "held back" if only_loosened(was) else plan.lacking
    return replace(
        plan,
        joint=_closed(plan.joint),
        before=None if plan.before is None else _closed(plan.before),
        groups=plan.groups if lacking == plan.lacking else (),
        lacking=lacking,
    )


def _closed(joint: Joint) -> Joint:
    ring = joint.gasket
    return joint if ring is None else replace(joint, gasket=replace(ring, condition="in_place"))


def not_for_words(plan: BoltUp) -> str:
    """Which bolts the torque of the sheet is not for, beside every torque; empty where it is for all, whatever becomes of the gasket."""
    if plan.not_for:
        return f"NOT for {numbered(plan.not_for)}"
    stays = where_it_stays(plan)
    if stays is not None and plan.groups and stays.asks_engineer:
        return "NOT if the gasket STAYS"
    return f"NOT for {numbered(stays.not_for)} if the gasket STAYS" if stays is not None and stays.not_for else ""
