"""A line that a wave runs through may be many kilometers long; nothing else of a fitting is."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from anchorsize.cli import main

SURGE = "surge: {stopped_flow: 150 L/s, wave_speed: 1100 m/s, closing_time: 40 s, pipe_length: LENGTH}"
CASE = f"""\
case_file: 1
title: foot of a long rising main (invented)
units: metric
up: [0, 0, 1]
fluid: {{name: water, temperature: 12 degC}}
fitting:
  shape: {{start: [0, 0, 0 m], direction: [1, 0, 0], bore: 260.4 mm, wall: 6.3 mm, material_density: 7850 kg/m^3, kind: straight, length: 1 m}}
joints:
  main: {{at: inlet, reference: [0, 0, 1], bolts: {{count: 12, size: M24, circle: 355 mm}}}}
cases:
  stop: {{inlet: {{flow_in: 0 L/s, pressure: 5.5 bar, {SURGE}}}, outlet: {{pressure: from losses, loss_coefficient: 0}}}}
"""


def ran(tmp_path, length, command=("reactions",)):
    path = tmp_path / "main.yaml"
    path.write_text(CASE.replace("LENGTH", length), encoding="utf-8")
    return CliRunner().invoke(main, [command[0], str(path), *command[1:]])


@pytest.mark.parametrize("length", ["1.4 km", "12 km", "40000 m"])
def test_line_of_kilometers_is_read(tmp_path, length):
    made = ran(tmp_path, length)
    assert made.exit_code == 0, made.output


def test_line_longer_than_any_asks_for_its_unit(tmp_path):
    made = ran(tmp_path, "1400000 m")
    assert made.exit_code == 2
    assert "'1400000 m' is more than 1,000,000 m (is this unit right?)" in made.output.replace("1000000", "1,000,000")
