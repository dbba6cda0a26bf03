"""What an assessment holds: typed results in SI, each array with the study's batch axes first.

The machine output (DEVELOPERS.md, "Machine output") and the pandas frames are made from these; nothing is computed here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from anchorsize.study import Array, Exit, Number, Provenance, Study, Support

if TYPE_CHECKING:
    import pandas as pd

    from anchorsize.assessment.audit import EnergyAudit
    from anchorsize.assessment.clamping import Clamping, Service

Unit = Literal["Pa", "N", "Nm", "m", "m2", "1"]


IDLES = 1e-4
"""Share of the loads under which a support counts as idle in a case: common practice, no source."""


CANCELED = 1e-9
"""Share of what was added up under which a sum is the rounding of zero."""


class StudyError(ValueError):
    """The study can be read but not judged as it stands; the message says what to change."""


class NotReachedError(StudyError):
    """A state that is asked about cannot come about as the study says, so it is not judged; the message says why."""


class NotHeldError(StudyError):
    """Bolts that cannot balance the loads whatever their strength; the message says what is left over."""


def no_such(what: str, asked: str, known: Iterable[str]) -> StudyError:
    """The error that ``asked`` names no ``what`` of the file, with those that there are and the one it may be meant for."""
    names = list(known)
    lowered = {name.casefold().replace("-", " ").replace("_", " "): name for name in names}
    near = get_close_matches(asked.casefold().replace("-", " ").replace("_", " "), lowered, n=1, cutoff=0.6)
    meant = f"; did you mean '{lowered[near[0]]}'?" if near else ""
    return StudyError(f"no {what} '{asked}'; the file has {', '.join(names) or 'none'}{meant}")


@dataclass(frozen=True)
class OpeningResult:
    """One opening in one case: flow [m³/s] and mass flow [kg/s] positive out, velocity [m/s], pressure [Pa], thrust [N].

    The thrusts include the case's dynamic factor; they are zero at a capped opening.
    """

    exit: Exit
    flow: Number
    mass_flow: Number
    velocity: Number
    pressure: Number
    surge_rise: Number  # part of the pressure that a surge adds [Pa]
    pressure_thrust: Number
    momentum_thrust: Number
    density: Number

    @property
    def thrust(self) -> Number:
        """Pressure and momentum together [N]."""
        return self.pressure_thrust + self.momentum_thrust


@dataclass(frozen=True)
class Load:
    """A load on the fitting about the world origin: force (..., 3) [N], moment (..., 3) [N·m]; ``at`` (..., 3) [m] is where it
    enters, None where that is all along the fitting."""

    source: str
    force: Array
    moment: Array
    at: Array | None = None


def axial_demand(axial: Number, annulus: Number) -> Array:
    """What axial force and pressure annulus ask together (...) [N]; 0 where they cancel but for rounding."""
    total = np.asarray(axial + annulus)
    return np.where(np.abs(total) <= CANCELED * (np.abs(axial) + np.abs(annulus)), 0.0, total)


@dataclass(frozen=True)
class JointResult:
    """Actions on one joint and what each bolt gets. Bolt arrays are (..., n) in bolt-number order.

    ``axial`` [N] is without the pressure annulus; positive opens the joint. ``external_tension`` [N] balances axial plus
    annulus and the bending; it may be negative (the face is pressed there). Missing bolts hold zeros.
    """

    reaction_force: Array
    reaction_moment: Array
    axial: Number
    pressure_annulus: Number
    shear1: Number
    shear2: Number
    bending1: Number
    bending2: Number
    torsion: Number
    reaction_diameter: Number
    external_tension: Array
    bolt_shear: Array
    pressure: Number
    bore_area: Number
    clamping: Clamping | None = None
    service: Service | None = None

    @property
    def axial_demand(self) -> Array:
        """Axial demand with the pressure annulus [N]; positive opens the joint."""
        return axial_demand(self.axial, self.pressure_annulus)

    @property
    def shear(self) -> Array:
        """Magnitude of the shear on the joint [N]."""
        return np.hypot(self.shear1, self.shear2)

    @property
    def bending(self) -> Array:
        """Magnitude of the bending moment on the joint [N·m]."""
        return np.hypot(self.bending1, self.bending2)


@dataclass(frozen=True)
class SupportResult:
    """What one support does in one case.

    ``force`` (..., 3) [N] is on the fitting, friction included; ``push`` (...) [N] its part along ``toward`` and ``friction``
    (..., 3) [N] its part across. ``moment`` (..., 3) [N·m] about the support's point is an anchor's, else None. ``movement``
    (...) [m] is how far the fitting moves there along ``toward``, ``clearance`` (...) [m] how far it is from carrying.
    ``state`` (...) is a :class:`~anchorsize.mechanics.restraint.SupportState`, CARRYING for an anchor. ``loads`` (...) [N] is the
    sum of the magnitudes of all loads of the case.
    """

    support: Support
    force: Array
    push: Array
    friction: Array
    movement: Array
    clearance: Array
    state: NDArray[np.int8]
    moment: Array | None = None
    single: NDArray[np.bool_] | bool = True  # False where friction also allows another answer
    loads: Number = 0.0

    @property
    def idle(self) -> NDArray[np.bool_]:
        """Whether it carries nothing, or next to nothing beside the loads (...); an anchor that holds a moment is not idle."""
        nothing = np.linalg.norm(self.force, axis=-1) <= IDLES * np.asarray(self.loads)
        held = False if self.moment is None else np.any(self.moment != 0.0, axis=-1)
        return np.asarray(nothing & ~np.asarray(held))


@dataclass(frozen=True)
class Check:
    """One check in one case: demand against allowable in ``unit``; ``bolt`` is the number that governs, or None.

    For a check of the kind "at least" (``least`` True) utilization is allowable over demand. ``allowable_from`` says whose the
    allowable is; ``formula`` is readable text of what was compared.
    """

    check: str
    where: str
    bolt: NDArray[np.int_] | int | None
    demand: Number
    allowable: Number
    unit: Unit
    utilization: Number
    margin: Number
    holds: NDArray[np.bool_] | bool
    source: str
    allowable_from: str
    formula: str
    least: bool = False
    told: str = ""  # its name for a reader, where ``check``, which stays as it is, would mislead

    @property
    def words(self) -> str:
        """Its name for a reader."""
        return self.told or self.check


@dataclass(frozen=True)
class NotChecked:
    """A check that was not made and what to supply; ``needed`` marks those the job cannot do without."""

    check: str
    where: str
    supply: str
    needed: bool
    told: str = ""  # as of a check that was made

    @property
    def words(self) -> str:
        """Its name for a reader."""
        return self.told or self.check


@dataclass(frozen=True)
class Finding:
    """Something the reader must know: a stable ``kind``, the case it belongs to (None: all), one sentence.

    ``doubtful`` marks data that cannot be right although a verdict rests on them.
    """

    kind: str
    case: str | None
    message: str
    doubtful: bool = False


@dataclass(frozen=True)
class CaseResult:
    """Everything computed for one operating case."""

    name: str
    openings: dict[str, OpeningResult]
    loads: tuple[Load, ...]
    reaction_force: Array
    reaction_moment: Array  # about the world origin
    vertical_reaction: Number  # along up; negative: the joint must hold the fitting down
    energy: EnergyAudit | None  # None where nothing flows or a gas leaves
    joints: dict[str, JointResult]
    checks: tuple[Check, ...]
    not_checked: tuple[NotChecked, ...]
    supports: dict[str, SupportResult] = field(default_factory=dict)
    motion: Array | None = (
        None  # (..., 6) of the world origin [m] and rotation [rad], where joints and supports share the load
    )


@dataclass(frozen=True, eq=False)
class Assessment:
    """A judged study. ``governing`` is the (case, check) with the greatest utilization, None when nothing was checked.

    Two of them are the same only where they are one, so that what follows from one can be kept by it.
    """

    study: Study
    option: str
    cases: dict[str, CaseResult]
    governing: tuple[str, Check] | None
    not_checked: tuple[NotChecked, ...]
    warnings: tuple[Finding, ...]
    assumptions: tuple[str, ...]
    weak_sources: tuple[Provenance, ...] = field(default=())  # table rows from memory that the result leans on

    @property
    def judged_joints(self) -> tuple[str, ...]:
        """The joints whose loads are known; the same in every case."""
        return tuple(next(iter(self.cases.values())).joints)

    @property
    def verdict(self) -> Literal["holds", "fails", "incomplete"]:
        """``fails`` if any check fails, else ``incomplete`` if a needed check could not be made, else ``holds``."""
        if any(not bool(np.all(c.holds)) for case in self.cases.values() for c in case.checks):
            return "fails"
        return "incomplete" if any(item.needed for item in self.not_checked) else "holds"

    @property
    def doubtful(self) -> bool:
        """Whether a finding says that the input itself is doubtful."""
        return any(finding.doubtful for finding in self.warnings)

    def to_dict(self) -> dict[str, Any]:
        """The machine output of ``check --json`` as plain Python values (SI; the unit stands in the key)."""
        from anchorsize.present.machine import assessment_dict

        return assessment_dict(self)

    def bolts(self) -> pd.DataFrame:
        """One row per case, joint and bolt: number, angle [deg], external tension [N], shear [N]."""
        from anchorsize.present.frames import bolts_frame

        return bolts_frame(self)

    def checks(self) -> pd.DataFrame:
        """One row per case and check: demand, allowable, unit, utilization, margin, holds."""
        from anchorsize.present.frames import checks_frame

        return checks_frame(self)

    def loads(self) -> pd.DataFrame:
        """One row per case and load source: force [N] and moment [N·m] about the world origin."""
        from anchorsize.present.frames import loads_frame

        return loads_frame(self)

    def __str__(self) -> str:
        from anchorsize.present.text import check_report

        return check_report(self, width=100)

    def _repr_html_(self) -> str:
        from anchorsize.present.frames import notebook_html

        return notebook_html(self)
