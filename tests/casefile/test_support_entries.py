"""Supports in the case file: every line reported for what cannot be, and what is made of what can.

The messages were read one by one as a designer would: is the place right, is it said what was found and what to write?
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from anchorsize import CaseFileError, StudyError, assess, parse_case
from anchorsize.casefile.format_support import (
    BasePlateEntry,
    BlockEntry,
    PlateAnchorEntry,
    PostSectionEntry,
    SupportAllowEntry,
    SupportEntry,
)
from anchorsize.study import JointStiffness
from tests.support_cases import guided, joint, options, pulled, still, support

AT = "at: [1, 0, 0 m]"
UP = "toward: [0, 0, 1]"
REST = f"{{kind: rest, name: R, {AT}, stiffness: 1 MN/m"
PLATE = f"{REST}, length: 1 m, base_plate: {{length: 200 mm, width: 160 mm, foundation_modulus: 9 MN/m^3"
STRETCH = "anchor_length: 1 m, anchor_modulus: 200 GPa"
ROD = f"{{kind: hanger, name: R, {AT}, rod: M12, length: 1 m, modulus: 200 GPa"
BLOCK = f"{{kind: thrust_block, name: R, {AT}, toward: [-1, 0, 0], stiffness: 1 MN/m, block: {{length: 1 m, width: 1 m, height: 1 m, density: 2400 kg/m^3"

# (a support, the lines reported after the file, its line and the option)
BROKEN = [
    (f"{REST}, gap: -1 mm}}", ["1 / gap: '-1 mm' must not be less than 0 (a gap is what closes before it carries, 0 to 200 mm: is its unit right? A support set against the fitting has a set_load instead; where the joint sinks onto the support by so much, write settles, with a minus)"]),
    (f"{{kind: strut, name: R, {AT}, {UP}, stiffness: 0 N/m}}", ["1 / stiffness: '0 N/m' must be more than 0"]),
    (f"{{kind: strut, name: R, {AT}, {UP}, stiffness: -5 kN/mm}}", ["1 / stiffness: '-5 kN/mm' must be more than 0"]),
    (
        f"{{kind: strut, name: R, {AT}, {UP}}}",
        ["1 / stiffness: 'stiffness' is missing (write stiffness, or section, length and modulus)"],
    ),
    (
        f"{{kind: hanger, name: R, {AT}, rod: M12, length: 1 m}}",
        ["1 / stiffness: 'stiffness' is missing (write stiffness, or rod, length and modulus)"],
    ),
    (
        f"{{kind: anchor, name: R, {AT}}}",
        ["1 / six_way: 'six_way' is missing (write rigid, or {axial, shear, bending, torsion} with the axis along toward)"],
    ),
    (
        f"{{kind: anchor, name: R, {AT}, six_way: loose}}",
        ["1 / six_way: 'loose' is not one of the words known here (known: rigid)"],
    ),
    (
        f"{{kind: anchor, name: R, {AT}, six_way: {{axial: 1 MN/m}}}}",
        [f"1 / six_way / {key}: '{key}' is missing" for key in ("bending", "shear", "torsion")],
    ),
    (
        f"{{kind: spring_hanger, name: R, {AT}}}",
        ["1 / set_load: 'set_load' is missing (a spring hanger carries a set load)"],
    ),
    (f"{{kind: spring_hanger, name: R, {AT}, set_load: -1 kN}}", ["1 / set_load: '-1 kN' must not be less than 0"]),
    (
        f"{REST}, gap: 1 mm, set_load: 1 kN}}",
        ["1 / gap: a gap and a set load at once (a support with a gap does not touch yet)"],
    ),
    (f"{REST}, friction: -0.1}}", ["1 / friction: '-0.1' must not be less than 0"]),
    (f"{REST}, cost: -1}}", ["1 / cost: '-1' must not be less than 0"]),
    (f"{REST}, allow: {{bearing_factor: 0}}}}", ["1 / allow / bearing_factor: '0' must not be less than 1"]),
    (
        f"{PLATE}, anchors: [{{x: 120 mm, y: 0 mm, size: M12}}, {{x: 0 mm, y: -80 mm, size: M12}}], {STRETCH}}}}}",
        [
            "1 / base_plate / anchors / 1 / x: '120 mm' is not on the plate (x and y are from its middle)",
            "1 / base_plate / anchors / 2 / y: '-80 mm' is not on the plate (x and y are from its middle)",
        ],
    ),
    (
        f"{PLATE}, anchors: [{{x: 20 mm, y: 0 mm, size: M12}}]}}}}",
        ["1 / base_plate: the stretch of the anchors is not known (write anchor_length and anchor_modulus)"],
    ),
    (
        f"{PLATE}, anchors: [{{x: 20 mm, y: 0 mm, size: M13}}], {STRETCH}}}}}",
        ["1 / base_plate / anchors / 1 / size: thread 'M13' is not in table threads_metric; nearest: M12; M14; M12x1.25; M12x1.5; M14x1.5"],
    ),
    (
        f"{{kind: hangar, name: R, {AT}, stiffness: 1 MN/m}}",
        ["1 / kind: 'hangar' is not one of the words known here (did you mean 'hanger'?)"],
    ),
    (
        f"{{kind: rest, name: R, {AT}, stifness: 1 MN/m}}",
        [
            "1 / stiffness: 'stiffness' is missing (write stiffness, or section, length and modulus)",
            "1 / stifness: unknown key 'stifness' (did you mean 'stiffness'?)",
        ],
    ),
    ("{kind: rest, name: R, stiffness: 1 MN/m}", ["1 / at: 'at' is missing"]),
    (f"{{kind: rest, {AT}, stiffness: 1 MN/m}}", ["1 / name: 'name' is missing"]),
    (
        f"{REST}, toward: [0, 0, 0]}}",
        ["1 / toward: a direction of no length points nowhere (write for example [1, 0, 0])"],
    ),
    (
        f"{{kind: rest, name: R, {AT}, section: {{outside: 60 mm}}, length: 1 m, modulus: 200 GPa}}",
        ["1 / section: not a whole section (write outside and wall, or area and second_moment)"],
    ),
    (
        f"{{kind: rest, name: R, {AT}, section: {{outside: 60 mm, wall: 31 mm}}, length: 1 m, modulus: 200 GPa}}",
        ["1 / section / wall: '31 mm' is more than half of outside"],
    ),
    (
        f"{REST}, section: {{outside: 60 mm, wall: 3 mm, area: 1 cm^2, second_moment: 1 cm^4}}}}",
        ["1 / section: a tube and an area at once (write outside and wall, or area and second_moment)"],
    ),
    (
        f"{{kind: strut, name: R, {AT}, {UP}, stiffness: 1 MN/m, allow: from table}}",
        ["1 / allow / force: 'from table' needs a rod (write rod, for example M12, or the force itself)"],
    ),
    (
        f"{ROD}, allow: {{force: 9 kN, rod_series: later}}}}",
        ["1 / allow / rod_series: 'rod_series' names a table (write force: from table beside it)"],
    ),
    (f"{ROD}, allow: 9 kg}}", ["1 / allow: '9 kg' is not a force ('kg' holds a mass; write 'kgf')"]),
    (
        f"{{kind: thrust_block, name: R, {AT}, stiffness: 1 MN/m}}",
        ["1 / toward: 'toward' is missing (the direction in which the block pushes the fitting, such as [-1, 0, 0])"],
    ),
    *(
        (
            f"{{kind: {kind}, name: R, {AT}, stiffness: 1 MN/m}}",
            [f"1 / toward: 'toward' is missing (the {words}, such as [0, 1, 0]{more})"],
        )
        for kind, words, more in (
            ("strut", "line along which it holds both ways", ""),
            ("guide", "line along which it holds both ways", "; a guide both ways across takes two entries"),
            ("tie", "direction in which it pulls the fitting", ""),
        )
    ),
    (f"{REST}, friction: 30}}", ["1 / friction: '30' is more than 2 (is this unit right?)"]),
    (f"{REST}, modulus: 205 MPa}}", ["1 / modulus: '205 MPa' is less than 1 GPa (is this unit right?)"]),
    (f"{REST}, effective_length_factor: 0.2}}", ["1 / effective_length_factor: '0.2' must not be less than 0.5"]),
    (f"{REST}, allow: {{buckling_factor: 0.3}}}}", ["1 / allow / buckling_factor: '0.3' must not be less than 1"]),
    (
        f"{{kind: spring_hanger, name: R, {AT}, set_load: 1 kN, rate: 20 N/mm}}",
        ["1 / rate: unknown key 'rate' (a spring_hanger gives its set_load whatever the movement; for one that follows its spring write "
         "kind: hanger with stiffness: its rate, and set_load)"],
    ),
    (
        f"{REST}, k: 2 MN/m}}",
        ["1 / k: unknown key 'k' (write stiffness for a spring's, such as 12 MN/m, or effective_length_factor for the K of a post's ends)"],
    ),
    (f"{REST}, direction: [0, 0, 1]}}", ["1 / direction: unknown key 'direction' (did you mean 'toward'?)"]),
    (
        f"{BLOCK}}}}}".replace(", stiffness: 1 MN/m", ""),
        ["1 / stiffness: 'stiffness' is missing (write stiffness, or block / subgrade_modulus for a block that is pressed into soil)"],
    ),
    (
        f"{BLOCK}, subgrade_modulus: 9 MN/m^3}}}}".replace(", stiffness: 1 MN/m", "").replace("[-1, 0, 0]", "[0, 0, -1]"),
        ["1 / toward: this direction points down, so the block would be pulled up and bear on no soil (toward is how the block pushes the fitting: turn it round; a block that holds by its weight needs a stiffness)"],
    ),
    (f"{BLOCK}, thrust_height: 2 m}}}}", ["1 / block / thrust_height: '2 m' is above the block (from its base up)"]),
]  # fmt: skip


def reported(*supports: str, **more: list[str]) -> list[str]:
    """What the file is refused for, without the file's name and the line, which is that of the support."""
    text = still(options(A=supports, **more), pulled(((0, 0, -1), (0, 0, 0))), joint())
    with pytest.raises(CaseFileError) as error:
        parse_case(text, "f.yaml")
    lines = text.splitlines()
    said = []
    for problem in map(str, error.value.problems):
        place, _, words = problem.partition(": ")
        number = int(place.removeprefix("f.yaml:"))
        assert lines[number - 1].lstrip().startswith("- {")  # it points to a support
        said.append(words)
    return said


@pytest.mark.parametrize(("entry", "lines"), BROKEN, ids=[lines[0][:50] for _, lines in BROKEN])
def test_what_cannot_be(entry: str, lines: list[str]):
    assert reported(entry) == [f"supports / A / {line}" for line in lines]


MOVING = ("hanger", "rest", "guide", "strut", "tie", "thrust_block")


@pytest.mark.parametrize(
    ("kind", "key", "value", "kinds"),
    [
        ("anchor", "gap", "1 mm", MOVING),
        ("anchor", "stiffness", "1 MN/m", MOVING),
        ("spring_hanger", "gap", "1 mm", MOVING),
        ("spring_hanger", "stiffness", "1 kN/m", MOVING),
        ("hanger", "friction", "0.3", ("rest", "thrust_block")),
        ("guide", "friction", "0", ("rest", "thrust_block")),
        ("rest", "rod", "M12", ("hanger", "tie", "spring_hanger")),
        ("strut", "base_plate", "{length: 1 m, width: 1 m, foundation_modulus: 9 MN/m^3}", ("rest",)),
        ("rest", "block", "{length: 1 m, width: 1 m, height: 1 m, density: 2400 kg/m^3}", ("thrust_block",)),
        ("rest", "six_way", "rigid", ("anchor",)),
        ("tie", "section", "{outside: 60 mm, wall: 3 mm}", ("rest", "guide", "strut")),
        ("hanger", "effective_length_factor", "1", ("rest", "guide", "strut")),
    ],
)
def test_key_of_another_kind(kind: str, key: str, value: str, kinds: tuple[str, ...]):
    """A key that would be without effect is refused, not dropped."""
    enough = {"anchor": "six_way: rigid", "spring_hanger": "set_load: 1 kN"}.get(kind, "stiffness: 1 MN/m")
    (said,) = reported(support(kind, "R", (1, 0, 0), None, f"{enough}, {key}: {value}"))
    article = "an" if kind == "anchor" else "a"
    assert said.startswith(f"supports / A / 1 / {key}: '{key}' does not belong to {article} ")
    for each in kinds:
        assert each.replace("_", " ") in said.replace("_", " ").partition("only to")[2]


def test_tables_that_do_not_know_it():
    (rod,) = reported(ROD.replace("M12", "M13") + "}")
    assert rod.startswith("supports / A / 1 / rod: thread 'M13' is not in table threads_metric; nearest: M12; M14")
    (load,) = reported(ROD.replace("M12", "M6") + ", allow: from table}")
    assert load.startswith("supports / A / 1 / allow / force: hanger rod 'M6, older' is not in table hanger_rod_loads")
    (soil,) = reported(BLOCK + ", soil: jelly}}")
    assert soil.startswith("supports / A / 1 / block / soil: soil 'jelly' is not in table soil_bearing; nearest: ")
    assert "sandy clay" in soil


def test_names_stand_once_and_are_no_joint():
    same, joints = reported(REST + "}", REST + "}", B=[REST.replace("name: R", "name: main") + "}"])
    assert same == "supports / A / 2 / name: 'R' is there already (every support of an option has a name of its own)"
    assert joints == "supports / B / 1 / name: 'main' is a joint's name (reports name joints and supports side by side)"


def test_one_name_may_stand_in_two_options():
    study = parse_case(still(options(A=[REST + "}"], B=[REST + "}"]), pulled(((0, 0, -1), (0, 0, 0))), joint()), "f")
    assert [each.name for option in study.supports.values() for each in option] == ["R", "R"]


def test_all_problems_come_in_one_run():
    said = reported(
        REST + ", gap: -1 mm}",
        f"{{kind: strut, name: S, {AT}, {UP}}}",
        ROD.replace("name: R", "name: H") + ", friction: 0.2}",
    )
    assert [line.split(":")[0] for line in said] == [
        "supports / A / 1 / gap", "supports / A / 2 / stiffness", "supports / A / 3 / friction",
    ]  # fmt: skip


def test_what_stands_in_the_study():
    """A tube by hand; factors and words where they belong; toward up where nothing is said."""
    text = still(
        options(
            A=[
                f"{{kind: rest, name: R, {AT}, section: {{outside: 60.3 mm, wall: 2.9 mm}}, length: 800 mm, modulus: 205 GPa, friction: 0.2, cost: 90}}",
                f"{{kind: anchor, name: N, {AT}, toward: [0, 3, 4], six_way: {{axial: 1 MN/m, shear: 2 MN/m, bending: 3 kN*m/rad, torsion: 4 kN*m/rad}}}}",
                f"{{kind: hanger, name: H, {AT}, stiffness: 20 kN/mm, gap: 1 mm, allow: 12 kN}}",
            ],
            none=[],
        ),
        pulled(((0, 0, -1), (0, 0, 0))),
        joint(),
    )  # fmt: skip
    rest, anchor, hanger = parse_case(text, "f").supports["A"]
    inside = 60.3e-3 - 2 * 2.9e-3
    assert rest.section.area == pytest.approx(math.pi / 4 * (60.3e-3**2 - inside**2), rel=1e-12)
    assert rest.section.second_moment == pytest.approx(math.pi / 64 * (60.3e-3**4 - inside**4), rel=1e-12)
    assert rest.section.half_depth == pytest.approx(30.15e-3)
    assert rest.toward.tolist() == [0, 0, 1]
    assert (rest.friction, rest.cost) == (0.2, 90.0)
    np.testing.assert_allclose(anchor.toward, [0, 0.6, 0.8])
    assert anchor.six_way == JointStiffness(1e6, 2e6, 3e3, 4e3)
    assert (hanger.stiffness, hanger.gap, hanger.allow.force, hanger.allow.force_origin) == (20e6, 1e-3, 12e3, "user")
    assert parse_case(text, "f").supports["none"] == ()


def test_what_acts_up_by_its_nature_needs_no_direction():
    held = [
        REST + "}",
        ROD.replace("name: R", "name: H") + "}",
        f"{{kind: spring_hanger, name: P, {AT}, set_load: 1 kN}}",
    ]
    study = parse_case(still(options(A=held), pulled(((0, 0, -1), (0, 0, 0))), joint()), "f")
    assert [each.toward.tolist() for each in study.supports["A"]] == [[0, 0, 1]] * 3


def test_a_row_of_a_table_belongs_to_the_option_that_takes_it():
    """The rods M12 and M16 have rows of their own; the joint's M16 is the file's, so that every option shows it."""
    text = still(
        options(A=[ROD + "}"], B=[ROD.replace("M12", "M20") + "}"], C=[ROD.replace("M12", "M16") + "}"]),
        pulled(((0, 0, -1), (0, 0, 0))),
        joint(),
    )
    study = parse_case(text, "f")
    shown = {name: {row.row for row in assess(study, name).study.provenance} for name in "ABC"}
    assert {row.row for row in study.provenance} == {*shown["A"], *shown["B"]}
    assert len(shown["A"]) == len(shown["B"]) == len(shown["C"]) + 1
    assert shown["C"] == shown["A"] & shown["B"]
    assert any("M12" in row for row in shown["A"] - shown["C"])
    assert any("M20" in row for row in shown["B"] - shown["C"])


@pytest.mark.parametrize(
    ("model", "closed"),
    [(SupportEntry, False), (PostSectionEntry, False), (BasePlateEntry, False), (PlateAnchorEntry, False), (BlockEntry, False), (SupportAllowEntry, True)],
)  # fmt: skip
def test_every_key_says_in_the_schema_what_it_is(model, closed: bool):
    """An editor shows more than 'a force, with its unit'."""
    described = model.model_json_schema()
    described = next(each for each in described["anyOf"] if "properties" in each) if closed else described
    for key, entry in described["properties"].items():
        assert len(entry.get("description", "").split()) > 3, key
        assert "with its unit" not in entry["description"]


# -- can be read, cannot be judged ------------------------------------------------------------------------------------


def refused(supports: list[str], joints: str | None = None) -> str:
    with pytest.raises(StudyError) as error:
        assess(parse_case(still(options(A=supports), pulled(((0, 0, -1), (0, 0, 0))), joints), "f"))
    return str(error.value)


def test_two_rigid_mounts():
    anchor = support("anchor", "N", (1, 0, 0), (1, 0, 0), "six_way: rigid")
    assert refused([anchor], joint("")) == (
        "joint 'main' and anchor 'N' are rigid: how they share the load is not determined; give one of them a stiffness "
        "(a joint: stiffness or pipe_behind; an anchor: six_way)"
    )
    assert refused([anchor, anchor.replace("name: N", "name: P")]).startswith("anchor 'N' and anchor 'P' are rigid")


def test_rests_in_one_line_leave_a_mechanism():
    """Two rests under the x axis and no joint: four motions are free, two slides and two turns."""
    said = refused(
        [support("rest", name, (x, 0, 0), None, "stiffness: 1 MN/m") for name, x in (("a", 0.2), ("b", 0.8))]
    )
    assert said.startswith(
        "support option 'A': nothing holds the fitting against moving along [1, 0, 0]; moving along [0, 1, 0]"
    )
    assert "turning about the line along [1, 0, 0] through [0, 0, 0] m" in said
    assert "turning about the line along [0, 0, 1]" in said
    assert said.endswith("another support is missing there")


def test_the_one_motion_left_is_named():
    """Five struts of which none acts upward; and six of which all meet the line y = 1, z = 0."""
    assert "against moving along [0, 0, 1];" in refused(guided())
    met = [
        support("strut", "x", (0, 1, 0), (1, 0, 0), "stiffness: 1 MN/m"),
        support("strut", "y1", (0, 1, 0), (0, 1, 0), "stiffness: 1 MN/m"),
        support("strut", "y2", (2, 1, 0), (0, 1, 0), "stiffness: 1 MN/m"),
        support("strut", "z1", (0, 1, 0), (0, 0, 1), "stiffness: 1 MN/m"),
        support("strut", "z2", (2, 1, 0), (0, 0, 1), "stiffness: 1 MN/m"),
        support("strut", "z3", (1, 1, 0), (0, 0, 1), "stiffness: 1 MN/m"),
    ]
    said = refused(met)
    assert "turning about the line along [1, 0, 0] through [0, 1, 0] m" in said
    assert "moving" not in said


def test_joint_that_gives_needs_no_supports_to_hold_it():
    assess(parse_case(still(options(A=[REST + "}"]), pulled(((0, 0, -1), (0, 0, 0))), joint()), "f"))


def test_nothing_at_all_holds_the_fitting():
    """No joint and no support: the reaction can be had, a verdict cannot."""
    result = assess(parse_case(still(options(A=[]), pulled(((0, 0, -1), (0, 0, 0)))), "f"))
    assert result.verdict == "incomplete"
    (missing,) = (item for item in result.not_checked if item.needed)
    assert "joint" in missing.supply
    assert "support" in missing.supply
    assert result.cases["still"].reaction_force.tolist() == [0, 0, 1]


def test_option_with_nothing_after_its_name_has_no_supports():
    text = still(options(A=[], B=[REST + "}"]), pulled(((0, 0, -1), (0, 0, 0))), joint()).replace("  A: []", "  A:")
    assert parse_case(text, "f").supports["A"] == ()
