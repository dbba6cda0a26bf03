"""A validated case file to a :class:`~anchorsize.study.Study`; every part that can be built is built and judged."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Literal, cast

import numpy as np
from numpy.typing import NDArray

from anchorsize.casefile.build_beyond import judge_connected, with_effective_areas
from anchorsize.casefile.build_case import build_case
from anchorsize.casefile.build_joint import build_allow, build_joint, with_wrench_room
from anchorsize.casefile.build_nozzle import judge_pressure_thrust
from anchorsize.casefile.build_reach import judge_reach
from anchorsize.casefile.build_shape import BuiltShape, build_shape
from anchorsize.casefile.build_sizing import build_sizing
from anchorsize.casefile.build_support import build_options
from anchorsize.casefile.building import Building
from anchorsize.casefile.format import CaseEntry, CaseFile, ExternalEntry, FittingEntry, FluidEntry, OpeningEntry
from anchorsize.casefile.leaves import whole
from anchorsize.casefile.quantities import Collector, si, vector
from anchorsize.casefile.reading import Branch
from anchorsize.reference import USUAL_TEMPERATURE, NotInTable, vapor_pressure
from anchorsize.reference import fluid as fluid_row
from anchorsize.study import (
    CONTENTS_WEIGHT,
    FITTING_WEIGHT,
    FLOW_CHANGE,
    Allowables,
    Array,
    Case,
    External,
    ExtraMass,
    Fitting,
    Fluid,
    Joint,
    Number,
    Opening,
    Study,
)

WATER = "water"
# What a fluid without a name is taken for, by its density [kg/m³]: common practice, no source.
WATER_OFF = 0.03  # greatest share off the density of water at the temperature given, where the table lists that
WATER_AT_NO_TEMPERATURE = (900.0, 1030.0)
WATER_OVER_THE_TABLE = (850.0, 1030.0)
GAS = 200.0  # up to here a gas, as assessment/hot.py has it
WATER_LISTED = (273.15, 373.15)  # K, from the first to the last row of the table of water


def build(file: CaseFile, tree: Branch, collector: Collector, path: str) -> Study | None:
    """Build the study; return None where the collector holds problems, old or new."""
    building = Building(file, tree, collector)
    # Broken quantities are NaN: comparisons with them are false and must stay silent.
    with np.errstate(all="ignore"):
        up = np.array([0.0, 0.0, 1.0]) if file.up is None else building.unit_vector(("up",), file.up)
        building.remark((), file.note)
        building.remark((), file.notes)
        fluid = _fluid(building, file.fluid)
        entry = file.fitting or FittingEntry.model_construct()
        shape = None if entry.shape is None else build_shape(building, entry.shape)
        fitting, extra = _fitting(building, entry), _extra_masses(building, entry)
        openings = with_effective_areas(building, _openings(building, entry, shape))
        joints = _joints(building, openings, up)
        external = tuple(
            built
            for number, entry in enumerate(file.external, start=1)
            if entry is not None and (built := _external(building, number, entry, openings))
        )
        allow = _allow(building, joints)
        cases = _cases(building, openings, fluid)
        judge_connected(building, cases)
        supports = build_options(building, up)
        judge_reach(building, openings)
        judge_pressure_thrust(building)
    if collector.problems or fluid is None:
        return None
    return Study(
        title=file.title or path,
        units=cast(Literal["metric", "us"], file.units),
        up=up,
        fluid=fluid,
        fitting=replace(fitting if shape is None else shape.fitting, extra_masses=extra),
        openings=openings,
        joints=joints,
        external=external,
        allow=allow,
        cases=cases,
        supports=supports,
        ambient=si(file.ambient),
        sizing=None if file.sizing is None else build_sizing(file.sizing),
        path=path,
        provenance=tuple(building.provenance),
        notes=tuple(building.notes),
        remarks=tuple(building.remarks),
    )


def _fluid(building: Building, entry: FluidEntry) -> Fluid | None:
    """Return the fluid: the user's figures first, the tables for the rest."""
    building.remark(("fluid",), entry.note)
    temperature = USUAL_TEMPERATURE if entry.temperature is None else entry.temperature.si
    name = entry.name if "name" in entry.model_fields_set else _name_not_given(building, entry)
    try:
        row = None if np.any(np.isnan(temperature)) else fluid_row(name, temperature)
    except NotInTable as error:
        row = None
        if entry.density is None:
            hint = "or write its density"
            building.problem(("fluid", "name"), str(error), hint, "not_in_table", name)
            return None
    if row is not None:
        building.remember(row.provenance)
        if entry.temperature is None:
            building.granted(f"Temperature not given: properties of {row.name} at 15 °C.")
    density = entry.density.si if entry.density else (row.density if row else np.nan)
    vapor = si(entry.vapor_pressure)
    if vapor is None:
        vapor = _vapor_alone(building, entry, name) if row is None else row.vapor_pressure

    def pick(quantity: Number | None, table: Number | None) -> Number | None:
        return table if quantity is None else quantity

    return Fluid(
        name=name,
        density=density,
        temperature=si(entry.temperature),
        viscosity=pick(si(entry.viscosity), row.viscosity if row else None),
        bulk_modulus=pick(si(entry.bulk_modulus), row.bulk_modulus if row else None),
        vapor_pressure=vapor,
    )


def _name_not_given(building: Building, entry: FluidEntry) -> str:
    """What a fluid without a name is called: water where its density allows that, else by no name that a table lists."""
    if entry.density is None:
        building.granted("No fluid / name was given: taken as water.")
        return WATER
    density, temperature = entry.density.si, si(entry.temperature)
    if not np.any(unlike_water(density, temperature)):
        building.granted("No fluid / name was given: taken as water, by its density.")
        return WATER
    building.granted("No fluid / name was given, and its density is not that of water: no table is asked about it.")
    return "gas" if np.all(density <= GAS) else "liquid"


def unlike_water(density: Number, temperature: Number | None) -> NDArray[np.bool_]:
    """Whether a density [kg/m³] is not that of water at a temperature [K], None of neither given; broadcast over rows."""
    if temperature is None:
        least, most = (np.asarray(bound) for bound in WATER_AT_NO_TEMPERATURE)
        return np.asarray((density < least) | (density > most))
    kelvin = np.asarray(temperature)
    listed = np.asarray(fluid_row(WATER, np.clip(np.nan_to_num(kelvin), *WATER_LISTED)).density)
    over = kelvin > WATER_LISTED[1]
    least = np.where(over, WATER_OVER_THE_TABLE[0], (1.0 - WATER_OFF) * listed)
    most = np.where(over, WATER_OVER_THE_TABLE[1], (1.0 + WATER_OFF) * listed)
    # A quantity that could not be read is NaN and counts as water: what is wrong with it is told by itself.
    return np.asarray((kelvin < WATER_LISTED[0]) | (density < least) | (density > most))


def _vapor_alone(building: Building, entry: FluidEntry, name: str) -> Number | None:
    """The vapor pressure where the tables know no more of the fluid: water hotter than its density is listed."""
    if entry.temperature is None or np.any(np.isnan(entry.temperature.si)):
        return None
    found = vapor_pressure(name, entry.temperature.si)
    if found is None:
        return None
    building.remember(found[1])
    return found[0]


def _fitting(building: Building, entry: FittingEntry) -> Fitting:
    building.remark(("fitting",), entry.note)
    for amount, center in (("mass", "mass_center"), ("contents", "contents_center")):
        if amount == "contents" and entry.shape is not None:
            continue  # told with the shape
        given = getattr(entry, amount) is not None, getattr(entry, center) is not None
        if given == (True, False) and not (amount == "mass" and entry.shape is not None):
            building.missing(("fitting", center), f"{amount} acts somewhere: write [x, y, z m]")
        elif given == (False, True):
            building.missing(("fitting", amount), f"{center} is given without it")
    return Fitting(
        mass=si(entry.mass),
        mass_center=None if entry.mass_center is None else vector(entry.mass_center),
        contents=si(entry.contents),
        contents_center=None if entry.contents_center is None else vector(entry.contents_center),
    )


def _extra_masses(building: Building, entry: FittingEntry) -> tuple[ExtraMass, ...]:
    """The masses beside the fitting's own; each is a load of its own, which reports tell by its name."""
    taken = {"fitting": "the fitting's own weight", "contents": "the contents' weight"}
    taken |= {
        load.name.removesuffix(" weight"): "an outside load"
        for load in building.file.external
        if load is not None and load.name.endswith(" weight")
    }
    built = []
    for number, each in enumerate(entry.extra_masses, start=1):
        if each is None:
            continue
        path = ("fitting", "extra_masses", str(number))
        building.remark(path, each.note)
        if each.name in taken:
            hint = "reports tell the loads apart by their names"
            message = f"'{each.name} weight' is the name of {taken[each.name]} already"
            building.problem((*path, "name"), message, hint, "duplicate_key", each.name)
        taken[each.name] = "an extra mass"
        built.append(ExtraMass(each.name, each.mass.si, vector(each.center)))
    return tuple(built)


def _openings(building: Building, fitting: FittingEntry, shape: BuiltShape | None) -> dict[str, Opening]:
    """Return the openings of the shape and those written out."""
    openings = {} if shape is None else dict(shape.openings)
    if fitting.shape is None and not building.file.openings:
        building.problem(("openings",), "no opening at all", "a fitting has one at least", "missing_key")
    for name, entry in whole(building.file.openings):
        path = ("openings", name)
        if name in building.shape_openings:
            building.problem(path, f"the shape has an opening '{name}' already", "take it out, or name it otherwise")
        building.remark(path, entry.note)
        if name in CaseEntry.model_fields:
            building.problem(path, f"'{name}' is a key of a case", "give the opening another name")
        openings[name] = _opening(building, name, entry)
    return openings


def _opening(building: Building, name: str, entry: OpeningEntry) -> Opening:
    path = ("openings", name)
    if entry.bore is None and entry.area is None:
        building.missing((*path, "bore"), "write bore, or area where it is not round")
    if entry.bore is not None and entry.area is not None:
        building.at_quantity(entry.area, "a bore and an area at once", "write one of them")
    if entry.area is not None:
        area: Number = entry.area.si
    else:
        area = np.nan if entry.bore is None else np.pi / 4 * np.asarray(entry.bore.si) ** 2
    return Opening(name, vector(entry.center), building.unit_vector((*path, "outward"), entry.outward), area)


def _joints(building: Building, openings: dict[str, Opening], up: Array) -> dict[str, Joint]:
    joints = {}
    for name, entry in whole(building.file.joints):
        joint = build_joint(building, name, entry, openings, up)
        if joint is not None:
            joints[name] = joint
    seen: dict[str, str] = {}
    for name, entry in whole(building.file.joints):
        if entry.at in seen:
            building.problem(
                ("joints", name, "at"), f"joint '{seen[entry.at]}' is at '{entry.at}' already", "one joint each"
            )
        seen.setdefault(entry.at, name)
    return joints


def _external(
    building: Building, number: int, entry: ExternalEntry, openings: Mapping[str, Opening]
) -> External | None:
    path = ("external", str(number))
    building.remark(path, entry.note)
    if taken := _taken(building, number, entry, openings):
        hint = "reports tell the loads apart by their names"
        message = f"'{entry.name}' is the name of {taken} already"
        building.problem((*path, "name"), message, hint, "duplicate_key", entry.name)
    if entry.force is None and entry.moment is None:
        building.missing((*path, "force"), "write force, moment or both")
    force = np.zeros(3) if entry.force is None else vector(entry.force)
    moment = np.zeros(3) if entry.moment is None else vector(entry.moment)
    if entry.at is None and np.any(force != 0):
        building.missing((*path, "at"), "a force acts somewhere: write at: [x, y, z m]")
    for place, case in enumerate(entry.cases or [], start=1):
        if case not in building.file.cases:
            building.unknown((*path, "cases", str(place)), case, "case", list(building.file.cases))
    return External(
        name=entry.name,
        force=force,
        moment=moment,
        at=np.zeros(3) if entry.at is None else vector(entry.at),
        cases=None if entry.cases is None else tuple(entry.cases),
    )


def _taken(building: Building, number: int, entry: ExternalEntry, openings: Mapping[str, Opening]) -> str:
    """What has the name of an outside load in one of its cases already; nothing where it is free.

    Weights of extra masses are looked at where those are built.
    """
    own = {
        FITTING_WEIGHT: "the fitting's own weight",
        CONTENTS_WEIGHT: "the contents' weight",
        FLOW_CHANGE: "the force of a changing flow",
        "reaction": "what holds the fitting",
    }
    for opening in openings:
        own |= {f"{opening} {part}": f"a thrust of opening '{opening}'" for part in ("pressure", "momentum")}
    if entry.name in own:
        return own[entry.name]
    earlier = [each for each in building.file.external[: number - 1] if each is not None and each.name == entry.name]
    clashes = any(entry.cases is None or each.cases is None or set(entry.cases) & set(each.cases) for each in earlier)
    return "an outside load in the same case" if clashes else ""


def _allow(building: Building, joints: dict[str, Joint]) -> Allowables:
    """The allowables of the whole file; room for a wrench from the table goes to each joint, by its own bolts."""
    entry = building.file.allow
    if entry is None:
        return Allowables()
    if isinstance(entry.bolt_spacing_least, str):
        for name, joint in joints.items():
            joints[name] = with_wrench_room(building, joint)
    return build_allow(building, ("allow",), entry, None)


def _cases(building: Building, openings: dict[str, Opening], fluid: Fluid | None) -> dict[str, Case]:
    if not building.file.cases:
        building.problem(("cases",), "no operating case at all", "write at least one", "missing_key")
    cases = {name: build_case(building, name, entry, openings, fluid) for name, entry in whole(building.file.cases)}
    if not any(
        isinstance(state.beta, np.ndarray) or state.beta != 1
        for case in cases.values()
        for state in case.states.values()
    ):
        building.granted("Momentum-flux factor 1 (uniform velocity) at every opening.")
    return cases
