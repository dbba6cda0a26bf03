"""The plane of flow and pressure of one case: how far the region reaches in which its checks hold, and its boundary."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from anchorsize.studies.limits_scan import Judge, Judged, Key, Lines, Span, bounded, farthest, scan, scan_grid, together
from anchorsize.study import Array

PLANE_GRID = scan_grid(81, 4.0)  # along each of the lines that the boundary is found on
REACH_GRID = scan_grid(31, 3.0)  # and along each of those that its reach is found on
STEPS = 41  # of the coarse search for how far the region reaches
FEW, ROUNDS = 11, 4  # lines, drawn together round by round about the farthest, on which the reach is found
MARGIN = 3.0  # by how much that look goes beyond the coarse one
TOLERANCE, ROUGHLY = 1e-7, 1e-3  # relative, of the boundary and of its reach
VIEW = 1.1  # how far the plane reaches beyond what holds
BEYOND = 4.0  # how far it reaches, in multiples of a case's own, where no limit is found

Pair: TypeAlias = tuple[float, float]
"""A flow [m³/s] and a pressure [Pa], or multiples of them."""


@dataclass(frozen=True)
class Boundary:
    """Boundary of the region in the plane: spans of pressure [Pa] at ``flows`` (m,) [m³/s], of flow at ``pressures`` [Pa].

    Each list of spans is first that of every check together, then that of each check in the order of ``CaseLimits.checks``.
    ``measure`` (1 + k, s, t), for drawing, is negative where a check holds and smooth; it stands over ``along`` (s,) [m³/s] and
    ``across`` (t,) [Pa], which run through every end that was found.
    """

    flows: Array
    pressures: Array
    pressure_at: tuple[tuple[Span, ...], ...]
    flow_at: tuple[tuple[Span, ...], ...]
    along: Array
    across: Array
    measure: Array


@dataclass(frozen=True)
class Coarse:
    """A coarse look over multiples of flow and pressure: what never holds, what moves, how far the region may reach."""

    flow: Array
    pressure: Array
    utilization: Array  # (k, flows, pressures)
    refused: NDArray[np.bool_]

    @property
    def moves(self) -> NDArray[np.bool_]:
        """Whether flow or pressure changes a check (k,)."""
        judged = bounded(self.utilization[:, ~self.refused])
        if judged.shape[1] == 0:
            return np.ones(judged.shape[0], dtype=np.bool_)
        return np.asarray(np.ptp(judged, axis=1) > 1e-9, dtype=np.bool_)

    @property
    def fixed(self) -> NDArray[np.bool_]:
        """Whether a check fails whatever flow and pressure are (k,)."""
        fails: NDArray[np.bool_] = np.any(self.utilization > 1.0, axis=(1, 2))
        return fails & ~self.moves

    @property
    def never(self) -> NDArray[np.bool_]:
        """Whether a check fails wherever it was looked at (k,)."""
        return np.asarray(np.all((self.utilization > 1.0) | self.refused, axis=(1, 2)) & ~np.all(self.refused))


def coarse_look(judge: Judge, flow: float | None, pressure: float | None) -> Coarse:
    """Judge a grid of multiples from zero to ``flow`` and ``pressure``; None leaves that one as the case has it."""

    def steps(top: float | None) -> Array:
        return np.ones(1) if top is None else np.append(0.0, np.geomspace(1e-7 * top, top, STEPS))

    flows, pressures = steps(flow), steps(pressure)
    rows = np.meshgrid(flows, pressures, indexing="ij")
    judged = judge(rows[0].ravel(), rows[1].ravel())
    shape = rows[0].shape
    return Coarse(flows, pressures, judged.utilization.reshape(-1, *shape), judged.refused.rows.reshape(shape))


def boundary(
    judge: Judge,
    keys: tuple[Key, ...],
    coarse: Coarse,
    own: Pair,
    lines: tuple[Span | None, Span | None],
    given: tuple[float | None, float | None],
    points: int,
) -> Boundary | None:
    """The boundary on ``points`` lines of one flow and as many of one pressure; None where nothing holds anywhere.

    ``own`` are flow and pressure of the case, ``lines`` the spans found through that point, ``given`` the ends of the search
    where they were named.
    """
    counted = ~coarse.fixed
    worst = np.max(coarse.utilization[counted], axis=0, initial=0.0)
    holds = (worst <= 1.0) & ~coarse.refused
    flow = _end(coarse.flow, np.any(holds, axis=1), lines[0], own[0])
    pressure = _end(coarse.pressure, np.any(holds, axis=0), lines[1], own[1])
    if flow is None or pressure is None:
        return None

    def whole(flow: Array, pressure: Array) -> Judged:
        judged = judge(flow, pressure)
        return Judged(together(judged, counted)[:1], judged.refused)

    reach = _reach(whole, (flow, pressure))
    view = (
        reach[0] if given[0] is None else given[0] / own[0],
        reach[1] if given[1] is None else given[1] / own[1],
    )
    return _on_lines(judge, keys, counted, own, view, points)


def _end(steps: Array, holds: NDArray[np.bool_], line: Span | None, own: float) -> float | None:
    """A multiple well beyond what the coarse look found to hold and beyond any limit known; None where nothing holds."""
    found = 0.0 if line is None or line.greatest is None else line.greatest / own
    if not np.any(holds):
        return VIEW * max(found, 1.0) if line is not None and line.intervals else None
    last = int(np.nonzero(holds)[0][-1])
    return max(VIEW * found, BEYOND if last == steps.size - 1 else MARGIN * float(steps[last + 1]))


def _reach(whole: Judge, ends: Pair) -> Pair:
    """How far the plane is shown: beyond the farthest that holds on any line, and beyond the case's own point."""
    low, high, reach = np.zeros(2), np.array(ends[::-1]), np.zeros(2)
    for _ in range(ROUNDS):
        pressures, flows = np.linspace(low, high, FEW, axis=-1)  # of the lines along which the flow, the pressure rises
        found = farthest(whole, _both(flows, pressures, ends), REACH_GRID, np.ones(1, dtype=np.bool_), ROUGHLY)
        for i, (at, far) in enumerate(zip((pressures, flows), found.reshape(2, FEW), strict=True)):
            most = int(np.argmax(far))
            reach[i] = max(reach[i], far[most])
            low[i], high[i] = at[max(most - 1, 0)], at[min(most + 1, FEW - 1)]
    flow, pressure = (min(end, max(VIEW * float(far) * end, VIEW)) for end, far in zip(ends, reach, strict=True))
    return flow, pressure


def _both(flows: Array, pressures: Array, ends: Pair) -> Lines:
    """Lines at every pressure along which the flow rises to its end, then lines at every flow along which the pressure does."""
    across, upward = np.zeros(pressures.size), np.zeros(flows.size)
    return Lines(
        np.concatenate([across, flows]),
        np.concatenate([across + ends[0], flows]),
        np.concatenate([pressures, upward]),
        np.concatenate([pressures, upward + ends[1]]),
    )


def _on_lines(
    judge: Judge, keys: tuple[Key, ...], counted: NDArray[np.bool_], own: Pair, view: Pair, points: int
) -> Boundary:
    """The boundary on ``points`` lines of one flow and as many of one pressure, up to ``view``."""
    flows, pressures = np.linspace(0.0, view[0], points), np.linspace(0.0, view[1], points)
    spans = scan(judge, _both(flows, pressures, view), PLANE_GRID, keys, counted, TOLERANCE).spans
    across, upward = tuple(each[:points] for each in spans), tuple(each[points:] for each in spans)
    along, up = _through(flows, across[0], view[0]), _through(pressures, upward[0], view[1])
    grid = np.meshgrid(along, up, indexing="ij")
    measure = bounded(together(judge(grid[0].ravel(), grid[1].ravel()), counted)).reshape(-1, *grid[0].shape)
    units = view[0] * own[0], view[1] * own[1]
    return Boundary(
        flows=flows * own[0],
        pressures=pressures * own[1],
        pressure_at=tuple(tuple(span.times(units[1]) for span in each) for each in upward),
        flow_at=tuple(tuple(span.times(units[0]) for span in each) for each in across),
        along=along * own[0],
        across=up * own[1],
        measure=measure,
    )


def _through(even: Array, spans: tuple[Span, ...], reach: float) -> Array:
    """Multiples to draw over: evenly spread, and every end found on the lines across."""
    ends = [end for span in spans for each in span.intervals for end in (each.low, each.high)]
    return np.unique(np.round(np.concatenate([even / reach, ends]), 7)) * reach
