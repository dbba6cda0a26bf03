"""What the flange pictures share: the joint as seen from the fitting, and the face pressure as a plane."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from anchorsize.assessment.clamping import Service
from anchorsize.mechanics.face_integrals import Annulus
from anchorsize.present.pictures.body import bore, disk_flat
from anchorsize.present.pictures.style import FAINT, GREY, INK, Sheet
from anchorsize.study import Array, Gasket, Joint, Opening

HALVINGS = 60


def page(along_e1_e2: Array) -> Array:
    """Places along e1 and e2 (..., 2) as they lie on the page: e1 upward, e2 to the right."""
    return np.asarray(along_e1_e2)[..., ::-1]


def sheet_bounds(joint: Joint, opening: Opening, reach: float) -> Array:
    """Least and greatest places (2, 2) [m] of bolts, flange, gasket and bore, and ``reach`` [m] around every bolt."""
    places = page(joint.bolts.xy)
    half = 0.5 * max(bore(opening), _outside(joint))
    low = np.minimum(places.min(axis=0) - reach, -half)
    high = np.maximum(places.max(axis=0) + reach, half)
    return np.stack([low, high])


def _outside(joint: Joint) -> float:
    gasket = 0.0 if joint.gasket is None else float(joint.gasket.outside)
    return max(gasket, 0.0 if joint.flange.outside is None else float(joint.flange.outside))


def draw_flange(paper: Sheet, joint: Joint, opening: Opening) -> None:
    """Flange rim, bore, bolt circle and the mark of the reference direction, all quiet."""
    middle = np.zeros(2)
    if joint.flange.outside is not None:
        paper.line(_closed(disk_flat(middle, float(joint.flange.outside))), color=FAINT, linewidth=1.0, zorder=1)
    paper.line(_closed(disk_flat(middle, bore(opening))), color=GREY, linewidth=1.0, zorder=2)
    if joint.bolts.circle is not None:
        circle = _closed(disk_flat(middle, float(joint.bolts.circle)))
        paper.line(circle, color=FAINT, linewidth=0.7, linestyle=(0, (8, 3, 2, 3)), zorder=2)
    cross = 0.06 / paper.scale / paper.to_shown
    paper.line([(-cross, 0), (cross, 0)], color=FAINT, linewidth=0.7)
    paper.line([(0, -cross), (0, cross)], color=FAINT, linewidth=0.7)


def _closed(ring: Array) -> Array:
    return np.concatenate([ring, ring[:1]])


def ring_pieces(gasket: Gasket) -> list[Array]:
    """The gasket as an outer rim and a hole [m]."""
    middle = np.zeros(2)
    return [disk_flat(middle, float(gasket.outside)), disk_flat(middle, float(gasket.inside))[::-1]]


def draw_bolts(paper: Sheet, joint: Joint, bold: int | None = None) -> None:
    """Every bolt as a circle of its size with its number, a missing one dashed and empty.

    Numbers stand in the circles where there is room for the longest in the least, else all beside them toward the middle, as many
    as fit.
    """
    bolts = joint.bolts
    per_metre = paper.to_shown * paper.scale
    digits = len(str(max(bolts.numbers)))
    within = 72.0 * float(np.min(bolts.diameter)) * per_metre / (1.0 + 0.62 * digits)  # size of type that fits [pt]
    every = max(1, math.ceil(0.2 / max(_least_spacing(joint) * per_metre, 1e-3)))
    for i, number in enumerate(bolts.numbers):
        size, place = float(bolts.diameter[i]), page(bolts.xy[i])
        rim = disk_flat(place, size)
        if not bolts.present[i]:
            dashes = (0, (3, 2))
            paper.line(
                _closed(rim), color=GREY, linewidth=0.9, linestyle=dashes, zorder=4, label=f"missing bolt {number}"
            )
            continue
        width = 2.4 if number == bold else 1.0
        paper.area(rim, facecolor="white", edgecolor=INK, linewidth=width, zorder=4, label=f"bolt {number}")
        if within > 4.5:
            paper.text(place, str(number), fontsize=min(8.0, within), zorder=9)
        elif i % every == 0:
            distance = max(float(np.hypot(*place)), 1e-9)
            paper.text(
                place * (1.0 - (0.5 * size + 0.1 / per_metre) / distance),
                str(number),
                fontsize=7.5,
                color=GREY,
                zorder=9,
            )


def _least_spacing(joint: Joint) -> float:
    """Least distance between two bolts [m]."""
    apart = joint.bolts.xy[:, None] - joint.bolts.xy[None]
    distance = np.hypot(apart[..., 0], apart[..., 1]) + np.diag(np.full(len(joint.bolts.numbers), np.inf))
    return float(min(np.min(distance), 1e3))


@dataclass(frozen=True)
class Plane:
    """Face pressure over a ring: p = slope · (s − opens) where positive [Pa], s [m] along ``pressed``, (2,) in e1, e2.

    ``slope`` is 0 where the pressure is even, and ``even`` [Pa] then holds it.
    """

    pressed: Array
    slope: float
    opens: float
    even: float

    def at(self, along_e1_e2: Array) -> Array:
        """Pressure [Pa] at places (..., 2) [m]."""
        if self.slope == 0.0:
            return np.full(np.shape(along_e1_e2)[:-1], self.even)
        return np.maximum(0.0, self.slope * (np.asarray(along_e1_e2) @ self.pressed - self.opens))


def pressure_plane(gasket: Gasket, service: Service) -> Plane | None:
    """The face pressure at the least preload, from its clamp, its least pressure and its lift-off; None without a solution.

    While closed, the clamp gives the pressure at the center and the least pressure the tilt. Once part has lifted off, its
    share places the line where the face opens and the clamp gives the slope.
    """
    clamp, least, lifted = service.clamp_least, service.pressure_min_least, service.lift_off_least
    if clamp is None or least is None or lifted is None:
        return None
    toward = 0.0 if service.opens_toward is None else float(np.nan_to_num(service.opens_toward))
    pressed = -np.array([np.cos(toward), np.sin(toward)])
    face = Annulus(gasket.inside, gasket.outside)
    area, reach = float(face.area()), float(face.reach())
    if lifted >= 1.0 or clamp <= 0.0:
        return Plane(pressed, 0.0, 0.0, 0.0)
    if lifted <= 0.0:
        center = float(clamp) / area
        slope = max(center - float(least), 0.0) / reach
        if slope * reach < 1e-9 * center:
            return Plane(pressed, 0.0, 0.0, center)
        return Plane(pressed, slope, -center / slope, center)
    opens = _line_of(face, float(lifted) * area, reach)
    lever = face.moments(np.array([-opens, 1.0, 0.0]))
    return Plane(pressed, float(clamp) / float(lever[1] - opens * lever[0]), opens, 0.0)


def _line_of(face: Annulus, lifted: float, reach: float) -> float:
    """Place s [m] of the line below which ``lifted`` [m²] of the face lies."""
    low, high = -reach, reach
    whole = float(face.area())
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        below = whole - float(face.moments(np.array([-middle, 1.0, 0.0]))[0])
        low, high = (middle, high) if below < lifted else (low, middle)
    return 0.5 * (low + high)


def band(gasket: Gasket, pressed: Array, low: float, high: float) -> list[Array]:
    """The part of the ring with s between ``low`` and ``high`` [m] as rings on the page: an outer one and a hole."""
    direction = page(pressed)
    rings = []
    for diameter, hole in ((float(gasket.outside), False), (float(gasket.inside), True)):
        corners = _within(_within(disk_flat(np.zeros(2), diameter), direction, low), -direction, -high)
        if len(corners) > 2:
            rings.append(corners[::-1] if hole else corners)
    return rings


def _within(corners: Array, direction: Array, least: float) -> Array:
    """The part of a convex outline (n, 2) where place · direction ≥ ``least``."""
    kept: list[Array] = []
    height = corners @ direction - least if len(corners) else np.zeros(0)
    for i in range(len(corners)):
        j = (i + 1) % len(corners)
        if height[i] >= 0.0:
            kept.append(corners[i])
        if height[i] * height[j] < 0.0:
            kept.append(corners[i] + (corners[j] - corners[i]) * height[i] / (height[i] - height[j]))
    return np.array(kept)
