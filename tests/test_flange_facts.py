"""What a standard flange brings into a joint: raised face, ring, grip, rating; and what is said where one does not suit."""

from __future__ import annotations

import json
import math
import re

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from anchorsize.assessment import StudyError, assess
from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.cli.commands import check as check_command
from anchorsize.cli.size import size as size_command
from anchorsize.present.words import quantity
from anchorsize.studies.size import size
from anchorsize.studies.size_candidates import candidates, chosen_sizing, fit
from anchorsize.study import Gasket, Sizing
from anchorsize.units import show

INCH = 0.0254
PSI = 6894.757293168361

# A riser tee of NPS 6, class 150. Invented.
RISER = """\
case_file: 1
title: riser tee
units: us
fluid: {name: water, temperature: 60 F}
fitting: {mass: 160 lb, mass_center: [0, 0, 16 in], contents: 3.6 gal, contents_center: [0, 0, 14 in]}
openings:
  foot: {center: [0, 0, 0 in], outward: [0, 0, -1], bore: 6.065 in}
  east: {center: [14, 0, 14 in], outward: [1, 0, 0], bore: 4.026 in}
joints:
  foot joint:
    at: foot
    reference: [0, 1, 0]
    bolts: {count: 8, size: 3/4-10 UNC, circle: 9-1/2 in, first_at: 22.5 deg, class: ASTM A193 Grade B7}
    gasket: {inside: 6 5/8 in, outside: 8.75 in, thickness: 1/16 in, modulus: 72500 psi, m: 2.75, y: 3700 psi}
    flange: {designation: ASME B16.5 class 150 NPS 6, rating: from table}
    tightening: {torque: 100 ft*lbf, nut_factor: 0.18, scatter: 25 %, relaxation: 10 %}
    grip: 2-1/16 in
    bolt_modulus: 29.7e6 psi
    face_friction: 0.15
allow: {bolt_tension: 25 ksi, bolt_shear: 14 ksi, bolt_spacing_greatest: from formula, gasket_pressure_greatest: 10 ksi}
cases:
  still: {foot: {flow_in: 0 gpm, pressure: 100 psi}, east: capped}
"""
OWN = "ASME B16.5 class 150 NPS 6"
JOINT = "foot joint"
BARE = RISER.replace(f"designation: {OWN}, rating: from table", "outside: 11 in, thickness: 1 in")


def read(text):
    return parse_case(text, "riser.yaml")


def fitted(text, name):
    study = read(text)
    (candidate,) = candidates(study, JOINT, Sizing(flanges=(name,)))
    return fit(study, JOINT, candidate).joints[JOINT]


def said_of(command, text, tmp_path, *words):
    path = tmp_path / "riser.yaml"
    path.write_text(text)
    result = CliRunner().invoke(command, [str(path), *map(str, words)])
    return " ".join(result.output.split())


def kinds(text):
    return {finding.kind: finding for finding in assess(read(text)).warnings}


# The raised face. ASME B16.5: 8.5 in across at NPS 6 in every class; the ring of B16.21 reaches to 9.5 - 0.75 = 8.75 in.


def test_the_gasket_is_pressed_no_farther_than_the_raised_face():
    ring = read(RISER).joints[JOINT].gasket
    assert ring.outside == pytest.approx(8.5 * INCH)
    assert ring.rim == pytest.approx(8.75 * INCH)
    flat = read(RISER.replace("rating: from", "raised_face: flat, rating: from")).joints[JOINT].gasket
    assert flat.outside == flat.rim == pytest.approx(8.75 * INCH)
    own = read(RISER.replace("rating: from", "raised_face: 8-1/4 in, rating: from")).joints[JOINT].gasket
    assert own.outside == pytest.approx(8.25 * INCH)


def test_face_pressure_and_reaction_diameter_are_those_of_the_contact():
    """Before any load n F over the contact; G = 8.5 in - 2b, b = 0.5 sqrt(b0), b0 = (8.5 - 6.625)/4 in (App. 2)."""
    case = assess(read(RISER)).cases["still"].joints[JOINT]
    greatest = 8 * float(case.clamping.greatest[0])
    area = math.pi / 4 * (8.5**2 - 6.625**2) * INCH**2
    assert greatest / float(case.clamping.stiff.face.area()) == pytest.approx(greatest / area)
    # torque 100 ft lbf over K d = 0.18 x 0.75 in, a quarter more, eight bolts: 88,889 lbf
    assert greatest / area / PSI == pytest.approx(8 * 1.25 * 1200 / (0.18 * 0.75) / (math.pi / 4 * 28.359375), rel=1e-6)
    assert float(case.reaction_diameter) / INCH == pytest.approx(8.5 - math.sqrt(1.875 / 4))
    whole = assess(read(RISER.replace("rating: from", "raised_face: flat, rating: from"))).cases["still"].joints[JOINT]
    assert float(whole.reaction_diameter) / INCH == pytest.approx(8.75 - math.sqrt(2.125 / 4))


def test_seating_and_bounds_follow_the_contact():
    """Wm2 = pi b G y (App. 2); without a stiffness, the closed face carries F/A, all of it over the contact."""
    text = RISER.replace("    bolt_modulus: 29.7e6 psi\n", "").replace("pressure: 100 psi", "pressure: 0 psi")
    checks = {each.check: each for each in assess(read(text)).cases["still"].checks}
    b = math.sqrt(1.875 / 4) / 2
    wanted = math.pi * b * (8.5 - 2 * b) * 3700 * 4.4482216152605
    assert float(checks["gasket seating"].demand) == pytest.approx(wanted, rel=1e-9)
    flat = {
        each.check: each
        for each in assess(read(text.replace("rating: from", "raised_face: flat, rating: from"))).cases["still"].checks
    }
    more = float(checks["gasket crushing"].demand) / float(flat["gasket crushing"].demand)
    assert more > (8.75**2 - 6.625**2) / (8.5**2 - 6.625**2)  # bending about the smaller ring adds to it


@given(rim=st.floats(0.1, 1.0), face=st.floats(0.1, 1.0))
def test_contact_is_the_lesser_and_the_ring_is_kept(rim, face):
    ring = Gasket(0.05, rim).on(face)
    assert (ring.outside, ring.rim) == (min(rim, face), rim)
    assert ring.on(None).outside == rim
    assert ring.on(2.0).outside == rim


def test_what_is_pressed_is_said(tmp_path):
    said = said_of(check_command, RISER, tmp_path)
    assert "outside 8.750 in, pressed by the raised face out to 8.500 in" in said
    assert "reaches past the raised face: it is pressed out to the raised face only" in said
    assert "half the contact as with a flat facing (App. 2, Table 2-5.2, sketch 1a)" in said
    assert "is pressed over its whole width, for no raised face is known" in said_of(check_command, BARE, tmp_path)
    flat = said_of(check_command, BARE.replace("thickness: 1 in", "thickness: 1 in, raised_face: flat"), tmp_path)
    assert "raised face" not in flat
    assert "flat face" in flat


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("rating: from", "raised_face: 6.5 in, rating: from", "the raised face ends inside the gasket, '6 5/8 in'"),
        ("rating: from", "raised_face: 12 in, rating: from", "'12 in' reaches past the flange, 11 in"),
        ("y: 3700 psi", "y: 3700 psi, reaction_diameter: 8.6 in", "'8.6 in' is outside the raised face"),
        ("y: 3700 psi", "y: 3700 psi, facing: 1b", "b0 is half the contact width, as with a flat facing"),
    ],
)
def test_what_cannot_be_of_a_face_is_refused(old, new, says):
    with pytest.raises(CaseFileError) as caught:
        read(RISER.replace(old, new))
    assert says in str(caught.value)


# Grip. ASME B16.5 thickness without the raised face: 0.94, 1.38 and 2.19 in for classes 150, 300, 900; faces of 0.06, 0.06, 0.25 in.
@pytest.mark.parametrize(
    ("name", "grip"),
    [
        (OWN, 2.0625),
        ("ASME B16.5 class 300 NPS 6", 2 * (1.38 + 0.06) + 0.0625),
        ("ASME B16.5 class 900 NPS 6", 2 * (2.19 + 0.25) + 0.0625),
        ("AWWA C207 class D 6 in", 2 * 0.688 + 0.0625),  # flat
        ("EN 1092-1 PN 16 DN 150", 2 * 22 / 25.4 + 0.0625),  # C2 = 22 mm holds the raised face
    ],
)
def test_the_grip_follows_the_flange(name, grip):
    unrated = RISER.replace(", rating: from table", "")
    assert float(fitted(unrated, name).grip) / INCH == pytest.approx(grip)


def test_washers_stay_in_the_grip_and_flat_faces_have_no_height():
    with_washers = RISER.replace("grip: 2-1/16 in", "grip: 2.2 in")
    assert float(fitted(with_washers, "ASME B16.5 class 300 NPS 6").grip) / INCH == pytest.approx(2.2 + 2 * 0.44)
    flat = RISER.replace("rating: from", "raised_face: flat, rating: from").replace("2-1/16 in", "1.9425 in")
    assert float(fitted(flat, "ASME B16.5 class 600 NPS 6").grip) / INCH == pytest.approx(2 * 1.88 + 0.0625)


def test_load_factor_of_the_chosen_flange_is_that_of_its_grip(tmp_path):
    """C = n k_b/(n k_b + E A/t), k_b = E As/L: twelve 3/4-10 of 0.334 in² over 2.9425 in, by ASME B1.1 and B16.5."""
    text = RISER.replace("bolt_spacing_greatest: from formula, ", "")
    target = tmp_path / "new.yaml"
    said_of(size_command, text, tmp_path, "--flanges", "ASME B16.5 class 300 NPS 6", "--write", target)
    new = target.read_text()
    assert "    grip: 2.9425 in\n" in new
    case = assess(read(new)).cases["still"].joints[JOINT]
    bolts = 12 * 29.7e6 * 0.334 / 2.9425
    # the ring of ASME B16.21 class 300 begins at 6.62 in; the raised face ends at 8.5 in
    face = 72500 * math.pi / 4 * (8.5**2 - 6.62**2) / 0.0625
    assert float(case.clamping.stiff.load_factor) == pytest.approx(bolts / (bolts + face), rel=2e-3)
    assert not {"grip too short", "grip of another flange"} & kinds(new).keys()


def test_a_grip_of_its_own_is_kept_loudly(tmp_path):
    """3.5 in is not that of two flanges of 1 in: something else stands between them."""
    text = RISER.replace("grip: 2-1/16 in", "grip: 3.5 in").replace("bolt_spacing_greatest: from formula, ", "")
    name = "ASME B16.5 class 300 NPS 6"
    assert float(fitted(text, name).grip) == pytest.approx(3.5 * INCH)
    said = said_of(size_command, text, tmp_path, "--flanges", name)
    assert said.count("GRIP OF THE FILE KEPT, which need not suit this flange: it is not about that of two") == 2
    unknown = RISER.replace(f"designation: {OWN}, rating: from table", "outside: 11 in")
    assert "the thickness of the file's is not known" in said_of(size_command, unknown, tmp_path, "--flanges", name)


def test_a_thread_longer_than_the_grip_is_no_choice():
    text = RISER.replace(", rating: from table", "").replace(
        "    face_friction", "    thread_length_in_grip: 2 in\n    face_friction"
    )
    found = size(read(text), JOINT, Sizing(flanges=("AWWA C207 class D 6 in",)))
    ((_, why),) = found.impossible
    assert "thread_length_in_grip of the file is longer than the grip" in why


@pytest.mark.parametrize(
    ("grip", "kind"),
    [
        ("0.9 in", "grip too short"),  # less than 0.94 + 0.0625 in
        ("1.1 in", "grip of another flange"),  # one flange and the gasket: tapped holes
        ("1.8 in", "grip of another flange"),
        ("1.9 in", None),
        ("2.25 in", None),
        ("2.3 in", "grip of another flange"),
    ],
)
def test_a_grip_that_is_not_the_flange_s_is_noticed(grip, kind):
    found = kinds(RISER.replace("2-1/16 in", grip))
    told = {"grip too short", "grip of another flange"} & found.keys()
    assert told == ({kind} if kind else set())
    if kind:
        assert found[kind].doubtful == (kind == "grip too short")


def test_a_grip_too_short_stands_beside_the_verdict(tmp_path):
    kept = RISER.replace(OWN, "ASME B16.5 class 900 NPS 6").replace("circle: 9-1/2", "circle: 12-1/2")
    said = said_of(check_command, kept.replace("3/4-10 UNC", "1-1/8 in"), tmp_path)
    assert "the grip, 2.0625 in, is less than the flange and the gasket alone are thick" in said
    assert said.index("is less than the flange") < said.index("Assumptions")


# Rings. ASME B16.21: class 300 NPS 6 reaches to 10.625 - 0.75 in; none is tabled for class 600 and up.


def test_a_tabled_ring_gives_way_to_that_of_the_flange(tmp_path):
    ring = fitted(RISER, "ASME B16.5 class 300 NPS 6").gasket
    assert ring.rim / INCH == pytest.approx(9.875, abs=0.006)  # printed to 0.01 in
    assert ring.outside == pytest.approx(8.5 * INCH)
    target = tmp_path / "new.yaml"
    text = RISER.replace("bolt_spacing_greatest: from formula, ", "")
    said_of(size_command, text, tmp_path, "--flanges", "ASME B16.5 class 300 NPS 6", "--write", target)
    assert re.search(r"outside: 9\.8[78]\d* in", target.read_text())


@pytest.mark.parametrize(
    ("text", "name", "why"),
    [
        (RISER, "ASME B16.5 class 900 NPS 6", "no ring is tabled for this flange"),
        (RISER.replace("8.75 in", "8 in"), "ASME B16.5 class 300 NPS 6", "it is not that of a tabled flange"),
        (BARE, "ASME B16.5 class 300 NPS 6", "it is not that of a tabled flange"),
    ],
)
def test_a_ring_that_is_kept_is_said_in_row_and_choice(text, name, why, tmp_path):
    assert fitted(text, name).gasket.rim == read(text).joints[JOINT].gasket.rim
    text = text.replace("bolt_spacing_greatest: from formula, ", "")
    said = said_of(size_command, text, tmp_path, "--flanges", name)
    assert f"row 1: gasket ring of the file kept: {why}" in said
    assert f" - gasket ring of the file kept: {why}" in said
    data = json.loads(
        CliRunner().invoke(size_command, [str(tmp_path / "riser.yaml"), "--flanges", name, "--json"]).output
    )
    assert data["ranked"][0]["held"] == [f"gasket ring of the file kept: {why}"]


# Which flanges are looked at.


def standards(text, sizing):
    study = read(text)
    made = candidates(study, JOINT, chosen_sizing(study, JOINT, sizing))
    return {each.flange.split(" ")[0] for each in made}


def test_standard_keeps_to_the_standard_that_mates(tmp_path):
    every = Sizing(standard=True)
    assert standards(RISER, every) == {"ASME"}
    assert standards(RISER.replace(OWN, "AWWA C207 class D 6 in").replace(", rating: from table", ""), every) == {
        "AWWA"
    }
    assert standards(BARE, every) == {"ASME"}
    metric = BARE.replace("3/4-10 UNC", "M16").replace("ASTM A193 Grade B7", '"8.8"')
    assert standards(metric, every) == {"EN"}
    assert standards(RISER, Sizing(standard=True, flanges=("EN 1092-1 PN 16 DN 150",))) == {"ASME", "EN"}
    said = said_of(size_command, RISER, tmp_path, "--standard")
    assert "standard flanges are those of ASME B16.5, that of the file's flange" in said
    assert "--flanges" in said
    bolted = said_of(size_command, BARE, tmp_path, "--standard")
    assert "standard flanges are those of ASME B16.5, for its inch bolts" in bolted


def names(text, sizing):
    study = read(text)
    return [each.flange for each in candidates(study, JOINT, chosen_sizing(study, JOINT, sizing))]


def test_counts_sizes_and_circles_choose_among_standard_flanges(tmp_path):
    """ASME B16.5 NPS 6: 8 x 3/4 on 9.5 in, 12 x 3/4 on 10.625 in, 12 x 1 on 11.5 in, 12 x 1-1/8 and 12 x 1-3/8 on 12.5 in."""
    assert names(RISER, Sizing(standard=True, sizes=("3/4-10 UNC",), circles=(9.5 * INCH,), counts=(8,))) == [OWN]
    assert names(RISER, Sizing(standard=True, circles=(12.5 * INCH,))) == [
        "ASME B16.5 class 900 NPS 6",
        "ASME B16.5 class 1500 NPS 6",
    ]
    assert len(names(RISER, Sizing(standard=True, counts=(12,)))) == 4
    with pytest.raises(StudyError, match=r"none of the standard flanges has a drilling that .*8 x 3/4 in on 9.5 in"):
        names(RISER, Sizing(standard=True, sizes=("M16",)))
    said = said_of(size_command, RISER, tmp_path, "--standard", "--counts", "8")
    assert "left out, for counts, sizes and circles allow no such drilling: ASME B16.5 class 300 NPS 6" in said


def test_the_sizing_of_the_file_leaves_flanges_asked_for_alone(tmp_path):
    listed = RISER.replace("allow: {", "sizing: {sizes: [5/8 in], counts: [4]}\nallow: {")
    assert len(names(listed, Sizing(standard=True))) == 5
    said = said_of(size_command, listed, tmp_path, "--standard")
    assert "counts, sizes under sizing in the file were left aside" in said
    inside = RISER.replace("allow: {", "sizing: {standard: yes, counts: [8]}\nallow: {")
    assert names(inside, Sizing()) == [OWN]


# A lost bolt, and the rule on spacing.


def test_with_a_lost_bolt_it_is_said_which_figure_is_which(tmp_path):
    said = said_of(size_command, RISER, tmp_path, "--standard", "--robust")
    row = re.search(r"1 12 x 1-1/8 in widest bolt gap 12\.50 [\d,]+ [\d.]+ ([\d.]+)", said)
    assert "with every bolt there: governed by" in said
    lost = re.search(
        r"missing: governed by widest bolt gap of joint 'foot joint', utilization ([\d.]+), [^(]*\(the figure", said
    )
    assert row[1] == lost[1]
    assert said.count("(the figure of the table above)") == 1


def test_a_spacing_rule_that_all_fail_is_their_common_cause(tmp_path):
    said = said_of(size_command, RISER, tmp_path, "--standard", "--robust")
    assert "All that miss fail widest bolt gap, some only with a bolt missing: that is their common cause." in said
    assert "the drilling of a standard flange is proven by its standard" in said
    data = json.loads(
        CliRunner().invoke(size_command, [str(tmp_path / "riser.yaml"), "--standard", "--robust", "--json"]).output
    )
    assert "widest bolt gap" in data["common_causes"]
    free = RISER.replace("bolt_spacing_greatest: from formula", "bolt_spacing_greatest: 2 in")
    assert "proven by its standard" not in said_of(size_command, free, tmp_path, "--standard", "--robust")


def test_the_common_cause_stands_in_the_verdict_where_nothing_holds(tmp_path):
    """Every standard flange of NPS 6 has its bolts more than 2 in apart: 8 on 9.5 in, 12 on 10.625 to 12.5 in."""
    close = RISER.replace("bolt_spacing_greatest: from formula", "bolt_spacing_greatest: 2 in")
    said = said_of(size_command, close, tmp_path, "--standard", "--robust")
    head = said[: said.index("Rests on the allowables")]
    assert "DOES NOT HOLD" in head
    assert "All that miss fail widest bolt gap" in head
    one = said_of(size_command, RISER, tmp_path, "--robust", "--torques", "100 ft*lbf")
    head = one[: one.index("Rests on the allowables")]
    assert "All that miss" not in head
    assert "the drilling of a standard flange is proven by its standard" in head


def test_check_says_whose_rule_the_spacing_is(tmp_path):
    said = said_of(check_command, RISER, tmp_path)
    assert "Widest bolt gap of joint 'foot joint': The formula of bolt_spacing_greatest (TEMA) is a rule" in said
    given = RISER.replace("bolt_spacing_greatest: from formula", "bolt_spacing_greatest: 2 in")
    assert "proven by its standard" not in said_of(check_command, given, tmp_path)


def test_a_choice_that_stands_a_lost_bolt_says_so_in_the_file(tmp_path):
    target, again = tmp_path / "new.yaml", tmp_path / "again.yaml"
    text = RISER.replace("    at: foot\n", "    note: riser of building 3\n    at: foot\n")
    said_of(size_command, text, tmp_path, "--standard", "--robust", "--write", target)
    (remark,) = read(target.read_text()).remarks
    assert remark.startswith(
        "joints / foot joint: riser of building 3; changed by size --write: flange ASME B16.5 class"
    )
    assert f"(was {OWN})" in remark
    assert "the mating flange must be the same; bolts as chosen by size --robust (" in remark
    assert remark.endswith("): every check made held with any one of them missing")
    CliRunner().invoke(size_command, [str(target), "--torques", "100 ft*lbf", "--robust", "--write", str(again)])
    assert again.read_text().count("any one of them missing") == 1
    CliRunner().invoke(size_command, [str(target), "--torques", "100 ft*lbf", "--write", str(again), "--force"])
    (later,) = read(again.read_text()).remarks
    assert later == remark.partition("; bolts as chosen")[0]  # what an earlier choice changed is changed still


# Ratings, and what to write.


def test_a_rating_from_the_table_says_so():
    case = assess(read(RISER.replace("still: {", "still: {rating_factor: 1.5, "))).cases["still"]
    (rating,) = (each for each in case.checks if each.check == "flange rating")
    assert rating.allowable_from.startswith("flange / rating from table flange_ratings: class 150, ")
    assert rating.allowable_from.endswith(" × rating_factor 1.5 of the case")
    given = assess(read(RISER.replace("rating: from table", "rating: 280 psi"))).cases["still"]
    (rating,) = (each for each in given.checks if each.check == "flange rating")
    assert rating.allowable_from == "flange / rating given"


@pytest.mark.parametrize(
    ("text", "name"),
    [
        (BARE, OWN),
        (BARE.replace("3/4-10 UNC", "M16").replace("ASTM A193 Grade B7", '"8.8"'), "EN 1092-1 PN 16 DN 150"),
        (BARE.replace("bore: 6.065 in", "bore: 4 in"), "ASME B16.5 class 150 NPS 4"),
        (RISER.replace(", rating: from table", ""), OWN),
    ],
)
def test_the_rating_to_supply_is_that_of_a_flange_of_the_bore(text, name):
    (supply,) = (each.supply for each in assess(read(text)).not_checked if each.check == "flange rating")
    assert f"{{designation: {name}, rating: from table}}" in supply


def test_no_table_is_named_that_does_not_rate_the_flange():
    text = RISER.replace(", rating: from table", "").replace(OWN, "AWWA C207 class D 6 in")
    (supply,) = (each.supply for each in assess(read(text)).not_checked if each.check == "flange rating")
    assert supply == "flange / rating: a pressure at the temperature of the fluid"


# Inch drilling is shown as it is drilled.


@given(st.integers(1, 16 * 120))
def test_sixteenths_of_an_inch_are_shown_whole(sixteenths):
    value = sixteenths / 16
    for text in (show(value * INCH, "length", "us"), quantity(value * INCH, "length", "us")):
        number, unit = text.split(" ")
        assert float(number.replace(",", "")) * {"in": 1, "ft": 12}[unit] == pytest.approx(value, rel=5e-4)
        if unit == "in":
            assert float(number) == value


def test_other_lengths_keep_four_figures(tmp_path):
    assert show(7.81534 * INCH, "length", "us") == "7.815 in"
    assert show(9.5 * INCH, "length", "us") == "9.5 in"
    assert show(10.625 * INCH, "length", "metric") == "269.9 mm"
    text = (
        RISER.replace(OWN, "ASME B16.5 class 300 NPS 6")
        .replace("9-1/2 in", "10-5/8 in")
        .replace("count: 8", "count: 12")
    )
    assert "on 10.625 in" in said_of(check_command, text, tmp_path)
