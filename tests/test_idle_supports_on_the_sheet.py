"""A support that carries in no case: the sheet and `check` count on it nowhere, and say so."""

from __future__ import annotations

import pytest

from anchorsize import StudyError, assess, parse_case
from anchorsize.assessment.holding import chosen_option
from anchorsize.present.boltup_first import check_first
from anchorsize.present.boltup_push import push_words
from anchorsize.present.on_site import on_site_text
from anchorsize.studies.boltup import boltup
from anchorsize.studies.supports import compare

CASE = """\
case_file: 1
title: nozzle beside a wall (invented)
fluid: {name: water, density: 1000 kg/m^3}
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}
  outlet: {center: [0.6, 0, 0 m], outward: [1, 0, 0], bore: 50 mm}
joints:
  main: {at: inlet, bolts: {count: 8, size: M16, circle: 180 mm}, stiffness: {axial: 40 MN/m, shear: 10 MN/m, bending: 60 kN*m/rad, torsion: 60 kN*m/rad}}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
external: [{name: weight of a valve, force: [0, 0, -900 N], at: [0.5, 0, 0 m]}]
supports:
  both:
    - {kind: rest, name: R, at: [0.5, 0, 0 m], stiffness: 5 MN/m, allow: 3 kN}
    - {kind: tie, name: T, at: [0.5, 0, 0 m], toward: [0, 0, -1], stiffness: 5 MN/m, allow: 3 kN}
  tie alone:
    - {kind: tie, name: T, at: [0.5, 0, 0 m], toward: [0, 0, -1], stiffness: 5 MN/m, allow: 3 kN}
cases:
  run: {inlet: {flow_in: 5 L/s, pressure: 300 kPa}, outlet: free_jet}
"""


def read(option):
    assessment = assess(parse_case(CASE, "t"), option)
    plan = boltup(assessment)
    return assessment, plan, " ".join(check_first(plan, assessment.study.units))


def test_what_never_carries_is_counted_on_nowhere():
    assessment, plan, ticks = read("tie alone")
    assert plan.holders == (1, 0)
    assert "the verdict counts on" not in ticks
    assert "Not counted on: T (tie), which carries nothing in any case of the file." in ticks
    assert "together" not in push_words(assessment, plan)
    said = " ".join(on_site_text(assessment, 80).split())
    assert "Not counted on: T (tie), which carries nothing in any case of the file" in said
    assert "the verdict counts on" not in said


def test_beside_it_the_one_that_carries_is():
    assessment, plan, ticks = read("both")
    assert plan.holders == (1, 1)
    assert "the verdict counts on it: R (rest)." in ticks
    assert "Not counted on: T (tie)" in ticks
    assert "On this joint and the support together" in push_words(assessment, plan)


def test_the_push_with_a_support_that_never_carries_is_that_without_any():
    """As if not there: the joint alone holds the fitting."""
    bare = boltup(assess(parse_case(CASE[: CASE.index("supports:")] + CASE[CASE.index("cases:") :], "t")))
    assert read("tie alone")[1].push.size == pytest.approx(bare.push.size, rel=1e-12)


def test_the_option_that_a_comparison_adds_is_told_how_to_be_written():
    study = parse_case(CASE, "t")
    assert compare(study).options[0].name == "bolts alone"
    with pytest.raises(StudyError, match=r"no support option 'bolts alone'.*write 'bolts alone: \[\]' under supports"):
        chosen_option(study, "bolts alone")
    with pytest.raises(StudyError, match="no support option 'tie only'") as refused:
        chosen_option(study, "tie only")
    assert "[]" not in str(refused.value)
