"""What a person should notice about a surge beyond its rise: a valve that stops the flow late, and the fall that follows the rise."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from anchorsize.assessment.evaluation import evaluate
from anchorsize.assessment.findings_flow import MATTERS, NO_PRESSURE, NOTICED, listed
from anchorsize.assessment.findings_support_data import COLUMN_PARTS, SUCTION_AFTER
from anchorsize.assessment.findings_support_give import joined
from anchorsize.assessment.hot import LIQUID, ambient_of, least_pressure, outside_taken
from anchorsize.assessment.results import CaseResult, Check, Finding, StudyError
from anchorsize.mechanics.momentum import STANDARD_GRAVITY
from anchorsize.mechanics.surge import closing_valve_rise
from anchorsize.study import Case, Study, Surge
from anchorsize.units import figures, show

STOPS_LATE = "valve stops the flow late"
FALLS = "After the rise the wave comes back, and the pressure may fall about as far below that before the stop as it rose above: "
WITHIN = 0.999
"""Share of the suction at the vapor pressure that is told as a pressure to write: rounded figures must not pass that pressure."""

NAMED = 3  # checks that fail, or cases, named one by one; more are counted


@dataclass(frozen=True)
class _Surged:
    """A surge that raises the pressure of a liquid: where, its wave, the velocity stopped [m/s], before and rise [Pa]."""

    case: str
    opening: str
    wave: Surge
    density: float
    velocity: float
    before: float
    rise: float

    def place(self, cases: list[str]) -> str:
        """Where it is, with its case where several are told of."""
        return f"at '{self.opening}'" + (f" in '{self.case}'" if len(cases) > 1 else "")

    @property
    def lowest(self) -> float:
        """The gauge pressure [Pa] to which the fall that follows may go: as far below that before the stop as it rose above."""
        return self.before - self.rise

    @property
    def by_area(self) -> float:
        """The rise [Pa] where the area of the valve falls evenly, not the flow."""
        if self.wave.closing_time is None or self.wave.pipe_length is None:
            return self.rise
        return float(
            closing_valve_rise(
                self.density,
                self.wave.wave_speed,
                self.velocity,
                self.wave.pipe_length,
                self.wave.closing_time,
                self.before,
            )
        )

    @property
    def whole(self) -> bool:
        """Whether the valve raises the pressure as much as a sudden stop."""
        return self.by_area >= (1.0 - 1e-9) * self._sudden

    @property
    def _sudden(self) -> float:
        return self.density * float(self.wave.wave_speed) * self.velocity


def notice_after_closing(study: Study, option: str, cases: dict[str, CaseResult]) -> list[Finding]:
    """Surges that may rise more than judged, for how the valve closes, and those after which the column parts or is sucked; each kind once."""
    surges = [each for result in cases.values() for each in _surges(study, result)]
    late = [each for each in surges if each.wave.falls_evenly is None and each.by_area > (1.0 + MATTERS) * each.rise]
    return [
        *_stops_late(study, option, cases, late),
        *_column_parts(study, cases, surges),
        *_suction_after(study, cases, surges),
    ]


def _surges(study: Study, result: CaseResult) -> list[_Surged]:
    """The surges of a case that raise the pressure of a liquid; after one that lowers it, boiling is looked for by itself."""
    found = []
    for name, state in study.cases[result.name].states.items():
        o, wave = result.openings[name], state.surge
        if wave is None or state.gas is not None or float(o.density) <= LIQUID or float(o.surge_rise) <= NO_PRESSURE:
            continue
        velocity = float(wave.stopped_flow) / float(wave.area(study.openings[name].area))
        before, rise = float(o.pressure - o.surge_rise), float(o.surge_rise)
        found.append(_Surged(result.name, name, wave, float(o.density), velocity, before, rise))
    return found


# --- a valve whose area falls evenly ---------------------------------------------------------------------------------


def _stops_late(study: Study, option: str, cases: dict[str, CaseResult], late: list[_Surged]) -> list[Finding]:
    if not late:
        return []
    worst, system = max(late, key=lambda each: each.by_area / each.rise), study.units
    names = list(dict.fromkeys(each.case for each in late))
    told = "; ".join(
        f"{each.place(names)} by {show(each.by_area, 'pressure', system)}{' (the whole ρ·a·v)' if each.whole else ''} instead of the "
        f"{show(each.rise, 'pressure', system)} judged"
        for each in sorted(late, key=lambda each: each is not worst)
    )
    more = ", and in the others'," if len(late) > 1 else ""
    return [
        Finding(
            STOPS_LATE,
            names[0] if len(names) == 1 else None,
            f"The pressure may rise {told}, which is 2ρLv/t (Michaud) of a flow that falls evenly: a valve whose area closes evenly, letting "
            "out to the air, stops most of it late where the pressure is low, by rigid column theory (from memory). "
            f"{_then(study, option, cases, late)} Write in its surge{more} falls_evenly: valve_area, which judges that rise, or flow where that "
            f"is what falls evenly; have the surge calculated (method of characteristics) with the valve's own closing; or close slower{_slow_enough(late)}.",
            doubtful=True,
        )
    ]


def with_valve_areas(study: Study) -> Study:
    """The study with each slow stop of which nobody said what falls evenly as that of a valve whose area does."""
    return replace(study, cases={name: _with_valve_areas(case) for name, case in study.cases.items()})


def unsaid(case: Case) -> dict[str, Surge]:
    """The surges of a case, by opening, that take time and of which nobody said what falls evenly meanwhile."""
    return {
        name: wave
        for name, state in case.states.items()
        if (wave := state.surge) is not None and wave.closing_time is not None and wave.falls_evenly is None
    }


def _with_valve_areas(case: Case) -> Case:
    states = {
        name: replace(case.states[name], surge=replace(wave, falls_evenly="valve_area"))
        for name, wave in unsaid(case).items()
    }
    return replace(case, states={**case.states, **states})


def _slow_enough(late: list[_Surged]) -> str:
    """From which closing time on Michaud's rise is the greater of the two, K = 3/2; nothing where no pressure drives the flow."""
    times = [
        each.density * float(each.wave.pipe_length) * each.velocity / (1.5 * each.before)
        for each in late
        if each.wave.pipe_length is not None and each.before > NO_PRESSURE
    ]
    return f": from {figures(max(times), 3)} s on 2ρLv/t is the greater" if len(times) == len(late) else ""


def _then(study: Study, option: str, cases: dict[str, CaseResult], late: list[_Surged]) -> str:
    """Which checks that hold as judged fail with those rises."""
    try:
        then = evaluate(with_valve_areas(study), option)
    except StudyError:
        return "With that the file cannot be judged."
    held = {_key(name, check) for name, case in cases.items() for check in case.checks if bool(np.all(check.holds))}
    fail = [
        (name, check)
        for name, case in then.items()
        for check in case.checks
        if not bool(np.all(check.holds)) and _key(name, check) in held
    ]
    if not fail:
        return "No check that holds as judged fails with that."
    fail.sort(key=lambda pair: -float(pair[1].utilization))
    where = len({each.case for each in late}) > 1 or any(name != late[0].case for name, _ in fail)
    named = [
        f"{check.words} of '{check.where}'{f' in {name!r}' if where else ''} (utilization {figures(float(check.utilization), 3)})"
        for name, check in fail[:NAMED]
    ]
    named += [f"{len(fail) - NAMED} more"] if len(fail) > NAMED else []
    lead = "a check that holds as judged FAILS" if len(fail) == 1 else f"{len(fail)} checks that hold as judged FAIL"
    return f"With that {lead}: {joined(named)}."


def _key(case: str, check: Check) -> tuple[str, str, str]:
    return case, check.check, check.where


# --- the fall that follows the rise ----------------------------------------------------------------------------------


def _column_parts(study: Study, cases: dict[str, CaseResult], surges: list[_Surged]) -> list[Finding]:
    vapor = 0.0 if study.fluid.vapor_pressure is None else float(study.fluid.vapor_pressure)
    least = parts_below(study)
    parts = [each for each in surges if _parts(study, each)]
    if not parts:
        return []
    lowest, system = min(parts, key=lambda each: each.lowest), study.units
    names = list(dict.fromkeys(each.case for each in parts))
    under = "0 absolute" if vapor == 0.0 else f"the vapor pressure, {show(vapor, 'absolute_pressure', system)} absolute"
    suction, own, at_top = "", "", ""
    if lowest.lowest >= least:
        at_top = f"which is, {show(_height_above(study, lowest.opening), 'length', system)} higher at the top of the fitting, "
    if least < -NO_PRESSURE:
        suction = " and the line is under suction"
        here = boils_under(study, lowest.opening, lowest.density)
        if here < -NO_PRESSURE and not _judged(cases, lowest.opening, here):
            own = (
                ", and add a case with the suction, which pulls the fitting toward the pipe: no flow, no surge, pressure: "
                f"{show(WITHIN * here, 'pressure', system)} at '{lowest.opening}'"
            )
    return [
        Finding(
            COLUMN_PARTS,
            names[0] if len(names) == 1 else None,
            f"{FALLS}{lowest.place(names)} by these figures to {show(lowest.lowest, 'pressure', system)}, {at_top}below "
            f"{under}{outside_taken(study)}{_others(names, lowest)}. There the column of liquid parts{suction}; as it rejoins it can strike harder than the "
            f"rise judged. None of that is judged: have the surge calculated{own}.",
        )
    ]


def _suction_after(study: Study, cases: dict[str, CaseResult], surges: list[_Surged]) -> list[Finding]:
    """Surges after which the line is under suction with the column whole; nothing where some case has it, or where the column parts."""
    parted = {each.opening for each in surges if _parts(study, each)}
    sucked = [
        each
        for each in surges
        if each.lowest < -NO_PRESSURE and each.opening not in parted and not _judged(cases, each.opening, each.lowest)
    ]
    if not sucked:
        return []
    lowest, system = min(sucked, key=lambda each: each.lowest), study.units
    names = list(dict.fromkeys(each.case for each in sucked))
    together = [each for each in sucked if each.case == lowest.case]
    told = joined(
        [f"{each.place(names)} by these figures to {show(each.lowest, 'pressure', system)} gauge" for each in together]
    )
    write = [f"pressure: {show(each.lowest, 'pressure', system)} at '{each.opening}'" for each in together]
    return [
        Finding(
            SUCTION_AFTER,
            names[0] if len(names) == 1 else None,
            f"{FALLS}{told}, below the pressure outside{_others(names, lowest)}. There the line is under suction, and no case has that: add "
            f"one, which pulls the fitting toward the pipe: no flow, no surge, {joined(write)}. Supports that only push, gaskets and liners must stand it.",
        )
    ]


def _others(names: list[str], lowest: _Surged) -> str:
    """The other cases of which the same is true; nothing where there is none."""
    return f" (and so in {listed([name for name in names if name != lowest.case])})" if len(names) > 1 else ""


def _parts(study: Study, each: _Surged) -> bool:
    """Whether the column parts after a surge, at its opening or at the highest point of the fitting."""
    return each.lowest < boils_under(study, each.opening, each.density)


def boils_under(study: Study, opening: str, density: float) -> float:
    """The gauge pressure [Pa] at an opening under which the liquid boils at the highest point of the fitting."""
    return parts_below(study) + density * STANDARD_GRAVITY * _height_above(study, opening)


def parts_below(study: Study) -> float:
    """Gauge pressure [Pa] under which the column of liquid parts: that of its vapor, 0 absolute where that is not known."""
    vapor = 0.0 if study.fluid.vapor_pressure is None else float(study.fluid.vapor_pressure)
    return vapor - ambient_of(study)


def _height_above(study: Study, opening: str) -> float:
    """How far the highest point of the fitting [m], where the liquid comes to boil first, lies over an opening."""
    centers = [each.center for each in study.openings.values()]
    if study.fitting.centerline is not None:
        centers += list(np.reshape(study.fitting.centerline, (-1, 3)))
    return max(float((center - study.openings[opening].center) @ study.up) for center in centers)


def _judged(cases: dict[str, CaseResult], opening: str, suction: float) -> bool:
    """Whether a case has about that ``suction`` [Pa] at an opening."""
    return any(
        case.openings[opening].exit == "connected"
        and float(least_pressure(case.openings[opening])) <= (1.0 - NOTICED) * suction
        for case in cases.values()
    )
