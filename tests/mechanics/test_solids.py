"""Volumes and centroids of solids against scipy, sympy, a handbook formula and the Steinmetz solid."""

import numpy as np
import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, special
from scipy.spatial.transform import Rotation

from anchorsize.mechanics import solids

size = st.floats(0.01, 2.0)


@given(size, size, size)
def test_taper_against_quadrature(length, radius, end_radius):
    def disc(x):
        return np.pi * (radius + (end_radius - radius) * x / length) ** 2

    solid = solids.taper(length, radius, end_radius)
    # a polynomial of third degree: the quadrature is exact to rounding
    assert solid.volume == pytest.approx(integrate.quad(disc, 0, length)[0], rel=1e-11)
    assert solid.moment[0] == pytest.approx(integrate.quad(lambda x: x * disc(x), 0, length)[0], rel=1e-11)
    assert solid.moment[1:] == pytest.approx(0.0)


@pytest.mark.parametrize("turn", [0.01, np.pi / 6, np.pi / 2, np.pi, 2 * np.pi])
@pytest.mark.parametrize(("radius", "end_radius"), [(0.05, 0.05), (0.06, 0.02), (0.02, 0.07)])
def test_bend_against_quadrature_in_three_dimensions(turn, radius, end_radius):
    """Integrates the position over the swept discs themselves: no disc moments are taken from the code."""
    R = 0.11

    def integral(weight):
        def element(rho, psi, phi):  # rho is the share of the bore radius
            r = radius + (end_radius - radius) * phi / turn
            u = rho * r * np.cos(psi)
            x, y = (R + u) * np.sin(phi), R - (R + u) * np.cos(phi)
            return weight(x, y) * (R + u) * rho * r * r

        return integrate.tplquad(element, 0, turn, 0, 2 * np.pi, 0, 1, epsabs=1e-13, epsrel=1e-10)[0]

    solid = solids.bend(turn, R, radius, end_radius)
    assert solid.volume == pytest.approx(integral(lambda _x, _y: 1.0), rel=1e-9)
    assert solid.moment[0] == pytest.approx(integral(lambda x, _y: x), rel=1e-8, abs=1e-12)
    assert solid.moment[1] == pytest.approx(integral(lambda _x, y: y), rel=1e-8, abs=1e-12)


@given(st.floats(0.05, 2 * np.pi), size, st.floats(0.01, 1.0))
def test_bend_of_constant_bore_against_the_handbook(turn, centerline_radius, share):
    """Pappus for the volume; centroid of a torus sector (sin(θ/2)/(θ/2)) (R + r²/4R) from its axis, from memory."""
    radius = share * centerline_radius
    solid = solids.bend(turn, centerline_radius, radius, radius)
    assert solid.volume == pytest.approx(np.pi * radius**2 * centerline_radius * turn, rel=1e-13)
    reach = np.sin(turn / 2) / (turn / 2) * (centerline_radius + radius**2 / (4 * centerline_radius))
    expected = [reach * np.sin(turn / 2), centerline_radius - reach * np.cos(turn / 2), 0]
    assert solid.center == pytest.approx(expected, rel=1e-10, abs=1e-12 * centerline_radius)


def test_tapering_bend_against_sympy():
    phi = sympy.symbols("phi")
    turn, R, a, b = sympy.pi / 3, sympy.Rational(3, 20), sympy.Rational(1, 20), sympy.Rational(3, 100)
    r = a + (b - a) * phi / turn
    second = sympy.pi * r**2 * R**2 + sympy.pi * r**4 / 4
    volume = sympy.integrate(sympy.pi * r**2 * R, (phi, 0, turn))
    along = sympy.integrate(sympy.expand(second * sympy.sin(phi)), (phi, 0, turn))
    out = sympy.integrate(sympy.expand(second * sympy.cos(phi)), (phi, 0, turn))
    solid = solids.bend(float(turn), float(R), float(a), float(b))
    assert solid.volume == pytest.approx(float(volume), rel=1e-13)
    assert solid.moment[0] == pytest.approx(float(along.evalf(30)), rel=1e-13)
    assert solid.moment[1] == pytest.approx(float((volume * R - out).evalf(30)), rel=1e-13)


@pytest.mark.parametrize(("start", "end"), [(0.0, 0.4), (0.3, 0.0), (0.3, 0.3), (0.2, 0.5)])
def test_miter_piece_against_quadrature(start, end):
    length, radius = 0.4, 0.1

    def over_disc(weight):
        def element(_z, y):
            first, last = y * np.tan(start), length - y * np.tan(end)
            return weight(first, last, y)

        return integrate.dblquad(
            element, -radius, radius, lambda y: -np.sqrt(radius**2 - y**2), lambda y: np.sqrt(radius**2 - y**2)
        )[0]

    solid = solids.miter_piece(length, radius, start, end)
    assert solid.volume == pytest.approx(over_disc(lambda first, last, _y: last - first), rel=1e-8)
    assert solid.moment[0] == pytest.approx(over_disc(lambda first, last, _y: (last**2 - first**2) / 2), rel=1e-8)
    assert solid.moment[1] == pytest.approx(over_disc(lambda first, last, y: y * (last - first)), rel=1e-8)


@pytest.mark.parametrize("ratio", [0.01, 0.1, 0.5, 0.9, 0.99, 0.999, 0.99999])
@pytest.mark.parametrize("angle", [np.pi / 2, np.pi / 4, 2.0])
def test_branch_volume_against_elliptic_integrals(ratio, angle):
    """∫√(R² − w²) dA over a disc = (4R³/3) ((1 + m) E − (1 − m) K), m = (r/R)²; scipy supplies E and K."""
    R, length = 0.08, 0.4
    m = ratio**2
    overlap = 4 * R**3 / 3 * ((1 + m) * special.ellipe(m) - (1 - m) * special.ellipk(m))
    solid = solids.branch_outside_run(length, ratio * R, R, angle)
    expected = np.pi * (ratio * R) ** 2 * length - overlap / np.sin(angle)
    assert solid.volume == pytest.approx(expected, rel=1e-9)


def test_equal_bores_at_right_angles_make_the_steinmetz_solid():
    """Two equal cylinders share 16 r³/3 (Archimedes); half of it stands on the branch side."""
    r, length = 0.3, 1.0
    outside = solids.branch_outside_run(length, r, r, np.pi / 2)
    assert np.pi * r**2 * length - outside.volume == pytest.approx(8 * r**3 / 3, rel=1e-12)


@pytest.mark.parametrize(("ratio", "angle"), [(1.0, np.pi / 2), (0.6, np.pi / 4), (0.9, 2.2)])
def test_branch_centroid_against_quadrature(ratio, angle):
    R, length = 0.08, 0.4
    r = ratio * R

    def over_disc(weight):
        def element(t, rho):  # polar, so that the rim is smooth
            u, w = rho * np.cos(t), rho * np.sin(t)
            s = (np.sqrt(max(R**2 - w**2, 0.0)) - u * np.cos(angle)) / np.sin(angle)
            return weight(s, u) * rho

        return integrate.dblquad(element, 0, r, 0, 2 * np.pi, epsabs=1e-13)[0]

    solid = solids.branch_outside_run(length, r, R, angle)
    assert solid.moment[0] == pytest.approx(over_disc(lambda s, _u: (length**2 - s**2) / 2), rel=1e-7)
    assert solid.moment[1] == pytest.approx(over_disc(lambda s, u: u * (length - s)), rel=1e-7, abs=1e-12)


def test_no_volume_has_no_center():
    assert np.isnan(solids.NOTHING.center).all()


def test_solids_broadcast():
    turn, R = np.array([[0.5], [1.0]]), np.array([0.2, 0.3, 0.4])
    many = solids.bend(turn, R, 0.1, 0.05)
    assert many.volume.shape == (2, 3)
    assert many.moment.shape == (2, 3, 3)
    one = solids.bend(1.0, 0.3, 0.1, 0.05)
    assert many.moment[1, 1] == pytest.approx(one.moment, rel=1e-14)


def test_a_placed_solid_carries_all_of_its_moment():
    """Center of a solid in its own frame, turned by scipy and moved: volume times that is its moment."""
    solid = solids.Solid(np.array(2.0), np.array([0.6, -1.0, 4.0]))
    turn = Rotation.from_rotvec([0.3, -1.2, 0.7])
    moved = solids.placed(solid, [1.0, 2.0, 3.0], tuple(turn.as_matrix().T))
    assert moved.volume == 2.0
    assert moved.moment == pytest.approx(2.0 * (np.array([1.0, 2.0, 3.0]) + turn.apply([0.3, -0.5, 2.0])), rel=1e-12)


@pytest.mark.parametrize(
    ("solid", "sizes"),
    [
        (solids.taper, (0.4, 0.1, 0.05)),
        (solids.bend, (1.0, 0.3, 0.1, 0.05)),
        (solids.miter_piece, (0.4, 0.1, 0.2, 0.3)),
        (solids.branch_outside_run, (0.4, 0.05, 0.08, 0.9)),
    ],
)
def test_any_one_size_may_vary_from_row_to_row(solid, sizes):
    """A batch in a single argument, as a list, gives what its rows give alone."""
    for place, size in enumerate(sizes):
        rows = [size, 0.9 * size, 1.1 * size]
        many = solid(*sizes[:place], rows, *sizes[place + 1 :])
        for row, value in enumerate(rows):
            one = solid(*sizes[:place], value, *sizes[place + 1 :])
            assert many.moment.shape == (3, 3)
            assert np.broadcast_to(many.volume, 3)[row] == pytest.approx(one.volume, rel=1e-12)
            assert many.moment[row] == pytest.approx(one.moment, rel=1e-12)
