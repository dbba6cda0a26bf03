"""Seeded samples of the inputs that a file gives with a ±, block by block, so that no number of them fills the memory.

Every block of samples is drawn by itself from the seed and its number. Within a block each input is stratified (a Latin
hypercube: one sample in each of as many equally likely strata as the block has rows, strata paired at random between inputs;
McKay, Beckman and Conover, Technometrics 21, 1979, from memory), or, if asked, drawn plainly.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist
from typing import Final, Literal, TypeAlias

import numpy as np

from anchorsize.assessment import StudyError
from anchorsize.casefile.parse import CaseText
from anchorsize.casefile.quantities import Quantity, Shape
from anchorsize.study import Array
from anchorsize.units import System, show

Way: TypeAlias = Literal["latin", "random"]

BLOCK: Final = 10_000
"""Rows of a block, the last one of a study excepted."""

NEGLIGIBLE: Final = 1e-3
"""Samples expected out of an input's range, of all that are drawn, under which its tail is cut without a word."""

_FARTHEST = 8.3  # standard deviations; beyond it lies less of a normal distribution than a float can tell from 0
_HALVINGS = 100

HOW_TO_SCATTER = "write one as '45 kPa ± 10 %', '45 ± 3 kPa', or {value: 45 kPa, plus_minus: 3 kPa, shape: uniform}"


@dataclass(frozen=True)
class Scattered:
    """An input with its distribution: ``center`` and ``half_width`` in SI; a normal one has two standard deviations to it.

    ``least`` and ``greatest`` [SI] are the values nearest to the ends of the distribution that the file could hold,
    ``below`` and ``above`` the shares of the distribution beyond them [-].
    """

    path: str
    given: str
    kind: str
    center: float
    half_width: float
    shape: Shape
    least: float
    greatest: float
    below: float
    above: float

    @property
    def outside(self) -> float:
        """Share of the distribution that lies where the input cannot be [-]."""
        return self.below + self.above

    def at(self, probability: Array) -> Array:
        """Values [SI] under which the shares ``probability`` (...) of the distribution within the range lie."""
        share = self.below + probability * (1.0 - self.outside)
        if self.shape == "uniform":
            values = self.center + self.half_width * (2.0 * share - 1.0)
        else:
            values = self.center + 0.5 * self.half_width * normal_quantile(share)
        return np.clip(values, self.least, self.greatest)


def scattered_inputs(case: CaseText) -> tuple[Scattered, ...]:
    """The inputs of a usable case file that carry a ±, in the order of the file.

    Raises
    ------
    StudyError
        Where there is none.
    """
    with_spread = [quantity for quantity in case.quantities.values() if quantity.plus_minus is not None]
    found = tuple(_scattered(quantity) for quantity in sorted(with_spread, key=lambda each: each.line))
    if not found:
        raise StudyError(f"{case.name}: no quantity carries a ±, so nothing scatters; {HOW_TO_SCATTER}")
    return found


def _scattered(quantity: Quantity) -> Scattered:
    center, half_width, shape = float(quantity.si), quantity.plus_minus or 0.0, quantity.shape or "normal"
    reach = half_width if shape == "uniform" else 0.5 * half_width * _FARTHEST
    least, greatest = _edge(quantity, center, center - reach), _edge(quantity, center, center + reach)
    below = 0.0 if least == center - reach else _share_under(center, half_width, shape, least)
    above = 0.0 if greatest == center + reach else 1.0 - _share_under(center, half_width, shape, greatest)
    path = "/".join(quantity.path)
    return Scattered(path, quantity.given, quantity.kind, center, half_width, shape, least, greatest, below, above)


def _edge(quantity: Quantity, possible: float, wanted: float) -> float:
    """The value nearest to ``wanted`` that the file could hold in place of the quantity, by halving from a ``possible`` one."""

    def holds(value: float) -> bool:
        return quantity.bounds.complaint(value, quantity.kind) is None

    if holds(wanted):
        return wanted
    for _ in range(_HALVINGS):
        middle = 0.5 * (possible + wanted)
        possible, wanted = (middle, wanted) if holds(middle) else (possible, middle)
    return possible


def _share_under(center: float, half_width: float, shape: Shape, value: float) -> float:
    if shape == "uniform":
        return 0.5 + 0.5 * (value - center) / half_width
    return NormalDist(center, 0.5 * half_width).cdf(value)


def require_range(inputs: tuple[Scattered, ...], samples: int, system: System) -> None:
    """Raise StudyError, naming every one, if inputs leave the range in which they can be."""
    out = [each for each in inputs if samples * each.outside > NEGLIGIBLE]
    if not out:
        return
    lines = [
        f"{each.path}: '{each.given}': {100.0 * each.outside:.2g} % of its samples would lie beyond what it can be, "
        + " and ".join(
            words
            for share, words in (
                (each.below, f"under {_limit(each, each.least, system)}"),
                (each.above, f"over {_limit(each, each.greatest, system)}"),
            )
            if share > 0.0
        )
        for each in out
    ]
    raise StudyError(
        "\n".join(lines)
        + "\nGive a narrower ±, or shape: uniform, which ends at its ±; --truncate draws inside the range only."
    )


def _limit(each: Scattered, value: float, system: System) -> str:
    """A limit in words; the least number over 0 that a search can find reads 0."""
    return show(value if abs(value) > 1e-9 * each.half_width else 0.0, each.kind, system)


def block(inputs: tuple[Scattered, ...], number: int, rows: int, seed: int, way: Way) -> dict[str, Array]:
    """Samples (rows) [SI] by key path of block ``number``, the same whatever else is drawn."""
    random = np.random.default_rng([seed, number])
    shares = random.random((len(inputs), rows))
    if way == "latin":
        strata = np.broadcast_to(np.arange(rows), shares.shape)
        shares = (random.permuted(strata, axis=1) + shares) / rows
    return {each.path: each.at(share) for each, share in zip(inputs, shares, strict=True)}


# Coefficients of AS 241, lowest power first: numerator and denominator of the middle, the near and the far tail.
_MIDDLE = (
    (
        3.3871328727963666080, 1.3314166789178437745e2, 1.9715909503065514427e3, 1.3731693765509461125e4,
        4.5921953931549871457e4, 6.7265770927008700853e4, 3.3430575583588128105e4, 2.5090809287301226727e3,
    ),
    (
        1.0, 4.2313330701600911252e1, 6.8718700749205790830e2, 5.3941960214247511077e3,
        2.1213794301586595867e4, 3.9307895800092710610e4, 2.8729085735721942674e4, 5.2264952788528545610e3,
    ),
)  # fmt: skip
_NEAR_TAIL = (
    (
        1.42343711074968357734, 4.63033784615654529590, 5.76949722146069140550, 3.64784832476320460504,
        1.27045825245236838258, 2.41780725177450611770e-1, 2.27238449892691845833e-2, 7.74545014278341407640e-4,
    ),
    (
        1.0, 2.05319162663775882187, 1.67638483018380384940, 6.89767334985100004550e-1,
        1.48103976427480074590e-1, 1.51986665636164571966e-2, 5.47593808499534494600e-4, 1.05075007164441684324e-9,
    ),
)  # fmt: skip
_FAR_TAIL = (
    (
        6.65790464350110377720, 5.46378491116411436990, 1.78482653991729133580, 2.96560571828504891230e-1,
        2.65321895265761230930e-2, 1.24266094738807843860e-3, 2.71155556874348757815e-5, 2.01033439929228813265e-7,
    ),
    (
        1.0, 5.99832206555887937690e-1, 1.36929880922735805310e-1, 1.48753612908506148525e-2,
        7.86869131145613259100e-4, 1.84631831751005468180e-5, 1.42151175831644588870e-7, 2.04426310338993978564e-15,
    ),
)  # fmt: skip


def normal_quantile(share: Array) -> Array:
    """The standard normal quantile of shares (...) in [0, 1] [-]: infinite at the ends.

    Algorithm AS 241 of Wichura, Applied Statistics 37, 1988, pages 477-484: rational approximations good to about one part in
    1e16. Written out because scipy would be a heavy dependency for one function; the tests hold it against scipy.
    """
    share = np.asarray(share, dtype=float)
    from_middle = share - 0.5
    quantile: Array = from_middle * _ratio(_MIDDLE, 0.180625 - from_middle * from_middle)
    tail = np.abs(from_middle) > 0.425
    side = from_middle[tail]
    beyond = np.where(side < 0.0, share[tail], 1.0 - share[tail])
    with np.errstate(divide="ignore"):
        depth = np.sqrt(-np.log(beyond))
    # At the very end depth is infinite and the ratio of two infinities no number.
    finite = np.minimum(depth, 40.0)
    size = np.where(finite <= 5.0, _ratio(_NEAR_TAIL, finite - 1.6), _ratio(_FAR_TAIL, finite - 5.0))
    quantile[tail] = np.copysign(np.where(np.isinf(depth), np.inf, size), side)
    return quantile


def _ratio(coefficients: tuple[tuple[float, ...], tuple[float, ...]], x: Array) -> Array:
    above, below = (_polynomial(each, x) for each in coefficients)
    return np.divide(above, below, out=above)


def _polynomial(coefficients: tuple[float, ...], x: Array) -> Array:
    total = np.full(x.shape, coefficients[-1])
    for each in reversed(coefficients[:-1]):
        total *= x
        total += each
    return total
