"""Plain signs for supports, the center of mass and moments, at a fixed size on the page."""

from __future__ import annotations

from typing import Any

import numpy as np

from anchorsize.present.pictures.body import STEP, along_line
from anchorsize.present.pictures.style import ACCENT, GREY, INK, Sheet
from anchorsize.study import Array, Support

KIND_WORDS = {
    "hanger": "hanger",
    "rest": "rest",
    "guide": "guide",
    "strut": "strut",
    "tie": "tie",
    "thrust_block": "thrust block",
    "spring_hanger": "spring hanger",
    "anchor": "anchor",
}
END_ON = 0.25
"""Share of a support's direction left on the page under which it is drawn as seen end on [-]."""
ROD = 0.42  # length of rods on the page [in]


class Pen:
    """Draws in inches around one place, turned so that the second axis runs along a direction of the page."""

    def __init__(self, paper: Sheet, at: Array, along: Array) -> None:
        self.paper, self.at = paper, paper.inches(at)
        self.turn = np.array([[along[1], -along[0]], [along[0], along[1]]])
        self.touched: list[Array] = []

    def _place(self, points: Any) -> Array:
        places = self.at + np.asarray(points, dtype=float) @ self.turn
        self.touched.append(along_line(places, STEP))
        return self.paper.metres(places)

    def line(self, points: Any, **options: Any) -> None:
        self.paper.line(self._place(points), **{"linewidth": 1.1, "zorder": 4, **options})

    def area(self, points: Any, **options: Any) -> None:
        self.paper.area(
            self._place(points), **{"facecolor": "white", "edgecolor": INK, "linewidth": 1.0, "zorder": 4, **options}
        )

    def ring(self, middle: tuple[float, float], radius: float, **options: Any) -> None:
        turn = np.linspace(0.0, 2.0 * np.pi, 25)
        self.area(np.stack([middle[0] + radius * np.cos(turn), middle[1] + radius * np.sin(turn)], axis=-1), **options)

    def ground(self, height: float, outward: float) -> None:
        """A line across with hatching on its far side: what does not move."""
        self.line([(-0.13, height), (0.13, height)], linewidth=1.4)
        for x in (-0.11, -0.03, 0.05):
            self.line([(x, height), (x + 0.06, height + outward * 0.06)], linewidth=0.7)


def draw_support(paper: Sheet, support: Support, at: Array, along: Array) -> Array:
    """Draw a support at ``at`` (2,) [m] whose force on the fitting points ``along`` (2,); return places it covers [in].

    Seen end on it is an empty diamond: rings with a dot or a cross are forces.
    """
    length = float(np.hypot(*along))
    if length < END_ON and support.kind != "anchor":
        pen = Pen(paper, at, np.array([0.0, 1.0]))
        pen.area([(0.0, 0.11), (0.11, 0.0), (0.0, -0.11), (-0.11, 0.0)], label=f"{support.name}: end on")
        return np.concatenate(pen.touched)
    pen = Pen(paper, at, along / length if length >= END_ON else np.array([0.0, 1.0]))
    _DRAW[support.kind](pen)
    return np.concatenate(pen.touched)


def _hanger(pen: Pen) -> None:
    pen.line([(0, 0), (0, ROD)])
    pen.ring((0, 0), 0.035)
    pen.ground(ROD, 1.0)


def _tie(pen: Pen) -> None:
    pen.line([(0, 0), (0, ROD)], linestyle=(0, (5, 1.5)), linewidth=1.6)
    pen.ring((0, 0), 0.035)
    pen.ring((0, ROD), 0.035)
    pen.ground(ROD + 0.035, 1.0)


def _spring_hanger(pen: Pen) -> None:
    turns = [(0.06 * (-1) ** i, 0.12 + 0.035 * i) for i in range(6)]
    pen.line([(0, 0), (0, 0.1), *turns, (0, 0.32), (0, ROD)])
    pen.ring((0, 0), 0.035)
    pen.ground(ROD, 1.0)


def _rest(pen: Pen) -> None:
    pen.area([(0, 0), (-0.1, -0.17), (0.1, -0.17)])
    pen.ground(-0.17, -1.0)


def _strut(pen: Pen) -> None:
    for x in (-0.03, 0.03):
        pen.line([(x, 0), (x, -ROD)], linewidth=0.9)
    pen.ring((0, 0), 0.045)
    pen.ring((0, -ROD), 0.045)
    pen.ground(-ROD - 0.045, -1.0)


def _guide(pen: Pen) -> None:
    for y, outward in ((0.11, 1.0), (-0.11, -1.0)):
        pen.ground(y, outward)


def _thrust_block(pen: Pen) -> None:
    pen.area([(-0.2, 0), (0.2, 0), (0.2, -0.26), (-0.2, -0.26)], facecolor="0.97", hatch="...", edgecolor=GREY)


def _anchor(pen: Pen) -> None:
    pen.area([(-0.11, -0.11), (0.11, -0.11), (0.11, 0.11), (-0.11, 0.11)], hatch="xxx", edgecolor=GREY)
    pen.line([(-0.11, -0.11), (0.11, -0.11), (0.11, 0.11), (-0.11, 0.11), (-0.11, -0.11)])


_DRAW = {
    "hanger": _hanger,
    "tie": _tie,
    "spring_hanger": _spring_hanger,
    "rest": _rest,
    "strut": _strut,
    "guide": _guide,
    "thrust_block": _thrust_block,
    "anchor": _anchor,
}


def center_of_mass(paper: Sheet, at: Array) -> Array:
    """A circle with two of its quarters filled; returns places it covers [in]."""
    pen = Pen(paper, at, np.array([0.0, 1.0]))
    pen.ring((0, 0), 0.07, zorder=7, label="center of mass")
    for start in (0.0, np.pi):
        turn = np.linspace(start, start + 0.5 * np.pi, 9)
        edge = 0.07 * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
        pen.area(np.concatenate([[(0.0, 0.0)], edge]), facecolor=INK, linewidth=0.0, zorder=7)
    return np.concatenate(pen.touched)


def end_on(paper: Sheet, at: Array, toward_reader: bool, color: str, name: str) -> None:
    """A force along the line of sight: a dot where its tip comes toward the reader, a cross where its tail is seen."""
    pen = Pen(paper, at, np.array([0.0, 1.0]))
    pen.ring((0, 0), 0.075, edgecolor=color, zorder=6, label=f"{name}: end on")
    if toward_reader:
        pen.ring((0, 0), 0.022, facecolor=color, edgecolor=color, zorder=7)
    else:
        for x in (-0.05, 0.05):
            pen.line([(-x, -0.05), (x, 0.05)], color=color, zorder=7)


def turning(paper: Sheet, at: Array, counter_clockwise: bool, radius: float, name: str) -> Array:
    """An arc with a head around a place: a moment as seen on the page, not to scale; returns places it covers [in]."""
    pen = Pen(paper, at, np.array([0.0, 1.0]))
    sense = 1.0 if counter_clockwise else -1.0
    turn = np.radians(90.0 - sense * 125.0 + sense * np.linspace(0.0, 250.0, 40))
    arc = radius * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    rest = max(1, int(np.ceil(0.1 / (radius * (turn[1] - turn[0]) * sense))))  # the last 0.1 in are the head
    pen.line(arc[:-rest], color=ACCENT, linewidth=1.2, zorder=5, label=f"{name}: turning")
    tip, base = arc[-1], arc[-1 - rest]
    across = 0.4 * np.array([-(tip - base)[1], (tip - base)[0]])
    pen.area([tip, base + across, base - across], facecolor="white", edgecolor=ACCENT, linewidth=0.9, zorder=6)
    return np.concatenate(pen.touched)
