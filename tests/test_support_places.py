"""Where supports, loads and masses stand beside a fitting built from a shape; what each option says of movement and friction."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize import Assessment, assess, parse_case
from anchorsize.cli import main
from tests.support_cases import joint, options, pulled, stiffness, still, support

X, Y, Z = np.eye(3)
GIVING = stiffness("1 MN/m", "1 MN/m", "1 MN*m/rad", "1 MN*m/rad")
ALLOW = "allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}\n"
HELD = "stiffness: 8 MN/m, allow: 15 kN"


def run(tmp_path: Path, text: str, *command: str) -> str:
    path = tmp_path / "case.yaml"
    path.write_text(text)
    return " ".join(CliRunner().invoke(main, [command[0], str(path), *command[1:]]).output.split())


def judged(text: str, option: str | None = None) -> Assessment:
    return assess(parse_case(text, "f"), option)


def said(result: Assessment) -> dict[str, str]:
    return {each.kind: each.message for each in result.warnings}


# -- beside a fitting whose centerline is known -----------------------------------------------------------------------


def shaped(parts: str, supports: str = "", external: str = "", masses: str = "", bore: str = "100 mm") -> str:
    """A shape along +x from the origin, with a joint that gives way at its inlet."""
    return (
        "case_file: 1\nfluid: {name: water, density: 1000 kg/m^3}\n"
        f"fitting:\n  shape: {{start: [0, 0, 0 m], direction: [1, 0, 0], bore: {bore}, wall: 4 mm, "
        f"material_density: 7850 kg/m^3, parts: [{parts}]}}\n{masses}joints:\n{joint(GIVING)}{ALLOW}"
        "cases: {still: {inlet: {flow_in: 0 L/s, pressure: 0 kPa}}}\n"
        f"{external}{supports}"
    )


STRAIGHT = "{kind: straight, length: 2 m}, {kind: cap}"
# out 1 m, a half turn 1 m wide, and back 1 m
HAIRPIN = (
    "{kind: elbow, turn: 90 deg, toward: [0, 1, 0], radius: 500 mm, before: 1 m}, "
    "{kind: elbow, turn: 90 deg, toward: [-1, 0, 0], radius: 500 mm, after: 1 m}, {kind: cap}"
)


@pytest.mark.parametrize(
    ("bore", "at", "away"),
    [
        ("100 mm", (1.0, 0.29, 0), None),  # three bores are 300 mm
        ("100 mm", (1.0, 0.31, 0), "310"),
        ("100 mm", (2.8, 0, 0), "800"),  # past the end, in air
        ("100 mm", (2.25, 0, 0), None),
        ("40 mm", (1.0, 0, 0.24), None),  # 250 mm, however small the bore
        ("40 mm", (1.0, 0, 0.26), "260"),
    ],
)
def test_a_support_off_the_centerline_is_doubtful(bore: str, at: tuple[float, ...], away: str | None):
    text = shaped(STRAIGHT, options(A=[support("strut", "S1", at, Z, HELD)]), bore=bore)
    found = {w.kind: w for w in judged(text).warnings}.get("support far off")
    assert (found is not None) == (away is not None)
    if found is not None:
        assert f"Strut 'S1' stands {away}" in found.message
        assert "from the fitting's centerline" in found.message
        assert found.doubtful


def test_the_middle_of_a_hairpin_is_in_air_although_it_is_between_its_ends():
    """The legs run 1 m apart: halfway between them everything of the pipe is 500 mm away; on the bend nothing is."""
    middle = said(judged(shaped(HAIRPIN, options(A=[support("strut", "S1", (0.5, 0.5, 0), Z, HELD)]))))
    assert "stands 500 mm from the fitting's centerline" in middle["support far off"]
    bend = (1.0 + 0.5 * math.sin(0.7), 0.5 - 0.5 * math.cos(0.7), 0.0)
    assert "support far off" not in said(judged(shaped(HAIRPIN, options(A=[support("strut", "S1", bend, Z, HELD)]))))


def test_the_centerline_runs_through_branches_to_capped_ends():
    tee = (
        "{kind: tee, length: 1 m, branch_bore: 100 mm, branch_length: 2 m, toward: [0, 1, 0], "
        "beyond: [{kind: cap}]}, {kind: straight, length: 3 m}, {kind: cap}"
    )
    line = parse_case(shaped(tee), "f").fitting.centerline
    assert line is not None
    ends = {tuple(np.round(end, 9).tolist()) for end in line.reshape(-1, 3)}
    assert ends >= {(0.0, 0.0, 0.0), (0.5, 2.0, 0.0), (4.0, 0.0, 0.0)}


def test_a_load_or_mass_off_the_centerline_stands_out():
    pull = "external: [{name: rope, force: [0, 10, 0 N], at: [1, 0, %s m]}]\n"
    assert "'rope' acts lies 400" in said(judged(shaped(STRAIGHT, external=pull % "0.4")))["place far off"]
    assert "place far off" not in said(judged(shaped(STRAIGHT, external=pull % "0.2")))
    hung = "  extra_masses: [{name: valve, mass: 10 kg, center: [1, %s, 0 m]}]\n"
    assert "'valve' lies 1500" in said(judged(shaped(STRAIGHT, masses=hung % "1.5")))["place far off"]
    assert "place far off" not in said(judged(shaped(STRAIGHT, masses=hung % "0.15")))


# -- movement of an option --------------------------------------------------------------------------------------------


def two_options() -> str:
    """2 kN down at 1 m; the strut of B is misplaced, 9 m off, and free in its gap."""
    near = support("strut", "SA", (0.5, 0, 0), Z, "stiffness: 8 MN/m, allow: 15 kN")
    far = support("strut", "SB", (9, 0, 0), Z, "stiffness: 8 MN/m, gap: 100 mm, allow: 15 kN")
    return still(options(bare=[], A=[near], B=[far]), pulled((-2000 * Z, X)), joint(GIVING), ALLOW)


def test_movement_of_an_option_is_at_points_of_its_own(tmp_path: Path):
    text = two_options()
    assert "moves at most 4.000 mm: the point of 'load 1'" in run(tmp_path, text, "check", "--option", "bare")
    assert "point of support 'SB'" not in run(tmp_path, text, "check", "--option", "A")
    # 2 kN / 1 MN/m and, 9 m away, 2 kN·m / 1 MN·m/rad
    assert "moves at most 20.00 mm: the point of support 'SB'" in run(tmp_path, text, "check", "--option", "B")


def test_options_are_compared_at_points_that_all_have(tmp_path: Path):
    path = tmp_path / "case.yaml"
    path.write_text(two_options())
    result: dict[str, Any] = json.loads(CliRunner().invoke(main, ["supports", str(path), "--json"]).output)
    moved = {name: each["movement_m"] for name, each in result["options"].items()}
    assert moved["bare"] == pytest.approx(0.004, rel=1e-9)  # 2 mm down and 1 m times 2 mrad
    assert moved["B"] == pytest.approx(0.004, rel=1e-9)
    assert moved["A"] < moved["bare"]


# -- friction that eases the joint ------------------------------------------------------------------------------------


def rubbed(friction: float, allow: str = ALLOW) -> str:
    """A weight on a rest, and a pull across the joint's axis there."""
    rest = support("rest", "P1", X, None, f"stiffness: 8 MN/m, friction: {friction}, allow: 15 kN")
    return still(options(A=[rest]), pulled((-3000 * Z, X), (2000 * Y, X)), joint(GIVING), allow)


def test_friction_that_eases_the_joint_is_told_by_how_much():
    """What is told is the difference between the file as it stands and the same file with friction: 0."""
    rough, smooth = judged(rubbed(0.3)), judged(rubbed(0.0))
    shear = [float(np.asarray(each.cases["still"].joints["main"].shear)) for each in (rough, smooth)]
    assert shear[0] < 0.9 * shear[1]
    message = said(rough)["friction relieves the joint"]
    assert (
        f"Friction at P1 eases joint 'main': it takes off {shear[1] - shear[0]:.1f} N of {shear[1]:.0f} N of shear ('still')"
        in message
    )
    assert "friction: 0" in message
    assert "friction relieves the joint" not in said(smooth)
    assert "holds by friction only" not in said(rough)


def test_what_is_told_is_the_case_with_most_on_the_joint_without_friction():
    """Not that with the greatest relief, which may leave less without friction than another case has."""

    def both(friction: float) -> str:
        text = rubbed(friction).replace(
            "  still: {inlet", "  pressed: {inlet: {flow_in: 0 L/s, pressure: 0 kPa}}\n  still: {inlet"
        )
        return text.replace("external:\n", "external:\n  - {name: down, force: [0, 0, -6000 N], at: [1, 0, 0 m], cases: [pressed]}\n"
            "  - {name: across, force: [0, 1500, 0 N], at: [1, 0, 0 m], cases: [still]}\n")  # fmt: skip

    rough, smooth = judged(both(0.3)), judged(both(0.0))
    size = {
        (name, each is rough): float(np.asarray(each.cases[name].joints["main"].bending))
        for each in (rough, smooth)
        for name in ("pressed", "still")
    }
    off = {name: size[name, False] - size[name, True] for name in ("pressed", "still")}
    assert off["pressed"] > off["still"]
    assert size["pressed", False] < size["still", False]
    message = said(rough)["friction relieves the joint"]
    assert f"{off['still']:.1f} N·m of {size['still', False]:.0f} N·m of bending ('still')" in message


def test_what_holds_only_by_friction_is_in_the_headline(tmp_path: Path):
    def shear(result: Assessment) -> Any:
        return next(c for c in result.cases["still"].checks if c.check == "bolt shear")

    between = 0.5 * sum(float(shear(judged(rubbed(f))).demand) for f in (0.0, 0.3))
    text = rubbed(0.3, f"allow: {{bolt_tension: 600 MPa, bolt_shear: {between!r} Pa}}\n")
    assert bool(shear(judged(text)).holds)
    assert not bool(shear(judged(text.replace("friction: 0.3", "friction: 0"))).holds)
    for command in ("check", "supports"):
        out = run(tmp_path, text, command)
        head = out[: out.index("Rests on the allowables")]
        assert "Holds only by friction at P1: without it " in head
        assert "of 'main' in 'still'" in head


# -- posts and turned supports ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("length", "slender"), [(2.55, False), (2.6, True)])
def test_a_post_over_the_slenderness_that_codes_prefer(length: float, slender: bool):
    """A tube has r = √(D² + d²)/4, here 25.8 mm: 2 × 2.55 m is 197.6 of it, 2 × 2.6 m 201.5."""
    radius = math.hypot(76.1, 69.7) / 4e3
    post = (
        f"section: {{outside: 76.1 mm, wall: 3.2 mm}}, length: {length} m, modulus: 205 GPa, "
        "effective_length_factor: 2, allow: {stress: 120 MPa, buckling_factor: 3}"
    )
    found = said(
        judged(still(options(A=[support("rest", "P1", X, None, post)]), pulled((-500 * Z, X)), joint(GIVING), ALLOW))
    )
    assert ("slender post" in found) is slender is (2 * length / radius > 200)
    if slender:
        assert f"KL/r = {2 * length / radius:.3g} (K = 2)" in found["slender post"]
        assert "from memory" in found["slender post"]


def test_an_option_with_a_support_turned_round_is_best_only_as_written(tmp_path: Path):
    def text(toward: np.ndarray) -> str:
        rest = support("rest", "S1", X, toward, HELD)
        return still(options(bare=[], A=[rest]), pulled((900 * Z, X)), joint(GIVING), ALLOW)

    out = run(tmp_path, text(-Z), "supports")
    head = out[: out.index("Rests on the allowables")]
    assert "seems turned the wrong way: turn toward round, unless it is to hold the fitting down." in head
    assert "Greatest margin, as written: 'A'" in head
    upright = run(tmp_path, text(Z).replace("[0.0, 0.0, 900.0 N]", "[0.0, 0.0, -900.0 N]"), "supports")
    assert "Greatest margin: 'A'" in upright
    assert "as written" not in upright
