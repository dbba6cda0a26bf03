"""What a tightening window says beside its ends: how near the tightening given is to one, and where the twist passes its share."""

from __future__ import annotations

import math
from collections.abc import Callable

from anchorsize.assessment.findings_preload import OF_YIELD
from anchorsize.studies.torque import TighteningWindow
from anchorsize.units import System

CLOSE = 0.1  # share to an end of the window under which a tightening is called close to it: common practice, no source


def close_words(found: TighteningWindow) -> str:
    """That the tightening given is near an end, where a check that does not grow with the load alike has a margin that looks larger."""
    over = 1.0 / found.least - 1.0 if found.least > 0.0 and not found.unsealed else math.inf
    under = found.greatest - 1.0 if found.greatest_by and not found.not_bounded else math.inf
    told = [
        f"{share:.1%} {way}" for share, way in ((over, "over the least"), (under, "under the most")) if share < CLOSE
    ]
    return f", which is CLOSE, only {' and '.join(told)}" if told else ""


def twist_words(found: TighteningWindow, shown: Callable[[float, str, System], str], system: System) -> str:
    """From where pull and twist together pass what they are kept to, below the upper end; empty where they do not before it."""
    if found.twisted is None:
        return ""
    value, kind = (found.preload, "force") if found.torque is None else (found.torque, "moment")
    return f"; OVER {shown(value * found.twisted, kind, system)} pull and twist pass {OF_YIELD:.0%} of yield"
