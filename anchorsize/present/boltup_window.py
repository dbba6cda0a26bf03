"""What the installer's sheet says of the tightening that would do, and of a target outside it."""

from __future__ import annotations

from anchorsize.assessment import Assessment
from anchorsize.present.boltup_words import both, listed, numbered, short
from anchorsize.present.further import any_lost_words, bound_words, no_lower_end, no_upper_end, not_counted_words
from anchorsize.studies.boltup import BoltUp
from anchorsize.studies.lost_bolt import any_lost
from anchorsize.studies.repaired import Repair
from anchorsize.studies.torque import WANT_LESS, WANT_MORE, TighteningWindow, window
from anchorsize.study import Study
from anchorsize.units import System


def aimed_at(assessment: Assessment, found: Repair | None) -> Assessment:
    """The state that the sheet leads to: the joint once repaired, where something wants repair and it can be judged; else as it is."""
    return assessment if found is None or found.assessment is None else found.assessment


def sheet_window(plan: BoltUp, aim: Assessment) -> TighteningWindow | None:
    """The tightening that would do for the joint that the sheet leads to; None where nobody aims at any."""
    return None if plan.preload is None else window(aim.study, plan.joint.name, aim.cases)


def window_fact(found: TighteningWindow, study: Study, repaired: bool) -> tuple[str, str]:
    """Which torque, or preload, makes every check hold that it decides, as a name and words."""
    system, whole = study.units, not study.joints[found.joint].bolts.missing
    value, kind = (found.preload, "force") if found.torque is None else (found.torque, "moment")
    name = f"{'Preload' if found.torque is None else 'Torque'} window"
    above = short(found.greatest_by or "tensile strength of the bolts")
    if not found.exists:
        return name, f"none: {short(found.least_by or 'nothing')} wants more than {above} allows{bound_words(found)}"
    least, greatest = (both(value * end, kind, system) for end in (found.least, found.greatest))
    counted = f"for the checks that preload decides{' with every bolt in' if whole else ''}, scatter and loss counted"
    if repaired:
        counted += ", once repaired"
    if found.evened:
        counted += "; the same on every bolt of a size"
    if found.given[0] != found.given[1] and not found.evened:
        counted += "; for the bolts with the greatest torque, the others in proportion"
    if found.not_counted and not found.unsealed:
        counted += f"; {not_counted_words(found)}"
    if found.unsealed:
        upper = no_upper_end(found) if found.not_bounded else f"up to {greatest} (above: {above})"
        return name, f"{no_lower_end(found)}; {upper}; {counted}"
    if found.not_bounded:
        from_least = f"from {least} (below: {short(found.least_by)}); " if found.least_by else ""
        return name, f"{from_least}{no_upper_end(found)}; {counted}"
    if found.least_by is None:
        return name, f"up to {greatest} (above: {above}); {counted}"
    return name, f"{least} to {greatest} (below: {short(found.least_by)}; above: {above}); {counted}"


def outside_words(plan: BoltUp, found: TighteningWindow | None, system: System) -> str:
    """That the torques of the sheet do not hold, and which would; empty where they do, or where the sheet gives none."""
    if found is None or found.serves or found.torque is None or not plan.groups:
        return ""
    if not found.exists:
        why = f"no torque does, for {short(found.least_by or 'nothing')} wants more than {short(found.greatest_by or 'the bolts')} allows{bound_words(found)}"
    elif found.least > 1.0:
        why = f"at least {both(found.torque * found.least, 'moment', system)} is wanted, by {short(found.least_by or 'nothing')}"
    else:
        why = f"at most {both(found.torque * found.greatest, 'moment', system)} is allowed, by {short(found.greatest_by or 'the bolts')}"
    return f"THESE TORQUES DO NOT HOLD: {why}. Do not use them before the engineer has changed the target."


def as_it_is_words(plan: BoltUp, today: Assessment) -> str:
    """How to tighten the joint without its missing bolts, or that no torque makes it hold so; empty where none is missing."""
    gone = plan.joint.bolts.missing
    if not gone:
        return ""
    found, name = sheet_window(plan, today), plan.joint.name
    beyond = [
        check
        for case in today.cases.values()
        for check in case.checks
        if check.where == name and not check.holds and check.check not in WANT_MORE | WANT_LESS
    ]
    if beyond:
        return f"NOT to be tightened without {numbered(gone)}: {beyond[0].words} fails then, whatever the torque."
    if found is not None and not found.exists:
        return f"NOT to be tightened without {numbered(gone)}: no torque holds then{bound_words(found)}."
    return f"Tightened without {numbered(gone)} ONLY where the engineer says so: same steps, same order, {listed(gone)} left out."


def lost_fact(aim: Assessment, joint: str) -> list[tuple[str, str]]:
    """What comes of one more bolt that lets go, where the joint can be judged."""
    losses = any_lost(aim, [joint])
    return [("If a bolt is lost", any_lost_words(losses))] if losses else []
