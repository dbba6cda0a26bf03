"""The preload that a sheet aims at is that of every bolt of the target, the missing one with its own among them.

By hand: F = T/(K d), ISO metric or inch diameter; least 0.7 and greatest 1.3 of it at a scatter of 30 %. Invented figures.
"""

from __future__ import annotations

import math
import re

import pytest

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.present.boltup import sheet_dict
from anchorsize.present.boltup_tables import pass_rows
from anchorsize.present.boltup_words import facts
from anchorsize.studies.boltup import boltup

FILE = """\
case_file: 1
title: fill line elbow as found
units: us
fluid: {name: water, density: 1000 kg/m^3}
openings:
  tank: {center: [0, 0, 0 in], outward: [-1, 0, 0], bore: 3.068 in}
joints:
  flange:
    at: tank
    reference: [0, 0, 1]
    bolts: {count: 4, size: 5/8 in, circle: 6 in, first_at: 45 deg, missing: [1], class: A193 B7}
    gasket: {inside: 3.5 in, outside: 5 in, thickness: 0.125 in, modulus: 60 ksi, m: 2, y: 1600 psi, condition: in_place}
    grip: 2 in
    bolt_modulus: 29000 ksi
    tightening: {torque: 65 ft*lbf, nut_factor: 0.2, scatter: 30 %, target_torque: [30, 70, 70, 70 ft*lbf],
      target_nut_factor: [0.13, 0.2, 0.2, 0.2]}
allow: {bolt_tension: 25 ksi, bolt_shear: 15 ksi}
cases:
  shut: {tank: {flow_in: 0 gpm, pressure: 85 psi}}
"""


def test_the_missing_bolt_counts_among_those_aimed_at():
    judged = assess(parse_case(FILE, "f"))
    plan = boltup(judged)
    assert plan.preload is not None
    each = [torque * 12.0 / (factor * 0.625) for torque, factor in ((30, 0.13), (70, 0.2), (70, 0.2), (70, 0.2))]
    pound = 0.45359237 * 9.80665
    assert plan.preload[1] / pound == pytest.approx(each, rel=1e-6)
    told = " ".join(words for name, words in facts(judged, plan) if name == "Preload aimed at")
    shown = [float(found) for found in re.findall(r"(\d+) lbf", told)]
    expected = [min(each), max(each), 0.7 * min(each), 1.3 * max(each)]
    assert len(shown) == len(expected)
    assert all(math.isclose(a, b, abs_tol=0.5) for a, b in zip(shown, expected, strict=True))


@pytest.mark.parametrize("condition", ["in_place", "reused", "new"])
def test_threads_that_the_target_counts_as_found_are_not_cleaned(condition: str):
    """The used bolts keep K 0.2, the new one has its own: no tick may tell to clean them."""
    judged = assess(parse_case(FILE.replace("in_place", condition), "f"))
    ticks = " ".join(sheet_dict(judged, boltup(judged))["check_first"])
    assert "cleaned" not in ticks
    assert ("Tight ones stay tight" if condition == "in_place" else "Used ones: threads left as they are") in ticks
    alike = FILE.replace("in_place", condition).replace("[0.13, 0.2, 0.2, 0.2]", "0.13")
    judged = assess(parse_case(alike, "f"))
    assert ("Used ones: cleaned" in " ".join(sheet_dict(judged, boltup(judged))["check_first"])) == (
        condition != "in_place"
    )


def test_a_torque_row_names_no_bolt_that_it_is_not_for():
    """Bolt 3 found loose and cleaned: only bolt 1 has a friction of its own, so no row, aim or friction may name bolt 3."""
    text = FILE.replace("torque: 65 ft*lbf", "torque: [0, 65, 0, 65 ft*lbf]").replace(
        "missing: [1], ", "missing: [1], "
    )
    judged = assess(parse_case(text, "f"))
    plan = boltup(judged)
    assert plan.not_for == (3,)
    _, rows = pass_rows(plan, "us")
    assert sorted(row[0] for row in rows) == ["1 (K 0.13)", "2, 4 (K 0.2)"]
    (lubrication,) = [words for name, words in facts(judged, plan) if name == "Lubrication"]
    assert "bolts 2 and 4: K = 0.2" in lubrication
    assert "3" not in lubrication.split("The torques are right")[0].replace("0.13", "")


def test_a_wrong_nut_factor_says_first_what_it_does():
    """On the sheet a long sentence is cut: what it comes to stands before the list of the table."""
    text = FILE.replace("nut_factor: 0.2, scatter", "nut_factor: 0.2, lubricant: molybdenum paste, scatter")
    (told,) = [
        each.message
        for each in assess(parse_case(text, "f")).warnings
        if each.kind == "nut factor is not the lubricant's"
    ][:1]
    assert told.index("the same torque pulls") < told.index("The table has") < told.index("(")
    assert told.index("harder than judged here") < 200
