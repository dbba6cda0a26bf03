"""A joint of a study: bolts, gasket, flange, tightening, what it may carry and what may be chosen for it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from anchorsize.study.values import Array, Number, Provenance

LOOSE = 0.1  # of the greatest tightening of its size, under which a bolt counts as loose: common practice, no source


@dataclass(frozen=True)
class BoltPattern:
    """The bolts of one joint; the last axis counts the positions, in bolt-number order.

    ``xy`` [m] are offsets along e1 and e2 from the bolt-circle center. ``present`` is False where a bolt is missing.
    ``angle`` [rad] is clockwise from e1 looking from the fitting toward the pipe. Areas [m²]: ``tensile_area`` (As),
    ``root_area`` (least section, for code bolt area), ``shank_area`` (nominal). ``stiffness`` [N/m] only if given by the
    user; it then weighs the bolts in the linear bolt group as well.
    """

    numbers: tuple[int, ...]
    sizes: tuple[str, ...]
    xy: Array  # (..., n, 2)
    present: NDArray[np.bool_]  # (..., n)
    angle: Array  # (..., n)
    diameter: Array  # (..., n)
    pitch: Array  # (..., n), NaN where unknown
    tensile_area: Array
    root_area: Array
    shank_area: Array
    circle: Number | None = None  # bolt-circle diameter [m], None for free positions
    stiffness: Array | None = None
    shear_plane: Literal["thread", "shank"] = "thread"
    property_class: str | None = None
    tensile_strength: Number | None = None  # [Pa]
    yield_strength: Number | None = None  # [Pa]
    proof_strength: Number | None = None  # [Pa]
    proof_given: bool = False  # by the case file, not by the class

    @property
    def missing(self) -> tuple[int, ...]:
        """Numbers of the bolts that are not there; for a study of one row."""
        return tuple(number for number, there in zip(self.numbers, np.ravel(self.present), strict=True) if not there)


Condition: TypeAlias = Literal["new", "reused", "in_place"]


@dataclass(frozen=True)
class Gasket:
    """Gasket ring: contact diameters [m]; thickness [m], modulus [Pa], m [-], y [Pa] where given.

    ``outside`` is where the contact ends: at the rim of the ring or, before it, of the raised face. ``ring_outside`` is the rim of
    the ring itself, None where nothing cuts the contact. ``condition`` is None where the file does not say whether it is new; m
    and y are for a new one. A ``reused`` one is to be replaced; one ``in_place`` is in service, was not opened and stays.
    """

    inside: Number
    outside: Number
    thickness: Number | None = None
    modulus: Number | None = None
    m: Number | None = None
    y: Number | None = None
    reaction_diameter: Number | None = None  # fixes G [m]
    condition: Condition | None = None
    ring_outside: Number | None = None
    renewed: bool = False  # put in by a repair, in the place of one used before

    @property
    def used(self) -> bool:
        """Whether it is known to have been pressed before: m and y are then not its own."""
        return self.condition in ("reused", "in_place")

    @property
    def rim(self) -> Number:
        """Outside diameter of the ring itself [m], which must have room inside the bolts."""
        return self.outside if self.ring_outside is None else self.ring_outside

    def on(self, raised_face: Number | None) -> Gasket:
        """The ring pressed by a raised face of a diameter [m]; None where the face is flat or not known: over its whole width."""
        if raised_face is None:
            return replace(self, outside=self.rim, ring_outside=None)
        contact = np.minimum(self.rim, raised_face)
        return replace(self, outside=float(contact) if np.ndim(contact) == 0 else contact, ring_outside=self.rim)


@dataclass(frozen=True)
class Members:
    """Metal clamped face to face: modulus [Pa] and the diameter of the face under head and nut [m]."""

    modulus: Number
    face_diameter: Number


@dataclass(frozen=True)
class Tightening:
    """How the bolts were, or will be, tightened. One of ``torque`` [N·m] or ``preload`` [N], per bolt or for all.

    ``nut_factor`` K [-], or ``thread_friction`` and ``bearing_friction`` [-]; ``scatter`` and ``relaxation`` are shares
    (0.3 means ±30 % and a loss of 30 %). With ``target_torque`` [N·m] the former are as found, and are what is judged; the target
    is what the installer is told. ``target_nut_factor``, ``target_lubricant`` and ``target_scatter`` go with the target, and are
    those as found where they are None. Nut factors have the bolt axis last, (..., n), or (..., 1) where all bolts have one.
    """

    torque: Array | None = None  # (..., n)
    preload: Array | None = None  # (..., n)
    nut_factor: Number | None = None
    thread_friction: Number | None = None
    bearing_friction: Number | None = None
    bearing_diameter: Number | None = None  # mean bearing diameter under the nut [m]
    scatter: Number | None = None
    relaxation: Number | None = None
    method: str | None = None  # tightening method named by the user, for the scatter table
    target_torque: Array | None = None  # (..., n)
    lubricant: str | None = None  # of threads and nut faces, in the user's words
    target_nut_factor: Number | None = None
    target_lubricant: str | None = None
    target_scatter: Number | None = None
    kept: NDArray[np.bool_] | None = None  # (..., n), of a target: bolts on the threads found, beside others
    kept_lubricant: str | None = None  # what was found on those
    of_target: bool = False  # of a repair: nut factor or lubricant are those that the file gives for the target
    friction_as_found: bool = False  # of a repair: nothing is said of the friction but what was found

    @property
    def links_torque(self) -> bool:
        """Whether its friction turns a torque into a preload."""
        return self.nut_factor is not None or None not in (
            self.thread_friction,
            self.bearing_friction,
            self.bearing_diameter,
        )

    @property
    def values(self) -> Array | None:
        """What each bolt is tightened to (..., n) [N·m or N]: the preload, or the torque where no preload is given."""
        return self.torque if self.preload is None else self.preload

    @property
    def comparable(self) -> Array | None:
        """As ``values``, with torques as if every bolt had the greatest nut factor of any: of one size, equal ones then pull alike."""
        values, factor = self.values, self.nut_factor
        if values is None or self.preload is not None or factor is None:
            return values
        each = np.asarray(factor)
        compared: Array = values * (np.max(each, axis=-1, keepdims=True) / each)
        return compared

    def factors(self, count: int) -> Array:
        """The nut factor of each of so many bolts (n,) [-], NaN where none is given; for a study of one row."""
        return np.broadcast_to(np.asarray(np.nan if self.nut_factor is None else self.nut_factor), count)

    def kinds(self, sizes: tuple[str, ...]) -> tuple[tuple[str, float], ...]:
        """Size and nut factor of each bolt, 0 where none is given: bolts of one kind want one torque; for a study of one row."""
        return tuple(zip(sizes, np.nan_to_num(self.factors(len(sizes))).tolist(), strict=True))

    @property
    def with_target_friction(self) -> Tightening:
        """The same torque or preload on threads as they are when the target is put on: what the bolts would do if tightened anew."""
        own = replace(self, target_nut_factor=None, target_lubricant=None, target_scatter=None)
        if self.target_nut_factor is not None:
            # what the threads were found with says nothing of what is on them then
            kept = self._kept(self.target_nut_factor)
            own = replace(
                own,
                nut_factor=self.target_nut_factor,
                thread_friction=None,
                bearing_friction=None,
                lubricant=None,
                kept=kept,
                kept_lubricant=None if kept is None else self.lubricant,
            )
        if self.target_lubricant is not None:
            own = replace(own, lubricant=self.target_lubricant)
        return own if self.target_scatter is None else replace(own, scatter=self.target_scatter)

    def _kept(self, target: Number) -> NDArray[np.bool_] | None:
        """The bolts whose factor of the target is the one found; None where that goes for all or none of them."""
        if self.nut_factor is None:
            return None
        same: NDArray[np.bool_] = np.asarray(np.isclose(target, self.nut_factor, rtol=1e-9, atol=0.0))
        return same if np.any(same) and not np.all(same) else None

    @property
    def at_target(self) -> Tightening:
        """The tightening that the bolts get by the target; itself where there is none."""
        if self.target_torque is None:
            return self
        as_found = self.torque is not None and self.target_nut_factor is None
        of_target = self.target_nut_factor is not None or self.target_lubricant is not None
        own = replace(self.with_target_friction, friction_as_found=as_found, of_target=of_target)
        return replace(own, torque=self.target_torque, preload=None, target_torque=None)


@dataclass(frozen=True)
class Flange:
    """The flange itself, where known: outside diameter, thickness, hole diameter [m]; rating pressure [Pa].

    ``raised_face`` is the diameter of the raised face [m], None where it is not known or the face is ``flat``. ``face_height`` [m] is
    what the raised face adds to the thickness, where the table leaves it out. ``rating_row`` is the table row of a rating that the
    file takes from its table, None for one that it gives.
    """

    outside: Number | None = None
    thickness: Number | None = None
    hole: Number | None = None
    rating: Number | None = None
    designation: str | None = None
    raised_face: Number | None = None
    face_height: Number = 0.0
    flat: bool = False
    rating_row: Provenance | None = None

    @property
    def height(self) -> Number | None:
        """What the bolts clamp of this flange [m]: its thickness and the raised face on it; None where no thickness is known."""
        return None if self.thickness is None else self.thickness + self.face_height


@dataclass(frozen=True)
class JointStiffness:
    """Stiffness of a joint as given: axial, shear [N/m], bending, torsion [N·m/rad]."""

    axial: Number
    shear: Number
    bending: Number
    torsion: Number


@dataclass(frozen=True)
class PipeBehind:
    """Pipe from the joint to a fixed end: outside diameter, wall, length [m], modulus [Pa], Poisson's ratio [-]."""

    outside: Number
    wall: Number
    length: Number
    modulus: Number
    poisson: Number


@dataclass(frozen=True)
class Sizing:
    """What may be chosen for the bolts of a joint; what is empty stays as it is.

    ``circles`` [m]; ``torques`` [N·m] per bolt; ``preload_shares`` [-] of the proof load of the bolt (of its yield load where
    its class has no proof strength). ``flanges`` are designations of standard flanges that may be taken, and ``standard`` allows every
    tabled one of the nominal size nearest the bore.
    """

    counts: tuple[int, ...] = ()
    sizes: tuple[str, ...] = ()
    circles: tuple[float, ...] = ()
    classes: tuple[str, ...] = ()
    torques: tuple[float, ...] = ()
    preload_shares: tuple[float, ...] = ()
    flanges: tuple[str, ...] = ()
    standard: bool = False


@dataclass(frozen=True)
class Allowable:
    """An allowable the user gave: ``value`` in ``unit`` (SI: Pa, N, Nm, m, 1) and where it comes from, in the user's words."""

    value: Number
    unit: Literal["Pa", "N", "Nm", "m", "1"]
    origin: str = "user"
    table: str | None = None  # the table it follows from by the bolt size, where the user asked for that


@dataclass(frozen=True)
class Allowables:
    """Allowables by check; ``None`` means not given, and the check that needs it is then not made.

    The last seven are of what acts at the joint itself, on the nozzle or pipe that it belongs to; where they are not given nothing
    is said of them. ``pressure_thrust`` says whether ``force`` and ``axial`` count the pressure on the bore.
    """

    bolt_tension: Allowable | None = None  # Pa on the tensile stress area, or N per bolt
    bolt_shear: Allowable | None = None  # Pa on the area of the shear plane, or N per bolt
    tension_with_shear: Literal["circular", "linear", "en_1993_1_8"] | None = None
    hole_bearing: Allowable | None = None  # Pa on bolt diameter × thickness
    bolt_spacing_least: Allowable | None = None  # m, center to center along the chord
    bolt_spacing_greatest: Allowable | Literal["from formula"] | None = None  # m
    gasket_pressure_greatest: Allowable | None = None  # Pa, crushing
    bolt_stress_operating: Allowable | None = None  # Pa, Sb of the code bolt area
    bolt_stress_seating: Allowable | None = None  # Pa, Sa of the code bolt area
    bolt_thread_shear: Allowable | None = None  # Pa, shear strength of the bolt's thread, for stripping
    nut_thread_shear: Allowable | None = None  # Pa, shear strength of the nut's or tapped thread
    endurance_limit: Allowable | None = None  # Pa, stress amplitude of the threaded bolt
    force: Allowable | None = None  # N, resultant of axial force and shear
    moment: Allowable | None = None  # N·m about the bolt-circle center, resultant of bending and torsion
    axial: Allowable | None = None  # N, whichever way
    shear: Allowable | None = None  # N
    bending: Allowable | None = None  # N·m
    torsion: Allowable | None = None  # N·m, whichever way
    pressure_thrust: Literal["included", "excluded"] | None = None


@dataclass(frozen=True)
class Joint:
    """A flanged, bolted connection at an opening. ``reference`` is the direction e1 is projected from."""

    name: str
    at: str
    center: Array  # bolt-circle center [m]
    reference: Array
    bolts: BoltPattern
    gasket: Gasket | None = None
    tightening: Tightening | None = None
    flange: Flange = field(default_factory=Flange)
    grip: Number | None = None
    bolt_modulus: Number | None = None
    thread_length_in_grip: Number | None = None
    face_friction: Number | None = None  # friction between gasket and flange [-]
    members: Members | None = None  # where metal meets metal, or the gasket's own give is left out
    thread_engagement: Number | None = None  # length of engaged thread [m]
    cycles_between: tuple[str, str] | None = None  # the two cases that repeat, for fatigue
    stiffness: JointStiffness | Literal["rigid"] | None = None
    pipe_behind: PipeBehind | None = None
    allow: Allowables | None = None  # replaces single entries of the study's allowables
    sizing: Sizing | None = None  # replaces single entries of the study's sizing
    renewed_bolts: tuple[int, ...] = ()  # by a repair, beside tight ones, on the friction found
    handled_bolts: tuple[int, ...] = ()  # put in or taken out by a repair, beside a gasket that stays
    repair: str = ""  # what a repair changed, in words; empty of a joint as the file has it
    # by a repair where nobody says if the gasket stays: bolts found tighter than the target, or on other threads
    held_if_gasket_stays: tuple[int, ...] = ()
    found_loose: tuple[int, ...] = ()  # by a repair: bolts that were loose, or far looser than the others

    @property
    def gasket_stays(self) -> bool:
        """Whether the joint stays closed on the gasket that is in it."""
        return self.gasket is not None and self.gasket.condition == "in_place"

    @property
    def carrying(self) -> NDArray[np.bool_]:
        """Which bolts carry and clamp (..., n): those that are there and not loose.

        Loose is a bolt tightened to under :data:`LOOSE` of the tightest that is there of its size (at one friction), or to nothing
        while any other is tight. Where every bolt is at nothing, nothing is tightened yet and all that are there count.
        """
        there = self.bolts.present
        values = None if self.tightening is None else self.tightening.comparable
        if values is None or not np.any(loose := self._slack(np.where(there, values, 0.0))):
            return there
        carrying: NDArray[np.bool_] = there & ~loose
        return carrying

    def _slack(self, each: Array) -> NDArray[np.bool_]:
        """Where a tightening (..., n), 0 of a bolt that is missing, is next to nothing beside the others."""
        slack: NDArray[np.bool_] = (each <= 0.0) & np.any(each > 0.0, axis=-1, keepdims=True)
        sizes = np.array(self.bolts.sizes)
        for size in dict.fromkeys(self.bolts.sizes):
            same = sizes == size
            most = np.max(each, axis=-1, where=same, initial=0.0, keepdims=True)
            slack |= same & (each < LOOSE * most)
        return slack

    @property
    def loose(self) -> tuple[int, ...]:
        """Numbers of the bolts that are there and carry nothing; for a study of one row."""
        lost = np.broadcast_to(self.bolts.present & ~self.carrying, len(self.bolts.numbers))
        return tuple(self.bolts.numbers[i] for i in np.flatnonzero(lost))
