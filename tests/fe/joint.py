"""The joints of the study and their loads. Every number is invented for this study. Millimeters, newtons, megapascals."""

from __future__ import annotations

import math
from dataclasses import dataclass

STEEL = 205_000.0
"""Young's modulus of flange and bolts [MPa]."""

POISSON = 0.3

PRELOAD = 80_000.0
"""Tension of each bolt after tightening [N], under half of an M20 bolt's proof load in class 8.8."""

STRESS_AREA = 245.0
"""Of an M20 bolt [mm²]."""

BOLT = 20.0
"""Nominal diameter [mm]."""

GASKET_THICKNESS = 2.0
"""Length between the faces [mm], which enters the grip of the bolts only."""


@dataclass(frozen=True)
class Shape:
    """Radii of one flange [mm], its number of bolts, and its hub and stub of pipe."""

    bolts: int
    bore: float
    pipe: float
    hub: float
    gasket_in: float
    gasket_out: float
    circle: float
    edge: float
    hole: float = 11.0
    bearing: float = 15.0
    patch: float = 18.5
    hub_height: float = 30.0
    stub: float = 90.0


SHAPES = {
    8: Shape(bolts=8, bore=75, pipe=83, hub=91, gasket_in=82, gasket_out=98, circle=120, edge=142.5),
    12: Shape(bolts=12, bore=125, pipe=135, hub=144, gasket_in=134, gasket_out=152, circle=175, edge=200),
}
"""Under bore 150 mm, 8 bolts; under bore 250 mm, 12 bolts. ``patch`` is half the side of the meshed square at a bolt."""

GASKETS = {"soft": 250.0, "stiff": 2500.0}
"""Modulus over thickness [MPa/mm]."""

THICKNESS_RATIOS = (0.6, 0.8, 1.0, 1.25, 1.5, 2.0, 3.0)
"""Flange thickness over bolt diameter."""

LOADS = {"axial": (0.4, 0.0), "moment": (0.0, 0.6), "both": (0.4, 0.6), "opening": (0.6, 1.2)}
"""Axial force over the sum of the preloads, and moment as 4M/(nDF), the share of the preload in the outermost bolt."""


@dataclass(frozen=True)
class Joint:
    """A pair of like flanges, with the stiffness of its bolts and gasket."""

    shape: Shape
    gasket: float
    ratio: float
    modulus: float = STEEL

    @property
    def thickness(self) -> float:
        return self.ratio * BOLT

    @property
    def bolt_stiffness(self) -> float:
        """EA/l [N/mm] over both flanges, the gasket, and half a diameter in head and nut each."""
        return STEEL * STRESS_AREA / (2.0 * self.thickness + GASKET_THICKNESS + BOLT)

    def loads(self, case: str) -> tuple[float, float]:
        """Return axial force [N] and moment [N·mm]."""
        axial, bending = LOADS[case]
        total = self.shape.bolts * PRELOAD
        return axial * total, bending * total * self.shape.circle / 2.0

    def bolt_angles(self) -> list[float]:
        """Return the angles of all bolts [rad]; the plane of bending runs midway between two."""
        n = self.shape.bolts
        return [(2 * i + 1) * math.pi / n for i in range(n)]
