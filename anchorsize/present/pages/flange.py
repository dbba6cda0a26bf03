"""The flange of a joint as the installer sees it, drawn to scale as a plain picture: bolts, gasket, turns of tightening."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np

from anchorsize.study import Joint

HALF, ACROSS = 158.0, 178.0  # half the height and the width of the picture, in its own units
RIM = 112.0  # radius at which the outermost edge of the flange is drawn
TURNS_AT = 131.0  # radius of the ring of turns, and of the clock beyond it
CROWDED, STAGGERED = 20.0, (127.0, 138.0)  # room along that ring under which the turns stand at two radii by turns
CLOCK_AT = 150.0
LETTER = 2.7  # half the width of a letter of the clock
HEX_ACROSS = 1.5  # width across flats over bolt diameter, about that of the usual heavy and normal series
NEAR = 0.2  # angle under which the upward side shares the label of an hour [rad]
ROOM_INSIDE = 15.0  # a hexagon narrower than this has its number beside it
INK, SOFT, WASH, RING = "#1b2327", "#515c63", "#eef1f1", "#c3ccce"


def flange_svg(
    joint: Joint, order: Sequence[int], up_at: float | None, toward: float | None = None, to_fit: Sequence[int] = ()
) -> str:
    """The flange seen from the fitting toward the pipe, e1 upward: the number of each bolt in it, its turn in a ring outside.

    ``order`` holds the bolts that are there in the order of tightening; ``up_at`` is the bolt angle of the upward direction. Where the
    flange lies flat, an arrow from its middle points at ``toward``, the bolt angle of something that can be seen on the fitting.
    Bolts ``to_fit`` have a dark ring.
    """
    bolts = joint.bolts
    radii = np.hypot(bolts.xy[:, 0], bolts.xy[:, 1])
    reach = float(np.max(radii + 0.75 * HEX_ACROSS * bolts.diameter))
    outside = None if joint.flange.outside is None else 0.5 * float(joint.flange.outside)
    scale = RIM / max(reach, outside or 0.0)
    parts = [_circle(RIM if outside is None else outside * scale, WASH, INK, 1.4, "5 4" if outside is None else "")]
    if joint.gasket is not None:
        inner, outer = 0.5 * float(joint.gasket.inside) * scale, 0.5 * float(joint.gasket.outside) * scale
        parts += [_circle(outer, RING, SOFT, 0.8), _circle(inner, "#ffffff", SOFT, 0.8)]
    if bolts.circle is not None:
        parts.append(_circle(0.5 * float(bolts.circle) * scale, "none", SOFT, 0.7, "9 3 2 3"))
    parts += _cross()
    turn = {number: place for place, number in enumerate(order, 1)}
    room = 2.0 * math.pi / len(bolts.numbers)
    rings = STAGGERED if room * TURNS_AT < CROWDED else (TURNS_AT,)
    for i, number in enumerate(bolts.numbers):
        x, y = (float(part) * scale for part in bolts.xy[i])
        angle = math.atan2(y, x)
        across = HEX_ACROSS * float(bolts.diameter[i]) * scale
        at = rings[i % len(rings)] if bolts.circle is not None else math.hypot(x, y) + 0.5 * across + 12.0
        if number in to_fit:
            at_x, at_y = _place(x, y)
            parts.append(f'<circle cx="{at_x:.2f}" cy="{at_y:.2f}" r="{0.5 * across + 4.5:.2f}" fill="{INK}"/>')
        parts += _bolt(number, (x, y), across, bool(bolts.present[i]), room)
        parts += _turn(
            turn.get(number), angle, at, min(10.0 if len(rings) == 1 else 6.5, 0.38 * room * TURNS_AT * len(rings))
        )
    parts += _clock(up_at)
    parts += [] if toward is None else _arrow(toward)
    box = f"{-ACROSS:g} {-HALF:g} {2 * ACROSS:g} {2 * HALF:g}"
    return f'<svg xmlns="http://www.w3.org/2000/svg" width="104mm" viewBox="{box}">{"".join(parts)}</svg>'


def _place(x: float, y: float) -> tuple[float, float]:
    """From e1 upward and e2 to the right to the picture's own right and down."""
    return y, -x


def _circle(radius: float, fill: str, stroke: str, width: float, dashes: str = "") -> str:
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'<circle r="{radius:.2f}" fill="{fill}" stroke="{stroke}" stroke-width="{width:g}"{dashed}/>'


def _line(ends: tuple[float, float, float, float], width: float, dashes: str = "") -> str:
    x1, y1, x2, y2 = ends
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'<line x1="{x1:.2f}" y1="{y1:.2f}" x2="{x2:.2f}" y2="{y2:.2f}" stroke="{SOFT}" stroke-width="{width:g}"{dashed}/>'


def _text(words: str, at: tuple[float, float], size: float, weight: int = 400, color: str = INK) -> str:
    return (
        f'<text x="{at[0]:.2f}" y="{at[1] + 0.35 * size:.2f}" font-size="{size:.1f}" font-weight="{weight}" fill="{color}" '
        f'text-anchor="middle" font-family="Arial, Liberation Sans, sans-serif">{words}</text>'
    )


def _cross() -> list[str]:
    """Center lines."""
    return [_line((-8, 0, 8, 0), 0.7), _line((0, -8, 0, 8), 0.7)]


def _bolt(number: int, at: tuple[float, float], across: float, there: bool, room: float) -> list[str]:
    """A hexagon with its number; a dashed ring crossed out where the bolt is missing. ``room`` [rad] is the bolt's own angle."""
    x, y = _place(*at)
    inward = math.hypot(*at) - 0.5 * across - 6.5
    angle = math.atan2(at[1], at[0])
    if across >= ROOM_INSIDE and there:
        label = _text(str(number), (x, y), min(0.55 * across, 13.0), 700)
    else:
        beside = _place(inward * math.cos(angle), inward * math.sin(angle))
        label = _text(str(number), beside, min(9.0 if there else 13.0, 0.72 * room * inward), 700)
    if there:
        corners = _corners((x, y), across / math.sqrt(3.0))
        return [f'<polygon points="{corners}" fill="#ffffff" stroke="{INK}" stroke-width="1.2"/>', label]
    half = 0.38 * across
    ring = f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{0.5 * across:.2f}" fill="#ffffff" stroke="{INK}" stroke-dasharray="3 2"/>'
    cross = [_line((x - half, y - half, x + half, y + half), 1.1), _line((x - half, y + half, x + half, y - half), 1.1)]
    return [ring, *cross, label]


def _corners(center: tuple[float, float], radius: float) -> str:
    turns: Iterable[float] = (math.pi / 6.0 + k * math.pi / 3.0 for k in range(6))
    return " ".join(f"{center[0] + radius * math.cos(t):.2f},{center[1] + radius * math.sin(t):.2f}" for t in turns)


def _turn(turn: int | None, angle: float, radius: float, size: float) -> list[str]:
    """The turn of a bolt outside the flange, 1st, 2nd …, white on black for the first: no number of a bolt looks like it."""
    if turn is None:
        return []
    x, y = _place(radius * math.cos(angle), radius * math.sin(angle))
    fill, ink = (INK, "#ffffff") if turn == 1 else ("#ffffff", INK)
    words = ordinal(turn)
    half = 0.3 * size * len(words) + 1.0
    box = (
        f'<rect x="{x - half:.2f}" y="{y - 0.7 * size:.2f}" width="{2.0 * half:.2f}" height="{1.4 * size:.2f}" rx="{0.4 * size:.2f}" '
        f'fill="{fill}" stroke="{INK}" stroke-width="0.6"/>'
    )
    return [box, _text(words, (x, y), size, 400, ink)]


def ordinal(turn: int) -> str:
    """1st, 2nd, 3rd, 4th …, 11th …, 21st …"""
    ending = "th" if turn % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(turn % 10, "th")
    return f"{turn}{ending}"


def _arrow(toward: float) -> list[str]:
    """An arrow from the middle of the flange."""

    def ahead(along: float, across: float = 0.0) -> tuple[float, float]:
        x = along * math.cos(toward) - across * math.sin(toward)
        return _place(x, along * math.sin(toward) + across * math.cos(toward))

    head = " ".join(f"{x:.2f},{y:.2f}" for x, y in (ahead(42.0), ahead(30.0, 5.0), ahead(30.0, -5.0)))
    start, end = ahead(10.0), ahead(30.0)
    shaft = f'<line x1="{start[0]:.2f}" y1="{start[1]:.2f}" x2="{end[0]:.2f}" y2="{end[1]:.2f}" stroke="{INK}" stroke-width="3"/>'
    return [shaft, f'<polygon points="{head}" fill="{INK}"/>']


def _clock(up_at: float | None) -> list[str]:
    """The hours a bolt's place is told by, and the side that is up."""
    hours = {0.0: "12:00", math.pi / 2: "3:00", math.pi: "6:00", -math.pi / 2: "9:00"}
    labels = [(angle, hour, 400, SOFT) for angle, hour in hours.items()]
    if up_at is not None:
        near = [i for i, (angle, *_) in enumerate(labels) if math.cos(angle - up_at) > math.cos(NEAR)]
        words = " ".join(["UP", *(labels.pop(i)[1] for i in near)])
        labels.append((up_at, words, 700, INK))
    return [
        _text(words, _place(CLOCK_AT * math.cos(angle), _aside(words) * math.sin(angle)), 9.5, weight, color)
        for angle, words, weight, color in labels
    ]


def _aside(words: str) -> float:
    """How far to the side a label of the clock has its middle: clear of the turns, and inside the picture."""
    half = LETTER * len(words)
    return min(CLOCK_AT + half, ACROSS - half)
