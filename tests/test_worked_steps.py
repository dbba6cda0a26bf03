"""Every worked line of a report is recomputed from the numbers printed on it, by a reader of MathML that knows nothing of the
code that wrote it, and its units are multiplied out with pint.

Tolerance of a line: half a unit in the last digit of each number put in, carried to the result one number at a time, and half a unit
in the last digit of the result. The report says that numbers with fewer than six figures put in, or fewer than five in a
result, are exact, and that a result of 0 is under a billionth of its terms.
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anchorsize import assess, parse_case
from anchorsize.present.report.blocks import Document, Grid, Lines, Section, grouped
from anchorsize.present.report.brief import in_brief
from anchorsize.present.report.expression import evaluate, tree
from anchorsize.present.report.html import report_html
from anchorsize.present.report.notation import parts
from anchorsize.present.report.plain import PlainText
from anchorsize.present.report.steps import PUT_IN, RESULT, LineError, Of, Step, Workings, figure, quantity
from anchorsize.present.report.worked import worked
from tests.cases import BLANK_FLANGE, ELBOW

HERE = Path(__file__).parents[1]
FILES = sorted((HERE / "examples").glob("*.yaml")) + sorted(
    (HERE / "anchorsize" / "casefile" / "starters").glob("*.yaml")
)

TIGHT = """\
    gasket: {inside: 115 mm, outside: 162 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa}
    tightening: {torque: 90 N*m, nut_factor: 0.2, scatter: 30 %, relaxation: 10 %}
    grip: 44 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
    thread_engagement: 12 mm
    flange: {thickness: 20 mm, rating: 16 bar}
"""
ALLOW = (
    "allow: {gasket_pressure_greatest: 60 MPa, bolt_stress_operating: 170 MPa, bolt_stress_seating: 170 MPa, hole_bearing: 200 MPa, "
    "bolt_thread_shear: 300 MPa, nut_thread_shear: 250 MPa, endurance_limit: 40 MPa, bolt_spacing_least: 45 mm, "
    "bolt_spacing_greatest: 130 mm, "
)
PLAIN = BLANK_FLANGE.replace("    gasket: {inside: 115 mm, outside: 162 mm}\n", TIGHT).replace("allow: {", ALLOW)
PLAIN = PLAIN.replace("22.5 deg}", '22.5 deg, class: "8.8"}')
BENT = (
    ELBOW.replace("count: 4, size: M16, circle: 160 mm", 'class: "8.8", count: 8, size: M16, circle: 180 mm')
    .replace("45 deg}\n", "45 deg}\n" + TIGHT + "    cycles_between: [stopped, run]\n", 1)
    .replace("allow: {", ALLOW)
)
STATED = "gasket: {inside: 115 mm, outside: 162 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa}"
RUN = "run: {inlet: {flow_in: 20 L/s, pressure: 60 kPa}, outlet: free_jet}"
JOINT_AT_OUTLET = """\
  far:
    at: outlet
    bolts: {count: 4, size: M12, circle: 100 mm, first_at: 45 deg}
    stiffness: {axial: 40 kN/mm, shear: 30 kN/mm, bending: 90 kN*m/rad, torsion: 70 kN*m/rad}
allow: {"""
PIPE = "pipe_behind: {outside: 114.3 mm, wall: 6 mm, length: 3 m, modulus: 200 GPa, poisson: 0.3}"
WALL = "pipe: {inside: 102.3 mm, wall: 6 mm, modulus: 200 GPa, poisson: 0.3, anchoring: throughout}"
SIX_WAYS = "{axial: 40 kN/mm, shear: 30 kN/mm, bending: 90 kN*m/rad, torsion: 70 kN*m/rad}"
TWO_JOINTS = (
    ELBOW.replace("45 deg}\n", "45 deg}\n    stiffness: rigid\n")
    .replace("allow: {", JOINT_AT_OUTLET)
    .replace("outlet: capped", "outlet: {flow_out: 0 L/s, pressure: 60 kPa}")
    .replace("outlet: free_jet", "outlet: {pressure: 0 kPa}")
)
ANCHORED = (
    "length: 300 mm, width: 200 mm, foundation_modulus: 20000 MN/m^3, anchors: [{x: 120 mm, y: 70 mm, size: M16}, "
    "{x: -120 mm, y: 70 mm, size: M16}, {x: -120 mm, y: -70 mm, size: M16}], anchor_length: 150 mm, anchor_modulus: 205 GPa"
)
EVERY_KIND = (
    ELBOW.replace("45 deg}\n", f"45 deg}}\n    stiffness: {SIX_WAYS}\n", 1)
    + f"""supports:
  all:
    - {{kind: rest, name: R1, at: [0.2, 0, -0.1 m], section: {{area: 12 cm^2, second_moment: 60 cm^4, half_depth: 40 mm}}, length: 700 mm, modulus: 200 GPa, friction: 0.1, base_plate: {{{ANCHORED}}}, allow: {{force: 2 kN, stress: 100 MPa, bearing: 8 MPa, anchor_tension: 10 kN, anchor_shear: 5 kN}}}}
    - {{kind: hanger, name: H1, at: [0.1, 0, 0 m], toward: [0, 0, 1], stiffness: 2 MN/m, set_load: 120 N, allow: {{force: 2 kN}}}}
    - {{kind: guide, name: G1, at: [0.1, 0.02, 0 m], toward: [0, 1, 0], stiffness: 2 MN/m, gap: 0.001 mm, allow: {{force: 2 kN}}}}
    - {{kind: strut, name: S1, at: [0.2, 0.01, 0 m], toward: [0.6, 0.8, 0], stiffness: 15 MN/m, settles: 0.003 mm, allow: {{force: 2 kN}}}}
    - {{kind: rest, name: gapped, at: [0.2, 0.05, -0.1 m], stiffness: 3 MN/m, gap: 0.003 mm, allow: {{force: 2 kN}}}}
    - {{kind: spring_hanger, name: SH, at: [0.1, 0.05, 0 m], set_load: 60 N, allow: {{force: 2 kN}}}}
    - {{kind: anchor, name: A1, at: [0.2, 0.1, -0.1 m], six_way: {SIX_WAYS}, allow: {{force: 2 kN, moment: 1 kN*m}}}}
    - {{kind: thrust_block, name: B, at: [0.2, 0, 0 m], toward: [-1, 0, 0], block: {{length: 1 m, width: 1 m, height: 0.5 m, density: 2300 kg/m^3, thrust_height: 200 mm, subgrade_modulus: 30 MN/m^3}}, allow: {{force: 20 kN, base_bearing: 20 kPa}}}}
"""
)
CASES = {
    "tightened": BENT,
    "tightened, blank": PLAIN,
    "opened by the load": BENT.replace("pressure: 60 kPa}, outlet: free_jet", "pressure: 5 MPa}, outlet: free_jet"),
    "uneven torques": BENT.replace("torque: 90 N*m", "torque: [90, 90, 60, 40, 40, 60, 90, 90 N*m]"),
    "loose on one side": BENT.replace("torque: 90 N*m", "torque: [90, 90, 1, 1, 1, 1, 1, 90 N*m]"),
    "missing bolts": BENT.replace("first_at: 45 deg", "first_at: 45 deg, missing: [2, 3]"),
    "bounds": BENT.replace("    bolt_modulus: 205 GPa\n", ""),
    "bounds, missing bolt": BENT.replace("    bolt_modulus: 205 GPa\n", "").replace("45 deg", "45 deg, missing: [5]"),
    "preload": BENT.replace("torque: 90 N*m, nut_factor: 0.2", "preload: 28 kN"),
    "friction form": BENT.replace("nut_factor: 0.2", "thread_friction: 0.12, bearing_friction: 0.14, bearing_diameter: 21 mm"),
    "metal to metal": BENT.replace(STATED, "gasket: {inside: 115 mm, outside: 162 mm, m: 2, y: 11 MPa}").replace(
        "    grip", "    members: {modulus: 205 GPa, face_diameter: 24 mm}\n    grip"
    ),
    "partly threaded, narrow gasket": BENT.replace("    grip", "    thread_length_in_grip: 18 mm\n    grip").replace("outside: 162 mm", "outside: 130 mm"),
    "raised face": BENT.replace("thickness: 20 mm, rating", "thickness: 20 mm, raised_face: 150 mm, rating"),
    "reaction diameter given": BENT.replace("m: 2, y", "reaction_diameter: 150 mm, m: 2, y"),
    "unequal bolts": ELBOW.replace(
        "{count: 4, size: M16, circle: 160 mm, first_at: 45 deg}",
        "{places: [{x: 60 mm, y: 50 mm, size: M16}, {x: -70 mm, y: 55 mm, size: M12}, {x: -60 mm, y: -50 mm, size: M20}, {x: 80 mm, y: -40 mm, size: M16}]}",
    ),
    "two bolts": BLANK_FLANGE.replace("count: 8", "count: 2"),
    "one bolt": BLANK_FLANGE.replace("{count: 8, size: M16, circle: 180 mm, first_at: 22.5 deg}", "{places: [{x: 0 mm, y: 0 mm, size: M16}]}"),
    "forces allowed": ELBOW.replace("bolt_tension: 160 MPa, bolt_shear: 95 MPa", "bolt_tension: 20 kN, bolt_shear: 12 kN"),
    "shank": ELBOW.replace("first_at: 45 deg", "first_at: 45 deg, shear_plane: shank").replace("allow: {", "allow: {tension_with_shear: en_1993_1_8, "),
    "losses": ELBOW.replace("pressure: 60 kPa}, outlet: free_jet", "pressure: from losses, loss_coefficient: 1.2}, outlet: free_jet"),
    "losses downstream": ELBOW.replace("outlet: free_jet}", "outlet: {pressure: from losses, loss_coefficient: 0.4, velocity_at: inlet}}", 1),
    "sudden surge": ELBOW.replace("pressure: 60 kPa}, outlet: capped", "pressure: 60 kPa, surge: {stopped_flow: 9 L/s, wave_speed: 1100 m/s}}, outlet: capped"),
    "slow surge": ELBOW.replace(
        "pressure: 60 kPa}, outlet: capped",
        "pressure: 60 kPa, surge: {stopped_flow: 9 L/s, wave_speed: 1100 m/s, closing_time: 2 s, pipe_length: 300 m}}, outlet: capped",
    ),
    "flow change": ELBOW.replace(RUN, "run: {inlet: {flow_in: 20 L/s, pressure: 60 kPa, flow_change: -3 L/s^2}, outlet: {exit: free_jet, flow_change: 3 L/s^2}}"),
    "dynamic, beta, outside load": ELBOW.replace(
        RUN, "run: {dynamic_factor: 1.7, inlet: {flow_in: 20 L/s, pressure: 61.37 kPa, beta: 1.02}, outlet: free_jet}"
    ) + "external: [{name: pull, force: [3, 40.25, 0 N], moment: [1, 2, 3.3 N*m], at: [0.21, 0, -0.12 m]}]\n",
    "gas, choked": ELBOW.replace(
        RUN,
        "run: {inlet: {flow_in: 0.1 m^3/s, density: 10 kg/m^3, pressure: 6 bar}, outlet: {exit: free_jet, "
        "gas: {mass_flow: 1 kg/s, stagnation_temperature: 350 K, k: 1.4, molar_mass: 28.97 g/mol, ambient: 101.325 kPa}}}",
    ),
    "gas, subsonic": ELBOW.replace(
        RUN,
        "run: {inlet: {flow_in: 0.05 m^3/s, density: 4 kg/m^3, pressure: 2 bar}, outlet: {exit: free_jet, "
        "gas: {mass_flow: 0.2 kg/s, stagnation_temperature: 350 K, k: 1.3, molar_mass: 18 g/mol, ambient: 101.325 kPa}}}",
    ),
    "turned in space": ELBOW.replace("outward: [-1, 0, 0]", "outward: [-0.7, 0.5, -0.31]").replace("[0, 0, 0 m]", "[0.013, -0.21, 0.37 m]"),
    "extra masses": ELBOW.replace(
        "fitting: {", "fitting: {extra_masses: [{name: flanges, mass: 4.317 kg, center: [0.031, 0.002, -0.11 m]}, {name: valve, mass: 12.5 kg, center: [0.2, 0, 0.1 m]}], "
    ),
    "extra masses alone": ELBOW.replace(
        "fitting: {mass: 10 kg, mass_center: [0.1, 0, 0 m], ", "fitting: {extra_masses: [{name: valve, mass: 7.25 kg, center: [0.1, 0, 0 m]}], "
    ),
    "pressure test": PLAIN.replace(
        "test: {", "test: {rating_factor: 1.43, allow: {bolt_tension: 231.7 MPa, gasket_pressure_greatest: 91.3 MPa, bolt_stress_seating: 200 MPa}, "
    ),
    "supported": ELBOW.replace("45 deg}\n", "45 deg}\n    stiffness: {axial: 40 kN/mm, shear: 30 kN/mm, bending: 90 kN*m/rad, torsion: 70 kN*m/rad}\n")
    + "supports:\n  post:\n    - {kind: rest, name: R1, at: [0.2, 0, -0.1 m], stiffness: 40 MN/m, friction: 0.3, allow: {force: 2 kN}}\n"
    "    - {kind: strut, name: S1, at: [0.2, 0, 0 m], toward: [0, 1, 0], stiffness: 15 MN/m, allow: {force: 2 kN}}\n",
    "supports of every kind": EVERY_KIND,
    "supports beside pipe, bolts and gasket": BENT.replace("    cycles", f"    {PIPE}\n    cycles", 1) + EVERY_KIND[EVERY_KIND.index("supports:"):],
    "supports beside a rigid joint": re.sub(r"stiffness: \{axial[^}]*\}", "stiffness: rigid", EVERY_KIND, count=1),
    "a rest that slides": EVERY_KIND.replace("friction: 0.1,", "friction: 0.01,"),
    "wave speed from the wall": ELBOW.replace("pressure: 60 kPa}, outlet: capped", f"pressure: 60 kPa, surge: {{stopped_flow: 9 L/s, {WALL}}}}}, outlet: capped"),
    "allowed on the nozzle": BENT.replace("allow: {", "allow: {force: 3.1 kN, moment: 271.3 N*m, axial: 2.3 kN, shear: 901 N, bending: 187 N*m, torsion: 33 N*m, pressure_thrust: included, ")
    + "external: [{name: pull, force: [3, 40.25, 0 N], moment: [17.3, 2, 3.3 N*m], at: [0.21, 0, -0.12 m]}]\n",
    "allowed on the nozzle beside the pressure": BENT.replace("allow: {", "allow: {force: 3.1 kN, axial: 2.3 kN, pressure_thrust: excluded, "),
    "two elastic joints": TWO_JOINTS.replace("stiffness: rigid", PIPE),
    "two joints": TWO_JOINTS,
}  # fmt: skip


# --- a reader of the page: MathML to a tree, the tree to a number --------------------------------------------------------------


@dataclass
class Line:
    """A worked line as read: the tree put in, the trees of its numbers, the result, and a name for messages."""

    name: str
    tree: tuple
    numbers: list[tuple[float, float, str]]
    result: list[tuple[float, float, str]]


class Reader:
    """Reads one row of MathML into nested tuples; numbers become ``("n", index)`` into a list of value, half unit and unit."""

    def __init__(self, exact_under: int) -> None:
        self.exact_under = exact_under
        self.numbers: list[tuple[float, float, str]] = []

    def number(self, digits: str, power: int, unit: str) -> tuple:
        figures = len(digits.replace(".", "").lstrip("0"))
        places = len(digits.partition(".")[2])
        half = 0.0 if figures < self.exact_under else 0.5 * 10.0 ** (power - places)
        self.numbers.append((float(f"{digits}e{power}"), half, unit))
        return ("n", len(self.numbers) - 1)

    def row(self, nodes: list[ET.Element]) -> tuple:
        """A row: signs, products and sums, by their order of precedence."""
        unit = ""
        if nodes and nodes[-1].tag == "mtext":
            unit, nodes = nodes[-1].text.strip("\u00a0 "), nodes[:-1]
        plain = [node.tag for node in nodes]
        if plain == ["mn"]:
            return self.number(nodes[0].text, 0, unit)
        if plain == ["mo", "mn"] and nodes[0].text == "−":
            return ("neg", self.number(nodes[1].text, 0, unit))
        if (
            plain in (["mrow"], ["mo", "mrow"])
            and [each.tag for each in nodes[-1]] == ["mn", "mo", "msup"]
            and nodes[-1][1].text == "×"
        ):
            ten, power = nodes[-1][2]
            assert ten.text == "10"
            told = "".join(power.itertext()).replace("−", "-")
            found = self.number(nodes[-1][0].text, int(told), unit)
            return ("neg", found) if plain[0] == "mo" else found
        if nodes and nodes[0].tag == "mi" and nodes[0].text in ("max", "min", "ln"):
            assert nodes[1].text == "("
            assert nodes[-1].text == ")"
            return (nodes[0].text, *self.split(nodes[2:-1]))
        if nodes and nodes[0].tag == nodes[-1].tag == "mo" and nodes[0].text in "(|" and self.closes(nodes):
            inner = self.split(nodes[1:-1])
            if nodes[0].text == "|":
                return ("bars", *inner)
            return self.with_unit(("vector", *inner), unit) if len(inner) > 1 else inner[0]
        return self.sum(nodes)

    @staticmethod
    def closes(nodes: list[ET.Element]) -> bool:
        """Whether the first bracket of a row is closed by its last."""
        return (
            not any(node.tag == "mo" and node.text in ("(", "|", ")") for node in nodes[1:-1])
            and nodes[-1].text in ")|"
        )

    @staticmethod
    def with_unit(tree: tuple, unit: str) -> tuple:
        return ("unit", tree, unit) if unit else tree

    def split(self, nodes: list[ET.Element]) -> list[tuple]:
        """The parts between commas."""
        parts: list[list[ET.Element]] = [[]]
        for node in nodes:
            if node.tag == "mo" and node.text == ",":
                parts.append([])
            else:
                parts[-1].append(node)
        return [self.row(part) for part in parts]

    def sum(self, nodes: list[ET.Element]) -> tuple:
        signs, terms, sign = [], [[]], "+"
        for i, node in enumerate(nodes):
            if node.tag == "mo" and node.text in "+−" and (i == 0 or nodes[i - 1].tag != "mo"):
                if i:
                    signs.append(sign)
                    terms.append([])
                sign = node.text
            else:
                terms[-1].append(node)
        signs.append(sign)
        made = [self.product(term) for term in terms]
        made = [("neg", term) if sign == "−" else term for sign, term in zip(signs, made, strict=True)]
        return made[0] if len(made) == 1 else ("+", *made)

    def product(self, nodes: list[ET.Element]) -> tuple:
        found, operator = None, ""
        for node in nodes:
            if node.tag == "mo":
                operator = node.text
                assert operator in "·⋅×", operator
                continue
            factor = self.one(node)
            found = factor if found is None else (operator, found, factor)
        assert found is not None
        return found

    def one(self, node: ET.Element) -> tuple:
        match node.tag:
            case "mn":
                return self.number(node.text, 0, "")
            case "mi":
                assert node.text == "π", node.text
                return ("π",)
            case "mrow":
                return self.row(list(node))
            case "mfrac":
                return ("/", self.one(node[0]), self.one(node[1]))
            case "msup":
                return ("^", self.one(node[0]), int(node[1].text))
            case "msqrt":
                return ("√", self.row(list(node)))
            case "mtable":
                return ("table", *(tuple(self.row(list(cell)) for cell in line) for line in node))
        raise AssertionError(f"a {node.tag} stands in a worked line")


@cache  # some pages are read by several tests
def lines_of(page: str) -> list[Line]:
    """Every worked line of a page."""
    found = []
    for block in re.findall(r'<div class="step(?: again)?">.*?</div>', page, re.DOTALL):
        root = ET.fromstring(block)
        what = root.find("p[@class='what']")
        name = "".join((root.find("p/bdi") if what is None else what).itertext())
        for line in root.findall("p[@class='line']"):
            put_in = [node for math_ in line.find("span[@class='put']") for node in math_]
            if put_in[0].tag == "mo" and put_in[0].text == "=":
                put_in = put_in[1:]
            reader = Reader(PUT_IN)
            if put_in[0].tag == "mtable":
                assert [node.tag for node in put_in] == ["mtable", "mtable", "mo", "mtable"]
                tree = ("solve", reader.one(put_in[0]), reader.one(put_in[3]))
            else:
                tree = reader.row(put_in)
            result = list(line.find("span[@class='result']")[-1])
            assert result[0].text == "="
            told = Reader(RESULT)
            told.row(result[1:])
            signs = signs_of(result[1:])
            unit = result[-1].find("mtext") if result[-1].tag == "mrow" else None
            shared = unit.text.strip("\u00a0 ") if unit is not None and len(told.numbers) > 1 else ""
            numbers = [(sign * v, half, u or shared) for sign, (v, half, u) in zip(signs, told.numbers, strict=True)]
            found.append(Line(f"{line.find('span').text} {name}", tree, reader.numbers, numbers))
    return found


def signs_of(nodes: list[ET.Element]) -> list[float]:
    """Signs of the numbers of a result, in order; those of powers of ten do not count."""
    signs, minus = [], False

    def walk(node: ET.Element, within_power: bool) -> None:
        nonlocal minus
        if within_power:
            return
        if node.tag == "mo":
            minus = node.text == "−" or (minus and node.text == "×")
        elif node.tag == "mn":
            signs.append(-1.0 if minus else 1.0)
            minus = False
        for child in node:
            walk(child, node.tag == "msup")

    for node in nodes:
        walk(node, False)
    return signs


def value(tree: tuple, numbers: list, size: bool = False):
    """The value of a tree; with ``size`` what it would be if nothing in it canceled."""
    kind, *parts = tree
    if kind == "n":
        return abs(numbers[parts[0]]) if size else numbers[parts[0]]
    if kind == "π":
        return math.pi
    if kind == "^":
        return value(parts[0], numbers, size) ** parts[1]
    if kind == "unit":
        return value(parts[0], numbers, size)
    if kind == "solve":
        matrix, right = (
            np.array([[value(cell, numbers) for cell in row] for row in table[1:]], dtype=float) for table in parts
        )
        inverse = np.linalg.inv(matrix)
        return np.abs(inverse) @ np.abs(right[:, 0]) if size else inverse @ right[:, 0]
    if kind == "/" and size:
        return value(parts[0], numbers, True) / abs(value(parts[1], numbers))
    if kind == "×" and size:
        a, b = (value(part, numbers, True) for part in parts)
        return np.array([a[1] * b[2] + a[2] * b[1], a[2] * b[0] + a[0] * b[2], a[0] * b[1] + a[1] * b[0]])
    found = [value(part, numbers, size) for part in parts]
    match kind:
        case "neg":
            return found[0] if size else -found[0]
        case "+":
            return sum(found[1:], found[0])
        case "/":
            return found[0] / found[1]
        case "×":
            return np.cross(found[0], found[1])
        case "·" | "⋅":
            both = np.ndim(found[0]) == np.ndim(found[1]) == 1
            return found[0] @ found[1] if both else found[0] * found[1]
        case "√":
            return math.sqrt(found[0])
        case "bars":
            return float(np.linalg.norm(np.atleast_1d(found[0])))
        case "vector":
            return np.array(found)
        case "max":
            return max(found)
        case "min":
            return min(found)
        case "ln":
            return abs(math.log(found[0])) if size else math.log(found[0])
    raise AssertionError(kind)


def recompute(line: Line) -> None:
    """Assert that a line gives its printed result from its printed numbers."""
    numbers = [number for number, _, _ in line.numbers]
    found = np.atleast_1d(value(line.tree, numbers))
    carried = np.zeros_like(found)
    for i, (number, half, _) in enumerate(line.numbers):
        if half:  # the larger of both ways, for a max may turn between them
            ways = ([*numbers[:i], number + step, *numbers[i + 1 :]] for step in (half, -half))
            moved = [np.abs(np.atleast_1d(value(line.tree, way)) - found) for way in ways]
            carried = carried + np.maximum(*moved)
    size = np.atleast_1d(value(line.tree, numbers, size=True))
    printed = np.array([number for number, _, _ in line.result])
    last = np.array([half for _, half, _ in line.result])
    assert found.shape == printed.shape, line.name
    # 1e-12 of the terms: rounding of the arithmetic of this reader itself
    allowed = last + carried + np.where(printed == 0.0, 1e-9, 1e-12) * size
    off = np.abs(found - printed)
    assert np.all(off <= allowed), f"{line.name}: recomputed {found}, printed {printed}, off {off}, allowed {allowed}"
    # and the figures put in are enough: the line is never off by more than one unit in the fifth figure of its result
    with np.errstate(divide="ignore"):
        unit = 10.0 ** (np.floor(np.log10(np.abs(printed))) - (RESULT - 1))
    assert np.all((off <= unit + 1e-12 * size) | (printed == 0.0)), f"{line.name}: too few figures put in"


@cache
def page_of(text: str, name: str = "t.yaml", full: bool = True) -> str:
    """The worked lines of a case file as a page."""
    study = parse_case(text, name)
    made = worked(assess(study))
    sections = [Section("common", [Lines(part.steps) for part in made.common])]
    sections += [Section(case, [Lines(part.steps) for part in parts]) for case, parts in made.cases.items()]
    return report_html(Document("t", (), sections), study.units, full)


def in_system(text: str, system: str) -> str:
    return re.sub(r"(?m)^units: \w+", f"units: {system}", text) if "units:" in text else f"{text}units: {system}\n"


# --- the tests ------------------------------------------------------------------------------------------------------------------


IN_BOTH = {"terrace_elbow", "supported_arm", "wye_missing_bolt", "monitor_head", "us"}
"""Worked lines are in SI in either system, with values behind them; so the other system is tried on files of every kind only."""
IN_SYSTEMS = [
    (file, system) for file in FILES for system in ("metric", "us") if system == "metric" or file.stem in IN_BOTH
]


@pytest.mark.parametrize(("file", "system"), IN_SYSTEMS, ids=lambda each: getattr(each, "stem", each))
def test_every_line_of_examples_and_starters_recomputes(file, system):
    lines = lines_of(page_of(in_system(file.read_text(), system), str(file)))
    assert len(lines) > 20
    for line in lines:
        recompute(line)


@pytest.mark.parametrize("name", CASES)
def test_every_line_recomputes(name):
    lines = lines_of(page_of(CASES[name]))
    assert len(lines) > 20
    for line in lines:
        recompute(line)


UNITS = pint.UnitRegistry()


def unit_of(text: str) -> pint.Unit:
    """A printed SI unit as pint's."""
    plain = text.translate(str.maketrans("²³⁴", "234"))
    plain = re.sub(r"(?<=[a-z])([234])", r"**\1", plain, flags=re.IGNORECASE).replace("·", "*")
    return UNITS.Unit(plain or "dimensionless")


def units_of(tree: tuple, numbers: list):
    """The tree worked out with units: what does not fit raises pint's DimensionalityError."""
    kind, *parts = tree
    if kind == "n":
        number, _, unit = numbers[parts[0]]
        return UNITS.Quantity(number, unit_of(unit))
    if kind == "unit":
        return UNITS.Quantity(units_of(parts[0], numbers).magnitude, unit_of(parts[1]))
    if kind == "π":
        return UNITS.Quantity(math.pi)
    if kind == "^":
        return units_of(parts[0], numbers) ** parts[1]
    found = [units_of(part, numbers) for part in parts]
    match kind:
        case "neg":
            return -found[0]
        case "+":
            return sum(found[1:], found[0])
        case "/":
            return found[0] / found[1]
        case "√":
            return found[0] ** 0.5
        case "·":
            return found[0] * found[1]
        case "⋅":
            return UNITS.Quantity(1.0, found[0].units * found[1].units)
        case "×":
            return UNITS.Quantity(np.cross(found[0].magnitude, found[1].magnitude), found[0].units * found[1].units)
        case "bars":
            return UNITS.Quantity(1.0, found[0].units)
        case "vector":
            return UNITS.Quantity(np.array([each.magnitude for each in found]), found[0].units)
        case "max" | "min":
            some = [each for each in found if each.magnitude != 0.0]  # a bare 0 goes with every unit
            assert len({each.dimensionality for each in some}) <= 1
            return (some or found)[0]
        case "ln":
            assert found[0].dimensionless
            return UNITS.Quantity(1.0)
    raise AssertionError(kind)


@pytest.mark.parametrize("name", CASES)
def test_units_of_every_line_multiply_out_to_that_of_its_result(name):
    for line in lines_of(page_of(CASES[name])):
        if line.tree[0] == "solve" or any(value == 0.0 and not half for value, half, _ in line.result):
            continue  # systems are checked by their sums below; a result of 0 may come from terms with a bare 0
        found = units_of(line.tree, line.numbers)
        assert found.dimensionality == unit_of(line.result[0][2]).dimensionality, line.name


def test_reader_of_this_test_reads_what_is_known():
    """The reader itself, on a line written by hand: (3 N + 1.5 N) · 2 m = 9 N·m, and a wrong one that it must find."""
    block = (
        '<div class="step"><p class="what">by hand</p><p class="line"><span class="no">1</span> <span class="put"><math><mrow><mo>(</mo>'
        "<mrow><mn>3</mn><mtext>N</mtext></mrow><mo>+</mo><mrow><mn>1.5</mn><mtext>N</mtext></mrow><mo>)</mo></mrow><mo>·</mo>"
        "<mrow><mn>2</mn><mtext>m</mtext></mrow></math></span> "
        '<span class="result"><math><mo>=</mo><mrow><mn>{}</mn><mtext>N·m</mtext></mrow></math></span></p></div>'
    )
    (right,) = lines_of(block.format("9"))
    recompute(right)
    assert [unit for _, _, unit in right.numbers] == ["N", "N", "m"]
    (wrong,) = lines_of(block.format("9.0001"))
    with pytest.raises(AssertionError, match="by hand: recomputed"):
        recompute(wrong)


@pytest.mark.parametrize(
    ("number", "figures", "digits", "exponent"),
    [
        (0.0, 5, "0", 0),
        (180000.0, 6, "180000", 0),
        (180000.0, 5, "1.8", 5),
        (1.0 / 3.0, 6, "0.333333", 0),
        (0.5, 6, "0.5", 0),
        (0.50000004, 6, "0.500000", 0),
        (-1.6e8, 6, "1.6", 8),
        (999999.7, 6, "1.00000", 6),
        (1.5666e-4, 6, "1.5666", -4),
        (123.456, 5, "123.46", 0),
    ],
)
def test_printed_figures_by_hand(number, figures, digits, exponent):
    printed = figure(number, figures)
    assert (printed.digits, printed.exponent) == (digits, exponent)
    assert printed.value == pytest.approx(number, rel=0.5 * 10.0 ** (1 - figures))


LETTERS = st.sampled_from("abcd")
FORMULAS = st.recursive(
    LETTERS,
    lambda inner: st.one_of(
        st.tuples(inner, st.sampled_from(["+", "-", "*", "/"]), inner).map(lambda t: f"({t[0]} {t[1]} {t[2]})"),
        inner.map(lambda a: f"-({a})"),
        inner.map(lambda a: f"({a})**2"),
        inner.map(lambda a: f"sqrt(abs({a}))"),
        st.tuples(inner, inner).map(lambda t: f"max({t[0]}, {t[1]})"),
    ),
    max_leaves=8,
)


@given(FORMULAS, st.lists(st.floats(-1e4, 1e4).filter(lambda x: abs(x) > 1e-4), min_size=4, max_size=4))
def test_any_formula_is_written_as_it_is_computed(formula, numbers):
    """Random formulas: what the reader makes of the page is what Python makes of the formula, parentheses and all."""
    values = dict(zip("abcd", numbers, strict=True))
    try:
        known = eval(formula, {"sqrt": math.sqrt, "abs": abs, "max": max}, values)
    except (ZeroDivisionError, OverflowError):
        return
    work = Workings()
    with np.errstate(all="ignore"):
        work.step(
            "random", "r", formula, "by chance", Of(), **{name: quantity(value) for name, value in values.items()}
        )
        (step,) = work.steps
        if not 1e-200 < abs(known) < 1e200 or step.result.number == 0.0:
            return
        (line,) = lines_of(report_html(Document("t", (), [Section("s", [Lines(work.steps)])]), "metric", full=True))
        found = value(line.tree, [number for number, _, _ in line.numbers])
    # the printed result is the nearest in five figures, the recomputed one at most a unit of the fifth away from it
    printed = line.result[0][0]
    assert printed == pytest.approx(known, rel=0.5001e-4)
    assert found == pytest.approx(printed, rel=1.0001e-4)


def test_figures_grow_where_a_line_cancels():
    """1/3 N less 0.3333 N leaves 33.333 µN: its five figures need nine of 1/3."""
    work = Workings()
    work.step("difference", "d", "a - b", "by hand", Of("force"), a=quantity(1.0 / 3.0), b=quantity(0.3333))
    (step,) = work.steps
    assert step.result_figures[0].digits == "3.3333"
    assert len(step.put_in["a"][0].digits) >= len("0.333333333")


def test_what_is_under_a_billionth_of_its_terms_is_nothing():
    work = Workings()
    left = work.step("sum", "s", "a + b - c", "by hand", Of(), a=quantity(0.1), b=quantity(0.2), c=quantity(0.3))
    assert left.value == 0.0


def test_a_part_of_a_vector_that_is_rounding_beside_it_is_nothing():
    """The cosine of a right angle is 6e-17 in floating point; the force along it is none, and a small true part stays."""
    work = Workings()
    normal = np.array([math.cos(math.pi / 2.0), 2e-9, 1.0])
    force = work.step("thrust", "F", "T*n", "by hand", Of("force"), T=quantity(1000.0), n=quantity(normal))
    # 1e-12: rounding of the product
    assert list(force.value) == pytest.approx([0.0, 2e-6, 1000.0], rel=1e-12, abs=0.0)


@given(st.tuples(*[st.floats(-1e7, 1e7)] * 3), st.tuples(*[st.floats(-10.0, 10.0)] * 3), st.floats(1e-12, 1e-7))
def test_a_part_left_out_is_no_disagreement(force, arm, trace):
    """Whatever part of a force is left out, its moment still meets that of the whole force."""
    whole = np.array([trace * np.max(np.abs(force)), *force[1:]])
    work = Workings()
    agrees = np.cross(arm, whole)
    work.step("moment", "M", "cross(r, F)", "by hand", Of("moment", agrees=agrees), r=quantity(arm), F=quantity(whole))
    along = Of("force", agrees=whole[0])
    work.step("part", "F_1", "dot(F, e)", "by hand", along, F=quantity(whole), e=quantity(np.array([1.0, 0.0, 0.0])))
    assert len(work.steps) == 2


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_no_vector_of_a_page_has_a_trace_of_rounding(file):
    for line in lines_of(page_of(in_system(file.read_text(), "metric"), str(file))):
        sizes = [abs(number) for number, _, _ in line.result]
        if len(sizes) == 3 and line.tree[0] != "solve":
            assert all(size == 0.0 or size >= 0.9e-9 * max(sizes) for size in sizes), line.name


def test_a_line_that_does_not_meet_the_assessment_is_refused():
    work = Workings()
    with pytest.raises(LineError, match="worked line 'sum'"):
        work.step("sum", "s", "a + b", "by hand", Of(agrees=3.1), a=quantity(1.0), b=quantity(2.0))


def test_joints_that_share_without_stiffness_show_the_loads_only():
    text = CASES["two joints"].replace("    stiffness: rigid\n", "")
    text = re.sub(r"    stiffness: \{axial.*\n", "", text)
    page = page_of(text)
    assert "equilibrium of the fitting" in page
    assert "External tension" not in page


# --- who carries what, and lines told in brief ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("supports of every kind", ["Force of a support that acts both ways past its gap", "Force or moment along an axis, by the stiffness given", "Friction at most",
                                    "Stiffness along a rod or post", "Stiffness of the soil", "Tension of an anchor", "Balance: tensions less pressure"]),
        ("a rest that slides", ["Friction of a support that slides (Fs over Fm)"]),
        ("supports beside pipe, bolts and gasket", ["Compliance of pipe (cp) and of bolts with face (b) in series", "Shear coefficient of a hollow round section"]),
        ("supports beside a rigid joint", ["Force of a support: its set load"]),
        ("two elastic joints", ["Movement of the fitting at the center of a joint", "Force of a joint or anchor on the fitting"]),
        ("wave speed from the wall", ["Bore over wall", "Wave speed"]),
    ],
)  # fmt: skip
def test_lines_show_how_the_reaction_is_shared_and_where_a_wave_speed_is_from(name, said):
    names = " / ".join(line.name for line in lines_of(page_of(CASES[name])))
    for each in said:
        assert each in names


def told(cell: str) -> list[float]:
    """The numbers of a cell, its unit left out."""
    raised = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
    found = re.findall(r"−?\d[\d.]*(?:×10[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)?", cell)
    return [float(each.replace("×10", "e").translate(raised).replace("−", "-")) for each in found]


@pytest.mark.parametrize("name", ["tightened", "unequal bolts", "missing bolts", "supports of every kind"])
def test_what_stands_in_a_table_in_brief_recomputes(name):
    """Each row of a table gives its result from its own cells and from the numbers of the full line: nothing is lost."""
    rows = 0
    for part in (part for case in worked(assess(parse_case(CASES[name], "t"))).cases.values() for part in case):
        groups, tables = in_brief(part.steps)
        for one, steps in (
            (each.steps[0], all_of) for each, all_of in zip(groups, grouped(part.steps), strict=True) if each.tabled
        ):
            for step in steps:
                cells = cells_of(tables, step)
                values = {
                    symbol: np.array(cells[symbol])
                    if symbol in cells
                    else np.array([each.value for each in one.put_in[symbol]])
                    for symbol in step.values
                }
                values = {symbol: float(value[0]) if value.size == 1 else value for symbol, value in values.items()}
                found, _ = evaluate(tree(step.formula), values)
                for number, printed in zip(np.ravel(found), cells[step.symbol], strict=True):
                    # one unit of the fifth figure, as for lines in full; 1e-12: rounding of this arithmetic
                    assert number == pytest.approx(printed, rel=1.0001e-4, abs=1e-12)
                rows += 1
    assert rows > 10


def cells_of(tables: list[Grid], step: Step) -> dict[str, list[float]]:
    """The numbers of the one row of one table that has the result of a step."""
    for table in tables:
        heads = [head.partition(" [")[0] for head in table.headers]
        names = dict(
            zip(
                [*step.values, step.symbol],
                [PlainText().symbol(*parts(s), False).text for s in [*step.values, step.symbol]],
                strict=True,
            )
        )
        for row in table.rows:
            if row[0] == step.label and names[step.symbol] in heads and row[heads.index(names[step.symbol])] != "-":
                return {
                    s: told(row[heads.index(n)]) for s, n in names.items() if n in heads and row[heads.index(n)] != "-"
                }
    raise AssertionError(f"no row for {step.name}, {step.label}")


@pytest.mark.parametrize("name", ["tightened", "supported"])
def test_lines_in_brief_recompute_and_are_far_fewer(name):
    brief, whole = (lines_of(page_of(CASES[name], full=full)) for full in (False, True))
    for line in brief:
        recompute(line)
    assert len(brief) < 0.9 * len(whole)


def _row_step(values, formula="total(F)", more=None):
    from anchorsize.present.report.steps import row

    work = Workings()
    work.step("Sum", "P", formula, "sum", Of("force"), F=row(np.array(values), "force"), **(more or {}))
    return work.steps[0]


def test_equal_terms_of_a_sum_stand_once_with_their_number():
    from anchorsize.present.report.lines import in_text

    brief = in_text(_row_step([10.0] * 12), "metric", full=False)
    assert brief.put_in == [("", "12·(10 N)")]
    assert not brief.left_out
    full = in_text(_row_step([10.0] * 12), "metric", full=True)
    assert len(full.put_in) == 12
    mixed = in_text(_row_step([10.0, 20.0, 10.0]), "metric", full=False)
    assert mixed.put_in == [("", "2·(10 N)"), ("+", "(20 N)")]


def test_terms_of_nothing_are_left_out_and_the_line_says_so():
    from anchorsize.present.report.lines import in_text

    step = _row_step([0.0, 20.0, 0.0], "a + total(F) - b", {"a": quantity(0.0, "force"), "b": quantity(5.0, "force")})
    brief = in_text(step, "metric", full=False)
    assert brief.put_in == [("", "(20 N)"), ("−", "(5 N)")]
    assert brief.left_out
    assert not in_text(step, "metric", full=True).left_out
    nothing = in_text(_row_step([0.0, 0.0]), "metric", full=False)
    assert nothing.put_in == [("", "0")]
    assert not nothing.left_out


def test_a_first_term_of_nothing_leaves_its_sign_to_the_next():
    from anchorsize.present.report.lines import in_text

    work = Workings()
    values = {"a": quantity(0.0, "force"), "b": quantity(5.0, "force")}
    work.step("Rest", "R", "a - b", "sum", Of("force"), **values)
    assert in_text(work.steps[0], "metric", full=False).put_in == [("", "−(5 N)")]


@pytest.mark.parametrize("name", ["tightened", "supported"])
def test_every_worked_result_has_its_us_value_behind_the_si_one(name):
    """Only numbers, angles and lines of nothing go without."""
    from anchorsize.present.report.lines import in_text

    lines = worked(assess(parse_case(CASES[name], "t.yaml")))
    parts = [*lines.common, *(part for case in lines.cases.values() for part in case)]
    plain = {"", "rad", "kg", "s"}
    steps = [step for part in parts for step in part.steps]
    wanted = [step for step in steps if any(step.result.parts) and not set(_units_of(step)) <= plain]
    assert len(wanted) > 20
    for step in wanted:
        assert in_text(step, "us", full=False).also, step.name


def _units_of(step):
    return [step.result.unit] if isinstance(step.result.unit, str) else step.result.unit


@pytest.mark.parametrize(
    ("si", "us"),
    [("Pa", "psi"), ("Pa/m", "lbf/in^3"), ("N/m", "lbf/in"), ("m**2", "in^2"), ("m/N", "in/lbf"), ("rad/(N*m)", "rad/(ft*lbf)"), ("Pa**2", "psi**2")],
)  # fmt: skip
def test_us_values_are_those_of_pint(si, us):
    from anchorsize.present.report.lines import _in_us

    shown = {"m**2": "m²", "Pa**2": "Pa²", "rad/(N*m)": "rad/(N·m)"}.get(si, si)
    text = (
        _in_us(1234.5, shown).split(" ")[0].replace("×10", "e").translate(str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789"))
    )
    wanted = pint.UnitRegistry().Quantity(1234.5, si).to(us.replace("lbf", "force_pound")).magnitude
    assert float(text) == pytest.approx(wanted, rel=0.5e-3)  # four figures are printed
