"""The parts of the search for a flange's least energy: steps, brackets, and when a row is at rest or lost."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from anchorsize.mechanics import one_sided
from anchorsize.mechanics.face_integrals import Annulus
from tests.mechanics.test_one_sided import any_system, whole

seeds = st.integers(0, 2**32 - 1)


@settings(max_examples=20)  # six brackets each
@given(seeds)
def test_the_next_share_is_where_a_chord_of_the_slopes_crosses_zero_well_within_the_bracket(seed: int) -> None:
    """Slopes as they come: −10 … 0 at the lower end, 0 … 10 at the upper one."""
    rng = np.random.default_rng(seed)
    low, high = np.sort(rng.uniform(0.1, 5.0, (2, 6)), axis=0)
    falling, rising = -(10.0 ** rng.uniform(-3, 1, 6)), 10.0 ** rng.uniform(-3, 1, 6)
    share = one_sided._next_share(np.stack([low, falling]), np.stack([high, rising]))
    crossing = np.array([np.interp(0.0, [falling[i], rising[i]], [low[i], high[i]]) for i in range(6)])
    part, at = (crossing - low) / (high - low), (share - low) / (high - low)
    inner = (part > 0.2) & (part < 0.8)
    assert share[inner] == pytest.approx(crossing[inner])
    assert np.all((at > 0.1) & (at < 0.9))


# energy at the start 0, slope −1 there: share tried, energy and slope found, bracket so far, what it counts as
TRIALS = [
    (1.0, -0.9, -0.8, (0.0, np.inf), "accept"),  # still falls
    (1.0, 1e-3, -0.4, (0.0, np.inf), "accept"),  # still falls, whatever rounding of large parts makes of the energy
    (1.0, -0.05, 0.8, (0.0, np.inf), "accept"),  # past the least, but far less energy
    (1.0, -0.9e-4, 0.8, (0.0, np.inf), "long"),  # past the least, with less than a share of 1e-4 of the promise
    (0.5, -0.7e-4, 0.8, (0.0, 1.0), "accept"),  # half the step promises half as much
    (0.5, -0.4e-4, 0.8, (0.0, 1.0), "long"),
    (1.0, 0.1, 0.3, (0.0, np.inf), "long"),  # more energy
    (1.0, 0.1, 1.3, (0.0, np.inf), "long"),
    (1.0, -1e-16, 0.4, (0.0, np.inf), "accept"),  # no difference in energy, the slope less than half
    (1.0, -1e-16, 0.6, (0.0, np.inf), "long"),
    (0.5, -0.4, -0.8, (0.0, 1.0), "short"),  # a shortened step over which the slope stays
    (0.5, -0.4, -0.4, (0.0, 1.0), "accept"),
    (0.5, -0.4, -0.8, (0.5 - 1e-8, 0.5 + 1e-8), "accept"),  # as good as it gets
    (0.5, -0.4, -0.8, (0.4, 0.6), "short"),
    (1e-3, -0.9e-3, -0.8, (0.9e-3, 1.1e-3), "short"),  # narrow, but not for where it is
]


@pytest.mark.parametrize("size", [1.0, 2.0**40, 2.0**-40])
def test_a_trial_is_accepted_or_narrows_the_bracket_as_the_method_says(size: float) -> None:
    """The rules of the docstring, written out case by case, all in one batch and in any unit of energy."""
    count = len(TRIALS)
    share, found, there = (np.array([trial[i] for trial in TRIALS], dtype=float) for i in range(3))
    brackets, verdict = np.array([trial[3] for trial in TRIALS]).T, np.array([trial[4] for trial in TRIALS])
    along = np.zeros((3, count))
    along[1] = 1.0
    zero = np.zeros(count)
    low = np.stack([brackets[0], np.full(count, -size)])
    high = np.stack([brackets[1], np.where(np.isinf(brackets[1]), np.inf, 2.0 * size)])
    search = one_sided._Search(np.zeros((3, count)), zero, along, np.full(count, -size), share, low, high)
    excess = np.zeros((3, count))
    excess[1] = size * there
    excess[0] = 7.0 * size
    springs = one_sided.Springs(np.zeros((0, count)), along, zero, size * found, excess, np.zeros((6, count)))
    new_step = np.zeros((3, count))
    new_step[0] = -1.0
    trial = share * along
    after = one_sided._advance(search, trial, springs, new_step)
    for i in range(count):
        if verdict[i] == "accept":
            assert after.displacement[:, i].tolist() == trial[:, i].tolist(), TRIALS[i]
            assert after.energy[i] == size * found[i]
            assert after.step[:, i].tolist() == [-1.0, 0.0, 0.0]
            assert after.slope[i] == -7.0 * size
            assert after.share[i] == 1.0
            assert after.low[:, i].tolist() == [0.0, -7.0 * size]
            assert after.high[0, i] == np.inf
            continue
        assert after.displacement[:, i].tolist() == [0.0, 0.0, 0.0], TRIALS[i]
        assert after.energy[i] == 0.0
        assert after.step[:, i].tolist() == [0.0, 1.0, 0.0]
        assert after.slope[i] == -size
        end, other = (after.low, after.high) if verdict[i] == "short" else (after.high, after.low)
        before = search.high if verdict[i] == "short" else search.low
        assert end[:, i] == pytest.approx([share[i], size * there[i]]), TRIALS[i]
        assert other[:, i].tolist() == before[:, i].tolist(), TRIALS[i]
        assert after.low[0, i] < after.share[i] < after.high[0, i]


@pytest.mark.parametrize("energies", [(5.0, 5.0), (-5.0, -5.0), (3e8, 3e8)])
def test_near_the_end_energies_differ_by_rounding_only(energies: tuple[float, float]) -> None:
    """Energies a unit of the last place apart: whether the slope has shrunk to less than half decides, either way."""
    count = 4
    before = np.full(count, energies[0])
    after = before + np.array([1.0, 1.0, 0.0, 1e6]) * np.spacing(abs(energies[0]))
    along = np.zeros((3, count))
    along[2] = 1.0
    excess = along * np.array([0.4, 0.6, 0.4, 0.4])
    pair = np.zeros((2, count))
    search = one_sided._Search(0.0 * along, before, along, -np.ones(count), np.ones(count), pair - 1.0, pair + np.inf)
    springs = one_sided.Springs(np.zeros((0, count)), along, np.zeros(count), after, excess, np.zeros((6, count)))
    moved = one_sided._advance(search, along, springs, along).displacement[2]
    assert moved.tolist() == [1.0, 0.0, 1.0, 0.0]


@settings(max_examples=20)  # three rows each
@given(seeds)
def test_newton_steps_are_whole_or_capped(seed: int) -> None:
    """Along the solution of curvature × step = −gradient, whole where it stays within the cap, else of the cap's length."""
    system = any_system(seed)
    rng = np.random.default_rng(seed)
    at, first = rng.normal(size=(3, 3)), np.array([0.1, 0.2, 0.3])
    root = rng.normal(size=(3, 3, 3))
    matrices = root @ np.swapaxes(root, -1, -2) + np.eye(3)
    upper = np.triu_indices(3)
    six = matrices[:, upper[0], upper[1]].T
    assert whole(six) == pytest.approx(matrices)
    excess = rng.normal(size=(3, 3)) * np.array([1.0, 1e8, 1.0])
    springs = one_sided.Springs(np.zeros((0, 3)), at, first, first, excess, six)
    step = one_sided._newton_step(system, springs, at, np.ones((3, 1)), first)
    newton = np.linalg.solve(matrices, -excess.T[..., None])[..., 0].T
    assert step[:, [0, 2]] == pytest.approx(newton[:, [0, 2]], rel=1e-6, abs=1e-9)
    cap = 1e3 * (one_sided.travel(at, system.reach) + first)[1]
    assert one_sided.travel(step, system.reach)[1] == pytest.approx(cap)
    turned = newton[:, 1] / np.linalg.norm(newton[:, 1])
    assert step[:, 1] / np.linalg.norm(step[:, 1]) == pytest.approx(turned, abs=1e-6)


@pytest.mark.parametrize("face", [True, False])
@pytest.mark.parametrize("size", [1.0, 1e6, 1e-6])
def test_flanges_at_rest_leave_no_more_than_the_tolerance_in_any_direction(face: bool, size: float) -> None:
    """One direction after the other, a moment as the force at the reach that makes it; an open face brings no rounding."""
    rows = np.arange(6)
    system = any_system(0, rows=6, face=face)
    system = replace(system, scale=np.full(6, size))
    allowed = one_sided.TOLERANCE * size * np.array([1.0, 1.3, 1.3])
    excess = np.zeros((3, 6))
    excess[rows % 3, rows] = np.where(rows < 3, 0.9, -1.1) * allowed[rows % 3]
    nothing = np.zeros(6)
    springs = one_sided.Springs(np.zeros((5, 6)), 0.0 * excess, nothing, nothing, excess, np.zeros((6, 6)))
    at_rest = one_sided._in_equilibrium(system, springs, np.ones((3, 6)))
    assert at_rest.tolist() == [True] * 3 + [False] * 3
    exactly = one_sided._in_equilibrium(system, springs._replace(excess=0.0 * excess), np.ones((3, 6)))
    assert exactly.tolist() == [True] * 6


@pytest.mark.parametrize("face", [True, False])
@pytest.mark.parametrize(("force", "length"), [(1.0, 1.0), (1e6, 1e-3), (1e-6, 1e3)])
def test_held_is_what_a_linear_program_says(
    face: bool, force: float, length: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Bolts that pull and a face that pushes hold a load or do not: scipy's linear program decides for each row.

    The rim of the face stands for all of it. Loads too near the limit are left out: those that a program with the load
    moved by a hundredth of the reach to any side answers otherwise.
    """
    rng = np.random.default_rng(7)
    system = any_system(7, rows=10, face=False)
    system.points[..., ::2] = np.abs(system.points[..., ::2])  # bolts on one side of the face only
    way = np.where(np.arange(10) % 3 == 0, -1.0, 1.0)  # pushed or pulled, somewhere
    load = np.stack([way, *(way * rng.uniform(-0.8, 0.8, (2, 10)))])
    angles = np.linspace(0.0, 2.0 * np.pi, 60)
    rim = np.stack([np.ones(60), 0.4 * np.cos(angles), 0.4 * np.sin(angles)])

    def held(row: int, wrench: np.ndarray) -> bool:
        bolts = system.points[:, system.stiffness[:, row] > 0.0, row]
        columns = np.concatenate([bolts, -rim], axis=1) if face else bolts
        return bool(linprog(np.ones(columns.shape[1]), A_eq=columns, b_eq=wrench).status == 0)

    shifts = 0.01 * np.array([[0.0, 1.0, 0.0], [0.0, -0.5, 0.87], [0.0, -0.5, -0.87]])
    answers = [{held(row, load[:, row] + shift) for shift in shifts} for row in range(10)]
    scaled = load * np.array([[force], [force * length], [force * length]])
    scaled_system = replace(
        system,
        load=scaled,
        change=scaled,
        points=system.points * np.array([1.0, length, length])[:, None, None],
        stiffness=system.stiffness * force / length,
        stretch=np.zeros((5, 10)),
        face=Annulus(0.3 * length * np.ones(1), 0.8 * length * np.ones(1)) if face else None,
        modulus=np.array([1.7 * force / length**3]),
        closing=np.zeros((3, 1)),
        reach=np.array([length]),
        scale=np.full(10, force),
    )
    monkeypatch.setattr(one_sided, "PASSES", 50)
    found = one_sided.minimize(scaled_system)
    sure = [row for row in range(10) if len(answers[row]) == 1]
    held_rows = [answers[row] == {True} for row in sure]
    assert set(held_rows) == {True, False}
    assert (found.status[sure] == one_sided.SOLVED).tolist() == held_rows
    # with a face some rows drift off too slowly to be shown not to be held
    assert face or not np.any(found.status == one_sided.GIVEN_UP)
    assert np.all(found.passes[found.status == one_sided.NO_EQUILIBRIUM] < 50)


# Bolts at x = 1 and x = −1 that are there, or not; a missing one at x = 3; a face out to 0.4 round the origin. Motion and load,
# both as parts along 1, x and y, and whether the motion shows that bolts alone, or with the face, cannot hold the load.
MOTIONS = [
    ((1, 1), (1, 0, 0), (1, 0, 0), False, False),  # bolts hold a pull
    ((1, 1), (-1, 0, 0), (-1, 0, 0), True, False),  # the face alone holds a push
    ((1, 1), (0, 0, 1), (0, 0, 1), True, False),  # bolts on an axis hold no moment about it, with a face they do
    ((0, 0), (1, 0, 0), (1, 0, 0), True, True),  # nothing holds a pull
    ((0, 0), (-1, 0, 0), (-1, 0, 0), True, False),
    (
        (1, 0),
        (1, -1, 0),
        (1, 0, 0),
        True,
        True,
    ),  # one bolt to the side of a pull: it turns about the bolt, clear of the face
    ((1, 0), (2, -1, 0), (1, 0, 0), True, False),  # stretched by 1; lowered to nothing where no face is in the way
    ((1, 0), (-1, 1, 0), (-1, 0, 0), True, False),  # pushed: closes the face, lifted from it the bolt stretches
    ((1, 1), (0, 1, 0), (0, 1, 0), True, False),  # a moment: one bolt pulls, but only a face can push against it
    ((1, 0), (0.5, -1, 0), (0.5, -1, 0), True, True),  # a moment that draws the bolt in, and opens the face
    ((1, 0), (1, -1, 0), (1, 1 - 1e-12, 0), False, False),  # works next to nothing
    ((1, 0), (1, -1, 0), (1, 1.5, 0), False, False),  # works against the motion
    (
        (1, 0),
        (1 + 1e-4, -1, 0),
        (1, 0, 0),
        True,
        False,
    ),  # stretches the bolt by 1e-4 of what it opens: not beyond reason
    ((1, 0), (1 + 1e-8, -1, 0), (1, 0, 0), True, True),  # by 1e-8: only a force of 1e8 times the load could hold it
]


@pytest.mark.parametrize("face", [False, True])
@pytest.mark.parametrize("size", [1.0, 1e-20, 1e20])
@pytest.mark.parametrize(("force", "length"), [(1.0, 1.0), (2.0**40, 2.0**-10), (2.0**-40, 2.0**10)])
def test_what_a_motion_shows_about_a_load(face: bool, size: float, force: float, length: float) -> None:
    """In any units, whatever the size of the motion, and whatever the other rows do."""
    count = len(MOTIONS)
    lever = np.array([[1.0], [length], [length]])
    there = np.array([case[0] for case in MOTIONS], dtype=float).T
    motion, load = (np.array([case[i] for case in MOTIONS], dtype=float).T for i in (1, 2))
    system = one_sided.OneSidedSystem(
        load=force * load * lever,
        change=force * load * lever,
        points=np.array([[1.0, 1.0, 1.0], [1.0, -1.0, 3.0], [0.0, 0.0, 0.0]]) * lever,
        stiffness=np.concatenate([there, np.zeros((1, count))]) * force / length,
        stretch=np.zeros((3, 1)),
        face=Annulus(0.1 * length * np.ones(1), 0.8 * length * np.ones(1)) if face else None,
        modulus=np.array([force / length**3]),
        closing=np.zeros((3, 1)),
        reach=np.array([length]),
        scale=np.full(count, force),
    )
    lost = [case[4] if face else case[3] for case in MOTIONS]
    moved = size * motion / lever
    before = moved.copy()
    assert one_sided._out_of_reach(system, moved).tolist() == lost
    assert moved.tolist() == before.tolist()
    for row in range(count):
        alone = one_sided._out_of_reach(system.take(np.array([row])), moved[:, [row]])
        assert alone.tolist() == [lost[row]]


def test_bolts_in_a_row_hold_what_pulls_in_their_line() -> None:
    """No face; bolts at x = ±1, none elsewhere: a pull between them is shared by levers, all else is not held.

    Rows: pull at the center, pull at x = 0.5, pull beside the line, push, pull beyond a bolt, no bolts at all.
    """
    load = np.array([[4.0, 4.0, 4.0, -4.0, 4.0, 4.0], [0.0, 2.0, 0.0, 0.0, 6.0, 0.0], [0.0, 0.0, 1.0, 0.0, 0.0, 0.0]])
    stiffness = np.full((2, 6), 2.0)
    stiffness[:, 5] = 0.0
    system = one_sided.OneSidedSystem(
        load=load,
        change=load,
        points=np.array([[1.0, 1.0], [1.0, -1.0], [0.0, 0.0]]),
        stiffness=stiffness,
        stretch=np.zeros((2, 1)),
        face=None,
        modulus=np.array([1.0]),
        closing=np.zeros((3, 1)),
        reach=np.array([1.0]),
        scale=np.full(6, 4.0),
    )
    found = one_sided.minimize(system)
    yes, no = one_sided.SOLVED, one_sided.NO_EQUILIBRIUM
    assert found.status.tolist() == [yes, yes, no, no, no, no]
    assert found.displacement[:, 0] == pytest.approx([1.0, 0.0, 0.0], abs=1e-9)
    assert found.displacement[:, 1] == pytest.approx([1.0, 0.5, 0.0], abs=1e-9)
    assert found.passes[:2].tolist() == [1, 1]  # nothing comes loose: the first trial is the answer
    assert np.all(found.passes[2:] > 1)
    assert system.take(np.array([1])).face is None
    springs = one_sided.springs_at(system, system.products(), found.displacement)
    assert springs.contact.tolist() == [0.0] * 6
