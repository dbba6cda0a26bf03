"""Nuts that reach over the rim of their flange, and bolts nearer to it than a wrench or any standard flange has them."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize.assessment import assess
from anchorsize.assessment.findings_flange import notice_flange, over_rim
from anchorsize.casefile import parse_case
from anchorsize.cli import main
from anchorsize.reference import NotInTable, flange, load, thread
from anchorsize.reference.fasteners import wrench_edge
from anchorsize.reference.flanges import nearest_rim
from anchorsize.reference.nuts import narrowest_flats

OVER = "nut over the rim"
NEAR = "bolts near the rim"
CIRCLE = "count: 12, size: M20, circle: 316 mm, first_at: 15 deg"
RIM = "outside: 340 mm, hole: 22 mm"
# ISO 4032, greatest width across flats in mm
FLATS = {"M12": 18, "M16": 24, "M20": 30, "M24": 36, "M30": 46}

# All figures invented.
HEAD = """\
case_file: 1
title: flushing head
fluid: {name: water, density: 1000 kg/m^3}
fitting: {mass: 62 kg, mass_center: [0.1, 0, 0.3 m], contents: 24 L, contents_center: [0.1, 0, 0.3 m]}
openings:
  foot: {center: [0, 0, 0 m], outward: [0, 0, -1], bore: 207 mm}
  side: {center: [0.4, 0, 0.4 m], outward: [1, 0, 0], bore: 80 mm}
joints:
  main:
    at: foot
    reference: [1, 0, 0]
    bolts: {count: 12, size: M20, circle: 316 mm, first_at: 15 deg}
    flange: {outside: 340 mm, hole: 22 mm}
allow: {bolt_tension: 172 MPa, bolt_shear: 100 MPa}
cases:
  still: {foot: {flow_in: 0 L/s, pressure: 4 bar}, side: capped}
"""


def head(bolts=CIRCLE, rim=RIM, units="metric"):
    text = HEAD.replace(f"{{{CIRCLE}}}", bolts if bolts.startswith("[") else f"{{{bolts}}}")
    text = text.replace(f"    flange: {{{RIM}}}\n", f"    flange: {{{rim}}}\n" if rim else "")
    return text.replace("title:", f"units: {units}\ntitle:")


def kinds(text):
    return {found.kind: found for found in assess(parse_case(text, "head.yaml")).warnings}


def run(tmp_path, text, *words):
    path = tmp_path / "head.yaml"
    path.write_text(text, encoding="utf-8")
    return CliRunner().invoke(main, [words[0], str(path), *words[1:]])


def flat(text):
    return " ".join(text.split())


def on(circle, size="M20"):
    return f"count: 12, size: {size}, circle: {circle}, first_at: 15 deg"


@pytest.mark.parametrize(
    ("bolts", "outside", "reach", "ends", "over"),
    [
        # 316/2 + 30/2 = 173 mm; 340/2 = 170 mm
        (on("316 mm"), "340 mm", "173 mm", "170 mm", "3 mm"),
        # 295/2 + 30/2 = 162.5 mm; 318/2 = 159 mm
        (on("295 mm"), "318 mm", "162.5 mm", "159 mm", "3.5 mm"),
    ],
)
def test_a_nut_over_the_rim_makes_the_input_doubtful(bolts, outside, reach, ends, over):
    found = kinds(head(bolts, f"outside: {outside}, hole: 22 mm"))[OVER]
    assert found.doubtful
    for words in (
        "a head or nut 30 mm across flats (ISO 4032, M20) on every bolt",
        f"reaches to {reach}, and the flange ends at {ends}",
        f"bears {over} over the rim and tips, and no preload and no check of this joint is to be trusted",
    ):
        assert words in found.message


def test_check_does_not_say_holds_without_a_word(tmp_path):
    said = flat(run(tmp_path, head(), "check").output)
    assert "HOLDS ON DOUBTFUL INPUT" in said
    assert "Doubtful input: Joint 'main': a head or nut 30 mm across flats" in said


def test_figures_are_in_the_units_of_the_file():
    # ASME B18.2.2: the heavy nut of 3/4 in is 1-1/4 in across flats; 4.75 + 0.625 = 5.375 in against 10.5/2 = 5.25 in
    found = kinds(head(on("9.5 in", "3/4 in"), "outside: 10.5 in, hole: 7/8 in", "us"))[OVER]
    assert found.doubtful
    assert "1.25 in across flats (ASME B18.2.2, 3/4 in)" in found.message
    assert "4.75 in from the center, reaches to 5.375 in, and the flange ends at 5.25 in" in found.message
    assert "bears 0.125 in over the rim" in found.message


def test_a_nut_that_ends_at_the_rim_bears_wholly():
    assert OVER not in kinds(head(rim="outside: 346 mm"))  # 316 + 30 mm
    assert OVER in kinds(head(rim="outside: 345.9 mm"))
    # 9-1/2 in + 1-1/4 in; the table has the nut in hundredths of a millimeter
    assert OVER not in kinds(head(on("9.5 in", "3/4 in"), "outside: 10.75 in"))


@pytest.mark.parametrize("rim", ["", "hole: 22 mm", "thickness: 24 mm"])
def test_nothing_is_said_where_the_outside_is_not_known(rim):
    assert not {OVER, NEAR} & set(kinds(head(rim=rim)))


def test_nothing_is_said_of_a_size_that_no_table_has():
    bolts = "count: 12, size: stud, diameter: 20.7 mm, tensile_area: 250 mm^2, root_area: 230 mm^2, circle: 316 mm, first_at: 15 deg"
    assert not {OVER, NEAR} & set(kinds(head(bolts, "outside: 340 mm")))
    with pytest.raises(NotInTable):
        narrowest_flats(20.7e-3)


def places(*each, size="M20"):
    return "[" + ", ".join(f"{{x: {x} mm, y: {y} mm, size: {size}}}" for x, y in each) + "]"


def test_bolts_placed_by_hand_are_judged_one_by_one():
    # bolt 2 stands 156 mm off the center, with 15 mm of nut 171 mm; the others at 140 mm
    message = kinds(head(places((140, 0), (0, 156), (-140, 0), (0, -140))))[OVER].message
    assert "on bolt 2, up to 156 mm from the center, reaches to 171 mm, and the flange ends at 170 mm" in message
    # bolt 4: 93.6, 124.8 mm is 156 mm off as well (3-4-5 times 31.2)
    both = kinds(head(places((140, 0), (0, 156), (-140, 0), (93.6, -124.8))))[OVER].message
    assert "on bolts 2, 4, up to 156 mm from the center" in both
    assert OVER not in kinds(head(places((140, 0), (0, 140), (-140, 0), (0, -140))))


def test_bolts_of_two_sizes_are_told_apart():
    # M16 reaches 157 + 12 = 169 mm, M20 157 + 15 = 172 mm; the rim is at 170 mm
    bolts = "[{x: 157 mm, y: 0 mm, size: M16}, {x: 0 mm, y: 157 mm, size: M20}, {x: -157 mm, y: 0 mm, size: M16}]"
    found = kinds(head(bolts))[OVER]
    assert "M20) on bolt 2, 157 mm from the center, reaches to 172 mm" in found.message


def test_a_bolt_that_is_not_there_has_no_nut():
    text = head(places((140, 0), (0, 156), (-140, 0), (0, -140)).replace("[{", "{places: [{") + ", missing: [2]}")
    text = text.replace("bolts: {{", "bolts: {").replace("}}\n    flange", "}\n    flange")
    assert OVER not in kinds(text)
    assert OVER in kinds(text.replace(", missing: [2]", ""))


def test_of_many_flanges_the_least_is_told():
    study = parse_case(head(rim="outside: 400 mm"), "head.yaml")
    joint = study.joints["main"]
    wide = replace(joint.flange, outside=np.array([0.400, 0.340, 0.344]))
    (found,) = notice_flange(replace(study, joints={"main": replace(joint, flange=wide)}), {})
    assert "the flange ends at 170 mm" in found.message


@settings(max_examples=200)
@given(st.sampled_from(sorted(FLATS)), st.integers(100, 900), st.integers(-60, 60))
def test_a_nut_is_over_the_rim_just_where_circle_and_flats_pass_the_outside(size, circle, more):
    outside = circle + FLATS[size] + more
    flats, _ = narrowest_flats(thread(size).diameter)
    assert over_rim(0.5e-3 * circle, flats, 1e-3 * outside) == (more < 0)


# ---- near the rim


def test_bolts_nearer_to_the_rim_than_any_standard_has_them_are_told_and_not_doubted():
    # (350 - 316)/2 = 17 mm; 7/8 in: 15/16 in = 23.81 mm; EN 1092-1 PN 6 DN 450 is 595 mm with 20 x M20 on 550 mm: 22.5 mm
    found = kinds(head(rim="outside: 350 mm, hole: 22 mm"))
    assert OVER not in found
    assert not found[NEAR].doubtful
    for words in (
        "from the center of every bolt to the rim it is 17 mm",
        "least edge distance 23.81 mm (table wrench_spacing, row 7/8 in)",
        "none has less than 22.5 mm (EN 1092-1 PN 6 DN 450)",
    ):
        assert words in found[NEAR].message


@pytest.mark.parametrize(
    ("bolts", "outside", "told"),
    [
        (on("295 mm"), "340 mm", False),  # the drilling of EN 1092-1 PN 10 DN 200, not named: 22.5 mm
        (on("295 mm"), "337 mm", True),  # 21 mm
        # 1-1/8 in: least 1.125 in, and ASME B16.5 has no less: class 900 NPS 4, 11.5 in with bolts on 9.25 in
        (on("12 in", "1-1/8 in"), "14.25 in", False),
        (on("12 in", "1-1/8 in"), "14.1 in", True),
        # 1-3/8 in: least 1.375 in, while ASME B16.5 has no less than 1.5 in: the table decides
        (on("12 in", "1-3/8 in"), "14.8 in", False),
        (on("12 in", "1-3/8 in"), "14.6 in", True),
        # no flange is tabled with M48; next larger inch size 2 in: 2 in = 50.8 mm
        (on("400 mm", "M48"), "505 mm", False),
        (on("400 mm", "M48"), "498 mm", True),
    ],
)
def test_the_least_of_the_table_and_of_the_standards_counts(bolts, outside, told):
    found = kinds(head(bolts, f"outside: {outside}"))
    assert (NEAR in found) is told
    assert OVER not in found


def test_a_named_flange_is_left_to_its_standard():
    # PN 16 DN 100: 220 mm, 8 x M16 on 180 mm, 20 mm to the rim. With M20 it is nearer than any flange with M20 (22.5 mm).
    bolts = "count: 8, size: M20, circle: 180 mm, first_at: 22.5 deg"
    small = head(bolts, "designation: EN 1092-1 PN 16 DN 100, hole: 22 mm").replace("bore: 207 mm", "bore: 107 mm")
    assert NEAR not in kinds(small)
    unnamed = small.replace("designation: EN 1092-1 PN 16 DN 100,", "outside: 220 mm,")
    assert "it is 20 mm" in kinds(unnamed)[NEAR].message


@pytest.mark.parametrize(
    ("size", "edge"), [("M20", 0.9375), ("7/8 in", 0.9375), ("3/4 in", 0.8125), ("M16", 0.8125), ("2-1/2 in", 2.375)]
)
def test_the_edge_distance_is_that_of_the_size_or_the_next_larger(size, edge):
    found, origin = wrench_edge(thread(size).diameter)
    assert found == pytest.approx(edge * 0.0254)
    assert (origin.what, origin.table, origin.status) == ("least edge distance", "wrench_spacing", "from-memory")


def test_no_edge_distance_and_no_flange_are_made_up():
    with pytest.raises(NotInTable):
        wrench_edge(0.07)
    assert nearest_rim(0.0777) is None


# ---- standard flanges


def tabled():
    for row in load("flange_en1092_1").rows:
        yield f"EN 1092-1 PN {row['pn']} DN {row['dn']}", None
    for row in load("flange_b16_5").rows:
        yield f"ASME B16.5 class {row['rating_class']} NPS {row['nps']}", row["outside_metric_edition_mm"]
    for row in load("flange_awwa_c207").rows:
        yield f"AWWA C207 class D {row['nps']} in", None


def test_no_standard_flange_with_its_own_bolts_is_doubted_named_or_not():
    judged = 0
    for name, metric_edition in tabled():
        drilled = flange(name)
        try:
            thread(drilled.bolt)
        except NotInTable:
            continue  # larger than any thread listed
        outsides = [f"designation: {name}", f"outside: {drilled.outside * 1e3:.1f} mm"]
        outsides += [f"outside: {metric_edition} mm"] if metric_edition else []
        circle = f"{drilled.bolt_circle * 1e3:.1f} mm"
        bolts = f"count: {drilled.count}, size: {drilled.bolt}, circle: {circle}, first_at: 15 deg"
        for rim in outsides:
            study = parse_case(head(bolts, rim).replace("207 mm", "10 mm"), "head.yaml")
            assert not {OVER, NEAR} & {found.kind for found in notice_flange(study, {})}, (name, rim)
            judged += 1
    assert judged > 250


# ---- size

SIZED = HEAD.replace(", hole: 22 mm", "").replace("cases:", "sizing: {counts: [12], sizes: [M16, M20, M24]}\ncases:")


def sized(tmp_path, circles, text=SIZED):
    return json.loads(run(tmp_path, text, "size", "--circles", circles, "--json", "--top", "100").output)


def test_size_refuses_each_size_on_each_circle_whose_nuts_reach_over_the_rim(tmp_path):
    # outside 340 mm: M16 up to 316 mm (24 mm flats), M20 up to 310 mm (30), M24 up to 304 mm (36)
    answer = sized(tmp_path, "304 mm,305 mm,310 mm,311 mm,316 mm,317 mm")
    ranked = {(each["size"], round(1e3 * each["circle_m"])) for each in answer["ranked"]}
    assert ranked == {
        *[("M16", circle) for circle in (304, 305, 310, 311, 316)],
        *[("M20", circle) for circle in (304, 305, 310)],
        ("M24", 304),
    }


def test_the_reasons_of_nut_and_hole_are_told_apart(tmp_path):
    text = flat(run(tmp_path, SIZED, "size", "--circles", "310 mm,316 mm", "--top", "100").output)
    over = "the nuts reach over the rim: outside them 346 mm, flange 340 mm; a nut has 30 mm across flats (ISO 4032)"
    assert over in text
    # no hole in the file: it is at least as wide as the bolt, M24 316 + 24 = 340 mm
    assert "the bolts break the rim: outside their holes 340 mm, flange 340 mm" in text


def test_size_of_inch_bolts(tmp_path):
    # heavy nuts of ASME B18.2.2: 5/8 in 1-1/16 in, 3/4 in 1-1/4 in; 9.6 in + them: 10.66 and 10.85 in against 10.7 in
    text = SIZED.replace("[M16, M20, M24]", "[5/8 in, 3/4 in]").replace("outside: 340 mm", "outside: 10.7 in")
    text = text.replace("title:", "units: us\ntitle:").replace("circle: 316 mm", "circle: 9.5 in")
    assert [each["size"] for each in sized(tmp_path, "9.6 in", text)["ranked"]] == ["5/8 in"]
    said = flat(run(tmp_path, text, "size", "--circles", "9.6 in").output)
    assert "outside them 10.85 in, flange 10.7 in; a nut has 1.25 in across flats (ASME B18.2.2)" in said
