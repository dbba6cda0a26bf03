"""What the sizing of a support found, in words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from anchorsize.assessment.buckling import POSTS
from anchorsize.assessment.findings_rods import thinner
from anchorsize.assessment.findings_support_data import SLENDER_POST, more_than_bearing
from anchorsize.assessment.results import Assessment
from anchorsize.present.support_words import kind_words
from anchorsize.present.words import used
from anchorsize.studies.block_size import STEP, BlockNeeds, BlockSize
from anchorsize.studies.support_size import Sized
from anchorsize.studies.support_together import together
from anchorsize.studies.supports import Option, Peak
from anchorsize.study import Study, Support
from anchorsize.units import System, show


def size_lines(sized: Sized, study: Study) -> list[str]:
    """What the sizing of one support found."""
    name = f"sizing {kind_words(sized.support)} '{sized.support.name}'"
    if sized.idle:
        return [f"{name}: it carries nothing in any case, so no size follows"]
    if sized.block is not None:
        return [f"{name}: {_block_words(sized.block, sized.support, study)}"]
    least = sized.least
    if least is None:
        largest = sized.tried[-1]
        return [f"{name}: none of {len(sized.tried)} sizes up to {largest.size} holds"]
    governs = (
        ""
        if least.governing is None
        else f"; {least.governing.words} governs it at {used(least.governing.utilization)}"
    )
    allow, ends = sized.support.allow, sized.support.effective_length_factor
    judged = sized.support.kind not in POSTS or (
        ends is not None and allow is not None and allow.buckling_factor is not None
    )
    unsure = "" if judged else ", its buckling not checked"
    thin = thinner(study, sized.support, least.size) if sized.support.rod is not None else ""
    first = ", and it is the smallest tried" if least is sized.tried[0] and len(sized.tried) > 1 else ""
    return [
        f"{name}: the least whose own checks hold is {least.size}{governs}{first} (each size with its own stiffness, the others as given{unsure})"
        + (f"; {thin}" if thin else "")
    ]


def together_lines(option: Option, sizes: Sequence[Sized], study: Study) -> list[str]:
    """What all the least sizes come to when taken together: the verdict, and what acts on the joint against as given."""
    found = together(option, sizes)
    if found is None:
        return []
    listed = ", ".join(f"{each.support.name} {_least_words(each, study.units)}" for each in found.changed)
    others = len(option.supports) - len(found.changed)
    lead = "All the least ones together" if len(found.changed) > 1 else "With the least one"
    rest = f", {'the other' if others == 1 else 'the others'} as given" if others else ""
    then = found.taken
    if then.assessment is None:
        return [f"{lead} ({listed}{rest}): cannot be judged: {then.refused}"]
    if then.failing:
        worst = f"{then.failing[0][1].words} of '{then.failing[0][1].where}' in '{then.failing[0][0]}'"
        verdict = f"FAILS {len(then.failing)} check{'s' if len(then.failing) > 1 else ''}; worst: {worst}, {used(then.failing[0][1].utilization)}"
        verdict += (
            "; as given the option holds: stay with the sizes given, or try sizes between" if option.holds else ""
        )
    else:
        verdict = {"holds": "holds", "fails": "FAILS", "incomplete": "no check made fails, not complete"}[
            then.assessment.verdict
        ]
    governs = (
        ""
        if then.failing or then.governing is None
        else f", greatest utilization {used(then.governing[1].utilization)}"
    )
    actions = [words for words in (_against(*each, study.units) for each in _actions(option, then)) if words]
    on_joint = f". Greatest on the joint: {'; '.join(actions)}" if actions else ""
    doubted = " ON DOUBTFUL INPUT" if then.assessment.doubtful else ""
    return [f"{lead} ({listed}{rest}): {verdict}{doubted}{governs}{on_joint}", *_only_then(option, then.assessment)]


def _only_then(option: Option, then: Assessment) -> list[str]:
    """What is in doubt, or slender, with the least sizes and not as given."""
    as_given = () if option.assessment is None else option.assessment.warnings
    known = {each.message for each in as_given if each.doubtful or each.kind == SLENDER_POST}
    told = [each.message for each in then.warnings if each.doubtful or each.kind == SLENDER_POST]
    return [f"With the least: {message}" for message in told if message not in known]


def _least_words(sized: Sized, system: System) -> str:
    """The least size as told."""
    if sized.least is not None:
        return sized.least.size
    size = None if sized.block is None else sized.block.size
    return (
        ""
        if size is None
        else " × ".join(show(side, "length", system) for side in (size.length, size.width, size.height))
    )


def _actions(given: Option, then: Option) -> list[tuple[str, str, Peak | None, Peak | None]]:
    """The greatest actions on the joint, each with its kind, as given and then."""
    return [
        ("axial", "force", given.joint_axial, then.joint_axial),
        ("shear", "force", given.joint_shear, then.joint_shear),
        ("bending", "moment", given.joint_bending, then.joint_bending),
        ("torsion", "moment", given.joint_torsion, then.joint_torsion),
    ]


def _against(name: str, kind: str, given: Peak | None, then: Peak | None, system: System) -> str:
    """The greatest of one action then, and as given; nothing where there is none."""
    if given is None or then is None:
        return ""
    before, after = (show(peak.value, kind, system) for peak in (given, then))
    if not given.value and not then.value:
        return ""
    return f"{name} {after} (as given {before})" if before != after else f"{name} {after}, as given"


ASKED_FOR = "supply allow / bearing and bearing_factor for its area; block / friction, thrust_height and all factors for its mass"


def _block_words(needs: BlockNeeds, support: Support, study: Study) -> str:
    """What the bearing face draws and whether it bears that, then what weight the rest of the block must give."""
    system = study.units
    if not needs.stops:
        return "no mass will do: nothing stops it sliding without friction at its base"
    if needs.too_heavy:
        return _heavy_words(needs, support, system)
    if needs.bearing_area is None and needs.mass is None:
        return ASKED_FOR
    if not needs.settled:
        return (
            f"no bearing area was found that holds (tried up to {show(needs.bearing_area or 0.0, 'area', system)}): a larger block is stiffer "
            "and draws more load; another place, or a joint that gives less, would help"
        )
    said = [*_face_words(needs, support, system), *_weight_words(needs, support, study)]
    return "; ".join(said)


def _heavy_words(needs: BlockNeeds, support: Support, system: System) -> str:
    """That the weight alone, at the height given, is too much for the soil that the block is pressed down on."""
    alone = show(needs.own_pressure, "pressure", system)
    allow = support.allow
    may = "" if allow is None or allow.bearing is None else show(float(np.asarray(allow.bearing)), "pressure", system)
    factor = "" if allow is None or allow.bearing_factor is None else f"{float(np.asarray(allow.bearing_factor)):g}"
    return (
        f"no area holds: at the height given its weight alone presses the soil under it with {alone}, and {factor} times that is not less "
        f"than its bearing of {may}: a lower or lighter block, or soil that bears more, is needed"
    )


def _face_words(needs: BlockNeeds, support: Support, system: System) -> list[str]:
    """The face that bears, and what it draws."""
    sides = "length × width" if needs.on_base else "width × height"
    drawn = show(needs.force, "force", system)
    weight = needs.own_pressure > 0.0
    if needs.bearing_area is None:
        return [f"draws up to {drawn}; for its bearing face supply allow / bearing and bearing_factor"]
    if needs.widened and needs.size is not None:
        other, weighs = ("length", " and weighs") if needs.on_base else ("height", "")
        width = show(needs.size.width, "length", system)
        return [
            f"its bearing face ({sides}) is too small for what it draws{weighs}; with a width of {width}, {other} as given, it bears the {drawn} that it draws then{' and its own weight' if weight else ''}"
        ]
    if needs.widened:
        return [
            f"its bearing face ({sides}) is too small; {show(needs.bearing_area, 'area', system)} bears what such a face draws{' and the weight on it' if weight else ''}"
        ]
    softer = "" if support.stiffness is not None else ", though a smaller face is softer and draws less"
    area = show(needs.bearing_area, "area", system)
    both, force = (
        (" and its own weight", "this force with the weight on such an area") if weight else ("", "this force")
    )
    return [
        f"its bearing face ({sides}) as given bears the {drawn} that it draws{both} ({force} needs {area} of it{softer})"
    ]


def _floor_words(needs: BlockNeeds, value: float, support: Support, system: System) -> str:
    """What stops the free dimension [m] from being less, where that is not a check."""
    thrust = None if support.block is None else support.block.thrust_height
    if needs.on_base and thrust is not None and value < float(np.asarray(thrust)) + STEP[system]:
        return f", not less than its thrust_height of {show(float(np.asarray(thrust)), 'length', system)}"
    return ", the least that is tried" if value <= STEP[system] else ""


def _weight_words(needs: BlockNeeds, support: Support, study: Study) -> list[str]:
    """The least of the dimension that adds weight on this face, ready to be entered."""
    system = study.units
    if needs.mass is None:
        return ["for its weight supply block / friction, thrust_height and all factors"]
    if needs.mass == 0.0 and not needs.base_too_small:
        return ["nothing pushes it sideways or lifts it, so no weight is asked for"]
    size = needs.size
    if needs.base_too_small:
        way = "high" if needs.on_base else "long"
        return [
            f"the soil under its base gets more than it may however {way} it is made: a larger base or a lower block is needed"
        ]
    if size is None:
        return [f"at the length given it needs a mass of {show(needs.mass, 'mass', system)}"]
    value = size.height if needs.on_base else size.length
    return [
        f"on this face the least {needs.free} that holds is {show(value, 'length', system)} ({show(size.mass, 'mass', system)})"
        f"{_floor_words(needs, value, support, system)}; "
        f"{size.governing.words} governs at {used(size.governing.utilization)}",
        *_base_words(size, support, study),
    ]


def _base_words(size: BlockSize, support: Support, study: Study) -> list[str]:
    """What the soil under the block of this size gets, where nothing says what it may."""
    if size.base_judged:
        return []
    over = more_than_bearing(study, support, size.base_pressure)
    under = show(size.base_pressure, "pressure", study.units)
    return [
        f"the soil under this size gets up to {under}{over and f', {over}'}: not checked; give allow / base_bearing to size for it"
    ]
