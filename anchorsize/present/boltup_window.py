"""What the installer's sheet says of the tightening that would do, and of a target outside it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from anchorsize.assessment import Assessment
from anchorsize.assessment.results import Check
from anchorsize.assessment.statements import WHOSE_SPACING_RULE
from anchorsize.present.boltup_words import both, listed, numbered, short
from anchorsize.present.losses import gap_alone, lost_verdict
from anchorsize.present.window_words import counted_words, threads_words, twist_words
from anchorsize.present.windows import bound_words, no_lower_end, no_upper_end, not_counted_words
from anchorsize.present.words import joined, use_words, when
from anchorsize.studies.boltup import BoltUp
from anchorsize.studies.lost_bolt import KEPT, LostBolt, any_lost
from anchorsize.studies.lost_window import lost_windows
from anchorsize.studies.repaired import Repair, every_bolt_in
from anchorsize.studies.torque import WANT_LESS, WANT_MORE, TighteningWindow, window
from anchorsize.study import Study
from anchorsize.units import System


def aimed_at(assessment: Assessment, found: Repair | None) -> Assessment:
    """The state that the sheet leads to: the joint once repaired, where something wants repair and it can be judged; else as it is."""
    return assessment if found is None or found.assessment is None else found.assessment


@lru_cache(maxsize=KEPT)
def sheet_window(plan: BoltUp, aim: Assessment) -> TighteningWindow | None:
    """The tightening that would do for the joint that the sheet leads to; None where nobody aims at any."""
    return None if plan.preload is None else window(aim.study, plan.joint.name, aim.cases, aim.option)


def window_fact(found: TighteningWindow, study: Study, repaired: bool) -> tuple[str, str]:
    """Which torque, or preload, makes every check hold that it decides, as a name and words."""
    whole = not study.joints[found.joint].bolts.missing
    name, between = f"{_tightened(found).capitalize()} window", _between(found, study.units)
    if not found.exists:
        return name, between
    counted = f"for the checks that preload decides{' with every bolt in' if whole else ''}, {counted_words(found, 'counted')}"
    if repaired:
        counted += ", once repaired"
    counted += threads_words(found, found)
    if found.evened and found.frictions == 1 and not found.uneven:
        counted += "; the same on every bolt of a size"
    if found.frictions > 1 or found.uneven or (found.given[0] != found.given[1] and not found.evened):
        counted += "; for the bolts with the greatest torque, the others in proportion"
    if found.not_for:
        counted += f"; NOT for {numbered(found.not_for)}"
    if found.not_counted and not found.unsealed:
        counted += f"; {not_counted_words(found)}"
    return name, f"{between}; {counted}"


def _tightened(found: TighteningWindow) -> str:
    """What of a bolt the window is about."""
    return "preload" if found.torque is None else "torque"


def _between(found: TighteningWindow, system: System, known: bool = False) -> str:
    """Both ends of a window with the check that sets each, or why there is none; ``known`` where its lower end is told already."""
    value, kind = (found.preload, "force") if found.torque is None else (found.torque, "moment")
    above = short(found.greatest_by or "tensile strength of the bolts")
    if found.refused:
        return f"none: {found.refused}"
    if not found.exists:
        return f"none: {short(found.least_by or 'nothing')} wants more than {above} allows{bound_words(found)}"
    twist = twist_words(found, both, system)
    least, greatest = (both(value * end, kind, system) for end in (found.least, found.greatest))
    if found.unsealed:
        upper = (
            f"{no_upper_end(found, greatest)}{twist}"
            if found.not_bounded
            else f"up to {greatest} (above: {above}){twist}"
        )
        return f"{'lower end not known either' if known else no_lower_end(found)}; {upper}"
    if found.not_bounded:
        from_least = f"from {least} (below: {short(found.least_by)}); " if found.least_by else ""
        return f"{from_least}{no_upper_end(found, greatest)}{twist}"
    if found.least_by is None:
        return f"up to {greatest} (above: {above}){twist}"
    return f"{least} to {greatest} (below: {short(found.least_by)}; above: {above}){twist}"


def outside_words(plan: BoltUp, aim: Assessment) -> str:
    """That the torques of the sheet do not hold, and which would, with what none mends; empty where they do, or the sheet gives none."""
    found, system = sheet_window(plan, aim), aim.study.units
    if found is None or found.serves or found.torque is None or not plan.groups:
        return ""
    if not found.exists:
        why = f"no torque does, for {short(found.least_by or 'nothing')} wants more than {short(found.greatest_by or 'the bolts')} allows{bound_words(found)}"
    elif found.least > found.aimed:
        why = f"at least {both(found.torque * found.least, 'moment', system)} is wanted, by {short(found.least_by or 'nothing')}"
    else:
        why = f"at most {both(found.torque * found.greatest, 'moment', system)} is allowed, by {short(found.greatest_by or 'the bolts')}"
    return f"THESE TORQUES DO NOT HOLD: {why}.{_whatever_the_torque(aim, plan.joint.name)} Do not use them before the engineer has changed the target."


def _whatever_the_torque(aim: Assessment, joint: str) -> str:
    """What of a joint fails at any torque, the worst with its case: who raises a target would else think that it mends all."""
    failing = list(_beyond_torque(aim, joint).values())
    if not failing:
        return ""
    case, worst = max(failing, key=lambda each: float(each[1].utilization))
    others = [check.words for _, check in failing if check is not worst]
    also = f", and so do{'es' if len(others) == 1 else ''} {joined(others)}" if others else ""
    return f" WHATEVER THE TORQUE, {worst.words} fails too ({use_words(worst.check, worst.utilization)} {when(worst.check, case)}){also}."


def as_it_is_words(plan: BoltUp, today: Assessment) -> str:
    """How to tighten the joint without its missing bolts, or that no torque makes it hold so.

    Empty where none is missing, or nothing is tightened by the sheet.
    """
    gone = plan.joint.bolts.missing
    if not gone or plan.asks_engineer:
        return ""
    found, name = sheet_window(plan, today), plan.joint.name
    if beyond := _beyond_torque(today, name):
        even = _beyond_torque(every_bolt_in(today, name), name)
        # what the empty hole does comes first: a check that fails without a hole too is no reason to fill it
        by_hole = next((found.words for check, (_, found) in beyond.items() if check not in even), None)
        why = (
            f"{by_hole} fails then"
            if by_hole
            else f"{next(iter(beyond.values()))[1].words} fails, with {'them' if len(gone) > 1 else 'it'} in too"
        )
        return f"NOT to be tightened without {numbered(gone)}: {why}, whatever the torque."
    if found is not None and not found.exists:
        return f"NOT to be tightened without {numbered(gone)}: no torque holds then{bound_words(found)}."
    return f"Tightened without {numbered(gone)} ONLY where the engineer says so: same steps, same order, {listed(gone)} left out."


def _beyond_torque(state: Assessment, joint: str) -> dict[str, tuple[str, Check]]:
    """The checks of a joint that fail and that no torque mends, each at its worst with the case, in the order in which they were made."""
    worst: dict[str, tuple[str, Check]] = {}
    for name, case in state.cases.items():
        for check in case.checks:
            if check.where != joint or check.holds or check.check in WANT_MORE | WANT_LESS:
                continue
            if check.check not in worst or float(check.utilization) > float(worst[check.check][1].utilization):
                worst[check.check] = (name, check)
    return worst


@lru_cache(maxsize=KEPT)
def sheet_lost_window(plan: BoltUp, aim: Assessment) -> TighteningWindow | None:
    """The tightening that also stands any one bolt lost, for the joint that the sheet leads to; None where nobody aims at any."""
    return None if plan.preload is None else next(iter(lost_windows(aim, [plan.joint.name])), None)


def worst_bolt_fact(aim: Assessment, joint: str, after: bool) -> list[tuple[str, str]]:
    """The bolt that the loads pull most, and in which case, ``after`` a repair or as it is; nothing where they pull none."""
    pulled = {name: case.joints[joint].external_tension for name, case in aim.cases.items() if joint in case.joints}
    worst = max(pulled, key=lambda name: float(np.max(pulled[name])), default="")
    if not worst or float(np.max(pulled[worst])) <= 0.0:
        return []
    bolt, most = aim.study.joints[joint].bolts.numbers[int(np.argmax(pulled[worst]))], float(np.max(pulled[worst]))
    return [
        (
            "Most loaded bolt",
            f"{'once repaired, ' if after else ''}bolt {bolt}, pulled with {both(most, 'force', aim.study.units)} by the loads, in '{short(worst)}'",
        )
    ]


def lost_fact(
    aim: Assessment,
    joint: str,
    today: Assessment | None = None,
    found: TighteningWindow | None = None,
    before: TighteningWindow | None = None,
) -> list[tuple[str, str]]:
    """What comes of one more bolt that lets go, where the joint can be judged, and the tightening window that stands it.

    ``aim`` is the joint that the sheet leads to; where that is after a repair, ``today`` is the joint as it stands. ``before`` is the
    window with every bolt in, told above: what it has said of its lower end is not said again.
    """
    losses = any_lost(aim, [joint])
    if not losses:
        return []
    after = today is not None and aim is not today
    verdict = lost_verdict(losses)
    told = [f"{'Once repaired as above, with' if after else 'With'} any one bolt lost: {verdict}{_unjudged(losses)}."]
    told += gap_alone(losses, aim.study, WHOSE_SPACING_RULE)
    if found is not None:
        known = before is not None and before.exists and before.not_counted == found.not_counted
        outside = "" if found.serves or not found.exists else ", which the target is NOT within"
        told.append(
            f"{_tightened(found).capitalize()} window with any one lost: {_between(found, aim.study.units, known)}{outside}."
        )
    if after and today is not None:
        now = any_lost(today, [joint])
        if now and lost_verdict(now) != verdict:
            told.append(f"As it stands now, with any one bolt lost: {lost_verdict(now)}.")
    return [("If a bolt is lost", " ".join(told))]


def _unjudged(losses: Sequence[LostBolt]) -> str:
    """Which checks were missing where the joint is not fully judged with a bolt lost, and what to supply; empty elsewhere."""
    if any(row.verdict == "fails" for row in losses):
        return ""
    wanting: dict[str, list[str]] = {}
    for item in dict.fromkeys(item for row in losses for item in row.wanting):
        wanting.setdefault(item.supply, []).append(item.words)
    parts = [
        f"{joined(list(dict.fromkeys(checks)))} not checked (supply {supply})" for supply, checks in wanting.items()
    ]
    return "".join(f"; {part}" for part in parts)
