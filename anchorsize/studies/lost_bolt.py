"""Bolts taken away: the joint without some, and which single bolt lost is worst. All losses are one batch."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment import Assessment, CaseResult, NotChecked, StudyError, distinct, evaluate, with_option
from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import no_such
from anchorsize.study import Array, BoltPattern, Study

ALIKE = 1e-9  # relative difference of utilizations up to which it is rounding
DIGITS = 9  # decimals of a utilization by which losses are put in order
KEPT = 8  # answers kept for those who ask again of the same assessment: page, text and exit code of one command do
NOTICED = 0.01  # relative growth of a utilization from which the check counts as made worse

Place: TypeAlias = tuple[str, str, str]  # case, check, where


@dataclass(frozen=True)
class UnderLoad:
    """The check under load that is used most, with its case."""

    case: str
    check: str
    utilization: float


@dataclass(frozen=True)
class Worsened:
    """The check whose utilization a lost bolt raises most, one that then fails before any that holds; ``today`` is it as the joint stands."""

    case: str
    check: str
    where: str
    today: float
    utilization: float
    holds: bool
    told: str = ""  # as of a check

    @property
    def words(self) -> str:
        """Its name for a reader."""
        return self.told or self.check

    @property
    def growth(self) -> float:
        """By how much the utilization grows [-]."""
        return self.utilization - self.today


@dataclass(frozen=True)
class NewFailure:
    """A check that fails with the bolt lost and holds as the joint stands."""

    case: str
    check: str
    where: str
    told: str = ""  # as of a check

    @property
    def words(self) -> str:
        """Its name for a reader."""
        return self.told or self.check


@dataclass(frozen=True)
class LostBolt:
    """The joint with one bolt lost: the check with the greatest utilization over all cases, and whether everything holds.

    ``under_load`` is the same among the checks that flow and pressure bear on; ``None`` where none of those was made. ``worsened``
    is of the checks that losing the bolt makes worse (by 1 % at least) the one that grows most, None where there is none;
    ``worsened_under_load`` is the same among those that flow and pressure bear on, and ``new`` what fails on top of what fails today. ``refused`` says why the joint cannot be judged without the bolt; the utilization is then infinite. ``wanting``
    are the checks that the job needs with the bolt lost and that could not be made: such a joint does not count as holding.
    ``no_longer_failing`` is what fails today and not with the bolt lost, as where the bolt that is lost is the one that failed.
    """

    joint: str
    bolt: int
    case: str
    check: str
    utilization: float
    holds: bool
    fails: bool
    under_load: UnderLoad | None = None
    worsened: Worsened | None = None
    new: tuple[NewFailure, ...] = ()
    refused: str = ""
    wanting: tuple[NotChecked, ...] = ()
    worsened_under_load: Worsened | None = None
    no_longer_failing: tuple[Place, ...] = ()

    @property
    def verdict(self) -> Literal["holds", "fails", "incomplete"]:
        """As that of an assessment without the bolt."""
        if self.holds:
            return "holds"
        return "incomplete" if self.wanting and not self.fails else "fails"


def without(study: Study, joint: str, numbers: tuple[int, ...]) -> Study:
    """The study with bolts of a joint taken away.

    Raises
    ------
    StudyError
        A joint or a bolt that does not exist, or none left.
    """
    if joint not in study.joints:
        raise no_such("joint", joint, study.joints)
    bolts = study.joints[joint].bolts
    unknown = [str(number) for number in numbers if number not in bolts.numbers]
    if unknown:
        raise StudyError(f"joint '{joint}' has no bolt {', '.join(unknown)}; its bolts are {_listed(bolts)}")
    present = bolts.present & ~np.isin(bolts.numbers, numbers)
    if not np.any(present):
        raise StudyError(f"joint '{joint}' would have no bolt left")
    return with_present(study, joint, present)


def lose(study: Study, words: tuple[str, ...]) -> Study:
    """The study without the bolts named by ``words``: `3`, `3,4`, or `joint:3` where the study has several joints.

    A bolt that the file says is missing already is told in the study's notes.
    """
    # what reads a case file takes long to import, and the process that draws a report's pictures reads none
    from anchorsize.casefile.hints import NO_CLOCK, bolt_number

    for word in words:
        joint, _, listed = word.rpartition(":")
        if joint not in study.joints and bolt_number(word) == NO_CLOCK:
            raise StudyError(f"--without {word}: {NO_CLOCK}")
        if not joint and len(study.joints) != 1:
            raise StudyError(f"--without {word}: the file has {len(study.joints)} joints; write JOINT:{word}")
        numbers = [number.strip() for number in listed.split(",")]
        wrong = [number for number in numbers if not (number.isascii() and number.isdigit())]
        if wrong:
            hint = bolt_number(wrong[0])
            raise StudyError(f"--without {word}: '{wrong[0]}' is not a bolt number{'; ' if hint else ''}{hint}")
        name, lost = joint or next(iter(study.joints)), tuple(map(int, numbers))
        gone = study.joints[name].bolts.missing if name in study.joints else ()
        again = [f"--without {n}: bolt {n} of joint '{name}' is missing already." for n in lost if n in gone]
        study = without(study, name, lost)
        study = replace(study, notes=(*study.notes, *again))
    listed = ", ".join(number for word in words for number in word.split(","))
    title = f"{study.title or 'untitled'}, AS IF LOST: bolt{'s' if ',' in listed else ''} {listed}"
    return replace(study, title=title) if words else study


def _listed(bolts: BoltPattern) -> str:
    return f"{bolts.numbers[0]} to {bolts.numbers[-1]}"


def with_present(study: Study, joint: str, present: NDArray[np.bool_]) -> Study:
    changed = replace(study.joints[joint], bolts=replace(study.joints[joint].bolts, present=present))
    return replace(study, joints={**study.joints, joint: changed})


def any_lost(assessment: Assessment, joints: Iterable[str]) -> list[LostBolt]:
    """Judge the joints named with each of their bolts lost in turn, under the support option that was judged; worst first."""
    return worst_first(
        [row for name in joints if name in assessment.judged_joints for row in _lost_of(assessment, name)]
    )


@lru_cache(maxsize=KEPT)
def _lost_of(assessment: Assessment, joint: str) -> list[LostBolt]:
    return one_lost(with_option(assessment.study, assessment.option), joint)


def one_lost(study: Study, joint: str) -> list[LostBolt]:
    """Judge the joint with each of its bolts lost in turn; the one whose loss makes matters worst comes first."""
    bolts = study.joints[joint].bolts
    there_now: NDArray[np.bool_] = np.array(bolts.present, dtype=np.bool_, ndmin=1)
    lost = [int(i) for i in np.flatnonzero(there_now)]
    if len(lost) == 1:
        only, why = bolts.numbers[lost[0]], f"joint '{joint}' would have no bolt left"
        return [LostBolt(joint, only, "", "no bolt left", math.inf, False, True, refused=why)]
    present = np.array([there_now & (np.arange(len(bolts.numbers)) != i) for i in lost])
    refused = Refused((len(lost),))
    today = _by_place(evaluate(study), 1)
    cases = evaluate(with_present(study, joint, present), refuse=refused)
    made = _by_place(cases, len(lost))
    if not made:
        return []
    # what a check lacks does not depend on which bolt is lost
    wanting = distinct(item for case in cases.values() for item in case.not_checked if item.needed)
    told = {(name, check.check, check.where): check.told for name, case in cases.items() for check in case.checks}
    rows = [_row(joint, bolts.numbers[place], row, made, today, told, refused) for row, place in enumerate(lost)]
    return worst_first([each if each.refused else _not_fully(each, wanting) for each in rows])


def _not_fully(row: LostBolt, wanting: tuple[NotChecked, ...]) -> LostBolt:
    """The row with what could not be checked and is needed."""
    return replace(row, holds=row.holds and not wanting, wanting=wanting)


_Judged: TypeAlias = dict[Place, tuple[Array, NDArray[np.bool_]]]


def _by_place(cases: Mapping[str, CaseResult], rows: int) -> _Judged:
    """Utilization and whether it holds (rows,) of every check."""
    return {
        (name, check.check, check.where): (
            np.broadcast_to(np.asarray(check.utilization, dtype=float), rows),
            np.broadcast_to(np.asarray(check.holds), rows),
        )
        for name, case in cases.items()
        for check in case.checks
    }


def _row(
    joint: str, bolt: int, row: int, made: _Judged, today: _Judged, told: Mapping[Place, str], refused: Refused
) -> LostBolt:
    why = next((words for rows, words in refused.reasons if rows[row]), "")
    if why:
        return LostBolt(joint, bolt, "", "no equilibrium", math.inf, False, True, refused=why)
    use = {place: float(values[row]) for place, (values, _) in made.items()}
    holds = {place: bool(values[row]) for place, (_, values) in made.items()}
    worst = max(use, key=lambda place: use[place])
    loaded = [place for place in use if place[1] not in LAYOUT]
    heaviest = max(loaded, key=lambda place: use[place]) if loaded else None
    before = {place: float(values[0]) for place, (values, _) in today.items()}
    fails = [place for place in use if not holds[place] and (place not in today or today[place][1][0])]
    worse = [p for p in use if p in before and (use[p] > before[p] * (1.0 + NOTICED) or p in fails)]

    def most(places: Sequence[Place]) -> Worsened | None:
        top = max(places, key=lambda place: (not holds[place], use[place] - before[place]), default=None)
        return None if top is None else Worsened(*top, before[top], use[top], holds[top], told[top])

    return LostBolt(
        joint,
        bolt,
        worst[0],
        worst[1],
        use[worst],
        all(holds.values()),
        not all(holds.values()),
        None if heaviest is None else UnderLoad(heaviest[0], heaviest[1], use[heaviest]),
        most(worse),
        tuple(NewFailure(*place, told[place]) for place in fails),
        worsened_under_load=most([place for place in worse if place[1] not in LAYOUT]),
        no_longer_failing=tuple(p for p, (_, held) in today.items() if not held[0] and holds.get(p, True)),
    )


def worst_first(rows: Sequence[LostBolt]) -> list[LostBolt]:
    """By how much the loss makes worse what then fails, else what holds; where that is alike the same under load, then by everything.

    Bolts alike but for rounding stand by their numbers.
    """
    if not rows:
        return []

    def use(row: LostBolt) -> tuple[float, ...]:
        if row.refused:
            return (1.0, math.inf, 1.0, math.inf, row.utilization)
        most = (row.worsened, row.worsened_under_load)
        ranks = ((0.0, 0.0) if worse is None else (float(not worse.holds), worse.growth) for worse in most)
        # without rounding, what differs by nothing else would decide before the load does
        return tuple(round(part, DIGITS) for part in (*(part for pair in ranks for part in pair), row.utilization))

    ordered = sorted(rows, key=use, reverse=True)
    ranks: dict[tuple[str, int], int] = {}
    rank, head = 0, ordered[0]
    for row in ordered:
        if not all(math.isclose(a, b, rel_tol=ALIKE) for a, b in zip(use(row), use(head), strict=True)):
            rank, head = rank + 1, row
        ranks[row.joint, row.bolt] = rank
    names = list(dict.fromkeys(row.joint for row in rows))
    return sorted(ordered, key=lambda row: (ranks[row.joint, row.bolt], names.index(row.joint), row.bolt))
