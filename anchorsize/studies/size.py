"""Which bolts hold: every candidate against all cases and checks, ranked. Candidates with the same count are one batch."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np

from anchorsize.assessment import Assessment, NotChecked, StudyError, assess, evaluate
from anchorsize.assessment.asking import merged
from anchorsize.assessment.clamping import clamping
from anchorsize.assessment.holding import chosen_option
from anchorsize.studies.size_batch import Found, Governing, judged_together
from anchorsize.studies.size_candidates import (
    Candidate,
    MisfitError,
    candidates,
    chosen_sizing,
    fit,
    same_size,
    without_gasket,
)
from anchorsize.studies.torque import TighteningWindow, window
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
    of all bolts with their nuts, None without a grip; ``shank_area`` [m²] is that of all bolts. ``failing`` counts the checks
    that fail over all cases. ``lost`` and ``lost_loaded`` are the same with one bolt missing, at the worst, and ``lost_bolt`` is
    its number; None unless asked for and the candidate holds with every bolt there.
    """

    candidate: Candidate
    governing: Governing
    loaded: Governing | None
    failing: int
    torque: float | None
    preload: float | None
    mass: float | None
    shank_area: float
    lost: Governing | None = None
    lost_loaded: Governing | None = None
    lost_bolt: int | None = None

    @property
    def decides(self) -> Governing:
        """What decides whether the candidate holds: with a bolt missing where that was asked for and is worse."""
        if self.lost is not None and self.lost.utilization > self.governing.utilization:
            return self.lost
        return self.governing

    @property
    def holds(self) -> bool:
        """Whether every check holds, also with a bolt missing where that was asked for."""
        return self.decides.utilization <= 1.0


@dataclass(frozen=True)
class Sized:
    """The answer: what holds in the order of ``rank``, what fails with the nearest first, and what cannot be, with the reason.

    ``shown`` is the best of those that hold, else the nearest, as a study of its own with its assessment; None where none
    could be judged. ``window`` is its tightening window. ``notes`` are sentences on what was not varied with the bolts, or left open.
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
        raise StudyError(f"no joint '{joint}'; the file has {', '.join(study.joints) or 'none'}")
    chosen = chosen_option(study, option)
    evaluate(replace(study, joints={}, supports={}))  # flows and pressures that cannot be are no fault of the bolts
    fitted: list[tuple[Candidate, Study]] = []
    impossible: list[tuple[Candidate, str]] = []
    for candidate in candidates(study, joint, chosen_sizing(study, joint, asked or Sizing())):
        try:
            fitted.append((candidate, fit(study, joint, candidate)))
        except MisfitError as error:
            impossible.append((candidate, str(error)))
    judged, not_checked = _judge(fitted, joint, chosen, robust, impossible)
    holding = sorted((each for each in judged if each.holds), key=_order(rank))
    failing = sorted(
        (each for each in judged if not each.holds),
        key=lambda each: (each.decides.utilization, each.failing, *_order(rank)(each)),
    )
    best = next(iter([*holding, *failing]), None)
    shown = None if best is None else fit(study, joint, best.candidate)
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
        notes=_notes(study, joint, [each.candidate for each in judged]),
        shown=None if shown is None else assess(shown, chosen),
        window=window(shown, joint) if shown is not None and len(study.joints) == 1 else None,
    )


def _order(rank: Rank) -> Callable[[Judged], tuple[float, ...]]:
    def key(each: Judged) -> tuple[float, ...]:
        weight = each.shank_area if each.mass is None else each.mass
        parts = {"fewest": each.candidate.count, "lightest": weight, "margin": each.decides.utilization}
        return (parts[rank], *(parts[other] for other in ("fewest", "lightest", "margin") if other != rank))

    return key


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
        judged.append(_of_candidate(candidate, singles[candidate].joints[joint], found))
    if not robust:
        return judged, tuple(missing)
    whole = [(each.candidate, singles[each.candidate]) for each in judged if each.holds]
    lost = judged_together(whole, joint, option, lost=True)
    stood = []
    for each in judged:
        worst = lost.get(each.candidate)
        if isinstance(worst, str):
            impossible.append((each.candidate, f"with one bolt missing: {worst}"))
        elif worst is None:
            stood.append(each)
        else:
            stood.append(replace(each, lost=worst.worst, lost_loaded=worst.loaded, lost_bolt=worst.bolt))
    return stood, tuple(missing)


def _of_candidate(candidate: Candidate, joint: Joint, found: Found) -> Judged:
    bolts = joint.bolts
    clamped = clamping(without_gasket(joint))
    torque = None if clamped is None or clamped.torque_wanted is None else float(clamped.torque_wanted[0])
    return Judged(
        candidate=candidate,
        governing=found.worst,
        loaded=found.loaded,
        failing=found.failing,
        torque=torque,
        preload=None if clamped is None else float(clamped.mean[0]),
        mass=None if joint.grip is None else _mass(bolts, float(np.max(joint.grip))),
        shank_area=float(np.sum(bolts.shank_area)),
    )


def _mass(bolts: BoltPattern, grip: float) -> float:
    return float(np.sum(STEEL * bolts.shank_area * (grip + ENDS * bolts.diameter)))


def _notes(study: Study, name: str, judged: Sequence[Candidate]) -> tuple[str, ...]:
    """What stayed as the file gives it although another bolt might ask for another value, and what nothing guards."""
    joint, allow = study.joints[name], merged(study.allow, study.joints[name].allow)
    other = any(not same_size(joint.bolts, candidate.size) for candidate in judged)
    sizes = len({candidate.size for candidate in judged}) > 1 or other
    classes = len({candidate.bolt_class for candidate in judged} | {joint.bolts.property_class}) > 1
    sentences = []
    if joint.gasket is not None and allow.bolt_spacing_greatest is None:
        sentences.append(
            "no greatest bolt spacing is given, so nothing keeps few bolts from standing so far apart that the gasket leaks between "
            "them; write allow / bolt_spacing_greatest, a length or `from formula`"
        )
    pairs = (("bolt_tension", allow.bolt_tension), ("bolt_shear", allow.bolt_shear))
    forces = [key for key, value in pairs if value is not None and value.unit == "N"]
    stresses = [key for key, value in pairs if value is not None and value.unit == "Pa"]
    if sizes and forces:
        sentences.append(
            f"the force per bolt of {' and '.join(forces)} was held for every size; a larger bolt gains nothing by it"
        )
    if classes and (forces or stresses):
        sentences.append(f"the allowable {' and '.join(forces + stresses)} was held for every class")
    if sizes and allow.bolt_spacing_least is not None and allow.bolt_spacing_least.table is None:
        sentences.append("the least bolt spacing given was held for every size")
    sentences += _held_tightening(joint, judged, sizes)
    if other and joint.flange.hole is not None:
        sentences.append("flange / hole belongs to the bolts of the file; drill to suit the bolt chosen")
    if other and joint.thread_engagement is not None:
        sentences.append("thread_engagement was held for every size")
    if other and joint.members is not None:
        sentences.append("members / face_diameter was held for every size")
    if any(candidate.flanges for candidate in judged):
        sentences.append(
            "of a standard flange only the drilling was taken; gasket, thickness, outside and rating are those of the file"
        )
    if not bool(np.all(joint.bolts.present)):
        sentences.append("bolts that the file names as missing are there in every candidate")
    return tuple(sentences)


def _held_tightening(joint: Joint, judged: Sequence[Candidate], sizes: bool) -> list[str]:
    given, sentences = joint.tightening, []
    if given is None:
        return []
    if sizes and any(candidate.preload_share is None and candidate.torque is None for candidate in judged):
        what = "torque" if given.preload is None else "preload"
        sentences.append(
            f"the {what} per bolt was held for every size; with preload shares it follows the proof load of each"
        )
    if sizes and given.bearing_diameter is not None:
        sentences.append("tightening / bearing_diameter was held for every size")
    return sentences
