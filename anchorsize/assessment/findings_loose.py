"""Bolts found loose or far looser than the others: what that is judged as, and what is done before anyone tightens the reason away."""

from __future__ import annotations

from anchorsize.assessment.findings_preload import overstretched
from anchorsize.assessment.findings_target import held_back, only_loosened
from anchorsize.assessment.findings_tightening import (
    OUT_OF_SERVICE_FIRST,
    far_looser,
    gasket_not_said,
    numbered,
    tightened_to,
    without_clamp,
)
from anchorsize.assessment.results import Finding
from anchorsize.study import Joint, Study
from anchorsize.units import System, show

IF_REPAIRED = "judged as if repaired"


def notice_loose(study: Study) -> tuple[Finding, ...]:
    """Bolts without clamp, in every joint."""
    return tuple(finding for joint in study.joints.values() for finding in _loose(joint, study.units))


def notice_far_looser(study: Study) -> tuple[Finding, ...]:
    """Bolts far looser than the others of their size, in every joint."""
    return tuple(finding for joint in study.joints.values() for finding in _far_looser(joint))


def _loose(joint: Joint, system: System) -> list[Finding]:
    """Bolts without clamp: loose for a reason, and judged as carrying nothing, unless nothing in the joint is tightened yet."""
    loose, each = without_clamp(joint), tightened_to(joint)
    if not loose or each is None or joint.tightening is None:
        return []
    one, kind = len(loose) == 1, "moment" if joint.tightening.preload is None else "force"
    found: dict[float, list[int]] = {}
    for bolt in loose:
        found.setdefault(float(each[joint.bolts.numbers.index(bolt)]), []).append(bolt)
    told = {show(value, kind, system) if value > 0.0 else "0": bolts for value, bolts in found.items()}
    at = [value if len(told) == 1 else f"{numbered(tuple(bolts))} at {value}" for value, bolts in told.items()]
    them, has = ("it", "has") if one else ("them", "have")
    lead = (
        f"Joint '{joint.name}': {numbered(loose)} {'is' if one else 'are'} LOOSE (found{' at' if len(told) == 1 else ''} {', '.join(at)}) and "
        f"{has} no clamp{' to speak of' if max(found) > 0.0 else ''}"
    )
    if not joint.loose:
        return [Finding("loose bolts", None, f"{lead}. Tighten {them} before pressure comes on.")]
    missing = "a missing one" if one else "missing ones"
    does = f"judged as carrying nothing, like {missing}. {_what_first(joint, one)}{'' if joint.bolts.missing else f' {OUT_OF_SERVICE_FIRST}'}"
    return [Finding("loose bolts", None, f"{lead}; {does}")]


def notice_repair(study: Study) -> tuple[Finding, ...]:
    """Of joints judged as if repaired what must be done before that is so, and which bolts were found loose."""
    return tuple(_repair(joint) for joint in study.joints.values() if joint.repair)


def _repair(joint: Joint) -> Finding:
    loose, one = joint.found_loose, len(joint.found_loose) == 1
    told = ""
    if loose:
        it, turned = ("it", "it is") if one else ("them", "they are")
        told = (
            f" {numbered(loose).capitalize()} {'was' if one else 'were'} found LOOSE or FAR LOOSER than the others: find out why, and inspect or "
            f"replace {it}, before {turned} tightened."
        )
    return Finding(
        IF_REPAIRED,
        None,
        f"Joint '{joint.name}' is as told here ONLY when this is done: {joint.repair}. Until then it is as found: check it without --repaired.{told}",
    )


def ask_before_turned(one: bool) -> str:
    """What is done about a loose bolt, or several, of a joint that the engineer decides about. Common practice, no source."""
    return f"look from outside, and ASK the engineer before {'it is' if one else 'any of them is'} turned or taken out"


def engineer_decides(joint: Joint) -> bool:
    """Whether nothing of a joint may be tightened before the engineer has decided: tight nuts would come off a gasket that stays."""
    return joint.gasket_stays and bool(held_back(joint) or overstretched(joint))


def engineer_decides_if_it_stays(joint: Joint) -> bool:
    """The same of a joint of which nobody says whether its gasket stays, were it to stay."""
    return gasket_not_said(joint) and bool(only_loosened(joint) or overstretched(joint))


def _what_first(joint: Joint, one: bool) -> str:
    """What a loose bolt asks for before anyone tightens the reason away. Common practice, no source."""
    if engineer_decides(joint):
        ask = ask_before_turned(one)
        return f"{ask[0].upper()}{ask[1:]}."
    them = "it" if one else "them"
    unless = f" If the gasket STAYS: {ask_before_turned(one)}." if engineer_decides_if_it_stays(joint) else ""
    return (
        f"Find out why before {'it is' if one else 'they are'} tightened again: bolt stretched, nut or thread damaged, gasket crushed "
        f"there? Inspect {them}, or replace {them}.{unless}"
    )


def _far_looser(joint: Joint) -> list[Finding]:
    loose = far_looser(joint)
    if not loose:
        return []
    told = ", ".join(f"bolt {bolt} at {share:.0%}" for bolt, share in loose.items())
    one = len(loose) == 1
    return [
        Finding(
            "bolt far looser",
            None,
            f"Joint '{joint.name}', FAR LOOSER than the others: {told} of their median. {_what_first(joint, one)}",
        )
    ]
