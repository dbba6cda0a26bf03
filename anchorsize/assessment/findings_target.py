"""What stands between a joint found in service and its target: nuts that would have to be loosened, threads unlike those found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment.clamping import clamping
from anchorsize.assessment.findings_lubricant import NUT_FACTORS, least_tabled
from anchorsize.assessment.findings_tightening import (
    ALIKE,
    as_found,
    far_looser,
    gasket_not_said,
    numbered,
    tightened_to,
)
from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import CaseResult, Finding, StudyError
from anchorsize.study import Array, Joint, Study, Tightening
from anchorsize.units import figures

TARGET_NOT_REACHED = "target not reached"
SQUEEZED = "gasket squeezed already"
OF_NEW = ("gasket seating", "gasket in service")  # checks by the m and y of a new gasket
ELSE_USED = "else write gasket / condition: reused or in_place"
NEW_THREADS = "torque is not for new threads"
FRICTION_AS_FOUND = "torque is for the friction as found"
OF_TABLE = f", the least in table {NUT_FACTORS},"
THEIR_KEYS = ": with a target_torque by target_nut_factor, per bolt where they differ, and target_lubricant; without one by lubricant"
OWN_KEYS = ": target_nut_factor and target_torque per bolt; where all are to have the friction found, target_lubricant beside that target_nut_factor"


def notice_target(study: Study) -> tuple[Finding, ...]:
    """Findings about what the bolts of every joint are to be tightened to, beside how they were found."""
    joints = study.joints.values()
    return (
        *(finding for joint in joints for finding in _target_not_reached(joint)),
        *(finding for joint in joints for finding in _new_threads(joint)),
        *(finding for joint in joints for finding in _friction_as_found(joint)),
    )


def only_loosened(joint: Joint) -> tuple[int, ...]:
    """The bolts that get to the target only where their nuts are loosened first.

    A bolt that is tight already keeps what it has where the target pulls it less, and where the target counts on another lubricant or
    friction of its threads than was found, for neither gets under a tight nut. Bolts found loose or far looser come out to be inspected
    in any case.
    """
    anew, tighter = _loosened(joint)
    return tuple(joint.bolts.numbers[i] for i in np.flatnonzero(anew | tighter))


def _loosened(joint: Joint) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Those bolts, (n,) each: the ones of which the target wants other threads, and the rest, which were found tighter."""
    given, each = joint.tightening, tightened_to(joint)
    none = np.zeros(len(joint.bolts.numbers), dtype=np.bool_)
    if given is None or given.target_torque is None or each is None:
        return none, none
    loose = far_looser(joint)
    tight = np.array([number not in loose for number in joint.bolts.numbers]) & joint.carrying
    anew = tight & (each > 0.0) & other_threads(joint, given)
    found, target = mean_preload(joint, given), mean_preload(joint, given.at_target)
    if found is None or target is None:
        return anew, none
    return anew, tight & ~anew & (found > (1.0 + ALIKE) * target)


def tightened_anew(joint: Joint) -> tuple[int, ...]:
    """The bolts found tight in a joint that is tightened anew: beside a missing one, or by a target other than what was found.

    A bolt missing beside tight ones is that of a joint found in service: once it is in, all are tightened from hand-tight (common
    practice, no source). None where every bolt is there and has already what it is to get. Whether the gasket goes is another question.
    """
    each = tightened_to(joint)
    if each is None or not (joint.bolts.missing or _aimed_otherwise(joint, each)):
        return ()
    return tuple(joint.bolts.numbers[i] for i in np.flatnonzero(joint.carrying & (each > 0.0)))


def _aimed_otherwise(joint: Joint, each: Array) -> bool:
    """Whether a target tightens bolts to another torque than ``each`` (n,) was found at, or on other threads."""
    given, there = joint.tightening, joint.bolts.present
    if given is None or given.target_torque is None:
        return False
    target = np.broadcast_to(given.target_torque, len(joint.bolts.numbers))
    alike = given.torque is not None and np.allclose(each[there], target[there], rtol=ALIKE, atol=0.0)
    return not alike or bool(np.any(other_threads(joint, given)[there]))


def new_gasket_goes_in(joint: Joint) -> bool:
    """Whether a repair fits another gasket: in place of one used before, or of one called new that tight nuts have squeezed already.

    Tight nuts that are tightened anew are loosened first, and what is released once squeezed does not seal as new.
    Common practice (ASME PCC-1 is alike, from memory).
    """
    ring = joint.gasket
    if ring is None or ring.condition not in ("new", "reused"):
        return False
    return ring.condition == "reused" or bool(tightened_anew(joint))


def notice_squeezed(study: Study, cases: Mapping[str, CaseResult]) -> tuple[Finding, ...]:
    """Gaskets called new that were squeezed before, and whose seal is judged all the same as that of one never released."""
    told = []
    for name, joint in study.joints.items():
        ring = joint.gasket
        made = {check.check for case in cases.values() for check in case.checks if check.where == name}
        seal = [check for check in OF_NEW if check in made]
        if seal and ring is not None and ring.condition == "new" and new_gasket_goes_in(joint):
            told.append(
                Finding(
                    SQUEEZED,
                    None,
                    f"Joint '{name}': its gasket is called new, but nuts found tight have squeezed it already: {' and '.join(seal)} as "
                    f"found count{'' if len(seal) > 1 else 's'} only if it was never in service and never released: {ELSE_USED}.",
                )
            )
    return tuple(told)


def held_back(joint: Joint) -> tuple[int, ...]:
    """Those bolts where the gasket stays, so that no tight nut is loosened: the target cannot be reached on them."""
    return only_loosened(joint) if joint.gasket_stays else ()


def other_threads(joint: Joint, given: Tightening) -> NDArray[np.bool_]:
    """Of which bolts (n,) the target counts on another friction or lubricant than was found."""
    count = len(joint.bolts.numbers)
    target = given.with_target_friction
    if target.kept is not None:
        return np.broadcast_to(~target.kept, count)
    other = given.target_nut_factor is not None and (
        given.nut_factor is None or bool(np.any(np.asarray(given.target_nut_factor) != np.asarray(given.nut_factor)))
    )
    lubricant = given.target_lubricant
    # where nobody names what was found, the friction given for both says whether it is another
    unnamed = given.lubricant is None and given.target_nut_factor is not None
    greased = lubricant is not None and not unnamed and lubricant.casefold() != (given.lubricant or "").casefold()
    return np.full(count, other or greased)


def mean_preload(joint: Joint, given: Tightening) -> Array | None:
    """Mean preload of each bolt (n,) [N] by a tightening; None where nothing turns its torque into one."""
    try:
        clamped = clamping(replace(joint, gasket=None, tightening=given), Refused(()))
    except StudyError:
        return None
    return None if clamped is None else clamped.mean


def why_held_back(joint: Joint) -> str:
    """Why the target of a joint cannot be reached, and who decides what is done; for :func:`held_back` bolts."""
    why, ways = _why_not_reached(joint)
    return (
        f"joint '{joint.name}': {why}. The engineer decides: one bolt at a time by a written procedure, a new gasket, or "
        f"{' and '.join(ways)}"
    )


def why_not_reached(joint: Joint) -> str:
    """The same without the joint's name and what the engineer decides; empty where no bolt is held back."""
    return _why_not_reached(joint)[0] if held_back(joint) else ""


def _why_not_reached(joint: Joint) -> tuple[str, list[str]]:
    """Why the target of a joint cannot be reached, and what targets could."""
    anew, tighter = (tuple(joint.bolts.numbers[i] for i in np.flatnonzero(which)) for which in _loosened(joint))
    why, ways = [], []
    if anew:
        one = len(anew) == 1
        why.append(
            f"{numbered(anew)} {'is' if one else 'are'} tight, and the target counts on other friction or lubricant than was found, which "
            f"does not get under {'a tight nut' if one else 'tight nuts'}"
        )
        ways.append("a target for the threads as found (target_nut_factor per bolt, for tight ones the one found)")
    if tighter:
        why.append(f"{numbered(tighter)} {'was' if len(tighter) == 1 else 'were'} found tighter than the target")
        ways.append("a target that no bolt exceeds")
    return f"the target cannot be reached without loosening nuts, and the gasket stays: {'; '.join(why)}", ways


def _target_not_reached(joint: Joint) -> list[Finding]:
    bolts = held_back(joint)
    if not bolts:
        return []
    return [
        Finding(
            TARGET_NOT_REACHED,
            None,
            f"Joint '{joint.name}': THE TARGET TORQUE CANNOT BE REACHED on {numbered(bolts)} without loosening {'it' if len(bolts) == 1 else 'them'}, "
            "and the gasket stays: no repair is judged, and no torque is given.",
        )
    ]


def handled(joint: Joint) -> tuple[int, ...]:
    """The bolts that are put in, or come out to be looked at, before the joint is tightened: missing, loose or far looser.

    Of a joint repaired on the gasket that is in it, those that the repair handled.
    """
    off = set(joint.handled_bolts) or {*joint.bolts.missing, *joint.loose, *far_looser(joint)}
    return tuple(number for number in joint.bolts.numbers if number in off)


def new_threads(joint: Joint) -> tuple[int, ...]:
    """The bolts that are new or cleaned beside tight ones, and that a torque counts on with the friction found.

    That is so where the gasket stays, so that the tight ones keep their threads, and the file gives the others no friction of their own.
    """
    return new_threads_if_it_stays(joint) if joint.gasket_stays else ()


def new_threads_if_it_stays(joint: Joint) -> tuple[int, ...]:
    """Those bolts also where nobody says whether the gasket stays: they are so if it does."""
    given, off = joint.tightening, handled(joint)
    if joint.handled_bolts or joint.renewed_bolts:
        return joint.renewed_bolts
    if given is None or not 0 < len(off) < len(joint.bolts.numbers):
        return ()
    if not joint.gasket_stays and not gasket_not_said(joint):
        return ()
    if given.target_nut_factor is None:
        return off
    kept = given.with_target_friction.kept
    if kept is None:
        # one friction for all: of a bolt that comes out it is that found only if the file says what is on its threads then
        return off if given.target_lubricant is None and not np.any(other_threads(joint, given)) else ()
    same = np.broadcast_to(kept, len(joint.bolts.numbers))
    return tuple(number for number, alike in zip(joint.bolts.numbers, same, strict=True) if alike and number in off)


def _new_threads(joint: Joint) -> list[Finding]:
    """That a torque is not for new or cleaned threads, with how much harder it may pull them at the least tabled nut factor.

    Where nobody says whether the gasket stays, also that bolts cannot get to it then.
    """
    given, bolts, held = joint.tightening, new_threads_if_it_stays(joint), not_reached_if_it_stays(joint)
    if given is None or not (bolts or held) or (joint.gasket_stays and held):
        return []
    if given.target_torque is None and (as_found(joint) or not given.links_torque):
        return []  # there is no torque to use
    harder = _harder(_factor_found(joint, bolts[0])) if bolts else ""
    their = "its" if len(bolts) == 1 else "their"
    easier = f"new or cleaned threads turn easier. It is for the friction as found{harder}. The engineer gives {their} own{OWN_KEYS}."
    if held:
        told = f"IF THE GASKET STAYS, DO NOT TIGHTEN: {numbered(held)} cannot get to the torque without being loosened; the engineer decides."
        told += f" IF IT GOES, ASK FIRST: {easier}" if bolts else ""
    else:
        only, goes = ("", "") if joint.gasket_stays else ("IF THE GASKET STAYS, ", " IF IT GOES, ASK FIRST too.")
        told = f"{only}DO NOT USE THE TORQUE ON {numbered(bolts).upper()}: {easier}{goes}"
    doubtful = bool(bolts) and not joint.gasket_stays and bool(joint.repair)
    return [Finding(NEW_THREADS, None, f"Joint '{joint.name}': {told}", doubtful=doubtful)]


def not_reached_if_it_stays(joint: Joint) -> tuple[int, ...]:
    """The bolts that cannot get to the target without being loosened if the gasket stays, where that is so or nobody says; of a joint as
    repaired those that were so as found.
    """
    if joint.held_if_gasket_stays:
        return joint.held_if_gasket_stays
    return only_loosened(joint) if joint.gasket_stays or gasket_not_said(joint) else ()


def _harder(factor: float | None) -> str:
    """A nut factor, and how much harder the same torque pulls on threads that turn as easily as any; empty where it is not known."""
    least = least_tabled()[0]
    if factor is None or factor <= least:
        return ""
    times = figures(factor / least, 2)
    return f" (K {figures(factor, 3)}); at K {figures(least, 3)}{OF_TABLE} it pulls {times} times as hard"


def friction_not_said(joint: Joint) -> bool:
    """Whether one torque, without a target, goes on threads that a repair cleans, and nobody says which friction they then have.

    That is so where a bolt goes in or the gasket comes out, and no lubricant is given: the friction is that of the joint as found.
    """
    given = joint.tightening
    if given is None or given.torque is None or given.target_torque is not None or not given.links_torque:
        return False
    if joint.gasket_stays or as_found(joint) or not (joint.bolts.missing or new_gasket_goes_in(joint)):
        return False
    return given.lubricant is None


def _friction_as_found(joint: Joint) -> list[Finding]:
    """That a torque counts on the friction found, which is not that of threads cleaned, greased or new; not where the gasket stays.

    There tight nuts keep theirs, and :func:`_new_threads` tells of the others.
    """
    given = joint.tightening
    if given is None or joint.gasket_stays or new_threads_if_it_stays(joint):
        return []
    if not given.at_target.friction_as_found and not friction_not_said(joint):
        return []
    known = nut_factors(joint, given.at_target)
    return [
        Finding(
            FRICTION_AS_FOUND,
            None,
            f"Joint '{joint.name}': ASK BEFORE TIGHTENING: the torque counts on the friction as found, also for threads cleaned, greased "
            f"or new{_harder(None if known is None else float(np.max(known)))}. The engineer says which friction it is for{THEIR_KEYS}.",
            doubtful=given.friction_as_found,
        )
    ]


def _factor_found(joint: Joint, bolt: int) -> float | None:
    """The nut factor that the torque of a bolt counts on, or that its frictions come to; None where nothing is said of it."""
    each = None if joint.tightening is None else nut_factors(joint, joint.tightening.at_target)
    return None if each is None else float(each[joint.bolts.numbers.index(bolt)])


def nut_factors(joint: Joint, given: Tightening) -> Array | None:
    """The nut factor (n,) [-] of each bolt, or what its frictions come to; None where nothing links torque and preload."""
    if given.nut_factor is not None:
        return given.factors(len(joint.bolts.numbers))
    whole = replace(joint.bolts, present=np.ones_like(joint.bolts.present))
    try:
        clamped = clamping(replace(joint, bolts=whole, gasket=None, tightening=given), Refused(()))
    except StudyError:
        return None
    return None if clamped is None or clamped.torque_arm is None else clamped.torque_arm / joint.bolts.diameter
