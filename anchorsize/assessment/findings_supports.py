"""What a person should notice about the supports: lifted, slack, reversed, idle, harmful, and what was not looked at.

Each function reads the evaluated cases of a study with one row and returns warnings of a stable kind.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from anchorsize.assessment.block_soil import presumptive_words
from anchorsize.assessment.evaluation import evaluate
from anchorsize.assessment.findings import NEGLIGIBLE, load_scale
from anchorsize.assessment.findings_block_water import blocks_in_water
from anchorsize.assessment.findings_clash import clashes
from anchorsize.assessment.findings_rods import thin_rods
from anchorsize.assessment.findings_support_data import NEVER_CARRIES, label, notice_data
from anchorsize.assessment.holding import stiffness_known
from anchorsize.assessment.movement import moves_too_far
from anchorsize.assessment.results import CaseResult, Finding, StudyError, SupportResult
from anchorsize.mechanics.restraint import SupportState
from anchorsize.study import Joint, Study, Support
from anchorsize.units import show

IDLE = 0.02
"""Share of the reaction under which a support counts as idle: common practice, no source."""

Cases = Mapping[str, CaseResult]

_OPEN = {
    "hanger": ("slack hanger", "is slack", "hangs loose and may drop or swing"),
    "tie": ("slack tie", "is slack", "hangs loose"),
    "rest": ("uplift at a rest", "has lifted", "holds nothing"),
    "thrust_block": ("idle thrust block", "does not touch", "takes no thrust"),
    "strut": ("strut in its gap", "moves freely in its gap", "takes no load"),
    "guide": ("guide in its gap", "moves freely in its gap", "takes no load"),
}
_TWO_WAY = ("strut", "guide")


def notice_supports(study: Study, supports: tuple[Support, ...], cases: Cases) -> tuple[Finding, ...]:
    """All findings about the supports of the option judged, in the order in which a reader needs them."""
    if not supports:
        return (*moves_too_far(study, cases), *_rigid_among_joints(study))
    if not any(result.supports for result in cases.values()):
        return ()
    return (
        *moves_too_far(study, cases),
        *(finding for each in supports for finding in _never_carries(study, each, cases)),
        *notice_data(study, supports, cases),
        *thin_rods(study, supports),
        *clashes(study, supports, cases),
        *_rigid_among_joints(study),
        *_rigid_joint(study, supports),
        *_given_twice(study),
        *(finding for each in supports for finding in _open(study, each, cases)),
        *(finding for each in supports for finding in _reversed(study, each, cases)),
        *(finding for each in supports for finding in _not_single(each, cases)),
        *_idle(study, supports, cases),
        *(finding for each in supports for finding in _presumptive(each)),
        *blocks_in_water(study, supports, cases),
        Finding(
            "thermal growth not considered",
            None,
            "Growth of pipe and supports with temperature and the order of erection are not considered, nor is earthquake, and settlement only where a support "
            "`settles`: a support that is right when cold may lift or take more when hot. Check them by the code that applies. A footing that "
            "sinks by 2 mm under a support is entered as `settles: 2 mm`; a joint that sinks by that onto it as -2 mm.",
        ),
    )


def worsened(beside: Mapping[tuple[str, str], float], alone: Mapping[tuple[str, str], float]) -> tuple[Finding, ...]:
    """Whether the option loads the joint more than no support would, by the greatest utilization of the checks that it changes.

    Both are by case and check, the same of them.
    """
    (worst, greatest), (before, without) = (max(of.items(), key=lambda each: each[1]) for of in (beside, alone))
    if greatest <= without * 1.005:
        return ()
    (case, check), (case_before, check_before) = worst, before
    return (
        Finding(
            "supports load the joint more",
            None,
            f"With these supports the greatest utilization of the joint's checks that they change is {greatest:.3g} ({check} in '{case}'); "
            f"with bolts alone it is {without:.3g} ({check_before} in '{case_before}'): the supports make {check} worse. Look at where they stand, their stiffness and set loads.",
        ),
    )


RAISED = 1.1
"""Ratio of axial forces from which supports are said to raise that of the joint: common practice, no source."""


def axial_raised(study: Study, cases: Cases, alone: Cases) -> tuple[Finding, ...]:
    """Whether the supports open the joint more than no support would, by the case in which they add most."""
    found = []
    for name in study.joints:
        pairs = {
            case: (float(alone[case].joints[name].axial), float(result.joints[name].axial))
            for case, result in cases.items()
            if case in alone and name in result.joints and name in alone[case].joints
        }
        raised = {
            case: (before, after)
            for case, (before, after) in pairs.items()
            if after > RAISED * max(before, 0.0) and after > IDLE * load_scale(cases[case])
        }
        if not raised:
            continue
        most = max(raised, key=lambda case: raised[case][1] - max(raised[case][0], 0.0))
        before, after = (show(value, "force", study.units) for value in raised[most])
        do = "The supports raise" if _acting(cases[most]) > 1 else "The support raises"
        more = len(raised) - 1
        also = f" (and by over {RAISED - 1.0:.0%} in {more} more case{'s' if more > 1 else ''})" if more else ""
        top = max(pairs, key=lambda case: pairs[case][1])
        whole = "" if top == most else f", the greatest {show(pairs[top][1], 'force', study.units)} in '{top}'"
        found.append(
            Finding(
                "supports raise the axial force",
                None,
                f"{do} the joint's axial force from {before} to {after} in '{most}'{also}{whole}: joint '{name}', plus opens it.",
            )
        )
    return tuple(found)


def _acting(case: CaseResult) -> int:
    """How many supports carry."""
    return sum(not bool(np.all(each.idle)) for each in case.supports.values())


def _of(support: Support, cases: Cases) -> dict[str, SupportResult]:
    return {name: result.supports[support.name] for name, result in cases.items() if support.name in result.supports}


def _open(study: Study, support: Support, cases: Cases) -> list[Finding]:
    words = _OPEN.get(support.kind)
    results = _of(support, cases)
    where = open_in(results)
    if words is None or not where:
        return []
    kind, does, means = words
    listed = ", ".join(f"'{name}'" for name in where)
    every = " (in every case: it does nothing at all)" if len(where) == len(cases) else ""
    why = why_open(study, support, {name: results[name] for name in where})
    turn = (
        f" {TURN}" if every and _moved_away(support, results) == where else _mostly_away(study, support, results, cases)
    )
    return [Finding(kind, None, f"{label(support)} {does} in {listed}{every}: {why}. There it {means}.{turn}")]


def _never_carries(study: Study, support: Support, cases: Cases) -> list[Finding]:
    """A support that carries nothing in any case: whatever is said to hold of it says nothing. A rigid joint is told by itself."""
    results = _of(support, cases)
    if rigid_words(study) or not results or not all(np.all(each.idle) for each in results.values()):
        return []
    made = [check for case in cases.values() for check in case.checks if check.where == support.name]
    counted = ""
    if made and all(bool(check.holds) for check in made):
        counted = f" Its {len(made)} checks hold only because it carries nothing."
        counted = counted if len(made) > 1 else " Its check holds only because it carries nothing."
    why = why_idle(study, support, cases)
    return [Finding(NEVER_CARRIES, None, f"Support {support.name} never carries in any case: {why}.{counted}")]


TURNED = "turn toward round"
"""What every finding says of a support that seems to face the wrong way."""

TURN = f"{TURNED.capitalize()}, or put it on the other side."


HANGS = ("hanger", "spring_hanger", "tie")
"""Kinds that pull: they are slack where the fitting comes nearer to what they hang on."""

MEANT_FOR_LOADS = ("tie", "thrust_block")
"""Kinds that are put where the loads push; a rest or hanger faces a weight, and is told by where it points."""

AS_LOADED = 0.5
"""Share of the loads of the cases it carries in from which others count as loading it as well: common practice, no source."""


def open_in(results: Mapping[str, SupportResult]) -> list[str]:
    """The cases in which a support is slack, lifted or within its gap."""
    return [name for name, each in results.items() if int(np.asarray(each.state)) == SupportState.OPEN]


def _moved_away(support: Support, results: Mapping[str, SupportResult]) -> list[str]:
    """The cases in which a one-way support is open because the fitting moves along its direction, away from it."""
    if support.kind in _TWO_WAY:
        return []
    return [name for name in open_in(results) if float(results[name].movement) > 0.0]


def _mostly_away(study: Study, support: Support, results: Mapping[str, SupportResult], cases: Cases) -> str:
    """That a tie or block carries in few of the cases that load it and would, turned round, carry more in the others.

    Empty where it does not.
    """
    away = _moved_away(support, results)
    carrying = [name for name in results if name not in open_in(results) and not np.all(results[name].idle)]
    if support.kind not in MEANT_FOR_LOADS or not carrying or len(away) <= len(carrying):
        return ""
    if max(load_scale(cases[name]) for name in away) < AS_LOADED * max(load_scale(cases[name]) for name in carrying):
        return ""
    if _carries_turned(study, support, cases) <= max(float(np.linalg.norm(results[name].force)) for name in carrying):
        return ""
    rest = TURN[:1].lower() + TURN[1:].rstrip(".")
    named = ", ".join(f"'{name}'" for name in carrying)
    return f" Turned round it would carry there: {rest}, unless it is meant for {named} alone."


def _carries_turned(study: Study, support: Support, cases: Cases) -> float:
    """The greatest force [N] of a support that were turned round, over all cases; infinite where it cannot be judged so."""
    beside = next(iter(cases.values())).supports
    turned = replace(support, toward=-support.toward)
    others = tuple(turned if name == support.name else each.support for name, each in beside.items())
    try:
        then = evaluate(replace(study, supports={"": others}), "")
    except StudyError:
        return np.inf
    return max(float(np.linalg.norm(case.supports[support.name].force)) for case in then.values())


def why_open(study: Study, support: Support, results: Mapping[str, SupportResult]) -> str:
    """Why a support carries nothing in the cases in which it is open: a rigid joint, the fitting leaves it, a gap stays open."""
    if rigid := rigid_words(study):
        return f"{rigid}, so nothing moves"
    away, system = _moved_away(support, results), study.units
    way = "toward what it hangs on" if support.kind in HANGS else "away from it"
    words = []
    if away:
        most = max(away, key=lambda name: float(results[name].movement))
        words.append(
            f"at its point the fitting moves {show(float(results[most].movement), 'length', system)} {way} in '{most}'"
        )
    short = [name for name in results if name not in away]
    if short:
        most = max(short, key=lambda name: abs(float(results[name].movement)))
        moved = show(abs(float(results[most].movement)), "length", system)
        gap = show(float(support.gap) or float(support.settles or 0.0), "length", system)
        what = f"its gap of {gap}" if float(support.gap) else f"what it settles, {gap},"
        words.append(f"{what} is not used up, at its point the fitting moves {moved} in '{most}'")
    return "; ".join(words)


def why_idle(study: Study, support: Support, cases: Cases) -> str:
    """Why a support carries nothing in any case, and what to do about it."""
    results = _of(support, cases)
    if rigid := rigid_words(study):
        return f"{rigid}, so nothing moves and every support without a set load idles; give {_HOW} to see what it takes"
    where = open_in(results)
    if not where:
        if any(np.any(each.force) for each in results.values()):
            return "joint and pipe are so much stiffer that it carries under a ten-thousandth of the loads"
        return "nothing moves the fitting along it"
    turn = f"; {TURNED}, or put it on the other side" if _moved_away(support, results) == list(results) else ""
    return why_open(study, support, {name: results[name] for name in where}) + turn


def _reversed(study: Study, support: Support, cases: Cases) -> list[Finding]:
    """A two-way support that pushes in one case and pulls in another."""
    pushes = {name: float(np.asarray(each.push)) for name, each in _of(support, cases).items() if not np.all(each.idle)}
    small = NEGLIGIBLE * max((abs(push) for push in pushes.values()), default=0.0)
    up = {name: push for name, push in pushes.items() if push > small}
    down = {name: push for name, push in pushes.items() if push < -small}
    if not (up and down):
        return []
    most, least = max(up, key=lambda name: up[name]), min(down, key=lambda name: down[name])
    gap = float(support.gap)
    play = (
        f", and it strikes through its gap of {show(gap, 'length', study.units)} at every change between the two, which is not judged"
        if gap > 0.0
        else " without play"
    )
    return [
        Finding(
            "support reversed",
            None,
            f"{label(support)} pushes with {show(up[most], 'force', study.units)} in '{most}' and pulls with "
            f"{show(-down[least], 'force', study.units)} in '{least}': its ends, pins and anchors must hold both ways{play}.",
        )
    ]


def _not_single(support: Support, cases: Cases) -> list[Finding]:
    if not support.friction:
        return []
    where = [name for name, each in _of(support, cases).items() if not np.all(each.single)]
    if not where:
        return []
    return [
        Finding(
            "friction leaves a choice",
            name,
            f"{label(support)}: with this friction other states than the one shown are in balance too; which one comes depends on how "
            "the load came on. Judge it without friction as well.",
        )
        for name in where
    ]


_HOW = "the joint's stiffness, or the pipe_behind it,"


def _rigid(study: Study) -> list[Joint]:
    return [joint for joint in study.joints.values() if not stiffness_known(joint)]


def rigid_words(study: Study) -> str:
    """Which joint lets nothing move, and whether the file says so; empty where every joint gives way."""
    rigid = _rigid(study)
    if not rigid:
        return ""
    said = all(joint.stiffness == "rigid" for joint in rigid)
    how = "given as rigid" if said else "taken as rigid (no stiffness or pipe_behind given)"
    listed = ", ".join(f"'{joint.name}'" for joint in rigid)
    return f"joint {listed} is {how}"


def _rigid_among_joints(study: Study) -> list[Finding]:
    """One rigid joint beside others that give way takes all of the load that is not preset."""
    rigid = _rigid(study)
    others = [name for name, joint in study.joints.items() if stiffness_known(joint)]
    if len(rigid) != 1 or not others:
        return []
    listed = ", ".join(f"'{name}'" for name in others)
    return [
        Finding(
            "rests on a rigid joint",
            None,
            f"Rests on joint '{rigid[0].name}' being rigid: it lets nothing move, so it takes the whole reaction and joint {listed} "
            "nothing. If it gives way, however little, the others get a share that is not judged here: give its stiffness or pipe_behind.",
        )
    ]


def _rigid_joint(study: Study, supports: tuple[Support, ...]) -> list[Finding]:
    rigid = rigid_words(study)
    if not rigid:
        return []
    preset = [each.name for each in supports if each.set_load is not None or each.settles]
    what = "set loads and settlement" if any(each.settles for each in supports) else "set loads"
    gives = f"only the {what} of {', '.join(preset)} act" if preset else "every support idles"
    return [
        Finding(
            "rigid joint starves the supports",
            None,
            f"{rigid[0].upper()}{rigid[1:]}: it lets nothing move, so {gives}, and the bolts carry the rest. Give {_HOW} to see what "
            "the supports take.",
        )
    ]


def _given_twice(study: Study) -> list[Finding]:
    """Joints with a stiffness and a pipe behind: which of them counts."""
    return [
        Finding(
            "joint stiffness given twice",
            None,
            f"Joint '{name}' has both `stiffness: rigid` and pipe_behind: the pipe's give counts, with bolts and gasket as rigid."
            if joint.stiffness == "rigid"
            else f"Joint '{name}' has both stiffness and pipe_behind: the stiffness counts, and the pipe adds no give of its own.",
        )
        for name, joint in study.joints.items()
        if joint.stiffness is not None and joint.pipe_behind is not None
    ]


def _idle(study: Study, supports: tuple[Support, ...], cases: Cases) -> list[Finding]:
    """Supports that touch and carry next to nothing in every case, and why."""
    if _rigid(study):
        return []
    found = []
    for each in supports:
        results = _of(each, cases)
        touches = [name for name in results if name not in open_in(results)]
        shares = [float(np.linalg.norm(results[name].force)) / max(load_scale(cases[name]), 1e-300) for name in touches]
        if not touches or each.set_load is not None or each.settles or max(shares) >= IDLE:
            continue
        if away := _moved_away(each, results):
            why = why_open(study, each, {name: results[name] for name in away})
            said = f"carries at most {max(shares):.2%} of the loads where it touches; elsewhere {why}. {TURN}"
        elif max(shares) <= NEGLIGIBLE:
            said = "carries nothing in any case: nothing moves the fitting along it."
        else:
            said = (
                f"carries at most {max(shares):.2%} of the loads in any case: joint and pipe are so much stiffer that it idles. A set "
                "load, a stiffer support or another place would make it work."
            )
        found.append(Finding("support idles", None, f"{label(each)} {said}"))
    return found


def _presumptive(support: Support) -> list[Finding]:
    if support.block is None or not support.block.presumptive:
        return []
    words = presumptive_words(support.block).strip().strip("()")
    return [Finding("presumptive bearing", None, f"{label(support)}: {words}.")]
