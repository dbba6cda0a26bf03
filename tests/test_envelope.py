"""The envelope over cases against hand statics of each case."""

from __future__ import annotations

import json
import math

import pytest
from click.testing import CliRunner

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.cli import main
from anchorsize.studies.envelope import envelope
from tests.cases import BLANK_FLANGE, ELBOW

AREA = math.pi / 4 * 0.1**2


def by_action(text):
    return {(each.joint, each.action): each for each in envelope(assess(parse_case(text, "f")))}


def test_axial_of_the_elbow_by_hand():
    found = by_action(ELBOW)["main", "axial"]
    assert (found.greatest_case, found.least_case) == ("run", "stopped")
    assert found.least == pytest.approx(60e3 * AREA)
    assert found.greatest == pytest.approx(60e3 * AREA + 1000 * 0.02**2 / AREA)


def test_vertical_reaction_of_the_elbow_by_hand():
    # the jet goes up, so the fitting is pressed down while it runs and only weighs while stopped
    found = by_action(ELBOW)[None, "vertical reaction"]
    weight = 12 * 9.80665
    assert (found.least_case, found.least) == ("stopped", pytest.approx(weight))
    assert found.greatest == pytest.approx(weight + 1000 * 0.02**2 / (math.pi / 4 * 0.05**2))


def test_bolt_tension_names_case_and_bolt():
    text = BLANK_FLANGE.replace("cases:\n", "cases:\n  empty: {pipe: {flow_in: 0 L/s, pressure: 0 bar}}\n")
    found = by_action(text)["main", "external tension"]
    assert (found.least_case, found.greatest_case) == ("empty", "test")
    assert found.least == pytest.approx(0.0, abs=1e-9)
    assert found.least_bolt in range(1, 9)
    assert found.greatest_bolt in range(1, 9)


def test_a_missing_bolt_is_not_in_the_envelope():
    text = BLANK_FLANGE.replace("first_at", "missing: [3], first_at")
    found = by_action(text)["main", "external tension"]
    assert 3 not in (found.least_bolt, found.greatest_bolt)
    assert found.least > 0


def test_reactions_shows_the_envelope(tmp_path):
    path = tmp_path / "e.yaml"
    path.write_text(ELBOW)
    data = json.loads(CliRunner().invoke(main, ["reactions", str(path), "--json"]).output)
    axial = next(row for row in data["envelope"] if row["action"] == "axial")
    assert axial["least_N"] == pytest.approx(60e3 * AREA)
    assert axial["least_case"] == "stopped"
    text = CliRunner().invoke(main, ["reactions", str(path), "--width", "80"]).output
    assert "Envelope over all cases" in text
    assert max(map(len, text.splitlines())) <= 80
