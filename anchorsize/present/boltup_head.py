"""What stands at the head of the installer's sheet beside the verdict: for what it holds, what was not checked, what the repair asks."""

from __future__ import annotations

from anchorsize import units
from anchorsize.assessment import Assessment, Finding
from anchorsize.assessment.findings_target import FRICTION_AS_FOUND, NEW_THREADS
from anchorsize.assessment.findings_tightening import OUT_OF_SERVICE_FIRST
from anchorsize.present.boltup_no_torque import no_torque
from anchorsize.present.boltup_words import fitters, numbered, short
from anchorsize.present.repaired import (
    AS_TIGHT,
    NO_RELEASE,
    VERDICTS,
    after_words,
    no_release,
    only_when,
)
from anchorsize.present.verdict import doubts, holds_word
from anchorsize.present.words import joined
from anchorsize.studies.boltup import BoltUp
from anchorsize.studies.repaired import Repair, needs_repair, repair
from anchorsize.study import Joint, Study

CASES_NAMED = 6  # cases told one by one; the case file has the rest
NAME = 30  # characters of a case's name among them
CONTRADICTIONS = ("energy gained", "still fluid disagrees")  # kinds of finding
SERVICE = {
    "fails": "In service: take it out of service (pressure off, locked out). Not in service: do not start it",
    "incomplete": "In service: ask the engineer at once whether it may stay in. Not in service: do not start it",
}
NOT_HELD = "as it stands NOTHING HOLDS the joint, for its bolts cannot balance the loads"
REPAIRED_SHEET = "\nThe sheet of the joint once repaired: boltup FILE --repaired."
LOUD = {
    "fails": ("STOP: this joint does not hold as drawn up.", "; go back to the engineer first."),
    "incomplete": ("CAUTION: this joint is not fully judged.", " before the engineer has supplied what is missing."),
}
EVEN_REPAIRED = {
    "fails": "STOP: even repaired this joint does not hold. Do not start it again; go back to the engineer first.",
    "incomplete": "CAUTION: even repaired this joint is not fully judged. Do not start it again before the engineer has supplied what is "
    "missing.",
}
"""That a joint once repaired does not hold, or is not fully judged; as found it has an order of its own."""


def bars(assessment: Assessment, plan: BoltUp, before: Assessment | None, found: Repair | None) -> tuple[str, ...]:
    """The loud lines above everything, none where all is plain.

    ``before`` is the study as found where the sheet is of its repair; ``found`` what the repair of the study comes to otherwise.
    """
    # of the repaired: as found the joint has an order of its own, and a line in service gets one only
    until = plan.before is not None and (before is None or before.verdict != "holds" or _gone(before))
    first = as_found_bar(assessment, found) or (EVEN_REPAIRED.get(assessment.verdict) if until else _loud(assessment))
    only = " ".join(
        filter(None, [repair_bar(assessment, before), _until_then(before), _not_held_before(assessment, plan, before)])
    )
    return tuple(
        filter(
            None,
            [
                *_contradiction(assessment, before),
                first,
                gone_bar(assessment),
                only,
                *_new_threads(assessment, plan),
                no_torque(plan),
            ],
        )
    )


def _new_threads(assessment: Assessment, plan: BoltUp) -> list[str]:
    """That the torque of the sheet is not for new or cleaned threads, or nobody says that it is; nothing where it is for all.

    Nor where the sheet gives none.
    """
    named = _named(plan)
    return [fitters(each.message.removeprefix(named)) for each in _barred(assessment, plan)]


def _barred(assessment: Assessment, plan: BoltUp) -> list[Finding]:
    """The findings of the joint on whose threads its torque is not for; none where the sheet gives no torque."""
    if plan.lacking is not None:
        return []
    kinds, named = (NEW_THREADS, FRICTION_AS_FOUND), _named(plan)
    return [each for each in assessment.warnings if each.kind in kinds and each.message.startswith(named)]


def _named(plan: BoltUp) -> str:
    return f"Joint '{plan.joint.name}': "


def _contradiction(assessment: Assessment, before: Assessment | None) -> list[str]:
    """That pressures of the file contradict each other, with the cases; nothing where none do. The order is that of the rest."""
    found = dict.fromkeys(w.case for w in assessment.warnings if w.doubtful and w.kind in CONTRADICTIONS)
    if not found:
        return []
    cases = joined([f"'{short(case or '')}'" for case in found])
    out = any(each is not None and (each.verdict == "fails" or _gone(each)) for each in (assessment, before))
    return [
        f"STOP: the pressures or flows given for {cases} contradict each other, so neither forces nor verdict of this sheet can be relied "
        f"on. {SERVICE['fails' if out else 'incomplete']} before the engineer has put them right."
    ]


def as_found_bar(assessment: Assessment, found: Repair | None) -> str:
    """What must not be run as it is, and whether it may once repaired; empty where both hold, or nothing wants repair."""
    if found is None or found.assessment is None:
        return ""
    once = f"Once {only_when(found, assessment)}"
    if assessment.verdict == "holds":
        if found.assessment.verdict == "holds":
            return ""
        return (
            f"STOP: as found it holds, but not as this sheet leads to. {once}: it {_as_found(found.assessment)} "
            f"({after_words(found.assessment)}). Go back to the engineer first."
        )
    if found.assessment.verdict == "holds":
        return (
            f"STOP, as found it {_as_found(assessment)}. {_service(assessment)} as it is. {once}: "
            f"{holds_word(found.assessment.warnings)}, on the same assumptions ({after_words(found.assessment)}){no_release(found)}."
        )
    return (
        f"STOP, as found it {_as_found(assessment)}. {_service(assessment)}. {once}: still "
        f"{_as_found(found.assessment)} ({after_words(found.assessment)}); go back to the engineer first."
    )


def gone_bar(assessment: Assessment) -> str:
    """That a joint that holds as found is not run with a bolt gone or loose; empty where none is, or its verdict says what becomes of it."""
    if assessment.verdict != "holds" or not _gone(assessment):
        return ""
    lacking = joined(
        [
            f"{numbered(bolts)} {'are' if len(bolts) > 1 else 'is'} {how}"
            for joint in assessment.study.joints.values()
            for bolts, how in ((joint.bolts.missing, "missing"), (joint.loose, "loose"))
            if bolts
        ]
    )
    return f"STOP: {lacking}. {SERVICE['fails']} before that is put right, whatever holds by calculation."


def doubt_lines(assessment: Assessment, plan: BoltUp, aim: Assessment) -> list[str]:
    """What is doubted of the joint as it is and of the state ``aim`` that the sheet leads to.

    Of the two, that of the repaired joint alone where one doubt comes to two figures. What a bar says is not said again.
    """
    if aim is assessment:
        barred = _barred(assessment, plan)
        return doubts(w for w in assessment.warnings if w not in barred)
    told = {w.message for w in assessment.warnings}
    then = [w for w in aim.warnings if w.doubtful and w.message not in told]
    again = {(w.kind, w.case) for w in then}
    return [
        *doubts(w for w in assessment.warnings if (w.kind, w.case) not in again),
        *doubts(then, "Doubtful once repaired"),
    ]


def repair_bar(assessment: Assessment, before: Assessment | None) -> str:
    """What must be done before the verdict of the sheet counts; empty where the sheet is not of a repair, or it changes nothing."""
    found = None if before is None else repair(before)
    if before is None or found is None:
        return ""
    return (
        f"{_lead(assessment)} ONLY when {only_when(found, before)}{no_release(found)}; as found it {_as_found(before)}."
    )


def _lead(assessment: Assessment) -> str:
    return "Holds" if assessment.verdict == "holds" else "Judged"


def _until_then(before: Assessment | None) -> str:
    """What becomes of the joint as found until it is repaired; empty where it holds with every bolt, or the sheet is of no repair."""
    if before is None or (before.verdict == "holds" and not _gone(before)):
        return ""
    return f"{_service(before)} before that."


def _not_held_before(assessment: Assessment, plan: BoltUp, before: Assessment | None) -> str:
    """The same of a joint that as found was not judged, for its bolts cannot balance the loads; empty elsewhere."""
    if before is not None or plan.before is None:
        return ""
    parts = [f"{numbered(plan.to_fit)} {'are' if len(plan.to_fit) > 1 else 'is'} in"] if plan.to_fit else []
    parts += ["a NEW gasket is fitted"] if plan.new_gasket else []
    untold = plan.joint.tightening is None
    when = joined([*parts, f"every bolt is {AS_TIGHT if untold else 'at its torque'}"])
    then = NO_RELEASE.format("the bolts are") if untold and assessment.verdict == "holds" else ""
    return f"{_lead(assessment)} ONLY when {when}{then}; {NOT_HELD}. {SERVICE['fails']} before that."


def not_held_words(why: str, study: Study, repaired: bool) -> str:
    """What is said in place of a sheet where the bolts cannot balance the loads, with what the joint must not be left in."""
    mended = "" if repaired or not any(needs_repair(joint) for joint in study.joints.values()) else REPAIRED_SHEET
    return f"{why}\nSTOP: {NOT_HELD}. {SERVICE['fails']}.{mended}\nNothing was computed."


def _as_found(before: Assessment) -> str:
    if before.verdict == "incomplete":
        return "is NOT FULLY JUDGED"
    return VERDICTS[before.verdict]


def _loud(assessment: Assessment) -> str:
    """That a joint does not hold, or is not fully judged, where no repair is judged; empty where it holds."""
    lead, end = LOUD.get(assessment.verdict, ("", ""))
    return f"{lead} {_service(assessment)}{end}" if lead else ""


def _service(assessment: Assessment) -> str:
    """What becomes of a line in service whose joint does not hold or is not fully judged; with a bolt gone or loose it is taken out too."""
    return SERVICE["fails" if _gone(assessment) else assessment.verdict]


def _gone(assessment: Assessment) -> bool:
    return any(joint.bolts.missing or joint.loose for joint in assessment.study.joints.values())


def service_words(assessment: Assessment, joint: Joint) -> str:
    """What becomes of a line that runs; empty where its joint holds and no bolt of it is missing or loose.

    Who finds a bolt gone may stand at a line under pressure: that it is to be put in is then the second thing to say.
    """
    if assessment.verdict == "fails":
        return f"{SERVICE['fails']}."
    if assessment.verdict == "incomplete" and needs_repair(joint):
        return f"{_service(assessment)}."
    return OUT_OF_SERVICE_FIRST if joint.bolts.missing or joint.loose else ""


def unmade_words(assessment: Assessment) -> str:
    """The checks that were not made, by name, those apart that only the joint as found lacks, or only the repaired; empty where all were."""
    mend = repair(assessment)
    names = _unmade(assessment)
    after = names if mend is None or mend.assessment is None else _unmade(mend.assessment)
    both, only, then = (
        [n for n in names if n in after],
        [n for n in names if n not in after],
        [n for n in after if n not in names],
    )
    parts = [
        ", ".join(both),
        f"as found: {', '.join(only)}" if only else "",
        f"once repaired: {', '.join(then)}" if then else "",
    ]
    return f"NOT CHECKED, for want of input: {'; '.join(filter(None, parts))}." if any(parts) else ""


def _unmade(assessment: Assessment) -> tuple[str, ...]:
    return tuple(dict.fromkeys(item.words for item in assessment.not_checked))


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
