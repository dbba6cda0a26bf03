"""The assumptions in short, for the fine print of the printed sheet; on the screen, and by every other command, they stand in full."""

from __future__ import annotations

import re
from collections.abc import Iterable

SHORT: tuple[tuple[str, str], ...] = (
    (r"Steady flow, uniform", "steady flow, uniform, no swirl; gauge pressures"),
    (r"The flange and the fitting are rigid;", "rigid flange and fitting, bolt loads linear over the bolt group"),
    (r"Bolt shear is shared out", "bolt shear shared out like the tension"),
    (
        r"External tensions and shears come",
        "external tension and shear before preload, no bolt shear taken by friction",
    ),
    (
        r"Neither the strength and tilting of the flange",
        "flange strength and nut pressure not judged",
    ),
    (r"Corrosion, and whatever else", "no corrosion"),
    (r"The pipe that goes on at (.+?) holds nothing", r"the pipe beyond \1 holds nothing, as behind an untied bellows"),
    (r"Pressure at (.+?) pushes on the bore alone", "pressing on the bore"),
    (r"Pressure acts out to the gasket reaction", "pressure out to diameter G of ASME VIII-1 App. 2"),
    (
        r"The gasket of joint (.+?) is pressed over its whole width",
        r"gasket of \1 pressed over its whole width, no raised face being known",
    ),
    (r"The gasket factors m and y are for a new", "m and y of a new gasket, nothing said of one used before"),
    (
        r"Service tension and face:",
        "bolts only pull, the gasket only pushes, both linear; all bolts at one end of the scatter at once, tightened without loss to "
        "each other",
    ),
    (
        r"Against finite elements",
        "against finite elements the rigid flange put bolt tension -12 to +57 % off (minus is unsafe) and clamp up to 49 % too high",
    ),
    (r"A bolt found at under (\S+) of the tightest", r"a bolt found at under \1 of the tightest carries nothing"),
    (r"No thread length in the grip", "whole grip threaded"),
    (r"The mass of the shape is its bare wall; beside it count only (.+)\.$", r"mass: the bare wall and \1 only"),
    (r"Momentum-flux factor 1", "uniform velocity at every opening"),
    (r"No form of tension with shear", "tension with shear in its linear form, the strictest"),
    (r"Dynamic factors multiply", "dynamic factors on thrusts only"),
    (r"The fitting is a rigid body on its joints", "joints and supports as linear springs"),
    (
        r"The pipe behind a joint is a straight",
        "pipe behind a joint as a straight cantilever, no growth by heat or pressure",
    ),
    (r"Friction at a support is elastic", "friction at supports elastic until it slides"),
)
"""How an assumption begins that many sheets have, and what it comes to; all others are told whole."""


def in_short(assumptions: Iterable[str]) -> str:
    """All assumptions in one line: what many sheets have in short, all else whole and before it."""
    whole: list[str] = []
    common: list[str] = []
    for line in assumptions:
        short = next((found.expand(words) for start, words in SHORT if (found := re.match(start, line))), None)
        (whole if short is None else common).append(line if short is None else short)
    told = [f"Assumed, in short (in full on the screen and by 'check'): {'; '.join(common)}."] if common else []
    return " ".join([*whole, *told])
