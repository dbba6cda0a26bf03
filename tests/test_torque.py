"""The tightening window against a general root finder that goes through the file, one torque at a time."""

from __future__ import annotations

from pathlib import Path

import pytest
from scipy.optimize import brentq

from anchorsize.assessment import evaluate
from anchorsize.casefile import parse_case
from anchorsize.studies import torque

BASE = (Path(__file__).parents[1] / "examples" / "many_base.yaml").read_text()
GIVEN = 90.0  # N·m


def greatest(text, names, at):
    """The greatest utilization over all cases of the checks named, at a torque [N·m]."""
    cases = evaluate(parse_case(text.replace("torque: 90 N*m", f"torque: {at!r} N*m"), "t.yaml"))
    return max(float(c.utilization) for case in cases.values() for c in case.checks if c.check in names)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("mass: 9 kg", "mass: 9 kg"),
        ("pressure: 300 kPa", "pressure: 3 MPa"),  # the joint opens: lift-off sets the least torque
        ("bolt_modulus: 205 GPa", "face_friction: 0.1"),  # without stiffness the two bounds decide
        ("scatter: 30 %", "scatter: 30 %, relaxation: 20 %"),
    ],
)
def test_both_ends_are_where_a_general_root_finder_puts_them(old, new):
    text = BASE.replace(old, new)
    found = torque.window(parse_case(text, "t.yaml"), "main")
    least = brentq(lambda at: greatest(text, torque.WANT_MORE, at) - 1.0, 1.0, 200.0, xtol=1e-11, rtol=1e-13)
    most = brentq(lambda at: greatest(text, torque.WANT_LESS, at) - 1.0, 1.0, 250.0, xtol=1e-11, rtol=1e-13)
    assert found.least * GIVEN == pytest.approx(least, rel=2e-10)  # the window itself is solved to 1e-10
    assert found.greatest * GIVEN == pytest.approx(most, rel=2e-10)


def test_known_results_give_the_same_window():
    study = parse_case(BASE, "t.yaml")
    assert torque.window(study, "main", evaluate(study)) == torque.window(study, "main")


def test_the_ends_lie_where_the_checks_hold():
    found = torque.window(parse_case(BASE, "t.yaml"), "main")
    assert greatest(BASE, torque.WANT_MORE, found.least * GIVEN) <= 1.0 + 1e-12
    assert greatest(BASE, torque.WANT_LESS, found.greatest * GIVEN) <= 1.0 + 1e-12


def test_no_check_to_bound_it_leaves_an_end_open():
    text = BASE.replace("  gasket_pressure_greatest: 90 MPa\n", "").replace(', class: "8.8"', "")
    found = torque.window(parse_case(text, "t.yaml"), "main")
    assert (found.greatest_by, found.greatest) == (None, 30.0)
