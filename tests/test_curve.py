"""The curve of one case: its points against single evaluations, its balance against a general root finder."""

from __future__ import annotations

import csv
import io
import json
import math
import re

import numpy as np
import pytest
from click.testing import CliRunner
from scipy.optimize import brentq

import anchorsize
from anchorsize.assessment import StudyError, evaluate
from anchorsize.casefile import parse_case
from anchorsize.cli import main
from anchorsize.studies.curve import against_flow, against_input
from tests.cases import BLANK_FLANGE, ELBOW

# Turned down, the jet of the elbow lifts the fitting against its weight.
DOWNWARD = ELBOW.replace("0.2, 0, 0.2 m], outward: [0, 0, 1]", "0.2, 0, -0.2 m], outward: [0, 0, -1]")


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "elbow.yaml"
    path.write_text(DOWNWARD)
    return path


def run(*words):
    return CliRunner().invoke(main, ["curve", *(str(word) for word in words)])


def vertical(flow):
    """Vertical reaction of the case at a flow [m³/s], through the file."""
    text = DOWNWARD.replace("flow_in: 20 L/s", f"flow_in: {flow!r} m^3/s")
    return float(evaluate(parse_case(text, "elbow.yaml"))["run"].vertical_reaction)


def test_balance_flow_is_where_a_general_root_finder_puts_it():
    found = against_flow(parse_case(DOWNWARD, "e"), "run", np.linspace(0.0, 0.03, 4)).balance
    assert found.size == 1
    assert found[0] == pytest.approx(brentq(vertical, 1e-3, 0.03, xtol=1e-18, rtol=1e-15), rel=1e-14)


def test_balance_flow_by_hand_jet_against_weight():
    # rho Q²/A of the free jet carries 10 kg of metal and 2 kg of water: Q² = m g A / rho
    by_hand = math.sqrt(12.0 * 9.80665 * math.pi / 4 * 0.05**2 / 1000.0)
    found = against_flow(parse_case(DOWNWARD, "e"), "run", np.linspace(0.0, 0.03, 7)).balance
    assert found == pytest.approx([by_hand], rel=1e-13)


def test_balance_does_not_hang_on_the_number_of_points():
    study = parse_case(DOWNWARD, "e")
    few, many = (against_flow(study, "run", np.linspace(0.0, 0.03, n)).balance for n in (2, 200))
    assert few.tolist() == many.tolist()


def test_jet_upward_never_balances():
    assert against_flow(parse_case(ELBOW, "e"), "run", np.linspace(0.0, 0.03, 7)).balance.size == 0


@pytest.mark.parametrize("pressure", ["held", "square"])
def test_points_are_those_of_single_evaluations(pressure):
    flows = np.linspace(0.0, 0.04, 5)
    made = against_flow(parse_case(DOWNWARD, "e"), "run", flows, pressure).result
    for i, flow in enumerate(flows.tolist()):
        at = 60e3 if pressure == "held" else 60e3 * (flow / 0.02) ** 2
        text = DOWNWARD.replace("20 L/s, pressure: 60 kPa", f"{flow!r} m^3/s, pressure: {at!r} Pa")
        alone = evaluate(parse_case(text, "e"))["run"]
        assert made.reaction_force[i] == pytest.approx(alone.reaction_force, rel=1e-12, abs=1e-9)
        tension = made.joints["main"].external_tension[i]
        assert tension == pytest.approx(alone.joints["main"].external_tension, rel=1e-12, abs=1e-9)


def test_zero_flow_is_statics():
    made = against_flow(parse_case(DOWNWARD, "e"), "run", np.array([0.0, 0.01])).result
    assert made.reaction_force[0] == pytest.approx([-60e3 * math.pi / 4 * 0.1**2, 0, 12 * 9.80665])


def test_from_losses_keeps_the_implied_coefficient():
    """By hand: the loss of the case as given grows with the square of the flow; the level difference does not."""
    text = DOWNWARD.replace("pressure: 60 kPa", "pressure: 80 kPa", 1)
    made = against_flow(parse_case(text, "e"), "run", np.array([0.01, 0.02, 0.04]), "from losses").result
    level = -1000 * 9.80665 * 0.2
    by_hand = [level + (80e3 - level) * (flow / 0.02) ** 2 for flow in (0.01, 0.02, 0.04)]
    assert made.openings["inlet"].pressure == pytest.approx(by_hand)


def test_from_losses_refuses_a_gain_of_energy():
    text = DOWNWARD.replace("pressure: 60 kPa", "pressure: 1 kPa", 1)
    with pytest.raises(StudyError, match="gain of energy"):
        against_flow(parse_case(text, "e"), "run", np.array([0.01, 0.02]), "from losses")


def test_from_losses_refuses_three_open_ends():
    text = DOWNWARD.replace(
        "joints:", "  third: {center: [0, 0.2, 0 m], outward: [0, 1, 0], bore: 50 mm}\njoints:"
    ).replace("cases:\n  run: {", "cases:\n  run: {third: {flow_out: 1 L/s, pressure: 0 kPa}, ")
    text = text.replace("stopped: {", "stopped: {third: capped, ")
    with pytest.raises(StudyError, match="3 open ends"):
        against_flow(parse_case(text, "e"), "run", np.array([0.01, 0.02]), "from losses")


def test_pressure_by_its_path_pulls_the_blank_flange_in_proportion():
    made = against_input(BLANK_FLANGE, "b", "test", "cases/test/pipe/pressure", np.array([1e5, 2e5, 4e5]))
    pull = made.result.joints["main"].axial
    assert pull == pytest.approx(np.array([1e5, 2e5, 4e5]) * math.pi / 4 * 0.1**2)


def test_mass_by_its_path_balances_the_jet():
    # the jet of 20 L/s pushes up with rho Q²/A; the metal at balance is that less the water inside
    lift = 1000 * 0.02**2 / (math.pi / 4 * 0.05**2)
    made = against_input(DOWNWARD, "e", "run", "fitting/mass", np.linspace(1.0, 40.0, 5))
    assert made.balance == pytest.approx([lift / 9.80665 - 2.0], rel=1e-12)


def test_json_csv_and_text_show_the_same(file):
    words = (file, "--case", "run", "--to", "30 L/s", "--points", "4")
    data = json.loads(run(*words, "--json").output)
    rows = list(csv.DictReader(io.StringIO(run(*words, "--csv").output)))
    assert data["columns"] == list(rows[0])
    assert [float(row["main_axial_N"]) for row in rows] == [point["main_axial_N"] for point in data["points"]]
    assert data["points"][-1]["flow_m3_s"] == pytest.approx(0.03)
    assert data["balance_flow_m3_s"] == pytest.approx(
        math.sqrt(12.0 * 9.80665 * math.pi / 4 * 0.05**2 / 1000.0), rel=1e-12
    )
    assert "(balance)" in run(*words).output


@pytest.mark.parametrize("width", [80, 120])
def test_text_keeps_within_the_width(file, width):
    output = run(file, "--case", "run", "--to", "30 L/s", "--width", width).output
    assert max(map(len, output.splitlines())) <= width


def test_no_balance_is_null(tmp_path):
    path = tmp_path / "up.yaml"
    path.write_text(ELBOW)
    assert json.loads(run(path, "--case", "run", "--to", "30 L/s", "--json").output)["balance_flow_m3_s"] is None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--case", "walk", "--to", "30 L/s"), "no case 'walk'"),
        (("--case", "run", "--to", "30 m"), "--to '30 m'"),
        (("--case", "run", "--to", "30"), "--to '30'"),
        (("--case", "run", "--from", "-1 L/s", "--to", "3 L/s"), "zero or more"),
        (("--case", "run", "--from", "4 L/s", "--to", "3 L/s"), "not less than"),
        (("--case", "stopped", "--to", "3 L/s"), "no flow to scale"),
        (("--case", "run", "--to", "3 mm", "--vary", "openings/outlet/bor"), "openings/outlet/bore"),
        (("--case", "run", "--to", "30 mm", "--vary", "openings/outlet/bore"), "must be more than 0"),
        (("--case", "run", "--to", "3 L/s", "--json", "--csv"), "choose one"),
        (("--case", "run", "--to", "3 L/s", "--picture", "x.bmp"), ".svg or .png"),
        (("--case", "run", "--to", "3 kg", "--vary", "fitting/mass", "--pressure", "held"), "only the input named"),
    ],
)
def test_bad_input_is_said_and_ends_with_two(file, words, said):
    result = run(file, *words)
    assert result.exit_code == 2
    assert said in result.output
    assert "Traceback" not in result.output


@pytest.mark.parametrize(("name", "head"), [("c.svg", b"<?xml"), ("c.png", b"\x89PNG")])
def test_picture_is_written_whole_and_not_over_another(file, tmp_path, name, head):
    path = tmp_path / name
    words = (file, "--case", "run", "--to", "30 L/s", "--picture", path)
    assert run(*words).exit_code == 0
    assert path.read_bytes().startswith(head)
    path.write_bytes(b"mine")
    result = run(*words)
    assert result.exit_code == 2
    assert "--force" in result.output
    assert path.read_bytes() == b"mine"
    assert run(*words, "--force").exit_code == 0
    assert path.read_bytes().startswith(head)
    assert sorted(p.name for p in tmp_path.iterdir()) == [name, "elbow.yaml"]


def test_svg_names_its_lines_and_units_and_uses_no_color(file, tmp_path):
    path = tmp_path / "c.svg"
    run(file, "--case", "run", "--to", "30 L/s", "--picture", path)
    text = path.read_text()
    for word in (
        "reaction z",
        "(vertical)",
        "greatest external tension",
        "torsion",
        "flow [L/s]",
        "[N]",
        "[N·m]",
        "balance",
    ):
        assert word in text
    colors = re.findall(r"(?:fill|stroke): #([0-9a-f]{6})", text)
    assert colors
    assert all(color[0:2] == color[2:4] == color[4:6] for color in colors)


def test_public_evaluate_of_a_case_agrees_with_the_curve():
    study = anchorsize.casefile.parse_case(DOWNWARD, "e")
    made = against_flow(study, "run", np.array([0.02, 0.03])).result
    assert made.vertical_reaction[0] == pytest.approx(float(evaluate(study)["run"].vertical_reaction))


def test_the_support_stands_beside_the_joint_and_lets_go_where_the_single_case_says():
    """The hanger of the example carries at 20 L/s and is slack at 40 L/s; each point equals a case of its own."""
    from pathlib import Path

    from anchorsize.assessment import with_option

    arm = Path(__file__).parents[1] / "examples" / "supported_arm.yaml"
    result = run(arm, "--case", "full flow", "--to", "40 L/s", "--points", "3", "--option", "rod hanger", "--json")
    points = json.loads(result.output)["points"]
    for flow, point in zip((0.0, 0.02, 0.04), points, strict=True):
        text = arm.read_text().replace("flow_in: 30 L/s", f"flow_in: {flow} m^3/s")
        single = evaluate(with_option(parse_case(text, "arm"), "rod hanger"))["full flow"]
        assert point["H1_along_N"] == pytest.approx(float(single.supports["H1"].push), rel=1e-9, abs=1e-6)
    assert points[1]["H1_along_N"] > 0.0
    assert points[2]["H1_along_N"] == 0.0
    assert "Support 'H1'" in run(arm, "--case", "full flow", "--to", "40 L/s", "--option", "rod hanger").output
