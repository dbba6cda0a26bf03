"""Options whose margins tie: which leads, which pair is said to tie, and where moments count a bending arm as rigid. Cases invented."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import pytest

from anchorsize import parse_case
from anchorsize.present.supports_picture import comparison_alt
from anchorsize.present.supports_relief import ARM_COUNTS_AS_RIGID
from anchorsize.studies.supports import compare
from tests.support_cases import on_one_line, printed

SPOOL = """\
case_file: 1
title: discharge spool
units: us
fluid: {name: sand slurry, density: 84 lb/ft^3}
fitting:
  shape:
    start: [0, 0, 0 in]
    direction: [0, 0, 1]
    bore: 6.065 in
    wall: 0.28 in
    material_density: 490 lb/ft^3
    kind: elbow
    turn: 90 deg
    toward: [1, 0, 0]
    radius: 18 in
    before: 6 in
    after: 24 in
  extra_masses:
    - {name: valve, mass: 85 lb, center: [36, 0, 26 in]}
joints:
  main:
    at: inlet
    reference: [1, 0, 0]
    bolts: {count: 8, size: 3/4 in, circle: 9.5 in, first_at: 22.5 deg, class: A193 B7}
    gasket: {inside: 6.62 in, outside: 8.5 in, thickness: 1/8 in, modulus: 14500 psi, m: 1, y: 200 psi}
    tightening: {torque: 100 ft*lbf, nut_factor: 0.2, scatter: 30 %}
    grip: 2.125 in
    bolt_modulus: 29700 ksi
    face_friction: 0.5
    pipe_behind: {outside: 6.625 in, wall: 0.28 in, length: 18 in, modulus: 29700 ksi, poisson: 0.3}
    allow: {force: 5000 lbf, moment: MOMENT, pressure_thrust: excluded}
allow: {bolt_tension: 25 ksi, bolt_shear: 14 ksi, tension_with_shear: linear, gasket_pressure_greatest: 6000 psi}
beyond:
  outlet: {effective_area: 34.47 in^2}
cases:
  start with slug:
    dynamic_factor: 1.5
    inlet: {flow_in: 1200 gal/min, pressure: 70 psi}
    outlet: {pressure: 68 psi}
  drained:
    contents: empty
    inlet: {flow_in: 0 gal/min, pressure: 0 psi}
    outlet: {pressure: 0 psi}
supports:
  bolts alone: []
"""

STRUT = (
    "    - {kind: strut, name: S1, at: [0, 0, 24 in], toward: [1, 0, 0], section: {outside: 3.5 in, wall: 0.216 in}, length: 4 ft, "
    "modulus: 29700 ksi, effective_length_factor: 1, allow: {force: 8000 lbf, stress: 16 ksi, buckling_factor: 3}, cost: 420}\n"
)
ANCHOR = (
    "    - {kind: anchor, name: A1, at: [24, 0, 24 in], toward: [1, 0, 0], six_way: {axial: 200000 lbf/in, shear: 150000 lbf/in, "
    "bending: 3000000 ft*lbf/rad, torsion: 3000000 ft*lbf/rad}, allow: {force: 6000 lbf, moment: 5000 ft*lbf}, cost: 900}\n"
)
ENOUGH, LITTLE = "9000 ft*lbf", "2000 ft*lbf"
"""Moments allowed on the joint: under the first bolts alone hold, under the second they fail."""

NEAR, FAR = 2, 34
"""Inches along the arm at which the hanger hangs: at the second the arm bends more than joint and hanger give, which is doubtful."""


def hanger(inches: int) -> str:
    return (
        f"    - {{kind: hanger, name: H1, at: [{inches}, 0, 28 in], rod: 3/4 in, length: 6 ft, modulus: 29700 ksi, "
        "allow: from table, cost: 140}\n"
    )


def spool(moment: str = ENOUGH, **named: str) -> str:
    listed = "".join(f"  {name.replace('_', ' ')}:\n{supports}" for name, supports in named.items())
    return SPOOL.replace("MOMENT", moment) + listed


def both(moment: str = ENOUGH) -> str:
    """A strut, and the same with a hanger on the arm that takes more off the joint."""
    return spool(moment, back_strut=STRUT, both=STRUT + hanger(FAR))


def said(tmp_path: Path, text: str) -> str:
    return on_one_line(tmp_path, text, "supports")[1]


def gasket_crushing() -> float:
    """By hand: preload T / (K d), 30 % more by scatter, of 8 bolts, over the gasket's area, over 6000 psi; nothing else presses it much."""
    preload = 100.0 * 12.0 / (0.2 * 0.75) * 1.3
    return 8.0 * preload / (math.pi / 4.0 * (8.5**2 - 6.62**2)) / 6000.0


# -- which of them leads ----------------------------------------------------------------------------------------------


def test_of_options_that_tie_the_one_not_doubtful_leads_wherever_the_best_is_named(tmp_path: Path):
    """The gasket at full preload decides both alike: no support changes it by more than the weight it takes."""
    text = spool(anchor_frame=ANCHOR, back_strut=STRUT)
    machine = json.loads(printed(tmp_path, text, "supports", "--json")[1])
    for name in ("anchor frame", "back strut"):
        assert machine["options"][name]["governing"]["utilization"] == pytest.approx(gasket_crushing(), rel=2e-3)
    assert machine["best"] == "back strut"
    out = said(tmp_path, text)
    assert "Greatest margin: 'back strut', +61%" in out
    assert "'anchor frame' holds with practically the same margin as 'back strut', but on doubtful input: gasket" in out
    assert "greatest margin: back strut." in comparison_alt(compare(parse_case(text, "f")))


def test_one_not_doubtful_leads_before_one_with_fewer_supports(tmp_path: Path):
    out = said(tmp_path, spool(anchor_frame=ANCHOR, both=STRUT + hanger(NEAR)))
    assert "Greatest margin: 'both' (H1 slack in 'start with slug'), +61%" in out
    assert "'anchor frame' holds with practically the same margin as 'both', but on doubtful input" in out


def test_a_doubtful_option_with_more_margin_than_a_tie_still_leads(tmp_path: Path):
    """Bolts alone, not doubtful, use more than a hundredth more: doubt breaks ties and nothing else."""
    out = said(tmp_path, spool(anchor_frame=ANCHOR))
    assert "Greatest margin, ON DOUBTFUL INPUT: 'anchor frame'" in out
    assert "'bolts alone' holds with less margin than 'anchor frame'" in out


# -- which pair is said to tie ----------------------------------------------------------------------------------------


def test_no_tie_is_told_of_bolts_alone_that_have_less_margin(tmp_path: Path):
    """Strut alone: it is the best and relieves most, so that nothing ties. With a hanger that relieves more: these two tie."""
    lone = said(tmp_path, spool(anchor_frame=ANCHOR, back_strut=STRUT))
    assert "Margins tie" not in lone
    assert " tie; " not in lone
    assert "With 'back strut' in place of 'bolts alone' the moment on the joint falls" in lone
    pair = said(tmp_path, both())
    assert "'bolts alone' holds with less margin than 'back strut'" in pair
    assert "Margins tie" not in pair
    assert "Margins of 'back strut' and 'both' tie; with 'both' (on doubtful input) in place of 'bolts alone'" in pair


def test_no_tie_is_told_where_bolts_alone_fail(tmp_path: Path):
    out = said(tmp_path, both(LITTLE))
    assert "'bolts alone' FAILS" in out
    assert not re.search(r"Margins( of '[^.]*)? tie", out)
    assert (
        "Beside the margins: with 'both' (on doubtful input) in place of 'bolts alone' the moment on the joint falls"
        in out
    )


@pytest.mark.parametrize("moment", [ENOUGH, LITTLE])
def test_what_fewer_supports_reach_as_well_is_said(tmp_path: Path, moment: str):
    """The hanger is slack under the slug, when the pipe's end gets most: what it takes off there is nothing."""
    options = json.loads(printed(tmp_path, both(moment), "supports", "--json")[1])["options"]
    fewer, more = options["back strut"], options["both"]
    assert more["pipe_moment_case"] == "start with slug"
    assert more["pipe_moment_Nm"] == pytest.approx(fewer["pipe_moment_Nm"], rel=1e-6)
    assert more["joint_moment_Nm"] < 0.9 * fewer["joint_moment_Nm"]
    out = said(tmp_path, both(moment))
    assert "'back strut', with fewer supports, brings the moment in the pipe behind as low." in out
    assert "brings the moment on the joint" not in out


# -- arms that bend ---------------------------------------------------------------------------------------------------


def test_moments_side_by_side_say_once_that_they_count_the_arm_as_rigid(tmp_path: Path):
    out = said(tmp_path, both())
    pointer = "These count the arm as rigid; the notes on 'back strut' and 'both' say what a bending one makes of them."
    assert re.search(rf"what differs is the greatest moment on the joint: [^:]* ft·lbf\. {re.escape(pointer)}", out)
    assert out.count("These count the arm as rigid") == 1
    assert "These too count the arm as rigid." in out
    assert ARM_COUNTS_AS_RIGID not in out


def test_an_anchor_on_a_bending_arm_says_that_no_figure_was_worked_out(tmp_path: Path):
    out = said(tmp_path, spool(anchor_frame=ANCHOR, back_strut=STRUT))
    note = out[out.index("Option: anchor frame") : out.index("Option: back strut")]
    assert "Anchor 'A1' (33.94 in). No figure was worked out with the arm bending." in note
    assert "No figure was worked out" not in out[out.index("Option: back strut") :]
    assert (
        "the notes on 'back strut' say what a bending one makes of them, and for 'anchor frame' no figure was worked out."
        in out
    )


def test_relief_by_an_anchor_points_at_no_figure(tmp_path: Path):
    out = said(tmp_path, spool(anchor_frame=ANCHOR))
    assert "These count the arm as rigid; with a bending one no figure was worked out for 'anchor frame'." in out
    assert ARM_COUNTS_AS_RIGID not in out
