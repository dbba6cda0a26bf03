"""What a person should notice in how the bolts are tightened: which of them are loose, a gasket not checked, or one that may stay."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from anchorsize.assessment.asking import in_force
from anchorsize.assessment.findings_flow import listed
from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.study import Array, Joint, Study
from anchorsize.units import figures, show

GASKET_NOT_CHECKED = "gasket not checked"
GASKET_AS_NEW = "gasket taken as new"
GASKET_OF_THE_FILE = "gasket of the file only"
ABOUT_THE_GASKET = (GASKET_NOT_CHECKED, GASKET_OF_THE_FILE)  # kinds that stand beside the verdict
OUT_OF_SERVICE_FIRST = "In service: take it out of service first (pressure off, locked out)."
SAY_CONDITION = "write gasket / condition: new, reused (a new one goes in) or in_place (it stays, not opened)"
SEAL = ("joint lift-off", "gasket seating", "gasket in service")
CRUSHING = ("gasket crushing",)
ALIKE = 1e-9  # relative difference of tightenings up to which it is rounding
FAR_LOOSER = 0.8  # of the median of the others, under which a bolt is called far looser: common practice, no source


def notice_tightening(study: Study, cases: Mapping[str, CaseResult]) -> tuple[Finding, ...]:
    """Findings about torque and preload of every joint, and what they do to its gasket."""
    joints = study.joints.values()
    return (
        *(finding for joint in joints for finding in _gasket_not_checked(joint, cases)),
        *(finding for joint in joints for finding in _of_its_gasket_only(joint, study)),
    )


def _gasket_not_checked(joint: Joint, cases: Mapping[str, CaseResult]) -> list[Finding]:
    """A torque judged without its gasket. A gasket used before is told by the verdict: its seal is needed, and nothing gives it."""
    if joint.tightening is None or not all(joint.name in case.joints for case in cases.values()):
        return []
    unmade: dict[str, list[str]] = {}
    supply: list[str] = []
    for name, case in cases.items():
        for item in case.not_checked:
            if item.where == joint.name and item.check in (*SEAL, *CRUSHING) and not item.needed:
                unmade.setdefault(item.check, []).append(name)
                supply.append(item.supply)
    if not unmade:
        return []
    seal, crushing = [check for check in SEAL if check in unmade], "gasket crushing" in unmade
    some = sorted({name for names in unmade.values() for name in names}, key=list(cases).index)
    within = "" if len(some) == len(cases) else f" in {listed(some)}"
    of_seal = f"for its seal ({', '.join(seal)})"
    if seal and crushing:
        what, harm = f", neither {of_seal} nor for crushing,", "too little torque leaks, too much crushes it"
    elif seal:
        what, harm = f" {of_seal}", "too little torque leaks"
    else:
        what, harm = " for crushing", "too much torque crushes it"
    wanted = _wanted_of_gasket(joint, seal, crushing, supply)
    return [
        Finding(
            GASKET_NOT_CHECKED,
            None,
            f"THE GASKET IS NOT CHECKED{what} at joint '{joint.name}'{within}: {harm}. Supply {wanted}.",
        )
    ]


def _wanted_of_gasket(joint: Joint, seal: Sequence[str], crushing: bool, supply: Sequence[str]) -> str:
    """What the checks of the gasket lack, by the file's keys."""
    if joint.gasket is not None:
        return ", ".join(dict.fromkeys(supply))
    wanted = ["gasket with inside, outside, m and y"] if seal else ["gasket"]
    return " and ".join([*wanted, *(["allow / gasket_pressure_greatest"] if crushing else [])])


def _of_its_gasket_only(joint: Joint, study: Study) -> list[Finding]:
    """A new gasket in the place of one used before: that of the file is judged, whatever is at hand."""
    ring = joint.gasket
    if ring is None or not ring.renewed or joint.tightening is None:
        return []
    given = "torque" if joint.tightening.preload is None else "preload"
    return [
        Finding(
            GASKET_OF_THE_FILE,
            None,
            f"Joint '{joint.name}': the {given} holds ONLY for a new gasket of the figures in the file ({gasket_figures(joint, study)}). "
            "Another kind or size wants its own calculation.",
        )
    ]


def gasket_figures(joint: Joint, study: Study) -> str:
    """The gasket that a torque is judged for: size, m, y and what crushes it."""
    ring, system = joint.gasket, study.units
    if ring is None:
        return ""
    parts = [f"ring {show(float(ring.inside), 'length', system)} to {show(float(ring.rim), 'length', system)}"]
    if ring.thickness is not None:
        parts.append(f"{show(float(ring.thickness), 'length', system)} thick")
    if ring.m is not None:
        parts.append(f"m {figures(float(ring.m), 3)}")
    if ring.y is not None:
        parts.append(f"y {show(float(ring.y), 'stress', system)}")
    limits = {
        float(allowed.value)
        for case in study.cases.values()
        if (allowed := in_force(study, joint, case).gasket_pressure_greatest) is not None
    }
    if limits:
        parts.append(f"crushed over {show(min(limits), 'stress', system)}")
    return ", ".join(parts)


def gasket_of_unknown_age(study: Study) -> list[Finding]:
    """Joints found in service of which nobody says whether the gasket stays."""
    return [
        Finding(
            GASKET_AS_NEW,
            None,
            f"Joint '{name}': NOT SAID whether the gasket stays; gasket taken as new: {SAY_CONDITION}.",
        )
        for name, joint in study.joints.items()
        if gasket_not_said(joint)
    ]


def gasket_not_said(joint: Joint) -> bool:
    """Whether a joint was found in service, with bolts gone or torques as found, and nothing is said of the gasket in it."""
    ring = joint.gasket
    return ring is not None and ring.condition is None and (bool(joint.bolts.missing) or as_found(joint))


def as_found(joint: Joint) -> bool:
    """Whether the tightening was found rather than wanted: a target beside it, or bolts of one size and friction that differ."""
    given, each, there = joint.tightening, tightened_to(joint), joint.bolts.present
    if given is None or each is None:
        return False
    if given.target_torque is not None:
        return True
    kinds = given.kinds(joint.bolts.sizes)
    alike = [each[there & np.array([own == kind for own in kinds])] for kind in dict.fromkeys(kinds)]
    return any(same.size > 0 and np.ptp(same) > ALIKE * np.max(same) for same in alike)


def tightened_to(joint: Joint) -> Array | None:
    """What each bolt is tightened to (n,) [N·m or N], None where the file says nothing of it."""
    values = None if joint.tightening is None else joint.tightening.values
    return None if values is None else np.broadcast_to(values, len(joint.bolts.numbers))


def numbered(bolts: tuple[int, ...]) -> str:
    """`bolt 3`, `bolts 3 and 4`, `bolts 3, 4 and 5`."""
    if len(bolts) == 1:
        return f"bolt {bolts[0]}"
    return f"bolts {', '.join(map(str, bolts[:-1]))} and {bolts[-1]}"


def without_clamp(joint: Joint) -> tuple[int, ...]:
    """The bolts that are there and clamp nothing: the loose ones, or all where nothing in the joint is tightened yet."""
    each, there = tightened_to(joint), joint.bolts.present
    if each is None or np.any(each[there] > 0.0):
        return joint.loose
    return tuple(joint.bolts.numbers[i] for i in np.flatnonzero(there))


def far_looser(joint: Joint) -> dict[int, float]:
    """The bolts tightened to under :data:`FAR_LOOSER` of the median of the others of their size (at one friction), with that share; loose ones aside."""
    values, carrying = None if joint.tightening is None else joint.tightening.comparable, joint.carrying
    if values is None:
        return {}
    each = np.broadcast_to(values, len(carrying))
    found = {}
    for i in np.flatnonzero(carrying & (each > 0.0)):
        others = [
            float(each[k]) for k in np.flatnonzero(carrying) if k != i and joint.bolts.sizes[k] == joint.bolts.sizes[i]
        ]
        # the lower of two in the middle: beside one far tighter bolt the others are not looser
        middle = float(np.quantile(others, 0.5, method="lower")) if others else 0.0
        if each[i] < FAR_LOOSER * middle:
            found[joint.bolts.numbers[i]] = float(each[i]) / middle
    return found
