"""Facts from standards and handbooks, each with its origin and how far it is confirmed."""

from anchorsize.reference.coefficients import (
    Coefficient,
    Scatter,
    loss_coefficient,
    scatter,
)
from anchorsize.reference.fasteners import (
    BoltClass,
    Thread,
    coarse_sizes,
    property_class,
    thread,
    wrench_spacing,
)
from anchorsize.reference.flanges import (
    FLANGE_STANDARDS,
    RING_ROUNDING,
    FlangeDrilling,
    FlangeRating,
    GasketRing,
    flange,
    flange_rating,
    flanges_for_bore,
    gasket_ring,
    is_rated,
)
from anchorsize.reference.media import (
    USUAL_TEMPERATURE,
    FluidRow,
    HangerRod,
    SoilBearing,
    fluid,
    hanger_rod,
    known_alike,
    presumptive_bearing,
)
from anchorsize.reference.nuts import NutFlats, nut_flats
from anchorsize.reference.tables import NotInTable, Table, UnknownTable, load, table_names

__all__ = [
    "FLANGE_STANDARDS",
    "RING_ROUNDING",
    "USUAL_TEMPERATURE",
    "BoltClass",
    "Coefficient",
    "FlangeDrilling",
    "FlangeRating",
    "FluidRow",
    "GasketRing",
    "HangerRod",
    "NotInTable",
    "NutFlats",
    "Scatter",
    "SoilBearing",
    "Table",
    "Thread",
    "UnknownTable",
    "coarse_sizes",
    "flange",
    "flange_rating",
    "flanges_for_bore",
    "fluid",
    "gasket_ring",
    "hanger_rod",
    "is_rated",
    "known_alike",
    "load",
    "loss_coefficient",
    "nut_flats",
    "presumptive_bearing",
    "property_class",
    "scatter",
    "table_names",
    "thread",
    "wrench_spacing",
]
