"""Fluids, pipe materials, losses, faces, soils and hangers from the tables."""

from __future__ import annotations

import math
from dataclasses import dataclass

from anchorsize.reference.tables import (
    INCH,
    ZERO_CELSIUS,
    NotInTable,
    Row,
    Table,
    bracket,
    figure,
    figure_or_none,
    find,
    inches,
    load,
    not_in_table,
    plain,
    worst,
)
from anchorsize.study import Provenance

GPA = 1e9
KPA = 1e3


@dataclass(frozen=True)
class FluidRow:
    """A fluid at one temperature [K]: density [kg/m³], dynamic viscosity [Pa·s], bulk modulus [Pa], vapor pressure [Pa].

    What the tables do not know at that temperature is ``None``; the vapor pressure is absolute. ``status`` gives the
    status of each value by its name; the provenance carries the worst of them.
    """

    name: str
    temperature: float
    density: float
    viscosity: float | None
    bulk_modulus: float | None
    vapor_pressure: float | None
    status: dict[str, str]
    provenance: Provenance


@dataclass(frozen=True)
class WaveSpeedMaterial:
    """Elastic modulus [Pa] and Poisson's ratio [-] of a pipe material, with the range of the modulus."""

    name: str
    modulus: float
    modulus_low: float
    modulus_high: float
    poisson: float
    provenance: Provenance


@dataclass(frozen=True)
class SoilBearing:
    """Horizontal bearing pressure [Pa] a guide allows for a soil; ``cover`` [m] where the guide states it."""

    soil: str
    guide: str
    bearing: float
    cover: float | None
    provenance: Provenance


@dataclass(frozen=True)
class HangerRod:
    """Load [N] and root area [m²] of one threaded hanger rod."""

    size: str
    series: str
    load: float
    root_area: float
    provenance: Provenance


def fluid(name: str, temperature: float) -> FluidRow:
    """A fluid ('water', 'sea water', 'ethylene glycol 30 %', 'diesel', 'air' at 1 atm) at a temperature [K].

    Linear interpolation between the listed temperatures; the vapor pressure of water by its logarithm. Glycols by share
    of mass. Sources: IAPWS-IF97 for water, others by row. Raises :class:`NotInTable`, also outside the temperatures listed.
    """
    table, rows = _fluid_rows(name)
    known = _fluid_name(rows[0])
    place = bracket([figure(row, "temperature_degC") for row in rows], round(temperature - ZERO_CELSIUS, 6))
    if place is None:
        first, last = rows[0]["temperature_degC"], rows[-1]["temperature_degC"]
        raise NotInTable(f"{known} is listed from {first} to {last} °C, not at {temperature - ZERO_CELSIUS:g} °C")
    columns = {
        "viscosity": ("viscosity_Pa_s", 1.0),
        "bulk_modulus": ("bulk_modulus_GPa", GPA),
    }
    pair = (rows[place[0]], rows[place[1]])
    share = place[2]
    density = (1 - share) * figure(pair[0], "density_kg_m3") + share * figure(pair[1], "density_kg_m3")
    values = {key: _between(pair, column, scale, share) for key, (column, scale) in columns.items()}
    status = {"density": worst(table.status(row, "density_kg_m3") for row in pair)}
    status |= {
        key: worst(table.status(row, column) for row in pair if row[column])
        for key, (column, _) in columns.items()
        if values[key] is not None
    }
    vapor = _vapor_pressure(temperature) if known == "water" else None
    if vapor is not None:
        status["vapor_pressure"] = "computed"
    label = f"{known}, {pair[0]['temperature_degC']} to {pair[1]['temperature_degC']} °C"
    source = f"{table.source_of(pair[0])}; linear between temperatures"
    origin = Provenance(f"properties of {known}", table.name, label, source, worst(status.values()))
    return FluidRow(known, temperature, density, values["viscosity"], values["bulk_modulus"], vapor, status, origin)


def _fluid_rows(name: str) -> tuple[Table, tuple[Row, ...]]:
    if plain(name) == "water":
        table = load("water")  # finer than the water rows of the fluids table
        return table, table.rows
    table = load("fluids")
    bare = name.casefold().replace("percent", "%").replace("by mass", "").replace("mass", "")
    return table, find(table, _fluid_name, bare, "fluid")


def _fluid_name(row: Row) -> str:
    return row.get("fluid", "water")


def _between(pair: tuple[Row, Row], column: str, scale: float, share: float) -> float | None:
    first, second = (figure_or_none(row, column, scale) for row in pair)
    if share in (0.0, 1.0):
        return second if share else first
    return None if first is None or second is None else (1 - share) * first + share * second


def _vapor_pressure(temperature: float) -> float | None:
    rows = load("water_saturation").rows
    place = bracket([figure(row, "temperature_degC") for row in rows], round(temperature - ZERO_CELSIUS, 6))
    if place is None:
        return None
    first, second = (math.log(figure(rows[each], "vapor_pressure_Pa")) for each in place[:2])
    return math.exp((1 - place[2]) * first + place[2] * second)


def wave_speed_material(name: str) -> WaveSpeedMaterial:
    """Elastic properties of a pipe material near 20 °C, such as 'carbon steel'. Handbook values. Raises :class:`NotInTable`."""
    table = load("wave_speed_materials")
    row = find(table, lambda each: each["material"], name, "pipe material")[0]
    return WaveSpeedMaterial(
        name=row["material"],
        modulus=figure(row, "modulus_GPa", GPA),
        modulus_low=figure(row, "modulus_low_GPa", GPA),
        modulus_high=figure(row, "modulus_high_GPa", GPA),
        poisson=figure(row, "poisson"),
        provenance=table.provenance(
            f"elasticity of {row['material']}", row, row["material"], ("modulus_GPa", "poisson")
        ),
    )


def presumptive_bearing(soil: str) -> list[SoilBearing]:
    """What published guides presume of the horizontal bearing of a soil, such as 'sand': for orientation, never an allowable.

    The guides differ in cover and in the safety they hold, and contradict one another. Raises :class:`NotInTable`.
    """
    table = load("soil_bearing")
    return [
        SoilBearing(
            row["soil"],
            row["guide"],
            figure(row, "bearing_kPa", KPA),
            figure_or_none(row, "cover_m"),
            table.provenance(
                f"presumptive bearing of {row['soil']}", row, f"{row['guide']}: {row['soil']}", ["bearing_kPa"]
            ),
        )
        for row in find(table, lambda row: row["soil"], soil, "soil")
    ]


def hanger_rod(size: str, series: str = "older") -> HangerRod:
    """Load of a threaded hanger rod ('1/2 in', 'M12') by series: 'older' (9000 psi), 'later', or 'later, 399 degC'.

    Source: MSS SP-58; metric sizes by its stress on the root area. Raises :class:`NotInTable`.
    """
    table = load("hanger_rod_loads")
    for row in table.rows:
        same = plain(row["size"]) == plain(size) or (inches(size) is not None and inches(row["size"]) == inches(size))
        if same and plain(row["series"]) == plain(series):
            origin = table.provenance(
                f"hanger rod {row['size']}", row, f"{row['size']}, {series}", ["load_kN", "root_area_mm2"]
            )
            return HangerRod(
                row["size"], row["series"], figure(row, "load_kN", 1e3), figure(row, "root_area_mm2", 1e-6), origin
            )
    raise not_in_table(
        "hanger rod", f"{size}, {series}", table.name, (f"{row['size']}, {row['series']}" for row in table.rows)
    )


def hanger_rod_least(size: str) -> tuple[str, Provenance]:
    """The least rod of a single-rod hanger for a pipe size ('NPS 6'). Source: MSS SP-58. Raises :class:`NotInTable`."""
    table, row = _pipe_row("hanger_rod_least", size)
    return row["rod"], table.provenance("least hanger rod", row, f"NPS {row['nps']}", ["rod"])


def support_span(size: str, *, gas: bool = False) -> tuple[float, Provenance]:
    """The span [m] between supports of standard-weight steel pipe ('NPS 6') full of water, or of gas.

    Source: MSS SP-58 and SP-69, ASME B31.1 Table 121.5 (equal where both list a size). Raises :class:`NotInTable`.
    """
    table, row = _pipe_row("support_spans", size)
    column = "span_gas_ft" if gas else "span_water_ft"
    return figure(row, column, 12 * INCH), table.provenance("support span", row, f"NPS {row['nps']}", [column])


def _pipe_row(name: str, size: str) -> tuple[Table, Row]:
    table = load(name)
    wanted = inches(size.casefold().replace("nps", ""))
    # The last row of a size: the spans list the source with all sizes last.
    rows = [row for row in table.rows if wanted is not None and inches(row["nps"]) == wanted]
    if not rows:
        raise not_in_table("pipe", size, name, (f"NPS {row['nps']}" for row in table.rows))
    return table, rows[-1]
