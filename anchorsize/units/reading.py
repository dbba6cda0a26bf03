"""Text with a unit to SI. The one place that touches pint, which is imported for the first unit outside the everyday ones.

Units are read by a small grammar of this module (names, powers, products, quotients) because installers write what pint
does not know or reads as something else: ``Nm`` is a textile count to pint, ``mm2``, ``barg`` and ``ft-lb`` are
nothing at all.
"""

from __future__ import annotations

import difflib
import math
import re
from functools import cache
from typing import Any

from anchorsize.units.kinds import KINDS, Kind, System
from anchorsize.units.names import (
    ANGLES,
    ANY_CASE,
    CELSIUS_ZERO,
    COMMON,
    FAHRENHEIT_ZERO,
    MEANING,
    MILLI_OR_MEGA,
    POUND_IS_FORCE,
    TEMPERATURE,
    TRADE_WORDS,
    US_UNITS,
    Dimension,
)

_MARKED = r"^(.*?[A-Z0-9²])\s*(?:"
_GAUGE = re.compile(_MARKED + r"\(g\)|\(gauge\)|\bgauge|\bg|(?<=bar|psi)g|(?<=pa)g)$", re.IGNORECASE)
_ABSOLUTE = re.compile(_MARKED + r"\(a\)|\(abs\)|\babsolute|\babs|\ba|(?<=bar|psi)a)$", re.IGNORECASE)
_WATER = re.compile(r"\b(ft|feet|foot|in|inch(?:es)?|mm|cm|m)\.?\s*(?:of\s+)?(?:H2O|water)\b", re.IGNORECASE)

_VULGAR = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_NUMBER = re.compile(
    r"""(?P<sign>[+-]?)\s*(?:
        (?:(?P<whole>\d+)(?:\s+|\s*-\s*))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)
        | (?P<decimal>(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?))""",
    re.VERBOSE | re.ASCII,
)
_TOKEN = re.compile(
    r"""(?P<name>[A-Za-zµΩ°%_"'”″’′]+(?:2O)?) | \^\s*(?P<power>[+-]?\d) | (?P<digit>-?\d)
        | (?P<divide>/) | (?P<open>\() | (?P<close>\)) | (?P<join>[*.\s-]+)""",
    re.VERBOSE | re.ASCII,
)
_RANGE = re.compile(r"(?:-|–|—|\.\.\.?|…|to\b)\s*(?P<end>\d+(?:\.\d+)?)(?![\d./])(?P<unit>.*)$", re.ASCII)
_LONGEST = 60  # characters of a unit that can still be one
TINY = 1e-30  # in SI: closer to zero than this is zero, whatever is measured
_LONGEST_TEXT = 400  # characters of a quantity; nothing below looks for patterns in more


class UnitError(ValueError):
    """A text is not a quantity of the kind asked for.

    ``reason`` says why, ``hint`` what to write instead (may be empty) and ``kind`` is one of the stable error kinds
    no_unit, unknown_unit, wrong_dimension, ambiguous_unit, gauge_or_absolute, not_a_number, not_finite, out_of_range.
    ``offers`` is True where the hint does no more than name usual units, of which :func:`offered` names those of a system.
    """

    def __init__(self, kind: str, reason: str, hint: str = "", offers: bool = False) -> None:
        self.kind, self.reason, self.hint, self.offers = kind, reason, hint, offers
        super().__init__("; ".join(part for part in (reason, hint) if part))


def parse_quantity(text: str, kind: str) -> float:
    """Return the SI value of ``text`` as a quantity of ``kind`` (a key of :data:`anchorsize.units.KINDS`).

    Raises
    ------
    UnitError
        The text is no number with a unit of that kind.
    """
    number, unit = split_quantity(text)
    return to_si(number, unit, kind)


def split_quantity(text: str) -> tuple[float, str]:
    """Split ``'1-1/8 in'`` into 1.125 and ``'in'``; the unit may be empty.

    Raises
    ------
    UnitError
        The text does not start with a finite number.
    """
    text = re.sub("^[−–—]", "-", " ".join(text.split()))
    if len(text) > _LONGEST_TEXT:
        raise UnitError("not_a_number", "longer than any quantity")
    text = re.sub(f"\\s*([{''.join(_VULGAR)}])", lambda found: " " + _VULGAR[found[1]], text).strip()
    if re.match(r"[+-]?\.?(nan|inf)", text, re.IGNORECASE):
        raise UnitError("not_finite", "not a finite number")
    if re.match(r"[+-]?\d*,\d", text):
        raise UnitError("not_a_number", "a comma in a number", _without_comma(text))
    found = _NUMBER.match(text)
    if found is None:
        raise UnitError("not_a_number", "no number at its start")
    rest = text[found.end() :].strip()
    if found["bottom"] is None and (to := _RANGE.match(rest)) and float(to["end"]) > float(found["decimal"]):
        raise UnitError("not_a_number", "a range", _as_spread(float(found["decimal"]), float(to["end"]), to["unit"]))
    if re.match(r"[\d.,]", rest):
        raise UnitError("not_a_number", "more than one number", "write digits without gaps")
    if found["bottom"] is None:
        size = float(found["decimal"])
    elif float(found["bottom"]) == 0:
        raise UnitError("not_a_number", "a fraction over zero")
    else:
        size = float(found["whole"] or 0) + float(found["top"]) / float(found["bottom"])
    if not math.isfinite(size):
        raise UnitError("not_finite", "not a finite number")
    return (-size if found["sign"] == "-" else size), rest


def _as_spread(low: float, high: float, unit: str) -> str:
    """How to write a range: its middle, and half of its width."""
    unit = f" {unit.strip()}".rstrip()
    return f"write {(low + high) / 2:g}{unit} ± {(high - low) / 2:g}{unit}"


def _without_comma(text: str) -> str:
    """Say how to write a number that holds commas: a decimal point for a decimal comma, nothing for a thousands separator.

    One comma before exactly three digits may be either, and a wrong guess is wrong by a thousand: both readings are named.
    """
    number = re.match(r"[+-]?[\d,.]*", text)
    written = number[0].rstrip(",.") if number else ""
    rest = text[len(written) :]
    plain, decimal = written.replace(",", "") + rest, written.replace(",", ".") + rest
    if re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", written):
        short = f"{float(written.replace(',', '.')):g}{rest}"
        return f"write '{plain}' or '{short}', whichever is meant, without a comma"
    if re.fullmatch(r"[+-]?[1-9]\d{0,2}(,\d{3})+(\.\d*)?", written):
        return f"write '{plain}', without commas"
    return f"write '{decimal}', with a decimal point" if written.count(",") == 1 else "write digits and a decimal point"


def to_si(number: float, unit: str, kind: str) -> float:
    """Convert ``number`` in ``unit`` to SI as ``kind``. Raises :class:`UnitError`."""
    if kind == "temperature":
        value = _kelvin(number, unit)
    else:
        value = number * si_factor(unit, kind)
    if not math.isfinite(value):
        raise UnitError("not_finite", "not a finite number")
    return value if abs(value) >= TINY else 0.0


def _kelvin(number: float, unit: str) -> float:
    scale = TEMPERATURE.get(unit.strip().rstrip("."))
    if scale is None:
        si_factor(unit, "temperature_change")  # raises for anything that is no unit of temperature
        raise UnitError("unknown_unit", f"unknown unit '{unit}'", "write degC, degF or K")
    kelvin = number * si_factor(unit, "temperature_change")
    kelvin += {"degC": CELSIUS_ZERO, "degF": FAHRENHEIT_ZERO}.get(scale, 0.0)
    if kelvin < 0:
        raise UnitError("out_of_range", "below absolute zero")
    return kelvin


@cache
def si_factor(unit: str, kind: str) -> float:
    """Return the SI value of one ``unit`` of ``kind``; temperatures count as differences. Raises :class:`UnitError`."""
    unit = unit.strip()
    row = KINDS[kind]
    if kind in ("share", "number"):
        return _plain_factor(unit, row.noun)
    if not unit:
        example = " or ".join(f"'{name}'" for name in row.usual[:2])
        raise UnitError("no_unit", "no unit", f"write one such as {example} after the number", bool(row.usual))
    if kind.startswith("temperature"):
        unit = TEMPERATURE.get(unit.rstrip("."), unit)
    if kind in ("pressure", "absolute_pressure") and len(unit) <= _LONGEST:
        unit = _without_reference(unit, kind)
    if kind == "moment" and unit == "NM":
        return 1.0
    if unit in MILLI_OR_MEGA and row.si == "Pa":
        raise UnitError("ambiguous_unit", f"'{unit}' may be milli or mega", f"write '{MILLI_OR_MEGA[unit]}'")
    try:
        factor, dimension = unit_factor(unit)
    except UnitError as error:
        nearest = _nearest(unit, row)
        raise UnitError(error.kind, error.reason, nearest or _usual(row), not nearest) from None
    wanted = unit_factor(row.si)[1]
    if dimension != wanted:
        return _pound_for_force(unit, kind, wanted)
    if kind == "angle" and unit.rstrip(".") not in ANGLES:
        raise UnitError("wrong_dimension", f"'{unit}' is not a unit of angle", "write deg or rad")
    return factor


def _plain_factor(unit: str, noun: str) -> float:
    if unit in ("%", "percent", "per cent"):
        return 0.01
    if unit:
        raise UnitError("wrong_dimension", f"the unit '{unit}' does not belong to {noun}", "write a number or %")
    return 1.0


def _without_reference(unit: str, kind: str) -> str:
    """Take the gauge or absolute mark off a unit of pressure, and refuse the one that contradicts the key."""
    gauge, absolute = _GAUGE.match(unit), _ABSOLUTE.match(unit)
    if kind == "pressure" and absolute:
        raise UnitError("gauge_or_absolute", f"'{unit}' is absolute", "write it under absolute_pressure, with ambient")
    if kind == "absolute_pressure" and gauge:
        raise UnitError("gauge_or_absolute", f"'{unit}' is gauge", "write it under pressure")
    found = gauge or absolute
    return found[1].strip() if found else unit


def _pound_for_force(unit: str, kind: str, wanted: Dimension) -> float:
    """Judge a unit of the wrong dimension: a pound or kilogram written for a force, or another kind altogether."""
    for mass, force in (("lbs?|pounds?", "lbf"), ("kg", "kgf")):
        rewritten = re.sub(rf"(?<![A-Za-z])({mass})(?![A-Za-z])", force, unit, flags=re.IGNORECASE)
        if rewritten == unit or _dimension_or_none(rewritten) != wanted:
            continue
        if force == "lbf" and kind in POUND_IS_FORCE:
            return unit_factor(rewritten)[0]
        raise UnitError("wrong_dimension", f"'{unit}' holds a mass", f"write '{rewritten}'")
    if unit in ("nm", "nM") and kind == "moment":
        raise UnitError("wrong_dimension", f"'{unit}' is not newton meters", "write 'N·m'")
    dimension = unit_factor(unit)[1]
    other = next((row.noun for row in KINDS.values() if row.si != "1" and unit_factor(row.si)[1] == dimension), None)
    reason = f"'{unit}' is {other}" if other and dimension else f"'{unit}' measures something else"
    other_case = _other_case(unit, KINDS[kind].usual)
    hint = other_case or f"write one such as '{KINDS[kind].usual[0]}'"
    raise UnitError("wrong_dimension", reason, hint, not other_case)


def _dimension_or_none(unit: str) -> Dimension | None:
    try:
        return unit_factor(unit)[1]
    except UnitError:
        return None


@cache
def unit_factor(unit: str) -> tuple[float, Dimension]:
    """Return the factor to SI base units and the dimension of a unit such as ``'kN·m/rad'``. Raises UnitError."""
    if len(unit) > _LONGEST:
        raise UnitError("unknown_unit", "no unit is that long")
    text = re.sub("[·⋅∙•×]", "*", unit.replace("**", "^").replace("μ", "µ").replace("º", "°").replace("−", "-"))
    for sign, power in zip("²³⁴", "234", strict=True):
        text = text.replace(sign, f"^{power}")
    text = re.sub(r"^(?:us|US|U\.S\.)\s*(?=gal|gpm)", "", text.strip()).rstrip(".")
    text = re.sub(r"^imp(?:erial)?\.?\s*(?=gal)gal(?:lons?)?", "imperial_gallon", text)
    text = _WATER.sub(r"\1*kgf/L", text.replace("₂", "2"))
    text = re.sub(r"\b(?:sq|square)\.?\s+([A-Za-z]+)", r"\1^2", text)
    text = re.sub(r"\b(?:cu|cubic)\.?\s+([A-Za-z]+)", r"\1^3", text)
    text = re.sub(r"\s+per\s+|\s*/\s*", "/", text)
    if re.search(r"//|/$|^/", text):
        raise UnitError("unknown_unit", f"unknown unit '{unit}'")
    whole = MEANING.get(text.lower()) if text.lower() not in ("'", '"') else None
    return _compound(whole or text, unit)


def _compound(text: str, unit: str) -> tuple[float, Dimension]:
    """Evaluate products, quotients, powers and one level of brackets, left to right."""
    factor, exponents = 1.0, dict[str, float]()
    name, sign, bracket = "", 1, False

    def take(power: int) -> None:
        nonlocal factor, name
        size, dimension = _single(name)
        try:
            factor *= size ** (sign * power)
        except OverflowError:
            raise UnitError("unknown_unit", f"unknown unit '{unit}'") from None
        for base, exponent in dimension:
            exponents[base] = exponents.get(base, 0.0) + sign * power * exponent
        name = ""

    position = 0
    while position < len(text):
        found = _TOKEN.match(text, position)
        if found is None:
            raise UnitError("unknown_unit", f"unknown unit '{unit}'")
        position = found.end()
        if (found["power"] or found["digit"]) and name:
            take(int(found["power"] or found["digit"]))
            continue
        if name:
            take(1)
        if found["name"]:
            name = found["name"]
        elif found["open"]:
            bracket = True
        elif found["close"]:
            bracket, sign = False, 1
        elif found["divide"]:
            sign = -1
        elif found["join"]:
            sign = sign if bracket else 1
        else:
            raise UnitError("unknown_unit", f"unknown unit '{unit}'")
    if name:
        take(1)
    return factor, tuple(sorted((base, power) for base, power in exponents.items() if power))


@cache
def _single(name: str) -> tuple[float, Dimension]:
    """Look up one unit name: the trade's spellings first, then the everyday names, then pint."""
    newton = re.fullmatch(r"(k|M|da|c|m)?N(m|cm|mm)", name)
    pound = re.fullmatch(r"(ft|in)(?:lbf?|lbs)|(?:lbf?|lbs)(ft|in)", name.lower())
    if newton:
        return _compound(f"{newton[1] or ''}N*{newton[2]}", name)
    if pound:
        return _compound(f"{pound[1] or pound[2]}*lbf", name)
    meant = MEANING.get(name.lower()) or ANY_CASE.get(name.lower())
    if meant and meant != name:
        return _compound(meant, name)
    if name in COMMON:
        return COMMON[name]
    registry = _registry()
    try:
        unit = registry.parse_units(name)
        factor, _ = registry.get_base_units(unit)
        dimension = registry.get_dimensionality(unit)
    except Exception:  # pint raises many types, down to tokenizer errors, for names that it cannot read
        raise UnitError("unknown_unit", f"unknown unit '{name}'") from None
    return float(factor), tuple(sorted((str(base), float(power)) for base, power in dimension.items()))


@cache
def _registry() -> Any:
    """Create the one pint registry, at the first look-up."""
    import pint

    return pint.UnitRegistry()


def _nearest(unit: str, row: Kind) -> str:
    """Return 'did you mean …?' for the nearest unit of the kind, empty where none is near; never a unit of another dimension."""
    meant = TRADE_WORDS.get(" ".join(unit.lower().rstrip(".").split()))
    if meant and _dimension_or_none(meant) == unit_factor(row.si)[1]:
        return f"write '{meant}'"
    other_case = _other_case(unit, row.usual)
    if other_case:
        return other_case
    wanted = unit_factor(row.si)[1]
    for pound in ("lb", "lbf") if "#" in unit and len(unit) <= _LONGEST else ():
        if _dimension_or_none(unit.replace("#", pound)) == wanted:
            return f"write '{unit.replace('#', pound)}'"
    spelled = [word for word in MEANING if _dimension_or_none(MEANING[word]) == wanted]
    gauge = ("psig", "barg") if row.name == "pressure" else ()
    close = difflib.get_close_matches(unit, [*row.usual, *spelled, *gauge], n=1, cutoff=0.6)
    if close:
        return f"did you mean '{close[0]}'?"
    return ""


def _usual(row: Kind) -> str:
    return "write one such as " + ", ".join(f"'{name}'" for name in row.usual[:3])


def offered(kind: str, system: System) -> str:
    """Usual units of a kind as a hint, those of the system first, as they are typed."""
    names = sorted(KINDS[kind].usual, key=lambda name: (name in US_UNITS) != (system == "us"))
    return "write one such as " + ", ".join(f"'{name.replace('·', '*')}'" for name in names[:2])


def _other_case(unit: str, usual: tuple[str, ...]) -> str:
    """Return 'did you mean …?' where a usual unit differs by capitals, blanks and dots alone, else nothing."""
    written = re.sub(r"[^a-z0-9°%/²³]", "", unit.lower())
    return next((f"did you mean '{known}'?" for known in usual if known.replace("·", "").lower() == written), "")
