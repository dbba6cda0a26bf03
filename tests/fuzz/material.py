"""What the inputs are made from: good files, the words of the format, and what people write where they should not."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import yaml

from anchorsize.casefile import schema, starter
from tests.cases import BLANK_FLANGE, ELBOW

EXAMPLES = Path(__file__).parents[2] / "examples"
STARTERS = ("cap", "chain", "elbow", "lateral", "mitered_elbow", "nozzle", "plain", "reducer", "straight", "tee", "us")

# A file with the entries that the examples leave out: several joints, gas, surge, losses, rated flanges, sizing, spreads.
RARE = """\
case_file: 1
title: rare entries
units: metric
up: [0, 1, 0]
fluid: water
fitting:
  mass: {value: 40 kg, plus_minus: 5 %, shape: uniform}
  mass_center: [10, 0, 200 mm]
openings:
  low: {center: [0, 0, 0 m], outward: [0, 0, -1], bore: 102 mm}
  high: {center: [0, 0, 0.4 m], outward: [0, 0, 1], area: 81 cm^2}
joints:
  one:
    at: low
    bolts: {count: 8, size: M16, circle: 180 mm, missing: [3], class: "8.8", preload: 30 kN}
    gasket: {inside: 115 mm, outside: 162 mm, m: 3, y: 30 MPa, thickness: 2 mm, modulus: 500 MPa}
    grip: 45 mm
    bolt_modulus: 205 GPa
    stiffness: rigid
  two:
    at: high
    bolts: {count: 4, size: M20, circle: 180 mm, first_at: 45 deg}
    stiffness: {axial: 40 MN/m, shear: 30 MN/m, bending: 2 MN*m/rad, torsion: 1 MN*m/rad}
allow: {bolt_tension: 160 MPa, bolt_shear: 20 kN}
cases:
  run:
    low: {flow_in: 20 L/s ± 1 L/s, pressure: 400 kPa ± 10 %, beta: 1.02}
    high: {pressure: from losses, loss_coefficient: 0.4, velocity_at: low}
  shut quickly:
    low: {flow_in: 20 L/s, pressure: 400 kPa, surge: {stopped_flow: 20 L/s, wave_speed: 1200 m/s}}
    high: {pressure: 390 kPa, profile: power_law, exponent: 7}
external:
  - {name: rope, force: [0, -1, 0 kN], at: [0, 0, 0.2 m]}
"""
ODD_NUMBERS = [
    "0",
    "-0",
    "1",
    "-1",
    "1e400",
    "-1e400",
    "1e-400",
    "1e308",
    "-1e308",
    "1e-308",
    "5e-324",
    "1e9",
    "1e-9",
    "1e19",
    "nan",
    ".nan",
    "NaN",
    "inf",
    ".inf",
    "-.inf",
    "0x1F",
    "010",
    "1_000",
    "1,5",
    "1,000.5",
    "1.2.3",
    "1e",
    "1e+",
    "e5",
    "+-1",
    "--1",
    "1/0",
    "0/0",
    "1/3",
    "1-1/8",
    "½",
    "1½",
    "−5",
    "–5",
    "٣",
    "²",
    "1²",
    "∞",
    "1±1",
    "±1",
    "1±",
    "1e5±1e400",
    "5±nan%",
    "1",
    "±",
    "-1",
    "~",
    "null",
    "true",
    "no",
    "on",
    "8.8",
]
UNITS = [
    "m",
    "mm",
    "in",
    "ft",
    "kg",
    "lb",
    "N",
    "kN",
    "lbf",
    "Pa",
    "kPa",
    "MPa",
    "psi",
    "psig",
    "bar",
    "barg",
    "bara",
    "m³/s",
    "L/s",
    "gal/min",
    "kg/s",
    "deg",
    "rad",
    "degC",
    "degF",
    "K",
    "%",
    "N*m",
    "kN·m/rad",
    "MN/m",
    "kN/mm",
    "kg/m^3",
    "s",
    "g/mol",
    "m^9",
    "m^-9",
    "m²",
    "1/m",
    "/m",
    "m/",
    "//",
    "m/s/s/s",
    "Nm",
    "nm",
    "MNM",
    "kgf°C",
    "°°",
    "'",
    '"',
    "″",
    "′",
    "µ",
    "µm",
    "Ωm",
    "furlong/fortnight",
    "H2O",
    "inH2O",
    "mmHg",
    "light_year",
    "planck_length",
    "dB",
    "pH",
    "parsec^4",
    "yotta",
    "Ym",
    "Qm",
    "qm",
    "delta_degC",
    "degC/m",
    "dimensionless",
    "mol",
    "count",
    "bit",
    "e",
    "pi",
]
NAMES = (
    "inlet",
    "outlet",
    "main",
    "a/b",
    "../../etc",
    "cases",
    "<<",
    "*",
    "=",
    "~",
    "",
    " ",
    "\t",
    "\x1b[31m",
    "\x07",
    "\u202e",
    "\u2028",
    "\u0085",
    '"\\uD800"',
    '"\\e[2J\\0\\x9b"',
    "\U0001f600",
    "e\u0301" * 40,
    "x" * 5000,
    "<script>",
    "{{ 1 }}",
    "%s%n{0}",
    "$x^2$",
    "\\frac",
    "1",
    "-1",
    "__class__",
    "model_config",
    "model_fields",
    "self",
    "note",
    "contents",
    "dynamic_factor",
)


@cache
def sources() -> tuple[str, ...]:
    """The good files that the mutations start from."""
    examples = [path.read_text(encoding="utf-8") for path in sorted(EXAMPLES.glob("*.yaml"))]
    return (*examples, *(starter(name) for name in STARTERS), BLANK_FLANGE, ELBOW, RARE)


@cache
def trees() -> tuple[Any, ...]:
    return tuple(yaml.load(text, yaml.BaseLoader) for text in sources())


@cache
def vocabulary() -> tuple[tuple[str, ...], tuple[Any, ...]]:
    """Every key that the format knows, and every value that stands in a good file."""
    keys: set[str] = set()
    words: set[str] = set()
    values: list[Any] = []

    def described(node: Any) -> None:
        if isinstance(node, dict):
            keys.update(map(str, node.get("properties", {})) if isinstance(node.get("properties"), dict) else ())
            words.update(word for word in node.get("enum", ()) if isinstance(word, str))
            for child in node.values():
                described(child)
        elif isinstance(node, list):
            for child in node:
                described(child)

    def written(node: Any) -> None:
        values.append(node)
        children = node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
        for child in children:
            written(child)

    described(schema())
    for tree in trees():
        written(tree)
    return tuple(sorted(keys)), (*values, *sorted(words), "from table", "from losses", "rigid", "M16", "5/8 in", "8.8")
