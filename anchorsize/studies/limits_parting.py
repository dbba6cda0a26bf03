"""From which stopped flow on the column of liquid parts after a surge: no check counts that, so that limits say it beside."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment.findings_surge_closing import boils_under
from anchorsize.assessment.hot import LIQUID
from anchorsize.assessment.states import opening_states
from anchorsize.studies.curve import scaled
from anchorsize.study import Array, Study

STEPS = 201  # of a look between two flows
LOOKS = 3  # each within one step of the last: to 1 in 8 million of the whole


def parts_above(study: Study, name: str, flows: tuple[float, float | None], squared: bool) -> float | None:
    """The least flow [m³/s] from which on the fall after a surge parts the column, along the rule; None where none does.

    ``flows`` are the case's own and the greatest that holds, None where that is none; looked at up to the greater of the two. After the
    rise the pressure may fall as far below that before the stop.
    """
    if all(state.surge is None for state in study.cases[name].states.values()):
        return None
    own, greatest = flows
    low, high = 0.0, 1.0 if greatest is None else max(1.0, greatest / own)
    for _ in range(LOOKS):
        multiples = np.linspace(low, high, STEPS)
        parts = _parts(study, name, multiples, squared)
        if not np.any(parts):
            return None
        first = int(np.argmax(parts))
        low, high = float(multiples[max(first - 1, 0)]), float(multiples[first])
    return own * high


def _parts(study: Study, name: str, multiples: Array, squared: bool) -> NDArray[np.bool_]:
    """Whether the column parts at some opening with a surge of its own, or at the highest point, at each multiple of the flow."""
    moved = scaled(study, name, multiples, multiples**2 if squared else 1.0)
    openings = opening_states(moved, moved.cases[name])
    parts = np.zeros(multiples.shape, dtype=np.bool_)
    for place, state in moved.cases[name].states.items():
        o = openings[place]
        if state.surge is not None and state.gas is None:
            least = boils_under(study, place, float(np.max(o.density)))
            falls = (np.asarray(o.surge_rise) > 0.0) & (np.asarray(o.density) > LIQUID)
            parts = parts | (falls & (np.asarray(o.pressure - 2.0 * o.surge_rise) < least))
    return parts
