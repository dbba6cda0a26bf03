"""What a person should notice about the fluid: heads that contradict each other, boiling, waves.

Each function reads the evaluated cases of a study with one row and returns warnings of a stable kind.
"""

from __future__ import annotations

from anchorsize.assessment.audit import EnergyAudit, leg_audit
from anchorsize.assessment.boiling_above import boiling_above
from anchorsize.assessment.hot import boiling, notice_unknown_boiling
from anchorsize.assessment.results import CaseResult, Finding, OpeningResult
from anchorsize.mechanics import frames
from anchorsize.mechanics.momentum import STANDARD_GRAVITY
from anchorsize.study import FLOW_CHANGE, Case, Study
from anchorsize.units import figures, show

HIGH_LOSS = 5.0  # loss coefficient over which a fitting's pressures are doubted: common practice, no source
HOPELESS_LOSS = 20.0  # loss coefficient that no open fitting has: common practice, no source
SLIGHT_HEAD = (
    0.5  # m: differences of head below it move no verdict by much (5 kPa of water); common practice, no source
)
SLIGHT_SHARE = 0.02  # of the greatest head: what gauges on one line differ by; common practice, no source
MATTERS = 0.05  # of the greatest pressure: a difference of still pressures that counts; common practice, no source
ROUNDED_HEAD = 0.005  # m: what rounding of a written pressure makes of a head
NOTICED = 0.01  # change of a figure that is worth telling: common practice, no source
NO_PRESSURE = 1.0  # Pa: below it, of either sign, an opening counts as open to the air


def notice_flow(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """All findings about the fluid, in the order in which a reader needs them."""
    found = []
    for name, result in cases.items():
        case = study.cases[name]
        found += [*_energy(study, case, result), *boiling(study, case, result.openings)]
        found += boiling_above(study, case, result.openings)
    found += notice_unknown_boiling(study, {name: result.openings for name, result in cases.items()})
    for name, result in cases.items():
        found += [*_surge_legs(study, name, result), *_counted_twice(study.cases[name], result)]
    return found + _flow_change(study, cases)


def _energy(study: Study, case: Case, result: CaseResult) -> list[Finding]:
    """Openings whose pressures and flows would need a pump inside the fitting, or lose more than a fitting can."""
    audit = result.energy
    if audit is None or not case.contents_full:
        return _still(study, case, result)
    loss, coefficient = float(audit.head_loss), float(audit.loss_coefficient)
    if bool(audit.gains) or (coefficient < -1.0 and loss < -ROUNDED_HEAD):
        return [_gain(study, case.name, loss, coefficient)]
    if driven := _driven(study, case, result):
        return driven
    if coefficient > HIGH_LOSS:
        return [_high_loss(study, case, audit), *_still(study, case, result)]
    return _still(study, case, result)


def _gain(study: Study, name: str, loss: float, coefficient: float) -> Finding:
    return Finding(
        "energy gained",
        name,
        f"The data contradict themselves: the fluid would leave with {show(abs(loss), 'head', study.units)} more total head "
        f"than it brings in (K = {figures(coefficient, 3)}). A pressure, a flow or a bore is wrong, so neither is the reaction right.",
        doubtful=True,
    )


def _driven(study: Study, case: Case, result: CaseResult) -> list[Finding]:
    """Streams that would gain more head than the fastest that enters has to give: its velocity head."""
    most = max(float(o.velocity) ** 2 * (float(o.mass_flow) < 0.0) for o in result.openings.values())
    most /= 2.0 * STANDARD_GRAVITY
    return [
        Finding(
            "energy gained",
            case.name,
            f"The data contradict themselves: the stream at '{name}' would gain {show(-leg.head_loss, 'head', study.units)} of total "
            f"head, more than the fastest stream that enters can give it ({show(most, 'head', study.units)}). A pressure, a flow or a bore is wrong, "
            "so neither is the reaction right.",
            doubtful=True,
        )
        for name, leg in leg_audit(study, case, result.openings).items()
        if -leg.head_loss > most + SLIGHT_HEAD
    ]


def _high_loss(study: Study, case: Case, audit: EnergyAudit) -> Finding:
    coefficient, given = float(audit.loss_coefficient), all(state.losses is None for state in case.states.values())
    lead = (
        f"The pressures given imply a loss coefficient of {coefficient:.3g} on the velocity at {audit.velocity_at}, a loss of "
        f"{show(float(audit.head_loss), 'head', study.units)} of head."
    )
    if case.throttled:
        why = "The case says throttled: a valve or an orifice in the fitting takes it; whether it takes as much is not checked."
        return Finding("high loss", case.name, f"{lead} {why}")
    return Finding(
        "high loss",
        case.name,
        f"{lead} That is much for a fitting (well under 5 is usual): check pressures, flow and bores. If a valve or an orifice in the "
        f"fitting takes it, write throttled: true in this case.{_of_a_nozzle(case)}",
        doubtful=given and coefficient > HOPELESS_LOSS and float(audit.head_loss) > SLIGHT_HEAD,
    )


def _of_a_nozzle(case: Case) -> str:
    """What to write for a nozzle, where the case has a mouth that one may stand at."""
    if all(state.exit != "free_jet" for state in case.states.values()):
        return ""
    return (
        " A nozzle or an orifice at the mouth of a free jet takes no head, it turns it into velocity: write the jet's own bore at that "
        "opening, or a nozzle as the last part of the shape, not throttled."
    )


def _still(study: Study, case: Case, result: CaseResult) -> list[Finding]:
    """Openings without flow whose head does not agree with that of the fluid beside them.

    Where nothing flows the surge counts, for it raises all of one still body of water; beside a flow the steady heads are compared.
    """
    if not case.contents_full or any(state.gas is not None for state in case.states.values()):
        return []
    full = {name: o for name, o in result.openings.items() if o.exit != "capped"}
    if all(abs(float(o.pressure)) < NO_PRESSURE for o in full.values()):
        return []  # open to the air: there is nothing to agree with
    low = min(float(frames.part_along(study.openings[name].center, study.up)) for name in full)
    still = [name for name, o in full.items() if float(o.mass_flow) == 0.0]
    flows = len(still) < len(full)
    head = {
        name: float(o.pressure - (o.surge_rise if flows else 0.0)) / (float(o.density) * STANDARD_GRAVITY)
        + float(frames.part_along(study.openings[name].center, study.up))
        - low
        for name, o in full.items()
    }
    slight = max(SLIGHT_HEAD, SLIGHT_SHARE * max(abs(each) for each in head.values()))
    if not flows:
        return _two_heads(study, case.name, full, head, slight)
    most = max(
        head[name] + float(full[name].velocity) ** 2 / (2.0 * STANDARD_GRAVITY) for name in full if name not in still
    )
    least = min(head[name] for name in full if name not in still)
    return [
        Finding(
            "still fluid disagrees",
            case.name,
            f"No fluid flows at '{name}', yet its pressure of {show(float(full[name].pressure), 'pressure', study.units)} is "
            f"{show(max(head[name] - most, least - head[name]), 'head', study.units)} of head {'over' if head[name] > most else 'under'} "
            "anything that the fluid flowing past it can give. A pressure or a flow is wrong, or a closed valve stands in the fitting "
            "itself: write that opening capped.",
            doubtful=True,
        )
        for name in still
        if head[name] > most + slight or head[name] < least - slight
    ]


def _two_heads(
    study: Study, case: str, full: dict[str, OpeningResult], head: dict[str, float], slight: float
) -> list[Finding]:
    """Nothing flows, so that all openings of the fitting have one head."""
    top, bottom = max(head, key=lambda name: head[name]), min(head, key=lambda name: head[name])
    if head[top] - head[bottom] <= slight:
        return []
    said = " and ".join(
        f"'{name}' ({show(float(full[name].pressure), 'pressure', study.units)})" for name in (top, bottom)
    )
    apart = (head[top] - head[bottom]) * float(full[top].density) * STANDARD_GRAVITY
    if apart <= MATTERS * max(abs(float(o.pressure)) for o in full.values()):
        wide = max((top, bottom), key=lambda name: float(study.openings[name].area))
        force = show(apart * float(study.openings[wide].area), "force", study.units)
        return [
            Finding(
                "still fluid disagrees",
                case,
                f"Nothing flows, yet the pressures at {said} differ by {show(apart, 'pressure', study.units)} more than their heights explain: "
                f"{force} on the area of '{wide}'. Still fluid in one fitting has one head; to be exact, write the pressure of the higher "
                "opening less by ρ g times the height between them.",
            )
        ]
    return [
        Finding(
            "still fluid disagrees",
            case,
            f"The data contradict themselves: nothing flows, yet the pressures at {said} differ by "
            f"{show(head[top] - head[bottom], 'head', study.units)} of head more than their heights explain. Still fluid in one "
            "fitting has one head: a pressure is wrong, or a flow is missing, or a closed valve or blank stands between: write the opening "
            f"behind it capped.{_of_the_surge(study, full)}",
            doubtful=True,
        )
    ]


def _of_the_surge(study: Study, full: dict[str, OpeningResult]) -> str:
    """What to write where a surge is part of the pressures that disagree; nothing where there is none."""
    rises = {name: float(o.surge_rise) for name, o in full.items() if float(o.surge_rise) > 0.0}
    if not rises:
        return ""
    if len(rises) == len(full):
        told = " and ".join(f"{show(rise, 'pressure', study.units)} at '{name}'" for name, rise in rises.items())
        return (
            f" The surges raise it by {told}, each by the velocity stopped in its own bore: write pipe: {{inside: …}} under "
            "each surge, the bore of the one line in which the wave runs, or one pressure that contains it."
        )
    return " The surge raises every opening of the still fitting: write it at each, or one pressure that contains it."


def _surge_legs(study: Study, name: str, result: CaseResult) -> list[Finding]:
    """The force of the travelling wave on the pipe that brings it: not in the fitting's reaction, but someone's to hold."""
    found = []
    for opening, state in study.cases[name].states.items():
        wave = state.surge
        if wave is None or float(wave.stopped_flow) == 0.0:
            continue
        # also of a slow stop: what the echo takes off the rise at the valve it adds to the fall along the pipe
        force = float(result.openings[opening].surge_rise) * float(wave.area(study.openings[opening].area))
        found.append(
            Finding(
                "wave in a leg",
                name,
                f"While the wave runs along a straight leg of the pipe at '{opening}', it pushes that leg along its axis with up "
                f"to {show(force, 'force', study.units)}, the whole rise on its bore. That is not in the fitting's reaction: the pipe's own anchors must "
                "hold it. A dynamic factor of 2 is common practice for a sudden load (no source).",
            )
        )
    return found


def _counted_twice(case: Case, result: CaseResult) -> list[Finding]:
    """A surge and a dynamic factor in one case."""
    where = [name for name, o in result.openings.items() if float(o.surge_rise) > 0.0]
    factor = float(case.dynamic_factor)
    if not where or factor <= 1.0:
        return []
    return [
        Finding(
            "event counted twice",
            case.name,
            f"The case has a surge at {listed(where)} and a dynamic factor of {figures(factor, 3)}, which multiplies the thrust of the "
            "surge as well. Where both stand for one event it is counted twice: keep the factor only for how suddenly the fitting is "
            "loaded, or take one of them out.",
        )
    ]


def _flow_change(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    if all(opening.path_moment is not None for opening in study.openings.values()):
        return []
    return [
        Finding(
            "moment of the flow change estimated",
            name,
            "The moment of the changing flow is worked out along straight lines between the openings, since the fitting's centerline is "
            "not known; its force is exact. Build the fitting from its shape to have both.",
        )
        for name, result in cases.items()
        if any(load.source == FLOW_CHANGE for load in result.loads)
    ]


def listed(names: list[str]) -> str:
    """Names in quotes, one after the other."""
    return ", ".join(f"'{name}'" for name in names)
