"""The fitting of a study: its fluid, mass and openings, and what pulls at it from outside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from anchorsize.study.values import Array, Number

FITTING_WEIGHT, CONTENTS_WEIGHT, FLOW_CHANGE = "fitting weight", "contents weight", "flow change"
"""Names of loads that no opening and nobody outside brings."""


@dataclass(frozen=True)
class Fluid:
    """The fluid that fills the fitting: density [kg/m³], temperature [K]; the rest where known."""

    name: str
    density: Number
    temperature: Number | None = None
    viscosity: Number | None = None  # dynamic [Pa·s]
    bulk_modulus: Number | None = None  # [Pa]
    vapor_pressure: Number | None = None  # absolute [Pa]


@dataclass(frozen=True)
class ExtraMass:
    """A mass [kg] at a center [m] that hangs on the fitting beside its own, such as its flanges."""

    name: str
    mass: Number
    center: Array


@dataclass(frozen=True)
class PipeBend:
    """A bend of a shape: the pieces of its centerline from number ``first`` up to, and without, number ``end``, counted from 0.

    ``radius`` (...) [m] of its arc, ``wall`` (...) [m] where that is least, None where none is given; ``cuts`` miters, none of a
    smooth one, each of which turns by twice ``tilt`` (...) [rad].
    """

    first: int
    end: int
    radius: Number
    wall: Number | None
    cuts: int = 0
    tilt: Number | None = None


@dataclass(frozen=True)
class Fitting:
    """Mass [kg] and contents volume [m³] with their centers [m]; ``None`` where the user gave nothing.

    ``bare_wall`` is True where the mass is that of the wall of a shape. ``centerline`` (..., n, 2, 3) [m] are the straight pieces,
    start and end of each, of the centerline of a shape, its bends cut into chords; None where the fitting has no shape.
    ``widths`` (..., n, 2) [m] are the outside diameters at both ends of those pieces, the bores where no wall is given; ``bends`` say
    which of them are bends.
    """

    mass: Number | None = None
    mass_center: Array | None = None
    contents: Number | None = None
    contents_center: Array | None = None
    built_from: tuple[str, ...] = ()  # one readable line per shape the fitting was built from
    extra_masses: tuple[ExtraMass, ...] = ()
    bare_wall: bool = False
    centerline: Array | None = None
    widths: Array | None = None
    bends: tuple[PipeBend, ...] = ()

    @property
    def empty_mass(self) -> Number | None:
        """Mass of the fitting and what hangs on it, without contents [kg]; None where its own is not given."""
        if self.mass is None:
            return None
        return self.mass + sum((np.asarray(each.mass) for each in self.extra_masses), np.asarray(0.0))


@dataclass(frozen=True)
class Opening:
    """A place where fluid crosses the control surface: center [m], outward unit normal, area [m²].

    ``path_moment`` (..., 3) [m²] is ∫ r × dr along the centerline from the first opening, None where it is not known.
    ``effective_area`` [m²] is what the pressure pushes on where a line goes on through a bellows or a sliding coupling; None where
    it is not given, and the bore stands in for it.
    """

    name: str
    center: Array
    outward: Array
    area: Number
    path_moment: Array | None = None
    effective_area: Number | None = None

    @property
    def pressed_area(self) -> Number:
        """Area that the pressure pushes on where the line goes on [m²]."""
        return self.area if self.effective_area is None else self.effective_area


@dataclass(frozen=True)
class External:
    """A load on the fitting from outside: force [N] and moment [N·m] at a point [m]; in every case, or in ``cases``."""

    name: str
    force: Array
    moment: Array
    at: Array
    cases: tuple[str, ...] | None = None

    def acts_in(self, case: str) -> bool:
        """Whether it acts in that operating case."""
        return self.cases is None or case in self.cases
