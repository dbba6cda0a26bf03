"""After the repair: every bolt in, each at its target torque or else at the torque given, a reused gasket replaced by a new one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np

from anchorsize.assessment import Assessment, StudyError, assess
from anchorsize.assessment.findings_preload import overstretched
from anchorsize.assessment.findings_target import (
    friction_not_said,
    handled,
    held_back,
    new_gasket_goes_in,
    new_threads,
    new_threads_if_it_stays,
    not_reached_if_it_stays,
    why_held_back,
)
from anchorsize.assessment.findings_tightening import far_looser, gasket_not_said, numbered, without_clamp
from anchorsize.assessment.results import NotReachedError
from anchorsize.studies.boltup import differs, is_as_found, stretched_in_place
from anchorsize.studies.evened import retightened
from anchorsize.studies.lost_bolt import KEPT
from anchorsize.studies.torque import TighteningWindow, windows
from anchorsize.study import Array, Joint, Study, Tightening


@dataclass(frozen=True)
class Repair:
    """What a repair changes, and the study judged after it.

    ``fitted`` are the bolts put in and ``torque`` (n,) [N·m] what the bolts are tightened to, None where the file gives none; both
    by the joints that the repair changes. ``new_gaskets`` are the joints that get one, ``gaskets_not_said`` those of which nobody says
    whether the gasket stays: it is judged as if new. ``assessment`` is None where the repaired
    study cannot be judged, and ``reason`` says why.
    """

    fitted: Mapping[str, tuple[int, ...]]
    torque: Mapping[str, Array | None]
    new_gaskets: tuple[str, ...]
    assessment: Assessment | None
    reason: str = ""
    gaskets_not_said: tuple[str, ...] = ()
    replaced: Mapping[str, tuple[int, ...]] = field(default_factory=dict)  # bolts stretched over yield, by joint

    @property
    def may_hold(self) -> bool:
        """Whether the repair leaves nothing that fails, so that it counts what the verdict rests on."""
        return self.assessment is not None and self.assessment.verdict != "fails"


def needs_repair(joint: Joint) -> bool:
    """Whether the joint is not as it should be: a bolt missing, bolts tightened as found, or a gasket used before."""
    return (
        bool(joint.bolts.missing) or new_gasket_goes_in(joint) or (joint.tightening is not None and is_as_found(joint))
    )


def repaired(study: Study) -> Study:
    """The study after the repair, with a note of what was changed.

    Raises
    ------
    StudyError
        Torques as found without a target: nothing says what the bolts are tightened to. As :class:`NotReachedError`: a target that a bolt
        gets to only by being loosened, or bolts to be replaced for being over yield, where the gasket stays.
    """
    wanting = [name for name, joint in study.joints.items() if needs_repair(joint)]
    if not wanting:
        note = "--repaired changes nothing: no bolt is missing, nothing is tightened as found, no gasket is reused."
        return replace(study, notes=(*study.notes, note))
    # as the case file says of what it gives for a bolt that is missing; once fitted the bolt is missing no more
    over = tuple(
        f"Joint '{name}': bolt {bolt} is missing, so" for name in wanting for bolt in study.joints[name].bolts.missing
    )
    kept = [note for note in study.notes if not note.startswith(over)]
    notes = [f"Joint '{name}' is judged as if repaired: {_changes(study.joints[name])}." for name in wanting]
    joints = {name: mended(joint) if name in wanting else joint for name, joint in study.joints.items()}
    title = f"{study.title or 'untitled'}, as if repaired"
    return replace(study, title=title, joints=joints, notes=(*kept, *notes))


def _changes(joint: Joint) -> str:
    gone = [str(bolt) for bolt in joint.bolts.missing]
    listed = " and ".join(filter(None, [", ".join(gone[:-1]), *gone[-1:]]))
    parts = [f"bolt{'s' if len(gone) > 1 else ''} {listed} fitted"] if gone else []
    if joint.tightening is not None:
        aimed = "target_torque" if joint.tightening.target_torque is not None else "tightening"
        own = new_threads(joint)
        parts.append(
            f"{numbered(own)} pulled as hard as the {aimed} given pulls a bolt on threads as found, by a torque of the engineer's, every other bolt at it"
            if own
            else f"every bolt at the {aimed} given"
        )
    if new_gasket_goes_in(joint):
        parts.append("a new gasket")
    if _taken_as_new(joint):
        parts.append("the gasket as good as new, which the file does not say")
    if joint.tightening is None:
        parts.append(
            "every bolt as tight as the engineer says; how tight they are and whether the joint seals or lifts off is NOT JUDGED, for the "
            "file says nothing of the tightening"
        )
    return ", ".join(parts)


@lru_cache(maxsize=KEPT)
def repair(assessment: Assessment) -> Repair | None:
    """What the repair of everything found wanting comes to; None where nothing is."""
    study = assessment.study
    wanting = {name: joint for name, joint in study.joints.items() if needs_repair(joint)}
    if not wanting:
        return None
    fitted = {name: joint.bolts.missing for name, joint in wanting.items()}
    gaskets = tuple(name for name, joint in wanting.items() if new_gasket_goes_in(joint))
    open_questions = tuple(name for name, joint in wanting.items() if _taken_as_new(joint))
    stretched = {name: gone for name, joint in wanting.items() if (gone := to_replace(joint))}
    try:
        after = repaired(study)
        torque = {name: None if (given := after.joints[name].tightening) is None else given.torque for name in wanting}
        return Repair(fitted, torque, gaskets, assess(after, assessment.option), "", open_questions, stretched)
    except StudyError as error:
        return Repair(fitted, dict.fromkeys(wanting), gaskets, None, str(error), open_questions, stretched)


def every_bolt_in(assessment: Assessment, joint: str) -> Assessment:
    """The state with every bolt of a joint in: as repaired, or where that cannot be judged, with nothing said of how tight they are."""
    found = repair(assessment)
    if found is not None and found.assessment is not None:
        return found.assessment
    study, own = assessment.study, assessment.study.joints[joint]
    whole = replace(own, bolts=replace(own.bolts, present=np.ones_like(own.bolts.present)), tightening=None)
    return assess(replace(study, joints={**study.joints, joint: whole}), assessment.option)


def to_replace(joint: Joint) -> tuple[int, ...]:
    """The bolts stretched over yield as found, in a joint that is taken apart; where the gasket stays no tight nut is loosened unasked."""
    return () if joint.gasket_stays else overstretched(joint)


def why_stretched(joint: Joint) -> str:
    """Why a joint with :func:`stretched_in_place` bolts is not tightened, and who decides what is done."""
    over = stretched_in_place(joint)
    one = len(over) == 1
    return (
        f"joint '{joint.name}': {numbered(over)} {'was' if one else 'were'} found over yield, to be REPLACED, and the gasket stays. The "
        f"engineer decides how{'' if one else ', one bolt at a time'}: by a written procedure, or with a new gasket"
    )


def _taken_as_new(joint: Joint) -> bool:
    """Whether the seal is judged by the factors of a new gasket while nobody says whether the one in the joint stays."""
    ring = joint.gasket
    return ring is not None and (ring.m, ring.y) != (None, None) and gasket_not_said(joint)


def windows_after(found: Repair | None) -> list[TighteningWindow]:
    """The tightening that would do for the repaired joints, once they are repaired; of those that can be judged."""
    after = None if found is None else found.assessment
    if found is None or after is None:
        return []
    return windows(after, found.fitted)


def mended(joint: Joint) -> Joint:
    """One joint after the repair. Raises StudyError as :func:`repaired` does."""
    if stretched_in_place(joint):
        raise NotReachedError(why_stretched(joint))
    bolts, ring = replace(joint.bolts, present=np.ones_like(joint.bolts.present)), joint.gasket
    if ring is not None and new_gasket_goes_in(joint):
        ring = replace(ring, condition="new", renewed=True)
    return replace(
        joint,
        bolts=bolts,
        gasket=ring,
        tightening=None if joint.tightening is None else _aimed(joint, joint.tightening),
        renewed_bolts=new_threads_if_it_stays(joint),
        handled_bolts=handled(joint) if joint.gasket_stays else (),
        held_if_gasket_stays=() if joint.gasket_stays else not_reached_if_it_stays(joint),
        repair=_changes(joint),
        found_loose=tuple(sorted({*without_clamp(joint), *far_looser(joint)})),
    )


def _aimed(joint: Joint, given: Tightening) -> Tightening:
    """The tightening that the bolts get: the target, else that of the other bolts of the size and friction."""
    if given.target_torque is not None:
        if held_back(joint):
            raise NotReachedError(why_held_back(joint))
        return given.at_target
    kinds, there = given.kinds(joint.bolts.sizes), np.asarray(joint.bolts.present)
    values = given.values
    if values is None:
        return given
    each = np.broadcast_to(values, len(kinds)).copy()
    for kind in dict.fromkeys(kinds):
        alike = np.array([own == kind for own in kinds])
        each[alike & ~there] = np.max(each[alike & there], initial=0.0)
    whole = retightened(given, each)
    if differs(replace(joint.bolts, present=np.ones_like(there)), whole) or not np.all(each > 0.0):
        raise StudyError(
            f"joint '{joint.name}': its bolts are tightened differently, as found, and no tightening / target_torque says what the "
            "repair tightens them to; write it beside torque, such as target_torque: 90 N*m (or 65 ft*lbf)"
        )
    return replace(whole, friction_as_found=friction_not_said(joint))
