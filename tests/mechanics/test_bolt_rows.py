"""Few rows of the bolt group, in every form that capacities and patterns may have, against the bolts one by one."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from anchorsize.mechanics import bolt_group, bolt_rows, checks

RNG = np.random.default_rng(20260101)
XY = np.array([[0.2, 0.0], [0.05, 0.2], [-0.2, 0.1], [-0.1, -0.2], [0.15, -0.15]])  # invented
WEIGHT = np.array([1.0, 2.0, 0.5, 1.5, 1.0])
LOADS = RNG.normal(size=(6, 10))
FORMS = ["circular", "linear", "en_1993_1_8"]


def one_by_one(row: int) -> tuple[np.ndarray, np.ndarray]:
    """Tension and resultant shear of the bolts in a row, by least squares: springs carry the loads with the least Σ f²/k."""
    N, M1, M2, V1, V2, torsion = LOADS[:, row]
    x, y = XY.T
    root = np.sqrt(WEIGHT)
    balance = np.stack([np.ones(5), x, y])
    t = root * np.linalg.lstsq(balance * root, np.array([N, M2, -M1]), rcond=None)[0]
    both = np.block([[np.ones(5), np.zeros(5)], [np.zeros(5), np.ones(5)], [-y, x]])
    twice = np.tile(root, 2)
    s = twice * np.linalg.lstsq(both * twice, np.array([V1, V2, -torsion]), rcond=None)[0]
    return t, np.hypot(s[:5], s[5:])


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("block", [3, 5, 4096])
@pytest.mark.parametrize("per_row", [(False, True), (True, False)])
def test_greatest_of_each_row(
    form: bolt_rows.Interaction, block: int, per_row: tuple[bool, bool], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Capacities by bolt or by bolt and row; blocks that divide the rows and blocks that do not."""
    monkeypatch.setattr(bolt_rows, "BLOCK", block)
    in_tension, in_shear = (RNG.uniform(0.5, 3.0, (10, 5) if each else 5) for each in per_row)
    found = bolt_rows.greatest(*LOADS, XY, WEIGHT, in_tension, in_shear, form)
    rule = getattr(checks, f"interaction_{form}")
    for row in range(10):
        t, s = one_by_one(row)
        allowed_t, allowed_s = (np.broadcast_to(each, (10, 5))[row] for each in (in_tension, in_shear))
        assert found.tension[row] == pytest.approx(t.max(), rel=1e-9, abs=1e-12)
        assert found.shear[row] == pytest.approx(s.max(), rel=1e-9)
        assert found.interaction[row] == pytest.approx(rule(t / allowed_t, s / allowed_s).max(), rel=1e-9)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("capacities", [(2.0, 3.0), (np.full((2, 5, 1), 2.0), np.full((2, 5, 1), 3.0))])
def test_loads_of_any_shape(form: bolt_rows.Interaction, capacities: tuple[Any, Any]) -> None:
    found = bolt_rows.greatest(*LOADS.reshape(6, 2, 5), XY, WEIGHT, *capacities, form)
    flat = bolt_rows.greatest(*LOADS, XY, WEIGHT, np.full(5, 2.0), np.full(5, 3.0), form)
    for shaped, row in zip(found, flat, strict=True):
        assert shaped.shape == (2, 5)
        assert shaped.reshape(-1) == pytest.approx(row, rel=1e-12)


@pytest.mark.parametrize("form", FORMS)
def test_a_single_row_may_stand_alone(form: bolt_rows.Interaction) -> None:
    found = bolt_rows.greatest(*LOADS[:, 4], XY, WEIGHT, 2.0, 3.0, form)
    t, s = one_by_one(4)
    assert found.tension.shape == ()
    assert found.interaction == pytest.approx(getattr(checks, f"interaction_{form}")(t / 2.0, s / 3.0).max())


def test_many_loads_and_few_go_through_the_same_equations() -> None:
    """A row of loads, a batch of rows and a batch of patterns: least squares in each."""
    group = bolt_group.pattern(XY, WEIGHT)
    stacked = bolt_group.pattern(np.stack([XY, XY[::-1]]), np.stack([WEIGHT, WEIGHT[::-1]]))
    rows = bolt_group.tensions_of(group, *LOADS[:3])
    shears = bolt_group.shears_of(group, *LOADS[3:])
    assert rows.shape == (10, 5)
    assert shears.shape == (10, 5, 2)
    for row in range(10):
        t, s = one_by_one(row)
        assert rows[row] == pytest.approx(t, abs=1e-9)
        assert np.linalg.norm(shears[row], axis=-1) == pytest.approx(s, abs=1e-9)
        assert bolt_group.tensions_of(group, *LOADS[:3, row]) == pytest.approx(t, abs=1e-9)
        two = bolt_group.tensions_of(stacked, *LOADS[:3, row])
        assert two == pytest.approx(np.stack([t, t[::-1]]), abs=1e-9)
        assert bolt_group.shears_of(stacked, *LOADS[3:, row])[1] == pytest.approx(shears[row, ::-1], abs=1e-9)
    assert bolt_group.tensions_of(group, *LOADS[:3].reshape(3, 2, 5)) == pytest.approx(rows.reshape(2, 5, 5))
    assert bolt_group.shears_of(group, *LOADS[3:].reshape(3, 2, 5)) == pytest.approx(shears.reshape(2, 5, 5, 2))
    pair = [loads[[0, 3]] for loads in LOADS]
    assert bolt_group.tensions_of(stacked, *pair[:3])[0] == pytest.approx(rows[0], abs=1e-9)
    assert bolt_group.shears_of(stacked, *pair[3:])[1] == pytest.approx(shears[3, ::-1], abs=1e-9)


LINE = np.array([[-0.1, 0.0], [0.1, 0.0]])
SQUARE = np.array([[-0.1, 0.1], [0.1, -0.1]])


def test_a_batch_of_patterns_names_the_one_that_cannot() -> None:
    """Two bolts on a diagonal hold M1 = M2 = 1 (along it), two on the x-axis leave the M1 of 1 N·m; one bolt leaves a torsion."""
    group = bolt_group.pattern(np.stack([SQUARE, LINE]), np.ones(2))
    (found,) = bolt_group.unable(group, (np.zeros(2), np.ones(2), np.ones(2)))
    assert found.rows.tolist() == [False, True]
    assert found.moment == pytest.approx([0.0, 1.0], abs=1e-12)
    with pytest.raises(ValueError, match=r"bolts in one line .* 1 N·m left over \(first in row 1 of 2\)"):
        bolt_group.require_balance(group, (np.zeros(2), np.ones(2), np.ones(2)))


def test_one_bolt_turns_nothing_but_by_its_own_shear() -> None:
    """A bolt at (0.1, 0.2) under V = (1, 2) acts with the moment 0.1·2 − 0.2·1 = 0, under (1, 3) with 0.1: torsion −0.1."""
    alone = bolt_group.pattern(np.array([[0.1, 0.2]]), np.ones(1))
    V1, V2 = np.ones(3), np.array([2.0, 3.0, 3.0])
    assert bolt_group.unable(alone, shear_torsion=(V1, V2, np.array([0.0, -0.1, -0.1]))) == ()
    (found,) = bolt_group.unable(alone, shear_torsion=(V1, V2, np.array([0.5, -0.1, 0.0])))
    assert found.rows.tolist() == [True, False, True]
    assert found.moment == pytest.approx([0.5, 0.0, 0.1], abs=1e-12)
    with pytest.raises(
        ValueError, match=r"bolts in one place cannot balance the shear and torsion: 0.5 N·m left over$"
    ):
        bolt_group.require_balance(alone, shear_torsion=(np.array(1.0), np.array(2.0), np.array(0.5)))
    # three bolts hold everything: nothing is asked of them
    assert bolt_group.unable(bolt_group.pattern(XY, WEIGHT), tuple(LOADS[:3]), tuple(LOADS[3:])) == ()


def test_what_a_pattern_cannot_balance_is_refused_and_nothing_else() -> None:
    """Bolts along x miss M1 alone; one bolt carries axial force and shear with the moments that its place gives them."""
    two = (LINE, np.ones(2), 1.0, 1.0)
    bolt_rows.greatest(3.0, 0.0, 0.2, 5.0, 7.0, 0.9, *two)
    with pytest.raises(ValueError, match="bolts in one line cannot balance the axial force and bending"):
        bolt_rows.greatest(3.0, 0.1, 0.2, 5.0, 7.0, 0.9, *two)
    one = (np.array([[0.1, 0.2]]), np.ones(1), 1.0, 1.0)
    # N = 3 at (0.1, 0.2): M2 = 0.3, M1 = −0.6; V = (5, 7) there: torsion −(0.1·7 − 0.2·5)
    held = np.array([3.0, -0.6, 0.3, 5.0, 7.0, 0.3])
    assert bolt_rows.greatest(*held, *one).tension == pytest.approx(3.0)
    for place in range(6):
        with pytest.raises(ValueError, match="bolts in one place cannot balance"):
            bolt_rows.greatest(*(held + np.eye(6)[place]), *one)
