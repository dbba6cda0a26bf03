"""What lines go on through behind openings without a joint: a bellows or a sliding coupling, on whose area the pressure pushes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from anchorsize.casefile.building import Building
from anchorsize.casefile.leaves import whole
from anchorsize.study import Case, Opening


def with_effective_areas(building: Building, openings: dict[str, Opening]) -> dict[str, Opening]:
    """The openings with the areas of the bellows and couplings behind them, judged against the bore and against joints there."""
    jointed = {entry.at: name for name, entry in whole(building.file.joints)}
    found = dict(openings)
    for name, entry in whole(building.file.beyond):
        path = ("beyond", name)
        building.remark(path, entry.note)
        if name not in building.opening_names:
            building.unknown(path, name, "opening", building.opening_names)
            continue
        if name in jointed:
            message = f"joint '{jointed[name]}' stands at '{name}', so its pipe is no bellows or sliding coupling"
            building.problem(
                path, message, "take one of them out; where the bellows is bolted on and holds nothing, the joint"
            )
        given = entry.effective_area
        opening = openings.get(name)
        if opening is None:
            continue
        if np.any(np.asarray(given.si) < np.asarray(opening.area) * (1.0 - 1e-6)):
            hint = (
                "the effective area of a bellows counts out to the middle of its waves, that of a sliding coupling to the outside of the "
                "pipe: give the area, not a diameter, and the whole of it, not what it has over the bore"
            )
            building.at_quantity(given, f"less than the bore of opening '{name}'", hint, "out_of_range")
        found[name] = replace(opening, effective_area=given.si)
    return found


def judge_connected(building: Building, cases: dict[str, Case]) -> None:
    """Say where what is beyond an opening never counts, for the line goes on behind it in no case."""
    for name in building.file.beyond:
        states = [case.states[name] for case in cases.values() if name in case.states]
        if states and all(state.exit != "connected" for state in states):
            building.problem(
                ("beyond", name),
                f"opening '{name}' is connected in no case, so nothing lies beyond it",
                "take it out, or leave the opening connected in the cases in which the line goes on",
            )
