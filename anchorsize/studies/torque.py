"""Between which torques every check that the preload decides holds, or that no torque would do."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from anchorsize.assessment import Assessment, distinct, evaluate
from anchorsize.assessment.checks import judge
from anchorsize.assessment.clamping import clamping, service, stiffness_wanting
from anchorsize.assessment.evaluation import unrelieved
from anchorsize.assessment.results import CaseResult, Check, JointResult, NotChecked
from anchorsize.studies.boltup import ALIKE
from anchorsize.study import Array, Joint, Study, Tightening

WANT_MORE = {"joint lift-off", "joint slip", "slip at the bolts", "gasket seating", "gasket in service"}
WANT_LESS = {"bolt proof", "gasket crushing", "thread stripping"}
SEALING = {"joint lift-off", "gasket seating", "gasket in service"}  # without one of these no lower end is known
BOUND_WITHOUT = (
    "joint lift-off",
    "joint slip",
    "gasket in service",
    "bolt proof",
    "gasket crushing",
    "thread stripping",
)
"""Checks that a bound stands in for where the stiffness of bolts and gasket is not known."""
LEAST_SHARE = 1e-6  # of the greatest tightening looked at
EVEN, NEAR = 31, 16  # multiples judged in one batch: evenly spread, and on either side of where an end should be
CLOSER = 4.0  # how much nearer each of the latter lies than the one before
TOLERANCE = 1e-10  # relative width at which an end of the window counts as found
GREATEST_ROUNDS = 40  # the even ones alone narrow a bracket below the tolerance in seven


@dataclass(frozen=True)
class TighteningWindow:
    """Tightening of one joint as multiples of what the file gives: at least ``least``, at most ``greatest``.

    ``torque`` [N·m] is the greatest torque the file gives, None where it gives a preload; ``preload`` [N] likewise the mean. Where
    bolts of one size are tightened differently, as found, ``evened`` is True and the multiples are of the greatest of each size on
    all bolts of it. ``given`` are the least and the greatest tightening that the file gives, ``sizes`` the number of bolt sizes.
    ``least_by`` and ``greatest_by`` name the check (with its case) that sets each end, None where none does. Where
    ``least`` is over ``greatest``, no tightening serves. ``not_bounded`` are the checks that bound the tightening from above and
    could not be made: ``greatest`` is then no permission. ``not_counted`` are those that bound it from below and could not be
    made; where one of them is about the seal, ``least`` is no permission either. ``stiffness_wanting`` is what to supply for the
    stiffness of bolts and gasket, empty where it is known.
    """

    joint: str
    least: float
    greatest: float
    least_by: str | None
    greatest_by: str | None
    torque: float | None
    preload: float
    given: tuple[float, float]
    evened: bool = False
    sizes: int = 1
    not_bounded: tuple[str, ...] = ()
    not_counted: tuple[NotChecked, ...] = ()
    stiffness_wanting: tuple[str, ...] = ()

    @property
    def bound_only(self) -> bool:
        """Whether an end rests on a bound that stands in for the stiffness, so that with it the answer may differ."""
        ends = [(by or "").startswith(BOUND_WITHOUT) for by in (self.least_by, self.greatest_by)]
        return bool(self.stiffness_wanting) and any(ends)

    @property
    def exists(self) -> bool:
        """Whether any tightening makes all of these checks hold."""
        return self.least <= self.greatest

    @property
    def unsealed(self) -> tuple[str, ...]:
        """The checks of the seal that could not be made: with one of them wanting, no lower end is known."""
        return tuple(item.check for item in self.not_counted if item.check in SEALING)

    @property
    def serves(self) -> bool:
        """Whether the tightening that the file gives lies within, as far as the checks made tell."""
        return self.least <= 1.0 <= self.greatest


def windows(assessment: Assessment, joints: Iterable[str]) -> list[TighteningWindow]:
    """The tightening windows of those of the joints named that can be judged and are tightened."""
    judged = [name for name in joints if name in assessment.judged_joints]
    return [each for name in judged if (each := window(assessment.study, name, assessment.cases)) is not None]


def window(study: Study, joint: str, cases: Mapping[str, CaseResult] | None = None) -> TighteningWindow | None:
    """The tightening window of a joint; None where its tightening is not given, or not what it carries.

    The ends are solved to 1e-10 on the batched evaluation, up to the tightening at which the greatest preload
    reaches the bolts' tensile strength (or thirty times the given one where no class is given).

    ``cases`` are the results of the study where they are known already, of the support option asked about. Tightening changes
    no load, so the loads of all cases come from them and only what the preload decides is worked out again.
    """
    tightened = study.joints[joint]
    evened = evenly_tightened(tightened)
    study = replace(study, joints={**study.joints, joint: evened})
    clamped = clamping(evened)
    if clamped is None or not np.any(clamped.greatest > 0.0):
        return None
    top = _most(study, joint, clamped.greatest)
    known = evaluate(study) if cases is None else cases
    if any(joint not in case.joints for case in known.values()):
        return None
    alike = _judged_alike(study, list(known))
    loads = [_side_by_side([known[name].joints[joint] for name in names]) for names in alike]

    def uses(multiples: Array) -> _Uses:
        return _greatest([_judged(study, joint, of, names, multiples) for of, names in zip(loads, alike, strict=True)])

    start = np.linspace(top * LEAST_SHARE, top, EVEN)
    least, greatest = _ends(uses, start)
    torque = None if clamped.torque is None else float(np.max(clamped.torque))
    unmade = _unmade(replace(study, joints={joint: evened}), joint, known)
    return TighteningWindow(
        joint=joint,
        least=least.at,
        greatest=greatest.at,
        least_by=least.by,
        greatest_by=greatest.by,
        torque=torque,
        preload=float(np.max(clamped.mean)),
        given=_ends_given(tightened),
        evened=evened is not tightened,
        sizes=len({size for size, there in zip(evened.bolts.sizes, evened.bolts.present, strict=True) if there}),
        not_bounded=tuple(dict.fromkeys(item.check for item in unmade if item.check in WANT_LESS)),
        not_counted=tuple(item for item in unmade if item.check in WANT_MORE),
        stiffness_wanting=stiffness_wanting(evened),
    )


def _unmade(study: Study, joint: str, cases: Mapping[str, CaseResult]) -> tuple[NotChecked, ...]:
    """Checks that bound the tightening and lack an input in any case, each once.

    Thread stripping counts where the engagement is given: a nut of full height strips no sooner than its bolt breaks (common
    practice, no source).
    """
    wanted = WANT_MORE | WANT_LESS
    if study.joints[joint].thread_engagement is None:
        wanted = wanted - {"thread stripping"}
    return distinct(
        item
        for name, case in cases.items()
        for item in judge(study, {joint: case.joints[joint]}, study.cases[name])[1]
        if item.where == joint and item.check in wanted
    )


def evenly_tightened(joint: Joint) -> Joint:
    """The joint with the greatest tightening of each bolt size on all bolts of it; itself where that is so already."""
    given, there, sizes = joint.tightening, joint.bolts.present, np.array(joint.bolts.sizes)
    values = None if given is None else given.preload if given.torque is None else given.torque
    if given is None or values is None:
        return joint
    each = np.broadcast_to(values, len(sizes))
    even = np.array([np.max(each[(sizes == size) & there], initial=0.0) for size in sizes])
    if np.allclose(each[there], even[there], rtol=ALIKE, atol=0.0):
        return joint
    return replace(joint, tightening=retightened(given, even))


def retightened(given: Tightening, values: Array) -> Tightening:
    """The tightening with other values (n,) of what it controls: torque [N·m] or preload [N]."""
    return replace(given, preload=values) if given.torque is None else replace(given, torque=values)


def _ends_given(joint: Joint) -> tuple[float, float]:
    """The least and the greatest tightening of the bolts that are there [N·m or N]."""
    given = joint.tightening
    values = None if given is None else given.preload if given.torque is None else given.torque
    there = np.broadcast_to(0.0 if values is None else values, len(joint.bolts.numbers))[joint.bolts.present]
    return float(np.min(there)), float(np.max(there))


@dataclass(frozen=True)
class _Uses:
    """Greatest utilization of the checks that want more and of those that want less, by rising multiples (m,).

    The ``by`` arrays name the check, with its case, that each is of; empty where there is no such check.
    """

    multiples: Array
    more: Array
    less: Array
    more_by: Sequence[str]
    less_by: Sequence[str]


@dataclass(frozen=True)
class _End:
    """One end of the window: where it is, the check that sets it, and the bracket (low, high) it was found in."""

    at: float
    by: str | None
    bracket: tuple[int, int] | None = None


def _ends(uses: Callable[[Array], _Uses], start: Array) -> tuple[_End, _End]:
    """The least and the greatest multiple at which the checks hold, from brackets that are narrowed together."""
    found = uses(start)
    for _ in range(GREATEST_ROUNDS):
        least, greatest = _least_end(found), _greatest_end(found)
        # a joint's pressure and clamp go about in proportion to its tightening: these are the straighter lines
        asked = np.concatenate(
            [
                _closer(found.multiples, 1.0 / np.maximum(found.more, 1e-300) - 1.0, least.bracket),
                _closer(found.multiples, 1.0 - found.less, greatest.bracket),
            ]
        )
        if not asked.size:
            break
        found = _merged(found, uses(np.unique(asked)))
    return least, greatest


def _least_end(found: _Uses) -> _End:
    """The first multiple from below at which the checks that want more hold."""
    holds = found.more <= 1.0
    first = int(np.argmax(holds))
    if not holds[first]:
        return _End(np.inf, found.more_by[-1])
    if first == 0:
        return _End(float(found.multiples[0]), None)
    return _End(float(found.multiples[first]), found.more_by[first], (first - 1, first))


def _greatest_end(found: _Uses) -> _End:
    """The last multiple from below up to which the checks that want less hold."""
    holds = found.less <= 1.0
    over = int(np.argmin(holds))
    if holds[over]:
        return _End(float(found.multiples[-1]), None)
    if over == 0:
        return _End(0.0, found.less_by[0])
    return _End(float(found.multiples[over - 1]), found.less_by[over], (over - 1, over))


def _closer(x: Array, y: Array, bracket: tuple[int, int] | None) -> Array:
    """Multiples to judge next inside a bracket: evenly spread, and closer and closer to where a straight line puts the end."""
    if bracket is None:
        return np.zeros(0)
    low, high = x[bracket[0]], x[bracket[1]]
    if high - low <= TOLERANCE * high:
        return np.zeros(0)
    below, above = y[bracket[0]], y[bracket[1]]
    share = below / (below - above) if np.isfinite(below - above) and below != above else 0.5
    steps = (high - low) * CLOSER ** -np.arange(1.0, NEAR + 1.0)
    line = low + share * (high - low)
    points = np.concatenate([np.linspace(low, high, EVEN)[1:-1], line - steps, line + steps])
    inside: Array = points[(points > low) & (points < high)]
    return inside


def _merged(one: _Uses, other: _Uses) -> _Uses:
    multiples, first = np.unique(np.concatenate([one.multiples, other.multiples]), return_index=True)
    more_by, less_by = [*one.more_by, *other.more_by], [*one.less_by, *other.less_by]
    return _Uses(
        multiples,
        np.concatenate([one.more, other.more])[first],
        np.concatenate([one.less, other.less])[first],
        [more_by[i] for i in first],
        [less_by[i] for i in first],
    )


def _judged_alike(study: Study, cases: Sequence[str]) -> list[list[str]]:
    """The cases in groups that are judged by the same allowables."""
    groups: list[list[str]] = []
    for name in cases:
        own = study.cases[name].allow
        group = next((each for each in groups if study.cases[each[0]].allow is own), None)
        if group is None:
            groups.append([name])
        else:
            group.append(name)
    return groups


def _greatest(parts: Sequence[_Uses]) -> _Uses:
    """The greatest of several groups of cases at the same multiples."""
    more, less = np.array([part.more for part in parts]), np.array([part.less for part in parts])
    more_from, less_from = np.argmax(more, axis=0), np.argmax(less, axis=0)
    return _Uses(
        parts[0].multiples,
        np.max(more, axis=0),
        np.max(less, axis=0),
        [parts[part].more_by[i] for i, part in enumerate(more_from)],
        [parts[part].less_by[i] for i, part in enumerate(less_from)],
    )


def _judged(study: Study, joint: str, loads: JointResult, cases: Sequence[str], multiples: Array) -> _Uses:
    """What the checks say of all cases (k, 1) of ``loads`` at all ``multiples`` (m,) in one batch (k, m)."""
    tightened = _tightened(study.joints[joint], multiples)
    clamped = clamping(tightened)
    if clamped is None:
        raise ValueError(f"joint '{joint}' is not tightened")
    bending = np.asarray(loads.bending1), np.asarray(loads.bending2)
    pulled = unrelieved(tightened, loads.axial_demand, *bending, loads.external_tension)
    carried = service(tightened, clamped, loads.axial_demand, *bending, pulled)
    result = replace(loads, clamping=clamped, service=carried)
    made, _ = judge(replace(study, joints={joint: tightened}), {joint: result}, study.cases[cases[0]])
    more, more_by = _worst(made, WANT_MORE, cases, multiples)
    less, less_by = _worst(made, WANT_LESS, cases, multiples)
    return _Uses(multiples, more, less, more_by, less_by)


def _worst(made: Sequence[Check], names: set[str], cases: Sequence[str], multiples: Array) -> tuple[Array, list[str]]:
    """Greatest utilization (m,) of the checks named, over all cases, and the check and case that it belongs to."""
    chosen = [check for check in made if check.check in names]
    if not chosen:
        return np.zeros_like(multiples), [""] * len(multiples)
    shape = (len(cases), len(multiples))
    use = np.array([np.broadcast_to(check.utilization, shape) for check in chosen])
    governs = np.argmax(use.reshape(-1, len(multiples)), axis=0)
    words = [f"{check.check} in '{case}'" for check in chosen for case in cases]
    return use.max(axis=(0, 1)), [words[i] for i in governs]


def _side_by_side(results: Sequence[JointResult]) -> JointResult:
    """The results of one joint in several cases as one with a batch (k, 1) of cases."""
    numbers = [each.name for each in fields(JointResult) if each.name not in ("clamping", "service")]
    stacked: dict[str, Any] = {
        name: np.stack([np.asarray(getattr(result, name)) for result in results])[:, None] for name in numbers
    }
    return replace(results[0], **stacked)


def _most(study: Study, joint: str, greatest: Array) -> float:
    """The multiple at which the greatest preload reaches the tensile strength of a bolt."""
    bolts = study.joints[joint].bolts
    if bolts.tensile_strength is None:
        return 30.0
    strength = np.asarray(bolts.tensile_strength)[..., None] * bolts.tensile_area
    return float(np.min(strength[greatest > 0.0] / greatest[greatest > 0.0])) * (1.0 - 1e-12)


def _tightened(joint: Joint, multiples: Array) -> Joint:
    """The joint with its tightening at each of the multiples (m,)."""
    given = joint.tightening
    if given is None:
        return joint
    column = multiples[:, None]
    tightened = replace(
        given,
        torque=None if given.torque is None else given.torque * column,
        preload=None if given.preload is None else given.preload * column,
    )
    return replace(joint, tightening=tightened)
