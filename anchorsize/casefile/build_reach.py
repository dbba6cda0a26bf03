"""Whether the places that a file names lie anywhere near its fitting: a slip of the unit puts them a thousand sizes away."""

from __future__ import annotations

from collections.abc import Iterator
from typing import cast

import numpy as np

from anchorsize.casefile.building import Building, Path
from anchorsize.casefile.leaves import whole
from anchorsize.casefile.quantities import Quantity, vector
from anchorsize.study import Number, Opening
from anchorsize.units import System, show

_SIZES = 100.0  # of the fitting, and
_FAR = 20.0  # m: farther than both from every opening, nothing belongs to the fitting (common practice, no source)

_Point = tuple[Quantity, Quantity, Quantity]


def judge_reach(building: Building, openings: dict[str, Opening]) -> None:
    """Complain about centers of mass, points of loads and supports that lie absurdly far from the openings."""
    if not openings:
        return
    reach = max(_greatest(opening.center) for opening in openings.values())
    for path, point in _points(building):
        if (
            np.sqrt(3.0) * (reach + max(_greatest(part.si) for part in point)) > _FAR
        ):  # else it is near: batches are not asked more
            _judge(building, openings, path, point)


def _greatest(value: Number) -> float:
    return float(np.max(np.abs(value)))


def _judge(building: Building, openings: dict[str, Opening], path: Path, point: _Point) -> None:
    centers = np.stack(np.broadcast_arrays(*(opening.center for opening in openings.values())), axis=-2)
    spans = np.linalg.norm(centers[..., :, None, :] - centers[..., None, :, :], axis=-1)
    bores = np.sqrt(4.0 / np.pi * np.stack(np.broadcast_arrays(*(each.area for each in openings.values())), axis=-1))
    size = np.maximum(spans.max(axis=(-1, -2)), bores.max(axis=-1))
    away = np.linalg.norm(vector(point)[..., None, :] - centers, axis=-1).min(axis=-1)
    if not np.any((away > _SIZES * size) & (away > _FAR)):
        return
    system = cast(System, building.file.units)
    message = (
        f"lies {show(float(np.max(away)), 'length', system)} from the nearest opening of a fitting that is "
        f"{show(float(np.min(size)), 'length', system)} across"
    )
    hint = "is this unit right? In a list, the unit after the last number goes for all three"
    building.problem(path, message, hint, "out_of_range", ", ".join(part.given for part in point))


def _points(building: Building) -> Iterator[tuple[Path, _Point]]:
    """Every point of the file that should lie on or near the fitting, with its key path."""
    file = building.file
    if file.fitting is not None:
        for key, center in (
            ("mass_center", file.fitting.mass_center),
            ("contents_center", file.fitting.contents_center),
        ):
            if center is not None:
                yield ("fitting", key), center
        for number, mass in enumerate(file.fitting.extra_masses, start=1):
            if mass is not None:
                yield ("fitting", "extra_masses", str(number), "center"), mass.center
    for number, load in enumerate(file.external, start=1):
        if load is not None and load.at is not None:
            yield ("external", str(number), "at"), load.at
    for option, supports in whole(file.supports):
        for number, support in enumerate(supports, start=1):
            if support is not None:
                yield ("supports", option, str(number), "at"), support.at
