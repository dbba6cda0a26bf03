"""Bolts of one joint on different friction: new or cleaned ones beside tight ones that keep their threads. Cases invented."""

from __future__ import annotations

import csv
import html
import io
import json
import re
from pathlib import Path

import numpy as np
import pytest

from anchorsize import CaseFileError, assess, parse_case
from anchorsize.assessment.findings_target import held_back, new_threads
from anchorsize.present.boltup import sheet_html
from anchorsize.studies.boltup import boltup
from anchorsize.studies.repaired import repair, repaired
from anchorsize.studies.torque import window
from tests.browser import load
from tests.support_cases import on_one_line, printed

CASE = """\
case_file: 1
title: elbow on a wash header, found in service (invented)
fluid: {name: water, density: 1000 kg/m^3}
fitting:
  mass: 18 kg
  shape: {start: [0, 0, 0 m], direction: [1, 0, 0], bore: 100 mm, kind: elbow, turn: 90 deg, toward: [0, 0, 1], radius: 152 mm}
joints:
  main:
    at: inlet
    reference: [0, 0, 1]
    bolts: {count: 8, size: M16, circle: 180 mm, class: "8.8", missing: [1]}
    gasket: {inside: 115 mm, outside: 162 mm, thickness: 2 mm, modulus: 400 MPa, m: 2, y: 11 MPa, condition: in_place}
    tightening:
      torque: [-, 120, 30, 120, 120, 120, 120, 120 N*m]
      nut_factor: 0.3
      lubricant: rusty, dry
      scatter: 30 %
      target_torque: TARGET
    grip: 44 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa, gasket_pressure_greatest: 80 MPa}
cases:
  shut: {inlet: {flow_in: 0 L/s, pressure: 600 kPa}, outlet: capped}
"""
D = 0.016  # m, M16
OWN = "{all: 150 N*m, 1: 60 N*m, 3: 60 N*m}\n      target_nut_factor: {all: 0.3, 1: 0.12, 3: 0.12}\n      target_lubricant: molybdenum paste"
ONE = "150 N*m"
NEW, TIGHT = (1, 3), (2, 4, 5, 6, 7, 8)


def case(target: str = OWN) -> str:
    return CASE.replace("TARGET", target)


def joint(text: str):
    return parse_case(text, "t.yaml").joints["main"]


def sheet_data(tmp_path: Path, text: str, *words: str) -> dict:
    said = printed(tmp_path, text, "boltup", "--json", *words)[1]
    return json.loads(said[said.index("{\n") :])  # behind the note of what --repaired changes


def page(text: str, mended: bool = False) -> str:
    study = parse_case(text, "t.yaml")
    made = assess(repaired(study) if mended else study)
    return str(sheet_html(made, boltup(made, None, study if mended else None), assess(study) if mended else None))


def read(text: str, mended: bool = False) -> str:
    return " ".join(html.unescape(re.sub("<[^>]*>", " ", page(text, mended).split("</style>")[-1])).split())


def kinds(text: str) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for each in assess(parse_case(text, "t.yaml")).warnings:
        found.setdefault(each.kind, []).append(each.message)
    return found


# -- each bolt pulls by its own friction --------------------------------------------------------------------------------


@pytest.mark.parametrize("words", [(), ("--repaired",)])
def test_each_bolt_of_the_sheet_pulls_by_its_own_torque_and_friction(tmp_path, words):
    """T/(K d): 150/(0.3 × 0.016) = 60/(0.12 × 0.016) = 31 250 N."""
    data = sheet_data(tmp_path, case(), *words)
    for bolt in data["bolts"]:
        torque, factor = (60.0, 0.12) if bolt["number"] in NEW else (150.0, 0.3)
        assert bolt["torque_Nm"] == pytest.approx(torque)
        if bolt["turn"] is not None:
            assert bolt["preload_N"] == pytest.approx(torque / (factor * D), rel=1e-12)
            assert bolt["preload_greatest_N"] == pytest.approx(1.3 * 31250.0, rel=1e-12)
    assert data["nut_factor"] is None
    assert data["nut_factors"] == pytest.approx([0.12, 0.3, 0.12, *[0.3] * 5])
    groups = [(group["bolts"], group["torque_Nm"], group["nut_factor"]) for group in data["passes"][-1]["groups"]]
    assert groups == [([1, 3], pytest.approx(60.0), 0.12), ([2, 4, 5, 6, 7, 8], pytest.approx(150.0), 0.3)]
    assert data["no_torque"] is None
    assert data["torque_not_for"] == []


def test_one_torque_on_two_frictions_is_two_groups_and_pulls_apart(tmp_path):
    """150/(0.12 × 0.016) = 78 125 N, two and a half times that of K 0.3."""
    data = sheet_data(tmp_path, case(f"{ONE}\n      target_nut_factor: [0.12, 0.3, 0.12, 0.3, 0.3, 0.3, 0.3, 0.3]"))
    assert [group["bolts"] for group in data["passes"][-1]["groups"]] == [[1, 3], [2, 4, 5, 6, 7, 8]]
    # a nut at 150 N·m beside a gasket that stays is not turned by a part of 150 N·m
    assert [group["bolts"] for group in data["passes"][0]["groups"]] == [[1, 3]]
    each = {bolt["number"]: bolt["preload_N"] for bolt in data["bolts"]}
    assert each[3] == pytest.approx(78125.0)
    assert each[3] / each[4] == pytest.approx(2.5)


def test_the_repaired_joint_of_even_pull_is_judged_as_one_of_one_friction():
    """The same pull in every bolt, so that every check and both ends of the window are those of a single friction."""
    own, one = (assess(repaired(parse_case(text, "t.yaml"))) for text in (case(), case(ONE)))
    for mixed, plain in zip(own.cases["shut"].checks, one.cases["shut"].checks, strict=True):
        assert float(mixed.utilization) == pytest.approx(float(plain.utilization), rel=1e-9)
    assert not {"bolt far looser", "loose bolts"} & {each.kind for each in own.warnings}
    ends = [window(made.study, "main", made.cases) for made in (own, one)]
    for end in ("least", "greatest", "twisted", "torque"):
        first, second = (getattr(found, end) for found in ends)
        assert first == second or first == pytest.approx(second, rel=1e-7)
    assert (ends[0].frictions, ends[1].frictions) == (2, 1)


def test_a_window_of_bolts_of_different_friction_is_in_multiples_of_their_target(tmp_path):
    data = json.loads(printed(tmp_path, case(), "check", "--json")[1])
    after = data["when_repaired"]["tightening"]["main"]["torque_greatest_Nm"]
    scaled = {"150 N*m": f"{after!r} N*m", "60 N*m": f"{0.4 * after!r} N*m"}
    for share, holds in ((1.0 - 1e-6, True), (1.0 + 1e-6, False)):
        text = case()
        for old, new in scaled.items():
            text = text.replace(old, f"{float(new.split()[0]) * share!r} N*m")
        made = assess(repaired(parse_case(text, "t.yaml"))).cases["shut"].checks
        upper = [check for check in made if check.check in ("bolt proof", "gasket crushing")]
        assert all(bool(check.holds) for check in upper) is holds
    said = on_one_line(tmp_path, case(), "check", "--brief")[1]
    assert "the torques are those of the bolts with the greatest, the others in proportion" in said


def test_friction_found_may_go_by_the_bolt_too(tmp_path):
    text = case(ONE).replace("nut_factor: 0.3\n", "nut_factor: [0.3, 0.3, 0.3, 0.2, 0.3, 0.3, 0.3, 0.3]\n")
    mean = assess(parse_case(text, "t.yaml")).cases["shut"].joints["main"].clamping.mean
    assert mean[3] == pytest.approx(120.0 / (0.2 * D))
    assert mean[1] == pytest.approx(120.0 / (0.3 * D))
    assert (
        "nut factor 0.300 of bolts 1, 2, 3, 5, 6, 7 and 8, 0.200 of bolt 4" in on_one_line(tmp_path, text, "check")[1]
    )


def test_forms_that_say_the_same_give_the_same(tmp_path):
    mapping, listed = (
        case(),
        case().replace("{all: 0.3, 1: 0.12, 3: 0.12}", "[0.12, 0.3, 0.12, 0.3, 0.3, 0.3, 0.3, 0.3]"),
    )
    assert sheet_data(tmp_path, mapping) == sheet_data(tmp_path, listed)
    alike = [
        case(f"{ONE}\n      target_nut_factor: {form}")
        for form in ("0.3", "[0.3]", "{all: 0.3}", f"[{'0.3, ' * 7}0.3]")
    ]
    first, *others = [sheet_data(tmp_path, text) for text in alike]
    assert (first["nut_factor"], first["nut_factors"]) == (0.3, None)
    assert all(other == first for other in others)


@pytest.mark.parametrize(
    ("factors", "message"),
    [
        ("[0.12, 0.3]", "2 values for 8 bolts"),
        ("{1: 0.12, 3: 0.12}", "no value for bolt 2, 4, 5, 6, 7, 8"),
        ("{all: 0.3, 9: 0.12}", "there is no bolt 9"),
        ("{all: 0.3, 1: 1.2}", "'1.2'"),
        ("{all: 0.3, 1: moly}", "anchorsize table nut_factors"),
        ("[-, 0.3, 0.12, 0.3, 0.3, 0.3, 0.3, 0.3]", "every bolt has one, the missing ones too"),
    ],
)
def test_factors_that_cannot_be_read_are_told_at_their_line(factors, message):
    with pytest.raises(CaseFileError) as refused:
        joint(case(f"{ONE}\n      target_nut_factor: {factors}"))
    (problem,) = refused.value.problems
    assert problem.line == 19
    assert message in str(problem)


# -- tight nuts stay tight ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("target", "bolts"),
    [
        (OWN, ()),
        (f"{ONE}\n      target_nut_factor: 0.12", TIGHT),  # nothing gets under a tight nut
        (OWN.replace("3: 0.12", "3: 0.12, 5: 0.12"), (5,)),
        (OWN.replace("all: 150", "all: 110"), TIGHT),  # 120 found on the same threads
        (OWN.replace("1: 60 N*m", "1: 60 N*m, 6: 110 N*m").replace("3: 0.12", "3: 0.12, 5: 0.12"), (5, 6)),
    ],
)
def test_only_what_a_tight_nut_has_not_is_held_back(target, bolts):
    assert held_back(joint(case(target))) == bolts


def test_why_a_target_is_held_back_names_the_bolts_of_each_reason():
    text = case(OWN.replace("1: 60 N*m", "1: 60 N*m, 6: 110 N*m").replace("3: 0.12", "3: 0.12, 5: 0.12"))
    reason = repair(assess(parse_case(text, "t.yaml"))).reason
    assert "bolt 5 is tight, and the target counts on other friction" in reason
    assert "bolt 6 was found tighter than the target" in reason


def test_the_sheet_names_the_bolts_their_friction_and_what_goes_on_them():
    for said in (read(case()), read(case(), True)):
        assert (
            "bolts 1 and 3: K = 0.12, molybdenum paste; bolts 2, 4, 5, 6, 7 and 8: K = 0.3, threads left as found (rusty, dry)"
            in said
        )
        assert (
            "Threads and nut faces of bolts 1 and 3: lubricant: molybdenum paste. Nothing is put on the others" in said
        )
        assert "1, 3 (K 0.12)" in said
        assert "2, 4, 5, 6, 7, 8 (K 0.3)" in said
        assert "all alike" not in said
        assert "torque of the other bolts" not in said


def test_a_lubricant_is_held_against_the_factors_of_the_bolts_it_goes_on():
    """Molybdenum paste goes with 0.12 and not with the 0.3 that the tight bolts keep; 0.2 is doubted, and that alone."""
    assert "nut factor is not the lubricant's" not in kinds(case())
    after = assess(repaired(parse_case(case(), "t.yaml")))
    assert not any(each.doubtful for each in after.warnings)
    (told,) = kinds(case(OWN.replace("3: 0.12", "3: 0.2")))["nut factor is not the lubricant's"]
    assert "target_nut_factor 0.2 does not go" in told


def test_the_report_works_each_friction_out(tmp_path):
    out = tmp_path / "r.md"
    printed(tmp_path, case(), "report", "--repaired", "--full", "--no-limits", "-o", str(out))
    text = out.read_text()
    assert "Mean preload from the torque" in text
    lines = [line for line in text.splitlines() if "0.12" in line and "60" in line and "0.016" in line]
    assert lines


def test_bolts_are_not_chosen_with_factors_of_single_bolts(tmp_path):
    text = case(ONE).replace("nut_factor: 0.3\n", "nut_factor: [0.3, 0.3, 0.3, 0.2, 0.3, 0.3, 0.3, 0.3]\n")
    code, said = on_one_line(tmp_path, text, "size", "--counts", "8,12", "--torques", "100 N*m")
    assert code == 2
    assert "its nut factor differs from bolt to bolt" in said


# -- a torque for rusty threads is not for new ones ---------------------------------------------------------------------


def least_of_the_table() -> float:
    rows = (Path(__file__).parents[1] / "tables" / "nut_factors.csv").read_text().splitlines()
    each = csv.DictReader(io.StringIO("\n".join(row for row in rows if not row.startswith("#"))))
    return min(float(row[key]) for row in each for key in ("low", "typical", "high") if row[key])


def test_the_torque_for_the_threads_found_is_forbidden_on_new_ones_everywhere(tmp_path):
    harder = 0.3 / least_of_the_table()
    assert harder == pytest.approx(4.0)
    assert new_threads(joint(case(ONE))) == NEW
    words = "DO NOT USE THE TORQUE ON BOLTS 1 AND 3: new or cleaned threads turn easier. It is for the friction as found (K 0.3); at K 0.075"
    for said in (
        on_one_line(tmp_path, case(ONE), "check", "--brief")[1],
        on_one_line(tmp_path, case(ONE), "check")[1],
        on_one_line(tmp_path, case(ONE), "check", "--brief", "--repaired")[1],
    ):
        head, rest = said.split("On site")
        assert words in head
        assert "it pulls 4 times as hard" in head
        assert "(NOT for bolts 1 and 3)" in rest
        assert "; NOT for bolts 1 and 3, of new or cleaned threads" in rest
    for said in (read(case(ONE)), read(case(ONE), True)):
        assert said.index(words) < said.index("Bolting up:")
        assert "Torque of each pass, NOT for bolts 1 and 3" in said
        assert "Threads of bolts 1 and 3 new or cleaned: NOT the torque of this sheet." in said
    for flags in ((), ("--repaired",)):
        data = sheet_data(tmp_path, case(ONE), *flags)
        assert data["torque_not_for"] == list(NEW)
        assert data["tightening"]["not_for"] == list(NEW)
    said = on_one_line(tmp_path, case(ONE), "boltup", "-o", str(tmp_path / "s.html"))[1]
    assert words in said


@pytest.mark.parametrize(
    ("text", "bolts"),
    [
        (case(), ()),
        (case(ONE), NEW),
        (
            case(OWN.replace(", 3: 0.12}", "}")),
            (3,),
        ),  # forgotten: it comes out to be looked at, and has no friction of its own
        (case(ONE).replace("in_place", "reused"), ()),  # all nuts come off, and all threads are alike
        (case(ONE).replace(", missing: [1]", "").replace("[-, 120, 30,", "[120, 120, 120,"), ()),  # none comes out
    ],
)
def test_which_bolts_the_torque_is_not_for(text, bolts):
    assert new_threads(joint(text)) == bolts
    assert ("torque is not for new threads" in kinds(text)) is bool(bolts)


def test_frictions_in_place_of_a_nut_factor_are_told_as_the_factor_they_come_to():
    """K = 0.159 P/d + 0.577 d2 μ/d + μ D/(2 d), VDI 2230 short form, which runs some tenths of a percent low."""
    text = case(ONE).replace(
        "nut_factor: 0.3\n", "thread_friction: 0.2\n      bearing_friction: 0.2\n      bearing_diameter: 20 mm\n"
    )
    by_hand = (0.159 * 2.0 + 0.577 * 14.701 * 0.2 + 0.2 * 10.0) / 16.0
    (told,) = kinds(text)["torque is not for new threads"]
    assert float(re.search(r"\(K ([0-9.]+)\)", told)[1]) == pytest.approx(by_hand, rel=0.01)


def test_the_sheets_of_different_friction_stay_one_page(browser, tmp_path):
    for name, text in (("own", case()), ("one", case(ONE))):
        for mended in (False, True):
            path = tmp_path / f"{name}{mended}.html"
            path.write_text(page(text, mended), encoding="utf-8")
            shown = load(browser, path)
            assert [shown.printed_pages(paper) for paper in ("A4", "Letter")] == [1, 1]
            assert shown.overflow(375) == 0


def test_tightness_is_compared_at_one_friction():
    """Alone, 60 beside 150 N·m would be far looser; at K 0.12 beside 0.3 it pulls alike."""
    after = repaired(parse_case(case(), "t.yaml")).joints["main"]
    assert after.tightening.comparable == pytest.approx(np.full(8, 150.0))
    assert not after.loose


# -- stainless bolts ---------------------------------------------------------------------------------------------------


STAINLESS = """\
case_file: 1
title: blank (invented)
fluid: {name: water, density: 1000 kg/m^3}
openings: {inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 80 mm}}
joints:
  main:
    at: inlet
    bolts: {count: 8, size: M16, circle: 160 mm, class: GRADE}
    tightening: {torque: 30 N*m, nut_factor: 0.2, lubricant: PASTE, scatter: 30 %}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases: {shut: {inlet: {flow_in: 0 L/s, pressure: 600 kPa}}}
"""


@pytest.mark.parametrize(
    ("grade", "lubricant", "galls", "doubted"),
    [
        ("A2-70", "dry", True, True),
        ("A4-80", "none", True, True),
        ("A193 B8 Cl.1", "dry", True, True),
        ("A2-70", "copper paste", True, False),
        ('"8.8"', "dry", False, False),
        ("A193 B7", "dry", False, False),
    ],
)
def test_stainless_bolts_gall_where_they_are_dry(tmp_path, grade, lubricant, galls, doubted):
    """Supplier data of table nut_factors: stainless, dry, 0.30 to 0.50; at 0.5 the same torque pulls 60 % less than at 0.2."""
    text = STAINLESS.replace("GRADE", grade).replace("PASTE", lubricant)
    if "A193" in grade:
        text = text.replace("M16", "5/8 in")
    found = {each.kind: each for each in assess(parse_case(text, "t")).warnings}
    assert ("stainless bolts gall" in found) is galls
    assert (
        "nut factor is not the lubricant's" in found
        and "'stainless 302, dry'" in found["nut factor is not the lubricant's"].message
    ) is doubted
    if doubted:
        assert "33% to 60% less than judged here" in found["nut factor is not the lubricant's"].message
        assert found["nut factor is not the lubricant's"].doubtful
    printed(tmp_path, text, "boltup", "-o", str(tmp_path / "s.html"))
    assert ("STAINLESS: never dry, it galls." in (tmp_path / "s.html").read_text(encoding="utf-8")) is galls
