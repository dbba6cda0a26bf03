"""What a person should notice in what was given for the supports, before asking what they carry.

Posts whose buckling nobody checked, points far off the fitting, directions turned round, set loads, values that no support has.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping

import numpy as np

from anchorsize.assessment.block_soil import base_allowable
from anchorsize.assessment.buckling import BUCKLING, POSTS, compression, either_sign, greatest_compression, pinned_load
from anchorsize.assessment.checks_supports import BASE, SupportAsk, base_under
from anchorsize.assessment.distance import far_from_centerline, from_line, greatest_bore, known_points, off_the_pipe
from anchorsize.assessment.findings_arms import limber_arms
from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.mechanics.momentum import STANDARD_GRAVITY
from anchorsize.study import Study, Support
from anchorsize.units import show

Cases = Mapping[str, CaseResult]

DOWNWARD = -0.1
"""Cosine to up below which a direction counts as downward: common practice, no source."""

USUAL_STIFFNESS = (1e4, 1e11)
"""[N/m], least and greatest of rods, posts, struts and blocks: common practice, no source."""

SLENDER = 200.0
"""KL/r up to which a post is not called slender: AISC 360, user note in E2 (from memory)."""

STEEP = 0.7
"""Cosine to up from which a point counts as above or below and not beside: common practice, no source."""

HOLDS_DOWN = "unless it is to hold the fitting down"
"""When a support that points down is right."""

NEVER_CARRIES = "support never carries"
SLENDER_POST = "slender post"
NEEDS_BRACKET = "support needs a bracket"
BASE_NOT_CHECKED = "soil under a block not checked"
SETTLES = "support settles"
HOLDS_BY_FRICTION = "holds by friction only"
LEANS_ON_STIFFNESS = "verdict leans on the stiffness of supports"
LEANS_ON_JOINTS = "verdict leans on the stiffness of joints"
HEAT = "heat between joints"
SHORTENED = "pressure shortens the pipe behind"
BLOCK_CLEAR_OF_WATER = "block clear of groundwater"
BLOCK_FAILS_IN_WATER = "block fails in groundwater"
COLUMN_PARTS = "column parts after the surge"
SUCTION_AFTER = "suction after the surge"
NARROW_JET = "throttled jet may be narrow"
FAILS_WITHOUT_FACTOR = "fails without its dynamic factor"
WORSE_WITHOUT_FACTOR = "worse without its dynamic factor"

LOUD = (
    NEVER_CARRIES,
    HOLDS_BY_FRICTION,
    "post over its Euler load",
    "buckling not checked",
    "rests on a rigid joint",
    "rigid joint starves the supports",
    LEANS_ON_STIFFNESS,
    LEANS_ON_JOINTS,
    HEAT,
    COLUMN_PARTS,
    SUCTION_AFTER,
    NARROW_JET,
    SHORTENED,
    FAILS_WITHOUT_FACTOR,
    BLOCK_FAILS_IN_WATER,
)
"""Kinds of finding that belong beside the verdict."""


def notice_data(study: Study, supports: tuple[Support, ...], cases: Cases) -> tuple[Finding, ...]:
    """Findings about what was given for the supports of the option judged."""
    return (
        *(finding for each in supports for finding in _over_euler(study, each, cases)),
        *_not_checked(supports, cases),
        *(finding for each in supports for finding in _slender(each)),
        *(finding for each in supports for finding in _downward(study, each)),
        *(finding for each in supports for finding in _far_off(study, each)),
        *(finding for each in supports for finding in _set_load(study, each, cases)),
        *(finding for each in supports for finding in _settles(study, each, cases)),
        *(finding for each in supports for finding in _base(study, each, cases)),
        *(finding for each in supports for finding in _unusual(each)),
        *limber_arms(study, supports, cases),
    )


def label(support: Support) -> str:
    """Kind and name, to begin a sentence with."""
    return f"{support.kind.replace('_', ' ').capitalize()} '{support.name}'"


def unchecked_posts(cases: Cases) -> list[str]:
    """Names of the supports that are pressed in some case, and whose buckling was not checked."""
    return list(
        dict.fromkeys(
            item.where
            for case in cases.values()
            for item in case.not_checked
            if item.check == BUCKLING
            and any(float(compression(each.supports[item.where])) > 0.0 for each in cases.values())
        )
    )


def _over_euler(study: Study, support: Support, cases: Cases) -> list[Finding]:
    """A post that is pressed by more than its Euler load with pinned ends, where nobody gave it other ends."""
    pinned = pinned_load(support)
    if pinned is None or support.name not in unchecked_posts(cases):
        return []
    case, force = greatest_compression(support.name, cases)
    if force <= float(pinned):
        return []
    return [
        Finding(
            "post over its Euler load",
            case,
            f"{label(support)} would buckle: {show(force, 'force', study.units)} in '{case}' is {force / float(pinned):.3g} times its Euler "
            f"load of {show(float(pinned), 'force', study.units)} with pinned ends (K = 1){either_sign(support)}. Only ends held against turning could save it; "
            "make it shorter or stouter, and give effective_length_factor and allow / buckling_factor.",
        )
    ]


def _not_checked(supports: tuple[Support, ...], cases: Cases) -> list[Finding]:
    names = unchecked_posts(cases)
    posts = [each for each in supports if each.name in names]
    if not posts:
        return []
    listed, sign = ", ".join(each.name for each in posts), next(filter(None, map(either_sign, posts)), "")
    return [
        Finding(
            "buckling not checked",
            None,
            f"Buckling of {listed} not checked, though {'under force' if sign else 'pressed'}{sign}: see what to supply.",
        )
    ]


def _slender(support: Support) -> list[Finding]:
    """A post more slender than codes of steelwork prefer, by its effective length and least radius of gyration."""
    section, effective = support.section, support.effective_length_factor
    if support.kind not in POSTS or section is None or support.length is None:
        return []
    ratio = float(
        (1.0 if effective is None else effective) * support.length / np.sqrt(section.second_moment / section.area)
    )
    if ratio <= SLENDER:
        return []
    ends = "K = 1, no effective_length_factor given" if effective is None else f"K = {float(effective):.3g}"
    return [
        Finding(
            SLENDER_POST,
            None,
            f"{label(support)} is slender: KL/r = {ratio:.3g} ({ends}), over the {SLENDER:.0f} that codes of steelwork prefer not to pass in "
            "compression (AISC 360, user note in E2, from memory): small knocks and crooked ends count. Make it shorter or stouter.",
        )
    ]


def _downward(study: Study, support: Support) -> list[Finding]:
    does = {"rest": "pushes", "hanger": "pulls", "spring_hanger": "pulls"}.get(support.kind)
    if does is None or float(np.sum(support.toward * study.up, axis=-1)) >= DOWNWARD:
        return []
    what = support.kind.replace("_", " ")
    return [
        Finding(
            "support turned downward",
            None,
            f"{label(support)} {does} down: a {what} {does} the fitting along toward, and here toward points down. One that bears a weight "
            f"{does} up, which is the default: turn toward round, {HOLDS_DOWN}.",
        )
    ]


def _far_off(study: Study, support: Support) -> list[Finding]:
    """A point away from the fitting: from its centerline, or where that is not known from the lines between what is known of it."""
    if study.fitting.centerline is None:
        away, what = _off_known_points(study, support), "the nearest opening, center of mass or line between them"
    else:
        away, what = far_from_centerline(study, support.at), "the fitting's centerline"
    if away is None:
        return _beside(study, support)
    return [
        Finding(
            "support far off",
            None,
            f"{label(support)} stands {show(away, 'length', study.units)} from {what}: its bracket must be stiff and is not checked. Are "
            "the figures and the unit of at right?",
            doubtful=True,
        )
    ]


def _beside(study: Study, support: Support) -> list[Finding]:
    """A point that stands clear of the pipe, so that something must reach over to it; a block is large enough to do so itself."""
    way = None if support.kind == "thrust_block" else off_the_pipe(study, support.at)
    if way is None:
        return []
    away, rise = float(np.linalg.norm(way)), float(np.sum(way * study.up))
    where = "beside" if abs(rise) < STEEP * away else "above" if rise > 0.0 else "below"
    known = "" if study.fitting.centerline is not None else ", as far as the openings tell where that runs"
    return [
        Finding(
            NEEDS_BRACKET,
            None,
            f"{label(support)} stands {show(away, 'length', study.units)} {where} the pipe's centerline{known}: a bracket or arm is needed "
            "there, and is not judged.",
        )
    ]


def _off_known_points(study: Study, support: Support) -> float | None:
    """Distance [m] of a point farther than half the fitting's length and its greatest bore from every line between its known points."""
    points = known_points(study)
    span = float(np.max(np.linalg.norm(points[:, None] - points[None], axis=-1)))
    away = min((from_line(support.at, a, b) for a, b in itertools.combinations(points, 2)), default=0.0)
    return away if span > 0.0 and away > span / 2.0 + greatest_bore(study) else None


def _set_load(study: Study, support: Support, cases: Cases) -> list[Finding]:
    """How much of a set load is left where joint and supports give way under it."""
    preset = support.set_load
    pushes = {name: float(case.supports[support.name].push) for name, case in cases.items()}
    if support.kind == "spring_hanger" or preset is None or not float(preset):
        return []
    least, most = min(pushes, key=lambda name: pushes[name]), max(pushes, key=lambda name: pushes[name])
    low, high = (show(pushes[name], "force", study.units) for name in (least, most))
    carries = f"{low} in '{least}'" if low == high else f"from {low} in '{least}' to {high} in '{most}'"
    return [
        Finding(
            "set load",
            None,
            f"{label(support)} is set to {show(float(preset), 'force', study.units)} while nothing loads the fitting and it is held still; let "
            f"go and loaded, joint and supports give way, and of that and the loads it carries {carries}.",
        )
    ]


def _settles(study: Study, support: Support, cases: Cases) -> list[Finding]:
    """What a support carries that settles, so that its sign shows."""
    by = 0.0 if support.settles is None else float(support.settles)
    if not by:
        return []
    pushes = {name: float(case.supports[support.name].push) for name, case in cases.items()}
    least, most = min(pushes, key=lambda name: pushes[name]), max(pushes, key=lambda name: pushes[name])
    low, high = (show(pushes[name], "force", study.units) for name in (least, most))
    carries = f"{low} in '{least}'" if low == high else f"from {low} in '{least}' to {high} in '{most}'"
    way = "what holds it moves against its toward, which takes load off it"
    if by < 0.0:
        way = "what holds it moves along its toward, which puts load on it"
    return [
        Finding(
            SETTLES,
            None,
            f"{label(support)} settles by {show(by, 'length', study.units)} ({way}) before the loads come on; joint and support share that, and "
            f"with the loads it carries {carries}. Judge the option without settlement as well: it may come late, or not at all.",
        )
    ]


def more_than_bearing(study: Study, support: Support, pressure: float) -> str:
    """That a pressure under a block [Pa] is over the bearing given for another face of it; empty where it is not."""
    given = None if support.allow is None else support.allow.bearing
    if given is None or pressure <= float(given):
        return ""
    return f"more than the {show(float(given), 'pressure', study.units)} given as its bearing"


def _base(study: Study, support: Support, cases: Cases) -> list[Finding]:
    """What the soil under a block gets where it is not checked: nothing to hold it against, or no height of the thrust."""
    block = support.block
    made = {
        name
        for name, case in cases.items()
        if any(check.check == BASE and check.where == support.name for check in case.checks)
    }
    if block is None or len(made) == len(cases):
        return []
    give = "allow / base_bearing" if base_allowable(support, study.up) is None else "block / thrust_height"
    under = {
        name: float(base_under(SupportAsk(support, case.supports[support.name], study.up), block).greatest)
        for name, case in cases.items()
        if name not in made and support.name in case.supports
    }
    if not under:
        return []
    worst = max(under, key=lambda name: under[name])
    alone = show(float(block.density) * float(block.height) * STANDARD_GRAVITY, "pressure", study.units)
    over = more_than_bearing(study, support, under[worst])
    height = "" if block.thrust_height is not None else "; tipping not counted without block / thrust_height"
    gets = f"gets up to {show(under[worst], 'pressure', study.units)} in '{worst}', of which weight alone {alone}{height}{over and f', {over}'}"
    if not np.isfinite(under[worst]):
        gets = f"cannot balance it in '{worst}', where it tips or lifts; weight alone presses with {alone}"
    return [
        Finding(
            BASE_NOT_CHECKED,
            None,
            f"The soil under block '{support.name}' {gets}: not checked; give {give}.",
            doubtful=bool(over),
        )
    ]


def _unusual(support: Support) -> list[Finding]:
    """A stiffness that hardly any support has: its unit is in doubt."""
    low, high = USUAL_STIFFNESS
    if support.stiffness is None or low <= float(support.stiffness) <= high:
        return []
    return [
        Finding(
            "unusual stiffness of a support",
            None,
            f"{label(support)}: a stiffness of {float(support.stiffness):.4g} N/m is unusual (rods, posts, struts and "
            "blocks have some 0.1 to 1000 MN/m): is its unit right?",
            doubtful=True,
        )
    ]
