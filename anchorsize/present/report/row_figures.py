"""The figures of a row of a reference table that a study took values from, looked up again and shown in its units."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TypeAlias

from anchorsize.reference import (
    USUAL_TEMPERATURE,
    NotInTable,
    flange,
    flange_rating,
    fluid,
    hanger_rod,
    hot_share,
    loss_coefficient,
    presumptive_bearing,
    property_class,
    scatter,
    thread,
    vapor_pressure,
    wrench_spacing,
)
from anchorsize.study import Number, Provenance, Study
from anchorsize.units import System, show

Named: TypeAlias = tuple[str, Number | None, str]  # name, SI value, kind of quantity
Found: TypeAlias = tuple[Provenance, list[Named]]


def row_figures(row: Provenance, study: Study, system: System) -> str:
    """The figures of a row in words, '-' where the row itself cannot be found again.

    What is found again counts only if its origin is that of ``row`` in every word, so that no other row's figures are shown.
    """
    try:
        for origin, figures in READERS.get(row.table, _nothing)(row, study):
            if origin == row:
                return ", ".join(
                    f"{name} {show(float(value), kind, system)}" for name, value, kind in figures if value is not None
                )
    except NotInTable:
        pass
    return "-"


def _nothing(row: Provenance, study: Study) -> Iterable[Found]:
    _ = row, study
    return ()


def _thread(row: Provenance, study: Study) -> Iterator[Found]:
    _ = study
    found = thread(row.row)
    yield (
        found.provenance,
        [
            ("diameter", found.diameter, "length"),
            ("pitch", found.pitch, "length"),
            ("stress area", found.tensile_area, "area"),
            ("root area", found.root_area, "area"),
        ],
    )


def _strength(row: Provenance, study: Study) -> Iterator[Found]:
    """The strengths of a class by the diameters of the bolts of that class."""
    grade = row.row.rpartition(", ")[0]
    for diameter in dict.fromkeys(float(each) for joint in study.joints.values() for each in joint.bolts.diameter):
        try:
            found = property_class(grade, diameter)
        except NotInTable:  # bolts of another class, of a size that this one has not
            continue
        yield (
            found.provenance,
            [
                ("tensile", found.tensile, "stress"),
                ("yield", found.yield_strength, "stress"),
                ("proof", found.proof, "stress"),
            ],
        )


def _hot(row: Provenance, study: Study) -> Iterator[Found]:
    _ = row
    given = study.fluid.temperature
    for grade in dict.fromkeys(joint.bolts.property_class for joint in study.joints.values()):
        found = None if given is None or grade is None else hot_share(grade, float(given))
        if found is not None:
            yield found.provenance, [("at", given, "temperature"), ("yield left", found.share, "share")]


def _fluid(row: Provenance, study: Study) -> Iterator[Found]:
    _ = row
    given = study.fluid.temperature
    found = fluid(study.fluid.name, USUAL_TEMPERATURE if given is None else float(given))
    yield (
        found.provenance,
        [
            ("at", found.temperature, "temperature"),
            ("density", found.density, "density"),
            ("viscosity", found.viscosity, "viscosity"),
            ("bulk modulus", found.bulk_modulus, "modulus"),
            ("vapor pressure", found.vapor_pressure, "absolute_pressure"),
        ],
    )


def _vapor(row: Provenance, study: Study) -> Iterator[Found]:
    _ = row
    given = study.fluid.temperature
    found = None if given is None else vapor_pressure(study.fluid.name, float(given))
    if found is not None:
        yield found[1], [("at", given, "temperature"), ("vapor pressure", found[0], "absolute_pressure")]


def _flange(row: Provenance, study: Study) -> Iterator[Found]:
    _ = study
    found = flange(row.row)
    yield (
        found.provenance,
        [
            ("outside", found.outside, "length"),
            ("bolt circle", found.bolt_circle, "length"),
            (f"{found.bolt} bolts", float(found.count), "number"),
            ("hole", found.hole, "length"),
            ("raised face", found.raised_face, "length"),
            ("thickness", found.thickness, "length"),
        ],
    )


def _rating(row: Provenance, study: Study) -> Iterator[Found]:
    _ = row
    given = study.fluid.temperature
    for joint in study.joints.values():
        if given is not None and joint.flange.designation is not None:
            found = flange_rating(joint.flange.designation, float(given))
            yield found.provenance, [("rating", found.pressure, "pressure")]


def _scatter(row: Provenance, study: Study) -> Iterator[Found]:
    _ = study
    found = scatter(row.row)
    yield found.provenance, [("from", found.low, "share"), ("to", found.high, "share")]


def _loss(row: Provenance, study: Study) -> Iterator[Found]:
    _ = study
    group, _, item = row.row.partition(", ")
    found = loss_coefficient(group, item)
    yield (
        found.provenance,
        [("K", found.typical, "number"), ("from", found.low, "number"), ("to", found.high, "number")],
    )


def _rod(row: Provenance, study: Study) -> Iterator[Found]:
    _ = study
    size, _, series = row.row.partition(", ")
    found = hanger_rod(size, series)
    yield found.provenance, [("load", found.load, "force"), ("root area", found.root_area, "area")]


def _soil(row: Provenance, study: Study) -> Iterator[Found]:
    _ = study
    for found in presumptive_bearing(row.row.rpartition(": ")[2]):
        yield found.provenance, [("bearing", found.bearing, "pressure"), ("cover", found.cover, "length")]


def _spacing(row: Provenance, study: Study) -> Iterator[Found]:
    _ = row
    for diameter in dict.fromkeys(float(each) for joint in study.joints.values() for each in joint.bolts.diameter):
        spacing, origin = wrench_spacing(diameter)
        yield origin, [("spacing", spacing, "length")]


READERS: dict[str, Callable[[Provenance, Study], Iterable[Found]]] = {
    "threads_metric": _thread,
    "threads_inch": _thread,
    "property_classes": _strength,
    "bolt_strength_hot": _hot,
    "water": _fluid,
    "fluids": _fluid,
    "water_saturation": _vapor,
    "flange_b16_5": _flange,
    "flange_en1092_1": _flange,
    "flange_awwa_c207": _flange,
    "flange_ratings": _rating,
    "tightening_scatter": _scatter,
    "loss_coefficients": _loss,
    "hanger_rod_loads": _rod,
    "soil_bearing": _soil,
    "wrench_spacing": _spacing,
}
