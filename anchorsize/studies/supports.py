"""Support options side by side: who carries what in every case, what holds, what it takes to build, which is best and why."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from anchorsize.assessment import assess, evaluate
from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.findings_support_data import HOLDS_BY_FRICTION
from anchorsize.assessment.holding import NO_SUPPORT
from anchorsize.assessment.movement import greatest_movement, pipe_moment
from anchorsize.assessment.results import Assessment, CaseResult, Check, NotChecked, StudyError, SupportResult
from anchorsize.mechanics.frames import resultant_moment
from anchorsize.studies.support_materials import Materials, materials
from anchorsize.study import Study, Support

SAME = 1e-9
"""Share by which utilizations may differ and still count as the same."""

STRETCHED = ("bolt proof", "bolt breaking")
"""The checks of which preload is part."""

TIE = 1.01
"""Ratio of utilizations up to which two options are practically as good: common practice, no source."""

Case = tuple[str, Check]
Key = tuple[str, str, str]
"""Case, check and where."""


class Peak(NamedTuple):
    """The case in which something is greatest by size, and its value (SI)."""

    case: str
    value: float


@dataclass(frozen=True)
class Carried:
    """What one support carries over all cases: least and greatest force along its direction [N], friction across it [N]."""

    support: Support
    results: dict[str, SupportResult]  # by case

    @property
    def least(self) -> tuple[str, float]:
        """Case and force of the least push."""
        return min(self._pushes(), key=lambda pair: pair[1])

    @property
    def greatest(self) -> tuple[str, float]:
        """Case and force of the greatest push."""
        return max(self._pushes(), key=lambda pair: pair[1])

    @property
    def greatest_size(self) -> tuple[str, float]:
        """Case and force that is greatest by size, with its sign."""
        return max(self._pushes(), key=lambda pair: abs(pair[1]))

    @property
    def carries(self) -> bool:
        """Whether it gives any force along its direction in any case."""
        return any(force != 0.0 for _, force in self._pushes())

    @property
    def idle(self) -> bool:
        """Whether it carries nothing or next to nothing in every case."""
        return len(self.idle_in) == len(self.results)

    @property
    def idle_in(self) -> list[str]:
        """The cases in which it carries nothing or next to nothing: slack, lifted, in its gap, or not moved."""
        return [name for name, each in self.results.items() if np.all(each.idle)]

    @property
    def greatest_across(self) -> float:
        """Greatest force across the direction [N]: friction, or an anchor's."""
        return max(float(np.linalg.norm(each.friction)) for each in self.results.values())

    def _pushes(self) -> list[tuple[str, float]]:
        return [(name, float(np.asarray(each.push))) for name, each in self.results.items()]


@dataclass(frozen=True)
class Option:
    """One option judged; ``refused`` says why it cannot be, and ``assessment`` is then None."""

    name: str
    supports: tuple[Support, ...]
    assessment: Assessment | None
    refused: str = ""

    @cached_property
    def checks(self) -> list[Case]:
        """Every check under load with its case, those of layout left out: no support changes them."""
        return [pair for pair in self.all_checks if pair[1].check not in LAYOUT]

    @cached_property
    def all_checks(self) -> list[Case]:
        """Every check with its case."""
        if self.assessment is None:
            return []
        return [(name, check) for name, case in self.assessment.cases.items() for check in case.checks]

    @property
    def most_used(self) -> Case | None:
        """The check with the greatest utilization, of joints, supports and layout."""
        return max(self.all_checks, key=_used, default=None)

    @property
    def governing(self) -> Case | None:
        """The check with the greatest utilization, of joints and supports."""
        return max(self.checks, key=_used, default=None)

    def deciding(self, common: frozenset[Key]) -> Case | None:
        """The check with the greatest utilization of those that the choice of supports changes."""
        return max((pair for pair in self.checks if _key(pair) not in common), key=_used, default=None)

    @property
    def governing_bolt(self) -> Case | None:
        """The check on a bolt with the greatest utilization."""
        return max((pair for pair in self.checks if pair[1].bolt is not None), key=_used, default=None)

    @property
    def failing(self) -> list[Case]:
        """The checks that do not hold, those of layout among them, worst first."""
        return sorted((pair for pair in self.all_checks if not pair[1].holds), key=_used, reverse=True)

    @property
    def holds(self) -> bool:
        """Whether every check made holds and none that the job needs is missing."""
        return self.assessment is not None and self.assessment.verdict == "holds"

    @property
    def doubtful(self) -> bool:
        """Whether a finding says that its input itself is doubtful."""
        return self.assessment is not None and self.assessment.doubtful

    @property
    def by_friction(self) -> bool:
        """Whether it holds only by friction at its supports."""
        return self.assessment is not None and any(each.kind == HOLDS_BY_FRICTION for each in self.assessment.warnings)

    @cached_property
    def joint_moments(self) -> dict[str, float]:
        """Greatest moment on a joint, bending and torsion together, in each case [N·m]."""
        return self._by_case(
            lambda _, case: [float(resultant_moment(each.bending, each.torsion)) for each in case.joints.values()]
        )

    @cached_property
    def joint_bendings(self) -> dict[str, float]:
        """Greatest bending moment on a joint in each case [N·m]."""
        return self._by_case(lambda _, case: [float(np.asarray(joint.bending)) for joint in case.joints.values()])

    @cached_property
    def joint_axials(self) -> dict[str, float]:
        """Axial force on a joint in each case [N], of several the greatest by size; positive opens it, pressure thrust in, annulus not."""
        found = {} if self.assessment is None else self.assessment.cases
        axials = {
            name: [float(np.asarray(each.axial)) for each in case.joints.values()] for name, case in found.items()
        }
        return {name: max(values, key=abs) for name, values in axials.items() if values}

    @cached_property
    def joint_shears(self) -> dict[str, float]:
        """Greatest shear on a joint in each case [N]."""
        return self._by_case(lambda _, case: [float(np.asarray(joint.shear)) for joint in case.joints.values()])

    @cached_property
    def joint_torsions(self) -> dict[str, float]:
        """Greatest torsion on a joint, by size, in each case [N·m]."""
        return self._by_case(lambda _, case: [abs(float(np.asarray(joint.torsion))) for joint in case.joints.values()])

    @cached_property
    def pipe_moments(self) -> dict[str, float]:
        """Greatest moment, torsion in, at the fixed end of the pipe behind a joint in each case [N·m]; empty where no such pipe is given."""
        return self._by_case(lambda study, case: [pipe_moment(study, name, each) for name, each in case.joints.items()])

    @cached_property
    def movements(self) -> dict[str, float]:
        """Greatest movement of an opening, mass or load in each case [m]; empty where a joint counts as rigid.

        The supports' own points are left out: they differ between options.
        """

        def moves(study: Study, case: CaseResult) -> list[float | None]:
            found = greatest_movement(study, case, with_supports=False)
            return [None if found is None else found[1]]

        return self._by_case(moves)

    def _by_case(self, values: Callable[[Study, CaseResult], Sequence[float | None]]) -> dict[str, float]:
        """The greatest of the values in each case that has one."""
        if self.assessment is None:
            return {}
        found = {
            name: [value for value in values(self.assessment.study, case) if value is not None]
            for name, case in self.assessment.cases.items()
        }
        return {name: max(known) for name, known in found.items() if known}

    @property
    def joint_moment(self) -> Peak | None:
        """Case and greatest moment on a joint, bending and torsion together."""
        return _peak(self.joint_moments)

    @property
    def joint_bending(self) -> Peak | None:
        """Case and greatest bending moment on a joint."""
        return _peak(self.joint_bendings)

    @property
    def joint_axial(self) -> Peak | None:
        """Case and axial force on a joint that is greatest by size, with its sign."""
        return _peak(self.joint_axials)

    @property
    def joint_shear(self) -> Peak | None:
        """Case and greatest shear on a joint."""
        return _peak(self.joint_shears)

    @property
    def joint_torsion(self) -> Peak | None:
        """Case and greatest torsion on a joint."""
        return _peak(self.joint_torsions)

    @property
    def pipe_moment(self) -> Peak | None:
        """Case and greatest moment in the pipe behind a joint, torsion in."""
        return _peak(self.pipe_moments)

    @property
    def movement(self) -> Peak | None:
        """Case and greatest movement."""
        return _peak(self.movements)

    def preload_share(self, pair: Case) -> float | None:
        """How much of a bolt's stress is preload alone, of a check of proof or breaking [-]; None of any other check."""
        name, check = pair
        if self.assessment is None or check.check not in STRETCHED or check.where not in self.assessment.study.joints:
            return None
        clamped = self.assessment.cases[name].joints[check.where].clamping
        if clamped is None:
            return None
        bolts = self.assessment.study.joints[check.where].bolts
        stress = np.asarray(clamped.greatest) / bolts.tensile_area
        return float(np.max(np.where(bolts.present, stress, 0.0)) / np.asarray(check.demand))

    def joint_use(self, common: frozenset[Key]) -> float:
        """The greatest utilization of the checks of joints that the choice of supports changes; 0 where there is none."""
        names = {support.name for support in self.supports}
        return max((_used(p) for p in self.checks if p[1].where not in names and _key(p) not in common), default=0.0)

    @property
    def lift_off(self) -> float | None:
        """Greatest share of a joint's face that opens at the least preload [-]; None where that is not known."""
        if self.assessment is None:
            return None
        services = [j.service for case in self.assessment.cases.values() for j in case.joints.values()]
        shares = [s.lift_off_least for s in services if s is not None and s.lift_off_least is not None]
        return max((float(np.asarray(share)) for share in shares), default=None)

    @cached_property
    def carried(self) -> list[Carried]:
        """What each support carries, in the order of the file."""
        if self.assessment is None:
            return []
        cases = self.assessment.cases
        return [
            Carried(each, {name: case.supports[each.name] for name, case in cases.items()})
            for each in self.supports
            if all(each.name in case.supports for case in cases.values())
        ]

    @property
    def not_made(self) -> list[NotChecked]:
        """The checks of its supports that were not made for want of input."""
        names = {support.name for support in self.supports}
        return [] if self.assessment is None else [i for i in self.assessment.not_checked if i.where in names]

    def worst_of(self, support: Support, case: str) -> Check | None:
        """The check of a support with the greatest utilization in a case."""
        mine = [pair for pair in self.checks if pair[0] == case and pair[1].where == support.name]
        worst = max(mine, key=_used, default=None)
        return None if worst is None else worst[1]

    @property
    def materials(self) -> Materials:
        """What the supports are made of."""
        return materials(self.supports)

    @property
    def cost(self) -> float | None:
        """Sum of the costs given; None where a support has none."""
        costs = [each.cost for each in self.supports]
        return (
            None
            if any(cost is None for cost in costs)
            else float(sum(float(cost) for cost in costs if cost is not None))
        )


@dataclass(frozen=True)
class Comparison:
    """All options of a study. ``best`` is the one that holds with the greatest margin, None where none holds; of those practically
    as good one whose input is not doubtful leads, then one that does not hold by friction alone, then the one with the fewest supports.

    ``common`` are the checks that every option leaves as they are, such as gasket seating: they do not rank.
    """

    study: Study
    options: tuple[Option, ...]
    best: Option | None
    cheapest: Option | None  # of those that hold and have a cost for every support
    common: frozenset[Key]

    @property
    def gains_nothing(self) -> bool:
        """Whether the bolts alone are the best, although there are options with supports."""
        return self.best is not None and not self.best.supports and any(option.supports for option in self.options)


def as_good(option: Option, best: Option, common: frozenset[Key]) -> bool:
    """Whether an option is practically as good as another, by the checks that the choice changes."""
    return _used(option.deciding(common), 0.0) <= TIE * _used(best.deciding(common), 0.0)


def compare(study: Study) -> Comparison:
    """Judge every support option of a study, and no support at all for comparison where the file has no such option.

    Raises
    ------
    StudyError
        Where no option can be judged.
    """
    options = dict(study.supports)
    if not options and not study.joints:
        raise StudyError("nothing holds the fitting: give it a joint, or supports")
    if all(options.values()) and len(study.joints) == 1:
        options = {_free_name(study): (), **options}
    study_of_all = replace(study, supports=options)
    alone = _unsupported(study) if any(options.values()) else None
    judged = tuple(_judge(study_of_all, name, alone) for name in options)
    if all(option.assessment is None for option in judged):
        raise StudyError("\n".join(dict.fromkeys(option.refused for option in judged)))
    common = _common(judged)
    holding = [option for option in judged if option.holds and option.governing is not None]
    best = min(holding, key=lambda option: _used(option.deciding(common), 0.0), default=None)
    if best is not None:
        level = [option for option in holding if as_good(option, best, common)]
        best = min(level, key=lambda o: (o.doubtful, o.by_friction, len(o.supports), _used(o.deciding(common), 0.0)))
    # one whose supports idle in every case stands by the bolts alone
    borne = [option for option in holding if not all(each.idle for each in option.carried)]
    costed = [(option.cost, option) for option in borne if option.cost is not None]
    cheapest = min(costed, key=lambda pair: pair[0], default=(0.0, None))[1]
    return Comparison(study, judged, best, cheapest, common)


def _free_name(study: Study) -> str:
    return NO_SUPPORT if NO_SUPPORT not in study.supports else f"{NO_SUPPORT} (for comparison)"


def _unsupported(study: Study) -> dict[str, CaseResult] | None:
    """The cases without any support, evaluated once for all options; None where they cannot be, which each option then says itself."""
    try:
        return evaluate(replace(study, supports={})) if len(study.joints) == 1 else None
    except StudyError:
        return None


def _judge(study: Study, name: str, unsupported: dict[str, CaseResult] | None) -> Option:
    supports = study.supports[name]
    try:
        return Option(name, supports, assess(study, name, unsupported=unsupported))
    except StudyError as error:
        return Option(name, supports, None, str(error))


def _peak(by_case: dict[str, float]) -> Peak | None:
    return max((Peak(*pair) for pair in by_case.items()), key=lambda peak: abs(peak.value), default=None)


def _used(pair: Case | None, without: float = np.inf) -> float:
    return without if pair is None else float(np.asarray(pair[1].utilization))


def _key(pair: Case) -> Key:
    return (pair[0], pair[1].check, pair[1].where)


def _common(options: tuple[Option, ...]) -> frozenset[Key]:
    """The checks that are made in every option judged, with the same utilization."""
    tables = [
        {_key(pair): _used(pair) for pair in option.checks} for option in options if option.assessment is not None
    ]
    first, others = tables[0], tables[1:]
    return frozenset(
        key
        for key, used in first.items()
        if others and all(key in each and math.isclose(each[key], used, rel_tol=SAME) for each in others)
    )
