"""The one room where a study meets the mechanics. Everything that asks a question of a study calls in here."""

from __future__ import annotations

from collections.abc import Iterable

from anchorsize.assessment.evaluation import evaluate
from anchorsize.assessment.findings import notice
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
    "evaluate",
]

NO_SUPPORT = "bolts alone"


def assess(study: Study, option: str | None = None) -> Assessment:
    """Judge a study: evaluate every case, make the checks, say what stands out.

    Parameters
    ----------
    study
        A study without batch axes (one value per input).
    option
        Name of the support option to judge; the first in the file if left out.

    Raises
    ------
    StudyError
        Where the study cannot be judged as it stands.
    """
    chosen = _option(study, option)
    cases = evaluate(study)
    return Assessment(
        study=study,
        option=chosen,
        cases=cases,
        governing=_governing(cases),
        not_checked=_distinct(item for case in cases.values() for item in case.not_checked),
        warnings=notice(study, cases),
        assumptions=assumptions(study),
        weak_sources=tuple(p for p in study.provenance if "from-memory" in p.status),
    )


def _option(study: Study, option: str | None) -> str:
    names = list(study.supports) or [NO_SUPPORT]
    chosen = names[0] if option is None else option
    if chosen not in names:
        raise StudyError(f"no support option '{chosen}'; the file has {', '.join(names)}")
    if study.supports.get(chosen):
        raise StudyError(
            f"support option '{chosen}': supports are read but not judged yet; put 'bolts alone: []' first under supports, or "
            "choose it with --option"
        )
    return chosen


def _governing(cases: dict[str, CaseResult]) -> tuple[str, Check] | None:
    made = [(name, check) for name, case in cases.items() for check in case.checks]
    return max(made, key=lambda item: float(item[1].utilization)) if made else None


def _distinct(items: Iterable[NotChecked]) -> tuple[NotChecked, ...]:
    return tuple(dict.fromkeys(items))
