"""How much a verdict leans on supports being as stiff as said: rigid anchors, and rods and posts taken without what they stand on."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.evaluation import evaluate
from anchorsize.assessment.findings_support_data import LEANS_ON_STIFFNESS, Cases
from anchorsize.assessment.holding import stiffness_known, support_stiffness
from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import Finding, StudyError
from anchorsize.study import JointStiffness, Study, Support
from anchorsize.units import show

SOFTER = (1.0 / 2.0, 1.0 / 3.0)
"""Shares of the stiffness of rods and posts with which an option is judged again: common practice, no source."""

SHARE_WORDS = ("half", "a third")

MUCH = 1.1
"""Ratio of greatest utilizations from which they are told as apart: common practice, no source."""

NAMED = 4  # supports named one by one; more are counted

MEMBER_ALONE = "stiffness of the member alone"


def rigid_anchors(study: Study, supports: tuple[Support, ...]) -> tuple[Finding, ...]:
    """Anchors taken as rigid beside joints that give way: the joints then carry nothing, which no structure does for them."""
    joints = [name for name, joint in study.joints.items() if stiffness_known(joint)]
    rigid = [each.name for each in supports if each.kind == "anchor" and not isinstance(each.six_way, JointStiffness)]
    if not joints or not rigid:
        return ()
    listed = ", ".join(f"'{name}'" for name in joints)
    return tuple(
        Finding(
            "rigid anchor starves the joint",
            None,
            f"Anchor '{name}' is taken as rigid, so joint {listed} carries nothing of the loads: give its stiffness (six_way: {{axial, shear, "
            "bending, torsion}); no structure is rigid, and with what it gives way the joint takes a share.",
            doubtful=True,
        )
        for name in rigid
    )


def member_alone(study: Study, option: str, cases: Cases) -> tuple[Finding, ...]:
    """Supports whose stiffness is that of rod, tube or post alone, and what becomes of the option where they are softer."""
    supports = study.supports.get(option, ())
    bare = [each for each in supports if _alone(each)]
    # beside a rigid joint nothing moves, and that is told by itself
    rigid = any(not stiffness_known(joint) for joint in study.joints.values())
    if not bare or rigid or not any(case.supports for case in cases.values()):
        return ()
    given, softer = most_used(cases, 1)[0], _softer(study, option, bare)
    names, one = [each.name for each in bare], len(bare) == 1
    listed = joined(names) if len(names) <= NAMED else f"{len(names)} supports"
    lead = (
        f"The stiffness of {listed} is that of the {joined(list(dict.fromkeys(_member(each) for each in bare)))} alone "
        f"({_range(study, bare)}); brackets, foundation and the structure behind are left out and make {'it' if one else 'them'} softer."
    )
    changed = [
        (share, found)
        for share, found in zip(SHARE_WORDS, softer, strict=False)
        if (found.fails and not given.fails) or found.used > MUCH * given.used
    ]
    if not softer:
        return (Finding(MEMBER_ALONE, None, lead),)
    if not changed:
        same = " The verdict and the greatest utilization hardly change with a third of that stiffness."
        return (Finding(MEMBER_ALONE, None, lead + same),)
    turned = [pair for pair in changed if pair[1].fails and not given.fails]
    share, found = (turned or changed)[0]
    does = "FAILS, " if turned else ""
    kind = LEANS_ON_STIFFNESS if turned else MEMBER_ALONE
    then = f" With {listed} {share} as stiff: {does}{found.words} {found.shown} (as given at most {given.words} {given.shown})."
    return (Finding(kind, None, f"{lead}{then} Give the stiffness with all that is behind."),)


@dataclass(frozen=True)
class Used:
    """The check under load that is used most in a row [-], whether any check fails, and its words."""

    used: float
    fails: bool
    words: str

    @property
    def shown(self) -> str:
        """Three figures, or as many as it takes to tell it from 1, where it fails."""
        return next(text for n in range(3, 17) if (text := f"{self.used:.{n}g}") != "1" or self.used == 1.0)


def _alone(support: Support) -> bool:
    """Whether nothing but EA/L of its own rod, tube or post gives its stiffness."""
    return (
        support.kind not in ("anchor", "spring_hanger")
        and support.stiffness is None
        and (support.rod_area is not None or support.section is not None)
        and support.length is not None
        and support.modulus is not None
    )


def _member(support: Support) -> str:
    """What stretches or is pressed, as the checks of it name it."""
    return "rod" if support.section is None else "post" if support.kind == "rest" else support.kind.replace("_", " ")


def joined(names: list[str]) -> str:
    """Names or phrases one after the other, the last behind an "and"."""
    return " and ".join(filter(None, [", ".join(names[:-1]), names[-1]]))


def _range(study: Study, supports: list[Support]) -> str:
    """Their stiffness, from the least to the greatest."""
    values = [float(support_stiffness(each, study.up)) for each in supports]
    ends = list(dict.fromkeys(show(value, "stiffness", study.units) for value in (min(values), max(values))))
    return f"EA/L, {' to '.join(ends)}"


def _softer(study: Study, option: str, bare: list[Support]) -> list[Used]:
    """The option with those supports softer, a row for each share; empty where it cannot be judged so."""
    # whether supports alone hold the fitting is asked of one set of them, so without a joint the rows go one by one
    batches = [np.array(SOFTER)] if study.joints else [np.array([share]) for share in SOFTER]
    found = []
    for shares in batches:
        stiff = shares if study.joints else shares[0]
        soft = {each.name: replace(each, stiffness=support_stiffness(each, study.up) * stiff) for each in bare}
        supports = tuple(soft.get(each.name, each) for each in study.supports[option])
        judged = used_in_rows(replace(study, supports={option: supports}), option, len(shares))
        if not judged:
            return []
        found += judged
    return found


def used_in_rows(changed: Study, option: str, rows: int) -> list[Used]:
    """The check under load that is used most in each of so many rows of a changed study; empty where one cannot be judged."""
    refused = Refused((rows,))
    try:
        cases = evaluate(changed, option, refused)
    except StudyError:
        return []
    return [] if refused.reasons else most_used(cases, rows)


def most_used(cases: Cases, rows: int) -> list[Used]:
    """Of each of so many rows the check under load that is used most, over all cases."""
    made = [(name, check) for name, case in cases.items() for check in case.checks if check.check not in LAYOUT]
    if not made:
        return [Used(0.0, False, "")] * rows
    used = np.array([np.broadcast_to(check.utilization, rows) for _, check in made])
    holds = np.array([np.broadcast_to(check.holds, rows) for _, check in made])
    places = np.argmax(used, axis=0)
    return [
        Used(
            float(used[place, row]),
            bool(np.any(~holds[:, row])),
            f"{made[place][1].check} of '{made[place][1].where}' in '{made[place][0]}'",
        )
        for row, place in enumerate(places)
    ]
