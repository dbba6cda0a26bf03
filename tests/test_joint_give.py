"""What leans on the stiffness of joints, and what heat does between them, by hand and against files that say it outright.

The spool and its figures are invented.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize.assessment import Assessment, assess
from anchorsize.assessment.findings_joint_give import JOINT_STIFFNESS
from anchorsize.assessment.findings_support_data import HEAT, LEANS_ON_JOINTS, SHORTENED
from anchorsize.casefile import parse_case
from anchorsize.cli import main
from anchorsize.studies.supports import compare

OUTSIDE, WALL, MODULUS = 0.1683, 0.0071, 200e9
AREA = np.pi / 4.0 * (OUTSIDE**2 - (OUTSIDE - 2 * WALL) ** 2)

BOLTS = "bolts: {count: 8, size: M20, circle: 240 mm, first_at: 22.5 deg}"
SPOOL = f"""\
case_file: 1
title: spool between a pump and an anchored riser
fluid: {{name: water, density: 1000 kg/m^3}}
fitting:
  shape: {{direction: [1, 0, 0], bore: 154.1 mm, kind: straight, length: 500 mm}}
  mass: 40 kg
  mass_center: [250, 0, 0 mm]
joints:
  pump:
    at: inlet
    reference: [0, 0, 1]
    {BOLTS}
    stiffness: {{axial: 150 MN/m, shear: 60 MN/m, bending: 4 MN*m/rad, torsion: 4 MN*m/rad}}
  riser:
    at: outlet
    reference: [0, 0, 1]
    {BOLTS}
    pipe_behind: {{outside: 168.3 mm, wall: 7.1 mm, length: 3 m, modulus: 200 GPa, poisson: 0.3}}
allow: {{bolt_tension: 150 MPa, bolt_shear: 95 MPa}}
cases:
  run: {{inlet: {{flow_in: 20 L/s, pressure: 4 bar}}, outlet: {{pressure: 4 bar}}}}
external: [{{name: crane, force: [0, 0, -FORCE N], at: [PLACE, 0, 0 mm]}}]
"""


STIFFNESS = "axial: 150 MN/m, shear: 60 MN/m, bending: 4 MN*m/rad, torsion: 4 MN*m/rad"
STIFFER = "axial: 450 MN/m, shear: 180 MN/m, bending: 12 MN*m/rad, torsion: 12 MN*m/rad"
SOFTER = f"axial: 50 MN/m, shear: 20 MN/m, bending: {4 / 3} MN*m/rad, torsion: {4 / 3} MN*m/rad"


def spool(force: float = 0.0, place: float = 250.0, changed: Mapping[str, str] | None = None) -> Assessment:
    text = SPOOL.replace("FORCE", f"{force}").replace("PLACE", f"{place}")
    for before, after in (changed or {}).items():
        text = text.replace(before, after)
    return assess(parse_case(text, "f"))


def said(judged: Assessment, kind: str) -> list[str]:
    return [each.message for each in judged.warnings if each.kind == kind]


def test_heat_between_two_joints_by_hand():
    """α ΔT L over 1/k of the pump and L/EA of the pipe, in line: strength of materials. The same at either joint."""
    longer = 12e-6 * 10.0 * 3.0
    force = longer / (1.0 / 150e6 + 3.0 / (MODULUS * AREA))
    (told,) = said(spool(), HEAT)
    assert "each 10 K (18 °F) by which the pipe behind joint 'riser' (3000 mm)" in told
    assert "0.36 mm" in told
    shown = [float(each) for each in re.findall(r"([\d.]+) kN at joint", told)]
    assert shown == pytest.approx([force / 1e3] * 2, abs=0.01)  # four figures


def test_heat_goes_into_a_strut_along_the_pipe_and_not_into_a_hanger():
    """One joint: with a strut in line the pipe's growth is blocked, αΔTL over the give of strut and pipe; a rod above lets it slide."""
    one = re.sub(r"  pump:.*?(?=  riser:)", "", SPOOL, flags=re.DOTALL).replace("FORCE", "0").replace("PLACE", "250")

    def told(support: str) -> list[str]:
        judged = assess(parse_case(f"{one}supports:\n  A: [{support}]\n", "f"))
        return said(judged, HEAT)

    strut = "{kind: strut, name: S, at: [250, 0, 0 mm], toward: [1, 0, 0], stiffness: 50 MN/m, allow: {force: 90 kN}}"
    force = 12e-6 * 10.0 * 3.0 / (1.0 / 50e6 + 3.0 / (MODULUS * AREA))
    (words,) = told(strut)
    assert [float(each) for each in re.findall(r"([\d.]+) kN at", words)] == pytest.approx([force / 1e3] * 2, abs=0.01)
    assert "support 'S'" in words
    assert told("{kind: hanger, name: H, at: [250, 0, 0 mm], stiffness: 5 MN/m, allow: {force: 90 kN}}") == []


def test_a_short_pipe_beside_great_loads_is_not_told_of():
    assert said(spool(force=9e4), HEAT)
    assert said(spool(force=9e5), HEAT) == []


def used(judged: Assessment) -> float:
    return max(float(check.utilization) for case in judged.cases.values() for check in case.checks)


@pytest.mark.parametrize(("force", "kind"), [(20e3, JOINT_STIFFNESS), (80e3, LEANS_ON_JOINTS)])
def test_a_stiffer_joint_takes_more_and_is_told_as_the_file_that_says_so_has_it(force: float, kind: str):
    """The pump held three times as stiffly, written out: its bolts then get what the finding says."""
    as_given, stiffer = spool(force), spool(force, changed={STIFFNESS: STIFFER})
    told = [words for words in said(as_given, kind) if "joint 'pump'" in words]
    assert len(told) == 1
    assert "with 3 times the stiffness given" in told[0]
    found = re.search(r" ([\d.]+) \(as given at most (.+?) of .* ([\d.]+)\)", told[0])
    assert found[1] == f"{used(stiffer):.3g}"
    assert found[3] == f"{used(as_given):.3g}"
    cases = as_given.cases.values()
    assert found[2] in {
        check.words for case in cases for check in case.checks if float(check.utilization) == used(as_given)
    }
    assert (used(as_given) <= 1.0 < used(stiffer)) == (kind == LEANS_ON_JOINTS)
    assert ("FAILS" in told[0]) == (kind == LEANS_ON_JOINTS)


@settings(max_examples=15, deadline=None)
@given(st.floats(1e3, 2e5), st.floats(0.0, 500.0))
def test_what_is_told_is_what_the_softer_or_stiffer_file_gives(force: float, place: float):
    """Whatever the load: the greatest utilization of the four files that the findings stand for, where it is a tenth more."""
    judged = spool(force, place)
    given_use = used(judged)
    told = [words for kind in (JOINT_STIFFNESS, LEANS_ON_JOINTS) for words in said(judged, kind)]
    for name, key, values in (
        ("pump", STIFFNESS, (STIFFER, SOFTER)),
        ("riser", "modulus: 200 GPa", ("modulus: 600 GPa", f"modulus: {200 / 3} GPa")),
    ):
        uses = [used(spool(force, place, {key: value})) for value in values]
        words = [each for each in told if f"joint '{name}'" in each]
        if max(uses) > 1.1001 * given_use:
            assert len(words) == 1
            assert f"{max(uses):.3g} (as given" in words[0]
        elif max(uses) < 1.0999 * given_use and not (given_use <= 1.0 < max(uses)):
            assert words == []


def test_both_stand_beside_the_verdict_on_the_screen(tmp_path: Path):
    file = tmp_path / "f.yaml"
    file.write_text(SPOOL.replace("FORCE", "80000").replace("PLACE", "250"), "utf-8")
    text = " ".join(CliRunner().invoke(main, ["check", str(file), "--brief"]).output.split())
    head = text[: text.index("Governs:")]
    assert "How stiffly joint 'pump' is held decides who carries what" in head
    assert "HEAT IS NOT COUNTED" in head


def test_one_joint_alone_leans_on_no_stiffness():
    one = (
        re.sub(r"  pump:.*?(?=  riser:)", "", SPOOL, flags=re.DOTALL).replace("FORCE", "110000").replace("PLACE", "250")
    )
    judged = assess(parse_case(one, "f"))
    assert {HEAT, LEANS_ON_JOINTS, JOINT_STIFFNESS}.isdisjoint(each.kind for each in judged.warnings)


def test_pressure_shortens_a_pipe_behind_by_hand():
    """ν p d/(2 t) L/E over the give of strut and pipe in line (strength of materials), told as less for the strut and more for the joint."""
    one = re.sub(r"  pump:.*?(?=  riser:)", "", SPOOL, flags=re.DOTALL).replace("FORCE", "0").replace("PLACE", "250")
    one = one.replace("pressure: 4 bar", "pressure: 12 bar")
    strut = "{kind: strut, name: S, at: [250, 0, 0 mm], toward: [1, 0, 0], stiffness: 50 MN/m, allow: {force: 90 kN}}"
    shorter = 0.3 * 1.2e6 * (OUTSIDE - 2 * WALL) / (2 * WALL) * 3.0 / MODULUS
    force = shorter / (1.0 / 50e6 + 3.0 / (MODULUS * AREA))
    (words,) = said(assess(parse_case(f"{one}supports:\n  A: [{strut}]\n", "f")), SHORTENED)
    assert [float(each) for each in re.findall(r"([\d.]+) N at", words)] == pytest.approx([force] * 2, rel=5e-4)
    assert f"by up to {shorter * 1e3:.4g} mm" in words
    hanger = "{kind: hanger, name: H, at: [250, 0, 0 mm], stiffness: 5 MN/m, allow: {force: 90 kN}}"
    assert said(assess(parse_case(f"{one}supports:\n  A: [{hanger}]\n", "f")), SHORTENED) == []


def test_an_option_whose_supports_all_idle_is_not_the_cheapest_that_holds():
    """A rod slack by more than the fitting moves costs least and carries nothing."""
    text = SPOOL.replace("FORCE", "900").replace("PLACE", "250")
    text = re.sub(r"  riser:.*?(?=allow:)", "", text, flags=re.DOTALL)
    slack = "{kind: hanger, name: H, at: [400, 0, 0 mm], stiffness: 5 MN/m, gap: GAP, allow: {force: 9 kN}, cost: 80}"
    post = "{kind: rest, name: R, at: [400, 0, 0 mm], stiffness: 50 MN/m, allow: {force: 9 kN}, cost: 320}"
    said_of = {}
    for gap in ("90 mm", "0 mm"):
        found = compare(parse_case(f"{text}supports:\n  rod: [{slack.replace('GAP', gap)}]\n  post: [{post}]\n", "f"))
        assert all(option.holds for option in found.options)
        said_of[gap] = None if found.cheapest is None else found.cheapest.name
    assert said_of == {"90 mm": "post", "0 mm": "rod"}


def test_a_check_without_any_clamp_in_one_option_is_not_alike_in_all():
    """Bolts alone lose their clamp, so slip there is beyond any: the support changes it, and it ranks the options."""
    text = SPOOL.replace("FORCE", "60000").replace("PLACE", "450")
    text = re.sub(r"  riser:.*?(?=allow:)", "", text, flags=re.DOTALL)
    ring = "gasket: {inside: 169 mm, outside: 218 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa}"
    tight = f"{ring}\n    grip: 48 mm\n    bolt_modulus: 205 GPa\n    face_friction: 0.15\n    tightening: {{torque: 60 N*m, nut_factor: 0.2, scatter: 30 %, relaxation: 10 %}}"
    text = text.replace("reference: [0, 0, 1]", f"reference: [0, 0, 1]\n    {tight}")
    post = "{kind: rest, name: R, at: [450, 0, 0 mm], stiffness: 500 MN/m, allow: {force: 90 kN}}"
    found = compare(parse_case(f"{text}supports:\n  post: [{post}]\n", "f"))
    slip = {
        option.name: [float(check.utilization) for _, check in option.checks if check.check == "slip at the bolts"]
        for option in found.options
    }
    assert slip["bolts alone"] == [np.inf]
    assert slip["post"][0] < 10.0
    assert not any("slip at the bolts" in key for key in found.common)
