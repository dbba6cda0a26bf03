"""Which bolts hold: every candidate against all cases and checks, ranked. Candidates with the same count are one batch."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np

from anchorsize import reference
from anchorsize.assessment import Assessment, NotChecked, assess, evaluate
from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.clamping import clamping
from anchorsize.assessment.findings_hot_bolts import said_of_candidate
from anchorsize.assessment.holding import chosen_option
from anchorsize.assessment.results import no_such
from anchorsize.studies.lost_window import lost_windows
from anchorsize.studies.size_batch import Found, Governing, Key, judged_together
from anchorsize.studies.size_candidates import candidates, chosen_sizing, fit
from anchorsize.studies.size_flange import MisfitError, seat
from anchorsize.studies.size_notes import notes
from anchorsize.studies.size_tightening import Candidate, without_gasket
from anchorsize.studies.torque import TighteningWindow, windows
from anchorsize.study import BoltPattern, Joint, Sizing, Study

Rank: TypeAlias = Literal["fewest", "lightest", "margin"]

STEEL = 7850.0  # kg/m³
ENDS = (
    4.0  # diameters of bolt that weigh as much as head or second nut, nut and thread beyond it; an estimate, no source
)


@dataclass(frozen=True)
class Judged:
    """A candidate that could be judged. ``loaded`` governs among the checks that depend on load; None where there are none.

    ``torque`` [N·m] and ``preload`` [N] are per bolt, None where the tightening does not tell. ``mass`` [kg] is an estimate
    of all bolts with their nuts, None without a grip; ``shank_area`` [m²] is that of all bolts. ``failing`` are the (case, check,
    where) that fail, also with any one bolt missing where that was asked for; ``over`` are the utilizations of those that fail with
    every bolt. ``lost`` and ``lost_loaded`` are what governs with one bolt missing, at the worst, and ``lost_bolt`` is its number; None
    unless asked for. ``held`` says what was kept although it need not suit: of the file, the flange; of the class, its strength, the heat.
    """

    candidate: Candidate
    governing: Governing
    loaded: Governing | None
    failing: frozenset[Key]
    over: dict[Key, float]
    torque: float | None
    preload: float | None
    mass: float | None
    shank_area: float
    lost: Governing | None = None
    lost_loaded: Governing | None = None
    lost_bolt: int | None = None
    held: tuple[str, ...] = ()

    @property
    def decides(self) -> Governing:
        """What decides whether the candidate holds: with a bolt missing where that was asked for and is worse."""
        if self.lost is not None and self.lost.utilization > self.governing.utilization:
            return self.lost
        return self.governing

    @property
    def decides_loaded(self) -> Governing | None:
        """As ``decides``, among the checks that depend on load; None where there are none."""
        if self.lost_loaded is not None and (
            self.loaded is None or self.lost_loaded.utilization > self.loaded.utilization
        ):
            return self.lost_loaded
        return self.loaded

    @property
    def holds(self) -> bool:
        """Whether every check holds, also with a bolt missing where that was asked for."""
        return self.decides.utilization <= 1.0


@dataclass(frozen=True)
class Sized:
    """The answer: what holds in the order of ``rank``, what fails with the nearest first, and what cannot be, with the reason.

    ``shown`` is the best of those that hold, else the nearest, as a study of its own with its assessment; None where none
    could be judged. ``window`` is its tightening window, with ``robust`` that in which it also holds with any one bolt missing; ``fixed`` are the checks that fail alike for every candidate, ``common`` those of the
    layout that all that miss fail, by whatever. ``notes`` are sentences on what was not varied with the bolts, or left open.
    """

    study: Study
    joint: str
    option: str
    rank: Rank
    robust: bool
    holding: tuple[Judged, ...]
    failing: tuple[Judged, ...]
    impossible: tuple[tuple[Candidate, str], ...]
    not_checked: tuple[NotChecked, ...]
    notes: tuple[str, ...]
    shown: Assessment | None
    window: TighteningWindow | None
    fixed: tuple[Key, ...] = ()
    common: tuple[str, ...] = ()

    @property
    def verdict(self) -> Literal["holds", "fails", "incomplete"]:
        """``fails`` where nothing holds, ``incomplete`` where a needed check could not be made."""
        if not self.holding:
            return "fails"
        return "incomplete" if any(item.needed for item in self.not_checked) else "holds"


def size(
    study: Study,
    joint: str,
    asked: Sizing | None = None,
    rank: Rank = "fewest",
    robust: bool = False,
    option: str | None = None,
) -> Sized:
    """Judge every combination of bolts that is allowed for a joint, and rank what holds.

    ``asked`` goes before what the file says under ``sizing``, entry by entry. ``robust`` asks that every check also holds with
    any one bolt missing.

    Raises
    ------
    StudyError
        An unknown joint, nothing to choose from, or a study that cannot be judged whatever its bolts.
    """
    if joint not in study.joints:
        raise no_such("joint", joint, study.joints)
    chosen = chosen_option(study, option)
    evaluate(replace(study, joints={}, supports={}))  # flows and pressures that cannot be are no fault of the bolts
    asked = asked or Sizing()
    sizing = chosen_sizing(study, joint, asked)
    fitted: list[tuple[Candidate, Study]] = []
    impossible: list[tuple[Candidate, str]] = []
    for candidate in candidates(study, joint, sizing):
        try:
            fitted.append((candidate, fit(study, joint, candidate)))
        except MisfitError as error:
            impossible.append((candidate, str(error)))
    judged, not_checked = _judge(fitted, joint, chosen, robust, impossible)
    judged = _with_held(study, joint, judged)
    holding = sorted((each for each in judged if each.holds), key=_order(rank))
    failing = sorted(
        (each for each in judged if not each.holds),
        key=lambda each: (*_use(each), len(each.failing), *_order(rank)(each)),
    )
    best = next(iter([*holding, *failing]), None)
    shown = None if best is None else assess(fit(study, joint, best.candidate), chosen)
    return Sized(
        study=study,
        joint=joint,
        option=chosen,
        rank=rank,
        robust=robust,
        holding=tuple(holding),
        failing=tuple(failing),
        impossible=tuple(impossible),
        not_checked=not_checked,
        notes=notes(study, joint, [each.candidate for each in judged], asked, sizing),
        shown=shown,
        fixed=_fixed(judged),
        common=_common(failing),
        window=_window(shown, joint, robust) if shown is not None and len(study.joints) == 1 else None,
    )


def _window(shown: Assessment, joint: str, robust: bool) -> TighteningWindow | None:
    """The tightening window of the joint chosen; with ``robust`` the one with any one bolt lost."""
    return next(iter((lost_windows if robust else windows)(shown, [joint])), None)


def _fixed(judged: Sequence[Judged]) -> tuple[Key, ...]:
    """The checks that fail for every candidate (two at least), all by the same: what no choice of bolts mends."""
    if len(judged) < 2:
        return ()
    first, *others = (each.over for each in judged)
    return tuple(
        key
        for key, value in first.items()
        if math.isfinite(value) and all(key in over and _rounded(over[key]) == _rounded(value) for over in others)
    )


def _common(failing: Sequence[Judged]) -> tuple[str, ...]:
    """The checks of the layout that every candidate that misses fails, maybe only with a bolt missing."""
    if not failing:
        return ()
    each = [{check for _, check, _ in one.failing if check in LAYOUT} for one in failing]
    return tuple(sorted(set.intersection(*each)))


def _order(rank: Rank) -> Callable[[Judged], tuple[float, ...]]:
    """By the rank first, then by the others; utilization as :func:`_use` has it."""

    def key(each: Judged) -> tuple[float, ...]:
        weight = each.shank_area if each.mass is None else each.mass
        parts: dict[str, tuple[float, ...]] = {
            "fewest": (each.candidate.count,),
            "lightest": (_rounded(weight),),
            "margin": _use(each),
        }
        others = [parts[other] for other in ("fewest", "lightest", "margin") if other != rank]
        return tuple(itertools.chain(parts[rank], *others))

    return key


def _use(each: Judged) -> tuple[float, float]:
    """What decides, and then the checks under load: where layout decides, many candidates are alike but for these."""
    loaded = each.decides_loaded
    return _rounded(each.decides.utilization), 0.0 if loaded is None else _rounded(loaded.utilization)


def _rounded(value: float) -> float:
    """Nine figures, so that rounding noise makes no order among equals."""
    return float(f"{value:.9g}")


def _judge(
    fitted: Sequence[tuple[Candidate, Study]],
    joint: str,
    option: str,
    robust: bool,
    impossible: list[tuple[Candidate, str]],
) -> tuple[list[Judged], tuple[NotChecked, ...]]:
    """Judge all candidates in batches; those that cannot carry the load at all go to ``impossible``."""
    judged: list[Judged] = []
    missing: dict[NotChecked, None] = {}
    singles = dict(fitted)
    for candidate, found in judged_together(fitted, joint, option, lost=False).items():
        if isinstance(found, str):
            impossible.append((candidate, found))
            continue
        missing.update(dict.fromkeys(found.not_checked))
        made = _of_candidate(candidate, singles[candidate].joints[joint], found)
        judged.append(replace(made, held=_said(singles[candidate], joint, made, found)))
    if not robust:
        return judged, tuple(missing)
    lost = judged_together([(each.candidate, singles[each.candidate]) for each in judged], joint, option, lost=True)
    stood = []
    for each in judged:
        worst = lost[each.candidate]
        if isinstance(worst, str):
            impossible.append((each.candidate, f"with one bolt missing: {worst}"))
            continue
        made = replace(
            each,
            failing=each.failing | worst.failing,
            lost=worst.worst,
            lost_loaded=worst.loaded,
            lost_bolt=worst.bolt,
        )
        said = _said(singles[each.candidate], joint, made, worst)
        stood.append(replace(made, held=tuple(dict.fromkeys((*each.held, *said))) if made.holds else ()))
    return stood, tuple(missing)


def _said(study: Study, joint: str, made: Judged, found: Found) -> tuple[str, ...]:
    """What is to be said of a candidate that holds by the strength of its class at room temperature."""
    return said_of_candidate(study, joint, found.proof) if made.holds else ()


def _with_held(study: Study, name: str, judged: Sequence[Judged]) -> list[Judged]:
    """The same with what was kept of the file beside each standard flange, before what is said of them already."""
    joint = study.joints[name]
    held: dict[str | None, tuple[str, ...]] = {None: ()}
    for each in judged:
        flange = each.candidate.flange
        if flange not in held:
            held[flange] = seat(study, joint, flange, reference.thread(each.candidate.size).diameter).held
    return [replace(each, held=(*held[each.candidate.flange], *each.held)) for each in judged]


def _of_candidate(candidate: Candidate, joint: Joint, found: Found) -> Judged:
    bolts = joint.bolts
    clamped = clamping(without_gasket(joint))
    torque = None if clamped is None or clamped.torque_wanted is None else float(clamped.torque_wanted[0])
    return Judged(
        candidate=candidate,
        governing=found.worst,
        loaded=found.loaded,
        failing=found.failing,
        over=found.over,
        torque=torque,
        preload=None if clamped is None else float(clamped.mean[0]),
        mass=None if joint.grip is None else _mass(bolts, float(np.max(joint.grip))),
        shank_area=float(np.sum(bolts.shank_area)),
    )


def _mass(bolts: BoltPattern, grip: float) -> float:
    return float(np.sum(STEEL * bolts.shank_area * (grip + ENDS * bolts.diameter)))
