"""What makes a chain of segments impossible: each rule at its edge, one bad row among good ones, and a drawing of the branch."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from anchorsize.mechanics.segments import Bend, Cap, Miter, Segment, Straight, Taper, Tee, faults, taper_in_leg

Y = (0.0, 1.0, 0.0)
RIGHT = 0.5 * np.pi

# bore and wall of the run, a segment that can just be built, and one that is past the limit
EDGES: dict[str, tuple[float, float | None, Segment, Segment]] = {
    "straight": (0.1, None, Straight(0.0), Straight(-1e-9)),
    "cap": (0.1, None, Cap(0.0), Cap(-1e-9)),
    "taper": (0.1, None, Taper(1e-9, 0.2), Taper(0.0, 0.2)),
    "turn": (0.1, None, Bend(2.0 * np.pi, 0.2, Y), Bend(2.0 * np.pi + 1e-9, 0.2, Y)),
    "miter": (0.1, None, Miter(2.0 * np.pi - 1e-9, 0.2, Y, 2), Miter(2.0 * np.pi, 0.2, Y, 2)),
    "radius without a wall": (0.5, None, Bend(1.0, 0.25, Y), Bend(1.0, 0.2499, Y)),
    "radius": (0.5, 0.25, Bend(1.0, 0.5, Y), Bend(1.0, 0.4999, Y)),
    "radius of the wider end": (0.5, 0.25, Bend(1.0, 1.25, Y, 2.0), Bend(1.0, 1.2499, Y, 2.0)),
    "least angle": (0.5, None, Tee(99.0, 9.0, Y, 0.1, 90.0, 0.1), Tee(99.0, 9.0, Y, 0.1, 90.0, 0.0)),
    "greatest angle": (0.5, None, Tee(99.0, 90.0, Y, 0.1, 90.0, 3.0), Tee(99.0, 90.0, Y, 0.1, 90.0, np.pi)),
    "branch as wide as the run": (0.5, 0.25, Tee(2.0, 1.0, Y, 0.5, 1.0), Tee(2.0, 1.0, Y, 0.5001, 1.0, RIGHT, 0.2)),
    "branch of a thick wall": (0.5, 0.25, Tee(2.0, 1.0, Y, 0.25, 1.0, RIGHT, 0.375), Tee(2.0, 1.0, Y, 0.25, 1.0, RIGHT, 0.376)),
    "branch length": (1.0, None, Tee(2.0, 1.0, Y, 0.5, 0.5), Tee(2.0, 1.0, Y, 0.5, 0.4999)),
    "branch at the start": (0.5, None, Tee(2.0, 0.25, Y, 0.5, 1.0), Tee(2.0, 0.2499, Y, 0.5, 1.0)),
    "branch of the wall of the run": (0.5, 0.25, Tee(2.0, 0.5, Y, 0.5, 1.0), Tee(2.0, 0.4999, Y, 0.5, 1.0)),
    "branch at the end": (1.0, None, Tee(0.75, 0.5, Y, 0.5, 1.0), Tee(0.7499, 0.5, Y, 0.5, 1.0)),
}  # fmt: skip


@pytest.mark.parametrize("name", EDGES)
def test_what_just_can_be_built_has_no_fault_and_what_cannot_has_one(name: str) -> None:
    bore, wall, good, bad = EDGES[name]
    assert faults(bore, (good,), wall) == ()
    assert len(faults(bore, (bad,), wall)) == 1


@pytest.mark.parametrize("name", EDGES)
@pytest.mark.parametrize("order", [1, -1])
def test_one_bad_row_among_good_ones_is_a_fault(name: str, order: int) -> None:
    bore, wall, good, bad = EDGES[name]
    both = {
        key: np.array([value, getattr(bad, key)][::order]) if isinstance(value, float) else getattr(bad, key)
        for key, value in vars(good).items()
    }
    assert len(faults(bore, (type(good)(**both),), wall)) == 1


@pytest.mark.parametrize("rows", [[0.1, 0.0], [-0.1, 0.1]])
def test_bore_and_wall_must_be_over_zero_in_every_row(rows: list[float]) -> None:
    assert faults(rows, ()) == ("the bore must be positive",)
    assert faults(0.1, (), rows) == ("the wall must be positive",)
    assert len(faults(0.1, (Taper(0.1, rows),))) == 1


def test_what_follows_is_judged_with_the_bore_and_the_wall_it_has() -> None:
    """A radius of 0.3 suits a bore of 0.4 with a wall of 0.05, not one of 0.6, whichever the chain began with."""
    bend = Bend(1.0, 0.3, Y)
    assert faults(0.6, (Taper(0.1, 0.4), bend), 0.05) == ()
    assert len(faults(0.4, (Taper(0.1, 0.6), bend), 0.05)) == 1
    assert faults(0.4, (Taper(0.1, 0.4, 0.05), bend), 0.2) == ()
    assert len(faults(0.4, (Taper(0.1, 0.4, 0.2), bend), 0.05)) == 1


@pytest.mark.parametrize(
    ("run_wall", "branch_wall", "count"), [(0.01, None, 0), (0.02, None, 1), (0.02, 0.01, 0), (0.01, 0.02, 1)]
)
def test_a_branch_goes_on_with_its_own_wall_or_that_of_the_run(
    run_wall: float, branch_wall: float | None, count: int
) -> None:
    """The bend beyond, of radius 0.065, suits a bore of 0.1 with a wall of 0.01 and not with 0.02."""
    tee = Tee(1.0, 0.5, Y, 0.1, 0.5, RIGHT, branch_wall, beyond=(Bend(1.0, 0.065, Y),))
    assert len(faults(0.3, (tee,), run_wall)) == count


@given(
    lean=st.floats(0.2, np.pi - 0.2),
    at=st.floats(-0.5, 2.5),
    bore=st.floats(0.05, 0.55),
    length=st.floats(0.05, 1.5),
    walls=st.tuples(st.floats(0.001, 0.15), st.none() | st.floats(0.001, 0.15)),
)
def test_branch_against_a_drawing(
    lean: float, at: float, bore: float, length: float, walls: tuple[float, float | None]
) -> None:
    """The outlines of run and branch as lines in the plane of their axes; where they meet is found by solving for it.

    Drawings within a millionth of a limit are left out, so that rounding decides nothing.
    """
    run_bore, run_length, wall = 0.5, 2.0, walls[0]
    outside = run_bore / 2 + wall
    half = bore / 2 + (wall if walls[1] is None else walls[1])
    along, across = np.array([np.cos(lean), np.sin(lean)]), np.array([-np.sin(lean), np.cos(lean)])
    edges = [np.array([at, 0.0]) + side * half * across for side in (1, -1)]
    # edge + s·along = (x, outside)
    landings = [np.linalg.solve(np.stack([along, [-1.0, 0.0]], axis=1), np.array([0.0, outside]) - e)[1] for e in edges]
    ends = [(edge + length * along)[1] for edge in edges]
    margins = np.array(
        [half - outside, bore - run_bore, min(ends) - outside, min(landings), max(landings) - run_length]
    )
    assume(np.all(np.abs(margins) > 1e-6))
    expected = [max(margins[:2]) > 0.0, margins[2] < 0.0, margins[3] < 0.0 or margins[4] > 0.0]
    found = faults(run_bore, (Tee(run_length, at, Y, bore, length, lean, walls[1]),), wall)
    words = ("wider than the run", "ends inside the run", "does not land")
    assert [any(word in text for text in found) for word in words] == expected
    assert len(found) == sum(expected)


def test_a_taper_may_fill_its_leg() -> None:
    taper = Taper(0.25, 0.1)
    before, _, rest = taper_in_leg([0.75, 1.0], taper, 0.5)
    assert (before, rest.length.tolist()) == (Straight(0.5), [0.0, 0.25])
    assert taper_in_leg(0.25, taper)[0] == Straight(0.0)
    for legs in ([0.74, 1.0], [1.0, 0.74]):
        with pytest.raises(ValueError, match="longer than the leg"):
            taper_in_leg(legs, taper, 0.5)
