"""What forces and moments can be known to: the scale of everything that was added up or shared out to find them.

What joints and supports give is found from loads that may be far greater than it and cancel; what is left then is known to a
share of those loads, not to a share of itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from anchorsize.assessment.results import CANCELED, Load, SupportResult
from anchorsize.mechanics import frames
from anchorsize.study import Array, Study


class Given(NamedTuple):
    """What a joint or support puts on the fitting: force (..., 3) [N], moment (..., 3) [N·m] about its place (..., 3) [m]."""

    force: Array
    moment: Array
    place: Array


class Scale(NamedTuple):
    """Sum of the sizes of all that takes part, before anything cancels: force (...) [N], moment (...) [N·m]."""

    force: Array
    moment: Array


def given_in(
    study: Study, wrenches: Mapping[str, tuple[Array, Array]], supports: Mapping[str, SupportResult]
) -> list[Given]:
    """What joints and supports put on the fitting, by their names, the joints first."""
    nothing = np.zeros(3)
    return [Given(*wrench, study.joints[name].center) for name, wrench in wrenches.items()] + [
        Given(each.force, nothing if each.moment is None else each.moment, each.support.at)
        for each in supports.values()
    ]


def action_scale(loads: Iterable[Load], given: Sequence[Given]) -> Scale:
    """The scale of the actions of a case; moments count among the forces per meter of arm, forces among the moments by their arm.

    Arms are measured from the place of the first of ``given``, so that where the file has its origin does not matter.
    """
    origin = given[0].place if given else np.zeros(3)
    force, moment, farthest = np.asarray(0.0), np.asarray(0.0), np.asarray(0.0)
    for load in loads:
        force = force + _size(load.force)
        moment = moment + _size(load.moment - np.cross(origin, load.force))
    for each in given:
        arm = _size(each.place - origin)
        farthest = np.maximum(farthest, arm)
        force, moment = force + _size(each.force), moment + _size(each.moment) + arm * _size(each.force)
    return Scale(force + moment, moment + farthest * force)


def _size(vector: Array) -> Array:
    return np.asarray(np.linalg.norm(vector, axis=-1))


def _without_noise(values: Array, scale: Array) -> Array:
    return np.where(np.abs(values) <= CANCELED * scale, 0.0, values)


class Resolved(NamedTuple):
    """What a joint gives without rounding: force and moment (..., 3) on the fitting, and what that asks of the joint."""

    force: Array
    moment: Array
    actions: frames.JointActions


def resolved(force: Array, moment: Array, axes: tuple[Array, Array, Array], scale: Scale) -> Resolved:
    """Resolve what a joint gives along its axes a, e1, e2, with 0 for every part that is the rounding of zero."""
    axis, e1, e2 = axes
    force, moment = (
        _without_noise(part, np.asarray(size)[..., None]) for part, size in zip((force, moment), scale, strict=True)
    )
    raw = frames.joint_actions(-force, -moment, axis, e1, e2)
    kept = frames.JointActions(
        *(_without_noise(part, scale.force) for part in raw[:3]),
        *(_without_noise(part, scale.moment) for part in raw[3:]),
    )
    about = tuple(-raw[i] for i in (5, 3, 4)), tuple(-kept[i] for i in (5, 3, 4))
    return Resolved(_rebuilt(force, raw[:3], kept[:3], axes), _rebuilt(moment, *about, axes), kept)


def _rebuilt(vector: Array, raw: Sequence[Array], kept: Sequence[Array], axes: tuple[Array, Array, Array]) -> Array:
    """A vector (..., 3) less those of its parts along the axes that were rounding; where none was, as it is."""
    if not any(np.any(before != after) for before, after in zip(raw, kept, strict=True)):
        return vector
    dropped = sum((before - after)[..., None] * axis for before, after, axis in zip(raw, kept, axes, strict=True))
    return np.asarray(vector - dropped)
