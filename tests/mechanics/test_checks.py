"""Distances between bolts where patterns differ and what is missing does not, and where a pattern has a single place."""

from __future__ import annotations

import numpy as np
import pytest

from anchorsize.mechanics import checks

PLACES = np.array(
    [
        [[3, 0], [0, 4], [-3, 0], [0, -4]],
        [[1, 1], [-1, 1], [-1, -1], [1, -1]],
        [[5, 0], [0, 1], [-5, 0], [0, -1]],
    ]
)


def test_one_set_of_bolts_in_several_patterns() -> None:
    """Without the third: the legs of the pairs by Pythagoras, and the chord over the gap."""
    present = [True, True, False, True]
    assert checks.least_spacing(PLACES, present) == pytest.approx([5.0, 2.0, 2.0])
    assert checks.greatest_gap(PLACES, present) == pytest.approx([8.0, np.sqrt(8.0), np.sqrt(26.0)])


def test_patterns_of_a_single_place_have_no_distances() -> None:
    for present in ([True], [False], [[True], [False], [True]]):
        assert checks.least_spacing(PLACES[:, :1], present).tolist() == [np.inf] * 3
        np.testing.assert_array_equal(checks.greatest_gap(PLACES[:, :1], present), [np.nan] * 3)
