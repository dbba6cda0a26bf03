"""Where arrows and marks of forces stand: at their places, or beside what they would lie on. On the page in inches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from anchorsize.present.pictures.acting import Acting
from anchorsize.present.pictures.body import STEP, View, along_line
from anchorsize.present.pictures.style import Sheet
from anchorsize.study import Array

SEEN_END_ON = 0.06
"""Share of a force left on the page under which it is drawn as seen end on [-]."""
SIDE_BY_SIDE = 0.19
"""Distance of two marks of forces seen end on at one place [in]."""
CLEAR = 0.17
"""Distance of a mark from anything else that is drawn of a force [in]."""
APART, TOUCHING = 0.13, 0.07
"""Distance of two arrows side by side, and distance under which one lies on the other [in]."""
CROSSING = 4
"""Places of an arrow on another, one every STEP, up to which it crosses it and does not lie on it."""


@dataclass(frozen=True)
class Place:
    """Where a force is drawn: by how much its arrow is moved aside (2,) [in], or the ``mark`` (2,) [in] of one seen end on."""

    shift: Array = field(default_factory=lambda: np.zeros(2))
    mark: Array | None = None


def ends(act: Acting, seen: View, per_newton: float) -> tuple[Array, Array]:
    """Tail and tip (2,) [m] of a force on the page."""
    at, along = seen.flat(act.at), per_newton * seen.flat(act.force)
    return (at - along, at) if act.pushes else (at, at + along)


def places(paper: Sheet, drawn: Sequence[Acting], seen: View, per_newton: float, signs: Sequence[Array]) -> list[Place]:
    """A place for each force: arrows in their order, each beside those before it that it would lie on; then the marks.

    ``signs`` are the places that supports cover (n, 2) [in]; marks keep clear of them too.
    """
    found: list[Place | None] = []
    taken: list[Array] = []
    for act in drawn:
        if float(np.hypot(*seen.flat(act.force))) < SEEN_END_ON * act.magnitude:
            found.append(None)
            continue
        line = along_line(paper.inches(ends(act, seen, per_newton)), STEP)
        shift = _aside(line, taken)
        taken.append(line + shift)
        found.append(Place(shift))
    taken += signs
    made = []
    for act, place in zip(drawn, found, strict=True):
        mark = None if place is not None else _clear_of(paper.inches(seen.flat(act.at)), taken)
        if mark is not None:
            taken.append(mark[None])
        made.append(place if place is not None else Place(mark=mark))
    return made


def _aside(line: Array, taken: Sequence[Array]) -> Array:
    """By how much an arrow through places (n, 2) is moved across so that it lies on no other."""
    if not taken:
        return np.zeros(2)
    others = np.concatenate(list(taken))
    along = (line[-1] - line[0]) / max(float(np.hypot(*(line[-1] - line[0]))), 1e-9)
    across = np.array([-along[1], along[0]])
    steps = [APART * step * across for step in (0, 1, -1, 2, -2)]
    laps = [_on_others(line + step, others) for step in steps]
    return np.zeros(2) if laps[0] <= CROSSING else steps[int(np.argmin(laps))]


def _on_others(line: Array, others: Array) -> int:
    apart = np.hypot(*np.moveaxis(line[:, None] - others, -1, 0))
    return int(np.sum(apart.min(axis=1) < TOUCHING))


def _clear_of(at: Array, taken: Sequence[Array]) -> Array:
    """The place (2,) itself, or the nearest to its right, left, above or below that is clear of what is taken."""
    tried = [at]
    for step in range(1, 4):
        tried += [at + SIDE_BY_SIDE * step * np.array(way) for way in ((1, 0), (-1, 0), (0, 1), (0, -1))]
    if not taken:
        return at
    others = np.concatenate(list(taken))
    room = [float(np.hypot(*(others - place).T).min()) for place in tried]
    return next((place for place, free in zip(tried, room, strict=True) if free >= CLEAR), tried[int(np.argmax(room))])
