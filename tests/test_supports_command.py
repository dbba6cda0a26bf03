"""The command that compares support options: what it prints, ranks, sizes and refuses, against single checks of single files."""

from __future__ import annotations

import csv
import io
import json
import math
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize import StudyError, assess, parse_case, read_case
from anchorsize.cli import main
from anchorsize.cli.supports import supports as command
from anchorsize.studies.support_materials import materials
from anchorsize.studies.support_size import size_supports
from anchorsize.studies.supports import compare
from tests.support_cases import guided, joint, options, pulled, stiffness, still, support

EXAMPLE = Path(__file__).parents[1] / "examples" / "supported_arm.yaml"
ALLOW = "allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}\n"
GIVING = stiffness("40 MN/m", "2 MN/m", "60 kN*m/rad", "60 kN*m/rad")
X, Y, Z = np.eye(3)


def run(*words: object):
    """The command itself."""
    return CliRunner().invoke(command, [str(word) for word in words])


def saved(tmp_path: Path, text: str) -> Path:
    """A file of that text."""
    path = tmp_path / "file.yaml"
    path.write_text(text)
    return path


def checked(path: Path, *words: str):
    """What ``check --json`` says."""
    return json.loads(CliRunner().invoke(main, ["check", str(path), "--json", *words]).output)


def arm(**named: list[str]) -> str:
    """A load of 4 kN, 1 m out from a joint that gives."""
    return still(options(**named), pulled((-4000 * Z, X)), joint(GIVING), ALLOW)


def rest(terms: str = "stiffness: 5 MN/m, allow: 9 kN", at=(1, 0, 0)) -> str:
    """A rest under the load."""
    return support("rest", "R", at, None, terms)


@pytest.fixture(scope="module")
def example() -> dict:
    """The example's machine output."""
    result = run(EXAMPLE, "--json")
    assert result.exit_code == 0
    return json.loads(result.output)


# -- what it prints ---------------------------------------------------------------------------------------------------


def test_each_option_is_what_check_says_of_it(example: dict):
    """The comparison and single checks of the same file are two ways to one result."""
    for name, option in example["options"].items():
        single = checked(EXAMPLE, "--option", name)
        assert single["option"] == name
        used = [c for case in single["cases"].values() for c in case["checks"]]
        assert len(option["failing"]) == sum(not c["holds"] for c in used)
        bolts = max(c["utilization"] for c in used if c["bolt"] is not None)
        assert option["governing_bolt"]["utilization"] == bolts
        on_joint = {case: r["joints"]["main"] for case, r in single["cases"].items()}
        assert option["joint_bending_Nm"] == max(each["bending_Nm"] for each in on_joint.values())
        moments = {case: math.hypot(each["bending_Nm"], each["torsion_Nm"]) for case, each in on_joint.items()}
        assert option["joint_moment_Nm"] == pytest.approx(max(moments.values()), rel=1e-12)
        assert moments[option["joint_moment_case"]] == max(moments.values())
        for held, said in option["supports"].items():
            along = {case: r["supports"][held]["along_N"] for case, r in single["cases"].items()}
            assert said["least_N"] == min(along.values())
            assert said["greatest_N"] == max(along.values())
            assert said["greatest_case"] == max(along, key=lambda case: along[case])
            states = {case: r["supports"][held]["state"] for case, r in single["cases"].items()}
            assert said["states"] == states


def test_machine_output_holds_what_the_text_says(example: dict):
    text = run(EXAMPLE).output
    assert example["format"] == "anchorsize/1"
    assert f"Greatest margin: '{example['best']}'" in text
    assert f"'{example['cheapest']}'" in text
    assert example["rests_on"].split(":")[0] in " ".join(text.split())
    for name in example["options"]:
        assert f"Option: {name}" in text
    assert all(len(line) <= 80 for line in text.splitlines() if "  " not in line.strip())


def test_csv_has_a_row_for_every_option_case_and_support(example: dict):
    rows = list(csv.DictReader(io.StringIO(run(EXAMPLE, "--csv").output)))
    for name, option in example["options"].items():
        mine = [row for row in rows if row["option"] == name]
        assert {row["verdict"] for row in mine} == {option["verdict"]}
        assert len(mine) == 4 * max(len(option["supports"]), 1)
        for held, said in option["supports"].items():
            values = [float(row["along_N"]) for row in mine if row["support"] == held]
            assert max(values) == said["greatest_N"]
            assert [row["state"] for row in mine if row["support"] == held] == list(said["states"].values())
    one = next(row for row in rows if row["support"] == "S2")
    assert [float(one[f"F{axis}_N"]) for axis in "xyz"] == pytest.approx([0, float(one["along_N"]), 0])


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_picture_is_one_and_the_same_every_time(tmp_path: Path, kind: str):
    file = saved(tmp_path, arm(none=[], A=[rest()], weak=[rest("stiffness: 5 MN/m, allow: 10 N")]))
    first, second = tmp_path / f"a.{kind}", tmp_path / f"b.{kind}"
    for path in (first, second):
        assert run(file, "--picture", path).exit_code == 0
    assert first.read_bytes() == second.read_bytes()
    if kind == "png":
        assert first.read_bytes().startswith(b"\x89PNG\r\n\x1a\n")
    else:
        assert ET.fromstring(first.read_text()).tag.endswith("svg")
    again = run(file, "--picture", first)
    assert again.exit_code == 2
    assert "--force" in again.output
    assert run(file, "--picture", first, "--force").exit_code == 0


def test_picture_and_formats_that_are_refused(tmp_path: Path):
    assert run(EXAMPLE, "--picture", tmp_path / "a.pdf").exit_code == 2
    both = run(EXAMPLE, "--json", "--csv")
    assert both.exit_code == 2
    assert "choose one" in both.output


def test_odd_names_break_nothing(tmp_path: Path):
    text = arm(A=[rest()]).replace("  A:", "  '$x^$ & <b> \"q\" %':").replace("name: R,", "name: 'R$1_$ <&>',")
    path = saved(tmp_path, text.replace("title: supports", "title: '<i>$\\alpha$</i> & co'"))
    result = run(path, "--picture", tmp_path / "a.svg")
    assert result.exit_code == 0
    assert '$x^$ & <b> "q" %' in result.output
    drawn = "".join(ET.fromstring((tmp_path / "a.svg").read_text()).itertext())
    assert "R$1_$" in drawn
    assert json.loads(run(path, "--json").output)["options"]['$x^$ & <b> "q" %']["verdict"] == "holds"


# -- which is best ----------------------------------------------------------------------------------------------------


def test_best_has_the_least_utilization_of_what_supports_change(example: dict):
    """Recomputed from single checks: checks alike in every option left out, the least of the greatest wins."""
    single = {name: checked(EXAMPLE, "--option", name) for name in example["options"]}
    tables = {
        name: {(case, c["check"], c["where"]): c for case, r in out["cases"].items() for c in r["checks"]}
        for name, out in single.items()
    }
    first = next(iter(tables.values()))
    alike = {
        key
        for key, check in first.items()
        if all(
            key in t and math.isclose(t[key]["utilization"], check["utilization"], rel_tol=1e-9)
            for t in tables.values()
        )
    }
    assert {tuple(each.values()) for each in example["not_ranking"]} == alike
    assert any(check == "gasket seating" for _, check, _ in alike)
    holding = {n: t for n, t in tables.items() if all(c["holds"] for c in t.values())}
    worst = {n: max(c["utilization"] for key, c in t.items() if key not in alike) for n, t in holding.items()}
    assert example["best"] == min(worst, key=lambda name: worst[name])


def test_checks_of_the_joints_that_no_option_has_are_named_once(tmp_path: Path):
    """As ``check`` lists them for each option; what belongs to a support stands in the column of its own."""
    path = saved(tmp_path, arm(A=[rest()], B=[rest("stiffness: 5 MN/m, allow: 9 kN", (0.5, 0, 0))]))
    words = " ".join(run(path).output.split())
    told = re.search(
        r"NOT CHECKED at the joints in any option, for want of input: (.*?); check says what to supply", words
    )
    assert told
    assert words.count("NOT CHECKED at the joints") == 1
    for name in ("A", "B"):
        listed = checked(path, "--option", name)["not_checked"]
        assert set(re.split(", | and ", told[1])) == {item["check"] for item in listed if item["where"] != "R"}
    assert "its checks" in words


def test_cheapest_counts_supported_options_that_hold(tmp_path: Path):
    named = {
        "good": [rest("stiffness: 5 MN/m, allow: 9 kN, cost: 300")],
        "cheap": [rest("stiffness: 5 MN/m, allow: 8 kN, cost: 120"), support("strut", "S", X, Y, "stiffness: 1 MN/m, allow: 1 kN, cost: 50")],
        "weak": [rest("stiffness: 5 MN/m, allow: 10 N, cost: 1")],
        "unpriced": [rest("stiffness: 5 MN/m, allow: 9 kN")],
    }  # fmt: skip
    path = saved(tmp_path, arm(none=[], **named))
    out = json.loads(run(path, "--json").output)
    assert out["cheapest"] == "cheap"
    assert out["options"]["cheap"]["cost"] == 170.0
    assert out["options"]["unpriced"]["cost"] is None
    assert "by your figures: 'cheap', 170.0" in " ".join(run(path).output.split())


def test_text_says_why_the_others_are_not_best(tmp_path: Path):
    path = saved(
        tmp_path,
        arm(
            none=[],
            tight=[rest("stiffness: 5 MN/m, allow: 5 kN")],
            weak=[rest("stiffness: 5 MN/m, allow: 10 N")],
            unknown=[rest("stiffness: 5 MN/m")],
        ),
    )
    text = " ".join(run(path).output.split())
    assert "'weak' FAILS 1 check" in text
    assert "support load of support 'R' in 'still'" in text
    assert "'unknown' IS NOT COMPLETE: not checked for want of input: capacity of the support of 'R'" in text
    assert re.search(r"'(none|tight)' holds with (less margin than|nearly the margin of)", text)


def test_bolts_alone_are_compared_though_the_file_does_not_name_them():
    study = parse_case(arm(A=[rest()]), "f")
    assert [option.name for option in compare(study).options] == ["bolts alone", "A"]
    assert [option.name for option in compare(parse_case(arm(A=[rest()], none=[]), "f")).options] == ["A", "none"]
    taken = arm(A=[rest()]).replace("  A:", "  bolts alone:")
    assert [o.name for o in compare(parse_case(taken, "f")).options] == ["bolts alone (for comparison)", "bolts alone"]


def test_option_that_cannot_be_judged_leaves_the_others(tmp_path: Path):
    rigid = support("anchor", "N", X, Z, "six_way: rigid, allow: {force: 9 kN, moment: 9 kN*m}")
    path = saved(tmp_path, still(options(A=[rigid], B=[rest()]), pulled((-400 * Z, X)), joint(""), ALLOW))
    result = run(path)
    assert result.exit_code == 0
    said = " ".join(result.output.split())
    assert (
        "'A' cannot be judged: joint 'main' and anchor 'N' are rigid: how they share the load is not determined" in said
    )
    assert "Not judged: joint 'main' and anchor 'N' are rigid" in said
    out = json.loads(run(path, "--json").output)
    assert out["options"]["A"]["verdict"] is None
    assert "rigid" in out["options"]["A"]["refused"]
    assert out["options"]["B"]["verdict"] == "holds"
    rows = list(csv.DictReader(io.StringIO(run(path, "--csv").output)))
    assert [row["verdict"] for row in rows if row["option"] == "A"] == ["not judged"]
    assert run(path, "--picture", tmp_path / "a.svg").exit_code == 0


def test_all_that_cannot_be_judged_end_with_2(tmp_path: Path):
    up = [*guided(), support("rest", "R", (0, 0, 0), None, "stiffness: 1 MN/m, allow: 9 kN")]
    path = saved(tmp_path, still(options(A=up), pulled((500 * Z, (0, 0, 0)))))
    result = run(path)
    assert result.exit_code == 2
    assert "only push or only pull face the wrong way" in result.output
    assert "Nothing was computed." in result.output
    with pytest.raises(StudyError):
        compare(read_case(path))


@pytest.mark.parametrize(
    ("allow", "capacity", "code"),
    [(ALLOW, ", allow: 9 kN", 0), (ALLOW, "", 0), (ALLOW.replace("160", "0.1"), "", 1), ("", ", allow: 9 kN", 3)],
)
def test_exit_codes(tmp_path: Path, allow: str, capacity: str, code: int):
    """0 if an option holds, though another lacks data; 1 if all fail; 3 if none fails and something is missing."""
    text = still(
        options(none=[], A=[rest(f"stiffness: 5 MN/m{capacity}")]), pulled((-400 * Z, X)), joint(GIVING), allow
    )
    assert run(saved(tmp_path, text)).exit_code == code


def test_unknown_option_of_check(tmp_path: Path):
    path = saved(tmp_path, arm(A=[rest()], B=[]))
    result = CliRunner().invoke(main, ["check", str(path), "--option", "C"])
    assert result.exit_code == 2
    assert "no support option 'C'; the file has A, B" in result.output
    assert checked(path)["option"] == "A"
    assert checked(path, "--option", "B")["cases"]["still"]["supports"] == {}


def test_materials_by_hand():
    """Steel of rods by tensile area, M12 84.3 mm² (ISO 898-1), of posts by section, at 7850 kg/m³; concrete by volume."""
    study = read_case(EXAMPLE)
    rods = materials(study.supports["rod hanger"])
    assert rods.rod_length == pytest.approx(2.2)
    assert rods.steel_mass == pytest.approx(84.3e-6 * 2.2 * 7850, rel=1e-9)
    post = materials(study.supports["rest on a post"])
    assert post.rod_length == 0.0
    assert post.steel_mass == pytest.approx(math.pi / 4 * (0.0761**2 - 0.0697**2) * 0.9 * 7850, rel=1e-9)
    assert materials(study.supports["block in line"]).concrete_volume == pytest.approx(0.6 * 0.5 * 0.7)


# -- sizing -----------------------------------------------------------------------------------------------------------


def hung(rod: str, terms: str) -> str:
    """The arm on a hanger of a rod."""
    return arm(A=[support("hanger", "H", X, None, f"rod: {rod}, length: 2 m, modulus: 200 GPa, {terms}")])


@pytest.mark.parametrize(
    ("given", "terms", "sizes"),
    [
        ("M20", "allow: {stress: 60 MPa}", ["M6", "M8", "M10", "M12", "M16", "M20"]),
        ("M8", "allow: {force: from table, rod_series: later}", ["M8", "M10", "M12", "M16"]),
        ("3/4 in", "allow: {force: from table}", ["3/8 in", "1/2 in", "5/8 in", "3/4 in"]),
    ],
)
def test_least_rod_is_the_least_whose_own_file_holds(tmp_path: Path, given: str, terms: str, sizes: list[str]):
    """Each size in a file of its own, judged by itself: a thicker rod is stiffer and draws more."""
    holds, used = {}, {}
    for size in sizes:
        path = saved(tmp_path, hung(size, terms))
        (mine,) = [c for c in checked(path)["cases"]["still"]["checks"] if c["where"] == "H"]
        holds[size], used[size] = mine["holds"], mine["utilization"]
    by_hand = next(size for size in sizes if holds[size])
    assert sizes.index(by_hand) > 0
    (sized,) = size_supports(parse_case(hung(given, terms), "f"), "A")
    assert sized.least is not None
    assert sized.least.size.removesuffix(" in") == by_hand.removesuffix(" in")
    tried = {each.size.removesuffix(" in"): each for each in sized.tried}
    for size, value in used.items():
        assert float(tried[size.removesuffix(" in")].governing.utilization) == pytest.approx(value, rel=1e-9)
    assert f"the least whose own checks hold is {sized.least.size}" in " ".join(
        run(saved(tmp_path, hung(given, terms))).output.split()
    )


def test_no_rod_that_holds_is_said(tmp_path: Path):
    text = hung("M12", "allow: {stress: 1 Pa}")
    said = " ".join(run(saved(tmp_path, text)).output.split())
    assert re.search(r"sizing hanger 'H': none of \d+ sizes up to M64 holds", said)
    assert json.loads(run(saved(tmp_path, text), "--json").output)["options"]["A"]["sizing"][0]["least"] is None


def test_rod_with_a_force_of_the_user_only_is_not_sized():
    """A force that is not the rod's own says nothing about another rod."""
    assert size_supports(parse_case(hung("M12", "allow: 5 kN"), "f"), "A") == []


def test_least_section_is_the_least_whose_own_file_holds(tmp_path: Path):
    names = {"48": (48.3, 2.9), "33": (33.7, 2.6), "60": (60.3, 2.9), "76": (76.1, 3.2)}
    listed = ", ".join(f"'{name}': {{outside: {d} mm, wall: {w} mm}}" for name, (d, w) in names.items())

    def post(d: float, w: float, more: str = "") -> str:
        terms = (
            f"section: {{outside: {d} mm, wall: {w} mm}}, {more}length: 1.6 m, modulus: 205 GPa, effective_length_factor: 2, "
            "friction: 0.2, allow: {stress: 120 MPa, buckling_factor: 3}"
        )
        return still(options(A=[rest(terms)]), pulled((-4000 * Z + 100 * Y, X)), joint(GIVING), ALLOW)

    holds, used = {}, {}
    for name, (d, w) in names.items():
        found = checked(saved(tmp_path, post(d, w)))["cases"]["still"]["checks"]
        mine = [c for c in found if c["where"] == "R"]
        holds[name], used[name] = all(c["holds"] for c in mine), max(c["utilization"] for c in mine)
    assert any(holds.values())
    assert not all(holds.values())  # a choice to be made
    by_area = sorted(names, key=lambda name: names[name][1] * (names[name][0] - names[name][1]))
    (sized,) = size_supports(parse_case(post(76.1, 3.2, f"sections: {{{listed}}}, "), "f"), "A")
    assert [each.size for each in sized.tried] == by_area
    assert sized.least.size == next(name for name in by_area if holds[name])
    for each in sized.tried:
        assert float(each.governing.utilization) == pytest.approx(used[each.size], rel=1e-9)


BLOCK = (
    "block: {{length: {length!r} m, width: {width!r} m, height: {height!r} m, density: 2400 kg/m^3, friction: 0.4, thrust_height: 0.3 m, "
    "passive: 1 kN, subgrade_modulus: 30 MN/m^3}}, allow: {{bearing: 90 kPa, bearing_factor: 1.5, sliding_factor: 1.5, "
    "overturning_factor: 2, uplift_factor: 1.2}}"
)


def blocked(length: float = 1.0, height: float = 0.5, width: float = 0.8, up: float = 0.0) -> str:
    """A block that holds 6 kN and ``up`` N, whatever its stiffness; the uplift slants its direction."""
    thrust = np.array([6000.0, 0.0, up])
    way = -thrust / np.linalg.norm(thrust)
    off = np.cross(way, Y)
    places = [((0, 0, 0), off), (way, off), ((0, 0, 0), Y), (way, Y), (off, Y)]
    struts = [
        support("strut", f"s{i}", at, line, "stiffness: 1 MN/m, allow: 1 GN") for i, (at, line) in enumerate(places)
    ]
    terms = BLOCK.format(length=length, height=height, width=width)
    return still(options(A=[*struts, support("thrust_block", "B", (0, 0, 0), way, terms)]), pulled((thrust, (0, 0, 0))))


@pytest.mark.parametrize(
    ("up", "length", "governs"),
    [(0.0, 1.0, "sliding"), (1500.0, 2.0, "sliding"), (-1500.0, 1.0, "sliding"), (0.0, 0.25, "overturning"), (1500.0, 0.3, "overturning")],
)  # fmt: skip
def test_block_of_the_mass_and_area_asked_for_has_its_factors_just_so(up: float, length: float, governs: str):
    """Judged in a file of its own; a short block tips before it slides."""
    sized = size_supports(parse_case(blocked(length, up=up), "f"), "A")[0].block
    thrust = math.hypot(6000, up)
    assert sized.bearing_area == pytest.approx(1.5 * thrust / 90e3, rel=1e-9)
    assert sized.volume == pytest.approx(sized.mass / 2400, rel=1e-12)
    exact = blocked(length, width=sized.mass / (length * 0.5 * 2400), up=up)
    worst = max(
        (c for c in assess(parse_case(exact, "f")).cases["still"].checks if c.check in ("block sliding", "block overturning", "block uplift")),
        key=lambda check: float(check.utilization),
    )  # fmt: skip
    assert worst.check == f"block {governs}"
    assert worst.utilization == pytest.approx(1.0, rel=1e-9)
    high = blocked(length, height=sized.bearing_area / 0.8, up=up)
    (bearing,) = (c for c in assess(parse_case(high.replace("thrust_height: 0.3 m", "thrust_height: 0.05 m"), "f")).cases["still"].checks if c.check == "block bearing")  # fmt: skip
    assert bearing.utilization == pytest.approx(1.0, rel=1e-9)


def test_block_without_factors_says_what_to_supply(tmp_path: Path):
    text = re.sub(r"allow: {bearing: 90.*?}", "allow: {uplift_factor: 1.2}", blocked())
    said = " ".join(run(saved(tmp_path, text)).output.split())
    assert (
        "supply allow / bearing and bearing_factor for its area; block / friction, thrust_height and all factors"
        in said
    )


# -- findings in the comparison ---------------------------------------------------------------------------------------


def test_findings_stand_with_their_option(tmp_path: Path):
    path = saved(
        tmp_path,
        arm(
            none=[],
            wrong=[support("hanger", "H", X, -Z, "stiffness: 1 MN/m, allow: 9 kN")],
            idle=[rest("stiffness: 1 kN/m, allow: 9 kN")],
            worse=[support("spring_hanger", "P", X, None, "set_load: 12 kN, allow: 19 kN")],
        ),
    )
    out = json.loads(run(path, "--json").output)["options"]
    kinds = {name: {w["kind"] for w in option["warnings"]} for name, option in out.items()}
    assert "slack hanger" in kinds["wrong"]
    assert "support idles" in kinds["idle"]
    assert "supports load the joint more" in kinds["worse"]
    assert not kinds["none"] & {"slack hanger", "support idles", "supports load the joint more"}
    text = run(path).output
    place = {name: text.index(f"Option: {name}") for name in out}
    assert place["wrong"] < text.index("Hanger 'H' is slack") < place["idle"] < text.index("Rest 'R' carries at most")
    assert text.index("the supports make ", place["worse"]) > place["worse"]
    assert "Growth of pipe and supports with temperature" in text


def test_us_units(tmp_path: Path):
    """1000 lbf on a rest of its own: shown in the units that the file asks for."""
    held = [*guided(), support("rest", "R", (0, 0, 0), None, "stiffness: 1 MN/m, allow: 2000 lbf")]
    text = still(options(A=held), "external:\n  - {name: w, force: [0, 0, -1000 lbf], at: [0, 0, 0 in]}\n")
    said = run(saved(tmp_path, text.replace("title:", "units: us\ntitle:"))).output
    assert re.search(r"R +rest +1,000 lbf +still +1,000 lbf", said)


# -- odd files --------------------------------------------------------------------------------------------------------


def test_joints_that_share_by_nothing_known_are_not_judged(tmp_path: Path):
    """Two joints without stiffness: no share, no check, so no verdict either, though nothing fails."""
    text = still(options(A=[rest()]), pulled((-400 * Z, X)), joint("") + joint("", "second", "outlet"), ALLOW)
    text = text.replace("joints:", "  outlet: {center: [1, 0, 0 m], outward: [1, 0, 0], bore: 100 mm}\njoints:")
    path = saved(tmp_path, text.replace("pressure: 0 kPa}}", "pressure: 0 kPa}, outlet: {pressure: 0 kPa}}"))
    single = CliRunner().invoke(main, ["check", str(path)])
    assert single.exit_code == 3
    assert "HOLDS" not in single.output
    result = run(path)
    assert result.exit_code == 3
    assert "HOLDS:" not in result.output
    assert "stiffness" in result.output
    assert json.loads(run(path, "--json").output)["options"]["A"]["verdict"] == "incomplete"


def test_strut_across_the_load_carries_nothing_and_is_not_in_a_gap(tmp_path: Path):
    path = saved(tmp_path, arm(none=[], A=[support("strut", "S", X, Y, "stiffness: 1 MN/m, allow: 9 kN")]))
    out = json.loads(run(path, "--json").output)["options"]["A"]
    assert out["supports"]["S"]["states"] == {"still": "idle"}
    assert out["supports"]["S"]["greatest_N"] == 0.0
    assert "strut in its gap" not in {w["kind"] for w in out["warnings"]}
    assert "No choice of support changes any check" in " ".join(run(path).output.split())


def test_support_that_carries_nothing_has_no_least_size(tmp_path: Path):
    rod = "rod: M12, length: 1 m, modulus: 200 GPa, allow: {stress: 60 MPa}"
    path = saved(tmp_path, arm(A=[support("hanger", "H", X, -Z, rod)]))
    said = " ".join(run(path).output.split())
    assert "the least whose own checks hold" not in said
    assert "sizing hanger 'H': it carries nothing in any case" in said


def test_base_without_friction_gets_no_mass_and_readable_output(tmp_path: Path):
    path = saved(tmp_path, blocked().replace("friction: 0.4", "friction: 0"))
    out = json.loads(run(path, "--json").output, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))
    (sized,) = (s for s in out["options"]["A"]["sizing"] if s["support"] == "B")
    assert sized["mass_kg"] is None
    assert sized["bearing_area_m2"] == pytest.approx(0.1, rel=1e-9)
    assert "nothing stops it sliding without friction" in " ".join(run(path).output.split())


def test_long_names_stay_within_the_width(tmp_path: Path):
    words = "a rest under the far end of the arm with a name of many words"
    text = arm(none=[], A=[rest(), rest("stiffness: 1 MN/m").replace("name: R,", f"name: {words},")])
    out = run(saved(tmp_path, text.replace("  A:", f"  {words}:"))).output
    assert words.split()[-1] in out
    assert max(map(len, out.splitlines())) <= 80
    assert max(map(len, run(EXAMPLE).output.splitlines())) <= 80


def test_many_options_and_one_support_for_all(tmp_path: Path):
    """Six options alike: each is listed, and the same as the others."""
    path = saved(tmp_path, arm(**{f"o{number}": [rest()] for number in range(6)}))
    out = json.loads(run(path, "--json").output)["options"]
    assert list(out) == ["bolts alone", *(f"o{number}" for number in range(6))]
    assert len({json.dumps(out[f"o{number}"]) for number in range(6)}) == 1


@pytest.mark.parametrize("toward", [(0, 1, 0), (1, 0, 0), (0, 0, -1)])
def test_hanger_that_pulls_another_way(tmp_path: Path, toward: tuple[int, int, int]):
    """It holds what pulls against its direction and nothing else."""
    way = np.array(toward, dtype=float)
    text = still(
        options(A=[support("hanger", "H", (0, 0, 0), toward, "stiffness: 1 MN/m, allow: 9 kN")]),
        pulled((-500 * way, (0, 0, 0))),
        joint(stiffness("1 MN/m", "1 MN/m", "1 MN*m/rad", "1 MN*m/rad")),
        ALLOW,
    )
    found = checked(saved(tmp_path, text))["cases"]["still"]["supports"]["H"]
    assert found["force_N"] == pytest.approx((250 * way).tolist(), abs=1e-9)


def test_joint_that_looks_upward(tmp_path: Path):
    """A joint on top of a riser, with a guide of a gap beside it and a rest under its arm."""
    held = [
        rest("stiffness: 1 MN/m, allow: 9 kN"),
        support("guide", "G", (0, 0, 1), X, "stiffness: 1 MN/m, gap: 1 mm, allow: 2 kN"),
    ]
    soft = stiffness("2 MN/m", "1 MN/m", "1 MN*m/rad", "1 MN*m/rad") + "\n    reference: [1, 0, 0]"
    text = still(options(A=held), pulled((-900 * Z, X)), joint(soft), ALLOW).replace(
        "outward: [-1, 0, 0]", "outward: [0, 0, -1]"
    )
    result = run(saved(tmp_path, text))
    assert result.exit_code == 0
    out = assess(parse_case(text, "f")).cases["still"].supports
    # Compliance of the joint at 1 m off: 1/2 + 1/1 per MN; the rest's own is 1/1.
    assert float(out["R"].push) == pytest.approx(900 * 1.5 / 2.5, rel=1e-9)
    assert float(out["G"].push) == 0.0


def test_doubtful_input_stands_under_the_headline(tmp_path: Path):
    """A rest of 1 kN/m, softer than any, in one of two options: said once, with the option that it is about."""
    text = arm(soft=[rest("stiffness: 1 kN/m, allow: 9 kN")], firm=[rest()])
    path = saved(tmp_path, text.replace("-4000.0", "-400.0"))
    head = " ".join(run(path).output.split("Rests on")[0].split())
    assert "In 'soft': Doubtful input: Rest 'R': a stiffness of 1000 N/m is unusual" in head
    assert head.count("Doubtful input") == 1
    options = json.loads(run(path, "--json").output)["options"]
    assert [any(w["doubtful"] for w in options[name]["warnings"]) for name in ("soft", "firm")] == [True, False]
