"""A surge that says that nothing stops needs no wave speed and is told as none; masses that stay when another flange is chosen are told."""

from __future__ import annotations

import html
import json
import re

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize.assessment import assess
from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.cli import main
from anchorsize.present.text import check_report

NONE = "surge: {stopped_flow: 0 L/s}"
THROUGH = "A surge runs through the fitting"


def line(inlet: str, outlet: str = "pressure: 880 kPa", flow: str = "20 L/s") -> str:
    return f"""\
case_file: 1
title: elbow in a line (invented)
fluid: {{name: water, density: 1000 kg/m^3}}
openings:
  inlet: {{center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 107 mm}}
  outlet: {{center: [0.3, 0, 0.2 m], outward: [0, 0, 1], bore: 80 mm}}
joints:
  main: {{at: inlet, bolts: {{count: 8, size: M16, circle: 180 mm}}}}
allow: {{bolt_tension: 160 MPa, bolt_shear: 95 MPa}}
cases:
  run: {{inlet: {{flow_in: {flow}, pressure: 900 kPa, {inlet}}}, outlet: {{{outlet}}}}}
"""


LOSSES = "pressure: from losses, loss_coefficient: 0.3"
SURGE = "surge: {stopped_flow: 20 L/s, wave_speed: 1200 m/s}"


def refused(text):
    with pytest.raises(CaseFileError) as raised:
        parse_case(text, "t.yaml")
    return str(raised.value)


def assumed(text):
    return " ".join(assess(parse_case(text, "t.yaml")).assumptions)


# --- a surge of nothing -----------------------------------------------------------------------------------------------


def test_a_surge_that_stops_nothing_is_not_said_to_run_through():
    assert THROUGH not in assumed(line("surge: {stopped_flow: 0 L/s, wave_speed: 1000 m/s}", LOSSES))
    assert THROUGH not in assumed(line(NONE, LOSSES))
    assert THROUGH in assumed(line(SURGE, LOSSES))
    two = (
        line(SURGE, LOSSES)
        + f"  calm: {{inlet: {{flow_in: 20 L/s, pressure: 900 kPa, {NONE}}}, outlet: {{{LOSSES}}}}}\n"
    )
    assert re.search(rf"{THROUGH}[^(]*\(in 'run'\)", assumed(two))


def test_nothing_stopped_needs_no_wave_speed_and_changes_nothing():
    """The pressure is the 900 kPa written, the velocity that of the flow: no rise."""
    with_speed = "surge: {stopped_flow: 0 L/s, wave_speed: 1000 m/s}"
    found, known = (assess(parse_case(line(each), "t.yaml")).cases["run"] for each in (NONE, with_speed))
    assert float(found.openings["inlet"].pressure) == 900e3
    assert float(found.openings["inlet"].surge_rise) == 0.0
    np.testing.assert_array_equal(found.reaction_force, known.reaction_force)


@pytest.mark.parametrize(
    ("entry", "wanted"),
    [
        ("surge: {stopped_flow: 20 L/s}", "'wave_speed' is missing"),
        ("surge: {stopped_flow: 0 L/s, closing_time: 2 s, pipe_length: 100 m}", "'wave_speed' is missing"),
        ("surge: {stopped_flow: 0 L/s, pipe: {inside: 100 mm}}", "'wall' is missing"),
        ("surge: {}", "'stopped_flow' is missing"),
    ],
)
def test_where_something_stops_or_more_is_given_it_is_refused_as_before(entry, wanted):
    assert wanted in refused(line(entry))


def test_of_a_batch_all_must_stop_nothing():
    key = "cases/run/inlet/surge/stopped_flow"
    whole = parse_case(line(NONE), "t.yaml", overrides={key: np.zeros(3)})
    surge = whole.cases["run"].states["inlet"].surge
    assert surge is not None
    assert not np.any(surge.stopped_flow)
    with pytest.raises(CaseFileError, match="'wave_speed' is missing"):
        parse_case(line(NONE), "t.yaml", overrides={key: np.array([0.0, 0.01])})


@pytest.mark.parametrize("outlet", ["pressure: 880 kPa", LOSSES])
@pytest.mark.parametrize("flow", ["20 L/s", "0 L/s"])
@pytest.mark.parametrize(
    "command",
    [
        ("check",),
        ("check", "--json"),
        ("report", "--output", "page.html"),
        ("limits",),
        ("limits", "--json"),
        ("curve", "--case", "run", "--to", "30 L/s"),
        ("reactions",),
        ("scatter", "--samples", "200"),
        ("boltup", "--output", "page.html"),
    ],
)
def test_every_command_stands_it_and_prints_no_wave_speed(tmp_path, monkeypatch, command, flow, outlet):
    monkeypatch.chdir(tmp_path)
    name, *words = command
    written, codes = "", []
    for surge in (NONE, "exit: connected"):
        text = line(surge, outlet, flow).replace("1000 kg/m^3", "1000 kg/m^3 ± 1 %")
        (tmp_path / "line.yaml").write_text(text)
        result = CliRunner().invoke(main, [name, "line.yaml", *words])
        assert result.exception is None or isinstance(result.exception, SystemExit)
        codes.append(result.exit_code)
        pages = [each.read_text() for each in tmp_path.glob("page*")]
        written = written or "".join([result.output, *pages])
        for each in tmp_path.glob("page*"):
            each.unlink()
    assert codes[0] == codes[1] != 2 or (name, flow) == ("curve", "0 L/s"), written  # no curve follows a flow of 0
    assert "nan" not in written.lower().split()
    assert "wave speed" not in written.lower()


def test_the_report_works_out_no_rise_of_nothing(tmp_path):
    path, page = tmp_path / "line.yaml", tmp_path / "line.html"
    path.write_text(line(NONE, LOSSES))
    result = CliRunner().invoke(main, ["report", str(path), "--output", str(page)])
    assert page.exists(), result.output
    said = html.unescape(re.sub("<[^>]+>", " ", page.read_text()))
    assert "Pressure rise of a sudden stop" not in said
    assert "Velocity that is stopped" not in said
    assert "Surge at inlet: none, by its stopped_flow of 0." in " ".join(
        check_report(assess(parse_case(path.read_text(), "t.yaml")), 100).split()
    )


def test_what_the_hint_says_to_write_is_taken():
    (finding,) = (
        each for each in assess(parse_case(line(SURGE), "t.yaml")).warnings if each.kind == "surge not at every opening"
    )
    assert "surge: {stopped_flow: 0 L/s} there." in finding.message
    after = assess(parse_case(line(SURGE, f"pressure: 880 kPa, {NONE}"), "t.yaml"))
    assert "surge not at every opening" not in {each.kind for each in after.warnings}


# --- masses beside another flange -------------------------------------------------------------------------------------

PIECE = """\
case_file: 1
title: Drain piece (invented)
fluid: {name: water, density: 1000 kg/m^3}
fitting:
  mass: 30 kg
  mass_center: [0.2, 0, 0 m]
  extra_masses: [{name: foot flange, mass: 14 kg, center: [0, 0, 0 m]}]
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 150 mm}
  outlet: {center: [0.3, 0.1, 0.3 m], outward: [0, 0, 1], bore: 100 mm}
joints:
  foot:
    at: inlet
    note: line 4
    bolts: {class: "8.8"}
    flange: {designation: EN 1092-1 PN 16 DN 150}
allow: {bolt_tension: 140 MPa, bolt_shear: 85 MPa}
cases:
  run: {inlet: {flow_in: 60 L/s, pressure: 4 bar}, outlet: {pressure: 3.5 bar}}
"""
BOTH = "fitting / mass and extra_masses 'foot flange'"
OTHER, SAME = "EN 1092-1 PN 40 DN 150", "EN 1092-1 PN 16 DN 150"


def sized(tmp_path, text, flange, *words):
    """What ``size`` says of a choice of that flange, and the note in the file that it writes."""
    path, target = tmp_path / "piece.yaml", tmp_path / "new.yaml"
    path.write_text(text)
    result = CliRunner().invoke(main, ["size", str(path), "--flanges", flange, "--write", str(target), *words])
    assert target.exists(), result.output
    (remark,) = parse_case(target.read_text(), "new.yaml").remarks
    return result.stdout, remark


def test_masses_that_stay_beside_another_flange_are_told_and_noted(tmp_path):
    said, remark = sized(tmp_path, PIECE, OTHER)
    assert (
        f"{BOTH} in the file were not changed with the flange; where the old flange is among them, its weight is still in every weight and "
        "load here: write the new one's" in " ".join(said.split())
    )
    assert remark == (
        f"joints / foot: line 4; changed by size --write: flange {OTHER} (was {SAME}); {BOTH} not changed with the flange: where the old "
        "flange is among them, write the new one's; the mating flange must be the same"
    )
    new = parse_case((tmp_path / "new.yaml").read_text(), "new.yaml").fitting
    assert float(new.mass) == 30.0
    assert [float(each.mass) for each in new.extra_masses] == [14.0]
    as_json = CliRunner().invoke(main, ["size", str(tmp_path / "piece.yaml"), "--flanges", OTHER, "--json"]).stdout
    assert any(each.startswith(f"{BOTH} in the file were not changed") for each in json.loads(as_json)["notes"])


def test_nothing_is_said_of_masses_where_the_flange_stays_or_there_are_none(tmp_path):
    said, remark = sized(tmp_path, PIECE, SAME)
    assert "not changed with the flange" not in " ".join(said.split())
    assert remark == "joints / foot: line 4"
    bare = re.sub(r"fitting:\n(  .*\n){3}", "", PIECE)
    said, remark = sized(tmp_path, bare, OTHER, "--force")
    assert "not changed with the flange" not in " ".join(said.split())
    assert "not changed" not in remark


def test_a_later_choice_notes_the_masses_once(tmp_path):
    sized(tmp_path, PIECE, OTHER)
    text = (tmp_path / "new.yaml").read_text()
    _, remark = sized(tmp_path, text, SAME, "--force")
    assert remark.count("not changed with the flange") == remark.count("the mating flange must be the same") == 1
