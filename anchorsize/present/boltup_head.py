"""What stands at the head of the installer's sheet beside the verdict: for what it holds, what was not checked, what the repair asks."""

from __future__ import annotations

from anchorsize import units
from anchorsize.assessment import Assessment
from anchorsize.present.boltup_words import no_torque, short
from anchorsize.present.repaired import VERDICTS, only_when
from anchorsize.studies.boltup import BoltUp
from anchorsize.studies.repaired import repair

CASES_NAMED = 6  # cases told one by one; the case file has the rest
NAME = 30  # characters of a case's name among them
LOUD = {
    "fails": "STOP: this joint does not hold as drawn up. Do not put it into service on this sheet; go back to the engineer first.",
    "incomplete": "CAUTION: this joint is not fully judged. Do not put it into service before the engineer has closed the gap.",
}


def bars(assessment: Assessment, plan: BoltUp, before: Assessment | None) -> tuple[str, ...]:
    """The loud lines above everything, none where all is plain; ``before`` is the study as found where the sheet is of its repair."""
    return tuple(filter(None, [LOUD.get(assessment.verdict), repair_bar(assessment, before), no_torque(plan)]))


def repair_bar(assessment: Assessment, before: Assessment | None) -> str:
    """What must be done before the verdict of the sheet counts; empty where the sheet is not of a repair, or it changes nothing."""
    found = None if before is None else repair(before)
    if before is None or found is None:
        return ""
    lead = "Holds" if assessment.verdict == "holds" else "Judged"
    return f"{lead} ONLY when {only_when(found, before)}; as found it {_as_found(before)}."


def _as_found(before: Assessment) -> str:
    if before.verdict == "incomplete":
        return "is NOT FULLY JUDGED"
    return VERDICTS[before.verdict]


def unmade_words(assessment: Assessment) -> str:
    """The checks that were not made, by name; empty where all were."""
    names = dict.fromkeys(item.check for item in assessment.not_checked)
    return f"NOT CHECKED, for want of input: {', '.join(names)}." if names else ""


def judged_for(assessment: Assessment, plan: BoltUp) -> str:
    """Pressure and flow at the joint in every case that was judged, in the units of the file."""
    system = assessment.study.units
    told = []
    for name, case in list(assessment.cases.items())[:CASES_NAMED]:
        opening = case.openings[plan.joint.at]
        values = [] if opening.exit == "capped" else [(float(opening.pressure), "pressure")]
        flow = abs(float(opening.flow))
        parts = [units.show(value, kind, system) for value, kind in [*values, *([(flow, "flow")] if flow else [])]]
        told.append(f"{short(name, NAME)} {', '.join(parts if flow else [*parts, 'no flow'])}")
    rest = len(assessment.cases) - len(told)
    more = [f"{rest} more in the case file"] if rest else []
    return f"Judged for (at '{short(plan.joint.at, NAME)}'): {'; '.join([*told, *more])}. For nothing beyond."
