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
    RING_ROUNDING,
    FlangeDrilling,
    FlangeRating,
    GasketRing,
    flange,
    flange_rating,
    flanges_for_bore,
    gasket_ring,
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
from anchorsize.reference.tables import NotInTable, Table, UnknownTable, load, table_names

__all__ = [
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
    "known_alike",
    "load",
    "loss_coefficient",
    "presumptive_bearing",
    "property_class",
    "scatter",
    "table_names",
    "thread",
    "wrench_spacing",
]
