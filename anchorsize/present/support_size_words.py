"""What the sizing of a support found, in words."""

from __future__ import annotations

from anchorsize.assessment.checks_supports import POSTS
from anchorsize.present.support_words import kind_words
from anchorsize.present.words import used
from anchorsize.studies.support_size import Sized
from anchorsize.units import System, show


def size_lines(sized: Sized, system: System) -> list[str]:
    """What the sizing of one support found."""
    name = f"sizing {kind_words(sized.support)} '{sized.support.name}'"
    if sized.idle:
        return [f"{name}: it carries nothing in any case, so no size follows"]
    if sized.block is not None:
        return [f"{name}: {_block_words(sized, system)}"]
    least = sized.least
    if least is None:
        largest = sized.tried[-1]
        return [f"{name}: none of {len(sized.tried)} sizes up to {largest.size} holds"]
    governs = (
        ""
        if least.governing is None
        else f"; {least.governing.check} governs it at {used(least.governing.utilization)}"
    )
    allow, ends = sized.support.allow, sized.support.effective_length_factor
    judged = sized.support.kind not in POSTS or (
        ends is not None and allow is not None and allow.buckling_factor is not None
    )
    unsure = "" if judged else ", its buckling not checked"
    return [f"{name}: the least that holds is {least.size}{governs} (each size with its own stiffness{unsure})"]


def _block_words(sized: Sized, system: System) -> str:
    needs = sized.block
    words = []
    if needs is not None and needs.bearing_area is not None:
        words.append(f"bearing area (width × height) of {show(needs.bearing_area, 'area', system)}")
    if needs is not None and needs.mass is not None and needs.volume is not None:
        words.append(
            f"mass of {show(needs.mass, 'mass', system)}, {show(needs.volume, 'volume', system)} at its density"
        )
    if needs is not None and not needs.stops:
        words.append("mass that no block has: nothing stops it sliding without friction at its base")
    if not words:
        return "supply allow / bearing and bearing_factor for its area; block / friction, thrust_height and all factors for its mass"
    if needs is not None and not needs.settled:
        return (
            f"no bearing area was found that holds (tried up to {show(needs.bearing_area or 0.0, 'area', system)}): a larger block is stiffer "
            "and draws more load; another place, or a joint that gives less, would help"
        )
    longer = "" if needs is None or needs.mass is None else "; a longer base along the thrust adds mass and tips later"
    return f"needs {' and a '.join(words)}, at the forces that it draws at that size{longer}"
