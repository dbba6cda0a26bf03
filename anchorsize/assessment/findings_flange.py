"""What a person should notice about a flange: a grip that is not its own, a spacing rule that is not for it."""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.asking import in_force
from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.assessment.statements import SPACING_RULE
from anchorsize.study import Study
from anchorsize.units import show

OTHER_GRIP = (
    0.1  # share beyond which a grip is not that of two flanges and the gasket: washers, older editions; no source
)
ROUNDED = 0.01  # share by which a grip may be rounded


def notice_flange(study: Study, cases: dict[str, CaseResult]) -> tuple[Finding, ...]:
    """Findings about the flange of every joint."""
    return (*_grip(study), *_spacing_rule(study, cases))


def _grip(study: Study) -> list[Finding]:
    """Grips that cannot be, and those that fit only a mating part unlike the flange."""
    found = []
    for name, joint in study.joints.items():
        flange, ring = joint.flange, joint.gasket
        if joint.grip is None or flange.thickness is None or flange.height is None:
            continue
        grip, own = float(joint.grip), float(flange.height)
        thick = 0.0 if ring is None or ring.thickness is None else float(ring.thickness)
        least, both = float(flange.thickness) + thick, 2.0 * own + thick

        def words(length: float) -> str:
            return show(length, "length", study.units)

        if grip < least * (1.0 - ROUNDED):
            found.append(
                Finding(
                    "grip too short",
                    None,
                    f"Joint '{name}': the grip, {words(grip)}, is less than the flange and the gasket alone are thick, {words(least)}: it is that "
                    f"of another flange. Two such flanges and the gasket make {words(both)}. Bolts ordered by this grip are too short, and "
                    "their stiffness is wrong.",
                    doubtful=True,
                )
            )
        elif abs(grip - both) > OTHER_GRIP * both:
            rest = grip - own - thick
            mate = f"a mating part {words(rest)} thick" if rest > ROUNDED * grip else "a mating part with tapped holes"
            found.append(
                Finding(
                    "grip of another flange",
                    None,
                    f"Joint '{name}': the grip, {words(grip)}, fits only {mate}; with a flange like this one on both sides it is {words(both)}, "
                    "gasket included. In a tapped hole it ends where the thread begins. Measure before ordering bolts.",
                )
            )
    return found


def _spacing_rule(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """Where the formula of the greatest bolt spacing fails: whose rule that is."""
    failing = {
        check.where: None
        for case in cases.values()
        for check in case.checks
        if check.check == "widest bolt gap"
        and not np.all(check.holds)
        and in_force(study, study.joints[check.where], study.cases[case.name]).bolt_spacing_greatest == "from formula"
    }
    if not failing:
        return []
    names = ", ".join(f"'{name}'" for name in failing)
    return [Finding("spacing rule of new flanges", None, f"Widest bolt gap of joint {names}: {SPACING_RULE}")]
