"""The spellings of units that the trade uses, and the factors of the everyday ones."""

from __future__ import annotations

from typing import TypeAlias

Dimension: TypeAlias = tuple[tuple[str, float], ...]

# Whole spellings and single names that pint lacks or reads otherwise, with what they mean in this trade.
MEANING = {
    "lps": "L/s", "lpm": "L/min", "gpm": "gal/min", "usgpm": "gal/min", "igpm": "imperial_gallon/min",
    "cfs": "ft^3/s", "cfm": "ft^3/min", "cumec": "m^3/s", "psf": "lbf/ft^2", "mil": "thou", "cst": "mm^2/s",
    "kph": "km/h", "rev": "turn", '"': "in", "”": "in", "″": "in", "'": "ft", "’": "ft", "′": "ft", "ins": "in",
    "secs": "s", "mins": "min", "hrs": "h", "degs": "deg", "litres": "L", "liters": "L", "tons_metric": "t",
}  # fmt: skip
# Words of the trade that are no units, with what to write instead; in small letters.
TRADE_WORDS = {
    "kgm": "kgf*m", "kg m": "kgf*m", "mkg": "kgf*m", "kpm": "kgf*m", "kgcm": "kgf*cm",
    "mws": "mH2O", "mwc": "mH2O", "mwg": "mH2O", "m wc": "mH2O", "m ws": "mH2O", "m head": "mH2O", "mca": "mH2O",
    "ft head": "ftH2O", "ft wc": "ftH2O", "ftwc": "ftH2O", "feet head": "ftH2O", "ft of head": "ftH2O", "m of head": "mH2O",
    "in wc": "inH2O", "inwc": "inH2O", "in wg": "inH2O", "inwg": "inH2O", "mmws": "mmH2O", "mmwc": "mmH2O",
}  # fmt: skip
ANY_CASE = {
    "psi": "psi",
    "bar": "bar",
    "in": "in",
    "ft": "ft",
    "lbf": "lbf",
    "kip": "kip",
    "ksi": "ksi",
    "lb": "lb",
    "lbs": "lb",
}
# Of the units offered in messages, those that a file in US units is likely to want.
US_UNITS = {
    "in", "ft", "in²", "gal", "ft³", "lb", "lb/ft³", "psi", "ksi", "lbf", "kip", "ft·lbf", "gal/min", "gal/min/s", "lb/h",
    "ft/s", "lbf/in", "ft·lbf/deg", "lbf/in³", "degF", "in⁴",
}  # fmt: skip
MILLI_OR_MEGA = {"mpa": "MPa", "MPA": "MPa", "Mpa": "MPa", "mPA": "MPa"}
TEMPERATURE = {
    "degC": "degC", "°C": "degC", "C": "degC", "deg C": "degC", "celsius": "degC", "Celsius": "degC",
    "degF": "degF", "°F": "degF", "F": "degF", "deg F": "degF", "fahrenheit": "degF", "Fahrenheit": "degF",
    "K": "K", "kelvin": "K", "°K": "K", "degR": "degR", "°R": "degR",
}  # fmt: skip
CELSIUS_ZERO = 273.15  # K, exact by definition
FAHRENHEIT_ZERO = 459.67 * 5 / 9  # K, exact by definition
ANGLES = {
    "deg",
    "°",
    "degree",
    "degrees",
    "degs",
    "rad",
    "radian",
    "radians",
    "grad",
    "gon",
    "turn",
    "rev",
    "arcmin",
    "mrad",
}
# Where a pound written for a force can only be a pound-force, the trade's shorthand is taken as meant.
POUND_IS_FORCE = {"moment", "stiffness", "rotational_stiffness"}

# The names that case files use day by day, so that most runs need no pint: SI value by definition, and the exponents of
# mass, length, time, temperature and amount of substance. The tests hold every row against pint.
_COMMON_ROWS = """
m        1                       0  1  0  0  0
mm       1e-3                    0  1  0  0  0
cm       1e-2                    0  1  0  0  0
in       0.0254                  0  1  0  0  0
inch     0.0254                  0  1  0  0  0
ft       0.3048                  0  1  0  0  0
L        1e-3                    0  3  0  0  0
l        1e-3                    0  3  0  0  0
gal      3.785411784e-3          0  3  0  0  0
imperial_gallon 4.54609e-3       0  3  0  0  0
s        1                       0  0  1  0  0
ms       1e-3                    0  0  1  0  0
min      60                      0  0  1  0  0
h        3600                    0  0  1  0  0
kg       1                       1  0  0  0  0
g        1e-3                    1  0  0  0  0
t        1000                    1  0  0  0  0
lb       0.45359237              1  0  0  0  0
N        1                       1  1 -2  0  0
kN       1e3                     1  1 -2  0  0
MN       1e6                     1  1 -2  0  0
kgf      9.80665                 1  1 -2  0  0
lbf      4.4482216152605         1  1 -2  0  0
kip      4448.2216152605         1  1 -2  0  0
Pa       1                       1 -1 -2  0  0
mPa      1e-3                    1 -1 -2  0  0
kPa      1e3                     1 -1 -2  0  0
MPa      1e6                     1 -1 -2  0  0
GPa      1e9                     1 -1 -2  0  0
bar      1e5                     1 -1 -2  0  0
mbar     1e2                     1 -1 -2  0  0
psi      6894.757293168361       1 -1 -2  0  0
ksi      6894757.293168361       1 -1 -2  0  0
cP       1e-3                    1 -1 -1  0  0
K        1                       0  0  0  1  0
degC     1                       0  0  0  1  0
degF     0.5555555555555556      0  0  0  1  0
mol      1                       0  0  0  0  1
rad      1                       0  0  0  0  0
deg      0.017453292519943295    0  0  0  0  0
°        0.017453292519943295    0  0  0  0  0
"""
_BASES = ("[mass]", "[length]", "[time]", "[temperature]", "[substance]")


def _common() -> dict[str, tuple[float, Dimension]]:
    table = {}
    for row in _COMMON_ROWS.split("\n")[1:-1]:
        name, factor, *powers = row.split()
        exponents = sorted((base, float(power)) for base, power in zip(_BASES, powers, strict=True) if power != "0")
        table[name] = (float(factor), tuple(exponents))
    return table


COMMON: dict[str, tuple[float, Dimension]] = _common()
