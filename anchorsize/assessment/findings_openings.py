"""What a person should notice about the openings: one that is turned into the fitting, a free jet that takes fluid in.

Each function reads a study, or its evaluated cases with one row, and returns warnings of a stable kind.
"""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.distance import bore_of
from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.study import CONTENTS_WEIGHT, Array, Opening, Study
from anchorsize.units import show

CLEAR = 0.5  # cosine over which a place counts as lying ahead: within 60° of the direction; common practice, no source
BESIDE = 0.05  # cosine up to which a place behind an opening counts as lying in its plane, on neither side; no source
FLUSH = 0.25  # bores: that near the plane it must be too; a tap stands half a bore or more off the axis of its run; no source
TIGHT = (
    0.4  # bores: the tightest radius of a bend's centerline that is reckoned with, below any that is built; no source
)
AT_HAND = 1e-3  # bores: nearer than that a place is the opening's own


def notice_openings(study: Study, cases: dict[str, CaseResult]) -> tuple[Finding, ...]:
    """All findings about the openings, in the order in which a reader needs them."""
    return (
        *_turned_inward(study),
        *_jets_that_suck(study, cases),
        *_led_by_a_jet(study, cases),
        *_gas_that_weighs(study, cases),
    )


def _turned_inward(study: Study) -> list[Finding]:
    """Openings written out by hand whose outward points at all the rest of the fitting."""
    return [
        Finding(
            "outward points into the fitting",
            None,
            f"outward of opening '{name}' points into the fitting: {_told(study, name)} on that side. outward points away from the fitting, "
            "the way fluid would leave it, also where fluid comes in: turn its sign around, or the reaction is wrong in size and sign.",
            doubtful=True,
        )
        for name, opening in study.openings.items()
        if opening.path_moment is None and _inward(study, opening)  # a shape turns its own openings rightly
    ]


def _centers(study: Study) -> dict[str, Array]:
    """The centers of mass and contents, where they are known."""
    fitting = study.fitting
    given = {"its center of mass": fitting.mass_center, "the center of its contents": fitting.contents_center}
    return {what: np.asarray(place) for what, place in given.items() if place is not None}


def _told(study: Study, name: str) -> str:
    others = [f"'{other}'" for other in study.openings if other != name]
    parts = [*others, *_centers(study)]
    return f"{' and '.join([', '.join(parts[:-1]), parts[-1]]) if len(parts) > 1 else parts[0]} {'lie' if len(parts) > 1 else 'lies'}"


def _inward(study: Study, opening: Opening) -> bool:
    """Whether all that is known of the fitting lies on the outward side of an opening, and one place leaves no other reading."""
    others = [other for other in study.openings.values() if other.name != opening.name]
    places = [(other.center, other) for other in others] + [(place, None) for place in _centers(study).values()]
    sure = False
    for place, other in places:
        away = np.asarray(place) - opening.center
        distance = float(np.linalg.norm(away))
        if distance <= AT_HAND * bore_of(opening):
            continue
        ahead = float(away @ opening.outward)
        if ahead < -min(BESIDE * distance, FLUSH * bore_of(opening)):
            return False
        sure = sure or (ahead > CLEAR * distance and _no_return(opening, other, ahead, distance))
    return sure


def _no_return(opening: Opening, other: Opening | None, ahead: float, distance: float) -> bool:
    """Whether no bend that turns back can lead from an opening rightly written to a place so far ahead of it.

    A return bend with one long leg ends ahead of its first opening too. With c the cosine between the outward of both, one bend of
    radius R and legs of any length that does so ends at least ``ahead`` · tan(arccos c) + R (1 + c) off the axis of the opening; the
    same opening written the wrong way round on a plain bend, at most ``ahead`` · tan(arccos c). Where c is not positive no such bend
    exists. A center of mass or contents keeps the distance of a radius from the axis.
    """
    aside = float(np.sqrt(max(distance**2 - ahead**2, 0.0)))
    if other is None:
        return aside <= TIGHT * bore_of(opening)
    cosine = float(opening.outward @ other.outward)
    if cosine <= 1e-9:
        return True
    reach = ahead * float(np.sqrt(max(1.0 - cosine**2, 0.0))) / cosine
    return aside < reach + TIGHT * min(bore_of(opening), bore_of(other)) * (1.0 + cosine)


def _jets_that_suck(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """Free jets into which fluid would flow from the open air."""
    return [
        Finding(
            "free jet takes fluid in",
            case,
            f"'{name}' is a free jet, yet {show(abs(float(o.flow)), 'flow', study.units)} flow in through it, as the other flows of this case "
            "leave out more than they bring in. A free jet goes out into the air: a flow is wrong, or the opening is connected; write its "
            "flow and pressure.",
            doubtful=True,
        )
        for case, result in cases.items()
        for name, o in result.openings.items()
        if o.exit == "free_jet" and float(o.mass_flow) < 0.0
    ]


def _gas_that_weighs(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """Cases in which a gas leaves, nothing as heavy as the fluid flows, and the contents weigh as much as if full of the fluid."""
    found = []
    for case, result in cases.items():
        states, weight = study.cases[case].states, [load for load in result.loads if load.source == CONTENTS_WEIGHT]
        flowing = {name: o for name, o in result.openings.items() if float(o.mass_flow) != 0.0}
        gases = [name for name in flowing if states[name].gas is not None]
        heavy = 0.5 * float(np.min(study.fluid.density))
        if not gases or not weight or any(float(o.density) > heavy for name, o in flowing.items() if name not in gases):
            continue
        pull = show(float(np.linalg.norm(weight[0].force)), "force", study.units)
        found.append(
            Finding(
                "contents weigh as the fluid",
                case,
                f"A gas leaves at '{gases[0]}', yet the contents weigh as if full of {study.fluid.name}, {pull}: write contents: empty in the "
                "case, unless the fitting does stand full.",
                doubtful=True,
            )
        )
    return found


def _led_by_a_jet(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """Pipes that go on downstream whose pressure follows from a free jet beside them."""
    found = []
    for case, result in cases.items():
        states = study.cases[case].states
        jets = [name for name, state in states.items() if state.exit == "free_jet" and state.gas is None]
        led = [
            f"{show(float(o.pressure), 'pressure', study.units)} at '{name}'"
            for name, o in result.openings.items()
            if states[name].losses is not None and o.exit == "connected" and float(o.mass_flow) > 0.0
        ]
        if len(jets) == 1 and led:
            found.append(
                Finding(
                    "pressure follows from a free jet",
                    case,
                    f"By losses, {' and '.join(led)} {'follow' if len(led) > 1 else 'follows'} from the free jet at '{jets[0]}', whose pressure is "
                    "0: right where the pipe beyond sets no pressure of its own. Where it does, or a valve throttles the jet, write that "
                    "pressure as a figure.",
                )
            )
    return found
