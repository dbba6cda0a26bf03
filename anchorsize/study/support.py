"""A support of a study: what it is made of, how it acts and what it may carry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from anchorsize.study.joint import JointStiffness
from anchorsize.study.values import Array, Number, Provenance

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
    ``base_bearing`` [Pa] under a block, ``anchor_tension`` and ``anchor_shear`` [N] per anchor bolt of a plate; required factors [-].
    """

    force: Number | None = None
    moment: Number | None = None
    stress: Number | None = None
    bearing: Number | None = None
    base_bearing: Number | None = None
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
    choose from, by name; ``cost`` is in the user's own money. ``settles`` [m] is how far what holds it moves against ``toward``.
    """

    name: str
    kind: SupportKind
    at: Array
    toward: Array
    stiffness: Number | None = None
    gap: Number = 0.0
    set_load: Number | None = None
    settles: Number | None = None
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
    tables: tuple[Provenance, ...] = ()  # rows that it takes and nothing but supports does
