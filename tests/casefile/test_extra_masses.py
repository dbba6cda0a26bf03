"""Masses beside the fitting's own: a load each, counted in the empty weight, told in every report."""

from __future__ import annotations

import json

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize.assessment import assess, evaluate
from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.cli import main
from anchorsize.present.boltup_words import weight_words
from anchorsize.present.pictures.acting import weight_and_center
from anchorsize.studies.boltup import boltup
from tests.cases import ELBOW

G = 9.80665  # m/s², standard gravity
TWO = "extra_masses: [{name: flanges, mass: 13 kg, center: [0, 0, 0 m]}, {name: valve, mass: 5 kg, center: [0.3, 0.1, 0.2 m]}]"
BOTH = ELBOW.replace("fitting: {", f"fitting: {{{TWO}, ")
SHAPE = """\
case_file: 1
title: straight
fluid: {name: water, density: 1000 kg/m^3}
fitting:
  shape: {bore: 102.26 mm, kind: straight, length: 1 m, wall: 6.02 mm, material_density: 7850 kg/m^3}
joints:
  main: {at: inlet, bolts: 8 x M16 on 180 mm}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  run: {inlet: {flow_in: 0 L/s, pressure: 10 kPa}, outlet: {pressure: 10 kPa}}
"""
FLANGED = SHAPE.replace("joints:", "  extra_masses: [{name: flanges, mass: 13 kg, center: [0, 0, 0 m]}]\njoints:")


def test_each_is_a_load_of_its_own_by_hand_statics():
    plain, with_two = (evaluate(parse_case(text, "f"))["run"] for text in (ELBOW, BOTH))
    loads = {load.source: load for load in with_two.loads}
    assert list(loads)[-4:] == ["fitting weight", "flanges weight", "valve weight", "contents weight"]
    assert loads["valve weight"].force == pytest.approx([0, 0, -5 * G])
    assert loads["valve weight"].moment == pytest.approx([-0.1 * 5 * G, 0.3 * 5 * G, 0])  # r × F
    assert with_two.reaction_force - plain.reaction_force == pytest.approx([0, 0, 18 * G], abs=1e-9)


def test_they_hang_on_a_fitting_whose_own_mass_is_not_known():
    text = ELBOW.replace("mass: 10 kg, mass_center: [0.1, 0, 0 m]", TWO)
    study = parse_case(text, "f")
    assert "flanges weight" in [load.source for load in evaluate(study)["run"].loads]
    assert study.fitting.empty_mass is None
    assert weight_words(boltup(assess(study)), "metric").startswith("WEIGHT NOT KNOWN")


def test_an_array_of_masses_is_a_batch():
    masses = np.array([1.0, 2.0, 4.0])
    study = parse_case(BOTH, "f", {"fitting/extra_masses/2/mass": masses})
    vertical = evaluate(study)["run"].vertical_reaction
    assert vertical - vertical[0] == pytest.approx((masses - 1.0) * G)
    assert study.fitting.empty_mass == pytest.approx(23.0 + masses)


def test_the_empty_weight_holds_them_and_a_bare_wall_is_called_so():
    """ASME B36.10M, NPS 4 schedule 40: 16.07 kg/m (from memory), printed to two decimals."""
    bare, flanged = (boltup(assess(parse_case(text, "f"))) for text in (SHAPE, FLANGED))
    assert bare.weight == pytest.approx(16.07 * G, abs=0.01 * G)
    assert flanged.weight == pytest.approx((16.07 + 13.0) * G, abs=0.01 * G)
    assert "(bare wall only, flanges not included)" in weight_words(bare, "metric")
    assert "bare wall" not in weight_words(flanged, "metric")
    own = SHAPE.replace(
        ", wall: 6.02 mm, material_density: 7850 kg/m^3}", "}\n  mass: 30 kg\n  mass_center: [0.5, 0, 0 m]"
    )
    assert "bare wall" not in weight_words(boltup(assess(parse_case(own, "f"))), "metric")


def test_the_sheet_and_the_pictures_count_them(tmp_path):
    path = tmp_path / "case.yaml"
    path.write_text(BOTH)
    told = json.loads(CliRunner().invoke(main, ["boltup", str(path), "--json"]).output)
    assert told["empty_weight_N"] == pytest.approx(28 * G)
    study = parse_case(BOTH, "f")
    weight, center, parts = weight_and_center(study, assess(study).cases["run"])
    assert weight == pytest.approx(30 * G)  # with 2 L of water of 1000 kg/m³
    assert center == pytest.approx(np.array([10 * 0.1 + 5 * 0.3 + 2 * 0.1, 0.5, 5 * 0.2 + 2 * 0.05]) / 30)
    assert [name for name, _ in parts] == ["fitting", "flanges", "valve", "contents"]


def test_reports_tell_them(tmp_path):
    path = tmp_path / "case.yaml"
    path.write_text(FLANGED)
    said = " ".join(CliRunner().invoke(main, ["check", str(path), "--width", "80"]).output.split())
    assert "flanges: 13.00 kg at [0, 0, 0] mm, beside the fitting's own" in said
    assert "beside it count only the extra masses 'flanges'" in said
    path.write_text(SHAPE)
    said = " ".join(CliRunner().invoke(main, ["check", str(path), "--width", "80"]).output.split())
    assert "add them under fitting / extra_masses" in said


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("fitting", "valve"), "1 / name: 'fitting weight' is the name of the fitting's own weight already"),
        (("valve", "valve"), "2 / name: 'valve weight' is the name of an extra mass already"),
        (("valve", "guard"), "2 / name: 'guard weight' is the name of an outside load already"),
    ],
)
def test_loads_have_names_of_their_own(names: tuple[str, str], said: str):
    text = BOTH.replace("name: valve", f"name: {names[1]}").replace("name: flanges", f"name: {names[0]}")
    text += "external: [{name: guard weight, force: [0, 0, -9 N], at: [0, 0, 0 m]}]\n"
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "f")
    assert [problem.kind for problem in caught.value.problems] == ["duplicate_key"]
    assert f"f:4: fitting / extra_masses / {said} (reports tell the loads apart by their names)" in str(caught.value)


def test_a_center_far_off_stands_out():
    study = parse_case(BOTH.replace("[0.3, 0.1, 0.2 m]", "[15, 0.1, 0.2 m]"), "f")
    assert ["The center of 'valve' lies" in found.message for found in assess(study).warnings].count(True) == 1
