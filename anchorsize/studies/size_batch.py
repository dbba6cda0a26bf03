"""Candidates judged as batches: those with the same count are rows of the same arrays, with each bolt lost beside if asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment import NotChecked, StudyError
from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.findings_hot_bolts import PROOF
from anchorsize.studies.rows import Rows, judge_rows
from anchorsize.studies.size_tightening import Candidate
from anchorsize.study import Allowable, Array, Flange, Gasket, Study

Key: TypeAlias = tuple[str, str, str]

BATCH = 20_000  # rows judged at once, so that memory stays bounded


@dataclass(frozen=True)
class Governing:
    """The check with the greatest utilization, its case and place."""

    utilization: float
    case: str
    check: str
    where: str


@dataclass(frozen=True)
class Found:
    """What judging a candidate finds: its worst check, its worst under load (None: none depends on load), the bolt lost.

    ``failing`` are the (case, check, where) that fail, with a bolt lost those that fail with any one lost; ``over`` are the
    utilizations of those that fail as judged, ``proof`` those of bolt proof, at the worst bolt lost.
    """

    worst: Governing
    loaded: Governing | None
    failing: frozenset[Key]
    not_checked: tuple[NotChecked, ...]
    bolt: int | None = None
    over: dict[Key, float] = field(default_factory=dict)
    proof: dict[Key, float] = field(default_factory=dict)


def judged_together(
    fitted: Sequence[tuple[Candidate, Study]], joint: str, option: str, lost: bool
) -> dict[Candidate, Found | str]:
    """What judging each candidate finds, or why it cannot be judged; with ``lost``, at the worst of one bolt missing."""
    return {
        candidate: found
        for group in _batches(fitted, joint, lost)
        for (candidate, _), found in zip(group, _rows(group, joint, option, lost), strict=True)
    }


def _batches(
    fitted: Sequence[tuple[Candidate, Study]], joint: str, lost: bool
) -> Iterator[list[tuple[Candidate, Study]]]:
    """Candidates whose arrays have one form: the same count, and the same strengths and dimensions known."""
    groups: dict[Any, list[tuple[Candidate, Study]]] = {}
    for candidate, study in fitted:
        own = study.joints[joint]
        values = [getattr(own.bolts, field) for field in ("tensile_strength", "yield_strength", "proof_strength")]
        values += [None if own.tightening is None else own.tightening.torque]
        values += [getattr(own.flange, field) for field in _FLANGE]
        values += [None if own.gasket is None else own.gasket.reaction_diameter]
        groups.setdefault((candidate.count, *(value is None for value in values)), []).append((candidate, study))
    for (count, *_), group in groups.items():
        step = max(1, BATCH // (count if lost else 1))
        yield from (group[start : start + step] for start in range(0, len(group), step))


def _rows(group: Sequence[tuple[Candidate, Study]], joint: str, option: str, lost: bool) -> list[Found | str]:
    """What judging each of a group finds, or why it cannot be judged; with ``lost``, at the worst of one bolt missing."""
    count = group[0][0].count
    try:
        rows = judge_rows(
            stacked([study for _, study in group], joint, lost), (len(group), count) if lost else (len(group),), option
        )
    except StudyError as error:  # of one candidate, so each is judged alone
        if len(group) == 1:
            return [str(error)]
        return [found for each in group for found in _rows([each], joint, option, lost)]
    return [_worst(rows, place, lost) for place in range(len(group))]


def _worst(rows: Rows, place: int, lost: bool) -> Found | str:
    under_load = np.array([check not in LAYOUT for _, check, _ in rows.keys], dtype=np.bool_)
    bolt = _worst_lost(rows.utilization[:, place], under_load) if lost else 0
    at = (place, bolt) if lost else (place,)
    if rows.refused.rows[at]:
        return next(why for refused, why in rows.refused.reasons if refused[at])
    use = rows.utilization[(slice(None), *at)]
    worst = _greatest(rows, use) or Governing(0.0, "", "nothing could be checked", "")
    over = rows.utilization[:, place] > 1.0
    fails = np.any(over, axis=-1) if lost else over
    failing = frozenset(key for key, fail in zip(rows.keys, fails, strict=True) if fail)
    most = np.max(rows.utilization[:, place], axis=-1) if lost else use
    proof = {key: float(used) for key, used in zip(rows.keys, most, strict=True) if key[1] == PROOF}
    exceeded = {key: float(used) for key, used in zip(rows.keys, use, strict=True) if used > 1.0}
    return Found(
        worst,
        _greatest(rows, use, under_load),
        failing,
        rows.not_checked,
        bolt + 1 if lost else None,
        exceeded,
        proof,
    )


def _worst_lost(use: Array, under_load: NDArray[np.bool_]) -> int:
    """The column of utilizations (k, n) that is worst; of those alike, for layout alone decides, the worst under load."""
    greatest = np.round(np.max(use, axis=0, initial=0.0), 12)
    loaded = np.max(use[under_load], axis=0, initial=0.0)
    return int(np.lexsort((-loaded, -greatest))[0])


def _greatest(rows: Rows, use: Array, among: NDArray[np.bool_] | None = None) -> Governing | None:
    """The check with the greatest utilization (k,), among some."""
    there = np.ones(len(use), dtype=np.bool_) if among is None else among
    if not np.any(there):
        return None
    place = int(np.argmax(np.where(there, use, -1.0)))
    return Governing(float(use[place]), *rows.keys[place])


def stacked(studies: Sequence[Study], name: str, lost: bool = False) -> Study:
    """Studies that differ in the bolts of one joint as one batch (k,); with ``lost`` (k, n), one bolt missing in each column."""
    first = studies[0]
    joint, joints = first.joints[name], [study.joints[name] for study in studies]

    def stack(values: Sequence[Any]) -> Any:
        if values[0] is None:
            return None
        together: Array = np.stack([np.asarray(value, dtype=np.float64) for value in values])
        return together[:, None] if lost else together

    def side(values: Sequence[Any]) -> Any:
        """As ``stack``, but one value where all have the same, so that nothing is worked out twice."""
        return values[0] if all(value is values[0] or value == values[0] for value in values) else stack(values)

    given = [each.bolts for each in joints]
    count = len(joint.bolts.numbers)
    present: NDArray[np.bool_] = ~np.eye(count, dtype=np.bool_) if lost else joint.bolts.present
    bolts = replace(
        joint.bolts,
        present=np.broadcast_to(present, (len(studies), *present.shape)),
        **{field: stack([getattr(each, field) for each in given]) for field in _STACKED},
    )
    tightening = joint.tightening
    if tightening is not None:
        tightenings = [each.tightening for each in joints]
        tightening = replace(
            tightening,
            **{field: stack([getattr(each, field) for each in tightenings]) for field in ("torque", "preload")},
        )

    def spacing(values: Sequence[Allowable | None]) -> Allowable | None:
        return None if values[0] is None else replace(values[0], value=stack([each.value for each in values if each]))

    allow = joint.allow
    if allow is not None:
        own = [each.allow.bolt_spacing_least for each in joints if each.allow is not None]
        allow = replace(allow, bolt_spacing_least=spacing(own))
    general = replace(first.allow, bolt_spacing_least=spacing([study.allow.bolt_spacing_least for study in studies]))
    flange: Flange = replace(
        joint.flange, **{field: side([getattr(each.flange, field) for each in joints]) for field in _FLANGE}
    )
    gasket: Gasket | None = joint.gasket
    if gasket is not None:
        rings = [each.gasket for each in joints]
        gasket = replace(
            gasket, ring_outside=None, **{field: side([getattr(each, field) for each in rings]) for field in _GASKET}
        )
    fitted = replace(
        joint,
        bolts=bolts,
        tightening=tightening,
        allow=allow,
        flange=flange,
        gasket=gasket,
        grip=side([each.grip for each in joints]),
    )
    return replace(first, allow=general, joints={**first.joints, name: fitted})


_STACKED = (
    *("xy", "angle", "diameter", "pitch", "tensile_area", "root_area", "shank_area", "circle", "stiffness"),
    *("tensile_strength", "yield_strength", "proof_strength"),
)
_FLANGE = ("outside", "thickness", "hole", "rating")
_GASKET = ("inside", "outside", "reaction_diameter")
