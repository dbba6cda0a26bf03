"""Moment of a changing flow against integration along the path, and against the force that goes with it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from anchorsize.mechanics.centerline import Arc, Line, path_moment
from anchorsize.mechanics.momentum import unsteady_force
from anchorsize.mechanics.segments import Bend, Miter, Straight, Tee
from anchorsize.mechanics.shapes import build
from anchorsize.mechanics.unsteady import unsteady_moment

RHO = 998.0
point = st.tuples(*[st.floats(-2.0, 2.0)] * 3)


def _moment(built, changes):
    paths = np.stack([path_moment(opening.path) for opening in built.openings])
    return unsteady_moment(RHO, paths, changes)


def _force(built, changes):
    return unsteady_force(RHO, np.stack([opening.center for opening in built.openings]), changes)


@given(st.floats(0.1, 6.0), st.floats(0.05, 2.0), point)
def test_arc_against_quadrature(turn, radius, start):
    start = np.array(start)
    along, toward = np.array([0.6, 0.8, 0.0]), np.array([0.0, 0.0, 1.0])
    center = start + radius * toward

    def share(phi, k):
        arm = radius * (np.sin(phi) * along - np.cos(phi) * toward)
        tangent = radius * (np.cos(phi) * along + np.sin(phi) * toward)
        return np.cross(center + arm, tangent)[k]

    expected = [quad(share, 0, turn, args=(k,))[0] for k in range(3)]
    arc = Arc(start, along, toward, np.asarray(radius), np.asarray(turn))
    assert path_moment((arc,)) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@given(point, point)
def test_line_against_quadrature(start, end):
    start, end = np.array(start), np.array(end)
    expected = [quad(lambda s, k=k: np.cross(start + s * (end - start), end - start)[k], 0, 1)[0] for k in range(3)]
    assert path_moment((Line(start, end),)) == pytest.approx(expected, abs=1e-11)


@given(point, st.floats(-3.0, 3.0))
def test_straight_pipe_has_the_moment_of_its_force(start, change):
    """The fluid in a straight pipe is accelerated along one line, so the moment is that of the force on that line."""
    built = build(0.1, (Straight(1.3),), start=start, direction=(1, 2, -1))
    changes = np.array([-change, change])
    assert _moment(built, changes) == pytest.approx(np.cross(start, _force(built, changes)), abs=1e-9)


def test_square_elbow_of_two_legs():
    """Each leg of a sharp elbow holds ρ L dQ/dt along itself; statics of the two forces, g left out."""
    a, b, change = 0.5, 0.8, -2.0
    built = build(0.1, (Straight(a), Miter(np.pi / 2, 0.05, (0, 0, 1)), Straight(b)), start=(-a - 0.05, 0, 0))
    legs = [
        ((-a - 0.05) / 2, 0, 0, -RHO * (a + 0.05) * change, 0, 0),  # along x through the origin's line
        (0, 0, (b + 0.05) / 2, 0, 0, -RHO * (b + 0.05) * change),
    ]
    force = sum(np.array(leg[3:]) for leg in legs)
    moment = sum(np.cross(leg[:3], leg[3:]) for leg in legs)
    changes = np.array([-change, change])
    assert _force(built, changes) == pytest.approx(force)
    assert _moment(built, changes) == pytest.approx(moment, abs=1e-9)


@given(point, st.floats(-2.0, 2.0), st.floats(-2.0, 2.0))
def test_moving_the_origin_transfers_the_moment(shift, first, second):
    """Moments about two origins differ by shift × force when the flow changes add up to zero."""
    segments = (Bend(1.2, 0.3, (0, 0, 1)), Tee(0.8, 0.4, (0, 1, 0), 0.1, 0.5, angle=1.0), Straight(0.2))
    changes = np.array([-first - second, first, second])
    here, there = build(0.1, segments), build(0.1, segments, start=shift)
    expected = _moment(here, changes) + np.cross(shift, _force(here, changes))
    assert _moment(there, changes) == pytest.approx(expected, abs=1e-8)


def test_common_point_does_not_matter():
    """Paths from the meeting of the axes instead of from the inlet."""
    tee = build(0.1, (Tee(0.8, 0.4, (0, 1, 0), 0.1, 0.5),), start=(0.2, 0.3, 0.4))
    meeting = np.array([0.6, 0.3, 0.4])
    others = np.stack([path_moment((Line(meeting, opening.center),)) for opening in tee.openings])
    changes = np.array([-3.0, 1.0, 2.0])
    assert unsteady_moment(RHO, others, changes) == pytest.approx(_moment(tee, changes), abs=1e-9)


def test_steady_flow_has_no_unsteady_moment_and_rows_stay_apart():
    built = build(0.1, (Bend(1.0, 0.3, (0, 0, 1)),))
    changes = np.array([[0.0, 0.0], [-1.0, 1.0]])
    moments = _moment(built, changes)
    assert moments[0] == pytest.approx(0.0)
    assert moments[1] == pytest.approx(_moment(built, changes[1]))
