"""What one case may state for itself, as a pressure test does: a factor on the flange rating, allowables of its own."""

from __future__ import annotations

import html
import json
import re

import jsonschema
import numpy as np
import pytest
import yaml
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize.assessment import assess, evaluate
from anchorsize.casefile import parse_case, schema
from anchorsize.cli import main
from anchorsize.studies.torque import window
from tests.cases import BLANK_FLANGE

TIGHT = """\
    gasket: {inside: 115 mm, outside: 162 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa}
    tightening: {torque: 90 N*m, nut_factor: 0.2, scatter: 30 %}
    grip: 44 mm
    bolt_modulus: 205 GPa
    flange: {rating: 16 bar}
"""
RATED = (
    BLANK_FLANGE.replace("    gasket: {inside: 115 mm, outside: 162 mm}\n", TIGHT)
    .replace("22.5 deg}", '22.5 deg, class: "8.8"}')
    .replace("allow: {", "allow: {gasket_pressure_greatest: 60 MPa, ")
    .replace(
        "  test: {pipe: {flow_in: 0 L/s, pressure: 10 bar}}",
        "  run: {pipe: {flow_in: 0 L/s, pressure: 16 bar}}\n  test: {pipe: {flow_in: 0 L/s, pressure: 24 bar}}",
    )
)
OWN = "rating_factor: 1.5, allow: {bolt_tension: 240 MPa, gasket_pressure_greatest: 90 MPa, origin: test rules}"
TEST = RATED.replace("test: {", f"test: {{{OWN}, ")


def checks(text: str, case: str) -> dict:
    return {check.check: check for check in evaluate(parse_case(text, "f"))[case].checks}


def test_a_pressure_test_at_its_factor_holds_and_without_it_fails():
    """Pressure alone: the equivalent pressure is the pressure, 24 bar, against 1.5 times the rating of 16 bar."""
    plain, own = checks(RATED, "test")["flange rating"], checks(TEST, "test")["flange rating"]
    assert float(plain.utilization) == pytest.approx(24 / 16)
    assert not plain.holds
    assert float(own.allowable) == pytest.approx(24e5)
    assert own.utilization == 1.0
    assert own.holds
    assert own.allowable_from == "flange / rating given × rating_factor 1.5 of the case"
    assert assess(parse_case(TEST, "f")).verdict == "holds"
    assert assess(parse_case(RATED, "f")).verdict == "fails"


@settings(deadline=None, max_examples=60)
@given(rating=st.floats(1.0, 100.0), factor=st.floats(0.5, 3.0), direction=st.tuples(*[st.floats(-1.0, 1.0)] * 3))
def test_rounding_fails_no_test_at_just_the_rating_times_its_factor(rating, factor, direction):
    if np.linalg.norm(direction) < 0.1:
        return
    text = TEST.replace("outward: [-1, 0, 0]", f"outward: [{', '.join(f'{part:.9f}' for part in direction)}]")
    text = text.replace("rating: 16 bar", f"rating: {rating!r} bar").replace("1.5,", f"{factor!r},")
    made = checks(text.replace("pressure: 24 bar", f"pressure: {rating * factor!r} bar"), "test")
    assert made["flange rating"].utilization == 1.0


def test_the_allowables_of_a_case_hold_in_it_alone():
    run, own = checks(TEST, "run"), checks(TEST, "test")
    for name, general, special in (
        ("bolt tension", 160e6, 240e6),
        ("gasket crushing", 60e6, 90e6),
        ("bolt shear", 95e6, 95e6),
    ):
        assert float(run[name].allowable) == general
        assert float(own[name].allowable) == special
    assert own["bolt tension"].allowable_from == "test rules, for case 'test'"
    assert own["bolt shear"].allowable_from == "user"


def test_the_allowables_of_a_case_go_before_those_of_the_joint():
    text = TEST.replace("    grip:", "    allow: {bolt_tension: 100 MPa, bolt_shear: 50 MPa}\n    grip:")
    assert float(checks(text, "run")["bolt tension"].allowable) == 100e6
    assert float(checks(text, "test")["bolt tension"].allowable) == 240e6
    assert float(checks(text, "test")["bolt shear"].allowable) == 50e6


def test_a_form_chosen_for_every_case_is_not_called_left_open():
    left_open = "No form of tension with shear was chosen"
    assert any(left_open in line for line in assess(parse_case(TEST, "f")).assumptions)
    both = TEST.replace("origin: test rules}", "tension_with_shear: circular}").replace(
        "run: {", "run: {allow: {tension_with_shear: linear}, "
    )
    assert not any(left_open in line for line in assess(parse_case(both, "f")).assumptions)


def test_the_window_of_torques_goes_by_the_allowables_of_each_case():
    """Crushing sets the upper end: where only the test may press harder, the run decides, and the other way round."""
    crushed = RATED.replace("gasket_pressure_greatest: 60 MPa", "gasket_pressure_greatest: 30 MPa")
    softer = crushed.replace("test: {", "test: {allow: {gasket_pressure_greatest: 15 MPa}, ")
    harder = crushed.replace("test: {", "test: {allow: {gasket_pressure_greatest: 90 MPa}, ")
    ends = [window(parse_case(text, "f"), "main") for text in (crushed, softer, harder)]
    assert [end.greatest_by for end in ends] == [
        "gasket crushing in 'run'",
        "gasket crushing in 'test'",
        "gasket crushing in 'run'",
    ]
    assert ends[1].greatest < 0.6 * ends[0].greatest
    for end, text in zip(ends, (crushed, softer, harder), strict=True):
        at = text.replace("torque: 90 N*m", f"torque: {90 * end.greatest!r} N*m")
        made = [checks(at, case)["gasket crushing"].utilization for case in ("run", "test")]
        assert float(np.max(made)) == pytest.approx(1.0, rel=1e-8)


def test_an_array_of_factors_is_a_batch():
    study = parse_case(TEST, "f", {"cases/test/rating_factor": np.array([1.0, 1.5, 2.0])})
    check = next(each for each in evaluate(study)["test"].checks if each.check == "flange rating")
    assert check.utilization == pytest.approx([1.5, 1.0, 0.75])
    assert check.holds.tolist() == [False, True, True]


def test_reports_tell_what_a_case_states(tmp_path):
    path = tmp_path / "case.yaml"
    path.write_text(TEST)
    result = CliRunner().invoke(main, ["check", str(path), "--width", "80"])
    assert max(map(len, result.output.splitlines())) <= 80
    said = " ".join(result.output.split())
    own = "flange rating times 1.50; for this case: bolt tension 240.0 MPa (test rules, for case 'test')"
    assert said.count(own) == 1
    for words in ("allowable: flange / rating given", "flange / rating given × rating_factor 1.5 of the case"):
        assert words in said
    out = tmp_path / "report.html"
    CliRunner().invoke(main, ["report", str(path), "-o", str(out)])
    assert own in html.unescape(re.sub(r"<[^>]*>", "", out.read_text()))


def test_the_width_of_the_gasket_is_told():
    """A contact ring of 115 to 162 mm: N = 23.5 mm, b0 = N/2 = 11.75 mm; b = 0.5 √b0 in inches, by App. 2 of the code."""
    b = 0.5 * (11.75 / 25.4) ** 0.5 * 25.4
    said = " ".join(str(assess(parse_case(TEST, "f"))).split())
    assert "basic width b0 11.75 mm" in said
    assert f"effective width b {b:.3f} mm" in said
    assert f"gasket effective width b {b:.3f} mm" in said


def test_the_schema_follows():
    tree = yaml.safe_load(
        TEST.replace("fluid:", "fitting: {extra_masses: [{name: a, mass: 1 kg, center: [0, 0, 0 m]}]}\nfluid:")
    )
    validator = jsonschema.Draft202012Validator(schema())
    validator.validate(tree)
    json.dumps(schema())
    for broken in ({"rating_factor": {"a": 1}}, {"allow": {"bolt_tensoin": "1 MPa"}}):
        tree["cases"]["test"] = broken
        assert not validator.is_valid(tree)


def test_the_hint_of_the_flange_rating_shows_how():
    hint = next(each for each in assess(parse_case(BLANK_FLANGE, "f")).not_checked if each.check == "flange rating")
    shown = hint.supply[hint.supply.index("`") + 1 : hint.supply.rindex("`")]
    text = BLANK_FLANGE.replace("    gasket:", f"    {shown}\n    gasket:")  # DN 100, as its bore
    text = text.replace("density: 1000 kg/m^3", "density: 1000 kg/m^3, temperature: 20 degC")
    assert float(checks(text, "test")["flange rating"].allowable) == pytest.approx(
        16e5, rel=0.05
    )  # PN 16 is 16 bar or so


def test_an_opening_left_out_is_told_to_need_a_pressure(tmp_path):
    path = tmp_path / "case.yaml"
    path.write_text(BLANK_FLANGE.replace("{pipe: {flow_in: 0 L/s, pressure: 10 bar}}", "{contents: empty}"))
    result = CliRunner().invoke(main, ["check", str(path)])
    assert result.exit_code == 2
    assert "an opening left out counts as connected, which needs a pressure" in result.output
