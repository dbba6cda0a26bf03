"""The one room where a study meets the mechanics. Everything that asks a question of a study calls in here."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from anchorsize.assessment.checks_actions import ACTIONS
from anchorsize.assessment.evaluation import evaluate
from anchorsize.assessment.findings import notice
from anchorsize.assessment.findings_beyond import notice_bore_alone
from anchorsize.assessment.findings_dynamic import notice_dynamic
from anchorsize.assessment.findings_friction import friction_credited
from anchorsize.assessment.findings_hot_bolts import notice_hot_bolts, with_hot_rows
from anchorsize.assessment.findings_joint_give import pipe_length, stiffness_of_joints
from anchorsize.assessment.findings_states import notice_states
from anchorsize.assessment.findings_support_give import member_alone, rigid_anchors
from anchorsize.assessment.findings_supports import axial_raised, notice_supports, worsened
from anchorsize.assessment.findings_surge_closing import notice_after_closing
from anchorsize.assessment.findings_surge_partly import notice_partly
from anchorsize.assessment.findings_throttled import notice_throttled
from anchorsize.assessment.findings_unanchored import notice_unanchored
from anchorsize.assessment.holding import chosen_option, with_option, with_own_tables
from anchorsize.assessment.results import (
    Assessment,
    CaseResult,
    Check,
    Finding,
    JointResult,
    Load,
    NotChecked,
    OpeningResult,
    StudyError,
)
from anchorsize.assessment.statements import assumptions
from anchorsize.study import Study

__all__ = [
    "Assessment",
    "CaseResult",
    "Check",
    "Finding",
    "JointResult",
    "Load",
    "NotChecked",
    "OpeningResult",
    "StudyError",
    "assess",
    "distinct",
    "evaluate",
    "findings_as_given",
    "with_option",
]


def assess(study: Study, option: str | None = None, *, unsupported: dict[str, CaseResult] | None = None) -> Assessment:
    """Judge a study: evaluate every case, make the checks, say what stands out.

    Parameters
    ----------
    study
        A study without batch axes (one value per input).
    option
        Name of the support option to judge; the first in the file if left out.
    unsupported
        The cases evaluated without any support, where they are at hand; evaluated for comparison if left out.

    Raises
    ------
    StudyError
        Where the study cannot be judged as it stands.
    """
    chosen = chosen_option(study, option)
    study = with_hot_rows(with_own_tables(study, chosen))
    cases = evaluate(study, chosen)
    return Assessment(
        study=study,
        option=chosen,
        cases=cases,
        governing=_governing(cases),
        not_checked=distinct(item for case in cases.values() for item in case.not_checked),
        warnings=(
            *notice(study, cases),
            *notice_after_closing(study, chosen, cases),
            *notice_throttled(study, chosen, cases),
            *notice_unanchored(study, chosen, cases),
            *notice_bore_alone(study, chosen, cases),
            *notice_states(study, chosen, cases),
            *notice_dynamic(study, chosen, cases),
            *notice_partly(study, chosen, cases),
            *notice_hot_bolts(study, cases),
            *_of_supports(study, chosen, cases, unsupported),
        ),
        assumptions=assumptions(study, chosen),
        weak_sources=tuple(p for p in study.provenance if "from-memory" in p.status),
    )


def findings_as_given(study: Study, option: str) -> tuple[Finding, ...]:
    """What stands out in a study that is asked more than one assessment tells; nothing where it cannot be judged as it stands."""
    try:
        return assess(study, option).warnings
    except StudyError:
        return ()


def _of_supports(
    study: Study, option: str, cases: dict[str, CaseResult], unsupported: dict[str, CaseResult] | None
) -> tuple[Finding, ...]:
    """Findings about the supports; the bolts with no support at all are evaluated for comparison."""
    supports = study.supports.get(option, ())
    found = (
        *rigid_anchors(study, supports),
        *notice_supports(study, supports, cases),
        *member_alone(study, option, cases),
        *stiffness_of_joints(study, option, cases),
        *pipe_length(study, option, cases),
        *friction_credited(study, option, cases),
    )
    if not supports or len(study.joints) != 1:
        return found
    if unsupported is None:
        unsupported = evaluate(replace(study, supports={}))
    found = (*found, *axial_raised(study, cases, unsupported))
    alone, beside = _joint_checks(study, unsupported), _joint_checks(study, cases)
    changed = [key for key in beside if key in alone and abs(beside[key] - alone[key]) > 1e-9 * beside[key]]
    if not changed:
        return found
    return (*worsened({key: beside[key] for key in changed}, {key: alone[key] for key in changed}), *found)


def _joint_checks(study: Study, cases: dict[str, CaseResult]) -> dict[tuple[str, str], float]:
    """Utilization of the checks of the joint's bolts, gasket and flange by case and check; those of the nozzle are no bolts'."""
    return {
        (name, check.check): float(check.utilization)
        for name, case in cases.items()
        for check in case.checks
        if check.where in study.joints and check.check not in ACTIONS
    }


def _governing(cases: dict[str, CaseResult]) -> tuple[str, Check] | None:
    made = [(name, check) for name, case in cases.items() for check in case.checks]
    return max(made, key=lambda item: float(item[1].utilization)) if made else None


def distinct(items: Iterable[NotChecked]) -> tuple[NotChecked, ...]:
    """What was not checked, each once, in the order met."""
    return tuple(dict.fromkeys(items))
