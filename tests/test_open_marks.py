"""A support that carries nothing in a case shows an open mark in the comparison's picture, whichever case stands first."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from anchorsize.casefile import parse_case
from anchorsize.present.supports_picture import _supports
from anchorsize.studies.supports import compare
from tests.support_cases import joint, options, pulled, stiffness, still, support
from tests.test_support_choice import two_cases

X, Z = np.eye(3)[[0, 2]]


GIVING = stiffness("1 MN/m", "1 MN/m", "1 MN*m/rad", "1 MN*m/rad")


def marks(first: str) -> list[tuple[float, str, float]]:
    """Place, filling and height of the marks of one rest that carries nothing in either case: lifted in 'still', just touching in 'other'."""
    rest = support("rest", "R", X, Z, "stiffness: 5 MN/m, allow: {force: 9 kN}")
    text = two_cases(still(options(A=[rest], none=[]), pulled((900 * Z, X)), joint(GIVING)))
    if first == "still":
        rows = text.splitlines()
        place = rows.index("cases:")
        rows[place + 1], rows[place + 2] = rows[place + 2], rows[place + 1]
        text = "\n".join(rows) + "\n"
    study = parse_case(text, "f")
    assert next(iter(study.cases)) == first
    compared = compare(study)
    (option,) = [each for each in compared.options if each.supports]
    axes = Figure().add_subplot()
    _supports(axes, compared, [(option.name, each) for each in option.carried], ["R"])
    return [
        (float(np.ravel(each.get_xdata())[0]), str(each.get_markerfacecolor()), each.get_zorder())
        for each in axes.lines
        if each.get_marker() == "o"
    ]


def test_the_open_mark_is_on_top_in_either_order():
    for first in ("still", "other"):
        found = marks(first)
        assert len(found) == 2
        assert {round(place, 9) for place, _, _ in found} == {0.0}
        assert sorted(fill == "white" for _, fill, _ in found) == [False, True]
        (on_top,) = [fill for _, fill, height in found if height == max(each[2] for each in found)]
        assert on_top == "white"
