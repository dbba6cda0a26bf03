"""What the least sizes of the supports of an option come to when all of them are taken together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from anchorsize.assessment import assess
from anchorsize.assessment.results import StudyError
from anchorsize.studies.support_size import Sized
from anchorsize.studies.supports import Option
from anchorsize.study import Support


@dataclass(frozen=True)
class Together:
    """An option with every support that has a least size at that size: those that this changes, and the option judged so."""

    changed: tuple[Sized, ...]
    taken: Option


def together(option: Option, sizes: Sequence[Sized]) -> Together | None:
    """Judge an option with all the least sizes at once; None where nothing was found that is not as given."""
    changed = tuple(
        each for each in sizes if each.least_support is not None and _differs(each.support, each.least_support)
    )
    if option.assessment is None or not changed:
        return None
    least = {each.support.name: each.least_support or each.support for each in changed}
    supports = tuple(least.get(each.name, each) for each in option.supports)
    study = option.assessment.study
    study = replace(study, supports={**study.supports, option.name: supports})
    try:
        return Together(changed, Option(option.name, supports, assess(study, option.name)))
    except StudyError as error:
        return Together(changed, Option(option.name, supports, None, str(error)))


def _differs(given: Support, least: Support) -> bool:
    """Whether rod, section or block are of another size."""
    return not np.allclose(_sizes(given), _sizes(least), rtol=1e-9, atol=0.0)


def _sizes(support: Support) -> list[float]:
    """Areas, second moment and lengths that say how large a support is; 0 for what it has not."""
    section, block = support.section, support.block
    parts = [support.rod_area]
    parts += [None, None] if section is None else [section.area, section.second_moment]
    parts += [None, None, None] if block is None else [block.length, block.width, block.height]
    return [0.0 if part is None else float(np.asarray(part)) for part in parts]
