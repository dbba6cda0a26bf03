"""Fatigue between two named cases: the one check that looks at more than one case."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from anchorsize.assessment.asking import Ask, bolt_check, lacking, merged
from anchorsize.assessment.clamping import Service, stiffness_wanting
from anchorsize.assessment.results import CaseResult, Check, JointResult, NotChecked
from anchorsize.mechanics import fatigue
from anchorsize.study import Array, Study


def with_fatigue(study: Study, cases: dict[str, CaseResult]) -> dict[str, CaseResult]:
    """The cases with the fatigue check of each joint added to the second of its two repeating cases."""
    cases = dict(cases)
    for name, joint in study.joints.items():
        pair = joint.cycles_between
        last = list(cases)[-1] if pair is None else pair[1]
        if name not in cases[last].joints:
            continue
        made = None if pair is None else _fatigue(study, name, cases[pair[0]], cases[pair[1]])
        result = cases[last]
        if made is None:
            missing = NotChecked("bolt fatigue", name, _wanting(study, name, result.joints[name]), False)
            cases[last] = replace(result, not_checked=(*result.not_checked, missing))
        else:
            cases[last] = replace(result, checks=(*result.checks, made))
    return cases


def _wanting(study: Study, name: str, result: JointResult) -> str:
    """What the check lacks of all that it is made from."""
    joint = study.joints[name]
    return lacking(
        ("cycles_between (two cases)", joint.cycles_between),
        ("the tightening (torque with nut_factor, or preload)", result.service),
        *((words, None) for words in stiffness_wanting(joint)),
        ("bolts / class", joint.bolts.tensile_strength),
        ("allow / endurance_limit", merged(study.allow, joint.allow).endurance_limit),
    )


def worst_cycle(
    first: Service, second: Service, area: Array, limit: Array, strength: Array
) -> tuple[Array, Array] | None:
    """Tensions of each bolt (..., n) [N] in two cases, at the preload that is worse; None where they were not solved.

    While the face is closed the swing is the same at every preload and the greatest is worse; where it opens at the least, the
    swing is larger there.
    """
    if first.tension_greatest is None or second.tension_greatest is None:
        return None
    if first.tension_least is None or second.tension_least is None:
        return None
    tight, slack = (first.tension_greatest, second.tension_greatest), (first.tension_least, second.tension_least)
    used = [fatigue.goodman_utilization(fatigue.stress_cycle(*ends, area), limit, strength) for ends in (tight, slack)]
    worse = used[1] > used[0]
    return np.where(worse, slack[0], tight[0]), np.where(worse, slack[1], tight[1])


def _fatigue(study: Study, name: str, one: CaseResult, other: CaseResult) -> Check | None:
    joint, result = study.joints[name], other.joints[name]
    ask = Ask(joint, result, merged(study.allow, joint.allow))
    endurance, tensile = ask.allow.endurance_limit, joint.bolts.tensile_strength
    first, second = one.joints[name].service, result.service
    if first is None or second is None or endurance is None or tensile is None:
        return None
    limit, strength = np.asarray(endurance.value)[..., None], np.asarray(tensile)[..., None]
    ends = worst_cycle(first, second, joint.bolts.tensile_area, limit, strength)
    if ends is None:
        return None
    cycle = fatigue.stress_cycle(*ends, joint.bolts.tensile_area)
    used = fatigue.goodman_utilization(cycle, limit, strength)
    used = np.where(joint.carrying, used, 0.0)
    allowed = fatigue.goodman_alternating_stress(cycle.least, limit, strength)
    return bolt_check(
        ask,
        "bolt fatigue",
        cycle.alternating,
        used,
        replace(
            endurance, value=allowed, origin=f"{endurance.origin}: endurance limit, Goodman line at the least stress"
        ),
        f"Goodman, between '{one.name}' and '{other.name}' at the least or the greatest preload, the worse for each bolt",
        "alternating stress on the tensile area",
    )
