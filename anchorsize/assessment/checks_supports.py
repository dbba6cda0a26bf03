"""The checks of a support: what it carries against what the user, or the table the user named, lets it carry.

To add a check: write a function ``(SupportAsk) -> Check | str | None`` (a string says what to supply, None that the check is not
about this support), add it to ``SUPPORT_RULES``, test it against a published example, and list it in DEVELOPERS.md.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from anchorsize.assessment.asking import lacking, plain
from anchorsize.assessment.block_soil import base_allowable, presumptive_words, weight_borne, weight_of
from anchorsize.assessment.buckling import BUCKLING, POSTS, compression, either_sign, member
from anchorsize.assessment.holding import axes_across
from anchorsize.assessment.results import Check, NotChecked, SupportResult
from anchorsize.mechanics import stiffness, support_capacity
from anchorsize.mechanics.contact import ContactResult
from anchorsize.mechanics.support_capacity import BasePressure
from anchorsize.study import Array, BasePlate, Block, Number, Study, Support, SupportAllow

LOAD = "support load"
SET_LOAD = "set load"
BASE = "block base"


@dataclass(frozen=True)
class SupportAsk:
    """What a check of a support is made from: the support, what it does in the case, and which way is up."""

    support: Support
    result: SupportResult
    up: Array

    @property
    def allow(self) -> SupportAllow:
        """The allowables given for it."""
        return self.support.allow or SupportAllow()

    @property
    def load(self) -> Array:
        """Magnitude of the force on it (...) [N], friction included."""
        return np.asarray(np.linalg.norm(self.result.force, axis=-1))

    @property
    def buckles(self) -> bool:
        """Whether the user wants it judged for buckling: a section or a factor against it says so."""
        return self.support.section is not None or self.allow.buckling_factor is not None

    @cached_property
    def plate(self) -> ContactResult | None:
        """Anchor tensions and pressures of its base plate, solved once; None where there is no plate or it cannot be solved."""
        under = self.support.base_plate
        return None if under is None else plate_under(self, under)


Outcome = Check | str | None


def judge_supports(study: Study, results: dict[str, SupportResult]) -> tuple[tuple[Check, ...], tuple[NotChecked, ...]]:
    """Make every check on every support; a support without a single check is a gap that the job needs filled."""
    made, missing = [], []
    for name, result in results.items():
        ask = SupportAsk(result.support, result, study.up)
        outcomes = [(rule, make(ask)) for rule, make in SUPPORT_RULES]
        checks = [
            replace(outcome, told=told(rule, result.support))
            for rule, outcome in outcomes
            if isinstance(outcome, Check)
        ]
        made += checks
        missing += [
            NotChecked(rule, name, said, rule == BUCKLING and ask.buckles, told(rule, result.support))
            for rule, said in outcomes
            if isinstance(said, str)
        ]
        if not checks:
            missing.append(NotChecked("capacity of the support", name, _any_capacity(result.support), True))
    return tuple(made), tuple(missing)


def told(rule: str, support: Support) -> str:
    """Name of a check of a post for the reader, where the support is a strut or guide and no post stands anywhere; else empty."""
    return rule.replace("post", member(support)) if rule.startswith("post ") and member(support) != "post" else ""


def called(study: Study, option: str, rule: str, where: str) -> str:
    """Name of a check for the reader, wherever it is made: that of :func:`told` on a support of the option, else its own."""
    own = {each.name: told(rule, each) for each in study.supports.get(option, ())}
    return own.get(where, "") or rule


def _any_capacity(support: Support) -> str:
    by_kind = {
        "hanger": "allow / force (or `from table` with a rod), or allow / stress on the rod",
        "tie": "allow / force (or `from table` with a rod), or allow / stress on the rod",
        "thrust_block": "allow / bearing with allow / bearing_factor, and a block",
        "anchor": "allow / force and allow / moment",
    }
    return by_kind.get(support.kind, "allow / force, or section with allow / stress")


def _load(ask: SupportAsk) -> Outcome:
    force = ask.allow.force
    if force is None:
        return None if ask.support.kind != "anchor" else "allow / force"
    formula = "greatest force on the support, friction included"
    return plain(ask.support.name, LOAD, ask.load, force, "N", "rigid body on springs", ask.allow.force_origin, formula)


def _set_load(ask: SupportAsk) -> Outcome:
    """The force to which a support is tightened while nothing else loads the fitting, against its capacity."""
    support, allow = ask.support, ask.allow
    if support.kind == "spring_hanger" or support.set_load is None:
        return None
    area = support.rod_root_area if support.section is None else support.section.area
    formula = "force set on the unloaded fitting"
    force, origin = allow.force, allow.force_origin
    if force is None and allow.stress is not None and area is not None:
        force, origin = allow.stress * np.asarray(area), allow.origin
        formula += " / (allowable stress × area of rod or section)"
    if force is None:
        return None  # what to supply is said once, by the checks of load and stress
    return plain(support.name, SET_LOAD, support.set_load, force, "N", "the load as set", origin, formula)


def _moment(ask: SupportAsk) -> Outcome:
    if ask.result.moment is None:
        return None
    allowable = ask.allow.moment
    if allowable is None:
        return "allow / moment"
    demand = np.linalg.norm(ask.result.moment, axis=-1)
    formula = "magnitude of the moment about the anchor's point"
    return plain(
        ask.support.name, "anchor moment", demand, allowable, "Nm", "rigid body on springs", ask.allow.origin, formula
    )


def _rod(ask: SupportAsk) -> Outcome:
    area, allowable = ask.support.rod_root_area, ask.allow.stress
    if area is None:
        return None
    if allowable is None:
        return (
            None if ask.allow.force is not None else "allow / stress (on the root area), or allow / force: from table"
        )
    demand = support_capacity.axial_stress(np.maximum(ask.result.push, 0.0), area)
    source = "force / area; root area of the thread by its table (metric: π/4 (d − 1.3 P)², as ASME PCC-1)"
    return plain(
        ask.support.name, "rod tension", demand, allowable, "Pa", source, ask.allow.origin, "force / root area"
    )


def _post(ask: SupportAsk) -> Outcome:
    """Stress of a post: force along it, and bending by the friction at its top, held by its foot alone."""
    support, allowable = ask.support, ask.allow.stress
    section = support.section
    if section is None:
        return None
    if allowable is None:
        return "allow / stress"
    demand = support_capacity.axial_stress(np.abs(ask.result.push), section.area)
    formula = f"force along the {member(support)} / area of its section"
    if support.friction is not None:
        if support.length is None or section.half_depth is None:
            return lacking(("length", support.length), ("section / half_depth", section.half_depth))
        across = np.linalg.norm(ask.result.friction, axis=-1)
        demand = demand + across * support.length * section.half_depth / section.second_moment
        formula += " + friction at its top × length × half depth / second moment"
    source = "force/area and M c/I; any text on the strength of materials"
    return plain(support.name, "post stress", demand, allowable, "Pa", source, ask.allow.origin, formula)


def _buckling(ask: SupportAsk) -> Outcome:
    """Whether a post may be pressed as it is; needed as soon as a section says that it is one, for stress alone does not tell."""
    support, required = ask.support, ask.allow.buckling_factor
    if support.kind not in POSTS:
        return None
    idle = not np.any(np.asarray(ask.result.push) != 0.0)
    if support.section is None:
        if required is None and (support.kind == "guide" or idle):
            return None
        return "section, length, modulus, effective_length_factor and allow / buckling_factor (a stiffness alone cannot say)"
    length, modulus, effective = support.length, support.modulus, support.effective_length_factor
    if length is None or modulus is None or effective is None or required is None:
        return lacking(
            ("length", length),
            ("modulus", modulus),
            ("effective_length_factor (K of the end conditions)", effective),
            ("allow / buckling_factor", required),
        )
    critical = support_capacity.euler_load(modulus, support.section.second_moment, length, effective)
    pressed = compression(ask.result)
    formula = f"π²EI/(KL)² / force along the {member(support)}{either_sign(support)}"
    return _factor(ask, BUCKLING, critical, pressed, required, "L. Euler", formula)


def _factor(
    ask: SupportAsk, name: str, resistance: Number, demand: Number, required: Number, source: str, formula: str
) -> Check:
    """A check that resistance over demand reaches a required factor; unlimited where nothing is asked."""
    reached = support_capacity.factor_reached(resistance, demand)
    return plain(
        ask.support.name, name, reached, np.asarray(required), "1", source, ask.allow.origin, formula, least=True
    )


def plate_under(ask: SupportAsk, plate: BasePlate) -> ContactResult | None:
    """Anchor tensions and pressures of the base plate; None where the post's length or the anchors' stretch is not known."""
    support = ask.support
    if support.length is None or (plate.anchors and (plate.anchor_length is None or plate.anchor_modulus is None)):
        return None
    axis = -np.asarray(support.toward)  # into the foundation, e1 × e2
    e1, e2 = axes_across(axis, ask.up)
    # The fitting pushes the post's top by the opposite of its friction, a post's length above the plate.
    on_top = -ask.result.friction
    turning = np.cross(np.asarray(support.length)[..., None] * support.toward, on_top)
    # x and y are as one sees the plate along the post from its top, y toward × e1; e2 looks at it from below
    places = np.array([[each.x, -np.asarray(each.y)] for each in plate.anchors], dtype=float).reshape(-1, 2)
    areas = np.array([each.tensile_area for each in plate.anchors], dtype=float)
    stretch = (
        stiffness.bolt_stiffness(plate.anchor_length, plate.anchor_length, areas, areas, plate.anchor_modulus)
        if plate.anchors and plate.anchor_length is not None and plate.anchor_modulus is not None
        else np.zeros(0)
    )
    return support_capacity.base_plate(
        -ask.result.push,
        np.sum(turning * e1, axis=-1),
        np.sum(turning * e2, axis=-1),
        places,
        stretch,
        np.full(len(areas), plate.preload),
        (plate.length, plate.width),
        plate.foundation_modulus,
    )


def _plate(ask: SupportAsk, name: str) -> Outcome:
    plate = ask.support.base_plate
    if plate is None or (name != "plate bearing" and not plate.anchors):
        return None
    allowable = {
        "plate bearing": ask.allow.bearing,
        "anchor tension": ask.allow.anchor_tension,
        "anchor shear": ask.allow.anchor_shear,
    }[name]
    if allowable is None:
        return f"allow / {'bearing' if name == 'plate bearing' else name.replace(' ', '_')}"
    if name == "anchor shear":
        demand = np.linalg.norm(ask.result.friction, axis=-1) / len(plate.anchors)
        formula = "friction at the top / number of anchors, none taken by friction under the plate"
        return plain(ask.support.name, name, demand, allowable, "N", "even share", ask.allow.origin, formula)
    found = ask.plate
    if found is None:
        return "length of the post, and base_plate / anchor_length and anchor_modulus"
    source = "contact solution, foundation that only pushes"
    if name == "plate bearing":
        formula = "greatest pressure under the rigid plate"
        return plain(ask.support.name, name, found.pressure_max, allowable, "Pa", source, ask.allow.origin, formula)
    demand, formula = np.max(found.bolt_tension, axis=-1), "greatest anchor tension under the rigid plate"
    return plain(ask.support.name, name, demand, allowable, "N", source, ask.allow.origin, formula)


def _block_bearing(ask: SupportAsk) -> Outcome:
    block, bearing, required = ask.support.block, ask.allow.bearing, ask.allow.bearing_factor
    area = None if block is None else block.bearing_area(ask.support.toward, ask.up)
    if block is None or area is None:
        return None
    if bearing is None or required is None:
        said = lacking(("allow / bearing of the soil", bearing), ("allow / bearing_factor", required))
        return said + presumptive_words(block)
    borne = weight_borne(block, ask.support.toward, ask.up)
    source = "AWWA M23 (from memory)"
    if np.any(borne > 0.0):
        source += ", the weight by statics"
        formula = (
            "allowable bearing × length × width / (thrust + the block's own weight, which this soil carries too, for "
            "the block is pressed down on it)"
        )
    else:
        formula = "allowable bearing × bearing area / thrust (width × height under a level thrust)"
    formula += presumptive_words(block)
    return _factor(ask, "block bearing", bearing * area, ask.result.push + borne, required, source, formula)


def on_block(ask: SupportAsk, block: Block) -> tuple[Array, Array, Array]:
    """Uplift (signed, upward positive), level thrust and weight of a block (...) [N]."""
    uplift = -np.sum(ask.result.force * ask.up, axis=-1)
    level = np.linalg.norm(ask.result.force + uplift[..., None] * ask.up, axis=-1)
    return uplift, level, weight_of(block)


def _block_sliding(ask: SupportAsk) -> Outcome:
    block, required = ask.support.block, ask.allow.sliding_factor
    if block is None:
        return None
    if block.friction is None or required is None:
        return lacking(("block / friction of its base", block.friction), ("allow / sliding_factor", required))
    uplift, level, weight = on_block(ask, block)
    passive = 0.0 if block.passive is None else block.passive
    resists = support_capacity.sliding_resistance(weight - uplift, block.friction, passive)
    formula = "(friction × (weight − uplift) + passive earth force) / level thrust"
    return _factor(ask, "block sliding", resists, level, required, "Coulomb friction; any text on foundations", formula)


def overturning_moment(block: Block, uplift: Array, level: Array) -> Array:
    """Moment about the far edge of a block (...) [N·m]; an upward force has its whole length as arm, a downward one counts as none."""
    height = 0.0 if block.thrust_height is None else block.thrust_height
    return np.asarray(level * height + np.maximum(uplift, 0.0) * block.length)


def _block_overturning(ask: SupportAsk) -> Outcome:
    block, required = ask.support.block, ask.allow.overturning_factor
    if block is None:
        return None
    if block.thrust_height is None or required is None:
        return lacking(("block / thrust_height", block.thrust_height), ("allow / overturning_factor", required))
    uplift, level, weight = on_block(ask, block)
    overturning = overturning_moment(block, uplift, level)
    formula = "weight × length/2 / (level thrust × thrust_height + uplift × length), about the far edge; pressing down counts as nothing"
    source = "statics; any text on foundations"
    return _factor(ask, "block overturning", weight * block.length / 2.0, overturning, required, source, formula)


def _block_uplift(ask: SupportAsk) -> Outcome:
    block, required = ask.support.block, ask.allow.uplift_factor
    if block is None:
        return None
    if required is None:
        return "allow / uplift_factor"
    uplift, _, weight = on_block(ask, block)
    return _factor(ask, "block uplift", weight, uplift, required, "statics", "weight / upward force")


def on_base(ask: SupportAsk, block: Block) -> tuple[Array, Array]:
    """What presses the base of a block (...) [N], and the moment about its middle (...) [N·m].

    As in overturning: the level thrust at thrust_height, an upward force at the face that is pushed. A downward one is taken to
    press through the middle.
    """
    uplift, level, weight = on_block(ask, block)
    middle = np.maximum(uplift, 0.0) * np.asarray(block.length) / 2.0
    return np.asarray(weight - uplift), overturning_moment(block, uplift, level) - middle


def base_under(ask: SupportAsk, block: Block) -> BasePressure:
    """Pressure of the soil under a block; without a thrust_height the level thrust counts as one at the base."""
    return support_capacity.base_pressure(*on_base(ask, block), block.length, block.width)


def _block_base(ask: SupportAsk) -> Outcome:
    """The soil under a block; a figure that nobody allowed for is told by a finding."""
    block, allowable = ask.support.block, base_allowable(ask.support, ask.up)
    if block is None or allowable is None:
        return None
    if block.thrust_height is None and np.any(on_block(ask, block)[1] > 0.0):
        return "block / thrust_height"
    demand = base_under(ask, block).greatest
    formula = (
        "greatest pressure under the base by weight − uplift (N) and moment about its middle (M): N/A (1 + 6e/length), e = M/N, or "
        "2N/(3 width (length/2 − e)) beyond length/6; the level thrust acts at thrust_height, a downward one through the middle"
    )
    if ask.allow.base_bearing is None:
        formula += "; against allow / bearing, for it is pressed down on this soil"
    source = "statics; any text on foundations"
    return plain(ask.support.name, BASE, demand, allowable, "Pa", source, ask.allow.origin, formula)


SUPPORT_RULES: tuple[tuple[str, Callable[[SupportAsk], Outcome]], ...] = (
    (LOAD, _load),
    (SET_LOAD, _set_load),
    ("anchor moment", _moment),
    ("rod tension", _rod),
    ("post stress", _post),
    (BUCKLING, _buckling),
    ("plate bearing", lambda ask: _plate(ask, "plate bearing")),
    ("anchor tension", lambda ask: _plate(ask, "anchor tension")),
    ("anchor shear", lambda ask: _plate(ask, "anchor shear")),
    ("block bearing", _block_bearing),
    ("block sliding", _block_sliding),
    ("block overturning", _block_overturning),
    ("block uplift", _block_uplift),
    (BASE, _block_base),
)
