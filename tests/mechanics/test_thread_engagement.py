"""Stripping areas measured on the basic thread profile of ISO 68-1 with sympy, and what standard nuts must hold."""

import numpy as np
import pytest
import sympy as sp
from hypothesis import given
from hypothesis import strategies as st

from anchorsize.mechanics import thread_engagement as te

ISO_METRIC = {  # d: P, d2, D1 (ISO 724), stress area [mm²] (ISO 898-1), least nut height (ISO 4032); all printed [mm]
    6: (1.0, 5.350, 4.917, 20.1, 4.9),
    12: (1.75, 10.863, 10.106, 84.3, 10.37),
    16: (2.0, 14.701, 13.835, 157.0, 14.1),
}


def profile_widths() -> tuple[float, float]:
    """Width per pitch of the basic triangle profile of ISO 68-1 at the minor diameter (bolt) and major diameter (nut).

    A triangle of 60° and height H = P √3/2 is cut H/8 below its tip at the major diameter and H/4 above its root at the
    minor one; cut lengths are taken from the triangle itself.
    """
    H = sp.sqrt(3) / 2
    triangle = sp.Triangle(sp.Point(0, 0), sp.Point(1, 0), sp.Point(sp.Rational(1, 2), H))

    def width(height: sp.Expr) -> sp.Expr:
        left, right = triangle.intersection(sp.Line(sp.Point(-1, height), sp.Point(2, height)))
        return left.distance(right)

    bolt_at_minor = width(H / 4)
    nut_at_major = 1 - width(H * sp.Rational(7, 8))
    return float(bolt_at_minor), float(nut_at_major)


@pytest.mark.parametrize("diameter", ISO_METRIC)
def test_areas_are_those_of_the_basic_profile(diameter: int) -> None:
    """Printed d2 and D1 carry 0.0005 mm, on a tooth of about 1 mm: 1e-3."""
    pitch, d2, D1, _, height = ISO_METRIC[diameter]
    bolt_width, nut_width = profile_widths()
    turns = height / pitch
    bolt = te.bolt_thread_area(height, pitch, d2, D1)
    nut = te.nut_thread_area(height, pitch, diameter, d2)
    assert bolt == pytest.approx(np.pi * D1 * turns * bolt_width * pitch, rel=1e-3)
    assert nut == pytest.approx(np.pi * diameter * turns * nut_width * pitch, rel=1e-3)


@pytest.mark.parametrize("diameter", ISO_METRIC)
def test_bolt_breaks_before_a_standard_nut_strips(diameter: int) -> None:
    """ISO 898-2 nuts of style 1 are made so that the bolt breaks first: class 8.8 (800 MPa) in its least height.

    Shear strength 0.6 of the tensile strength (common practice, no source), the nut as strong as the bolt.
    """
    pitch, d2, D1, tensile_area, height = ISO_METRIC[diameter]
    bolt, nut = te.bolt_thread_area(height, pitch, d2, D1), te.nut_thread_area(height, pitch, diameter, d2)
    assert te.stripping_strength(bolt, nut, 0.6 * 800, 0.6 * 800) > tensile_area * 800


@given(
    length=st.floats(1e-3, 0.1),
    scale=st.floats(0.1, 10.0),
    strengths=st.tuples(st.floats(1e7, 1e9), st.floats(1e7, 1e9)),
)
def test_strength_is_proportional_to_length_and_of_the_weaker_thread(
    length: float, scale: float, strengths: tuple[float, float]
) -> None:
    def strength(engaged: float, bolt: float, nut: float) -> float:
        return float(
            te.stripping_strength(
                te.bolt_thread_area(engaged, 2e-3, 14.701e-3, 13.835e-3),
                te.nut_thread_area(engaged, 2e-3, 16e-3, 14.701e-3),
                bolt,
                nut,
            )
        )

    found = strength(length, *strengths)
    assert strength(scale * length, *strengths) == pytest.approx(scale * found, rel=1e-12)
    assert strength(length, 2 * strengths[0], strengths[1]) >= found
    assert found <= strength(length, strengths[0], 1e12)


def test_looser_thread_has_less_area() -> None:
    areas = te.bolt_thread_area(14e-3, 2e-3, 14.701e-3, np.array([13.835e-3, 14.0e-3, 14.21e-3]))
    assert np.all(np.diff(areas) < 0.0)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: te.bolt_thread_area(0.0, 2e-3, 14.7e-3, 13.8e-3), "length of engagement must be greater than zero"),
        (lambda: te.bolt_thread_area(14e-3, 2e-3, 14.7e-3, 17e-3), "width of the bolt thread"),
        (lambda: te.nut_thread_area(14e-3, 2e-3, 12e-3, 14.7e-3), "width of the nut thread"),
        (lambda: te.stripping_strength(1e-4, 1e-4, 0.0, 1e8), "shear strength of the bolt must be greater than zero"),
    ],
)
def test_bad_input_is_named(call, message: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=message):
        call()


def test_the_weaker_thread_decides_on_either_side() -> None:
    """Area times strength of each thread by hand: 2·300 and 1·500, then 2·200 and 1·500."""
    assert te.stripping_strength(2.0, 1.0, [300.0, 200.0], 500.0).tolist() == [500.0, 400.0]
