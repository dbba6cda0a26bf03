"""The kinds of quantity that anchorsize knows: their name, their SI unit and the units they are shown in.

One row per kind. Displayed units are fixed by kind and unit system, so that two reports can be compared line by line;
a second unit with a threshold (in SI) takes over for large values in sentences, never in table columns.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

System: TypeAlias = Literal["metric", "us"]


@dataclass(frozen=True)
class Kind:
    """One kind of quantity.

    ``si`` is the unit that values are kept in; ``usual`` are units to offer in messages; ``metric`` and ``us`` are the
    displayed units, each with the SI value from which it is used.
    """

    name: str
    noun: str
    si: str
    usual: tuple[str, ...]
    metric: tuple[tuple[float, str], ...]
    us: tuple[tuple[float, str], ...]


def _display(text: str) -> tuple[tuple[float, str], ...]:
    """Read ``'kPa 1e6:MPa'`` as kPa from zero and MPa from 1e6 on."""
    steps = []
    for step in text.split():
        threshold, _, unit = step.rpartition(":")
        steps.append((float(threshold or 0.0), unit))
    return tuple(steps)


# name | noun | SI | usual units | metric | us
_ROWS = """
length               | a length               | m       | mm cm m in ft         | mm 10:m            | in 10:ft
head                 | a head                 | m       | m ft                  | m                  | ft
area                 | an area                | m²      | mm² cm² m² in²        | mm² 0.1:m²         | in²
volume               | a volume               | m³      | L m³ cm³ gal ft³      | L 10:m³            | gal
mass                 | a mass                 | kg      | kg g t lb             | kg                 | lb
density              | a density              | kg/m³   | kg/m³ g/cm³ lb/ft³    | kg/m³              | lb/ft³
pressure             | a pressure             | Pa      | kPa MPa bar psi       | kPa 2e6:MPa        | psi
absolute_pressure    | an absolute pressure   | Pa      | kPa MPa bar psi       | kPa 2e6:MPa        | psi
stress               | a stress               | Pa      | MPa kPa GPa psi ksi   | MPa                | psi
modulus              | a modulus              | Pa      | GPa MPa ksi psi       | GPa                | ksi
force                | a force                | N       | N kN lbf kip kgf      | N 1e4:kN           | lbf
moment               | a moment               | N·m     | N·m kN·m ft·lbf       | N·m 1e5:kN·m       | ft·lbf
flow                 | a flow                 | m³/s    | L/s m³/h gal/min      | L/s                | gal/min
flow_change          | a rate of flow change  | m³/s²   | L/s² m³/s² gal/min/s  | L/s²               | gal/min/s
mass_flow            | a mass flow            | kg/s    | kg/s kg/h t/h lb/h    | kg/s               | lb/s
velocity             | a velocity             | m/s     | m/s ft/s              | m/s                | ft/s
angle                | an angle               | rad     | deg rad               | °                  | °
stiffness            | a stiffness            | N/m     | kN/mm MN/m lbf/in     | kN/mm              | lbf/in
rotational_stiffness | a rotational stiffness | N·m/rad | kN·m/rad ft·lbf/deg   | kN·m/rad           | ft·lbf/rad
subgrade_modulus     | a pressure per settlement | Pa/m | MN/m³ kPa/mm lbf/in³ | MN/m³              | lbf/in³
temperature          | a temperature          | K       | degC degF K           | °C                 | °F
temperature_change   | a change of temperature| K       | K degC degF           | K                  | °F
time                 | a time                 | s       | s ms min h            | s                  | s
viscosity            | a dynamic viscosity    | Pa·s    | mPa·s Pa·s cP         | mPa·s              | cP
second_moment        | a second moment of area| m⁴      | mm⁴ cm⁴ in⁴           | cm⁴                | in⁴
molar_mass           | a molar mass           | kg/mol  | g/mol kg/mol          | g/mol              | g/mol
share                | a share                | 1       | %                     | %                  | %
number               | a number               | 1       |                       | 1                  | 1
"""


def _kinds() -> dict[str, Kind]:
    table = {}
    for row in _ROWS.strip().splitlines():
        name, noun, si, usual, metric, us = (cell.strip() for cell in row.split("|"))
        table[name] = Kind(name, noun, si, tuple(usual.split()), _display(metric), _display(us))
    return table


KINDS: dict[str, Kind] = _kinds()
