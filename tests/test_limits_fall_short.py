"""A limit 'goes less far' where something that held does so no more; what holds elsewhere as well takes nothing away."""

from __future__ import annotations

import pytest

from anchorsize.present.limits_beside import _falls_short
from anchorsize.studies.limits_scan import Interval, Span


def span(*ends):
    return Span(tuple(Interval(low, high, None, None) for low, high in ends), 1e8)


@pytest.mark.parametrize(
    ("own", "then", "short"),
    [
        ([(520, 1138)], [(20, 36), (520, 1138)], False),  # the same, and more beside it
        ([(520, 1138)], [(520.1, 1137.9)], False),  # within a thousandth
        ([(520, 1138)], [(520, 1100)], True),
        ([(520, 1138)], [(600, 1138)], True),
        ([(0, 1000)], [(0, 400), (500, 1000)], True),  # a gap within
        ([(0, 100), (500, 1000)], [(500, 1000)], True),
        ([(0, 100), (500, 1000)], [(0, 1000)], False),
        ([(0, 1000)], [], True),
        ([], [(0, 10)], False),
        ([], [], False),
    ],
)
def test_less_far_is_what_is_lost(own, then, short):
    assert _falls_short(span(*own), span(*then)) is short
