"""Batched zeros against scipy.optimize.brentq."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from anchorsize.studies.roots import bisect, brackets


@given(st.lists(st.floats(0.05, 9.5), min_size=1, max_size=5))
def test_zeros_agree_with_brentq(zeros):
    zeros = np.array(zeros)

    def cubic(x):
        return (x - zeros) ** 3 + 0.1 * (x - zeros)

    found = bisect(cubic, np.zeros(len(zeros)), np.full(len(zeros), 10.0))
    for z, value in zip(zeros, found, strict=True):
        assert abs(value - brentq(lambda x, z=z: (x - z) ** 3 + 0.1 * (x - z), 0, 10, xtol=1e-14)) < 1e-12


def test_brackets_are_found_where_the_sign_changes_and_where_a_grid_point_is_a_zero():
    x = np.array([0.0, 1.0, 2.0, 3.0])
    low, high = brackets(x, np.array([-1.0, 1.0, 0.0, 2.0]))
    assert list(zip(low, high, strict=True)) == [(0.0, 1.0), (1.0, 2.0)]


def test_no_bracket_no_zero():
    assert bisect(lambda x: x, np.array([]), np.array([])).size == 0


@given(st.floats(0.05, 9.5), st.integers(2, 70))
def test_cutting_into_more_parts_finds_the_same_zero(zero, ways):
    ends = np.array([0.0]), np.array([10.0])
    one = bisect(lambda x: x - zero, *ends)
    many = bisect(lambda x: x - zero, *ends, ways=ways)
    assert abs(one[0] - zero) < 1e-14
    assert abs(many[0] - zero) < 1e-14
    assert abs(bisect(lambda x: x - zero, *ends, ways=ways, tolerance=1e-6)[0] - zero) < 1e-5
