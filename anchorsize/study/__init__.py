"""What a study is: one fitting, its openings, joints, loads and operating cases, in SI units.

Plain frozen dataclasses. No parsing and no physics here: the case file builds a :class:`Study`,
:mod:`anchorsize.assessment` judges it.

Shapes. A numeric field is a float or an array of the study's *batch shape* ``(...)``: a sweep, a list of candidate
bolts or a million samples are the same study with arrays where one number stood. Vectors carry a last axis of 3,
bolt fields a last axis of the bolt count. Units are SI (m, m², m³, m³/s, kg, kg/s, N, N·m, Pa, K, rad) and
pressures are gauge unless a name says otherwise. Frames and signs: DEVELOPERS.md, "Frames and signs".
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from anchorsize.study.case import Case, Exit, GasDischarge, Losses, OpeningState, Surge, SurgePipe
from anchorsize.study.fitting import (
    CONTENTS_WEIGHT,
    FITTING_WEIGHT,
    FLOW_CHANGE,
    External,
    ExtraMass,
    Fitting,
    Fluid,
    Opening,
    PipeBend,
)
from anchorsize.study.joint import (
    LOOSE,
    Allowable,
    Allowables,
    BoltPattern,
    Condition,
    Flange,
    Gasket,
    Joint,
    JointStiffness,
    Members,
    PipeBehind,
    Sizing,
    Tightening,
)
from anchorsize.study.support import (
    STEEP,
    BasePlate,
    Block,
    PlateAnchor,
    PostSection,
    Support,
    SupportAllow,
    SupportKind,
)
from anchorsize.study.values import STANDARD_AMBIENT, Array, Number, Provenance

__all__ = [
    "CONTENTS_WEIGHT",
    "FITTING_WEIGHT",
    "FLOW_CHANGE",
    "LOOSE",
    "STANDARD_AMBIENT",
    "STEEP",
    "Allowable",
    "Allowables",
    "Array",
    "BasePlate",
    "Block",
    "BoltPattern",
    "Case",
    "Condition",
    "Exit",
    "External",
    "ExtraMass",
    "Fitting",
    "Flange",
    "Fluid",
    "GasDischarge",
    "Gasket",
    "Joint",
    "JointStiffness",
    "Losses",
    "Members",
    "Number",
    "Opening",
    "OpeningState",
    "PipeBehind",
    "PipeBend",
    "PlateAnchor",
    "PostSection",
    "Provenance",
    "Sizing",
    "Study",
    "Support",
    "SupportAllow",
    "SupportKind",
    "Surge",
    "SurgePipe",
    "Tightening",
]


@dataclass(frozen=True)
class Study:
    """Everything that is judged together. ``path`` is the case file as the user named it, for messages."""

    title: str
    units: Literal["metric", "us"]
    up: Array
    fluid: Fluid
    fitting: Fitting
    openings: dict[str, Opening]
    joints: dict[str, Joint]
    external: tuple[External, ...]
    allow: Allowables
    cases: dict[str, Case]
    supports: dict[str, tuple[Support, ...]] = field(default_factory=dict)  # by option, in the order of the file
    ambient: Number | None = None  # absolute [Pa]
    sizing: Sizing | None = None  # of every joint that says nothing else
    path: str = ""
    provenance: tuple[Provenance, ...] = ()
    notes: tuple[str, ...] = ()  # what the reader took for granted, to be shown among the assumptions
    remarks: tuple[str, ...] = ()  # the user's own notes, each led by where it stands
    spread: tuple[str, ...] = ()  # key paths of the quantities given with ±, which only a scatter study counts

    @property
    def going_on(self) -> tuple[str, ...]:
        """The openings at which no joint stands and behind which the line goes on in some case."""
        jointed = {joint.at for joint in self.joints.values()}
        return tuple(
            name
            for name in self.openings
            if name not in jointed and any(case.states[name].exit == "connected" for case in self.cases.values())
        )

    @property
    def pressed_on_bore(self) -> tuple[str, ...]:
        """Those of them whose line has no effective area of its own, so that pressure is taken on the bore."""
        return tuple(name for name in self.going_on if self.openings[name].effective_area is None)
