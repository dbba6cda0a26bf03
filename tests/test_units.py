"""Units as installers write them, against the exact definitions (NIST SP 811, Appendix B.8: inch, pound, gallon, kgf)."""

from __future__ import annotations

import contextlib
import math
import re

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anchorsize.units import UnitError, convert, parse_quantity, show

INCH, POUND, G = 0.0254, 0.45359237, 9.80665  # exact
LBF = POUND * G
GALLON = 231 * INCH**3  # US liquid gallon

SPELLINGS = [
    *[(f"90 {unit}", "moment", 90.0) for unit in ("Nm", "N.m", "N-m", "N·m", "N*m", "N m")],
    ("1.5 kNm", "moment", 1500.0),
    *[(f"66 {unit}", "moment", 66 * LBF * 12 * INCH) for unit in ("ft-lb", "ft·lbf", "lbf·ft", "ft lb", "ft-lbf")],
    ("100 in-lb", "moment", 100 * LBF * INCH),
    *[(f"157 {unit}", "area", 157e-6) for unit in ("mm2", "mm²", "mm^2")],
    ("5 cm3", "volume", 5e-6),
    ("3 m3/h", "flow", 3 / 3600),
    ("3 l/s", "flow", 3e-3),
    *[(f"300 {unit}", "flow", 300 * GALLON / 60) for unit in ("gpm", "US gal/min", "gal/min")],
    *[(f"10 {unit}", "pressure", 10 * LBF / INCH**2) for unit in ("psi", "psig")],
    *[(f"2 {unit}", "pressure", 2e5) for unit in ("bar", "barg", "bar(g)")],
    ("2 kPag", "pressure", 2e3),
    ("2 kgf/cm2", "pressure", 2 * G * 1e4),
    ("3/4 in", "length", 0.75 * INCH),
    *[(text, "length", 1.125 * INCH) for text in ("1-1/8 in", "1 1/8 in", '1-1/8"', "1⅛ in")],
    ("5 mm.", "length", 5e-3),
    ("90°", "angle", math.pi / 2),
    *[(f"15 {unit}", "temperature", 288.15) for unit in ("degC", "°C", "C")],
    ("59 degF", "temperature", 288.15),
    ("−5 N", "force", -5.0),
    ("30 %", "share", 0.3),
]


@pytest.mark.parametrize(("text", "kind", "si"), SPELLINGS, ids=[s[0] for s in SPELLINGS])
def test_spellings_of_the_trade_are_taken_rightly(text, kind, si):
    assert parse_quantity(text, kind) == pytest.approx(si, rel=1e-12)


def test_the_general_library_reads_nm_as_something_else_so_it_is_not_asked():
    registry = pint.UnitRegistry()
    with contextlib.suppress(pint.UndefinedUnitError):  # from 0.26 on it does not know it at all
        assert registry.Quantity("1 Nm").dimensionality != registry.Quantity("1 N*m").dimensionality
    assert parse_quantity("1 Nm", "moment") == parse_quantity("1 N*m", "moment")


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("160 mpa", "stress", "write 'MPa'"),
        ("100 psia", "pressure", "absolute_pressure"),
        ("1 bara", "pressure", "absolute_pressure"),
        ("2 barg", "absolute_pressure", "gauge"),
        ("10 lb", "force", "write 'lbf'"),
        ("4,5 kPa", "pressure", "'4.5 kPa'"),
        ("45 kPaa", "pressure", "'kPa'"),
        ("12", "length", "no unit"),
        ("1 Nm", "force", "is a moment"),
        ("nan kPa", "pressure", "not a finite number"),
        ("1e400 kPa", "pressure", "not a finite number"),
        ("1/0 in", "length", "over zero"),
    ],
)
def test_what_is_not_taken_says_what_to_write(text, kind, says):
    with pytest.raises(UnitError, match=says.replace("(", r"\(")):
        parse_quantity(text, kind)


@given(
    st.floats(1e-3, 1e6),
    st.sampled_from(
        [("kPa", "psi", "pressure"), ("mm", "in", "length"), ("L/s", "gal/min", "flow"), ("kN", "lbf", "force")]
    ),
)
def test_the_same_quantity_in_other_units_is_the_same_quantity(value, units):
    """The other unit's figure comes from pint's own converter, an independent path through its registry."""
    one, other, kind = units
    converted = REGISTRY.Quantity(value, one).to(other).magnitude
    assert parse_quantity(f"{converted!r} {other}", kind) == pytest.approx(
        parse_quantity(f"{value!r} {one}", kind), rel=1e-9
    )


REGISTRY = pint.UnitRegistry()


@given(st.text(max_size=30), st.sampled_from(["length", "pressure", "temperature", "moment", "share"]))
def test_any_text_is_a_quantity_or_a_unit_error(text, kind):
    try:
        assert math.isfinite(parse_quantity(text, kind))
    except UnitError as error:
        assert error.reason


def test_shown_values_read_back():
    for kind, value in (("length", 0.0123), ("pressure", 45e3), ("flow", 0.018), ("moment", 90.0), ("force", 321.0)):
        for system in ("metric", "us"):
            assert parse_quantity(show(value, kind, system), kind) == pytest.approx(
                value, rel=6e-4
            )  # four figures shown
            figure, unit = convert(value, kind, system)
            assert parse_quantity(f"{figure!r} {unit}", kind) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("180 MM", "length", "did you mean 'mm'"),
        ("180MM", "length", "did you mean 'mm'"),
        ("9 kgm", "moment", "write 'kgf*m'"),
        ("4.5 mWS", "pressure", "write 'mH2O'"),
        ("15 ft head", "pressure", "write 'ftH2O'"),
        ("1,800 kPa", "pressure", "write '1800 kPa' or '1.8 kPa', whichever is meant, without a comma"),
        ("25,000 psi", "stress", "write '25000 psi' or '25 psi', whichever is meant"),
        ("1,234,567 Pa", "pressure", "write '1234567 Pa', without commas"),
        ("1,234.5 kPa", "pressure", "write '1234.5 kPa', without commas"),
        ("0,125 m", "length", "write '0.125 m', with a decimal point"),
        ("4,20 bar", "pressure", "write '4.20 bar', with a decimal point"),
    ],
)
def test_the_remedy_is_right_where_it_is_obeyed(text, kind, says):
    with pytest.raises(UnitError) as caught:
        parse_quantity(text, kind)
    assert says in str(caught.value)
    assert "unknown unit '1'" not in str(caught.value)


@given(
    st.text("abcdefghijkmnlopqrstuvwxyzMNP", min_size=1, max_size=6),
    st.sampled_from(["moment", "length", "pressure", "flow"]),
)
def test_a_unit_that_is_offered_is_one_of_the_kind_asked_for(word, kind):
    try:
        parse_quantity(f"1 {word}", kind)
    except UnitError as error:
        for offered in re.findall(r"'([^']+)'", error.hint):
            assert math.isfinite(parse_quantity(f"1 {offered}", kind))


def test_newton_meters_in_capitals_are_a_torque_and_no_length():
    assert parse_quantity("90 NM", "moment") == 90.0
    with pytest.raises(UnitError):
        parse_quantity("90 NM", "length")
