"""How far a point is from the fitting: from its centerline, where a shape says where that runs."""

from __future__ import annotations

import numpy as np

from anchorsize.study import Array, Study

BORES_OFF = 3.0
"""Greatest bores from the centerline up to which a point is believed: common practice, no source."""

NEAR = 0.25
"""[m] from the centerline up to which a point is believed whatever the bore: common practice, no source."""


def greatest_bore(study: Study) -> float:
    """The greatest bore of the openings [m], of the same area where one is not round."""
    return max(float(np.sqrt(4.0 / np.pi * opening.area)) for opening in study.openings.values())


def from_line(point: Array, start: Array, end: Array) -> float:
    """Distance of a point from a straight line from start to end [m]."""
    along = end - start
    share = float(np.clip((point - start) @ along / max(float(along @ along), 1e-300), 0.0, 1.0))
    return float(np.linalg.norm(point - start - share * along))


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
