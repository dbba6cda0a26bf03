"""Arms as slender beams: the pipe between a joint and a support, and what an option carries where that pipe bends.

The fitting counts as rigid everywhere else. Here the one joint still gives way as known; between it and the supports the pipe bends
and twists (:mod:`anchorsize.mechanics.arm`): a support gives way by its own stiffness and the arm's in series, and what else loads
the arm moves its place beforehand. Source: flexibility method, any text on structural analysis; derived here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment.distance import bore_of
from anchorsize.assessment.evaluation import evaluate_case
from anchorsize.assessment.holding import Holding, holding, share_out, stiffness_known
from anchorsize.assessment.refusing import raise_at_once
from anchorsize.assessment.results import CaseResult, Load, StudyError
from anchorsize.mechanics.arm import arm_flexibility, arm_movement
from anchorsize.mechanics.elbow import bend_characteristic, flexibility_factor, miter_characteristic
from anchorsize.mechanics.restraint import Action
from anchorsize.reference.pipes import standard_wall
from anchorsize.study import CONTENTS_WEIGHT, FITTING_WEIGHT, Array, Case, Fitting, Joint, PipeBend, Study, Support
from anchorsize.units import show

STEEL = 200e9
"""Modulus of a fitting [Pa], of which a case file says nothing: steel, common practice, no source."""

PARTS = 40
"""Into which the whole centerline is cut at least for its weight: lumps so short bend it as the even weight does to 0.1 %."""

ROUND_UP_TO = 2.0
"""Bores of straight pipe up to which the flange of the joint keeps a bend round: common practice, no source."""

PASSES, SETTLED = 50, 1e-6
"""Times that the supports of an arm may be asked what they carry after the others, and the share of the greatest that may then change."""

STEP = 1e-5  # of a movement, by which it is told what more of it does


@dataclass(frozen=True)
class Arm:
    """The way from a joint to a point ``end`` [m] along straight pieces ``lines`` (n, 2, 3) [m], a branch later than what it leaves.

    ``start`` and ``to_end`` (n,) are the shares of each piece's length up to which the ways to joint and end lead from the first one.
    ``widths`` (n, 2) are the outside diameters at the ends of the pieces, ``factors`` (n,) their flexibility factors, ``wall`` [m] and
    ``modulus`` [Pa] those of the pipe, and ``words`` say what it was taken to be.
    """

    end: Array
    lines: Array
    widths: Array
    factors: Array
    start: Array
    to_end: Array
    wall: float
    modulus: float
    words: str

    def flexibility(self) -> Array:
        """How its end moves by unit forces there (3, 3) [m/N]."""
        begin, end, outside = self._cut(self._felt(self.to_end))
        return arm_flexibility(begin, end, self.end, outside, self.wall, self.modulus, self.factors)

    def moved(self, force: Array, moment: Array, places: Array) -> Array:
        """How its end moves (k, 3) [m] by loads (k, 3) [N] and [N·m] about the origin that enter the fitting at ``places`` (k, 3)."""
        begin, end, outside = self._cut(self._felt(_reach(self.lines, places)))
        return arm_movement(begin, end, self.end, force, moment, outside, self.wall, self.modulus, self.factors)

    def _felt(self, reach: Array) -> Array:
        """Of each piece the shares (..., n, 2) between which the way to the end is also that to a place ``reach`` (..., n); none is alike."""
        low = np.maximum(np.minimum(self.start, self.to_end), np.minimum(self.start, reach))
        high = np.minimum(np.maximum(self.start, self.to_end), np.maximum(self.start, reach))
        return np.stack([low, np.maximum(low, high)], axis=-1)

    def _cut(self, shares: Array) -> tuple[Array, Array, Array]:
        """Ends (..., n, 3) and outside diameters (..., n, 2) of the pieces between shares (..., n, 2) of their lengths."""
        along = self.lines[:, 1] - self.lines[:, 0]
        begin, end = (self.lines[:, 0] + shares[..., [side]] * along for side in (0, 1))
        return begin, end, self.widths[:, :1] + shares * (self.widths[:, 1:] - self.widths[:, :1])


def arm_to(study: Study, joint: Joint, at: Array) -> Arm:
    """The arm from a joint to a point: along the centerline where a shape tells it, else straight; its section and modulus.

    The wall is that of the shape at the joint, else of the pipe behind, else the standard wall of a pipe of that bore.
    """
    bore, behind, fitting = bore_of(study.openings[joint.at]), joint.pipe_behind, study.fitting
    modulus, assumed = (STEEL, ", assumed") if behind is None else (float(behind.modulus), "")
    wall, source = (
        (standard_wall(bore), "standard wall, assumed")
        if behind is None
        else (float(behind.wall), "that of the pipe behind")
    )
    lines, widths = fitting.centerline, fitting.widths
    shaped = lines is not None and widths is not None
    if lines is None or widths is None:
        lines = np.stack([joint.center, at])[None]
        widths = np.full((1, 2), bore + 2.0 * wall if behind is None else float(behind.outside))
    (piece,), (share,) = _nearest(lines, joint.center[None])
    outside = float(widths[piece, 0] + share * (widths[piece, 1] - widths[piece, 0]))
    if shaped and outside - bore > 1e-6 * bore:
        wall, source = (outside - bore) / 2.0, "as its shape"
    elif shaped:  # its widths are bores
        widths, outside = widths + 2.0 * wall, outside + 2.0 * wall
    ends = np.stack([joint.center, at])
    start, to_end = _reach(lines, ends)
    elbows = _elbows(fitting.bends, lines, widths, wall, joint.center, bore)
    crossed = [each for each in elbows if np.any((start != to_end)[each.bend.first : each.bend.end])]
    words = (
        f"Arm taken as pipe of {show(outside, 'length', study.units)} outside, wall {show(wall, 'length', study.units)} "
        f"({source}), modulus {show(modulus, 'modulus', study.units)}{assumed}{_bends_words(crossed, shaped)}"
    )
    lines, widths, factors = _by_factor(lines, widths, elbows)
    start, to_end = _reach(lines, ends)
    return Arm(at, lines, widths, factors, start, to_end, wall, modulus, words)


@dataclass(frozen=True)
class _Elbow:
    """A bend of the arm: its flexibility factor k, and whether the joint's flange keeps one end of it round.

    ``share`` is how much of its length bends so: R₁/R where miters stand far apart, each of which then counts as an elbow of radius R₁,
    R₁ tan θ to both sides of its cut.
    """

    bend: PipeBend
    factor: float
    share: float
    flanged: bool

    def along(self, number: int) -> tuple[list[float], list[float]]:
        """Shares of a piece's length between which it bends alike, and the factors between them."""
        if not self.bend.cuts:
            return [0.0, 1.0], [self.factor]
        # a single cut may bend over more than its pieces: all of that is put on them
        more = 1.0 + (self.factor - 1.0) * max(self.share, 1.0)
        near = min(self.share, 1.0)
        if number == self.bend.first:
            return [0.0, 1.0 - near, 1.0], [1.0, more]
        if number == self.bend.end - 1:
            return [0.0, near, 1.0], [more, 1.0]
        return [0.0, near / 2.0, 1.0 - near / 2.0, 1.0], [more, 1.0, more]


def _elbows(
    bends: tuple[PipeBend, ...], lines: Array, widths: Array, wall: float, flange: Array, bore: float
) -> list[_Elbow]:
    """The bends of pieces (n, 2, 3) and outside diameters (n, 2) [m], of the arm's wall where they have none of their own."""
    found = []
    for bend in bends:
        thick = wall if bend.wall is None else float(bend.wall)
        radius, outside = float(bend.radius), float(np.max(widths[bend.first : bend.end]))
        h = smooth = bend_characteristic(radius, outside, thick)
        if bend.tilt is not None:
            h = miter_characteristic(radius, float(bend.tilt), outside, thick, bend.cuts)
        share = float(h / smooth)
        first, last = lines[bend.first], lines[bend.end - 1]
        ends = np.stack([first[1] + share * (first[0] - first[1]), last[0] + share * (last[1] - last[0])])
        found.append((bend, h, share, float(np.min(np.linalg.norm(ends - flange, axis=-1)))))
    nearest = min((away for *_, away in found), default=np.inf)
    kept_round = [away == nearest and away < ROUND_UP_TO * bore for *_, away in found]
    return [
        _Elbow(bend, float(flexibility_factor(h, bend.cuts > 0, int(flanged))), share, flanged)
        for (bend, h, share, _), flanged in zip(found, kept_round, strict=True)
    ]


def _by_factor(lines: Array, widths: Array, elbows: list[_Elbow]) -> tuple[Array, Array, Array]:
    """The pieces (m, 2, 3), cut where what they bend by changes, their outside diameters (m, 2) and flexibility factors (m,)."""
    of = {number: each for each in elbows for number in range(each.bend.first, each.bend.end)}
    pieces, sizes, factors = [], [], []
    for number, (ends, wide) in enumerate(zip(lines, widths, strict=True)):
        shares, more = of[number].along(number) if number in of else ([0.0, 1.0], [1.0])
        for part, factor in zip(pairwise(shares), more, strict=True):
            share = np.array(part)
            pieces.append(ends[0] + share[:, None] * (ends[1] - ends[0]))
            sizes.append(wide[0] + share * (wide[1] - wide[0]))
            factors.append(factor)
    return np.stack(pieces), np.stack(sizes), np.array(factors)


def _bends_words(elbows: list[_Elbow], shaped: bool) -> str:
    """What the bends on the way count as, to the end of the sentence."""
    if not shaped:
        return ", straight. An elbow on the way bends more easily."
    told = Counter(
        f"{'mitered ' * (each.bend.cuts > 0)}elbow with flexibility factor k {each.factor:.3g}"
        + " by that wall" * (each.bend.wall is None)
        + " (one end flanged)" * each.flanged
        for each in elbows
    )
    each = [words if count == 1 else f"{count} times {words}" for words, count in told.items()]
    return f"; {', '.join(each)}." if each else "."


def _nearest(lines: Array, points: Array) -> tuple[NDArray[np.int64], Array]:
    """The pieces (k,) of lines (n, 2, 3) nearest to points (k, 3), and the shares (k,) of their lengths at which they are so."""
    along = lines[:, 1] - lines[:, 0]
    squares = np.maximum(np.sum(along**2, axis=-1), 1e-300)
    shares = np.clip(np.sum((points[:, None] - lines[:, 0]) * along, axis=-1) / squares, 0.0, 1.0)
    away = np.linalg.norm(lines[:, 0] + shares[..., None] * along - points[:, None], axis=-1)
    piece = np.argmin(away, axis=-1)
    return piece, shares[np.arange(len(points)), piece]


def _reach(lines: Array, points: Array) -> Array:
    """Up to which share of each piece (k, n) the ways from the start of the first lead to points (k, 3), 0 where they take none of it."""
    to_start = np.zeros((len(lines), len(lines)))
    for branch in range(1, len(lines)):
        (left,), (share,) = _nearest(lines[:branch], lines[branch, :1])
        to_start[branch] = to_start[left]
        to_start[branch, left] = share
    pieces, shares = _nearest(lines, points)
    reach: Array = to_start[pieces]
    reach[np.arange(len(points)), pieces] = shares
    return reach


def as_beams(
    study: Study, supports: tuple[Support, ...], rigid: Mapping[str, CaseResult]
) -> dict[str, CaseResult] | None:
    """Every case with the way from the one joint to each support bending, ``rigid`` as it is without; None where that is not worked out.

    That is so with several joints, a joint taken as rigid, or anchors, which turn the arm as well; or where supports do not settle.
    """
    joints = list(study.joints.values())
    if len(joints) != 1 or not stiffness_known(joints[0]) or any(each.kind == "anchor" for each in supports):
        return None
    alone = replace(study, supports={"as given": supports})
    held = holding(alone, "as given")
    if held is None:
        return None
    arms = [arm_to(study, joints[0], each.at) for each in held.springs]
    try:
        return {name: _bent(alone, case, held, arms, rigid[name]) for name, case in study.cases.items()}
    except StudyError:
        return None


def _bent(study: Study, case: Case, held: Holding, arms: list[Arm], rigid: CaseResult) -> CaseResult:
    """One case with its arms bending; StudyError where its supports do not settle."""
    force, moment, places = _entering(study.fitting, rigid.loads)
    toward = np.stack([each.toward for each in held.springs])
    at = np.stack([each.at for each in held.springs])
    free = np.array([_along(arm.moved(force, moment, places), n).sum() for arm, n in zip(arms, toward, strict=True)])
    mutual = np.array(
        [_along(arm.moved(toward, np.cross(at, toward), at), n) for arm, n in zip(arms, toward, strict=True)]
    )
    springs = held.supports
    springy = np.asarray(springs.action) != Action.CONSTANT
    given = np.asarray(springs.stiffness, dtype=float)
    softer = np.where(springy, 1.0 / (1.0 + np.diagonal(mutual) * given), 1.0)
    series = replace(springs, stiffness=given * softer, set_load=np.asarray(springs.set_load) * softer)
    others = np.where(springy & np.eye(len(arms), dtype=bool), 0.0, mutual)  # their own is in series

    def carries(bend: Array) -> Array:
        there = replace(held, supports=replace(series, bend=bend))
        shared = share_out(study, case.name, there, rigid.reaction_force, rigid.reaction_moment, raise_at_once)
        return np.stack(
            [np.broadcast_to(shared.supports[each.name].push, bend.shape[:-1]) for each in held.springs], -1
        )

    carried = np.array([float(rigid.supports[each.name].push) for each in held.springs])
    for _ in range(PASSES):
        bend = free + others @ carried
        step = STEP * max(float(np.max(np.abs(bend))), STEP)
        tried = carries(bend + step * np.vstack([np.zeros(len(arms)), np.eye(len(arms))]))
        off = tried[0] - carried
        if np.max(np.abs(off)) <= SETTLED * np.max(np.abs(tried[0])):
            return evaluate_case(study, case, held=replace(held, supports=replace(series, bend=bend)))
        # what carries is linear in what bends but where a support begins or ceases to carry: Newton's step
        slope = (tried[1:] - tried[0]).T / step @ others
        carried = carried + np.linalg.solve(np.eye(len(arms)) - slope, off)
    raise StudyError(f"case '{case.name}': the supports of the bending arm do not settle")


def _along(moved: Array, direction: Array) -> Array:
    return np.asarray(np.sum(moved * direction, axis=-1))


def _entering(fitting: Fitting, loads: tuple[Load, ...]) -> tuple[Array, Array, Array]:
    """Loads by where they enter the fitting: force [N], moment about the origin [N·m] and place (k, 3) [m].

    The weight of a shape's wall and of its contents is spread along its centerline, every other load enters at its point; one that
    has none, of a flow that changes, bends nothing here.
    """
    parts = []
    for load in loads:
        squared = load.source == CONTENTS_WEIGHT
        even = squared or (load.source == FITTING_WEIGHT and fitting.bare_wall)
        if even and fitting.centerline is not None and fitting.widths is not None:
            shares, places = _spread(fitting.centerline, fitting.widths, 2 if squared else 1)
            forces = shares[:, None] * load.force
            parts.append((forces, np.cross(places, forces), places))
        elif load.at is not None:
            parts.append((load.force[None], load.moment[None], load.at[None]))
    if not parts:
        return np.zeros((0, 3)), np.zeros((0, 3)), np.zeros((0, 3))
    force, moment, places = (np.concatenate(each) for each in zip(*parts, strict=True))
    return force, moment, places


def _spread(lines: Array, widths: Array, power: int) -> tuple[Array, Array]:
    """Shares (k,) of a weight that goes with a power of the width, and the middles (k, 3) of the short lengths they lie on."""
    lengths = np.linalg.norm(lines[:, 1] - lines[:, 0], axis=-1)
    counts = np.maximum(np.ceil(lengths * PARTS / np.sum(lengths)).astype(int), 1)
    piece = np.repeat(np.arange(len(lines)), counts)
    share = np.concatenate([(np.arange(count) + 0.5) / count for count in counts])
    places = lines[piece, 0] + share[:, None] * (lines[piece, 1] - lines[piece, 0])
    wide = widths[piece, 0] + share * (widths[piece, 1] - widths[piece, 0])
    amounts = lengths[piece] / counts[piece] * wide**power
    return amounts / np.sum(amounts), places
