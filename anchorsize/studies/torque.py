"""Between which torques every check that the preload decides holds, or that no torque would do."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment import Assessment, distinct, evaluate
from anchorsize.assessment.checks import judge
from anchorsize.assessment.clamping import clamping, service, stiffness_wanting
from anchorsize.assessment.evaluation import unrelieved
from anchorsize.assessment.findings_hot_bolts import hot_bolts
from anchorsize.assessment.findings_preload import OF_YIELD, twisted
from anchorsize.assessment.findings_target import held_back, new_threads, only_loosened, why_not_reached
from anchorsize.assessment.findings_tightening import gasket_not_said
from anchorsize.assessment.results import CaseResult, Check, JointResult, NotChecked
from anchorsize.studies.evened import kinds_there, uneven, with_even_tightening
from anchorsize.studies.window_ends import Uses, ends
from anchorsize.studies.window_threads import (
    Threads,
    counted_from_target,
    found_threads,
    friction_of_its_own,
    target_there,
    threads,
)
from anchorsize.study import Array, Joint, Study

WANT_MORE = {"joint lift-off", "joint slip", "slip at the bolts", "gasket seating", "gasket in service"}
WANT_LESS = {"bolt proof", "bolt breaking", "gasket crushing", "thread stripping"}
SEALING = {"joint lift-off", "gasket seating", "gasket in service"}  # without one of these no lower end is known
BOUND_WITHOUT = (
    "joint lift-off",
    "joint slip",
    "gasket in service",
    "bolt proof",
    "bolt breaking",
    "gasket crushing",
    "thread stripping",
)
"""Checks that a bound stands in for where the stiffness of bolts and gasket is not known."""
VECTORS = {"reaction_force", "reaction_moment", "external_tension", "bolt_shear"}
"""Results of a joint that have an axis of their own: directions, or bolts."""


@dataclass(frozen=True)
class TighteningWindow:
    """Tightening of one joint as multiples of what the file gives: at least ``least``, at most ``greatest``.

    ``torque`` [N·m] is the greatest torque the file gives, None where it gives a preload; ``preload`` [N] likewise the mean. Where
    bolts of one size are tightened differently, as found, ``evened`` is True and the multiples are of the greatest of each size on
    all bolts of it; where bolts of one size have different friction, they are of the target of each bolt. ``given`` are the least and
    the greatest tightening that the file gives, ``sizes`` the number of bolt sizes, ``frictions`` the most nut factors in one of them.
    It is ``not_for`` bolts that are new or cleaned beside tight ones, without a friction of their own.
    ``twisted`` is from where pull and twist together pass 90 % of yield; None where that is not known or not below ``greatest``.
    ``least_by`` and ``greatest_by`` name the check (with its case) that sets each end, None where none does. Where
    ``least`` is over ``greatest``, no tightening serves. ``not_bounded`` are the checks that bound the tightening from above and
    could not be made: ``greatest`` is then no permission. ``not_counted`` are those that bound it from below and could not be
    made; where one of them is about the seal, ``least`` is no permission either. ``stiffness_wanting`` is what to supply for the
    stiffness of bolts and gasket, empty where it is known. ``refused`` says why the joint cannot be judged whatever the tightening.
    Where ``gasket_stays`` no nut is loosened: a bolt that has more keeps it. ``held_back`` says that the target is out of reach so, and
    ``refused`` why; ``if_it_stays`` are the bolts that it would be so for, where nobody says whether the gasket stays.

    ``threads`` are those that the window is on, ``found_threads`` those found, None where they are the same. Where they differ, or the
    target has a friction of its own, ``target`` is the least and the greatest target torque [N·m], and ``aimed`` the multiple at which
    it lies; elsewhere None, and what the file gives lies at 1. ``uneven`` tells targets that differ on bolts of one kind. What the file
    gives is a preload [N] where ``by_preload``, else a torque. ``relaxation`` is the loss counted, None where none is given.
    ``as_if_cold`` says that the bolts are hot in service and their strength is that at room temperature.
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
    refused: str = ""
    gasket_stays: bool = False
    frictions: int = 1
    twisted: float | None = None
    not_for: tuple[int, ...] = ()
    held_back: bool = False
    if_it_stays: tuple[int, ...] = ()
    threads: Threads | None = None
    found_threads: Threads | None = None
    by_preload: bool = False
    target: tuple[float, float] | None = None
    aimed: float = 1.0
    uneven: bool = False
    relaxation: float | None = None
    as_if_cold: bool = False

    @property
    def in_proportion(self) -> bool:
        """Whether bolts get different torques, so that an end is that of those with the greatest, the others in proportion."""
        return self.sizes > 1 or self.frictions > 1 or self.uneven

    @property
    def bound_only(self) -> bool:
        """Whether an end rests on a bound that stands in for the stiffness, so that with it the answer may differ."""
        ends = [(by or "").startswith(BOUND_WITHOUT) for by in (self.least_by, self.greatest_by)]
        return bool(self.stiffness_wanting) and any(ends)

    @property
    def exists(self) -> bool:
        """Whether any tightening makes all of these checks hold."""
        return not self.refused and self.least <= self.greatest

    @property
    def unsealed(self) -> tuple[str, ...]:
        """The checks of the seal that could not be made: with one of them wanting, no lower end is known."""
        return tuple(item.check for item in self.not_counted if item.check in SEALING)

    @property
    def serves(self) -> bool:
        """Whether the tightening that the file gives, or the ``target``, lies within, as far as the checks made tell."""
        return not self.refused and self.least <= self.aimed <= self.greatest


def windows(assessment: Assessment, joints: Iterable[str]) -> list[TighteningWindow]:
    """The tightening windows of those of the joints named that can be judged and are tightened."""
    judged = [name for name in joints if name in assessment.judged_joints]
    return [
        each
        for name in judged
        if (each := window(assessment.study, name, assessment.cases, assessment.option)) is not None
    ]


def window(
    study: Study, joint: str, cases: Mapping[str, CaseResult] | None = None, option: str | None = None
) -> TighteningWindow | None:
    """The tightening window of a joint; None where its tightening is not given, or not what it carries.

    The ends are solved to 1e-10 on the batched evaluation, up to the tightening at which the greatest preload
    reaches the bolts' tensile strength (or thirty times the given one where no class is given).

    ``cases`` are the results of the study where they are known already, of the support option asked about (the first of the file if
    left out). Tightening changes no load, so the loads of all cases come from them and only what the preload decides is worked out
    again; where bolts are loose they are not, for evenly tightened they carry too.
    """
    even = with_even_tightening(study, joint)
    if even.joints[joint].tightening is None:
        return None
    given = study.joints[joint]
    if held_back(given):
        return no_window(given)
    return found_window(given, even, evaluate(even, option) if cases is None or given.loose else cases)


def no_window(joint: Joint) -> TighteningWindow | None:
    """That there is none where the gasket stays and bolts get to the target only by being loosened; None where nothing is clamped."""
    clamped, why = clamping(joint), why_not_reached(joint)
    if clamped is None or not why:
        return None
    torque = None if clamped.torque is None else float(np.max(_there(joint, clamped.torque)))
    return TighteningWindow(
        joint=joint.name,
        least=math.inf,
        greatest=0.0,
        least_by=None,
        greatest_by=None,
        torque=torque,
        preload=float(np.max(clamped.mean)),
        given=_ends_given(joint),
        refused=why,
        gasket_stays=True,
        held_back=True,
        by_preload=joint.tightening is not None and joint.tightening.preload is not None,
        target=target_there(joint),
    )


def found_window(
    given: Joint, even: Study, known: Mapping[str, CaseResult], states: Sequence[tuple[str, NDArray[np.bool_]]] = ()
) -> TighteningWindow | None:
    """The window of the joint ``given``, tightened evenly in the study ``even``, from the ``known`` results of all cases.

    With ``states``, each told by its words and the bolts present (n,) in it, ``known`` has them as its batch (s,), and the window is
    the one that all of them share: each end is that of the state that is worst there.
    """
    joint, evened = given.name, even.joints[given.name]
    clamped = clamping(evened)
    if clamped is None or evened.tightening is None or not np.any(clamped.greatest > 0.0):
        return None
    top = _most(even, joint, clamped.greatest)
    if any(joint not in case.joints for case in known.values()):
        return None
    told = [words for words, _ in states] or [""]
    batch = _in_states(even, joint, [present for _, present in states])
    alike = _judged_alike(even, list(known))
    loads = [_side_by_side([known[name].joints[joint] for name in names]) for names in alike]

    def uses(multiples: Array) -> Uses:
        parts = zip(loads, alike, strict=True)
        return _greatest([_judged(batch, joint, of, (names, told), multiples) for of, names in parts])

    least, greatest = ends(uses, top)
    torque = None if clamped.torque is None else float(np.max(_there(evened, clamped.torque)))
    twist = OF_YIELD / share if (share := twisted(evened)) > 0.0 else np.inf
    kinds = kinds_there(evened)
    target = target_there(given) if counted_from_target(given) and friction_of_its_own(given) else None
    unmade = _unmade(replace(batch, joints={joint: batch.joints[joint]}), joint, known)
    return TighteningWindow(
        joint=joint,
        least=least.at,
        greatest=greatest.at,
        least_by=least.by,
        greatest_by=greatest.by,
        torque=torque,
        preload=float(np.max(clamped.mean)),
        given=_ends_given(given),
        evened=evened is not given,
        sizes=len({size for size, _ in kinds}),
        not_bounded=tuple(dict.fromkeys(item.check for item in unmade if item.check in WANT_LESS)),
        not_counted=tuple(item for item in unmade if item.check in WANT_MORE),
        stiffness_wanting=stiffness_wanting(evened),
        gasket_stays=given.gasket_stays,
        frictions=max((sum(size == own for size, _ in kinds) for own, _ in kinds), default=1),
        not_for=new_threads(given),
        twisted=twist if twist < greatest.at else None,
        if_it_stays=only_loosened(given) if gasket_not_said(given) else (),
        threads=threads(evened, evened.tightening),
        relaxation=None if evened.tightening.relaxation is None else float(evened.tightening.relaxation),
        found_threads=found_threads(given),
        by_preload=given.tightening is not None and given.tightening.preload is not None,
        target=target,
        aimed=1.0 if target is None or torque is None else target[1] / torque,
        uneven=target is not None and uneven(evened),
        as_if_cold=hot_bolts(even, evened) is not None,
    )


def _in_states(study: Study, joint: str, present: Sequence[NDArray[np.bool_]]) -> Study:
    """The study with the bolts present in each state, as a batch (s, 1) of the joint that multiples (m,) of tightening join."""
    if not present:
        return study
    bolts = replace(study.joints[joint].bolts, present=np.array(present)[:, None, :])
    return replace(study, joints={**study.joints, joint: replace(study.joints[joint], bolts=bolts)})


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


def _ends_given(joint: Joint) -> tuple[float, float]:
    """The least and the greatest tightening of the bolts that are there [N·m or N]."""
    values = None if joint.tightening is None else joint.tightening.values
    each = _there(joint, np.zeros(1) if values is None else values)
    return float(np.min(each)), float(np.max(each))


def _there(joint: Joint, values: Array) -> Array:
    """The values of the bolts that are there."""
    each: Array = np.broadcast_to(values, len(joint.bolts.numbers))[joint.bolts.present]
    return each


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


def _greatest(parts: Sequence[Uses]) -> Uses:
    """The greatest of several groups of cases at the same multiples."""
    more, less = np.array([part.more for part in parts]), np.array([part.less for part in parts])
    more_from, less_from = np.argmax(more, axis=0), np.argmax(less, axis=0)
    return Uses(
        parts[0].multiples,
        np.max(more, axis=0),
        np.max(less, axis=0),
        [parts[part].more_by[i] for i, part in enumerate(more_from)],
        [parts[part].less_by[i] for i, part in enumerate(less_from)],
    )


def _judged(
    study: Study, joint: str, loads: JointResult, told: tuple[Sequence[str], Sequence[str]], multiples: Array
) -> Uses:
    """What the checks say of all cases and states (k, s, 1) of ``loads`` at all ``multiples`` (m,) in one batch (k, s, m).

    ``told`` are the names of the cases and the words of the states.
    """
    tightened = _tightened(study.joints[joint], multiples)
    clamped = clamping(tightened)
    if clamped is None:
        raise ValueError(f"joint '{joint}' is not tightened")
    bending = np.asarray(loads.bending1), np.asarray(loads.bending2)
    pulled = unrelieved(tightened, loads.axial_demand, *bending, loads.external_tension)
    carried = service(tightened, clamped, loads.axial_demand, *bending, pulled)
    result = replace(loads, clamping=clamped, service=carried)
    made, _ = judge(replace(study, joints={joint: tightened}), {joint: result}, study.cases[told[0][0]])
    more, more_by = _worst(made, WANT_MORE, told, multiples)
    less, less_by = _worst(made, WANT_LESS, told, multiples)
    return Uses(multiples, more, less, more_by, less_by)


def _worst(
    made: Sequence[Check], names: set[str], told: tuple[Sequence[str], Sequence[str]], multiples: Array
) -> tuple[Array, list[str]]:
    """Greatest utilization (m,) of the checks named, over all cases and states, and the check, case and state that it belongs to."""
    chosen = [check for check in made if check.check in names]
    if not chosen:
        return np.zeros_like(multiples), [""] * len(multiples)
    cases, states = told
    shape = (len(cases), len(states), len(multiples))
    use = np.array([np.broadcast_to(check.utilization, shape) for check in chosen]).reshape(-1, len(multiples))
    governs = np.argmax(use, axis=0)
    words = [f"{check.check} in '{case}'{state}" for check in chosen for case in cases for state in states]
    return use.max(axis=0), [words[i] for i in governs]


def _side_by_side(results: Sequence[JointResult]) -> JointResult:
    """The results of one joint in several cases, in one state or in a batch (s,), as one with a batch (k, s, 1)."""
    stacked: dict[str, Any] = {}
    for name in (each.name for each in fields(JointResult) if each.name not in ("clamping", "service")):
        inner = 1 if name in VECTORS else 0
        each = [np.asarray(getattr(result, name)) for result in results]
        rows = np.stack(np.broadcast_arrays(*(value if value.ndim > inner else value[None] for value in each)))
        stacked[name] = np.expand_dims(rows, 2)
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
