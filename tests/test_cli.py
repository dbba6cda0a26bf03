"""The commands as a person runs them: what is printed, how wide, and the exit code."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from anchorsize.cli import main
from tests.cases import BLANK_FLANGE, ELBOW

EXAMPLES = Path(__file__).parents[1] / "examples"
FILES = sorted(EXAMPLES.glob("*.yaml"))


def run(*words: str, env: dict[str, str] | None = None):
    return CliRunner().invoke(main, [str(word) for word in words], env=env)


@pytest.fixture
def elbow(tmp_path):
    path = tmp_path / "elbow.yaml"
    path.write_text(ELBOW)
    return path


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.stem)
@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize("command", ["check", "reactions"])
def test_reports_of_the_examples_keep_within_the_width(file, width, command):
    result = run(command, file, "--width", width)
    assert result.exit_code in (0, 1, 3), result.output
    too_wide = [line for line in result.output.splitlines() if len(line) > width]
    assert not too_wide


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.stem)
def test_every_example_says_that_it_is_invented_and_has_four_cases_or_more(file):
    assert "Invented" in file.read_text().splitlines()[0]
    cases = json.loads(run("check", file, "--json").output)["cases"]
    # the base of a list is short, so that its columns stay few
    assert len(cases) >= (2 if file.stem.endswith("_base") else 4)


def test_check_json_holds_the_contract_keys(elbow):
    data = json.loads(run("check", elbow, "--json").output)
    assert data["format"] == "anchorsize/1"
    assert {"title", "option", "cases", "governing", "not_checked", "warnings"} <= data.keys()
    case = data["cases"]["run"]
    assert {"openings", "loads", "reaction", "joints", "supports", "checks"} <= case.keys()
    assert case["openings"]["inlet"]["flow_m3_s"] == pytest.approx(-0.02)
    assert case["openings"]["outlet"]["flow_m3_s"] == pytest.approx(0.02)
    assert {"flow_m3_s", "mass_flow_kg_s", "velocity_m_s", "pressure_Pa", "thrust_N"} <= case["openings"][
        "inlet"
    ].keys()
    assert {"source", "force_N", "moment_Nm"} == case["loads"][0].keys()
    joint = case["joints"]["main"]
    assert {
        "reaction_force_N", "reaction_moment_Nm", "axial_N", "pressure_annulus_N", "shear_N", "bending_Nm", "torsion_Nm",
        "gasket_reaction_diameter_m", "bolts", "face",
    } <= joint.keys()  # fmt: skip
    assert {"number", "angle_deg", "external_tension_N", "shear_N", "service_tension_N"} <= joint["bolts"][0].keys()
    check = case["checks"][0]
    assert {
        "check",
        "where",
        "bolt",
        "demand",
        "allowable",
        "unit",
        "utilization",
        "margin",
        "holds",
        "source",
    } <= check.keys()
    assert data["governing"]["utilization"] == max(
        c["utilization"] for each in data["cases"].values() for c in each["checks"]
    )


def test_loads_and_reaction_of_the_json_are_in_balance(elbow):
    for case in json.loads(run("check", elbow, "--json").output)["cases"].values():
        for axis in range(3):
            assert sum(load["force_N"][axis] for load in case["loads"]) == pytest.approx(
                -case["reaction"]["force_N"][axis]
            )
            assert sum(load["moment_Nm"][axis] for load in case["loads"]) == pytest.approx(
                -case["reaction"]["moment_Nm"][axis], abs=1e-9
            )


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("bolt_tension: 160 MPa", "bolt_tension: 160 MPa", 0),
        ("bolt_tension: 160 MPa", "bolt_tension: 1 MPa", 1),
        ("bolt_tension: 160 MPa", "bolt_tension: 160", 2),
        ("bolt_tension: 160 MPa, ", "", 3),
    ],
)
def test_exit_codes(elbow, old, new, code):
    elbow.write_text(ELBOW.replace(old, new))
    assert run("check", elbow).exit_code == code


def test_the_verdict_never_stands_without_what_it_rests_on(elbow):
    text = run("check", elbow).output
    assert text.index("HOLDS") < text.index("Rests on the allowables")
    for word in ("Assumptions", "Cautions", "licensed engineer", "lock the source out", "Hold the fitting"):
        assert word in text


def test_bad_input_goes_to_stderr_with_exit_2_and_prints_nothing_else(elbow):
    elbow.write_text(ELBOW.replace("60 kPa", "60 kPaa"))
    result = run("check", elbow)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "elbow.yaml:14: cases / run / inlet / pressure: '60 kPaa'" in result.stderr
    assert "elbow.yaml:15:" in result.stderr


def test_a_missing_file_and_a_folder_are_refused_in_words(tmp_path):
    for path in (tmp_path / "none.yaml", tmp_path):
        result = run("check", path)
        assert result.exit_code == 2
        assert "Traceback" not in result.stderr
        assert str(path) in result.stderr


def test_an_unknown_support_option_names_the_known_ones(elbow):
    result = run("check", elbow, "--option", "crane")
    assert result.exit_code == 2
    assert "bolts alone" in result.stderr


def test_us_units_show_in_us_units(elbow):
    elbow.write_text(ELBOW.replace("title: elbow", "title: elbow\nunits: us"))
    text = run("check", elbow).output
    assert "lbf" in text
    assert "psi" in text
    assert " kPa" not in text


def test_no_color_takes_the_bold_away(elbow):
    plain = CliRunner().invoke(main, ["check", str(elbow)], color=True, env={"NO_COLOR": "1"}).output
    bold = CliRunner().invoke(main, ["check", str(elbow)], color=True, env={"NO_COLOR": ""}).output
    assert "\x1b" not in plain
    assert "\x1b[1m" in bold


def test_start_prints_a_case_file_that_check_accepts(tmp_path):
    path = tmp_path / "mine.yaml"
    path.write_text(run("start").output)
    assert run("check", path).exit_code in (0, 1, 3)


def test_table_lists_and_shows_source_and_status():
    assert "threads_metric" in run("table").output
    shown = run("table", "threads_metric").output
    assert "M16" in shown
    assert "status" in shown
    wrong = run("table", "threads_metrik")
    assert wrong.exit_code == 2
    assert "threads_metric" in wrong.stderr


def test_schema_accepts_the_examples():
    import jsonschema
    import yaml

    schema = json.loads(run("schema").output)
    jsonschema.Draft202012Validator.check_schema(schema)
    judge = jsonschema.Draft202012Validator(schema)
    for file in FILES:
        judge.validate(yaml.safe_load(file.read_text()))


def test_python_dash_m_runs_the_same_command(tmp_path):
    path = tmp_path / "blank.yaml"
    path.write_text(BLANK_FLANGE)
    done = subprocess.run(
        [sys.executable, "-m", "anchorsize", "check", str(path)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "blank flange" in done.stdout


HELP_MAY_IMPORT = {"anchorsize", "click"}  # beside the standard library and what the interpreter loads by itself


@pytest.mark.parametrize("words", [(), ("check",), ("limits",), ("many",), ("report",), ("size",), ("start",)])
def test_help_imports_only_what_it_may(words):
    code = (
        "import sys; before = set(sys.modules); from anchorsize.cli import main\n"
        f"try: main({[*words, '--help']!r}, prog_name='anchorsize')\n"
        "except SystemExit: pass\n"
        "print(sorted({name.partition('.')[0] for name in set(sys.modules) - before} - set(sys.stdlib_module_names)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    imported = {name.strip("'") for name in done.stdout.splitlines()[-1].strip("[]").split(", ")}
    assert imported == HELP_MAY_IMPORT
