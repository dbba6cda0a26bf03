"""Friction at a support eases more than the joint: the pipe behind it and the movement are told without friction too."""

from __future__ import annotations

import re

import pytest

from anchorsize import assess, parse_case
from anchorsize.assessment.findings_friction import FRICTION_RELIEVES
from anchorsize.assessment.movement import farthest, pipe_moment
from anchorsize.present.supports_verdict import verdict_lines
from anchorsize.studies.supports import compare

CASE = """\
case_file: 1
title: outlet on a post in the wind (invented)
fluid: {name: water, density: 1000 kg/m^3}
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 159 mm}
  outlet: {center: [1.1, 0, 0.3 m], outward: [0, 0, 1], bore: 159 mm}
fitting: {mass: 90 kg, mass_center: [0.9, 0, 0.1 m]}
joints:
  main: {at: inlet, bolts: {count: 8, size: M20, circle: 240 mm}, pipe_behind: {outside: 168.3 mm, wall: 4.5 mm, length: 2.5 m, modulus: 205 GPa, poisson: 0.3}}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
external: [{name: wind, force: [0, 120, 0 N], at: [1.1, 0, 0.6 m]}]
supports:
  bolts alone: []
  post: [{kind: rest, name: R, at: [1.0, 0, -0.1 m], stiffness: 200 MN/m, friction: 0.3, allow: 9 kN}]
cases:
  still: {inlet: {flow_in: 0 L/s, pressure: 0 kPa}, outlet: capped}
"""


def read(text):
    assessment = assess(parse_case(text, "t"), "post")
    told = [each.message for each in assessment.warnings if each.kind == FRICTION_RELIEVES]
    return assessment, told


def test_the_pipe_and_the_movement_are_told_as_the_file_without_friction_has_them():
    rough, (told,) = read(CASE)
    smooth, none = read(re.sub(r"friction: 0\.3", "friction: 0", CASE))
    assert none == []
    at_end = [pipe_moment(each.study, "main", each.cases["still"].joints["main"]) for each in (smooth, rough)]
    moved = [farthest(each.study, each.cases).value for each in (smooth, rough)]
    assert at_end[0] > 1.05 * at_end[1]
    found = re.search(
        r"Without it the moment in the pipe behind 'main', at its fixed end, is up to (\S+) N·m \('still'\) in place of (\S+) N·m "
        r"and the fitting moves up to (\S+) mm \('still'\) in place of (\S+) mm",
        told,
    )
    assert [float(each) for each in found.groups()[:2]] == pytest.approx(at_end, rel=5e-4)
    assert [float(each) for each in found.groups()[2:]] == pytest.approx([1e3 * each for each in moved], rel=5e-4)
    # statics by hand: the wind about the end of the pipe, 3.6 m away and 0.6 m up, is all that turns it about z and x then
    assert at_end[0] >= 120 * (3.6**2 + 0.6**2) ** 0.5 * (1 - 1e-9)


def test_the_comparison_says_that_its_relief_counts_on_friction():
    lines = " ".join(verdict_lines(compare(parse_case(CASE, "t"))))
    assert "That counts on friction at the supports of 'post', which may be lost" in lines
    smooth = re.sub(r"friction: 0\.3", "friction: 0", CASE)
    assert "counts on friction" not in " ".join(verdict_lines(compare(parse_case(smooth, "t"))))
