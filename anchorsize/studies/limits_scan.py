"""Where along lines through the plane of flow and pressure the checks begin and cease to hold.

Flow and pressure are multiples of a case's own. Lines are scanned in one batch; dips and bumps between the points of the scan
are followed, and every change from holding to failing is then bisected, all of them together.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import Check
from anchorsize.studies.roots import bisect
from anchorsize.study import Array

ROWS = 1000  # judged at least in one batch of a bisection: fewer take as long
LEAST_WAYS, MOST_WAYS = 4, 64  # parts that a bracket is cut into at once
ZOOM_PARTS, ZOOM_ROUNDS = 16, 3  # a dip between points of the scan is followed down to 1/500 of their distance
FLAT = 1e-9  # change of a bounded utilization below which a dip is rounding

Key: TypeAlias = tuple[str, str]
"""A check and where it is made."""


@dataclass(frozen=True)
class Judged:
    """Rows judged: utilization (k, n) [-] of the checks of one case, infinite where a row is ``refused``.

    ``checks`` (k) are the checks themselves, with one number or n of them in each field; empty where nobody asks for them.
    """

    utilization: Array
    refused: Refused
    checks: tuple[Check, ...] = ()

    def reason(self, row: int) -> str | None:
        """Why a row cannot be judged, None where it can."""
        return next((why for rows, why in self.refused.reasons if rows[row]), None)

    def stop(self, key: Key, place: int, row: int) -> Stop:
        """The check at ``place``, known by its ``key``, as what stops at a row."""
        return Stop(*key, made=_at(self.checks[place], row) if self.checks else None)


Judge: TypeAlias = Callable[[Array, Array], Judged]
"""Called with multiples of flow and pressure (n,)."""


@dataclass(frozen=True)
class Stop:
    """What ends an interval: a check and where, or the reason for which the state cannot be judged.

    ``made`` is the check just outside the end, with single numbers: demand, allowable and bolt.
    """

    check: str | None
    where: str | None
    refusal: str | None = None
    made: Check | None = field(default=None, compare=False)


def _at(check: Check, row: int) -> Check:
    """A check of one row of a batch."""

    def single(value: Any) -> float:
        each = np.ravel(value)
        return float(each[row] if each.size > 1 else each[0])

    return replace(
        check,
        bolt=None if check.bolt is None else int(single(check.bolt)),
        demand=single(check.demand),
        allowable=single(check.allowable),
        utilization=single(check.utilization),
        margin=single(check.margin),
        holds=bool(single(check.holds)),
    )


@dataclass(frozen=True)
class Interval:
    """A stretch on which a check, or every check, holds.

    ``low_by`` is None where it starts at zero, ``high_by`` where it still holds at the end of the search, ``high``.
    """

    low: float
    high: float
    low_by: Stop | None
    high_by: Stop | None


@dataclass(frozen=True)
class Span:
    """All intervals on one line, in rising order, of what was searched from zero to ``searched_to``."""

    intervals: tuple[Interval, ...]
    searched_to: float

    @property
    def unlimited(self) -> bool:
        """Whether it still holds at the end of the search."""
        return bool(self.intervals) and self.intervals[-1].high_by is None

    @property
    def greatest(self) -> float | None:
        """Upper end of the last interval; None where no limit was found, or where it holds nowhere."""
        return None if not self.intervals or self.unlimited else self.intervals[-1].high

    def times(self, unit: float) -> Span:
        """The same with its ends multiplied by ``unit``."""
        ends = [Interval(each.low * unit, each.high * unit, each.low_by, each.high_by) for each in self.intervals]
        return Span(tuple(ends), self.searched_to * unit)


@dataclass(frozen=True)
class Lines:
    """Lines (L,) of multiples: flow rises in proportion to t = 0..1, pressure with ``t ** power``."""

    flow_from: Array
    flow_to: Array
    pressure_from: Array
    pressure_to: Array
    power: float = 1.0

    def at(self, line: NDArray[np.int64], t: Array) -> tuple[Array, Array]:
        """Flow and pressure at ``t`` (n,) of the lines numbered ``line`` (n,)."""
        flow = self.flow_from[line] + (self.flow_to - self.flow_from)[line] * t
        pressure = self.pressure_from[line] + (self.pressure_to - self.pressure_from)[line] * t**self.power
        return flow, pressure


@dataclass(frozen=True)
class Scan:
    """Lines judged on a grid. ``spans`` holds, for every check together and then for each check, one span in t per line.

    ``utilization`` is (1 + k, L, T) over the ``grid`` (T,) of t, all checks together first.
    """

    spans: tuple[tuple[Span, ...], ...]
    grid: Array
    utilization: Array


@dataclass(frozen=True)
class _Brackets:
    """Stretches (b,) of a line between which a check, or all (``check`` 0), changes between holding and failing.

    ``opens`` says where it fails at ``low`` and holds at ``high``.
    """

    check: NDArray[np.int64]
    line: NDArray[np.int64]
    low: Array
    high: Array
    opens: NDArray[np.bool_]


def scan_grid(points: int, decades: float) -> Array:
    """Places from 0 to 1, half of them evenly, half by a common ratio down to ``10 ** -decades``."""
    even, by_ratio = np.linspace(0.0, 1.0, points), np.geomspace(10.0**-decades, 1.0, points)
    return np.unique(np.concatenate([even, by_ratio]))


def scan(
    judge: Judge, lines: Lines, grid: Array, keys: tuple[Key, ...], counted: NDArray[np.bool_], tolerance: float
) -> Scan:
    """Judge ``lines`` on ``grid`` and find every end of what holds on them to a relative ``tolerance``.

    ``keys`` (k) name the checks that ``judge`` makes; ``counted`` (k,) says which of them make up "every check". Two changes within
    one step of the grid are found where the utilization dips or rises between them; three may be taken for one.
    """

    count = lines.flow_from.size
    utilization, brackets, ends = _found(judge, lines, grid, counted, tolerance)
    # the bisection hands back the upper end of what is left of a bracket: what fails stands there, or just below it
    outside = np.where(brackets.opens, np.maximum(brackets.low, ends * (1.0 - 4.0 * tolerance)), ends)
    stops = _stops(judge(*lines.at(brackets.line, outside)), brackets.check, keys, counted) if ends.size else []
    holds = utilization[:, :, 0] <= 1.0
    spans = [
        [_span(check, line, bool(holds[check, line]), brackets, ends, stops) for line in range(count)]
        for check in range(len(keys) + 1)
    ]
    return Scan(tuple(tuple(each) for each in spans), grid, utilization)


def farthest(judge: Judge, lines: Lines, grid: Array, counted: NDArray[np.bool_], tolerance: float) -> Array:
    """How far each of ``lines`` goes (L,) until the checks ``counted`` hold together no more: a place in t, 0 where they never do.

    The rest is as in :func:`scan`, for a judge of a single check.
    """
    utilization, brackets, ends = _found(judge, lines, grid, counted, tolerance)
    reach = np.where(utilization[0, :, -1] <= 1.0, 1.0, 0.0)
    closes = (brackets.check == 0) & ~brackets.opens
    np.maximum.at(reach, brackets.line[closes], ends[closes])
    return reach


def _found(
    judge: Judge, lines: Lines, grid: Array, counted: NDArray[np.bool_], tolerance: float
) -> tuple[Array, _Brackets, Array]:
    """Utilization (1 + k, L, T) on the grid, where it changes between holding and failing, and the places (b,) of those changes."""

    def use(line: NDArray[np.int64], t: Array) -> Array:
        return together(judge(*lines.at(line, t)), counted)

    count = lines.flow_from.size
    every = np.repeat(np.arange(count), grid.size)
    utilization = use(every, np.tile(grid, count)).reshape(-1, count, grid.size)
    brackets = _joined(_seen(grid, utilization), _hidden(use, grid, utilization))

    def over(t: Array) -> Array:
        repeat = t.size // brackets.line.size
        line, check = np.repeat(brackets.line, repeat), np.repeat(brackets.check, repeat)
        return _sign(use(line, t)[check, np.arange(t.size)])

    ways = int(np.clip(ROWS // max(1, brackets.line.size), LEAST_WAYS, MOST_WAYS))
    signs = np.where(brackets.opens, 1.0, -1.0)
    return utilization, brackets, bisect(over, brackets.low, brackets.high, ways, tolerance, signs)


def together(judged: Judged, counted: NDArray[np.bool_]) -> Array:
    """Utilization (1 + k, n): the greatest of the checks ``counted`` (k,) first, then each check."""
    whole = np.max(judged.utilization[counted], axis=0, initial=0.0)
    whole = np.where(judged.refused.rows, np.inf, whole)
    return np.concatenate([whole[None], judged.utilization])


def bounded(utilization: Array) -> Array:
    """A smooth measure from -1 to 1 with the sign of utilization - 1, for utilizations that may be infinite."""
    return np.where(utilization <= 1.0, utilization - 1.0, 1.0 - 1.0 / np.maximum(utilization, 1.0))


def _sign(utilization: Array) -> Array:
    return np.where(utilization <= 1.0, -1.0, 1.0)


def _joined(*parts: _Brackets) -> _Brackets:
    return _Brackets(
        *(np.concatenate([getattr(each, of) for each in parts]) for of in ("check", "line", "low", "high", "opens"))
    )


def _seen(grid: Array, utilization: Array) -> _Brackets:
    """Changes that show between neighboring points of the scan."""
    sign = _sign(utilization)
    check, line, place = np.nonzero(sign[..., :-1] != sign[..., 1:])
    return _Brackets(check, line, grid[place], grid[place + 1], sign[check, line, place] > 0.0)


def _hidden(use: Callable[[NDArray[np.int64], Array], Array], grid: Array, utilization: Array) -> _Brackets:
    """Pairs of changes around a dip that holds, or a bump that fails, between points of the scan."""
    measure = bounded(utilization)
    left, middle, right = measure[..., :-2], measure[..., 1:-1], measure[..., 2:]
    dip = (middle > 0.0) & (left - middle > FLAT) & (right >= middle)
    bump = (middle <= 0.0) & (middle - left > FLAT) & (right <= middle)
    check, line, place = np.nonzero(dip | bump)
    up = np.where(bump[check, line, place], 1.0, -1.0)
    low, high = grid[place], grid[place + 2]
    start, end, best = low, high, grid[place + 1]
    value = middle[check, line, place]
    shares = np.arange(1, ZOOM_PARTS) / ZOOM_PARTS
    for _ in range(ZOOM_ROUNDS if check.size else 0):
        t = start[:, None] + (end - start)[:, None] * shares
        tried = use(np.repeat(line, shares.size), t.ravel())
        tried = bounded(tried)[np.repeat(check, shares.size), np.arange(t.size)].reshape(t.shape)
        top = np.argmax(tried * up[:, None], axis=1)[:, None]
        value, best = np.take_along_axis(tried, top, axis=1)[:, 0], np.take_along_axis(t, top, axis=1)[:, 0]
        width = (end - start) / ZOOM_PARTS
        start, end = best - width, best + width
    found = (value > 0.0) == (up > 0.0)
    check, line, low, best, high, rises = (each[found] for each in (check, line, low, best, high, up > 0.0))
    return _joined(_Brackets(check, line, low, best, ~rises), _Brackets(check, line, best, high, rises))


def _stops(judged: Judged, check: NDArray[np.int64], keys: tuple[Key, ...], counted: NDArray[np.bool_]) -> list[Stop]:
    """What fails just outside each end: the check itself, or the worst of all where ``check`` is 0."""
    worst = np.argmax(np.where(counted[:, None], judged.utilization, -1.0), axis=0) if keys else check
    stops = []
    for row, number in enumerate(check):
        refusal = judged.reason(row)
        if refusal is not None:
            stops.append(Stop(None, None, refusal))
        else:
            place = int(worst[row] if number == 0 else number - 1)
            stops.append(judged.stop(keys[place], place, row))
    return stops


def _span(check: int, line: int, holds: bool, brackets: _Brackets, ends: Array, stops: list[Stop]) -> Span:
    """The intervals of one check on one line, from where it holds at the start and where that changes."""
    mine = np.nonzero((brackets.check == check) & (brackets.line == line))[0]
    intervals: list[Interval] = []
    low, low_by = 0.0, None
    for place in mine[np.argsort(ends[mine])]:
        if holds:
            intervals.append(Interval(low, float(ends[place]), low_by, stops[place]))
        else:
            low, low_by = float(ends[place]), stops[place]
        holds = not holds
    if holds:
        intervals.append(Interval(low, 1.0, low_by, None))
    return Span(tuple(intervals), 1.0)
