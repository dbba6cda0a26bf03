"""Tightening orders and passes against published ones, and what any order must fulfil."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anchorsize.mechanics import bolting_order as bo

PUBLISHED = {
    4: (1, 3, 2, 4),
    8: (1, 5, 3, 7, 2, 6, 4, 8),
    12: (1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12),
    16: (1, 9, 5, 13, 3, 11, 7, 15, 2, 10, 6, 14, 4, 12, 8, 16),
    20: (1, 11, 6, 16, 3, 13, 8, 18, 5, 15, 10, 20, 2, 12, 7, 17, 4, 14, 9, 19),
    24: (1, 13, 7, 19, 4, 16, 10, 22, 2, 14, 8, 20, 5, 17, 11, 23, 3, 15, 9, 21, 6, 18, 12, 24),
}


@pytest.mark.parametrize("count", PUBLISHED)
def test_published_cross_patterns(count: int) -> None:
    """ASME PCC-1, legacy cross-pattern table (recalled; the 12-bolt order printed on a public guide as well)."""
    assert bo.cross_pattern(count) == PUBLISHED[count]


@given(count=st.integers(1, 200))
def test_every_bolt_once(count: int) -> None:
    assert sorted(bo.cross_pattern(count)) == list(range(1, count + 1))


@given(pairs=st.integers(1, 60))
def test_even_counts_go_in_opposite_pairs(pairs: int) -> None:
    order = np.array(bo.cross_pattern(2 * pairs)).reshape(-1, 2)
    assert np.all(np.abs(order[:, 1] - order[:, 0]) == pairs)


@given(fours=st.integers(1, 40))
def test_multiples_of_four_go_in_right_angled_crosses(fours: int) -> None:
    order = np.array(bo.cross_pattern(4 * fours)).reshape(-1, 4)
    assert np.all(order[:, 2] - order[:, 0] == fours)


@given(halves=st.integers(1, 60))
def test_odd_counts_step_as_nearly_across_as_they_can(halves: int) -> None:
    count = 2 * halves + 1
    order = np.array(bo.cross_pattern(count))
    step = np.diff(order) % count
    assert np.all(np.minimum(step, count - step) == halves)


@given(count=st.integers(2, 60), data=st.data())
def test_missing_bolts_leave_the_order_of_the_rest(count: int, data: st.DataObject) -> None:
    missing = data.draw(st.sets(st.integers(1, count)))
    expected = [bolt for bolt in bo.cross_pattern(count) if bolt not in missing]
    assert list(bo.cross_pattern(count, missing)) == expected


@pytest.mark.parametrize(
    ("count", "percent"), [(4, (30, 60, 100)), (8, (30, 60, 100)), (12, (20, 40, 80, 100)), (24, (20, 40, 80, 100))]
)
def test_published_pass_percentages(count: int, percent: tuple[int, ...]) -> None:
    """Public flange-assembly guide: passes for 4 and 8 bolts, and for 12 and more (printed)."""
    assert tuple(round(100 * part) for part in bo.pass_shares(count)) == percent


def test_three_pass_torque_table() -> None:
    """Plant procedure, passes of 30, 70 and 100 % in ft·lbf (printed).

    Printed finals are whole, so that a pass may differ by half a digit of its own and half of the final's: 0.5 + 0.5 × share.
    """
    final = np.array([52, 104, 184, 237, 356, 424, 596, 821])
    first = np.array([16, 31, 55, 71, 107, 127, 179, 246])
    second = np.array([36, 73, 129, 166, 249, 297, 417, 574])
    found = bo.pass_torques(final, (0.3, 0.7, 1.0))
    np.testing.assert_allclose(found[:, 0], first, atol=0.65)
    np.testing.assert_allclose(found[:, 1], second, atol=0.85)
    np.testing.assert_allclose(found[:, 2], final)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: bo.cross_pattern(0), "at least 1 bolt"),
        (lambda: bo.pass_shares(0), "at least 1 bolt"),
        (lambda: bo.cross_pattern(8, [9]), "bolt 9 is said to be missing, but the circle has bolts 1 to 8"),
    ],
)
def test_bad_input_is_named(call, message: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=message):
        call()


def test_counts_between_the_published_ones_get_the_gentler_passes() -> None:
    assert all(len(bo.pass_shares(count)) == 3 for count in range(1, 9))
    assert all(len(bo.pass_shares(count)) == 4 for count in range(9, 14))


@pytest.mark.parametrize("stranger", [0, -1, 9])
def test_a_missing_bolt_must_be_on_the_circle(stranger: int) -> None:
    with pytest.raises(ValueError, match="the circle has bolts 1 to 8"):
        bo.cross_pattern(8, (2, stranger))
