"""Fluids, pipe materials, losses, faces, soils and hangers from the tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from anchorsize.reference.tables import (
    Bracket,
    Row,
    Table,
    as_number,
    bracket,
    celsius,
    figure,
    figure_or_none,
    find,
    inches,
    load,
    not_in_table,
    plain,
    require_listed,
    worst,
)
from anchorsize.study import Array, Number, Provenance

GPA = 1e9
KPA = 1e3
WATER = "water"
USUAL_TEMPERATURE = 288.15
"""Temperature [K] at which a fluid is looked up where the user gives none."""


@dataclass(frozen=True)
class FluidRow:
    """A fluid at a temperature (...) [K]: density [kg/m³], dynamic viscosity [Pa·s], bulk modulus [Pa], vapor pressure [Pa].

    What the tables do not know at that temperature is ``None``; the vapor pressure is absolute. ``status`` gives the
    status of each value by its name; the provenance carries the worst of them.
    """

    name: str
    temperature: Number
    density: Number
    viscosity: Number | None
    bulk_modulus: Number | None
    vapor_pressure: Number | None
    status: dict[str, str]
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


def fluid(name: str, temperature: Number) -> FluidRow:
    """A fluid ('water', 'sea water', 'ethylene glycol 30 %', 'diesel', 'air' at 1 atm) at a temperature (...) [K].

    Linear interpolation between the listed temperatures; the vapor pressure of water by its logarithm. Glycols by share
    of mass. Sources: IAPWS-IF97 for water, others by row. Raises :class:`NotInTable`, also where a temperature is outside
    those listed.
    """
    listed = _listed_fluid(name)
    table, rows = listed.table, listed.rows
    place = bracket(listed.celsius, celsius(temperature))
    require_listed(listed.name, place, rows[0]["temperature_degC"], rows[-1]["temperature_degC"], temperature)
    used = [rows[each] for each in place.used]
    values = {key: _between(place, column) for key, column in listed.properties.items()}
    status = {"density": worst(table.status(row, "density_kg_m3") for row in used)}
    status |= {
        key: worst(table.status(row, column) for row in used if row[column])
        for key, (column, _) in _PROPERTIES.items()
        if values[key] is not None
    }
    vapor = _vapor_pressure(temperature) if listed.name == WATER else None
    if vapor is not None:
        status["vapor_pressure"] = "computed"
    label = f"{listed.name}, {used[0]['temperature_degC']} to {used[-1]['temperature_degC']} °C"
    source = f"{table.source_of(used[0])}; linear between temperatures"
    origin = Provenance(f"properties of {listed.name}", table.name, label, source, worst(status.values()))
    density = as_number(place.between(listed.density))
    return FluidRow(
        listed.name, temperature, density, values["viscosity"], values["bulk_modulus"], vapor, status, origin
    )


def known_alike(name: str, temperature: Array) -> NDArray[np.int64]:
    """A number for each temperature (m,) [K], the same where the tables know the same properties of a fluid.

    Temperatures of one number can be looked up together without one of them losing what it has alone. Raises
    :class:`NotInTable` for the name; temperatures outside those listed have a number of their own.
    """
    listed = _listed_fluid(name)
    place = bracket(listed.celsius, celsius(temperature))
    told = [place.inside, *(~np.isnan(place.between(column)) for column in listed.properties.values())]
    if listed.name == WATER:
        told.append(bracket(_vapor()[0], celsius(temperature)).inside)
    return np.asarray(np.sum([np.where(each, 2**bit, 0) for bit, each in enumerate(told)], axis=0), dtype=np.int64)


_PROPERTIES = {"viscosity": ("viscosity_Pa_s", 1.0), "bulk_modulus": ("bulk_modulus_GPa", GPA)}  # column and its unit


@dataclass(frozen=True)
class _Listed:
    """What a table lists of a fluid: temperatures (k,) [°C], density (k,), properties (k,) in SI with NaN for blanks."""

    name: str
    table: Table
    rows: tuple[Row, ...]
    celsius: Array
    density: Array
    properties: dict[str, Array]


@lru_cache(maxsize=64)
def _listed_fluid(name: str) -> _Listed:
    table, rows = _fluid_rows(name)
    properties = {key: _column(rows, column, scale) for key, (column, scale) in _PROPERTIES.items()}
    temperature, density = _column(rows, "temperature_degC"), _column(rows, "density_kg_m3")
    return _Listed(_fluid_name(rows[0]), table, rows, temperature, density, properties)


def _fluid_rows(name: str) -> tuple[Table, tuple[Row, ...]]:
    if plain(name) == WATER:
        table = load("water")  # finer than the water rows of the fluids table
        return table, table.rows
    table = load("fluids")
    bare = name.casefold().replace("percent", "%").replace("by mass", "").replace("mass", "")
    return table, find(table, _fluid_name, bare, "fluid")


def _fluid_name(row: Row) -> str:
    return row.get("fluid", "water")


def _column(rows: Sequence[Row], name: str, scale: float = 1.0) -> Array:
    """A column (k,) in SI, NaN where it is blank."""
    return np.array([float(row[name]) * scale if row.get(name) else np.nan for row in rows])


def _between(place: Bracket, listed: Array) -> Number | None:
    """A property (...) at some temperatures; None where it is not known at all of them."""
    values = place.between(listed)
    return None if np.any(np.isnan(values)) else as_number(values)


@lru_cache(maxsize=1)
def _vapor() -> tuple[Array, Array]:
    """Temperatures [°C] at which the vapor pressure of water is listed, and its logarithm."""
    rows = load("water_saturation").rows
    return _column(rows, "temperature_degC"), np.log(_column(rows, "vapor_pressure_Pa"))


def vapor_pressure(name: str, temperature: Number) -> tuple[Number, Provenance] | None:
    """Absolute vapor pressure (...) [Pa] of water at a temperature (...) [K], and its origin (IAPWS-IF97, region 4).

    Listed farther up than the density of water under the air's pressure. None for any other fluid, and outside what is listed.
    """
    vapor = _vapor_pressure(temperature) if plain(name) == WATER else None
    if vapor is None:
        return None
    table = load("water_saturation")
    points, celsius_of = _vapor()[0], celsius(temperature)
    used = [table.rows[each] for each in bracket(points, celsius_of).used]
    label = f"water, {used[0]['temperature_degC']} to {used[-1]['temperature_degC']} °C"
    source = f"{table.source_of(used[0])}; linear in the logarithm between temperatures"
    status = worst(table.status(row, "vapor_pressure_Pa") for row in used)
    return vapor, Provenance("vapor pressure of water", table.name, label, source, status)


def _vapor_pressure(temperature: Number) -> Number | None:
    points, logarithm = _vapor()
    place = bracket(points, celsius(temperature))
    return as_number(np.exp(place.between(logarithm))) if np.all(place.inside) else None


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
