"""What a scatter holds: each check over all samples, the greatest of them, and the samples that could not be judged."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment import NotChecked
from anchorsize.studies.sampling import Scattered, Way
from anchorsize.study import Array, Study


@dataclass(frozen=True)
class Spread:
    """One utilization over the samples. ``fails`` is a share with its ``interval``, ``percentiles`` those of PERCENTILES [-].

    ``as_given`` is the utilization of the file as it stands, infinite where it cannot be judged. ``correlation`` is the rank
    correlation with each input, NaN where there is none. ``moved`` is False where every sample gives the same. ``beyond`` is the
    share beyond any limit: infinite, or not to be judged. ``mean`` and ``deviation`` [-] are of the other samples, NaN where
    these are too few. ``bolt`` governs most often, in the share ``bolt_share`` of the samples that could be judged.
    """

    as_given: float
    fails: float
    interval: tuple[float, float]
    percentiles: tuple[float, ...]
    correlation: tuple[float, ...]
    moved: bool
    beyond: float = 0.0
    mean: float = math.nan
    deviation: float = math.nan
    bolt: int | None = None
    bolt_share: float = 0.0


@dataclass(frozen=True)
class CheckSpread:
    """A check of a case over the samples."""

    case: str
    check: str
    where: str
    spread: Spread


@dataclass(frozen=True)
class Unjudged:
    """Samples that could not be judged for one reason, in the words of the first of them; counted as failing every check."""

    samples: int
    first: int
    why: str


@dataclass(frozen=True)
class Scatter:
    """A case file over many samples.

    ``checks`` stand in the order of the file; ``greatest`` is the greatest utilization of all checks of a sample, and
    ``variance`` the share of its variance that each input explains by itself (over the samples where it is finite). ``loaded``
    and ``loaded_variance`` are the same of the checks under load, None where every check is one or none is. ``bars`` are the
    edges and counts of the histogram of :attr:`shown`, of its finite samples.
    """

    study: Study
    option: str
    samples: int
    seed: int
    way: Way
    truncated: bool
    inputs: tuple[Scattered, ...]
    checks: tuple[CheckSpread, ...]
    greatest: Spread
    variance: tuple[float, ...]
    bars: tuple[Array, NDArray[np.int64]]
    unjudged: tuple[Unjudged, ...]
    unjudged_samples: int
    not_checked: tuple[NotChecked, ...]
    assumptions: tuple[str, ...]
    loaded: Spread | None = None
    loaded_variance: tuple[float, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def shown(self) -> tuple[Spread, tuple[float, ...]]:
        """What is drawn and whose drivers are told: the greatest under load, which a check of geometry cannot hide."""
        return (self.greatest, self.variance) if self.loaded is None else (self.loaded, self.loaded_variance)

    @property
    def verdict(self) -> str:
        """``fails`` if a check fails in any sample, else ``incomplete`` if a needed one was not made, else ``holds``."""
        if self.greatest.fails > 0.0:
            return "fails"
        return "incomplete" if any(item.needed for item in self.not_checked) else "holds"
