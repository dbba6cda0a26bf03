"""The frame of a joint and what a load means in it: axial, shear, bending, torsion; bolt and clock places.

The axis a points from the fitting to the pipe, e1 is the reference direction laid into the flange plane and
e2 = a × e1. Looking along a with e1 up, e2 points to the right, so angles from e1 toward e2 run clockwise.
The frame is a convention of this project; the rest is statics.
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from anchorsize.mechanics.inputs import Array, positive

Integers: TypeAlias = NDArray[np.int64]

PARALLEL = 1e-9
"""Sine of the angle under which a reference direction counts as lying along the joint axis [-]."""


class JointActions(NamedTuple):
    """What the loads on a fitting ask of a joint, each of shape (...)."""

    axial: Array
    """N = −F·a [N], positive where the loads open the joint."""
    shear1: Array
    """Shear along e1 that the bolts must supply, −F·e1 [N]."""
    shear2: Array
    """Shear along e2 that the bolts must supply, −F·e2 [N]."""
    bending1: Array
    """Load moment about e1, M·e1 [N·m]."""
    bending2: Array
    """Load moment about e2, M·e2 [N·m]."""
    torsion: Array
    """Load moment about the axis, M·a [N·m]."""


def part_along(vector: ArrayLike, direction: ArrayLike) -> Array:
    """Return the part of vectors (..., 3) along directions (..., 3): their scalar product, (...) in the vectors' unit."""
    product: Array = np.einsum("...i,...i->...", np.asarray(vector, dtype=float), np.asarray(direction, dtype=float))
    return product


def _unit(vector: ArrayLike, name: str) -> Array:
    """Return vectors (..., 3) scaled to length one; ValueError where the length is zero."""
    vector = np.asarray(vector, dtype=float)
    length = np.linalg.norm(vector, axis=-1, keepdims=True)
    if np.any(length == 0.0):
        raise ValueError(f"{name} has no length, so it points nowhere")
    unit: Array = vector / length
    return unit


def joint_frame(axis: ArrayLike, reference: ArrayLike) -> tuple[Array, Array]:
    """Return the in-plane unit vectors e1 and e2 of a joint.

    Parameters
    ----------
    axis : (..., 3) direction from the fitting to the pipe, any length
    reference : (..., 3) direction that e1 follows as closely as the flange plane allows, any length

    Returns
    -------
    (e1, e2), each (..., 3)

    Raises
    ------
    ValueError
        If the axis or the reference has no length, or the reference lies along the axis.
    """
    a = _unit(axis, "the joint axis")
    along = _unit(reference, "the reference direction")
    in_plane = along - part_along(along, a)[..., None] * a
    if np.any(np.linalg.norm(in_plane, axis=-1) < PARALLEL):
        raise ValueError("the reference direction lies along the joint axis: choose one across it")
    e1 = _unit(in_plane, "the reference direction")
    return e1, np.cross(a, e1)


def joint_actions(
    force: ArrayLike, moment_about_center: ArrayLike, axis: ArrayLike, e1: ArrayLike, e2: ArrayLike
) -> JointActions:
    """Resolve the loads on the fitting into what they ask of a joint.

    Parameters
    ----------
    force : (..., 3) sum of the loads on the fitting [N]
    moment_about_center : (..., 3) their moment about the bolt-circle center [N·m]
    axis : (..., 3) unit vector from the fitting to the pipe
    e1, e2 : (..., 3) unit vectors of the flange plane, see :func:`joint_frame`
    """
    force = np.asarray(force, dtype=float)
    moment = np.asarray(moment_about_center, dtype=float)
    a, first, second = (np.asarray(vector, dtype=float) for vector in (axis, e1, e2))
    return JointActions(
        axial=-part_along(force, a),
        shear1=-part_along(force, first),
        shear2=-part_along(force, second),
        bending1=part_along(moment, first),
        bending2=part_along(moment, second),
        torsion=part_along(moment, a),
    )


def axial_beyond_pressure(axial: ArrayLike, pressure: ArrayLike, area: ArrayLike) -> Array:
    """Return the axial force on a joint without the pressure end load on its bore, N − p A [N]; positive opens the joint.

    Statics. Cut the joint between its faces. On the side of the fitting the fluid pushes with p A + β ṁ²/(ρA) along −a, and
    bolts and face put the force F on the fitting; in equilibrium F·a = N holds that thrust and what every other load has along
    −a. Bolts and face hand N on to the nozzle or pipe as a pull out of it, so the pressure on the bore is in N in full: a
    closed, bolted end with nothing else acting has N = p A. Pressure design of a nozzle counts that pull already; an
    allowable that is meant beside it is compared with N − p A. Where supports take the whole thrust N is nothing, and N − p A = −p A pushes the
    nozzle in, as an untied bellows would. The momentum β ṁ²/(ρA) is no pressure and stays in.

    The pressure on the annulus between bore and gasket (:func:`pressure_annulus`) pulls the bolts and pushes the same faces
    apart: it never leaves the joint and is in neither N nor what is taken out. p is the pressure that stands in the bore, a surge
    counted in; a dynamic factor multiplies the thrust within N and not p, so what it adds stays in.

    Parameters
    ----------
    axial : (...) axial force N on the joint, positive where it opens [N]
    pressure : (...) pressure at the joint over the surroundings, surge counted in [Pa]
    area : (...) area of the bore [m²]
    """
    beyond: Array = np.asarray(axial, dtype=float) - np.asarray(pressure, dtype=float) * np.asarray(area, dtype=float)
    return beyond


def resultant_force(axial: ArrayLike, shear: ArrayLike) -> Array:
    """Return the size of the force on a joint [N]: axial force and shear stand at right angles.

    Parameters
    ----------
    axial : (...) axial force, of either sign [N]
    shear : (...) shear in the flange plane [N]
    """
    size: Array = np.hypot(np.asarray(axial, dtype=float), np.asarray(shear, dtype=float))
    return size


def resultant_moment(bending: ArrayLike, torsion: ArrayLike) -> Array:
    """Return the size of the moment on a joint [N·m]: bending and torsion are about axes at right angles.

    Parameters
    ----------
    bending : (...) bending moment about an axis in the flange plane [N·m]
    torsion : (...) moment about the joint axis, of either sign [N·m]
    """
    size: Array = np.hypot(np.asarray(bending, dtype=float), np.asarray(torsion, dtype=float))
    return size


def circle_positions(count: int, diameter: ArrayLike, first_at: ArrayLike = 0.0) -> tuple[Array, Array]:
    """Return the places of evenly spaced bolts on a circle.

    Parameters
    ----------
    count : number of places n
    diameter : (...) diameter of the bolt circle [m]
    first_at : (...) angle of bolt 1 from e1, clockwise looking from the fitting toward the pipe [rad]

    Returns
    -------
    xy : (..., n, 2) places along e1 and e2 [m], in bolt-number order
    angle : (..., n) their angles [rad], counted on from ``first_at`` without a wrap

    Raises
    ------
    ValueError
        If ``count`` is under 1 or a diameter is not positive.
    """
    if count < 1:
        raise ValueError("a bolt circle needs one bolt at least")
    diameter = positive("the diameter of a bolt circle", diameter)
    angle = np.asarray(first_at, dtype=float)[..., None] + 2.0 * np.pi * np.arange(count) / count
    directions = np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    xy: Array = 0.5 * diameter[..., None, None] * directions
    return xy, np.array(np.broadcast_to(angle, xy.shape[:-1]))


def clock_position(angle: ArrayLike) -> tuple[Integers, Integers]:
    """Return the place of an angle on a clock face, e1 at twelve, to the nearest minute of the hour hand.

    Parameters
    ----------
    angle : (...) angle from e1, clockwise looking from the fitting toward the pipe [rad]

    Returns
    -------
    (hour, minute), each (...): 1 to 12 and 0 to 59
    """
    minutes = np.rint(np.asarray(angle, dtype=float) / (2.0 * np.pi) * 720.0).astype(np.int64) % 720
    hour = minutes // 60
    return np.where(hour == 0, 12, hour), minutes % 60


def pressure_annulus(pressure: ArrayLike, reaction_diameter: ArrayLike, area: ArrayLike) -> Array:
    """Return the pressure end load between the bore and the gasket reaction circle [N].

    The thrust of the opening holds p A over the bore; the gasket lets the pressure act out to the diameter G, so
    the joint carries p (pi G²/4 − A) more. The whole, p pi G²/4, is the hydrostatic end force H of ASME BPVC
    VIII-1 Mandatory Appendix 2, paragraph 2-3.

    Parameters
    ----------
    pressure : (...) pressure at the joint over the surroundings [Pa]
    reaction_diameter : (...) gasket reaction diameter G [m]
    area : (...) area of the opening [m²]
    """
    circle = 0.25 * np.pi * np.square(np.asarray(reaction_diameter, dtype=float))
    end_load: Array = np.asarray(pressure, dtype=float) * (circle - np.asarray(area, dtype=float))
    return end_load
