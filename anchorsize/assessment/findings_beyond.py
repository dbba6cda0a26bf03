"""What an opening whose line goes on comes to where pressure pushes on more than its bore, as behind a bellows or a sliding coupling.

Where the file gives no effective area, the bore stands in for it; that is the least that any such device has.
"""

from __future__ import annotations

from collections.abc import Iterable

from anchorsize.assessment.findings_flow import NO_PRESSURE, NOTICED, listed
from anchorsize.assessment.findings_unanchored import (
    Loose,
    all_hold,
    at_the_joint,
    fails_then,
    pulled_already,
    then_with,
)
from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.study import Study
from anchorsize.units import figures, show

ON_BORE_ALONE = "pressure on the bore alone"
WIDER = 1.5  # times the bore area that is looked at in place of it: common practice, no source


def wider(study: Study, option: str, cases: dict[str, CaseResult]) -> tuple[Loose, dict[str, CaseResult | None]] | None:
    """What becomes of an option where pressure pushes on :data:`WIDER` bores behind all such ends, and the cases then.

    The pull told is what is added at most at one of them [N], by size. None where no such end is under pressure, where nothing holds
    the fitting, and where the file has the pull of a hose there, which is no bellows.
    """
    added = {
        name: {
            end: force
            for end, force in _wider(result, study.pressed_on_bore).items()
            if abs(float(result.openings[end].pressure_thrust)) > NO_PRESSURE * float(study.openings[end].area)
            and pulled_already(study, name, end) < (1.0 - NOTICED) * abs(float(result.openings[end].thrust))
        }
        for name, result in cases.items()
        if result.joints or result.supports
    }
    pressed = {name: each for name, each in added.items() if each}
    if not pressed:
        return None
    ends = dict.fromkeys(end for each in pressed.values() for end in each)
    most, worst = max((max(abs(force) for force in each.values()), name) for name, each in pressed.items())
    # what pushes into the fitting is a pull outward that is negative
    then = {
        name: then_with(study, option, name, {end: -force for end, force in _wider(cases[name], ends).items()})
        for name in pressed
    }
    holds = all_hold(then.values())
    return Loose(tuple(ends), most, worst, holds), then


def notice_bore_alone(study: Study, option: str, cases: dict[str, CaseResult]) -> list[Finding]:
    """That pressure is taken on the bore of such ends, with what more of it comes to."""
    found = wider(study, option, cases)
    if found is None:
        return []
    more, then = found
    each = " at each" if len(more.ends) > 1 else ""
    return [
        Finding(
            ON_BORE_ALONE,
            more.case if len(then) == 1 else None,
            f"Pressure pushes on the bore of {listed(list(more.ends))} alone. A bellows pushes on its effective area, a sliding coupling on "
            f"the pipe's outside, both on more than the bore and into the fitting: at {figures(WIDER, 2)} times the bore (common practice, no "
            f"source) with up to {show(more.pull, 'force', study.units)} more{each}, in '{more.case}'"
            f"{at_the_joint(study, cases[more.case], then[more.case])}.{fails_then({n: cases[n] for n in then}, then)} Write it under "
            f"beyond, such as {{{more.ends[0]}: {{effective_area: {show(float(study.openings[more.ends[0]].area) * WIDER, 'area', study.units)}}}}}, "
            "by its maker; the bore's area where it is no more.",
        )
    ]


def _wider(result: CaseResult, ends: Iterable[str]) -> dict[str, float]:
    """What pressure pushes into the fitting [N] beside that on the bore, by those of the ends behind which the line goes on."""
    return {
        end: (WIDER - 1.0) * float(result.openings[end].pressure_thrust)
        for end in ends
        if result.openings[end].exit == "connected"
    }
