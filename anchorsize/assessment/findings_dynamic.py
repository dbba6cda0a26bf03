"""What a dynamic factor hides: a check that is worse without it, which a sudden load passes through and settles at.

The factor multiplies the thrusts, not the weights, the outside loads or the pressure annulus of a joint. Where the thrusts press the
joint shut, or hold against those, more of them is the easier case.
"""

from __future__ import annotations

from dataclasses import replace

from anchorsize.assessment.evaluation import case_or_none
from anchorsize.assessment.findings_support_data import FAILS_WITHOUT_FACTOR, WORSE_WITHOUT_FACTOR
from anchorsize.assessment.findings_unanchored import at_the_joint
from anchorsize.assessment.results import CaseResult, Check, Finding
from anchorsize.study import Study
from anchorsize.units import figures, over_one

WORSE = 0.05
"""Share by which a utilization must be greater without the factor to be told although it holds: common practice, no source."""

COUNTS = 0.5
"""Utilization up to which none is told that holds: common practice, no source."""

SAME = 1e-9  # relative difference of utilizations that counts as none


def notice_dynamic(study: Study, option: str, cases: dict[str, CaseResult]) -> list[Finding]:
    """The cases with a dynamic factor in which some check is worse without it, and no other case of the file judges that."""
    found = []
    for name, result in cases.items():
        if float(study.cases[name].dynamic_factor) > 1.0:
            found += _of_case(study, option, cases, result)
    return found


def _of_case(study: Study, option: str, cases: dict[str, CaseResult], result: CaseResult) -> list[Finding]:
    then = _without_factor(study, option, result.name)
    if then is None:
        what = "joints and supports cannot be judged: they may not hold"
        return [Finding(FAILS_WITHOUT_FACTOR, result.name, _message(study, result, what), doubtful=True)]
    was = {_key(check): float(check.utilization) for check in result.checks}
    lost = {_key(check) for check in result.checks if not check.holds}
    elsewhere = _greatest_elsewhere(cases, result.name)
    news = [check for check in then.checks if float(check.utilization) > (1.0 + SAME) * elsewhere.get(_key(check), 0.0)]
    fails = [check for check in news if not check.holds and _key(check) not in lost]
    worse = [
        check for check in news if float(check.utilization) > max(COUNTS, (1.0 + WORSE) * was.get(_key(check), 0.0))
    ]
    if not fails and not worse:
        return []
    worst = max(fails or worse, key=lambda check: float(check.utilization))
    does = "FAILS: utilization" if fails else "has a utilization of"
    shown = over_one(float(worst.utilization)) if fails else figures(float(worst.utilization), 3)
    before = (
        f"in place of {figures(was[_key(worst)], 3)}" if _key(worst) in was else "where it is not made at the factor"
    )
    what = f"{worst.words} of '{worst.where}' {does} {shown} {before}{at_the_joint(study, result, then)}"
    kind = FAILS_WITHOUT_FACTOR if fails else WORSE_WITHOUT_FACTOR
    return [Finding(kind, result.name, _message(study, result, what), doubtful=bool(fails))]


def _without_factor(study: Study, option: str, case: str) -> CaseResult | None:
    """The case at factor 1; None where it cannot be judged so."""
    return case_or_none(study, replace(study.cases[case], dynamic_factor=1.0), option)


def _greatest_elsewhere(cases: dict[str, CaseResult], but: str) -> dict[tuple[str, str], float]:
    """The greatest utilization of each check in the other cases; one with the same states and loads and no factor has all of them."""
    greatest: dict[tuple[str, str], float] = {}
    for name, result in cases.items():
        for check in result.checks if name != but else ():
            greatest[_key(check)] = max(greatest.get(_key(check), 0.0), float(check.utilization))
    return greatest


def _message(study: Study, result: CaseResult, what: str) -> str:
    factor = figures(float(study.cases[result.name].dynamic_factor), 3)
    return (
        f"'{result.name}' is judged at its dynamic factor {factor}; at 1, through which a sudden load passes and at which it settles, "
        f"{what}. Write the case again without dynamic_factor."
    )


def _key(check: Check) -> tuple[str, str]:
    return check.check, check.where
