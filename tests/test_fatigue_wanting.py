"""Of all that the check of bolt fatigue is made from, a page asks for what is not there, and for nothing that is."""

from __future__ import annotations

import pytest

from anchorsize import assess, parse_case
from tests.test_clamped_joint import BENT

# Invented. Everything is there but the endurance limit.
CLASS = ("first_at: 45 deg}", "first_at: 45 deg, class: '8.8'}")
CYCLES = ("    face_friction", "    cycles_between: [run, stopped]\n    face_friction")
WHOLE = BENT.replace(*CLASS).replace(*CYCLES)
NEEDED = {
    "cycles_between (two cases)": (CYCLES[1].split("\n")[0] + "\n", ""),
    "the tightening (torque with nut_factor, or preload)": (
        next(line for line in BENT.splitlines(keepends=True) if "tightening:" in line),
        "",
    ),
    "gasket / modulus": (", modulus: 500 MPa", ""),
    "grip": ("    grip: 44 mm\n", ""),
    "bolts / class": (CLASS[1], CLASS[0]),
}


def asked(text):
    found = [each for case in assess(parse_case(text, "t.yaml")).cases.values() for each in case.not_checked]
    return [each.supply for each in found if each.check == "bolt fatigue"]


def test_only_what_is_not_there_is_asked_for():
    assert asked(WHOLE) == ["allow / endurance_limit"]
    assert asked(WHOLE.replace("allow: {", "allow: {endurance_limit: 60 MPa, ")) == []


@pytest.mark.parametrize("wanted", NEEDED)
def test_each_is_asked_for_where_it_is_not_there(wanted):
    assert WHOLE.replace(*NEEDED[wanted]) != WHOLE
    assert asked(WHOLE.replace(*NEEDED[wanted])) == [f"{wanted}, allow / endurance_limit"]
