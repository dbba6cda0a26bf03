"""What the file does not give of scatter and loss is named, wherever a preload or a window rests on it.

The joint and its figures are invented; windows by hand (1 ± scatter, 1 − loss).
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.cli import main

FILE = """\
case_file: 1
title: rubber-gasketed elbow
fluid: {name: water, density: 1000 kg/m^3}
openings:
  inlet: {center: [0, 0, 0 mm], outward: [-1, 0, 0], bore: 108.3 mm}
  outlet: {center: [200, 0, 200 mm], outward: [0, 0, 1], bore: 70.3 mm}
fitting:
  mass: 12 kg
  mass_center: [90, 0, 60 mm]
joints:
  nozzle:
    at: inlet
    reference: [0, 0, 1]
    bolts: {count: 8, size: M16, circle: 180 mm, first_at: 22.5 deg, class: "8.8"}
    gasket: {inside: 115 mm, outside: 162 mm, thickness: 3 mm, modulus: 60 MPa, m: 1, y: 1.4 MPa}
    flange: {outside: 220 mm, thickness: 20 mm, hole: 18 mm}
    grip: 43 mm
    bolt_modulus: 205 GPa
    face_friction: 0.3
    tightening: {torque: 20 N*m, nut_factor: 0.16GIVEN}
allow: {bolt_tension: 200 MPa, bolt_shear: 95 MPa, gasket_pressure_greatest: 10 MPa}
cases:
  duty: {inlet: {flow_in: 15 L/s, pressure: 0.5 bar}, outlet: {pressure: 0.1 bar}}
"""

SCATTER, LOSS = ", scatter: 30 %", ", relaxation: 20 %"


def run(tmp_path: Path, given: str, command: str = "check") -> str:
    file = tmp_path / "f.yaml"
    file.write_text(FILE.replace("GIVEN", given), "utf-8")
    words = [command, str(file), *(["-o", str(tmp_path / "s.html")] if command == "boltup" else [])]
    out = CliRunner().invoke(main, words).output
    if command == "boltup":
        out = re.sub(r"<[^>]+>", " ", (tmp_path / "s.html").read_text("utf-8"))
    return " ".join(out.split())


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("", "NO SCATTER and NO LOSS given, none"),
        (SCATTER, "scatter {}, NO LOSS given, none"),
        (LOSS, "loss {}, NO SCATTER given, none"),
        (SCATTER + LOSS, "scatter and loss"),
    ],
)
def test_a_window_names_what_it_does_not_count(tmp_path: Path, given: str, words: str):
    told, sheet = run(tmp_path, given), run(tmp_path, given, "boltup")
    assert f"; {words.format('included')} included; given: 20.00 N·m" in told
    assert f"{words.format('counted')} counted" in sheet
    assert ("NO SCATTER" in told) == (SCATTER not in given)
    assert ("NO LOSS" in told) == (LOSS not in given)


def test_the_ends_are_as_far_off_as_scatter_and_loss_make_them(tmp_path: Path):
    """Seating wants the least preload, crushing the greatest: the ends without both over (1 − 0.3)(1 − 0.2) and 1 + 0.3."""

    def ends(given: str) -> tuple[float, float]:
        found = re.search(
            r"torque from ([\d.]+) N·m \(gasket seating.*? to ([\d.]+) N·m \(gasket crushing", run(tmp_path, given)
        )
        assert found is not None
        return float(found[1]), float(found[2])

    plain, whole = ends(""), ends(SCATTER + LOSS)
    assert whole[0] == pytest.approx(plain[0] / (0.7 * 0.8), rel=5e-4)  # four figures
    assert whole[1] == pytest.approx(plain[1] / 1.3, rel=1e-2)  # what the loads add to crushing does not scatter


def test_it_stands_beside_the_verdict_and_on_the_sheet(tmp_path: Path):
    words = "NO SCATTER given, so each bolt counts as pulled to exactly what its torque makes of it."
    told = run(tmp_path, "")
    assert words in told[: told.index("Governs:")]
    assert "Nor is a relaxation given" in told[: told.index("Governs:")]
    assert words in run(tmp_path, "", "boltup")
    assert "NO SCATTER and NO LOSS given" in run(tmp_path, "", "boltup")
    assert words not in run(tmp_path, SCATTER)


@pytest.mark.parametrize(
    ("given", "kinds"),
    [
        ("", {"scatter left out"}),
        (LOSS, {"scatter left out"}),
        (SCATTER, {"relaxation left out"}),
        (SCATTER + LOSS, set()),
        (", method: torque wrench" + LOSS, set()),
    ],
)
def test_what_is_left_out_is_a_finding(given: str, kinds: set[str]):
    found = {each.kind for each in assess(parse_case(FILE.replace("GIVEN", given), "f")).warnings}
    assert found & {"scatter left out", "relaxation left out"} == kinds


def test_without_a_preload_nothing_is_left_out():
    text = FILE.replace("    tightening: {torque: 20 N*m, nut_factor: 0.16GIVEN}\n", "")
    assert {"scatter left out", "relaxation left out"}.isdisjoint(
        w.kind for w in assess(parse_case(text, "f")).warnings
    )
