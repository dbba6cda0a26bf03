"""A thrust block's weight is counted clear of groundwater; what it comes to in water is told, and which check of it fails then.

Buoyancy by Archimedes: of ρ only ρ less that of water counts. Sliding: factor · thrust / (friction · weight), as in any soil mechanics text.
"""

from __future__ import annotations

import re

import numpy as np
import pytest

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.present.supports_verdict import verdict_lines
from anchorsize.studies.supports import compare

G = 9.80665
VOLUME = 2.0 * 1.2 * 1.0
KINDS = ("block clear of groundwater", "block fails in groundwater")
BLOCK = """
case_file: 1
title: end of a main, held by a block (invented)
units: metric
up: [0, 0, 1]
fluid: {name: water, density: 1000 kg/m^3}
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 200 mm}
  outlet: {center: [0.6, 0, 0 m], outward: [1, 0, 0], bore: 200 mm}
allow: {}
cases:
  shut: {inlet: {flow_in: 0 L/s, pressure: 500 kPa}, outlet: capped}
supports:
  block:
    - kind: thrust_block
      name: B1
      at: [0.6, 0, 0 m]
      toward: [-1, 0, 0]
      stiffness: 50 MN/m
      block: {length: 2 m, width: 1.2 m, height: 1 m, density: 2400 kg/m^3, friction: 0.5, thrust_height: 0.5 m}
      allow: {bearing: 100 kPa, sliding_factor: 1.5}
    - {kind: anchor, name: A1, at: [0, 0, 0 m], toward: [1, 0, 0],
       six_way: {axial: 1 kN/m, shear: 1 MN/m, bending: 1 MN*m/rad, torsion: 1 MN*m/rad}, allow: {force: 100 kN, moment: 100 kN*m}}
"""


def made(text):
    return assess(parse_case(text, "t"))


def told(text):
    return [w for w in made(text).warnings if w.kind in KINDS]


def sliding(text):
    assessment = made(text)
    (check,) = [c for c in assessment.cases["shut"].checks if c.check == "block sliding"]
    return float(check.utilization), float(np.linalg.norm(assessment.cases["shut"].supports["B1"].force))


def test_a_block_that_slides_in_water_is_told_with_its_utilization():
    clear, thrust = sliding(BLOCK)
    assert clear == pytest.approx(1.5 * thrust / (0.5 * 2400 * VOLUME * G), rel=1e-6)
    wet = 1.5 * thrust / (0.5 * 1400 * VOLUME * G)
    assert clear < 1.0 < wet
    (finding,) = told(BLOCK)
    assert "2400 kg/m³ counts as 1400 kg/m³. Block sliding FAILS then in 'shut'" in finding.message
    found = re.search(r"utilization ([\d.]+) in place of ([\d.]+)\.", finding.message)
    assert float(found[1]) == pytest.approx(wet, rel=5e-3)
    assert float(found[2]) == pytest.approx(clear, rel=5e-3)
    assert sliding(BLOCK.replace("2400 kg/m^3", "1400 kg/m^3"))[0] == pytest.approx(wet, rel=1e-9)
    assert any("counts clear of groundwater" in line for line in verdict_lines(compare(parse_case(BLOCK, "t"))))


def test_a_heavy_block_is_told_without_a_failure_and_a_light_one_not_at_all():
    heavy = BLOCK.replace("length: 2 m", "length: 6 m")
    assert "FAILS" not in told(heavy)[0].message
    assert told(BLOCK.replace("2400 kg/m^3", "900 kg/m^3")) == []
    assert made(BLOCK).verdict == "holds"
