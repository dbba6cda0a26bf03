"""How far flow and pressure of each case may go: intervals on which every check holds, and the boundary of that region.

All given flows of a case scale together, and so do its given pressures. The plane that the boundary lies in takes the two as
independent; the greatest flow is also sought along the pressures that a rule names, as the curve does.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment import evaluate
from anchorsize.assessment.audit import energy_audit
from anchorsize.assessment.findings_surge_closing import unsaid, with_valve_areas
from anchorsize.assessment.holding import chosen_option
from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import NotChecked, OpeningResult, StudyError, no_such
from anchorsize.assessment.states import opening_states
from anchorsize.studies.curve import PressureRule, discharges_gas, inflow, scaled, with_losses
from anchorsize.studies.limits_boiling import BoilsFrom, boils_above, boils_below, boils_up_to
from anchorsize.studies.limits_boundary import Boundary, boundary, coarse_look
from anchorsize.studies.limits_parting import parts_above
from anchorsize.studies.limits_scan import Judge, Judged, Key, Lines, Span, Stop, scan, scan_grid, together
from anchorsize.studies.rows import judge_rows
from anchorsize.study import Array, Case, Joint, Study
from anchorsize.units import show

FACTOR = 10_000.0  # how many times its own flow and pressure are searched where nothing stops them before
FASTEST = 100.0  # m/s: no pipe of a liquid runs faster; common practice, no source
HIGHEST = 1e8  # Pa: no flange of the tables holds more; common practice, no source
AT_LEAST = 100.0  # times its own that are searched all the same
TOLERANCE = 1e-9  # relative width at which an end counts as found
STEPS = 201  # at which supports are looked at between a case's own point and its limit
OWN_GRID = scan_grid(600, 8.0)  # along the lines through a case's own point


@dataclass(frozen=True)
class CheckLimits:
    """The spans of one check by itself; None where the case has no flow, or no pressure, to change.

    ``moves`` is False where neither changes the check, ``nowhere`` is True where it fails at every flow and pressure looked at.
    """

    check: str
    where: str
    utilization: float
    moves: bool
    flow: Span | None
    pressure: Span | None
    nowhere: bool


@dataclass(frozen=True)
class CaseLimits:
    """How far one case may go.

    ``at`` is the opening whose steady gauge pressure [Pa] is named; ``flow`` [m³/s] and ``pressure`` its spans with the rest
    as the case has it, None where there is none to change. They and ``boundary`` count every check that flow and pressure can
    move; ``fixed`` are those that fail whatever they are, so that nothing is safe as long as they do. ``governing`` is the
    worst check at the case's own point, or the reason why that cannot be judged. ``gains_above`` is the flow [m³/s] above which, along the rule, the fluid
    would leave with more head than it brings in, so that limits beyond it rest on data that contradict themselves; None where no
    flow does that. ``notes`` are sentences; ``let_go`` says which supports carry nothing from some flow or pressure within the limits on;
    ``boils_below`` and ``boils_above`` under which pressure and over which flow the liquid boils, which no check counts, ``boils_up_to``
    up to which flow it does where it boils before anything flows. ``parts_above`` is the stopped flow [m³/s] above which the column parts
    after a surge, which no check counts either; ``by_valve_area`` is how far the case goes if the area of the valve falls evenly, where
    nobody said what does.
    """

    name: str
    at: str | None
    own_flow: float
    own_velocity: float  # of the fastest stream [m/s]
    own_pressure: float | None
    holds: bool
    governing: Stop | None
    utilization: float
    fixed: tuple[CheckLimits, ...]
    flow: Span | None
    pressure: Span | None
    checks: tuple[CheckLimits, ...]
    boundary: Boundary | None
    gains_above: float | None
    path: tuple[Array, Array] | None  # flows and pressures that the rule leads through, where that lies in the plane
    notes: tuple[str, ...]
    let_go: tuple[str, ...] = ()
    boils_below: BoilsFrom | None = None
    boils_above: BoilsFrom | None = None
    boils_up_to: BoilsFrom | None = None
    parts_above: float | None = None
    by_valve_area: CaseLimits | None = None


@dataclass(frozen=True)
class Limits:
    """The limits of every case asked about, and what could not be checked."""

    study: Study
    option: str
    rule: PressureRule
    cases: dict[str, CaseLimits]
    not_checked: tuple[NotChecked, ...]

    @property
    def verdict(self) -> Literal["holds", "fails", "incomplete"]:
        """Whether every case holds at its own point; ``incomplete`` where a needed check could not be made."""
        if not all(case.holds for case in self.cases.values()):
            return "fails"
        return "incomplete" if any(item.needed for item in self.not_checked) else "holds"


@dataclass(frozen=True)
class Ask:
    """What is asked: the rule, the opening, the ends of the search [m³/s, Pa], the cases (none named: all of them).

    ``points`` is the number of lines of the boundary; with 0 it is left out.
    """

    rule: PressureRule = "held"
    at: str | None = None
    to_flow: float | None = None
    to_pressure: float | None = None
    points: int = 41
    cases: tuple[str, ...] = ()


def limits(study: Study, ask: Ask, option: str | None = None) -> Limits:
    """The limits of flow and pressure of the cases asked about, or of all.

    Ends are found to 1e-9 on the batched evaluation, those of the boundary to 1e-7. States that cannot be judged, for want of equilibrium, count as failing.

    Raises
    ------
    StudyError
        An opening or case that is not there, or nothing to change in any case.
    """
    _known("opening", [] if ask.at is None else [ask.at], study.openings)
    _known("case", ask.cases, study.cases)
    chosen = chosen_option(study, option)
    found = {name: _case_limits(study, name, chosen, ask) for name in (ask.cases or study.cases)}
    if all(each.flow is None and each.pressure is None for each in found.values()):
        reasons = dict.fromkeys(note for each in found.values() for note in each.notes)
        raise StudyError("no case has a flow or a pressure to change: " + "; ".join(reasons))
    if ask.to_flow is not None and all(each.flow is None for each in found.values()):
        raise StudyError("no case has a flow to take up to the flow named")
    if ask.to_pressure is not None and all(each.pressure is None for each in found.values()):
        raise StudyError("no case has a pressure to take up to the pressure named")
    return Limits(study, chosen, ask.rule, found, judge_rows(study, (1,), chosen).not_checked)


def _known(what: str, names: Iterable[str], there: Iterable[str]) -> None:
    for name in names:
        if name not in there:
            raise no_such(what, name, there)


def judge_case(study: Study, name: str, option: str) -> tuple[tuple[Key, ...], Judge]:
    """The checks of one case, with any fatigue that it takes part in, and how to judge them at multiples of its state."""
    joints = {each: _of_case(joint, name) for each, joint in study.joints.items()}
    pairs = {each for joint in joints.values() for each in joint.cycles_between or ()}
    cases = {each: case for each, case in study.cases.items() if each == name or each in pairs}
    alone = replace(study, joints=joints, cases=cases)
    places: list[int] = []

    def judge(flow: Array, pressure: Array) -> Judged:
        # what a line leaves alone stays one number, as the file has it
        multiples = (1.0 if np.all(each == 1.0) else each for each in (flow, pressure))
        rows = judge_rows(scaled(alone, name, *multiples), flow.shape, option)
        return Judged(rows.utilization[places], rows.refused, tuple(rows.checks[i] for i in places))

    keys = judge_rows(alone, (1,), option).keys
    places += [i for i, (case, check, _) in enumerate(keys) if case == name or check == "bolt fatigue"]
    return tuple(keys[i][1:] for i in places), judge


def of_cases(study: Study, names: Iterable[str]) -> Study:
    """The study with these cases alone, and with the pairs of cases that repeat where both are among them."""
    kept = {each: case for each, case in study.cases.items() if each in names}
    joints = {
        each: joint if all(name in kept for name in joint.cycles_between or ()) else replace(joint, cycles_between=None)
        for each, joint in study.joints.items()
    }
    return replace(study, joints=joints, cases=kept)


def _of_case(joint: Joint, name: str) -> Joint:
    """The joint without the pair of cases that repeat, where this case is none of them."""
    pair = joint.cycles_between
    return joint if pair is None or name in pair else replace(joint, cycles_between=None)


@dataclass(frozen=True)
class _Own:
    """A case as the file gives it, and what of it can change: ``flow`` and ``pressure`` are 0 where it cannot.

    ``follows`` is the study along which the flow changes under the rule, None where the rule cannot be followed. ``stopped`` says that
    the flow is the one that a surge of a case at rest has stopped.
    """

    flow: float
    velocity: float  # of the fastest stream [m/s]
    at: str | None
    pressure: float
    follows: Study | None
    notes: tuple[str, ...]
    stopped: bool = False


def _own(study: Study, name: str, ask: Ask) -> _Own:
    """Flow [m³/s] and named pressure [Pa] of a case."""
    case = study.cases[name]
    if discharges_gas(case):
        return _Own(0.0, 0.0, None, 0.0, None, ("it discharges gas, whose flow fixes its pressure",))
    openings = opening_states(study, case)
    flow, follows, notes = inflow(openings), study, []
    velocity = max(float(np.asarray(each.velocity)) for each in openings.values())
    at = _named(case, openings, ask.at)
    pressure = 0.0 if at is None else float(np.asarray(case.states[at].pressure))
    if at is None:
        notes.append("it has no pressure above zero to change" + (f" at '{ask.at}'" if ask.at else ""))
    if flow <= 0.0:
        flow, velocity = _stopped(study, case)
        if flow <= 0.0:
            return _Own(0.0, 0.0, at, pressure, None, ("it has no flow to change", *notes))
        notes.append(
            "nothing flows; its flow is the one that its surge has stopped (stopped_flow), other pressures held"
        )
        return _Own(flow, velocity, at, pressure, study, tuple(notes), stopped=True)
    if ask.rule == "from losses":
        try:
            follows = with_losses(study, name, openings)
        except StudyError as error:
            return _Own(flow, velocity, at, pressure, None, (*notes, f"no greatest flow: {error}"))
    return _Own(flow, velocity, at, pressure, follows, tuple(notes))


def _stopped(study: Study, case: Case) -> tuple[float, float]:
    """The greatest flow [m³/s] that a surge of a case has stopped, and the greatest velocity [m/s]; 0 without any."""
    waves = {name: state.surge for name, state in case.states.items() if state.surge is not None}
    flows = {name: float(np.asarray(wave.stopped_flow)) for name, wave in waves.items()}
    velocities = [flows[name] / float(np.asarray(wave.area(study.openings[name].area))) for name, wave in waves.items()]
    return max(flows.values(), default=0.0), max(velocities, default=0.0)


def _named(case: Case, openings: dict[str, OpeningResult], at: str | None) -> str | None:
    """The opening whose pressure is named: as asked, else where the flow enters, else where most pressure is given."""
    given = {name: float(np.asarray(each.pressure)) for name, each in case.states.items() if each.pressure is not None}
    given = {name: pressure for name, pressure in given.items() if pressure > 0.0}
    if at is not None:
        return at if at in given else None
    entry = min(openings, key=lambda name: float(np.asarray(openings[name].flow)))
    if entry in given and float(np.asarray(openings[entry].flow)) < 0.0:
        return entry
    return max(given, key=lambda name: given[name], default=None)


def _case_limits(study: Study, name: str, option: str, ask: Ask) -> CaseLimits:
    own = _own(study, name, ask)
    keys, judge = judge_case(study, name, option)
    here = judge(np.ones(1), np.ones(1))
    worst = _worst(here, keys)
    top_flow = None if own.flow == 0.0 else _top(ask.to_flow, own.flow, FASTEST / own.velocity)
    top_pressure = None if own.at is None else _top(ask.to_pressure, own.pressure, HIGHEST / own.pressure)
    coarse = coarse_look(judge, top_flow, top_pressure)
    counted, changes = ~coarse.fixed, top_flow is not None or top_pressure is not None
    flow: tuple[Span | None, ...] = (None,) * (len(keys) + 1)
    pressure = flow
    squared = ask.rule == "square" and not own.stopped
    if top_flow is not None and own.follows is not None:
        along = judge if own.follows is study else judge_case(own.follows, name, option)[1]
        power, start, end = (2.0, 0.0, top_flow**2) if squared else (1.0, 1.0, 1.0)
        line = Lines(np.zeros(1), np.full(1, top_flow), np.full(1, start), np.full(1, end), power)
        flow = _on(along, line, keys, counted, top_flow * own.flow)
    if top_pressure is not None:
        line = Lines(np.ones(1), np.ones(1), np.zeros(1), np.full(1, top_pressure))
        pressure = _on(judge, line, keys, counted, top_pressure * own.pressure)
    checks = tuple(
        CheckLimits(
            *key,
            float(here.utilization[i, 0]),
            bool(coarse.moves[i]),
            *spans,
            nowhere=bool(coarse.never[i]) and not any(span.intervals for span in spans if span is not None),
        )
        for i, (key, spans) in enumerate(zip(keys, zip(flow[1:], pressure[1:], strict=True), strict=True))
    )
    plane, notes = None, own.notes
    if top_flow is not None and top_pressure is not None and ask.points > 0:
        ends = (ask.to_flow, ask.to_pressure)
        plane = boundary(judge, keys, coarse, (own.flow, own.pressure), (flow[0], pressure[0]), ends, ask.points)
        if plane is None:
            notes = (*notes, "no flow and pressure were found at which it holds")
    let_go: list[str] = []
    if own.follows is not None and flow[0] is not None:
        let_go += _let_go(own.follows, name, option, ("flow", own.flow, flow[0].greatest), squared)
    if pressure[0] is not None:
        let_go += _let_go(study, name, option, ("pressure", own.pressure, pressure[0].greatest), squared)
    use = float(together(here, np.ones(len(keys), dtype=np.bool_))[0, 0])
    return CaseLimits(
        name=name,
        at=own.at,
        own_flow=own.flow,
        own_velocity=own.velocity,
        own_pressure=None if own.at is None else own.pressure,
        holds=use <= 1.0,
        governing=worst,
        utilization=use,
        fixed=tuple(each for each, never in zip(checks, coarse.fixed, strict=True) if never and changes),
        flow=flow[0],
        pressure=pressure[0],
        checks=checks,
        boundary=plane,
        gains_above=None if flow[0] is None else _gains_above(own, name, squared),
        path=None if plane is None else _path(own, name, float(plane.flows[-1]), squared),
        notes=notes,
        let_go=tuple(let_go),
        boils_below=None if top_pressure is None else boils_below(study, name, own.pressure),
        boils_above=None
        if own.follows is None or flow[0] is None
        else boils_above(own.follows, name, own.flow, squared),
        boils_up_to=None
        if own.follows is None or flow[0] is None
        else boils_up_to(own.follows, name, own.flow, squared),
        parts_above=None
        if own.follows is None or flow[0] is None
        else parts_above(own.follows, name, (own.flow, flow[0].greatest), squared),
        by_valve_area=_case_limits(with_valve_areas(study), name, option, replace(ask, points=0))
        if changes and unsaid(study.cases[name])
        else None,
    )


def _let_go(study: Study, name: str, option: str, moved: tuple[str, float, float | None], squared: bool) -> list[str]:
    """Supports that carry at the case's own point and nothing farther on, up to the greatest flow or pressure that holds.

    ``moved`` is which of the two changes, its own value and the greatest (None where there is none above).
    """
    kind, own, most = moved
    if most is None or not np.isfinite(most) or most <= own or not study.supports.get(option):
        return []
    multiples = np.linspace(1.0, most / own, STEPS)
    of_flow = kind == "flow"
    there = (multiples, multiples**2 if squared else 1.0) if of_flow else (1.0, multiples)
    joints = {each: _of_case(joint, "") for each, joint in study.joints.items()}
    alone = replace(study, joints=joints, cases={name: study.cases[name]})
    refused = Refused(multiples.shape)
    supports = evaluate(scaled(alone, name, *there), option, refused)[name].supports
    told = []
    for each, result in supports.items():
        idle = np.broadcast_to(result.idle, multiples.shape) & ~refused.rows
        if np.any(idle) and not idle[0]:
            start = show(own * float(multiples[int(np.argmax(idle))]), kind, study.units)
            told.append(f"support '{each}' lets go, slack or lifted, from a {kind} of about {start} on")
    return told


def _top(end: float | None, own: float, absurd: float) -> float:
    """End of the search as a multiple of a case's own; where none is asked for, what no line carries ends it."""
    return min(FACTOR, max(AT_LEAST, absurd)) if end is None else end / own


def _gains_above(own: _Own, name: str, squared: bool) -> float | None:
    """Flow [m³/s] along the rule above which the fluid would gain head; 0 where it does at any flow.

    Velocity heads, a loss by its coefficient and pressures that follow the rule ``square`` go with the square of the flow; heights and
    pressures that are held do not change. So the head lost is a + b times that square, and two flows tell a and b.
    """
    study, once = own.follows, np.array([1.0, 2.0])
    if study is None:
        return None
    followed = scaled(study, name, once, once**2 if squared else 1.0)
    audit = energy_audit(followed, followed.cases[name], opening_states(followed, followed.cases[name]))
    if audit is None:
        return None
    one, two = (float(loss) for loss in np.broadcast_to(audit.head_loss, (2,)))
    held, rises = (4.0 * one - two) / 3.0, (two - one) / 3.0
    return own.flow * float(np.sqrt(max(-held / rises, 0.0))) if rises < 0.0 else None


def _worst(judged: Judged, keys: tuple[Key, ...]) -> Stop | None:
    """The check that governs the one row judged, or why it cannot be judged."""
    reason = judged.reason(0)
    if reason is not None:
        return Stop(None, None, reason)
    place = int(np.argmax(judged.utilization[:, 0])) if keys else 0
    return judged.stop(keys[place], place, 0) if keys else None


def _on(
    judge: Judge, line: Lines, keys: tuple[Key, ...], counted: NDArray[np.bool_], unit: float
) -> tuple[Span | None, ...]:
    """Spans on one line, of every check together and then of each."""
    return tuple(each[0].times(unit) for each in scan(judge, line, OWN_GRID, keys, counted, TOLERANCE).spans)


def _path(own: _Own, name: str, end: float, squared: bool) -> tuple[Array, Array] | None:
    """Flows and named pressures that the rule leads through; None where other pressures do not follow in proportion."""
    study = own.follows
    if study is None or own.at is None:
        return None
    others = [state.pressure for each, state in study.cases[name].states.items() if each != own.at]
    led = study.cases[name].states[own.at].losses is not None
    if led and any(other is not None and np.any(np.asarray(other) != 0.0) for other in others):
        return None
    multiple = np.linspace(0.0, end / own.flow, 201)
    followed = scaled(study, name, multiple, multiple**2 if squared else 1.0)
    at = opening_states(followed, followed.cases[name])[own.at]
    return multiple * own.flow, np.broadcast_to(at.pressure - at.surge_rise, multiple.shape)
