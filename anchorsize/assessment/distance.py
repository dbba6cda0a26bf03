"""How far a point is from the fitting: from its centerline, where a shape says where that runs."""

from __future__ import annotations

import itertools

import numpy as np

from anchorsize.study import Array, Opening, Study

BORES_OFF = 3.0
"""Greatest bores from the centerline up to which a point is believed: common practice, no source."""

BORES_CLEAR, CLEAR = 0.75, 0.15
"""Greatest bores from the outside of the pipe, and [m] from its centerline, up to which a shoe or clamp will do: common practice, no source."""

NEAR = 0.25
"""[m] from the centerline up to which a point is believed whatever the bore: common practice, no source."""


def bore_of(opening: Opening) -> float:
    """The bore of an opening [m], of the same area where it is not round."""
    return float(np.sqrt(4.0 / np.pi * opening.area))


def greatest_bore(study: Study) -> float:
    """The greatest bore of the openings [m]."""
    return max(bore_of(opening) for opening in study.openings.values())


def from_line(point: Array, start: Array, end: Array) -> float:
    """Distance of a point from a straight line from start to end [m]."""
    return float(np.linalg.norm(_offset(point, start, end)))


def _offset(point: Array, start: Array, end: Array) -> Array:
    """The way (3,) [m] to a point from the nearest place of a straight line from start to end."""
    along = end - start
    share = float(np.clip((point - start) @ along / max(float(along @ along), 1e-300), 0.0, 1.0))
    return np.asarray(point - start - share * along)


def known_points(study: Study) -> Array:
    """What is known of the fitting (n, 3) [m]: openings, joints, centers of mass."""
    fitting = study.fitting
    known = [opening.center for opening in study.openings.values()] + [joint.center for joint in study.joints.values()]
    known += [center for center in (fitting.mass_center, fitting.contents_center) if center is not None]
    return np.array([*known, *(each.center for each in fitting.extra_masses)])


def off_the_pipe(study: Study, point: Array) -> Array | None:
    """The way (3,) [m] from the pipe's centerline to a point that no shoe or clamp reaches; None of any other.

    Where no shape says where the centerline runs, it may run along the axis of any opening and between any two known points.
    """
    fitting, bore = study.fitting, greatest_bore(study)
    if fitting.centerline is not None:
        lines = [(start, end) for start, end in fitting.centerline]
        lines += [(each.center, each.center) for each in study.openings.values()]
    else:
        points = known_points(study)
        span = float(np.max(np.linalg.norm(points[:, None] - points[None], axis=-1)))
        if span == 0.0:
            return None
        far = span + float(np.max(np.linalg.norm(points - point, axis=-1)))
        lines = [(each.center, each.center - far * each.outward) for each in study.openings.values()]
        lines += list(itertools.combinations(points, 2))
    offset = min((_offset(point, start, end) for start, end in lines), key=lambda way: float(way @ way))
    across = bore if fitting.widths is None else max(bore, float(np.max(fitting.widths)))
    return offset if float(np.linalg.norm(offset)) > max(across / 2.0 + BORES_CLEAR * bore, CLEAR) else None


def far_from_centerline(study: Study, point: Array) -> float | None:
    """Distance [m] of a point that is farther from the centerline, and every opening, than is believed; None of any other.

    None as well where the fitting has no shape, so that nothing says where its centerline runs.
    """
    line = study.fitting.centerline
    if line is None:
        return None
    away = [from_line(point, start, end) for start, end in line]
    away += [float(np.linalg.norm(point - opening.center)) for opening in study.openings.values()]
    nearest = min(away)
    return nearest if nearest > max(BORES_OFF * greatest_bore(study), NEAR) else None
