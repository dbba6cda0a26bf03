"""An engineer's fifth trial: openings turned the wrong way, holes too wide, jets that suck, hints that went in circles."""

from __future__ import annotations

import html
import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import yaml
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize.assessment import assess
from anchorsize.assessment.findings_flange import widest
from anchorsize.assessment.findings_openings import notice_openings
from anchorsize.casefile import CaseFileError, parse_case, starter
from anchorsize.cli import main
from anchorsize.reference import NotInTable, coarse_sizes, load, thread
from anchorsize.reference.holes import widest_hole
from tests.cases import ELBOW

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.yaml"))
INWARD = "outward points into the fitting"
SHAPES = ["straight", "reducer", "nozzle", "elbow", "reducing elbow", "mitered elbow", "tee", "lateral", "cap", "chain"]

# A return header on a riser flange; all figures invented.
WYE = """\
case_file: 1
title: return header
fluid: {name: water, density: 1000 kg/m^3}
fitting: {mass: 74 kg, mass_center: [0.05, 0, 0.33 m], contents: 32 L, contents_center: [0.04, 0, 0.33 m]}
openings:
  inlet:  {center: [0, 0, 0 m], outward: [0, 0, -1], bore: 260 mm}
  run:    {center: [0, 0, 0.70 m], outward: [0, 0, 1], bore: 204 mm}
  branch: {center: [0.417, 0, 0.717 m], outward: [1, 0, 1], bore: 154 mm}
joints:
  main:
    at: inlet
    reference: [1, 0, 0]
    bolts: {count: 12, size: M20, circle: 350 mm, first_at: 15 deg, class: "8.8"}
    gasket: {inside: 273 mm, outside: 320 mm, thickness: 4 mm, modulus: 400 MPa, m: 2, y: 11 MPa}
    flange: {outside: 395 mm, thickness: 26 mm, hole: 22 mm}
    tightening: {torque: 160 N*m, nut_factor: 0.2, scatter: 30 %}
    grip: 56 mm
    bolt_modulus: 205 GPa
allow: {bolt_tension: 150 MPa, bolt_shear: 90 MPa}
cases:
  normal:
    inlet: {flow_in: 240 m^3/h, pressure: 1.7 bar}
    run: {flow_out: 150 m^3/h, pressure: 1.6 bar}
    branch: {pressure: 1.6 bar}
"""
INLET = "inlet:  {center: [0, 0, 0 m], outward: [0, 0, -1]"


def findings(text, kind):
    return [found for found in assess(parse_case(text, "f.yaml")).warnings if found.kind == kind]


def run(tmp_path, text, *words):
    path = tmp_path / "f.yaml"
    path.write_text(text, encoding="utf-8")
    return CliRunner().invoke(main, [words[0], str(path), *words[1:]])


def flat(text):
    return html.unescape(" ".join(text.split()))


def told(text, kind, *mentioned):
    """The one finding of a kind, which says all that is mentioned."""
    (found,) = findings(text, kind)
    for words in mentioned:
        assert words in found.message
    return found


# ---- openings turned the wrong way


def bare(study, *, centers=True):
    """The same openings as if they had been written out by hand, without their shape."""
    openings = {name: replace(each, path_moment=None) for name, each in study.openings.items()}
    fitting = replace(study.fitting, centerline=None, widths=None)
    if not centers:
        fitting = replace(fitting, mass_center=None, contents_center=None)
    return replace(study, openings=openings, fitting=fitting)


def turned(study, *names):
    """The study with the outward of some openings the other way round."""
    openings = {
        name: replace(each, outward=-each.outward) if name in names else each for name, each in study.openings.items()
    }
    return replace(study, openings=openings)


def doubted(study):
    """The openings that are said to point into the fitting."""
    found = [each for each in notice_openings(study, {}) if each.kind == INWARD]
    assert all(each.doubtful for each in found)
    return {name for name in study.openings for each in found if f"opening '{name}'" in each.message}


def built(shape, start=(0, 0, 0), direction=(1, 0, 0)):
    place = ", ".join(f"{x:.9f}" for x in start)
    way = ", ".join(f"{x:.9f}" for x in direction)
    text = f"""\
case_file: 1
fluid: {{name: water, density: 1000 kg/m^3}}
fitting:
  shape: {{start: [{place} m], direction: [{way}], bore: 100 mm, {shape}}}
cases:
  still: {{inlet: {{flow_in: 0 L/s, pressure: 0 kPa}}BRANCH}}
"""
    rest = "" if "kind: cap" in shape else ", outlet: capped"
    rest += ", branch: capped" if "branch_bore" in shape else ""
    return parse_case(text.replace("BRANCH", rest), "f.yaml")


lengths = st.floats(20.0, 3000.0)
straights = st.builds(lambda a: f"kind: straight, length: {a} mm", lengths)
reducers = st.builds(
    lambda a, b, kind: f"kind: {kind}, length: {a} mm, end_bore: {b} mm",
    lengths,
    st.floats(20.0, 300.0),
    st.sampled_from(["reducer", "nozzle"]),
)
caps = st.builds(lambda a, b: f"kind: cap, thickness: {a} mm, before: {b} mm", st.floats(1.0, 50.0), lengths)


def bends(turns, legs):
    """Elbows, mitered and reducing elbows of any radius, with legs."""
    return st.builds(
        lambda kind, turn, radius, before, after, across, end: (
            f"kind: {kind}, turn: {turn} deg, radius: {radius} mm, before: {before} mm, after: {after} mm, "
            f"toward: [{across[0]}, {across[1]}, {across[2]}]"
            + (f", end_bore: {end} mm" if kind == "reducing_elbow" else "")
            + (", cuts: 3" if kind == "mitered_elbow" else "")
        ),
        st.sampled_from(["elbow", "mitered_elbow", "reducing_elbow"]),
        turns,
        st.floats(51.0, 1000.0),
        legs,
        legs,
        st.sampled_from([(0.3, 1, 0.2), (-0.2, 0.7, -1), (0.1, -0.4, 1)]),
        st.floats(30.0, 101.0),
    )


def branches(angles):
    return st.builds(
        lambda angle, bore, at, rest, longer: (
            f"kind: lateral, length: {at + rest} mm, at: {at} mm, branch_bore: {bore} mm, branch_length: {longer} mm, "
            f"angle: {angle} deg, toward: [0.1, 0.3, 1]"
        ),
        angles,
        st.floats(20.0, 90.0),
        st.floats(300.0, 2000.0),
        st.floats(300.0, 2000.0),
        st.floats(260.0, 3000.0),
    )


places = st.tuples(st.floats(-2, 2), st.floats(-2, 2), st.floats(-2, 2))
ways = st.sampled_from([(1, 0, 0), (0.2, 0, -1), (-0.4, 1, 0.3), (-1, 0.1, 0), (0.1, 0.2, 1)])
anything = st.one_of(
    straights,
    reducers,
    caps,
    bends(st.floats(5.0, 180.0), st.floats(0.001, 5000.0)),
    branches(st.floats(30.0, 150.0)),
)


@settings(max_examples=150)
@given(anything, places, ways, st.booleans())
def test_no_shape_rightly_written_is_said_to_point_inward(shape, start, direction, centers):
    assert doubted(bare(built(shape, start, direction), centers=centers)) == set()


@settings(max_examples=60)
@given(st.one_of(straights, reducers, caps), places, ways)
def test_any_opening_of_a_straight_piece_that_is_turned_is_told(shape, start, direction):
    study = bare(built(shape, start, direction))
    for name in study.openings:
        assert doubted(turned(study, name)) == {name}
    assert doubted(turned(study, *study.openings)) == set(study.openings)


@settings(max_examples=60)
@given(bends(st.floats(10.0, 75.0), st.floats(0.001, 60.0)), places, ways, st.booleans())
def test_either_opening_of_an_elbow_that_is_turned_is_told(shape, start, direction, centers):
    study = bare(built(shape, start, direction), centers=centers)
    for name in study.openings:
        assert doubted(turned(study, name)) == {name}


@settings(max_examples=60)
@given(branches(st.floats(40.0, 90.0)), places, ways)
def test_a_turned_opening_of_the_run_of_a_tee_or_wye_is_told(shape, start, direction):
    study = bare(built(shape, start, direction))
    assert doubted(turned(study, "inlet")) == {"inlet"}


@pytest.mark.parametrize("shape", SHAPES)
def test_no_starter_is_said_to_point_inward(shape):
    assert doubted(bare(parse_case(starter(shape), "f.yaml"))) == set()


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_no_example_is_said_to_point_inward_and_a_turned_inlet_is(path):
    study = bare(parse_case(path.read_text(encoding="utf-8"), path.name))
    assert doubted(study) == set()
    first = next(iter(study.openings))
    assert doubted(turned(study, first)) == {first}


@pytest.mark.parametrize(
    ("good", "bad", "name"),
    [
        (INLET, INLET.replace("-1]", "1]"), "inlet"),
        ("0.70 m], outward: [0, 0, 1]", "0.70 m], outward: [0, 0, -1]", "run"),
        ("outward: [1, 0, 1]", "outward: [-1, 0, -1]", "branch"),
    ],
)
def test_every_opening_of_a_wye_that_is_turned_heads_what_is_said(good, bad, name, tmp_path):
    assert not findings(WYE, INWARD)
    text = WYE.replace(good, bad)
    assert text != WYE
    found = told(text, INWARD, f"outward of opening '{name}' points into the fitting", "the way fluid would leave it")
    assert found.doubtful
    for command in (("check",), ("boltup", "-o", str(tmp_path / "s.html")), ("reactions",)):
        said = run(tmp_path, text, *command)
        assert f"outward of opening '{name}' points into the fitting" in flat(said.output), command
    assert "HOLDS ON DOUBTFUL INPUT" in run(tmp_path, text, "check").output
    assert f"outward of opening '{name}' points into" in flat((tmp_path / "s.html").read_text(encoding="utf-8"))


def test_a_return_bend_with_a_long_leg_is_not_said_to_point_inward():
    # Both flanges look down; the second lies far below the first, and so do the centers of mass and contents.
    text = ELBOW.replace("[0.2, 0, 0.2 m], outward: [0, 0, 1]", "[-1, 0, 0.15 m], outward: [-1, 0, 0]")
    text = text.replace("mass_center: [0.1, 0, 0 m]", "mass_center: [-0.4, 0, 0.12 m]")
    text = text.replace("contents_center: [0.1, 0, 0.05 m]", "contents_center: [-0.4, 0, 0.12 m]")
    assert not findings(text, INWARD)


# ---- holes too wide for their bolts

WIDE = "hole too wide for the bolt"


def holed(hole, size="M20", torque="160 N*m"):
    text = WYE.replace("hole: 22 mm", f"hole: {hole}").replace("size: M20", f"size: {size}")
    return text.replace("160 N*m", torque).replace(', class: "8.8"', "" if "in" in size else ', class: "8.8"')


@pytest.mark.parametrize(
    ("size", "hole", "most", "doubtful"),
    [
        # ISO 273, coarse: M16 18.5 mm, M20 24 mm; ISO 4032: 24 mm and 30 mm across flats (as the project's tables have them)
        ("M20", "30 mm", "24 mm", True),  # as wide as the head
        ("M16", "28 mm", "18.5 mm", True),
        # 24 mm across flats reach 12 mm from the bolt; leaning in a hole of 22 mm the far edge is 11 + (22 - 16)/2 = 14 mm off
        ("M16", "22 mm", "18.5 mm", True),
        ("M16", "19.5 mm", "18.5 mm", False),  # 9.75 + 1.75 = 11.5 mm: the head still reaches over it
        ("M20", "24.8 mm", "24 mm", False),
        # ASME B16.5: 3/4 in + 1/8 in
        ("3/4 in", "24 mm", "22.22 mm", False),
        ("3/4 in", "32 mm", "22.22 mm", True),
    ],
)
def test_a_hole_wider_than_any_drilled_for_the_bolt_is_told(size, hole, most, doubtful):
    found = told(holed(hole, size, "90 N*m"), WIDE, f"the hole, {hole}, is too wide for bolts {size}", most)
    assert found.doubtful is doubtful


@pytest.mark.parametrize(
    ("size", "hole"),
    [
        *[("M20", hole) for hole in ("21 mm", "22 mm", "24 mm", "24.5 mm")],
        ("M16", "19 mm"),  # BS 4186 has 19 mm for the coarse series
        ("3/4 in", "7/8 in"),
        ("3/4 in", "22.5 mm"),
        ("M20x1.5", "24 mm"),
    ],
)
def test_a_hole_that_is_drilled_for_the_bolt_is_not_told(size, hole):
    assert not findings(holed(hole, size, "90 N*m"), WIDE)


def test_nothing_is_claimed_of_a_bolt_that_the_table_of_holes_has_not():
    assert widest(0.2, 0.0777) is None
    with pytest.raises(NotInTable):
        widest_hole(0.0777)


@pytest.mark.parametrize("name", ["flange_en1092_1", "flange_b16_5", "flange_awwa_c207"])
def test_no_tabled_flange_is_drilled_too_wide_for_its_own_bolts(name):
    judged = 0
    for row in load(name).rows:
        if not row.get("hole_mm") or not row.get("bolt"):
            continue
        try:
            diameter = thread(row["bolt"]).diameter
        except NotInTable:
            continue  # larger than any thread listed
        assert widest(float(row["hole_mm"]) * 1e-3, diameter) is None, row
        judged += 1
    assert judged > 10


@settings(max_examples=200)
@given(st.sampled_from(coarse_sizes(metric=True) + coarse_sizes(metric=False)), st.floats(0.0, 0.2))
def test_a_wider_hole_is_never_better(size, more):
    diameter = thread(size).diameter
    try:
        most, _ = widest_hole(diameter)
    except NotInTable:
        return
    assert most > diameter
    assert widest(most, diameter) is None
    if more > 0.6e-3:
        assert widest(most + more, diameter) == (most, widest(most + 0.1, diameter)[1])


def test_the_sheet_and_the_report_tell_of_the_hole_too(tmp_path):
    words = "the hole, 30 mm, is too wide for bolts M20"
    said = run(tmp_path, holed("30 mm"), "boltup", "-o", str(tmp_path / "s.html"))
    assert words in flat(said.output)
    assert words in flat((tmp_path / "s.html").read_text(encoding="utf-8"))
    run(tmp_path, holed("30 mm"), "report", "--no-limits", "-o", str(tmp_path / "r.md"))
    assert words in flat((tmp_path / "r.md").read_text(encoding="utf-8"))
    assert "HOLDS ON DOUBTFUL INPUT" in run(tmp_path, holed("30 mm"), "check").output


def test_size_refuses_bolts_that_rattle_in_the_holes_of_the_file(tmp_path):
    said = run(tmp_path, WYE, "size", "--sizes", "M16,M20,M24", "--json", "--top", "100")
    answer = json.loads(said.output)
    assert {each["size"] for each in answer["ranked"]} == {"M20", "M24"}
    text = flat(run(tmp_path, WYE, "size", "--sizes", "M16,M20").output)
    assert "the holes are too wide for the bolt: 22 mm, at most 18.5 mm drilled for it (ISO 273, coarse series)" in text
    assert "take flange / hole out of the file" in text


def test_size_without_a_hole_in_the_file_takes_the_smaller_bolts(tmp_path):
    said = run(tmp_path, WYE.replace(", hole: 22 mm", ""), "size", "--sizes", "M16,M20", "--json")
    assert {each["size"] for each in json.loads(said.output)["ranked"]} == {"M16", "M20"}


def test_a_standard_flange_brings_holes_that_suit_the_bolts(tmp_path):
    said = run(tmp_path, WYE, "size", "--flanges", "EN 1092-1 PN 10 DN 250", "--json")
    answer = json.loads(said.output)
    assert not any("too wide" in str(each) for each in answer["impossible"])


# ---- a free jet that takes water in


SUCKS = WYE.replace("flow_out: 150 m^3/h", "flow_out: 250 m^3/h").replace(
    "branch: {pressure: 1.6 bar}", "branch: free_jet"
)


def test_a_free_jet_that_takes_water_in_is_doubtful():
    # 250 m³/h out of 240 m³/h in leaves 10 m³/h, 2.778 L/s, to come in through the jet
    assert told(SUCKS, "free jet takes fluid in", "'branch' is a free jet", "2.778 L/s flow in through it").doubtful
    assert not findings(SUCKS.replace("250 m^3/h", "150 m^3/h"), "free jet takes fluid in")
    assert not findings(SUCKS.replace("250 m^3/h", "240 m^3/h"), "free jet takes fluid in")


# ---- a valve that takes the head


# Through the branch of 154 mm go 25 L/s: 1.342 m/s and a velocity head of 0.0919 m, of 17 m that the pressures lose.
THROTTLED = SUCKS.replace("250 m^3/h", "150 m^3/h")
DECLARED = THROTTLED.replace("  normal:", "  normal:\n    throttled: true")


def test_a_declared_valve_clears_the_doubt_of_a_high_loss(tmp_path):
    assert told(THROTTLED, "high loss", "write throttled: true in this case").doubtful
    found = told(DECLARED, "high loss", "The case says throttled", "is not checked")
    assert not found.doubtful
    assert "throttled: true" not in found.message
    assert "HOLDS ON DOUBTFUL INPUT" in run(tmp_path, THROTTLED, "check").output
    said = run(tmp_path, DECLARED, "check").output
    assert "HOLDS ON DOUBTFUL INPUT" not in said
    assert "HOLDS" in said
    assert "throttled: a valve or an orifice in the fitting takes the head that is lost" in flat(said)


def test_throttled_excuses_no_gain_of_head():
    gaining = WYE.replace("branch: {pressure: 1.6 bar}", "branch: {pressure: 3 bar}")
    assert told(gaining, "energy gained").doubtful
    assert told(gaining.replace("  normal:", "  normal:\n    throttled: true"), "energy gained").doubtful


@pytest.mark.parametrize(("word", "doubted_still"), [("yes", False), ("True", False), ("false", True), ("no", True)])
def test_throttled_takes_the_words_of_yaml(word, doubted_still):
    (found,) = findings(DECLARED.replace("throttled: true", f"throttled: {word}"), "high loss")
    assert found.doubtful is doubted_still


def test_a_throttled_that_says_neither_is_refused_with_its_line():
    with pytest.raises(
        CaseFileError, match=r"f\.yaml:22: cases / normal / throttled: 'perhaps' is neither true nor false"
    ):
        parse_case(DECLARED.replace("throttled: true", "throttled: perhaps"), "f.yaml")


def test_the_schema_has_throttled_as_yes_or_no():
    schema = json.loads(CliRunner().invoke(main, ["schema"]).output)
    jsonschema.validate(yaml.safe_load(DECLARED), schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(yaml.safe_load(DECLARED.replace("throttled: true", "throttled: perhaps")), schema)


TWO_CASES = (
    THROTTLED
    + """\
  still:
    inlet: {flow_in: 0 L/s, pressure: 1 bar}
    run: capped
    branch: capped
  maximum:
    inlet: {flow_in: 240 m^3/h, pressure: 20 kPa}
    run: {flow_out: 150 m^3/h, pressure: 13 kPa}
    branch: {pressure: 13 kPa}
"""
)


def test_limits_of_one_case_are_not_headed_by_doubt_about_another(tmp_path):
    assert "in 'normal'" in run(tmp_path, TWO_CASES, "limits").output
    asked = run(tmp_path, TWO_CASES, "limits", "--case", "maximum").output
    assert "'normal'" not in asked
    assert "DOUBTFUL" not in asked
    assert "HOLDS ON DOUBTFUL INPUT" in run(tmp_path, TWO_CASES, "limits", "--case", "normal").output
    answer = json.loads(run(tmp_path, TWO_CASES, "limits", "--case", "maximum", "--json").output)
    assert {each["case"] for each in answer["findings_as_given"]} <= {None, "maximum"}


def test_what_is_doubtful_of_the_whole_file_heads_the_limits_of_every_case(tmp_path):
    text = TWO_CASES.replace(INLET, INLET.replace("-1]", "1]"))
    assert "outward of opening 'inlet'" in flat(run(tmp_path, text, "limits", "--case", "maximum").output)


# ---- still fluid of two heads

STILL = WYE.replace("flow_in: 240", "flow_in: 0").replace("flow_out: 150", "flow_out: 0")
STILL = (
    STILL.replace("branch: {pressure: 1.6 bar}", "branch: capped").replace("1.7 bar", "LOW").replace("1.6 bar", "HIGH")
)


def test_one_pressure_at_both_ends_of_a_riser_is_told_mildly():
    # 1000 kg/m³ × 9.80665 m/s² × 0.7 m = 6.865 kPa, on π/4 (260 mm)² = 0.05309 m² that is 364.5 N
    found = told(
        STILL.replace("LOW", "3 bar").replace("HIGH", "3 bar"),
        "still fluid disagrees",
        "6.865 kPa",
        "364.5 N",
        "'inlet'",
    )
    assert not found.doubtful
    assert "contradict" not in found.message


@pytest.mark.parametrize(
    ("low", "high", "doubtful"), [("3 bar", "2.7 bar", True), ("3 bar", "3.1 bar", True), ("10 kPa", "9 kPa", True)]
)
def test_a_difference_that_matters_stays_doubtful(low, high, doubtful):
    # with 6.865 kPa for the height: 23, 17 and 6 kPa, all over 5 % of the greater pressure
    assert told(STILL.replace("LOW", low).replace("HIGH", high), "still fluid disagrees").doubtful is doubtful


def test_pressures_that_the_height_explains_are_not_told():
    assert not findings(STILL.replace("LOW", "300 kPa").replace("HIGH", "293.1 kPa"), "still fluid disagrees")


# ---- hints about losses that went in circles

BESIDE_A_JET = THROTTLED
FROM_LOSSES = {
    "inlet": BESIDE_A_JET.replace("pressure: 1.7 bar", "pressure: from losses, loss_coefficient: 0.3"),
    "run": BESIDE_A_JET.replace("pressure: 1.6 bar", "pressure: from losses, loss_coefficient: 0.3"),
}
BOTH = FROM_LOSSES["inlet"].replace("pressure: 1.6 bar", "pressure: from losses, loss_coefficient: 0.3")


@pytest.mark.parametrize(("opening", "line", "other"), [("inlet", 22, "run"), ("run", 23, "inlet")])
def test_a_pressure_from_losses_that_has_two_starts_is_told_with_its_line_and_a_way_out(opening, line, other):
    with pytest.raises(CaseFileError) as caught:
        parse_case(FROM_LOSSES[opening], "f.yaml")
    (problem,) = map(str, caught.value.problems)
    assert problem.startswith(f"f.yaml:{line}: cases / normal / {opening} / pressure: ")
    assert f"here '{other}', 'branch' have one" in problem
    assert "write the pressure here as a figure" in problem
    assert "cannot be told by losses" in problem
    assert f"Only where the pressure of '{other}' follows from that jet as well, write from losses there too" in problem
    # what it says to do: each of both ways can be computed
    assert assess(parse_case(BESIDE_A_JET, "f.yaml"))
    assert assess(parse_case(BOTH, "f.yaml"))


def test_two_pipes_under_pressure_are_told_to_keep_one():
    text = WYE.replace("pressure: 1.7 bar", "pressure: from losses, loss_coefficient: 0.3")
    with pytest.raises(CaseFileError, match="or from losses at all open ends but one"):
        parse_case(text, "f.yaml")
    kept = text.replace("pressure: 1.6 bar}\n    branch", "pressure: from losses, loss_coefficient: 0.2}\n    branch")
    assert assess(parse_case(kept, "f.yaml"))


def test_a_missing_pressure_beside_losses_is_told_once():
    text = FROM_LOSSES["inlet"].replace(", pressure: 1.6 bar", "")
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "f.yaml")
    assert len(caught.value.problems) == 1


def test_a_pressure_downstream_that_follows_from_a_jet_is_told():
    found = told(BOTH, "pressure follows from a free jet", "at 'run' follows from the free jet at 'branch'")
    assert "write that pressure as a figure" in found.message
    assert not findings(BESIDE_A_JET, "pressure follows from a free jet")
    upstream = ELBOW.replace(
        "pressure: 60 kPa}, outlet: free_jet", "pressure: from losses, loss_coefficient: 1}, outlet: free_jet"
    )
    assert upstream != ELBOW
    assert not findings(upstream, "pressure follows from a free jet")


def test_what_limits_says_of_losses_can_be_followed(tmp_path):
    refused = flat(run(tmp_path, BESIDE_A_JET, "limits", "--pressure", "from losses").output)
    assert "hold them (--pressure held), or let them go with the square of the flow (--pressure square)" in refused
    assert "at 'inlet' and 'run'" in refused
    for way in ("held", "square"):
        assert "no greatest flow" not in run(tmp_path, BESIDE_A_JET, "limits", "--pressure", way).output
    assert "no greatest flow" not in run(tmp_path, BOTH, "limits", "--pressure", "from losses").output
    # nor does the remark on flows beyond which head is gained send anyone to a rule that is refused
    assert '--pressure "from losses"' not in flat(run(tmp_path, BESIDE_A_JET, "limits").output)


def test_two_jets_are_not_sent_to_losses_at_all(tmp_path):
    text = BESIDE_A_JET.replace(
        "run: {flow_out: 150 m^3/h, pressure: 1.6 bar}", "run: {exit: free_jet, flow_out: 150 m^3/h}"
    )
    assert "2 free jets fix the pressures" in flat(run(tmp_path, text, "limits", "--pressure", "from losses").output)


# ---- what is wanting for the stiffness


@pytest.mark.parametrize(
    ("taken_out", "named"),
    [
        ("thickness: 4 mm, ", "gasket / thickness"),
        ("modulus: 400 MPa, ", "gasket / modulus"),
        ("    grip: 56 mm\n", "grip"),
        ("    bolt_modulus: 205 GPa\n", "bolt_modulus"),
    ],
)
def test_the_key_that_is_wanting_for_the_stiffness_is_named_everywhere(taken_out, named, tmp_path):
    text = WYE.replace(taken_out, "")
    assert text != WYE
    checked = flat(run(tmp_path, text, "check").output)
    assert f"To have it solved supply {named}." in checked
    line = f"Joint 'main': bolt tension and clamp are bounds, for the stiffness of bolts and gasket is not known; supply {named} of the joint."
    assert line in checked
    sized = flat(run(tmp_path, text, "size", "--counts", "12").output)
    assert line in sized
    assert f"load factor C not known (supply {named})" in sized
    run(tmp_path, text, "boltup", "-o", str(tmp_path / "s.html"))
    assert line in flat((tmp_path / "s.html").read_text(encoding="utf-8"))
    assert "are bounds, for the stiffness" not in flat(run(tmp_path, WYE, "check").output)


# ---- a wye whose run gets smaller

LATERAL = "kind: lateral, length: 700 mm, at: 300 mm, toward: [0, 0, 1], branch_bore: 60 mm, branch_length: 250 mm, angle: 45 deg"


def test_a_smaller_end_of_a_run_is_answered_with_how_to_build_it():
    text = f"""\
case_file: 1
fluid: {{name: water, density: 1000 kg/m^3}}
fitting:
  shape: {{bore: 100 mm, {LATERAL}, end_bore: 80 mm}}
cases:
  still: {{inlet: {{flow_in: 0 L/s, pressure: 0 kPa}}, outlet: capped, branch: capped}}
"""
    with pytest.raises(
        CaseFileError, match="write parts: the lateral and a reducer after it, or list openings by hand"
    ):
        parse_case(text, "f.yaml")
    chain = f"parts: [{{{LATERAL}}}, {{kind: reducer, length: 100 mm, end_bore: 80 mm}}]"
    study = parse_case(text.replace(f"{LATERAL}, end_bore: 80 mm", chain), "f.yaml")
    assert float(study.openings["outlet"].area) == pytest.approx(np.pi / 4 * 0.08**2)


@pytest.mark.parametrize("shape", ["lateral", "tee"])
def test_the_starter_of_a_branch_says_that_the_run_keeps_its_bore(shape):
    assert "which keeps its bore: for a smaller end, write parts: this one and a reducer after it" in starter(shape)
