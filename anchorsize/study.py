"""What a study is: one fitting, its openings, joints, loads and operating cases, in SI units.

Plain frozen dataclasses. No parsing and no physics here: the case file builds a :class:`Study`,
:mod:`anchorsize.assess` judges it.

Shapes. A numeric field is a float or an array of the study's *batch shape* ``(...)``: a sweep, a list of candidate
bolts or a million samples are the same study with arrays where one number stood. Vectors carry a last axis of 3,
bolt fields a last axis of the bolt count. Units are SI (m, m², m³, m³/s, kg, kg/s, N, N·m, Pa, K, rad) and
pressures are gauge unless a name says otherwise. Frames and signs: DEVELOPERS.md, "Frames and signs".
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
Number: TypeAlias = float | Array
Exit: TypeAlias = Literal["connected", "free_jet", "capped"]


@dataclass(frozen=True)
class Provenance:
    """Where a value of the study comes from when it is not the user's own.

    ``what`` names the value, ``table`` and ``row`` the table row, ``source`` the designation of the standard or book and
    ``status`` how far the row is confirmed (confirmed, seen-once, computed, from-memory).
    """

    what: str
    table: str
    row: str
    source: str
    status: str


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
class Fitting:
    """Mass [kg] and contents volume [m³] with their centers [m]; ``None`` where the user gave nothing.

    ``bare_wall`` is True where the mass is that of the wall of a shape.
    """

    mass: Number | None = None
    mass_center: Array | None = None
    contents: Number | None = None
    contents_center: Array | None = None
    built_from: tuple[str, ...] = ()  # one readable line per shape the fitting was built from
    extra_masses: tuple[ExtraMass, ...] = ()
    bare_wall: bool = False

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
    """

    name: str
    center: Array
    outward: Array
    area: Number
    path_moment: Array | None = None


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

    @property
    def missing(self) -> tuple[int, ...]:
        """Numbers of the bolts that are not there; for a study of one row."""
        return tuple(number for number, there in zip(self.numbers, np.ravel(self.present), strict=True) if not there)


@dataclass(frozen=True)
class Gasket:
    """Gasket ring: contact diameters [m]; thickness [m], modulus [Pa], m [-], y [Pa] where given."""

    inside: Number
    outside: Number
    thickness: Number | None = None
    modulus: Number | None = None
    m: Number | None = None
    y: Number | None = None
    reaction_diameter: Number | None = None  # fixes G [m]


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
    is what the installer is told.
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


@dataclass(frozen=True)
class Flange:
    """The flange itself, where known: outside diameter, thickness, hole diameter [m]; rating pressure [Pa]."""

    outside: Number | None = None
    thickness: Number | None = None
    hole: Number | None = None
    rating: Number | None = None
    designation: str | None = None


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


@dataclass(frozen=True)
class External:
    """A load on the fitting from outside: force [N] and moment [N·m] at a point [m]; in every case, or in ``cases``."""

    name: str
    force: Array
    moment: Array
    at: Array
    cases: tuple[str, ...] | None = None


@dataclass(frozen=True)
class Allowable:
    """An allowable the user gave: ``value`` in ``unit`` (SI: Pa, N, m, 1) and where it comes from, in the user's words."""

    value: Number
    unit: Literal["Pa", "N", "m", "1"]
    origin: str = "user"
    table: str | None = None  # the table it follows from by the bolt size, where the user asked for that


@dataclass(frozen=True)
class Allowables:
    """Allowables by check; ``None`` means not given, and the check that needs it is then not made."""

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


@dataclass(frozen=True)
class Losses:
    """A pressure that follows from losses: the coefficient [-] and the opening whose velocity it is on."""

    coefficient: Number
    velocity_at: str


@dataclass(frozen=True)
class Surge:
    """A stopped flow [m³/s] and the wave [m/s] it sends; closing time [s] and pipe length [m] where it stops slowly."""

    stopped_flow: Number
    wave_speed: Number
    closing_time: Number | None = None
    pipe_length: Number | None = None


@dataclass(frozen=True)
class GasDischarge:
    """Gas leaving at an open discharge: mass flow [kg/s], stagnation temperature [K], k [-], molar mass [kg/mol],
    absolute ambient pressure [Pa]."""

    mass_flow: Number
    stagnation_temperature: Number
    k: Number
    molar_mass: Number
    ambient: Number


@dataclass(frozen=True)
class OpeningState:
    """One opening in one operating case. ``flow`` [m³/s] positive out of the fitting; ``None`` is solved by continuity.

    ``losses`` stands in for the pressure, ``gas`` for pressure and flow; the rise of ``surge`` adds to the pressure.
    """

    exit: Exit
    flow: Number | None = None
    pressure: Number | None = None  # gauge [Pa]; None only for capped, from losses and gas
    beta: Number = 1.0
    density: Number | None = None  # where it differs from the fluid's
    flow_change: Number = 0.0  # dQ/dt [m³/s²], positive out
    losses: Losses | None = None
    surge: Surge | None = None
    gas: GasDischarge | None = None


@dataclass(frozen=True)
class Case:
    """An operating case: the state of every opening, whether the fitting is full, and the dynamic factor.

    ``rating_factor`` [-] multiplies the flange ratings in this case, and ``allow`` replaces single allowables in it; both are the
    user's, as for a pressure test.
    """

    name: str
    states: dict[str, OpeningState]
    contents_full: bool = True
    dynamic_factor: Number = 1.0
    rating_factor: Number | None = None
    allow: Allowables | None = None


STEEP = 0.7
"""Cosine to up from which the thrust on a block counts as down or up rather than level."""

SupportKind: TypeAlias = Literal["hanger", "rest", "guide", "strut", "tie", "thrust_block", "spring_hanger", "anchor"]


@dataclass(frozen=True)
class PostSection:
    """Section of a post or strut: area [m²], least second moment of area [m⁴], middle to outer edge across that axis [m]."""

    area: Number
    second_moment: Number
    half_depth: Number | None = None


@dataclass(frozen=True)
class PlateAnchor:
    """An anchor bolt of a base plate, at x and y [m] from the middle of the plate; tensile stress area [m²]."""

    x: Number
    y: Number
    tensile_area: Number


@dataclass(frozen=True)
class BasePlate:
    """A rigid rectangular plate under a post: length along e1 and width along e2 [m] of the plate's plane.

    e1 is the study's up laid into that plane, or +x where the post stands along up; e2 = toward × e1, so that under an upright
    post x and y are those of the plan. ``anchor_length`` [m] is the free length
    that stretches, ``foundation_modulus`` [Pa/m] the pressure of the foundation per settlement, ``preload`` [N] per anchor.
    """

    length: Number
    width: Number
    foundation_modulus: Number
    anchors: tuple[PlateAnchor, ...] = ()
    anchor_length: Number | None = None
    anchor_modulus: Number | None = None
    preload: Number = 0.0


@dataclass(frozen=True)
class Block:
    """A thrust block: length along its level thrust, width across and height [m], density [kg/m³], base friction [-].

    ``thrust_height`` [m] is from its base up to where the fitting pushes; ``passive`` [N] the passive less the active earth
    force that the user counts on; ``subgrade_modulus`` [Pa/m] gives its stiffness over the area that bears. ``presumptive`` is
    the published bearing of the soil named [Pa], for orientation only.
    """

    length: Number
    width: Number
    height: Number
    density: Number
    friction: Number | None = None
    thrust_height: Number | None = None
    passive: Number | None = None
    subgrade_modulus: Number | None = None
    presumptive: tuple[tuple[str, float], ...] = ()

    def bearing_area(self, toward: Array, up: Array) -> Number | None:
        """Area that bears on soil [m²]: width × height under a level thrust, length × width pressed down, None pulled up."""
        steep = np.sum(toward * up, axis=-1)
        if np.all(steep < -STEEP):
            return None
        area = np.asarray(self.width) * np.where(steep <= STEEP, self.height, self.length)
        return np.where(steep < -STEEP, np.nan, area)


@dataclass(frozen=True)
class SupportAllow:
    """What a support may carry, by the user or by the table the user named, and which factors it must reach.

    ``force`` [N] and ``moment`` [N·m] on it, ``stress`` [Pa] in rod or post, ``bearing`` [Pa] behind a block or under a plate,
    ``anchor_tension`` and ``anchor_shear`` [N] per anchor bolt of a plate; required factors [-].
    """

    force: Number | None = None
    moment: Number | None = None
    stress: Number | None = None
    bearing: Number | None = None
    anchor_tension: Number | None = None
    anchor_shear: Number | None = None
    buckling_factor: Number | None = None
    bearing_factor: Number | None = None
    sliding_factor: Number | None = None
    overturning_factor: Number | None = None
    uplift_factor: Number | None = None
    force_origin: str = "user"
    origin: str = "user"


@dataclass(frozen=True)
class Support:
    """One support of an option, at a point [m]; ``toward`` is the unit direction of its force on the fitting.

    ``stiffness`` [N/m] or what it follows from: a rod's tensile area [m²], length [m] and modulus [Pa], a section with both,
    or a block on its subgrade. ``six_way`` is an anchor's. ``gap`` [m] closes before it carries; ``set_load`` [N] is a spring
    hanger's or a preset. ``effective_length_factor`` K [-] is that of a post that may buckle. ``sections`` are others to
    choose from, by name; ``cost`` is in the user's own money.
    """

    name: str
    kind: SupportKind
    at: Array
    toward: Array
    stiffness: Number | None = None
    gap: Number = 0.0
    set_load: Number | None = None
    friction: Number | None = None
    rod: str | None = None
    rod_area: Number | None = None
    rod_root_area: Number | None = None
    length: Number | None = None
    modulus: Number | None = None
    section: PostSection | None = None
    sections: tuple[tuple[str, PostSection], ...] = ()
    effective_length_factor: Number | None = None
    base_plate: BasePlate | None = None
    block: Block | None = None
    six_way: JointStiffness | Literal["rigid"] | None = None
    allow: SupportAllow | None = None
    rod_series: str | None = None  # of the table that gives the rod's load, where the user named it
    cost: Number | None = None


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
