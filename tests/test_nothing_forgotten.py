"""What an allowable, an input, a check or a support kind must reach, so that a part left out is noticed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from typing import get_args

import pytest

import anchorsize
from anchorsize import parse_case, study
from anchorsize.assessment import checks, checks_supports, holding
from anchorsize.casefile import format_joint, format_support
from anchorsize.casefile.leaves import Entry
from anchorsize.present.given import allowables_words
from anchorsize.present.pictures import glyphs
from anchorsize.present.report import worked_checks, worked_supports
from tests.cases import BLANK_FLANGE

ROOT = Path(__file__).parents[1]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
HOUSE = Path(anchorsize.__file__).parent
BUILDERS = "\n".join(path.read_text(encoding="utf-8") for path in (HOUSE / "casefile").glob("build*.py"))
GIVEN = "\n".join((HOUSE / "present" / name).read_text(encoding="utf-8") for name in ("given.py", "support_words.py"))
VALUES = {
    "tension_with_shear": "linear", "bolt_spacing_least": "45 mm", "bolt_spacing_greatest": "130 mm", "shear": "3 kN",
    "force": "3 kN, pressure_thrust: included", "axial": "3 kN, pressure_thrust: excluded", "pressure_thrust": "excluded",
    "moment": "2 kN*m", "bending": "2 kN*m", "torsion": "2 kN*m",
}  # fmt: skip
# Fields that are not an input of their own, or are told elsewhere: places, what follows from the size, what `size` and `supports` tell.
TOLD_ELSEWHERE = {
    "Joint.sizing", "Joint.cycles_between", "BoltPattern.numbers", "BoltPattern.xy", "BoltPattern.diameter", "BoltPattern.pitch",
    "BoltPattern.root_area", "BoltPattern.shank_area", "BoltPattern.shear_plane", "BoltPattern.tensile_strength",
    "BoltPattern.yield_strength", "BoltPattern.proof_strength", "Gasket.reaction_diameter", "Gasket.renewed", "Tightening.method", "Tightening.friction_as_found", "Tightening.of_target",
    "Joint.renewed_bolts", "Joint.handled_bolts", "Joint.repair", "Joint.found_loose", "Joint.held_if_gasket_stays",
    "Flange.designation", "Support.sections", "Support.rod_series", "Support.cost", "Support.tables",
}  # fmt: skip
TOLD = (study.Joint, study.BoltPattern, study.Gasket, study.Members, study.Tightening, study.Flange, study.Allowables,
        study.Support, study.SupportAllow)  # fmt: skip


def keys() -> Iterator[str]:
    """Every key of a joint or a support in the case file, as its model and name."""
    for module in (format_joint, format_support):
        for each in vars(module).values():
            if isinstance(each, type) and issubclass(each, Entry) and each.__module__ == module.__name__:
                yield from (f"{each.__name__}.{key}" for key in each.model_fields)


@pytest.mark.parametrize("key", [key for key in format_joint.AllowEntry.model_fields if key != "origin"])
def test_an_allowable_of_the_file_reaches_the_study(key):
    given = f"allow: {{{key}: {VALUES.get(key, '7 MPa')}}}"
    text = BLANK_FLANGE.replace("allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}", given)
    assert getattr(parse_case(text, "t").allow, key) is not None


@pytest.mark.parametrize("key", [each.name for each in fields(study.Allowables)])
def test_every_allowable_is_told(key):
    words = {"tension_with_shear": "linear", "pressure_thrust": "excluded"}
    value = words.get(key) or study.Allowable(7.0, "m" if "spacing" in key else "Pa")
    assert allowables_words(study.Allowables(**{key: value}), "metric")


@pytest.mark.parametrize("name", list(keys()))
def test_a_key_of_the_file_is_built(name):
    assert f".{name.partition('.')[2]}" in BUILDERS


@pytest.mark.parametrize("name", [f"{each.__name__}.{field.name}" for each in TOLD for field in fields(each)])
def test_an_input_is_told(name):
    assert name in TOLD_ELSEWHERE or f".{name.partition('.')[2]}" in GIVEN


@pytest.mark.parametrize("name", [rule.name for rule in checks.RULES])
def test_a_check_has_worked_lines_and_a_row_in_the_guide(name):
    assert name in worked_checks.DEMANDS
    rows = [line.partition("|")[2].partition("|")[0] for line in GUIDE.splitlines() if line.startswith("|")]
    assert any(all(word in row for word in name.split()[-1:]) for row in rows)


@pytest.mark.parametrize("name", [name for name, _ in checks_supports.SUPPORT_RULES])
def test_a_check_of_a_support_has_worked_lines(name):
    assert name in worked_supports.DEMANDS


@pytest.mark.parametrize("kind", get_args(study.SupportKind))
def test_a_support_kind_acts_has_a_sign_and_stands_in_the_guide(kind):
    assert kind in holding.ACTIONS or kind == "anchor"
    rows = [line.partition("|")[2].partition("|")[0] for line in GUIDE.splitlines() if line.startswith("|")]
    assert any(kind in row.replace(",", " ").split() for row in rows)


def test_the_kinds_are_the_same_in_file_study_and_pictures():
    kinds = set(get_args(study.SupportKind))
    assert set(format_support.SUPPORT_KINDS) == kinds
    assert set(glyphs._DRAW) == set(glyphs.KIND_WORDS) == kinds
