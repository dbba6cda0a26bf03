"""Starter files: as complete as one another, and what they hold as comments is right as well."""

from __future__ import annotations

import re

import pytest

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case, starter

SHAPES = ["straight", "reducer", "nozzle", "elbow", "reducing elbow", "mitered elbow", "tee", "lateral", "cap", "chain"]
ALL = ["plain", "us", *SHAPES]


def uncommented(text: str, first: str) -> str:
    """The text with the comment that starts at ``first`` and the lines below it, indented more, taken as entries."""
    lines, inside = text.splitlines(), None
    for i, line in enumerate(lines):
        found = re.match(r"^(\s*)# (\s*)(\S.*)$", line)
        if found and found[3].startswith(first):
            inside = len(found[2])
        elif not found or inside is None or len(found[2]) <= inside:
            inside = None
        if found and inside is not None:
            lines[i] = found[1] + found[2] + found[3]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("name", ALL)
def test_a_starter_has_what_the_checks_of_a_tightened_joint_need(name):
    study = parse_case(starter(name), name)
    joint = study.joints["main"]
    assert joint.tightening is not None
    given = (joint.gasket.m, joint.gasket.y, joint.gasket.modulus, joint.grip, joint.bolt_modulus, joint.face_friction)
    assert None not in given
    assert None not in (joint.flange.outside, joint.flange.thickness, joint.flange.hole)
    assert study.external
    assert study.supports == {"bolts alone": ()}
    assessment = assess(study)
    made = {check.check for case in assessment.cases.values() for check in case.checks}
    assert made >= {"bolt proof", "joint lift-off", "joint slip", "gasket seating", "gasket in service"}
    assert assessment.verdict == "holds"


@pytest.mark.parametrize("name", ALL)
def test_what_a_starter_holds_as_comments_is_right(name):
    text = uncommented(uncommented(starter(name), "extra_masses:"), "pressure test:")
    text = uncommented(uncommented(text, "rod hanger:"), "rest:")
    text = re.sub(r"flange: \{outside.*?\}\s+# or (\{.*?\})", r"flange: \1", text)
    study = parse_case(text, name)
    assert [each.name for each in study.fitting.extra_masses] == (
        ["hand valve"] if name in ("plain", "us") else ["flanges"]
    )
    assert list(study.supports) == ["bolts alone", "rod hanger", "rest"]
    found = {check.check: check for check in assess(study).cases["pressure test"].checks}
    # PN 16 at 15 °C carries 16 bar; class 150 carries 285 psi up to 100 °F (ASME B16.5, group 1.1)
    rating = 285 * 6894.757 if name == "us" else 16e5
    assert float(found["flange rating"].allowable) == pytest.approx(1.5 * rating, rel=0.005)
    assert float(found["bolt tension"].allowable) == pytest.approx(35 * 6.894757e6 if name == "us" else 240e6, rel=1e-6)
    assert found["bolt tension"].allowable_from == "test allowable, for case 'pressure test'"


@pytest.mark.parametrize("name", ALL)
def test_what_else_a_case_and_a_joint_may_hold_is_shown_rightly(name):
    text = starter(name)
    for first in ("valve closes:", "absolute:", "thread_engagement:", "cycles_between:"):
        text = uncommented(text, first)
    study = parse_case(text, name)
    joint, first = study.joints["main"], study.joints["main"].at
    assert float(study.cases["valve closes"].states[first].surge.stopped_flow) > 0
    pressure = study.cases["absolute"].states[first].pressure
    # 280 kPa less 101 kPa; 40 psi less 14.7 psi of 6894.757 Pa (NIST SP 811)
    assert float(pressure) == pytest.approx(25.3 * 6894.757 if name == "us" else 179e3, rel=1e-6)
    assert joint.thread_engagement is not None
    assert len(joint.cycles_between) == 2
    found = re.sub(r"\n    tightening:.*", "", starter(name)).replace("    # tightening:", "    tightening:")
    torques = parse_case(found, name).joints["main"].tightening.torque
    assert len(set(map(float, torques))) > 1
    assert "write capped" in text or "branch" not in text


@pytest.mark.parametrize("name", [each for each in ALL if each != "cap"])
def test_a_sudden_load_and_a_pressure_from_losses_are_shown_rightly(name):
    """The factor multiplies the thrusts; of the pressure that is left out, the loss K v²/2g follows as it is written."""
    text = starter(name)
    plain = assess(parse_case(text, name)).cases["full flow"]
    sudden = assess(parse_case(uncommented(text, "dynamic_factor:"), name)).cases["full flow"]
    for opening, result in plain.openings.items():
        assert float(sudden.openings[opening].thrust) == pytest.approx(1.5 * float(result.thrust), rel=1e-9)
    shown = re.search(r"\n    # ((inlet|outlet): \{[^\n]*from losses[^\n]*)", text)
    if name in ("tee", "lateral"):
        assert shown is None
        return
    without = re.sub(rf"\n    {shown[2]}: [^\n]*", "", text, count=1)
    lost = assess(parse_case(without.replace(shown[0], f"\n    {shown[1]}"), name)).cases["full flow"]
    head = float(lost.energy.loss_coefficient * lost.openings[lost.energy.velocity_at].velocity ** 2)
    assert head == pytest.approx(0.25 * float(lost.openings[shown[2]].velocity) ** 2, rel=1e-6)
