"""Which way a fitting pushes at a joint, and how hard, for who stands there."""

from __future__ import annotations

import math

import numpy as np

from anchorsize.assessment import Assessment
from anchorsize.assessment.findings_beyond import WIDER, wider
from anchorsize.assessment.findings_support_data import COLUMN_PARTS, SUCTION_AFTER
from anchorsize.assessment.findings_surge import over_rating, unjudged_surge
from anchorsize.assessment.findings_throttled import narrowed
from anchorsize.assessment.findings_unanchored import fails_then, pulled_already
from anchorsize.present.boltup_words import both, short
from anchorsize.present.words import clock, joined
from anchorsize.studies.boltup import SLANT, BoltUp, Push
from anchorsize.units import figures, show

NO_SHARE = 1e-9  # of the whole load, up to which a share is rounding
SMALL_PART = 0.05  # of the push, under which a part of it is not told
HALF_HOUR = math.pi / 12.0
OTHERS, CASE = 5, 30  # cases told beside the worst one, and characters of their names
STEEP = 0.5  # of the axis along up, from which away from the pipe is said as up or down as well


def push_words(assessment: Assessment, plan: BoltUp) -> str:
    """Where the fitting wants to go at this joint, and how hard, in the case that pushes it most.

    Where others hold the fitting too, the joint's own share comes first, and of the whole load no direction is told: who stands at
    this joint would take it for what happens there.
    """
    push, system = plan.push, assessment.study.units
    if push.size == 0.0 and plan.share is None:
        return "Nothing pushes the fitting in the cases of the file."
    if plan.holders == (1, 0):
        return (
            f"Hardest in '{short(push.case)}': the fitting wants to move {_ways(assessment, plan, push)}, with "
            f"{both(push.size, 'force', system)}."
        )
    whole = (
        f"On {_held_by(plan)} together, so not on this joint alone: {both(push.size, 'force', system)} at most, in "
        f"'{short(push.case)}'."
    )
    if plan.share is None:
        return f"How much of the load this joint holds, and which way, is not known. {whole}"
    own = plan.share
    if own.size <= NO_SHARE * push.size:
        return f"This joint holds nothing in the cases of the file. {whole}"
    return (
        f"Hardest on this joint in '{short(own.case)}': its own share pushes the fitting {_ways(assessment, plan, own)}, with "
        f"{both(own.size, 'force', system)}{_opening(assessment, plan)}. {whole}"
    )


def other_pushes(assessment: Assessment, plan: BoltUp) -> str:
    """The push in every other case, in a line; empty where there is none, or where others hold the fitting with this joint."""
    others = [push for push in plan.pushes if push.case != plan.push.case]
    if not others or plan.holders != (1, 0):
        return ""
    system = assessment.study.units
    told = [
        f"'{short(push.case, CASE)}' {show(push.size, 'force', system)} {_ways(assessment, plan, push)}"
        if push.size > NO_SHARE * plan.push.size
        else f"'{short(push.case, CASE)}' nothing"
        for push in others[:OTHERS]
    ]
    rest = f"; {len(others) - OTHERS} more in the case file" if len(others) > OTHERS else ""
    return f"Otherwise: {'; '.join(told)}{rest}."


def end_words(assessment: Assessment, plan: BoltUp) -> list[str]:
    """The push, were the line beyond an opening a hose or not anchored; where others hold too, no direction."""
    system, now = assessment.study.units, {push.case: push.size for push in plan.pushes}
    told = []
    for end in plan.ends:
        ways = _ways(assessment, plan, end.then) if plan.holders == (1, 0) else f"on {_held_by(plan)} together"
        already = sum(pulled_already(assessment.study, end.then.case, each) for each in end.openings)
        at = joined([f"'{short(each, CASE)}'" for each in end.openings])
        lead = (
            f"If the line beyond {at} is a hose or not anchored"
            if len(end.openings) == 1
            else f"If the lines beyond {at} are hoses or not anchored, {'both' if len(end.openings) == 2 else 'all'} at once"
        )
        beside = (
            ""
            if already <= SMALL_PART * end.pull.size
            else f", beside the {show(already, 'force', system)} outward given there"
        )
        told.append(
            f"{lead}: {ways}, "
            f"{both(end.then.size, 'force', system)} in '{short(end.then.case, CASE)}', not {show(now[end.then.case], 'force', system)}{beside}."
        )
    return told


def jet_words(assessment: Assessment) -> str:
    """The thrust of a free jet, did the throttle of its case stand at the mouth; empty where no case has such a jet."""
    found = narrowed(assessment.study, assessment.option, assessment.cases)
    if found is None:
        return ""
    at, system = joined([f"'{short(end, CASE)}'" for end in found.ends]), assessment.study.units
    lead = f"If the throttle in '{short(found.case, CASE)}' is near the mouth of {at}, a narrow jet thrusts"
    if found.full is None:
        return f"{lead} many times as much, how much is not known."
    fails = "" if found.holds else ": what holds it may FAIL"
    return f"{lead} with up to {both(found.pull, 'force', system)}, not {show(found.full, 'force', system)}{fails}."


def bore_words(aim: Assessment) -> str:
    """What a bellows or a sliding coupling may add beyond an opening whose bore alone is counted, where a check then fails; else empty."""
    found = wider(aim.study, aim.option, aim.cases)
    if found is None:
        return ""
    more, then = found
    fails = fails_then({name: aim.cases[name] for name in then}, then)
    if not fails:
        return ""
    at = joined([f"'{short(end, CASE)}'" for end in more.ends])
    return (
        f"If a bellows or sliding coupling is beyond {at}, with {figures(WIDER, 2)} times the bore say: up to "
        f"{both(more.pull, 'force', aim.study.units)} more in '{short(more.case, CASE)}'.{fails} Ask the engineer before start."
    )


def surge_words(assessment: Assessment) -> str:
    """That no case has a surge, and what a valve that shuts too fast may do, or what comes after one that is judged; empty elsewhere."""
    if any(finding.kind == COLUMN_PARTS for finding in assessment.warnings):
        return "Not judged: after a surge the column of liquid can part, and strike harder as it rejoins. Open and shut valves slowly."
    if any(finding.kind == SUCTION_AFTER for finding in assessment.warnings):
        return "Not judged: after a surge the line can be under suction, which pulls the other way. Open and shut valves slowly."
    found = unjudged_surge(assessment.study, assessment.cases)
    if found is None:
        return ""
    over = "" if over_rating(assessment.study, assessment.cases, found) is None else ", OVER its rating"
    rise = show(found.rise, "pressure", assessment.study.units)
    return f"Not judged: a valve shut at once may add about {rise} at joint '{short(found.joint, CASE)}'{over}. Open and shut valves slowly."


def _opening(assessment: Assessment, plan: BoltUp) -> str:
    """Whether the joint is opened or pressed together where its own share is greatest: by that share, and by the pressure in its gasket.

    The share is the fitting's push alone; pressure between bore and gasket opens the joint beside it, and bending pulls at one side.
    """
    own = plan.share
    if own is None or abs(own.away) <= SMALL_PART * own.size:
        return ""
    if own.away > 0.0:
        return ": it pulls this joint open"
    joint, system = assessment.cases[own.case].joints[plan.joint.name], assessment.study.units
    demand = float(joint.axial_demand)
    if demand > 0.0:
        return (
            f", yet pressure on the gasket's ring opens this joint all the same, with {both(demand, 'force', system)}"
        )
    pulled = plan.joint.bolts.present & (joint.external_tension > 0.0)
    if np.any(pulled):
        return ": it presses this joint together, but tilts it open at one side"
    return ": it presses this joint together"


def _held_by(plan: BoltUp) -> str:
    """The joints and supports that hold the fitting, counted."""
    joints, supports = plan.holders
    several = f"all {joints} joints" if joints > 2 else "both joints" if joints == 2 else "this joint"
    if not supports:
        return several
    return f"{several} and {'the support' if supports == 1 else f'the {supports} supports'}"


def _ways(assessment: Assessment, plan: BoltUp, push: Push) -> str:
    """The directions of a push at the joint, the greatest part first."""
    steep = float(plan.axis @ assessment.study.up)
    with_up = "" if abs(steep) < STEEP else " (up)" if steep * push.away < 0.0 else " (down)"
    along = "" if abs(steep) < SLANT else " along the flange"
    parts = [
        (abs(push.away), f"{'AWAY from the pipe' if push.away > 0.0 else 'AGAINST the pipe'}{with_up}"),
        (abs(push.rise), f"{'UP' if push.rise > 0.0 else 'DOWN'}{along}"),
        (push.aside, f"SIDEWAYS toward {clock(_half_hour(push.aside_at))}"),
    ]
    told_of = [words for size, words in sorted(parts, reverse=True) if size > SMALL_PART * push.size]
    return " and ".join(filter(None, [", ".join(told_of[:-1]), told_of[-1]]))


def _half_hour(angle: float) -> float:
    """A direction to the nearest half hour of the clock, near enough for the eye."""
    return round(angle / HALF_HOUR) * HALF_HOUR
