"""Where letters go: beside what they name, clear of each other and of the drawing. All in inches of the sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from anchorsize.present.pictures.style import FAINT, INK, TEXT_SIZE, Sheet, block_size
from anchorsize.study import Array

DISTANCES = (0.07, 0.16, 0.28, 0.42, 0.6, 0.8, 1.05, 1.35, 1.7, 2.1)
ANGLES = np.radians(np.arange(0, 360, 20))
AIR = 0.03  # around letters [in]
LEADER_FROM = 0.13  # distance [in] from which a thin line joins label and anchor


@dataclass(frozen=True)
class Label:
    """Lines of text that name the thing at ``anchor`` [in], best set off in the direction ``toward``."""

    lines: tuple[str, ...]
    anchor: Array
    toward: Array
    color: str = INK
    bold: bool = False


@dataclass(frozen=True)
class Box:
    """Middle and half sizes [in] of a label that has its place."""

    middle: Array
    half: Array


def place(labels: Sequence[Label], obstacles: Array, size: Array, strokes: Sequence[Array] = ()) -> list[Box]:
    """A place for every label on a sheet of ``size`` [in], in their order, clear of ``obstacles`` (n, 2) where it can be.

    Each takes the cheapest of a fan of places around its anchor: off the sheet or on another label costs most, on one of
    ``strokes``, lines (n, 2) that letters must not be struck through by, less, on the drawing less, far away or turned from its
    direction least.
    """
    placed: list[Box] = []
    struck = [np.stack([line[:-1], line[1:]], axis=1) for line in strokes]
    pieces = np.concatenate([*struck, np.zeros((0, 2, 2))])
    for label in labels:
        half = 0.5 * np.array(block_size(label.lines)) + np.array([0.02, 0.0])
        turned = np.arctan2(label.toward[1], label.toward[0]) + ANGLES
        away = np.stack([np.cos(turned), np.sin(turned)], axis=-1)
        reach = np.abs(away) @ half
        # the box just clears a point in this direction when it stands off by the nearer of its two half sizes
        clear = np.min(half / np.maximum(np.abs(away), 1e-9), axis=-1)
        stand = np.minimum(reach, clear)[:, None] + np.array(DISTANCES)
        middles = (label.anchor + away[:, None, :] * stand[..., None]).reshape(-1, 2)
        bend = np.repeat(1.0 - np.cos(ANGLES), len(DISTANCES))
        cost = 0.35 * bend + 1.2 * np.tile(DISTANCES, len(ANGLES))
        cost = cost + _off_sheet(middles, half, size) + _on_drawing(middles, half, obstacles)
        cost = cost + _on_labels(middles, half, label.anchor, placed) + _on_strokes(middles, half, label.anchor, pieces)
        best = int(np.argmin(cost))
        placed.append(Box(middles[best], half))
        leader = np.stack([label.anchor, np.clip(label.anchor, middles[best] - half, middles[best] + half)])
        if np.hypot(*(leader[1] - leader[0])) > LEADER_FROM:
            pieces = np.concatenate([pieces, leader[None]])
    return placed


def _off_sheet(middles: Array, half: Array, size: Array) -> Array:
    edge = half + 0.05
    over = np.maximum(edge - middles, 0.0) + np.maximum(middles + edge - size, 0.0)
    return np.asarray(200.0 * over.sum(axis=-1))


def _on_drawing(middles: Array, half: Array, obstacles: Array) -> Array:
    within = [np.abs(obstacles[:, i] - middles[:, i : i + 1]) < half[i] + AIR for i in (0, 1)]
    return np.asarray(0.25 * (within[0] & within[1]).sum(axis=-1))


def _on_strokes(middles: Array, half: Array, anchor: Array, pieces: Array) -> Array:
    """Cost of standing on straight pieces (n, 2, 2), or of a leader that crosses one."""
    starts, along = pieces[:, 0], pieces[:, 1] - pieces[:, 0]
    steps = np.where(np.abs(along) > 1e-9, along, 1e-9)
    near = (middles[:, None] - starts - np.sign(steps) * (half + AIR)) / steps
    far = (middles[:, None] - starts + np.sign(steps) * (half + AIR)) / steps
    on = np.maximum(near.max(axis=-1), 0.0) < np.minimum(far.min(axis=-1), 1.0)
    leaders = np.clip(anchor, middles - half, middles + half) - anchor
    long = np.hypot(*leaders.T)
    leaders = leaders[:, None]
    apart = starts - anchor
    turn = leaders[..., 0] * along[:, 1] - leaders[..., 1] * along[:, 0]
    turn = np.where(np.abs(turn) > 1e-12, turn, np.inf)
    at_leader = (apart[:, 0] * along[:, 1] - apart[:, 1] * along[:, 0]) / turn
    at_piece = (apart[:, 0] * leaders[..., 1] - apart[:, 1] * leaders[..., 0]) / turn
    crossed = (at_leader * long[:, None] > AIR) & (at_leader < 1.0) & (at_piece >= 0.0) & (at_piece <= 1.0)
    return np.asarray(4.0 * on.sum(axis=-1) + 1.0 * ((long > LEADER_FROM) & crossed.any(axis=-1)))


def _on_labels(middles: Array, half: Array, anchor: Array, placed: Sequence[Box]) -> Array:
    """Cost of standing on a label that has its place, or of a leader that would cross one."""
    cost = np.zeros(len(middles))
    steps = np.linspace(0.0, 1.0, 12)[:, None]
    for other in placed:
        lap = np.maximum(half + other.half + AIR - np.abs(middles - other.middle), 0.0)
        cost += 400.0 * lap.prod(axis=-1) + 20.0 * (lap.prod(axis=-1) > 0.0)
        leader = anchor + (middles - anchor)[:, None, :] * steps
        cost += 1.5 * np.any(np.all(np.abs(leader - other.middle) < other.half, axis=-1), axis=-1)
    return cost


def spread(heights: Sequence[float], sizes: Sequence[float], low: float, high: float) -> list[float]:
    """Middles of blocks of text in a column, near the ``heights`` asked for and not on each other.

    ``sizes`` are the heights of the blocks; they keep between ``low`` and ``high`` while they fit. All [in].
    """
    order = sorted(range(len(heights)), key=lambda i: heights[i])
    middles = [0.0] * len(heights)
    floor = low
    for i in order:
        middles[i] = max(heights[i], floor + 0.5 * sizes[i])
        floor = middles[i] + 0.5 * sizes[i]
    ceiling = high
    for i in reversed(order):
        middles[i] = min(middles[i], ceiling - 0.5 * sizes[i])
        ceiling = middles[i] - 0.5 * sizes[i]
    return middles


def write(paper: Sheet, label: Label, box: Box, size: float = TEXT_SIZE) -> None:
    """Set a label in its place, with a thin line to what it names where it stands off."""
    middle = paper.metres(box.middle)
    nearest = np.clip(label.anchor, box.middle - box.half, box.middle + box.half)
    if np.hypot(*(nearest - label.anchor)) > LEADER_FROM:
        paper.line(paper.metres([label.anchor, nearest]), color=FAINT, linewidth=0.5, zorder=3)
    paper.text(
        middle,
        "\n".join(label.lines),
        color=label.color,
        fontsize=size,
        fontweight="bold" if label.bold else "normal",
        linespacing=1.1,
        zorder=8,
    )
