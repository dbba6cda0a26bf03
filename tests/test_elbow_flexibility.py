"""Elbows of an arm bend more easily than straight pipe: against virtual work along the true arc, integrated here.

The piping and its figures are invented. Flexibility factors: ASME B31.3 Appendix D, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from anchorsize.assessment import Assessment, Finding, assess
from anchorsize.assessment.arms import arm_to, as_beams
from anchorsize.casefile import parse_case
from anchorsize.mechanics.arm import arm_flexibility
from anchorsize.mechanics.elbow import bend_characteristic, flexibility_factor, miter_characteristic

X, Y, Z = np.eye(3)
QUARTER = np.pi / 2.0

OUTSIDE, WALL, RADIUS = 0.4064, 0.0063, 0.610
BORE, MEAN = OUTSIDE - 2.0 * WALL, (OUTSIDE - WALL) / 2.0
BEFORE, AFTER = 0.05, 0.6
MODULUS, BEHIND, STRUT = 205e9, 1.0, 100e6
AREA = np.pi / 4.0 * (OUTSIDE**2 - BORE**2)
EI = MODULUS * np.pi / 64.0 * (OUTSIDE**4 - BORE**4)
FREE = 1.65 * MEAN**2 / (WALL * RADIUS)
"""Flexibility factor of the elbow without flanges: 17.2."""

FLANGED = FREE * (WALL * RADIUS / MEAN**2) ** (1.0 / 6.0)
HELD_AT = np.array([0.66, 1.2, 0.0])


# -- virtual work, on its own -----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Way:
    """Short lengths (n,) of a way, their middles (n, 3), directions (n, 3) and flexibility factors (n,)."""

    lengths: np.ndarray
    places: np.ndarray
    along: np.ndarray
    factors: np.ndarray

    def work(self, one: np.ndarray, other: np.ndarray, stiff: float = EI) -> float:
        """∫ (k M·M′ across + (1 + ν) M·M′ along) ds/EI of two moments (n, 3) asked of it, ν = 0.3."""
        twist = np.sum(one * self.along, axis=1) * np.sum(other * self.along, axis=1)
        bend = np.sum(one * other, axis=1) - twist
        return float(np.sum((self.factors * bend + 1.3 * twist) * self.lengths) / stiff)

    def flexibility(self, at: np.ndarray, stiff: float = EI) -> np.ndarray:
        """Movements of a point by unit forces there (3, 3)."""
        asked = [np.cross(at - self.places, unit) for unit in np.eye(3)]
        return np.array([[self.work(one, other, stiff) for other in asked] for one in asked])


def line(start: np.ndarray, end: np.ndarray, factor: float = 1.0, parts: int = 400) -> Way:
    shares = (np.arange(parts) + 0.5)[:, None] / parts
    length = np.linalg.norm(end - start)
    along = np.tile((end - start) / length, (parts, 1))
    return Way(np.full(parts, length / parts), start + shares * (end - start), along, np.full(parts, factor))


def arc(start: np.ndarray, radius: float, turn: float, factor: float, along=X, toward=Y, parts: int = 2000) -> Way:
    angle = ((np.arange(parts) + 0.5) * turn / parts)[:, None]
    places = start + radius * (np.sin(angle) * along + (1.0 - np.cos(angle)) * toward)
    directions = np.cos(angle) * along + np.sin(angle) * toward
    return Way(np.full(parts, radius * turn / parts), places, directions, np.full(parts, factor))


def joined(*ways: Way) -> Way:
    return Way(*(np.concatenate([getattr(way, name) for way in ways]) for name in Way.__dataclass_fields__))


def elbow_way(factor: float, before: float = BEFORE, up_to: float = HELD_AT[1]) -> Way:
    """From the joint at the origin along x, a quarter turn toward y, and on to a height y."""
    corner = (before + RADIUS) * X
    return joined(
        line(0 * X, before * X), arc(before * X, RADIUS, QUARTER, factor), line(corner + RADIUS * Y, corner + up_to * Y)
    )


# -- the file ---------------------------------------------------------------------------------------------------------

PLAIN = np.eye(3)
PUSHED, BEYOND = 450e3, 0.1297
"""Pressure [Pa], and the effective area of the outlet [m²], on which it pushes along −y."""

ELBOW = f"kind: elbow, turn: 90 deg, radius: {RADIUS} m, before: {BEFORE} m, after: {AFTER} m"


def vector(of: np.ndarray, unit: str = "") -> str:
    return f"[{', '.join(f'{part:.15f}' for part in of)}{unit}]"


def text(shape: str = ELBOW, at: np.ndarray = HELD_AT, wall: bool = True, turn: np.ndarray = PLAIN) -> str:
    pipe = f"wall: {WALL} m, material_density: 7850 kg/m^3, " if wall else ""
    return f"""\
case_file: 1
title: elbow behind a closed valve
fluid: {{name: water, temperature: 15 degC}}
fitting:
  shape: {{start: [0, 0, 0 m], direction: {vector(turn @ X)}, toward: {vector(turn @ Y)}, bore: {BORE} m, {pipe}{shape}}}
joints:
  main:
    at: inlet
    reference: [0, 0, 1]
    bolts: {{count: 16, size: M27, circle: 525 mm}}
    pipe_behind: {{outside: {OUTSIDE} m, wall: {WALL} m, length: {BEHIND} m, modulus: 205 GPa, poisson: 0.3}}
cases:
  closed: {{inlet: {{flow_in: 0 L/s, pressure: {PUSHED} Pa}}, outlet: {{pressure: {PUSHED} Pa}}}}
supports:
  strut: [{{kind: strut, name: S1, at: {vector(turn @ at, " m")}, toward: {vector(turn @ X)}, stiffness: 100 MN/m, allow: {{force: 90 kN}}}}]
beyond: {{outlet: {{effective_area: {BEYOND} m^2}}}}
"""


def judged(*args, **kwargs) -> Assessment:
    return assess(parse_case(text(*args, **kwargs), "f"))


def note(found: Assessment) -> Finding:
    (told,) = [each for each in found.warnings if each.kind == "limber arm"]
    return told


def flexibility(found: Assessment) -> np.ndarray:
    (support,) = found.study.supports["strut"]
    return arm_to(found.study, found.study.joints["main"], support.at).flexibility()


# -- the factors ------------------------------------------------------------------------------------------------------


def test_the_factor_of_a_thin_elbow_by_hand():
    """h = 6.3·610/200.05² = 0.0960; 1.65/h = 17.2, with a flange at one end times 0.0960^(1/6) = 0.677, at both 0.0960^(1/3) = 0.458."""
    h = bend_characteristic(0.610, 0.4064, 0.0063)
    assert h == pytest.approx(0.0960, rel=1e-3)
    assert flexibility_factor(h) == pytest.approx(17.18, rel=1e-3)
    assert flexibility_factor(h, flanged=1) == pytest.approx(17.18 * 0.6767, rel=1e-3)
    assert flexibility_factor(h, flanged=2) == pytest.approx(17.18 * 0.4579, rel=1e-3)


def test_a_thick_elbow_bends_as_straight_pipe():
    """DN 50, 11 mm thick: h = 11·76.2/24.65² = 1.38; 1.65/1.38 = 1.2, and from h = 1.65 on nothing is left."""
    assert flexibility_factor(bend_characteristic(0.0762, 0.0603, 0.011)) == pytest.approx(1.196, rel=1e-3)
    assert list(flexibility_factor([1.65, 2.0, 50.0])) == [1.0, 1.0, 1.0]
    assert list(flexibility_factor([2.0, 50.0], mitered=True, flanged=1)) == [1.0, 1.0]


@given(st.floats(0.01, 0.6))
def test_twice_the_characteristic_halves_the_factor(h: float):
    assert flexibility_factor(2.0 * h) == pytest.approx(flexibility_factor(h) / 2.0)
    assert flexibility_factor(2.0 * h, mitered=True) == pytest.approx(
        flexibility_factor(h, mitered=True) / 2.0 ** (5.0 / 6.0)
    )


def test_miters_close_and_far_apart_by_hand():
    """r 0.2, t 0.008, θ 11.25°: s = 2·0.6·tan θ = 0.2387 is under r (1 + tan θ) = 0.2398; R 0.7 gives 0.2785, over it."""
    theta = np.radians(11.25)
    assert miter_characteristic(0.6, theta, 0.408, 0.008, 4) == pytest.approx(0.008 * 0.6 / 0.04)
    far = 0.5 * (1.0 + 5.02734) * 0.008 / 0.2
    assert miter_characteristic(0.7, theta, 0.408, 0.008, 4) == pytest.approx(far, rel=1e-5)
    assert miter_characteristic(0.6, theta, 0.408, 0.008, 1) == pytest.approx(far, rel=1e-5)
    assert flexibility_factor(far, mitered=True) == pytest.approx(1.52 / 0.120547 ** (5 / 6), rel=1e-4)


@given(st.floats(0.05, 0.7))
def test_the_two_rules_for_miters_meet_where_one_gives_way_to_the_other(theta: float):
    """At s = r (1 + tan θ) both have one effective radius: s/(2 tan θ) = r (1 + cot θ)/2."""
    mean = 0.2
    meet = mean * (1.0 + np.tan(theta)) / (2.0 * np.tan(theta))
    near, far = (miter_characteristic(meet * share, theta, 0.408, 0.008, 3) for share in (1 - 1e-9, 1 + 1e-9))
    assert near == pytest.approx(far, rel=1e-8)


@pytest.mark.parametrize(
    ("radius", "outside", "wall"), [(0.0, 0.4, 0.01), (0.6, 0.4, 0.0), (0.6, 0.01, 0.01), (-1.0, 0.4, 0.01)]
)
def test_impossible_bends_are_refused(radius: float, outside: float, wall: float):
    with pytest.raises(ValueError, match="must be"):
        bend_characteristic(radius, outside, wall)
    with pytest.raises(ValueError, match="must be"):
        miter_characteristic(radius, 0.2, outside, wall, 2)


def test_impossible_factors_are_refused():
    with pytest.raises(ValueError, match="must be"):
        flexibility_factor(0.0)
    with pytest.raises(ValueError, match="must be"):
        miter_characteristic(0.6, 0.0, 0.4, 0.01, 2)
    with pytest.raises(ValueError, match="must be"):
        arm_flexibility([0 * Z], [Z], Z, [[0.1, 0.1]], 0.01, MODULUS, [0.0])


# -- the arm ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("factor", [1.0, 4.0])
def test_a_factor_multiplies_bending_and_leaves_torsion(factor: float):
    """A crank a, b of one factor: k (a³ + b³)/3EI + a b²/GJ across both, k (b³/3 + a b²)/EI along the first; GJ = EI/1.3."""
    a, b = 0.9, 0.5
    corner, end = a * Z, a * Z + b * X
    found = arm_flexibility([0 * Z, corner], [corner, end], end, [[OUTSIDE] * 2] * 2, WALL, MODULUS, [factor] * 2)
    assert found[1, 1] == pytest.approx((factor * (a**3 + b**3) / 3 + 1.3 * a * b**2) / EI, rel=1e-9)
    assert found[2, 2] == pytest.approx(factor * (b**3 / 3 + a * b**2) / EI, rel=1e-9)


@pytest.mark.parametrize(("before", "factor"), [(BEFORE, FLANGED), (0.7, FLANGED), (0.9, FREE)])
def test_an_elbow_in_its_plane_and_out_of_it(before: float, factor: float):
    """Two bores are 0.788 m: up to there the flange at the joint keeps the elbow round. Chords in place of the arc: 0.2 %."""
    at = np.array([before + RADIUS, 1.2, 0.0])
    found = judged(ELBOW.replace(f"before: {BEFORE}", f"before: {before}"), at)
    expected = elbow_way(factor, before).flexibility(at)
    assert flexibility(found) == pytest.approx(expected, rel=3e-3, abs=1e-3 * expected.max())
    flange = " (one end flanged)" if factor == FLANGED else ""
    assert f"modulus 205 GPa; elbow with flexibility factor k {factor:.3g}{flange}." in note(found).message


def test_a_thick_elbow_in_an_arm_is_straight_pipe_along_an_arc():
    """Bore 393.8 mm and 80 mm thick: r 236.9 mm, h = 80·2000/236.9² = 2.85."""
    shape = ELBOW.replace(f"radius: {RADIUS}", "radius: 2.0")
    at = np.array([2.05, 2.5, 0.0])
    thick = text(shape, at).replace(f"wall: {WALL} m, material", "wall: 0.08 m, material")
    way = joined(
        line(0 * X, BEFORE * X),
        arc(BEFORE * X, 2.0, QUARTER, 1.0),
        line(np.array([2.05, 2.0, 0]), np.array([2.05, 2.5, 0])),
    )
    stiff = MODULUS * np.pi / 64.0 * ((BORE + 0.16) ** 4 - BORE**4)
    expected = way.flexibility(at, stiff)
    found = flexibility(assess(parse_case(thick, "f")))
    assert found == pytest.approx(expected, rel=3e-3, abs=1e-3 * expected.max())


def by_hand(factor: float | None) -> tuple[float, float, float]:
    """Force of the strut on the fitting along x, moment at the joint about z, and the arm's give over the joint's, with pressure alone.

    Force method: pT at the outlet along −y and p A at the inlet along +x, the pipe behind a cantilever that takes both (its pull L/EA
    too), the arm by virtual work; None of a rigid arm. Weights act out of the plane.
    """
    push, pull = PUSHED * BEYOND, PUSHED * np.pi / 4.0 * BORE**2
    outlet = np.array([BEFORE + RADIUS, RADIUS + AFTER, 0.0])
    way = elbow_way(1.0 if factor is None else factor)
    behind = line(-BEHIND * X, 0 * X)

    def about(of: Way, force: np.ndarray, at: np.ndarray) -> np.ndarray:
        return np.cross(at - of.places, force)

    parts = [behind] if factor is None else [behind, way]
    gives = sum(each.work(about(each, X, HELD_AT), about(each, X, HELD_AT)) for each in parts)
    gives += BEHIND / (MODULUS * AREA)
    moved = sum(each.work(about(each, X, HELD_AT), about(each, -push * Y, outlet)) for each in parts)
    moved += pull * BEHIND / (MODULUS * AREA)
    force = -moved / (gives + 1.0 / STRUT)
    joint = behind.work(about(behind, X, HELD_AT), about(behind, X, HELD_AT)) + BEHIND / (MODULUS * AREA)
    arm = way.work(about(way, X, HELD_AT), about(way, X, HELD_AT))
    return force, -push * outlet[0] - force * HELD_AT[1], arm / joint


def test_a_thin_elbow_turns_the_moment_at_the_joint_and_the_note_to_doubtful():
    """As straight pipe the arm gives 0.75 times as much as the joint and was told without doubt; it gives 7.7 times as much."""
    assert by_hand(1.0)[2] == pytest.approx(0.755, rel=0.01)
    assert by_hand(FLANGED)[2] == pytest.approx(7.7, rel=0.01)
    found = judged()
    rigid = found.cases["closed"]
    force, moment, _ = by_hand(None)
    assert float(rigid.supports["S1"].push) == pytest.approx(force, rel=2e-3)
    assert float(rigid.joints["main"].bending1) == pytest.approx(moment, rel=2e-3)
    beams = as_beams(found.study, found.study.supports["strut"], found.cases)
    assert beams is not None
    force, turned, _ = by_hand(FLANGED)
    assert float(beams["closed"].supports["S1"].push) == pytest.approx(force, rel=3e-3)
    assert float(beams["closed"].joints["main"].bending1) == pytest.approx(turned, rel=6e-3)
    assert turned * moment < 0.0
    told = note(found)
    assert told.doubtful
    gives = elbow_way(FLANGED).flexibility(HELD_AT)[0, 0]
    rest = gives / by_hand(FLANGED)[2] + 1.0 / STRUT
    assert f"bends {gives / rest:.2g} times as much as joint and support give way" in told.message
    assert "N·m the other way in place of" in told.message
    assert "elbow with flexibility factor k 11.6 (one end flanged)." in told.message


def test_the_note_is_that_of_the_fitting_turned_in_plan():
    straight = note(judged())
    for degrees in (30.0, 90.0, 211.0):
        turned = note(judged(turn=Rotation.from_euler("z", degrees, degrees=True).as_matrix()))
        assert turned == straight


def test_an_elbow_is_kept_round_by_the_flange_of_the_joint_at_its_other_end_too():
    """The same pipe from its other end: inlet and outlet change places, and the flexibility stays."""
    far = HELD_AT + 0.01 * Y
    backward = text(at=far).replace("start: [0, 0, 0 m]", "start: [0.66, 1.21, 0 m]").replace("at: inlet", "at: outlet")
    backward = backward.replace(f"direction: {vector(X)}", "direction: [0, -1, 0]").replace(
        f"toward: {vector(Y)}, bore", "toward: [-1, 0, 0], bore"
    )
    backward = backward.replace(f"before: {BEFORE} m, after: {AFTER} m", f"before: {AFTER} m, after: {BEFORE} m")
    backward = backward.replace("beyond: {outlet", "beyond: {inlet")
    found, other = assess(parse_case(backward, "f")), judged(at=far)
    assert flexibility(found) == pytest.approx(flexibility(other), rel=1e-6, abs=1e-15)
    assert "k 11.6 (one end flanged)." in note(found).message


def test_only_elbows_on_the_way_to_the_support_are_named():
    found = judged(ELBOW.replace(f"before: {BEFORE}", "before: 1.5"), np.array([1.4, 0.0, 0.0]))
    assert "elbow" not in " ".join(arm_words(found))
    way = line(0 * X, 1.4 * X)
    assert flexibility(found) == pytest.approx(way.flexibility(1.4 * X), rel=1e-4, abs=1e-15)


def arm_words(found: Assessment) -> list[str]:
    return [arm_to(found.study, found.study.joints["main"], each.at).words for each in found.study.supports["strut"]]


def test_an_elbow_of_unknown_wall_has_that_of_the_arm():
    """Its bore and the wall of the pipe behind, which is that of the shape here."""
    assert "k 11.6 by that wall (one end flanged)." in note(judged(wall=False)).message


def test_an_arm_without_a_shape_is_said_to_be_straight():
    listed = text().replace(text().split("fitting:\n")[1].split("joints:\n")[0], "")
    listed = listed.replace(
        "fitting:\n",
        f"openings:\n  inlet: {{center: [0, 0, 0 m], outward: [-1, 0, 0], bore: {BORE} m}}\n"
        f"  outlet: {{center: [0.66, 1.21, 0 m], outward: [0, 1, 0], bore: {BORE} m}}\n",
    )
    assert (
        "modulus 205 GPa, straight. An elbow on the way bends more easily."
        in note(assess(parse_case(listed, "f"))).message
    )


def test_two_elbows_alike_are_told_once_and_branches_keep_their_own():
    """An S of two quarter turns, the second after 1 m; and a tee whose branch turns, drawn after the run."""
    turns = f"kind: elbow, turn: 90 deg, radius: {RADIUS} m"
    shape = f"parts: [{{kind: straight, length: 1 m}}, {{{turns}, toward: [0, 1, 0], after: 1 m}}, {{{turns}, toward: [1, 0, 0], after: 1 m}}]"
    chain = text(shape, np.array([2.9, 2.22, 0.0])).replace(f"toward: {vector(Y)}, bore", "bore")
    chain = chain.replace(f"toward: {vector(X)}, stiffness", "toward: [0, 1, 0], stiffness")
    assert "GPa; 2 times elbow with flexibility factor k 17.2." in note(assess(parse_case(chain, "f"))).message
    run = "{kind: elbow, turn: 90 deg, radius: 610 mm, toward: [0, 1, 0], after: 0.2 m}"
    branch = "branch_bore: 193.7 mm, branch_wall: 6.3 mm, branch_length: 0.5 m, toward: [0, 0, 1]"
    beyond = "beyond: [{kind: elbow, turn: 90 deg, radius: 305 mm, toward: [1, 0, 0], before: 0.1 m, after: 0.3 m}]"
    tee = text(f"parts: [{run}, {{kind: tee, length: 1 m, {branch}, {beyond}}}]").replace(
        f"toward: {vector(Y)}, bore", "bore"
    )
    tee = tee.replace(
        "outlet: {pressure: 450000.0 Pa}}",
        "outlet: {pressure: 450000.0 Pa}, branch: {flow_out: 0 L/s, pressure: 450000.0 Pa}}",
    )
    fitting = parse_case(tee, "f").fitting
    on_run, on_branch = fitting.bends
    assert (on_run.radius, on_branch.radius) == (0.610, 0.305)
    for bend, width in ((on_run, OUTSIDE), (on_branch, 0.2063)):
        chords = fitting.centerline[bend.first : bend.end]
        assert np.linalg.norm(chords[:, 1] - chords[:, 0], axis=-1).sum() == pytest.approx(
            float(bend.radius) * QUARTER, rel=1e-3
        )
        assert fitting.widths[bend.first : bend.end] == pytest.approx(width)


def test_a_reducing_elbow_counts_by_its_wider_end_and_thinner_wall():
    """From bore 393.8 and wall 8 mm to 293.8 and 6: r = (409.8 − 6)/2 = 201.9, h = 6·610/201.9² = 0.0898, k 18.4."""
    shape = ELBOW.replace("kind: elbow", "kind: reducing_elbow, end_bore: 293.8 mm, end_wall: 6 mm").replace(
        "before: 0.05", "before: 1"
    )
    reducing = text(shape, np.array([1.61, 1.2, 0.0])).replace(f"wall: {WALL} m, material", "wall: 8 mm, material")
    assert "elbow with flexibility factor k 18.4." in note(assess(parse_case(reducing, "f"))).message


# -- mitered elbows ---------------------------------------------------------------------------------------------------


def mitered_way(cuts: int, radius: float, before: float, up_to: float, factor: float, reach: float) -> Way:
    """A quarter turn of straight pieces that touch an arc; within ``reach`` of a cut they have the factor."""
    tilt = QUARTER / (2.0 * cuts)
    half = radius * np.tan(tilt)
    at, turned, ways = before * X, 0.0, [line(0 * X, before * X)]
    for piece in range(cuts + 1):
        along = np.array([np.cos(turned), np.sin(turned), 0.0])
        length = half * (1 + (0 < piece < cuts))
        part = line(at, at + length * along, parts=4000)
        from_start = (np.arange(4000) + 0.5) / 4000 * length
        near = (from_start < reach) & (piece > 0) | (length - from_start < reach) & (piece < cuts)
        ways.append(Way(part.lengths, part.places, part.along, np.where(near, factor, 1.0)))
        at, turned = at + length * along, turned + 2.0 * tilt
    return joined(*ways, line(at, at + (up_to - at[1]) * Y))


@pytest.mark.parametrize(
    ("cuts", "radius", "apart"), [(5, 0.610, False), (3, 0.9, True), (1, 0.610, True), (2, 3.0, True)]
)
def test_a_mitered_elbow_bends_about_its_cuts(cuts: int, radius: float, apart: bool):
    """Closely spaced all of it; else R₁ tan θ to both sides of each cut, R₁ = r (1 + cot θ)/2."""
    before, theta = 1.0, QUARTER / (2 * cuts)
    assert apart == (cuts == 1 or 2 * radius * np.tan(theta) >= MEAN * (1 + np.tan(theta)))
    effective = MEAN * (1 + 1 / np.tan(theta)) / 2 if apart else radius
    factor = 1.52 / (WALL * effective / MEAN**2) ** (5 / 6)
    at = np.array([before + radius, radius + 0.8, 0.0])
    shape = f"kind: mitered_elbow, turn: 90 deg, cuts: {cuts}, radius: {radius} m, before: {before} m, after: 0.9 m"
    found = judged(shape, at)
    way = mitered_way(cuts, radius, before, at[1], factor, effective * np.tan(theta) * (1 + 1e-9))
    expected = way.flexibility(at)
    assert flexibility(found) == pytest.approx(expected, rel=2e-3, abs=1e-3 * expected.max())
    assert f"mitered elbow with flexibility factor k {factor:.3g}." in note(found).message


def test_a_single_cut_of_short_pieces_keeps_all_of_its_turning():
    """20° in one cut: R₁ tan 10° = 0.118 m on each side, pieces of 0.6 tan 10° = 0.106 m; the end turns by (k − 1)·2·R₁ tan θ/EI more."""
    shape = "kind: mitered_elbow, turn: 20 deg, radius: 600 mm, before: 2 m, after: 2 m"
    found = judged(shape, np.array([3.5, 0.5, 0.0]))
    arm = arm_to(found.study, found.study.joints["main"], np.array([3.5, 0.5, 0.0]))
    theta = np.radians(10.0)
    effective = MEAN * (1.0 + 1.0 / np.tan(theta)) / 2.0
    assert effective > 0.6
    factor = 1.52 / (WALL * effective / MEAN**2) ** (5 / 6)
    lengths = np.linalg.norm(arm.lines[:, 1] - arm.lines[:, 0], axis=-1)
    assert np.sum((arm.factors - 1.0) * lengths) == pytest.approx((factor - 1.0) * 2.0 * effective * np.tan(theta))
