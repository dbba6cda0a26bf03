"""Case files about supports, put together from numbers. Invented."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from click.testing import CliRunner

from anchorsize.cli import main

HEAD = """\
case_file: 1
title: supports
fluid: {name: water, density: 1000 kg/m^3}
"""

INLET = "openings:\n  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}\n"

STILL = "cases:\n  still: {inlet: {flow_in: 0 L/s, pressure: 0 kPa}}\n"

PIPE = "pipe_behind: {outside: 114.3 mm, wall: 6 mm, length: 2 m, modulus: 200 GPa, poisson: 0.3}"


def triple(values: Iterable[float], unit: str = "") -> str:
    """A vector as a case file writes it, every digit of it."""
    x, y, z = (repr(float(value)) for value in values)
    return f"[{x}, {y}, {z} {unit}]" if unit else f"[{x}, {y}, {z}]"


def support(kind: str, name: str, at: Iterable[float], toward: Iterable[float] | None = None, terms: str = "") -> str:
    """One support in a line; where ``toward`` is left out, kinds that need it are told up."""
    toward = (0, 0, 1) if toward is None and kind in ("strut", "guide", "tie") else toward
    way = "" if toward is None else f", toward: {triple(toward)}"
    more = f", {terms}" if terms else ""
    return f"{{kind: {kind}, name: {name}, at: {triple(at, 'm')}{way}{more}}}"


def options(**named: Iterable[str]) -> str:
    """The supports of a file by option."""
    lines = ["supports:"]
    for option, supports in named.items():
        listed = list(supports)
        lines += [f"  {option}:{'' if listed else ' []'}", *(f"    - {each}" for each in listed)]
    return "\n".join(lines) + "\n"


def pulled(*loads: tuple[Iterable[float], Iterable[float]]) -> str:
    """Loads from outside: force [N] at a point [m]."""
    lines = [
        f"  - {{name: load {number}, force: {triple(force, 'N')}, at: {triple(at, 'm')}}}"
        for number, (force, at) in enumerate(loads, start=1)
    ]
    return "\n".join(["external:", *lines]) + "\n"


def joint(holds: str = PIPE, name: str = "main", at: str = "inlet") -> str:
    """A joint of four bolts with ``holds`` for what it gives by; nothing there leaves it rigid."""
    bolts = "    bolts: {count: 4, size: M16, circle: 160 mm, first_at: 45 deg}\n"
    return f"  {name}:\n    at: {at}\n{bolts}" + (f"    {holds}\n" if holds else "")


def stiffness(axial: str, shear: str, bending: str, torsion: str) -> str:
    """Stiffness of a joint as given."""
    return f"stiffness: {{axial: {axial}, shear: {shear}, bending: {bending}, torsion: {torsion}}}"


def still(supports: str, loads: str, joints: str | None = None, allow: str = "") -> str:
    """A file whose only loads are those from outside; without ``joints`` the supports alone hold the fitting."""
    joined = "" if joints is None else f"joints:\n{joints}"
    return HEAD + INLET + joined + allow + STILL + loads + supports


def guided(at: Iterable[float] = (0.0, 0.0, 0.0), strut: str = "1 kN/m") -> list[str]:
    """Five struts that leave a fitting free to move along z at a point, and no other way."""
    x, y, z = at
    terms = f"stiffness: {strut}, allow: 1 GN"
    return [
        support("strut", "g1", (x, y, z), (1, 0, 0), terms),
        support("strut", "g2", (x, y, z), (0, 1, 0), terms),
        support("strut", "g3", (x, y, z + 1), (1, 0, 0), terms),
        support("strut", "g4", (x, y, z + 1), (0, 1, 0), terms),
        support("strut", "g5", (x + 1, y, z), (0, 1, 0), terms),
    ]


def printed(tmp_path: Path, text: str, command: str, *words: str) -> tuple[int, str]:
    """Exit code of a command on a file of this text, and its output."""
    path = tmp_path / "case.yaml"
    path.write_text(text)
    result = CliRunner().invoke(main, [command, str(path), *words])
    return result.exit_code, result.output


def on_one_line(tmp_path: Path, text: str, command: str, *words: str) -> tuple[int, str]:
    """The same with the output on one line."""
    code, output = printed(tmp_path, text, command, *words)
    return code, " ".join(output.split())
