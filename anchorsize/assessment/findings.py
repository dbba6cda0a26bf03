"""What a person should notice in the numbers: uplift, reversals, bolts that pull in one case only, what dominates.

Each function reads the evaluated cases of a study with one row (no batch axes) and returns warnings of a stable kind.
"""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.distance import far_from_centerline, greatest_bore
from anchorsize.assessment.findings_flange import notice_flange
from anchorsize.assessment.findings_flow import listed, notice_flow
from anchorsize.assessment.findings_loose import (
    IF_REPAIRED,
    engineer_decides,
    engineer_decides_if_it_stays,
    notice_far_looser,
    notice_loose,
    notice_repair,
)
from anchorsize.assessment.findings_lubricant import notice_lubricant
from anchorsize.assessment.findings_openings import notice_openings
from anchorsize.assessment.findings_preload import SCATTER_LEFT_OUT, TWIST, notice_preload
from anchorsize.assessment.findings_salt import IN_SALT_WATER, notice_salt
from anchorsize.assessment.findings_surge import notice_surge
from anchorsize.assessment.findings_target import (
    FRICTION_AS_FOUND,
    NEW_THREADS,
    SQUEEZED,
    TARGET_NOT_REACHED,
    notice_squeezed,
    notice_target,
)
from anchorsize.assessment.findings_tightening import (
    ABOUT_THE_GASKET,
    GASKET_AS_NEW,
    OUT_OF_SERVICE_FIRST,
    gasket_of_unknown_age,
    notice_tightening,
    numbered,
)
from anchorsize.assessment.holding import stiffness_known
from anchorsize.assessment.movement import pipe_moment
from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.study import STEEP, Array, Joint, JointStiffness, Study
from anchorsize.units import show

NEGLIGIBLE = 1e-6  # share of the greatest load below which a component counts as zero
FAR_OFF = 2.0  # sizes of the fitting beyond which a center of mass is doubted: common practice, no source
FAR_AWAY = 5.0  # the same of the place of a load or support: common practice, no source
HEAVY = 20.0  # times the fitting with its contents, over which a mass that hangs on it is doubted: common practice, no source
STEEL = 7850.0  # kg/m³
NOT_ALL_THERE = (
    "missing bolts",
    "loose bolts",
    "bolt far looser",
)  # kinds that ask for the bolts to be put right first
AS_FOUND = (
    *NOT_ALL_THERE,
    TARGET_NOT_REACHED,
    NEW_THREADS,
    FRICTION_AS_FOUND,
    TWIST,
    SCATTER_LEFT_OUT,
    GASKET_AS_NEW,
    SQUEEZED,
    IF_REPAIRED,
    IN_SALT_WATER,
    *ABOUT_THE_GASKET,
)  # kinds that stand beside the verdict
WEIGHT_LEFT_OUT = "weight left out"  # and this one


def notice(study: Study, cases: dict[str, CaseResult]) -> tuple[Finding, ...]:
    """All findings of a study, in the order in which a reader needs them."""
    return (
        *_uplift(study, cases),
        *_vertical_reversal(cases),
        *_turning_reaction(cases),
        *_bolts_that_alternate(study, cases),
        *_dominant_source(cases),
        *notice_openings(study, cases),
        *notice_flow(study, cases),
        *notice_surge(study, cases),
        *_missing_bolts(study),
        *notice_repair(study),
        *notice_loose(study),
        *notice_tightening(study, cases),
        *notice_far_looser(study),
        *notice_target(study),
        *notice_lubricant(study),
        *notice_salt(study),
        *notice_preload(study),
        *notice_flange(study, cases),
        *gasket_of_unknown_age(study),
        *notice_squeezed(study, cases),
        *_without_gasket(study),
        *_without_weight(study),
        *_far_off(study),
        *_heavy(study),
        *_several_joints(study, cases),
        *_pipe_behind(study, cases),
    )


def load_scale(result: CaseResult) -> float:
    """Sum of the magnitudes of all loads [N], the yardstick for what is negligible."""
    return float(sum(np.linalg.norm(load.force) for load in result.loads))


def _vertical_sign(result: CaseResult) -> int:
    vertical = float(result.vertical_reaction)
    return 0 if abs(vertical) <= NEGLIGIBLE * max(load_scale(result), 1e-300) else int(np.sign(vertical))


def _uplift(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """Cases in which the fitting wants to rise, said once; supports from below that carry all the same are not called idle."""
    forces = {name: -float(case.vertical_reaction) for name, case in cases.items() if _vertical_sign(case) < 0}
    if not forces:
        return []
    most = max(forces, key=lambda name: forces[name])
    up_to = f"up to {show(forces[most], 'force', study.units)} downward, in '{most}'"
    below = any(
        each.support.kind in ("rest", "thrust_block")
        and float(each.support.toward @ study.up) > STEEP
        and not np.all(each.idle)
        for name in forces
        for each in cases[name].supports.values()
    )
    useless = "" if below else "; a support that only pushes up from below takes nothing of that, a moment at most"
    return [
        Finding(
            "uplift",
            None if len(forces) > 1 else most,
            f"The vertical reaction is {up_to}: the fitting wants to rise in {listed(list(forces))}, so the bolts and supports must hold it "
            f"down{useless}.",
        )
    ]


def _vertical_reversal(cases: dict[str, CaseResult]) -> list[Finding]:
    down = [name for name, result in cases.items() if _vertical_sign(result) < 0]
    up = [name for name, result in cases.items() if _vertical_sign(result) > 0]
    if not (down and up):
        return []
    return [
        Finding(
            "vertical reaction reverses",
            None,
            f"The vertical reaction points down in {listed(down)} and up in {listed(up)}: what holds the fitting must pull and "
            "push together, and loose bolts would work back and forth.",
        )
    ]


def _turning_reaction(cases: dict[str, CaseResult]) -> list[Finding]:
    """Pairs of cases whose reactions differ by more than a right angle; the widest pair is named."""
    forces = {
        name: np.asarray(result.reaction_force)
        for name, result in cases.items()
        if np.linalg.norm(result.reaction_force) > NEGLIGIBLE * max(load_scale(result), 1e-300)
    }
    names = list(forces)
    widest, pair = 90.0, None
    for i, first in enumerate(names):
        for second in names[i + 1 :]:
            a, b = forces[first], forces[second]
            angle = float(np.degrees(np.arctan2(np.linalg.norm(np.cross(a, b)), a @ b)))
            if angle > widest:
                widest, pair = angle, (first, second)
    if pair is None:
        return []
    return [
        Finding(
            "reaction turns around",
            None,
            f"The reaction points {widest:.0f}° apart in '{pair[0]}' and '{pair[1]}': what holds the fitting in one of them does not "
            "hold it in the other, so judge supports and bolts in both.",
        )
    ]


def _bolts_that_alternate(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    found = []
    for name, joint in study.joints.items():
        rows = [result.joints[name].external_tension for result in cases.values() if name in result.joints]
        if not rows:
            continue
        tension = np.stack(rows)
        small = NEGLIGIBLE * max(float(np.max(np.abs(tension))), 1e-300)
        alternates = (tension > small).any(axis=0) & (tension < -small).any(axis=0)
        numbers = [str(number) for number, yes in zip(joint.bolts.numbers, np.ravel(alternates), strict=True) if yes]
        if numbers:
            found.append(
                Finding(
                    "bolt pulls in some cases only",
                    None,
                    f"Joint '{name}': bolt{'s' if len(numbers) > 1 else ''} {', '.join(numbers)} pull in some cases and are pressed in "
                    "others, so their load alternates: preload must cover both, and fatigue counts if the cases repeat.",
                )
            )
    return found


def _dominant_source(cases: dict[str, CaseResult]) -> list[Finding]:
    """The greatest load of each case, gathered by source."""
    shares: dict[str, list[str]] = {}
    for name, result in cases.items():
        total = load_scale(result)
        if total > 0.0:
            top = max(result.loads, key=lambda load: float(np.linalg.norm(load.force)))
            share = float(np.linalg.norm(top.force)) / total
            shares.setdefault(top.source, []).append(f"'{name}' ({share:.0%})")
    return [
        Finding(
            "dominant source",
            None,
            f"'{source}' is the greatest load in {', '.join(where)}, in percent of the sum of all load magnitudes: check its "
            "data first.",
        )
        for source, where in shares.items()
    ]


def _missing_bolts(study: Study) -> list[Finding]:
    return [
        Finding(
            "missing bolts",
            None,
            f"Joint '{name}' is judged without {numbered(joint.bolts.missing)} of {len(joint.bolts.numbers)}: the "
            f"rest carry its share, and the face beside an empty hole is the first to leak; {_fit(joint)}. {OUT_OF_SERVICE_FIRST}",
        )
        for name, joint in study.joints.items()
        if joint.bolts.missing
    ]


def _fit(joint: Joint) -> str:
    """What becomes of the bolts that are missing."""
    them = f"the bolt{'s' if len(joint.bolts.missing) > 1 else ''}"
    if engineer_decides(joint):
        return f"put {them} in ONLY when the engineer says so, without pressure"
    unless = "; if the gasket STAYS ONLY when the engineer says so" if engineer_decides_if_it_stays(joint) else ""
    return f"put {them} in before pressure comes on{unless}"


def _without_gasket(study: Study) -> list[Finding]:
    return [
        Finding(
            "no gasket given",
            None,
            f"Joint '{name}' has no gasket: pressure is taken to act on the bore only; a gasket lets it act farther out, which adds to "
            "the bolt tension. Give the gasket's inside and outside diameters.",
        )
        for name, joint in study.joints.items()
        if joint.gasket is None
    ]


def _without_weight(study: Study) -> list[Finding]:
    fitting = study.fitting
    absent = [what for what, value in (("mass", fitting.mass), ("contents", fitting.contents)) if value is None]
    if not absent:
        return []
    lead = f"the fitting's {' and '.join(absent)} {'is' if len(absent) == 1 else 'are'} not given, so that weight"
    does = "is not in the reaction: uplift looks worse and downward load better than it is."
    if fitting.mass is not None:
        return [Finding("contents left out", None, f"{lead.capitalize()} {does}")]
    supply = "Supply mass and mass_center under fitting, or wall and material_density of its shape."
    return [Finding(WEIGHT_LEFT_OUT, None, f"WEIGHT NOT GIVEN: {lead} {does} {supply}")]


def _size(study: Study) -> float:
    """Size of the fitting [m]: the greatest distance between its openings, or five bores where there is one alone."""
    centers = np.array([opening.center for opening in study.openings.values()])
    span = float(np.max(np.linalg.norm(centers[:, None] - centers[None], axis=-1)))
    bore = greatest_bore(study)
    return span if len(centers) > 1 and span > 0.0 else 5.0 * bore


def _far_off(study: Study) -> list[Finding]:
    """Centers of mass, loads and supports that lie far outside the openings: a slip of unit or sign."""
    fitting = study.fitting
    places = [("mass_center", fitting.mass_center, FAR_OFF), ("contents_center", fitting.contents_center, FAR_OFF)]
    if fitting.centerline is not None:
        return [*_off_openings(study, places), *_off_centerline(study)]
    places += [(what, place, FAR_OFF) for what, place in _hung(study)]
    places += [(what, place, FAR_AWAY) for what, place in _pulled(study)]
    supports = {each.name: each for option in study.supports.values() for each in option}
    places += [(f"place of support '{each.name}'", each.at, FAR_AWAY) for each in supports.values()]
    return _off_openings(study, places)


def _hung(study: Study) -> list[tuple[str, Array]]:
    return [(f"center of '{each.name}'", each.center) for each in study.fitting.extra_masses]


def _pulled(study: Study) -> list[tuple[str, Array]]:
    return [(f"point at which '{each.name}' acts", each.at) for each in study.external if np.any(each.force)]


def _off_centerline(study: Study) -> list[Finding]:
    """Masses and loads off the centerline of the shape; supports are judged likewise with their option."""
    return [
        Finding(
            "place far off",
            None,
            f"The {what} lies {show(away, 'length', study.units)} from the fitting's centerline: are its figures and unit right? (In a list, "
            "the unit after the last number goes for all three.)",
        )
        for what, place in (*_hung(study), *_pulled(study))
        if (away := far_from_centerline(study, place)) is not None
    ]


def _off_openings(study: Study, places: list[tuple[str, Array | None, float]]) -> list[Finding]:
    """Places farther from the nearest opening than so many sizes of the fitting."""
    centers, size = np.array([opening.center for opening in study.openings.values()]), _size(study)
    found = []
    for what, place, far in places:
        if place is None:
            continue
        away = float(np.min(np.linalg.norm(centers - place, axis=-1)))
        if away > far * size:
            found.append(
                Finding(
                    "center far off" if far == FAR_OFF else "place far off",
                    None,
                    f"The {what} lies {show(away, 'length', study.units)} from the nearest opening, while the fitting is "
                    f"{show(size, 'length', study.units)} across its openings: is its unit right? (In a list, the unit after the last number "
                    "goes for all three.)",
                )
            )
    return found


def _heavy(study: Study) -> list[Finding]:
    """Masses beside the fitting's own that are heavier than anything that hangs on such a fitting."""
    fitting = study.fitting
    own = float(fitting.mass or 0.0) + float(fitting.contents or 0.0) * float(study.fluid.density)
    block = STEEL * (2.0 * _size(study)) ** 3  # solid steel, twice as wide as the fitting
    return [
        Finding(
            "mass far heavier than the fitting",
            None,
            f"'{each.name}' weighs {show(float(each.mass), 'mass', study.units)}"
            + (f", the fitting with its contents {show(own, 'mass', study.units)}" if own else "")
            + ": is its unit right?",
        )
        for each in fitting.extra_masses
        if float(each.mass) > (HEAVY * own if own else block)
    ]


def _several_joints(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    if len(study.joints) < 2 or any(result.joints for result in cases.values()):
        return []
    loose = [name for name, joint in study.joints.items() if not stiffness_known(joint)]
    return [
        Finding(
            "shared by several joints",
            None,
            f"{len(study.joints)} joints ({', '.join(study.joints)}) share the reaction in a way that only their stiffness decides: the "
            "total reaction is shown, the bolts of each joint and the supports are not judged. Give stiffness or pipe_behind to "
            f"{listed(loose)}.",
        )
    ]


def _for_what(joint: Joint) -> str:
    """What the pipe behind a joint is used for."""
    own = isinstance(joint.stiffness, JointStiffness)
    return "for its moment only, since the joint's stiffness is given" if own else "for its stiffness only"


def _pipe_behind(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """What the pipe behind a joint gets at its fixed end: its strength and sag are someone's to check."""
    found, shared = [], ""
    if any(result.supports for result in cases.values()):
        shared = " That weight loads no support here either; supports set before this pipe is let go or filled carry part of it."
    for name, joint in study.joints.items():
        pipe = joint.pipe_behind
        if pipe is None or not all(name in result.joints for result in cases.values()):
            continue
        moments = {case: pipe_moment(study, name, result.joints[name]) or 0.0 for case, result in cases.items()}
        worst = max(moments, key=lambda case: moments[case])
        inside = np.asarray(pipe.outside) - 2.0 * np.asarray(pipe.wall)
        modulus = float(np.pi / 32.0 * (np.asarray(pipe.outside) ** 4 - inside**4) / pipe.outside)
        found.append(
            Finding(
                "pipe behind not checked",
                None,
                f"The pipe behind joint '{name}' is used {_for_what(joint)}; its strength, sag and fixed end are not checked. It gets a "
                f"moment, bending and torsion together, of up to {show(moments[worst], 'moment', study.units)} at its fixed end in '{worst}', M/Z = "
                f"{show(moments[worst] / modulus, 'stress', study.units)}, its own weight, contents and pressure not counted: judge it by "
                f"the piping code that applies.{shared}",
            )
        )
    return found
