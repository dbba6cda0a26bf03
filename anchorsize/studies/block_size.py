"""Sizing a thrust block so that the size can be built as told, entered, and then holds.

The bearing face decides how stiff a block is, and so what it draws: a smaller one is softer, draws less and asks for a smaller one
still, down to nothing. So the face is held as given where it bears what it draws, and widened until it does where not. The
dimension that leaves the face as it is (the length; the height of a block that is pressed down on its base) is then the least at
which every check of the block holds at the force that this face draws: sliding, overturning, uplift, and the pressure under its
base where that has an allowable. Where a block is pressed down, its height is weight on that very face: its width is then the least
with which some height holds. What is found is judged once more as a whole.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from anchorsize.assessment import evaluate
from anchorsize.assessment.block_soil import pressed_down, weight_borne
from anchorsize.assessment.checks_supports import (
    BASE,
    SupportAsk,
    base_under,
    judge_supports,
    on_block,
    overturning_moment,
)
from anchorsize.assessment.results import CaseResult, Check
from anchorsize.mechanics import support_capacity
from anchorsize.study import Block, Study, Support

SAME = 1e-9
"""Share by which two results may differ and still count as the same."""

TIMES = 20
"""How often a block is judged again with the area that it asks for."""

SPARE = 1.001
"""Share by which the area is taken larger from the second time on, so that a sequence that creeps up arrives."""

STEP = {"metric": 0.01, "us": 0.0127}
"""[m] to which dimensions are rounded up: 10 mm and 1/2 in, as forms are built; common practice, no source."""

HELD = 1.0 - 1e-6
"""Utilization up to which a size counts as holding, so that it holds as well when entered by its printed figures."""

LONGEST = 100.0
"""[m] beyond which no dimension is sought."""

BEARING = "block bearing"

BY_WEIGHT = ("block sliding", "block overturning", "block uplift")
"""The checks that the weight of a block decides."""

Cases = Collection[CaseResult]


@dataclass(frozen=True)
class BlockSize:
    """A block that holds: length, width and height [m], mass [kg], the check that governs it, the pressure under its base [Pa].

    ``base_judged`` is False where nothing was given to hold that pressure against.
    """

    length: float
    width: float
    height: float
    mass: float
    governing: Check
    base_pressure: float
    base_judged: bool


@dataclass(frozen=True)
class BlockNeeds:
    """What a block must have for the required factors: bearing area [m²], mass [kg] and volume [m³]; None where not asked.

    ``mass`` is for the length given. ``stops`` is False where no mass would do, as without friction at the base. ``settled`` is
    False where no area was found that holds the load that it draws itself. ``force`` [N] is the greatest that the face draws,
    ``widened`` whether that is another than the one given, ``on_base`` whether it is pressed down on length × width. ``size`` is
    a block that holds, None where the data for it are not given or none was found. ``base_too_small`` is True where no length or
    height keeps the pressure under the base to what is allowed there. ``own_pressure`` is that of the weight on the face of a block
    pressed down, at its height of ``size`` or else as given [Pa], 0 for another; ``too_heavy`` whether the soil does not even bear
    that with the factor.
    """

    bearing_area: float | None
    mass: float | None
    volume: float | None
    stops: bool = True
    settled: bool = True
    force: float = 0.0
    widened: bool = False
    on_base: bool = False
    size: BlockSize | None = None
    base_too_small: bool = False
    own_pressure: float = 0.0
    too_heavy: bool = False

    @property
    def free(self) -> Literal["length", "height"]:
        """The dimension that adds weight and leaves the bearing face as it is."""
        return "height" if self.on_base else "length"


def size_block(study: Study, option: str, support: Support, cases: Cases) -> BlockNeeds:
    """Return what a block needs, and the least that holds on the face that bears what it draws itself."""
    needs = _needs(study, support, cases)
    if needs.on_base and needs.mass:  # another height is another weight on the same face
        as_given = _sized_on(study, option, support, cases, needs)
        if as_given.size is not None:
            return as_given
    face, judged, needs = _on_its_face(study, option, support, cases)
    if not needs.stops or face.block is None:
        return needs
    found = _sized_on(study, option, face, judged, needs) if needs.settled and not needs.too_heavy else needs
    lower_may_do = bool(needs.mass) and (needs.widened or needs.too_heavy)
    return (
        _on_a_wider_base(study, option, support, found)
        if needs.on_base and (found.base_too_small or lower_may_do)
        else found
    )


def _sized_on(study: Study, option: str, face: Support, judged: Cases, needs: BlockNeeds) -> BlockNeeds:
    """What is needed, with the least block on this face as it is, judged once more; without a size where there is none."""
    block = _least(study, face, judged, needs)
    if face.block is None or block is None:
        return replace(needs, base_too_small=_presses_too_hard(study, face, judged, needs))
    whole = replace(face, block=block)
    again = evaluate(with_support(study, option, whole), option).values()
    made = [
        check
        for case in again
        for check in case.checks
        if check.where == face.name and check.check.startswith("block ")
    ]
    if not made or any(_used(check) > HELD for check in made):
        soil = (BASE, BEARING) if needs.on_base else (BASE,)
        return replace(needs, base_too_small=any(check.check in soil and _used(check) > HELD for check in made))
    length, width, height, density = (
        float(np.asarray(v)) for v in (block.length, block.width, block.height, block.density)
    )
    size = BlockSize(
        length=length,
        width=width,
        height=height,
        mass=length * width * height * density,
        governing=max(made, key=_used),
        base_pressure=max(
            float(base_under(SupportAsk(whole, case.supports[face.name], study.up), block).greatest) for case in again
        ),
        base_judged=any(check.check == BASE for check in made),
    )
    if needs.on_base and needs.mass:
        weighed = _needs(study, whole, again)
        needs = replace(needs, bearing_area=weighed.bearing_area, own_pressure=weighed.own_pressure, too_heavy=False)
    return replace(needs, size=size)


def _presses_too_hard(study: Study, support: Support, cases: Cases, needs: BlockNeeds) -> bool:
    """Whether it is the soil under a block that no length of it spares, though weight enough is found."""
    if support.block is None or needs.on_base or needs.mass is None:
        return False
    longest = replace(support, block=replace(support.block, length=LONGEST))
    return _most_used(study, longest, cases, BY_WEIGHT) <= HELD


def _on_a_wider_base(study: Study, option: str, support: Support, found: BlockNeeds) -> BlockNeeds:
    """The least width, length as given, with which the soil under a block that is pressed down bears its weight at some height."""
    block = support.block
    if block is None:
        return found
    step = STEP[study.units]

    def on(count: int) -> BlockNeeds:
        wide = replace(support, block=replace(block, width=round(count * step, 9)))
        again = list(evaluate(with_support(study, option, wide), option).values())
        return _sized_on(study, option, wide, again, replace(_needs(study, wide, again), widened=True))

    fails, most = int(float(np.asarray(block.width)) / step + SAME), round(LONGEST / step)
    top = min(fails + 1, most)
    while (held := on(top)).size is None:
        if top >= most:
            return found
        fails, top = top, min(2 * top, most)
    while top - fails > 1:
        middle = (fails + top) // 2
        tried = on(middle)
        fails, top, held = (middle, top, held) if tried.size is None else (fails, middle, tried)
    return held if held.size is None else replace(held, bearing_area=held.size.length * held.size.width)


def sharing_only(study: Study) -> Study:
    """The study with nothing of its joints but what shares the load: what a support carries does not rest on their tightening."""
    joints = {name: replace(joint, tightening=None, cycles_between=None) for name, joint in study.joints.items()}
    return replace(study, joints=joints)


def with_support(study: Study, option: str, support: Support) -> Study:
    """The study with a support of an option in place of the one of its name."""
    supports = tuple(support if each.name == support.name else each for each in study.supports[option])
    return replace(study, supports={**study.supports, option: supports})


def _used(check: Check) -> float:
    return float(np.asarray(check.utilization))


def _on_its_face(study: Study, option: str, support: Support, cases: Cases) -> tuple[Support, Cases, BlockNeeds]:
    """The block with a face that bears what it draws, the cases judged with it, and what it needs under those forces."""
    needs = _needs(study, support, cases)
    block = support.block
    has = None if block is None else block.bearing_area(support.toward, study.up)
    if block is None or has is None or needs.bearing_area is None or needs.bearing_area <= float(np.asarray(has)):
        return support, cases, needs

    def widened(area: float) -> tuple[Support, Cases, BlockNeeds]:
        wide = replace(support, block=replace(block, width=np.asarray(block.width) * area / float(np.asarray(has))))
        again = list(evaluate(with_support(study, option, wide), option).values())
        return wide, again, replace(_needs(study, wide, again), widened=True)

    area = needs.bearing_area
    for _ in range(TIMES):
        wide, again, needs = widened(area)
        if needs.bearing_area is None or needs.bearing_area <= area * (1.0 + SAME):
            across = float(np.asarray(has)) / float(np.asarray(block.width))
            wide, again, needs = widened(across * _up(area / across, STEP[study.units]))
            return wide, again, replace(needs, bearing_area=area)
        area = needs.bearing_area * SPARE
    return wide, again, replace(needs, bearing_area=area, settled=False)


def _up(value: float, step: float) -> float:
    """Rounded up to a multiple of a step."""
    return float(np.ceil(value / step - SAME)) * step


def _least(study: Study, support: Support, cases: Cases, needs: BlockNeeds) -> Block | None:
    """The block with the least of its free dimension that holds under the forces of its face; as it is where no weight is asked for."""
    block = support.block
    if block is None or needs.mass is None:
        return None
    if needs.mass == 0.0:
        return block
    step = STEP[study.units]
    first = round(_up(float(np.asarray(block.thrust_height)), step) / step) if needs.on_base else 1
    most = round(LONGEST / step)

    def tried(count: int) -> Block:
        value = round(count * step, 9)
        return replace(block, height=value) if needs.on_base else replace(block, length=value)

    # Longer, a block presses its base less; higher, it presses it more once it stands firmly.
    asked = BY_WEIGHT if needs.on_base else (*BY_WEIGHT, BASE)

    def used(count: int, checks: Collection[str] = asked) -> float:
        return _most_used(study, replace(support, block=tried(count)), cases, checks)

    fails, top = first - 1, max(first, 1)
    while used(top) > HELD:
        if top >= most:
            return None
        fails, top = top, min(2 * top, most)
    while top - fails > 1:
        middle = (fails + top) // 2
        fails, top = (fails, middle) if used(middle) <= HELD else (middle, top)
    while needs.on_base and top < most and HELD < used(top, (BASE,)) > used(top + 1, (BASE,)):
        top += 1
    return tried(top)


def _most_used(study: Study, support: Support, cases: Cases, checks: Collection[str]) -> float:
    """Greatest utilization of the checks named, with a block of this size under the forces found; infinite where none is made."""
    name = support.name
    made = [
        _used(check)
        for case in cases
        for check in judge_supports(study, {name: replace(case.supports[name], support=support)})[0]
        if check.check in checks
    ]
    return max(made, default=np.inf)


def _needs(study: Study, support: Support, cases: Cases) -> BlockNeeds:
    """Bearing area and mass that the worst case of each needs, for the factors that the user requires."""
    block, allow = support.block, support.allow
    asks = [SupportAsk(support, case.supports[support.name], study.up) for case in cases]
    force = max(max(float(np.asarray(ask.result.push)) for ask in asks), 0.0)
    on_base = pressed_down(support.toward, study.up)
    found = BlockNeeds(None, None, None, force=force, on_base=on_base)
    if block is None or allow is None:
        return found
    if allow.bearing is not None and allow.bearing_factor is not None:
        own = float(weight_borne(block, support.toward, study.up) / (np.asarray(block.length) * block.width))
        area = float(support_capacity.bearing_area(force, allow.bearing, allow.bearing_factor, own))
        heavy = np.isinf(area)
        found = replace(found, bearing_area=None if heavy else area, own_pressure=own, too_heavy=bool(heavy))
    uplift_factor, sliding, tipping = allow.uplift_factor, allow.sliding_factor, allow.overturning_factor
    if (
        uplift_factor is None
        or sliding is None
        or tipping is None
        or block.friction is None
        or block.thrust_height is None
    ):
        return found
    masses = []
    for ask in asks:
        uplift, level, _ = on_block(ask, block)
        moment, arm = overturning_moment(block, uplift, level), np.asarray(block.length) / 2.0
        factors = (uplift_factor, sliding, tipping)
        passive = 0.0 if block.passive is None else block.passive
        masses.append(support_capacity.block_mass(uplift, level, moment, block.friction, arm, factors, passive))
    mass = float(np.max(masses))
    if np.isnan(mass):  # no mass stops a block without friction
        return replace(found, stops=False)
    return replace(found, mass=mass, volume=mass / float(np.asarray(block.density)))
