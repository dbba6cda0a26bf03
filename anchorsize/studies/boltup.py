"""What the installer of one joint needs to know: the order of the bolts, the torque of each pass, and which way the fitting pushes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal, TypeAlias

import numpy as np

from anchorsize.assessment import Assessment, StudyError
from anchorsize.assessment.clamping import Clamping, clamping
from anchorsize.assessment.findings_preload import overstretched
from anchorsize.assessment.findings_target import held_back, new_gasket_goes_in, new_threads, tightened_anew
from anchorsize.assessment.findings_tightening import gasket_not_said
from anchorsize.assessment.findings_unanchored import pulls_if_loose
from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import no_such
from anchorsize.mechanics import frames
from anchorsize.mechanics.bolting_order import cross_pattern, pass_shares, pass_torques
from anchorsize.mechanics.momentum import STANDARD_GRAVITY
from anchorsize.study import Array, BoltPattern, Joint, Study, Support, Tightening

PUBLISHED_COUNTS = (4, 8, 12, 16, 20, 24)  # counts whose order the published table gives
FINEST = 0.02  # a setting lies at most this share under the torque wanted
ROUND_STEPS = (5.0, 2.0, 1.0)
WORSE = 1.01  # from which lines that pull together are told beside each alone: common practice, no source
SETS_OF = 6  # lines that may pull of which every set is looked at; of more, each and all of them
ALIKE = 1e-9  # relative difference of tightenings up to which it is rounding
BESIDE = 0.5  # of the bolt circle's radius, from which an opening lies to the side of a joint
SLANT = 0.1  # of the flange plane against up, under which a joint counts as lying flat


Lacking: TypeAlias = Literal["tightening", "friction", "as found", "too strong", "held back", "stretched"]
"""Why there is no torque to tighten to: nothing said of it, nothing that links a preload to it, bolts found tightened differently, or
none tightened, and no target given, a target that would break a bolt; where the gasket stays, a target that a bolt gets to only by being loosened, or bolts
found over yield, to be replaced."""


@dataclass(frozen=True)
class Push:
    """The greatest load over the cases: ``force`` (3,) [N], and its parts.

    ``away`` is along the axis, positive away from the pipe; ``rise`` along the upward direction of the flange plane and ``aside``
    along ``aside_at`` [rad], a bolt angle. Where the joint lies flat there is no upward direction in its plane: ``rise`` is then 0
    and ``aside`` the whole part in the plane.
    """

    case: str
    force: Array
    away: float
    rise: float
    aside: float
    aside_at: float

    @property
    def size(self) -> float:
        """Magnitude [N]."""
        return float(np.linalg.norm(self.force))


@dataclass(frozen=True)
class LooseEnd:
    """The lines beyond ``openings``, were they hoses or not anchored: their ``pull`` on the fitting, and what then pushes the fitting."""

    openings: tuple[str, ...]
    pull: Push
    then: Push


@dataclass(frozen=True)
class TorqueGroup:
    """Bolts that get the same torque on the same friction: their numbers, the torque of each pass [N·m] (passes,), the nut factor."""

    bolts: tuple[int, ...]
    passes: Array
    nut_factor: float | None


@dataclass(frozen=True, eq=False)
class BoltUp:
    """Everything about bolting up one joint, in SI.

    ``order`` holds the bolts that are there, in the order of tightening, ``round_order`` the same bolts in turn round the flange;
    ``full_order`` holds all, once missing ones are fitted, and is empty where none is missing. ``groups`` is empty where there is no
    torque to tighten to, and ``lacking`` says why; ``found`` (n,) [N·m] are torques as found. ``preload`` (least, mean, greatest;
    each (n,) [N]) is the one aimed at, None where none is. ``weight`` [N] is that of the empty fitting with what hangs on it, None
    where its mass is not given, and ``bare_wall`` is True where it is that of a shape's wall alone. ``push`` is all that loads the
    fitting but what holds it; ``share`` is what this joint holds of it by itself, None where it holds all, or where who holds what is
    not known. ``holders`` counts the joints and the supports that hold the fitting.
    """

    joint: Joint
    axis: Array  # fitting to pipe
    e1: Array  # toward 12:00
    order: tuple[int, ...]
    round_order: tuple[int, ...]
    full_order: tuple[int, ...]
    published: bool
    shares: tuple[float, ...]
    groups: tuple[TorqueGroup, ...]
    lacking: Lacking | None
    found: Array | None
    preload: tuple[Array, Array, Array] | None
    push: Push
    up_at: float | None  # bolt angle of the upward direction [rad], None where the joint lies flat
    weight: float | None
    bare_wall: bool = False
    share: Push | None = None
    holders: tuple[int, int] = (1, 0)
    toward: tuple[str, float] | None = (
        None  # where the joint lies flat: an opening off its axis, and the bolt angle to it [rad]
    )
    before: Joint | None = None  # the joint as found, where the sheet is of its repair
    pushes: tuple[Push, ...] = ()  # of every case by itself
    ends: tuple[LooseEnd, ...] = ()
    supports: tuple[Support, ...] = ()  # of the option judged, as far as they carry in some case
    idle: tuple[Support, ...] = ()  # the others of the option: nothing counts on them

    @property
    def main_order(self) -> tuple[int, ...]:
        """The order to tighten in, every bolt in: missing ones are fitted before pressure comes on."""
        return self.full_order or self.order

    @property
    def to_fit(self) -> tuple[int, ...]:
        """Bolts that the repair puts in."""
        return () if self.before is None else self.before.bolts.missing

    @property
    def was(self) -> Joint:
        """The joint as found, where the sheet is of its repair."""
        return self.joint if self.before is None else self.before

    @property
    def new_gasket(self) -> bool:
        """Whether the repair puts a new gasket in the place of one used before, or squeezed."""
        return new_gasket_goes_in(self.was)

    @property
    def gasket_stays(self) -> bool:
        """Whether the joint stays closed on the gasket that is in it."""
        return self.joint.gasket_stays

    @property
    def to_loosen(self) -> tuple[int, ...]:
        """Bolts found tight in a joint without a gasket, and that are tightened anew from hand-tight, whoever says to what.

        A wrench set to the torque of the sheet turns no nut that is tighter.
        """
        return () if self.was.gasket is not None else tightened_anew(self.was)

    @property
    def gasket_not_said(self) -> bool:
        """Whether the joint was found in service and nobody says whether its gasket stays."""
        return gasket_not_said(self.was)

    @property
    def asks_engineer(self) -> bool:
        """Whether nothing may be tightened by the sheet: nuts found tight would come off a gasket that stays."""
        return self.lacking in ("held back", "stretched")

    @property
    def recorded(self) -> Array | None:
        """Torque of each bolt as found (n,) [N·m]; NaN where none was there, None where the file has only what is wanted."""
        joint = self.was
        given = joint.tightening
        if given is None or given.torque is None or not is_as_found(joint):
            return None
        return np.where(joint.bolts.present, given.torque, np.nan)

    @property
    def frictions(self) -> bool:
        """Whether the torques of the bolts count on different nut factors."""
        return len({group.nut_factor for group in self.groups}) > 1

    @property
    def not_for(self) -> tuple[int, ...]:
        """The bolts that are new or cleaned beside tight ones: the torque counts on the friction found, which is not theirs."""
        return new_threads(self.joint) if self.groups else ()

    def torque_of(self, bolt: int) -> float | None:
        """Final torque of a bolt [N·m]."""
        return next((float(group.passes[-1]) for group in self.groups if bolt in group.bolts), None)


def boltup(assessment: Assessment, joint: str | None = None, before: Study | None = None) -> BoltUp:
    """How to bolt up a joint of an assessment; ``joint`` may be left out where there is only one.

    ``before`` is the study as found, where the assessment is of its repair.

    Raises
    ------
    StudyError
        Where there is no joint of that name, or several and none was named.
    """
    study = assessment.study
    chosen = _chosen(list(study.joints), joint)
    found = study.joints[chosen]
    axis = study.openings[found.at].outward
    e1, e2 = frames.joint_frame(axis, found.reference)
    in_turn = _in_turn(found)
    places = range(1, len(in_turn) + 1)
    missing = {place for place in places if in_turn[place - 1] in found.bolts.missing}
    shares = pass_shares(len(in_turn))
    torque, clamped, lacking = _aimed_at(found)
    mass = study.fitting.empty_mass
    return BoltUp(
        joint=found,
        axis=axis,
        e1=e1,
        order=tuple(in_turn[place - 1] for place in cross_pattern(len(in_turn), missing)),
        round_order=tuple(in_turn[place - 1] for place in places if place not in missing),
        full_order=tuple(in_turn[place - 1] for place in cross_pattern(len(in_turn))) if missing else (),
        published=len(in_turn) in PUBLISHED_COUNTS and found.bolts.circle is not None,
        shares=shares,
        groups=() if torque is None else _groups(found, torque, shares),
        lacking=lacking,
        found=found.tightening.torque if found.tightening is not None and is_as_found(found) else None,
        preload=None if clamped is None else (clamped.least, clamped.mean, clamped.greatest),
        push=_push({name: case.reaction_force for name, case in assessment.cases.items()}, study.up, (axis, e1, e2)),
        pushes=tuple(
            _push({name: case.reaction_force}, study.up, (axis, e1, e2)) for name, case in assessment.cases.items()
        ),
        ends=_ends(assessment, (axis, e1, e2)),
        share=_share(assessment, chosen, (axis, e1, e2)),
        holders=_holders(assessment),
        supports=_supports(assessment)[0],
        idle=_supports(assessment)[1],
        up_at=_up_at(study.up, axis, e1, e2),
        weight=None if mass is None else float(mass) * STANDARD_GRAVITY,
        bare_wall=study.fitting.bare_wall and not study.fitting.extra_masses,
        toward=None if _up_at(study.up, axis, e1, e2) is not None else _toward(study, found, e1, e2),
        before=None if before is None else before.joints[chosen],
    )


def _chosen(names: list[str], asked: str | None) -> str:
    if not names:
        raise StudyError("the file has no joint to bolt up; give it one under joints")
    if asked is None and len(names) > 1:
        raise StudyError(f"the file has several joints ({', '.join(names)}); choose one with --joint")
    if asked is not None and asked not in names:
        raise no_such("joint", asked, names)
    return asked or names[0]


def _in_turn(joint: Joint) -> tuple[int, ...]:
    """Bolt numbers clockwise round the flange, from the first number on; those of a circle are so already."""
    if joint.bolts.circle is not None:
        return joint.bolts.numbers
    xy = joint.bolts.xy
    angle = np.arctan2(xy[:, 1], xy[:, 0])
    return tuple(joint.bolts.numbers[i] for i in np.argsort((angle - angle[0]) % (2.0 * np.pi), kind="stable"))


def is_as_found(joint: Joint) -> bool:
    """Whether the tightening given is what was found: a target stands beside it, or it differs between bolts of one size and friction."""
    given = joint.tightening
    return given is not None and (given.target_torque is not None or differs(joint.bolts, given))


def differs(bolts: BoltPattern, given: Tightening) -> bool:
    """Whether bolts of one size and friction are tightened differently; a missing bolt counts unless it is given as not tightened."""
    values = given.values
    if values is None:
        return False
    each: dict[tuple[str, float], list[float]] = {}
    kinds = given.kinds(bolts.sizes)
    for kind, value, there in zip(kinds, np.broadcast_to(values, len(bolts.numbers)), bolts.present, strict=True):
        if there or value > 0.0:
            each.setdefault(kind, []).append(float(value))
    return any(max(same) - min(same) > ALIKE * max(same) for same in each.values())


def stretched_in_place(joint: Joint) -> tuple[int, ...]:
    """The bolts found over yield in a joint whose gasket stays: to be replaced, but no tight nut is loosened unasked."""
    return overstretched(joint) if joint.gasket_stays else ()


def _aimed_at(joint: Joint) -> tuple[Array | None, Clamping | None, Lacking | None]:
    """Torque to tighten to (n,) [N·m] and what it clamps, as far as they are known, and why there is no torque."""
    given, judged = joint.tightening, clamping(joint)
    if given is None or judged is None:
        return None, None, "tightening"
    if stretched_in_place(joint):
        return None, None, "stretched"
    if given.target_torque is None:
        if differs(joint.bolts, given) or not np.any(given.values):
            return None, None, "as found"
        torque = judged.torque_wanted
        return torque, judged, "friction" if torque is None else None
    if held_back(joint):
        return None, None, "held back"
    if not given.at_target.links_torque:
        return given.target_torque, None, None
    # the target is for every bolt, those too that are missing and go in for it
    whole = replace(joint, bolts=replace(joint.bolts, present=np.ones_like(joint.bolts.present)))
    refused = Refused(())
    target = clamping(replace(whole, tightening=given.at_target), refused)
    return (None, None, "too strong") if refused.reasons else (given.target_torque, target, None)


def _groups(joint: Joint, torque: Array, shares: tuple[float, ...]) -> tuple[TorqueGroup, ...]:
    """Bolts by the torque that they get and its friction, in the order of their numbers.

    Those that are there; where torque or friction of a target differs within a size, the missing ones too, for no other bolt tells theirs.
    """
    given, bolts = joint.tightening, joint.bolts
    each = np.broadcast_to(torque, len(bolts.numbers))
    aimed = None if given is None else given.at_target
    factors = np.full(len(each), np.nan) if aimed is None else aimed.factors(len(each))
    found: dict[tuple[float, float | None], list[int]] = {}
    told = set(zip(each.tolist(), np.nan_to_num(factors).tolist(), bolts.sizes, strict=True))
    own = given is not None and given.target_torque is not None and len(told) > len(set(bolts.sizes))
    for number, value, factor, there in zip(bolts.numbers, each, factors, bolts.present, strict=True):
        if there or own:
            found.setdefault((float(value), None if np.isnan(factor) else float(factor)), []).append(number)
    return tuple(
        TorqueGroup(tuple(same), pass_torques(value, shares), factor) for (value, factor), same in found.items()
    )


def _up_at(up: Array, axis: Array, e1: Array, e2: Array) -> float | None:
    in_plane = up - (up @ axis) * axis
    return None if np.linalg.norm(in_plane) < SLANT else math.atan2(float(up @ e2), float(up @ e1))


def _toward(study: Study, joint: Joint, e1: Array, e2: Array) -> tuple[str, float] | None:
    """The opening that lies farthest to the side of the joint, beyond its bolts, and the bolt angle toward it."""
    reach = float(np.max(np.linalg.norm(joint.bolts.xy, axis=-1)))
    aside = {
        name: (float((opening.center - joint.center) @ e1), float((opening.center - joint.center) @ e2))
        for name, opening in study.openings.items()
        if name != joint.at
    }
    far = {name: math.hypot(*offset) for name, offset in aside.items()}
    farthest = max(far, key=lambda name: far[name], default=None)
    if farthest is None or far[farthest] < BESIDE * reach:
        return None
    return farthest, math.atan2(aside[farthest][1], aside[farthest][0])


def _holders(assessment: Assessment) -> tuple[int, int]:
    """How many joints and how many supports hold the fitting."""
    return len(assessment.study.joints), len(_supports(assessment)[0])


def _supports(assessment: Assessment) -> tuple[tuple[Support, ...], tuple[Support, ...]]:
    """The supports of the option judged that carry in some case, and those that do in none; all of the first where that is not known."""
    given = assessment.study.supports.get(assessment.option, ())
    cases = assessment.cases.values()
    idle = tuple(
        each
        for each in given
        if assessment.cases
        and all(each.name in case.supports and np.all(case.supports[each.name].idle) for case in cases)
    )
    return tuple(each for each in given if each not in idle), idle


def _share(assessment: Assessment, joint: str, frame: tuple[Array, Array, Array]) -> Push | None:
    """The most of the load that a joint holds by itself, where others hold the fitting with it."""
    held = {name: case.joints[joint].reaction_force for name, case in assessment.cases.items() if joint in case.joints}
    if not held or _holders(assessment) == (1, 0):
        return None
    return _push(held, assessment.study.up, frame)


def _ends(assessment: Assessment, frame: tuple[Array, Array, Array]) -> tuple[LooseEnd, ...]:
    """Every opening whose line may be a hose or not anchored, in the case that then pushes the fitting most.

    Then those that together push it more than any of them alone, in the worst set of them; none where no set does.
    """
    study = assessment.study
    held: dict[tuple[str, ...], dict[str, Array]] = {}
    pulled: dict[tuple[str, ...], dict[str, Array]] = {}
    for name, case in assessment.cases.items():
        pulls = {end: -force * study.openings[end].outward for end, force in pulls_if_loose(study, case).items()}
        counts = range(1, len(pulls) + 1) if len(pulls) <= SETS_OF else (1, len(pulls))
        for ends in (each for count in counts for each in combinations(pulls, count)):
            pulled.setdefault(ends, {})[name] = sum((pulls[end] for end in ends), np.zeros(3))
            held.setdefault(ends, {})[name] = case.reaction_force + pulled[ends][name]
    then = {ends: _push(of, study.up, frame) for ends, of in held.items()}
    alone = max((most.size for ends, most in then.items() if len(ends) == 1), default=0.0)
    worst = max(then, key=lambda ends: then[ends].size, default=())
    told: list[tuple[str, ...]] = [ends for ends in then if len(ends) == 1]
    if len(worst) > 1 and then[worst].size > WORSE * alone:
        told.append(worst)
    return tuple(
        LooseEnd(ends, _push({then[ends].case: pulled[ends][then[ends].case]}, study.up, frame), then[ends])
        for ends in told
    )


def _push(held: Mapping[str, Array], up: Array, frame: tuple[Array, Array, Array]) -> Push:
    """The greatest load over the cases in the directions of a joint, against the force that holds it in each."""
    axis, e1, e2 = frame
    name, holding = max(held.items(), key=lambda item: float(np.linalg.norm(item[1])))
    force = -holding
    first, second = float(force @ e1), float(force @ e2)
    up_at = _up_at(up, axis, e1, e2)
    if up_at is None:
        rise, aside, aside_at = 0.0, math.hypot(first, second), math.atan2(second, first)
    else:
        rise = first * math.cos(up_at) + second * math.sin(up_at)
        across = second * math.cos(up_at) - first * math.sin(up_at)
        aside, aside_at = abs(across), up_at + math.copysign(math.pi / 2, across)
    return Push(name, force, -float(force @ axis), rise, aside, aside_at)


def wrench_setting(torque: float) -> float:
    """The torque rounded down to a mark of a wrench: a step of 1, 2 or 5 times a power of ten, at most 2 % of the torque.

    Works in any unit. Common practice, no source.
    """
    if torque <= 0.0:
        return 0.0
    finest = FINEST * torque
    decade = 10.0 ** math.floor(math.log10(finest * (1.0 + 1e-9)))
    step = next(mark * decade for mark in ROUND_STEPS if mark * decade <= finest * (1.0 + 1e-9))
    return math.floor(torque / step * (1.0 + 1e-9)) * step
