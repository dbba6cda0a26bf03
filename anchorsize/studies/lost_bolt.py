"""Bolts taken away: the joint without some, and which single bolt lost is worst. All losses are one batch."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment import StudyError, evaluate
from anchorsize.assessment.checks import LAYOUT
from anchorsize.study import BoltPattern, Study

ALIKE = 1e-9  # relative difference of utilizations up to which it is rounding


@dataclass(frozen=True)
class UnderLoad:
    """The check under load that is used most, with its case."""

    case: str
    check: str
    utilization: float


@dataclass(frozen=True)
class LostBolt:
    """The joint with one bolt lost: the check with the greatest utilization over all cases, and whether everything holds.

    ``under_load`` is the same among the checks that flow and pressure bear on; ``None`` where none of those was made.
    """

    joint: str
    bolt: int
    case: str
    check: str
    utilization: float
    holds: bool
    under_load: UnderLoad | None = None


def without(study: Study, joint: str, numbers: tuple[int, ...]) -> Study:
    """The study with bolts of a joint taken away.

    Raises
    ------
    StudyError
        A joint or a bolt that does not exist, or none left.
    """
    if joint not in study.joints:
        raise StudyError(f"no joint '{joint}'; the file has {', '.join(study.joints)}")
    bolts = study.joints[joint].bolts
    unknown = [str(number) for number in numbers if number not in bolts.numbers]
    if unknown:
        raise StudyError(f"joint '{joint}' has no bolt {', '.join(unknown)}; its bolts are {_listed(bolts)}")
    present = bolts.present & ~np.isin(bolts.numbers, numbers)
    if not np.any(present):
        raise StudyError(f"joint '{joint}' would have no bolt left")
    return _with_present(study, joint, present)


def lose(study: Study, words: tuple[str, ...]) -> Study:
    """The study without the bolts named by ``words``, each `3` where the study has one joint, or `joint:3`."""
    for word in words:
        joint, _, number = word.rpartition(":")
        if not joint and len(study.joints) != 1:
            raise StudyError(f"--without {word}: the file has {len(study.joints)} joints; write JOINT:{word}")
        if not number.strip().isdigit():
            raise StudyError(f"--without {word}: '{number}' is not a bolt number")
        study = without(study, joint or next(iter(study.joints)), (int(number),))
    return study


def _listed(bolts: BoltPattern) -> str:
    return f"{bolts.numbers[0]} to {bolts.numbers[-1]}"


def _with_present(study: Study, joint: str, present: NDArray[np.bool_]) -> Study:
    changed = replace(study.joints[joint], bolts=replace(study.joints[joint].bolts, present=present))
    return replace(study, joints={**study.joints, joint: changed})


def one_lost(study: Study, joint: str) -> list[LostBolt]:
    """Judge the joint with each of its bolts lost in turn, worst first."""
    bolts = study.joints[joint].bolts
    there_now: NDArray[np.bool_] = np.array(bolts.present, dtype=np.bool_, ndmin=1)
    lost = [int(i) for i in np.flatnonzero(there_now)]
    present = np.array([there_now & (np.arange(len(bolts.numbers)) != i) for i in lost])
    cases = evaluate(_with_present(study, joint, present))
    checks = [(name, check) for name, case in cases.items() for check in case.checks]
    if not checks:
        return []
    use = np.array([np.broadcast_to(check.utilization, len(lost)) for _, check in checks])
    each = [np.broadcast_to(np.asarray(check.holds), len(lost)) for _, check in checks]
    holds: NDArray[np.bool_] = np.asarray(np.logical_and.reduce(each))
    worst = np.argmax(use, axis=0)
    loaded = [i for i, (_, check) in enumerate(checks) if check.check not in LAYOUT]
    heaviest = [loaded[i] for i in np.argmax(use[loaded], axis=0)] if loaded else [None] * len(lost)
    rows = [
        LostBolt(
            joint,
            bolts.numbers[place],
            checks[worst[row]][0],
            checks[worst[row]][1].check,
            float(use[worst[row], row]),
            bool(holds[row]),
            None if (i := heaviest[row]) is None else UnderLoad(checks[i][0], checks[i][1].check, float(use[i, row])),
        )
        for row, place in enumerate(lost)
    ]
    return _worst_first(rows)


def _worst_first(rows: list[LostBolt]) -> list[LostBolt]:
    """By falling utilization; bolts that are alike but for rounding stand by their numbers."""
    ordered = sorted(rows, key=lambda row: -row.utilization)
    ranks: dict[int, int] = {}
    rank, head = 0, ordered[0]
    for row in ordered:
        if not math.isclose(row.utilization, head.utilization, rel_tol=ALIKE):
            rank, head = rank + 1, row
        ranks[row.bolt] = rank
    return sorted(ordered, key=lambda row: (ranks[row.bolt], row.bolt))
