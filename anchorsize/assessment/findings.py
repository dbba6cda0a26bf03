"""What a person should notice in the numbers: uplift, reversals, bolts that pull in one case only, what dominates.

Each function reads the evaluated cases of a study with one row (no batch axes) and returns warnings of a stable kind.
"""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.holding import stiffness_known
from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.mechanics import energy, momentum, surge
from anchorsize.study import Study
from anchorsize.units import show

NEGLIGIBLE = 1e-6  # share of the greatest load below which a component counts as zero
HIGH_LOSS = 5.0  # loss coefficient over which a fitting's pressures are doubted: common practice, no source
FAR_OFF = 2.0  # spans of the openings beyond which a center of mass is doubted: common practice, no source


def notice(study: Study, cases: dict[str, CaseResult]) -> tuple[Finding, ...]:
    """All findings of a study, in the order in which a reader needs them."""
    return (
        *_uplift(study, cases),
        *_vertical_reversal(cases),
        *_turning_reaction(cases),
        *_bolts_that_alternate(study, cases),
        *_dominant_source(cases),
        *_energy(study, cases),
        *_surge_legs(study, cases),
        *_missing_bolts(study),
        *_without_gasket(study),
        *_without_weight(study),
        *_far_off(study),
        *_flow_change(study, cases),
        *_several_joints(study, cases),
        *_pipe_behind(study, cases),
    )


def load_scale(result: CaseResult) -> float:
    """Sum of the magnitudes of all loads [N], the yardstick for what is negligible."""
    return float(sum(np.linalg.norm(load.force) for load in result.loads))


def _vertical_sign(result: CaseResult) -> int:
    vertical = float(result.vertical_reaction)
    return 0 if abs(vertical) <= NEGLIGIBLE * max(load_scale(result), 1e-300) else int(np.sign(vertical))


def _uplift(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    return [
        Finding(
            "uplift",
            name,
            f"The vertical reaction is {show(abs(float(result.vertical_reaction)), 'force', study.units)} downward: the fitting wants to rise, so the "
            "bolts and supports must hold it down, and a support that only pushes up from below does nothing.",
        )
        for name, result in cases.items()
        if _vertical_sign(result) < 0
    ]


def _vertical_reversal(cases: dict[str, CaseResult]) -> list[Finding]:
    down = [name for name, result in cases.items() if _vertical_sign(result) < 0]
    up = [name for name, result in cases.items() if _vertical_sign(result) > 0]
    if not (down and up):
        return []
    return [
        Finding(
            "vertical reaction reverses",
            None,
            f"The vertical reaction points down in {_listed(down)} and up in {_listed(up)}: a support must be able to pull and to "
            "push, and loose bolts would work back and forth.",
        )
    ]


def _turning_reaction(cases: dict[str, CaseResult]) -> list[Finding]:
    """Pairs of cases whose reactions differ by more than a right angle; the widest pair is named."""
    forces = {
        name: np.asarray(result.reaction_force)
        for name, result in cases.items()
        if np.linalg.norm(result.reaction_force) > NEGLIGIBLE * max(load_scale(result), 1e-300)
    }
    names = list(forces)
    widest, pair = 90.0, None
    for i, first in enumerate(names):
        for second in names[i + 1 :]:
            a, b = forces[first], forces[second]
            angle = float(np.degrees(np.arctan2(np.linalg.norm(np.cross(a, b)), a @ b)))
            if angle > widest:
                widest, pair = angle, (first, second)
    if pair is None:
        return []
    return [
        Finding(
            "reaction turns around",
            None,
            f"The reaction points {widest:.0f}° apart in '{pair[0]}' and '{pair[1]}': what holds the fitting in one of them does not "
            "hold it in the other, so judge supports and bolts in both.",
        )
    ]


def _bolts_that_alternate(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    found = []
    for name, joint in study.joints.items():
        rows = [result.joints[name].external_tension for result in cases.values() if name in result.joints]
        if not rows:
            continue
        tension = np.stack(rows)
        small = NEGLIGIBLE * max(float(np.max(np.abs(tension))), 1e-300)
        alternates = (tension > small).any(axis=0) & (tension < -small).any(axis=0)
        numbers = [str(number) for number, yes in zip(joint.bolts.numbers, np.ravel(alternates), strict=True) if yes]
        if numbers:
            found.append(
                Finding(
                    "bolt pulls in some cases only",
                    None,
                    f"Joint '{name}': bolt{'s' if len(numbers) > 1 else ''} {', '.join(numbers)} pull in some cases and are pressed in "
                    "others, so their load alternates: preload must cover both, and fatigue counts if the cases repeat.",
                )
            )
    return found


def _dominant_source(cases: dict[str, CaseResult]) -> list[Finding]:
    """The greatest load of each case, gathered by source."""
    shares: dict[str, list[str]] = {}
    for name, result in cases.items():
        total = load_scale(result)
        if total > 0.0:
            top = max(result.loads, key=lambda load: float(np.linalg.norm(load.force)))
            share = float(np.linalg.norm(top.force)) / total
            shares.setdefault(top.source, []).append(f"'{name}' ({share:.0%})")
    return [
        Finding(
            "dominant source",
            None,
            f"'{source}' is the greatest load in {', '.join(where)}, in percent of the sum of all load magnitudes: check its "
            "data first.",
        )
        for source, where in shares.items()
    ]


def _energy(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """Openings whose pressures and flows would need a pump inside the fitting; pressures at which the fluid boils."""
    found = []
    for name, result in cases.items():
        states = study.cases[name].states
        liquid = [n for n, o in result.openings.items() if o.exit != "capped" and states[n].gas is None]
        if result.energy is not None and bool(result.energy.gains):
            found.append(_energy_gain(study, name, float(result.energy.head_loss)))
        elif result.energy is not None and float(result.energy.loss_coefficient) > HIGH_LOSS:
            found.append(_high_loss(name, float(result.energy.loss_coefficient), result.energy.velocity_at))
        found += _boiling(study, name, result, liquid)
    return found


def _energy_gain(study: Study, name: str, loss: float) -> Finding:
    return Finding(
        "energy gained",
        name,
        f"The data contradict themselves: the fluid would leave with {show(abs(loss), 'length', study.units)} more total head "
        "than it brings in. A pressure, a flow or a bore is wrong, so neither is the reaction right.",
    )


def _high_loss(name: str, coefficient: float, at: str) -> Finding:
    return Finding(
        "high loss",
        name,
        f"The pressures given imply a loss coefficient of {coefficient:.3g} on the velocity at {at}. That is much for a fitting "
        "(well under 5 is usual): check pressures, flow and bores, or whether a valve or nozzle stands between.",
    )


def _surge_legs(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """The force of the travelling wave on the pipe that brings it: not in the fitting's reaction, but someone's to hold."""
    found = []
    for name in cases:
        for opening, state in study.cases[name].states.items():
            wave = state.surge
            if wave is None:
                continue
            length = 1e9 if wave.pipe_length is None else wave.pipe_length
            closing = 0.0 if wave.closing_time is None else wave.closing_time
            rise, area = cases[name].openings[opening].surge_rise, study.openings[opening].area
            force = float(surge.leg_force(rise, area, length, wave.wave_speed, closing))
            found.append(
                Finding(
                    "wave in a leg",
                    name,
                    f"While the wave runs along a straight leg of the pipe at '{opening}', it pushes that leg along its axis with up "
                    f"to {show(force, 'force', study.units)}. That is not in the fitting's reaction: the pipe's own anchors must "
                    "hold it. A dynamic factor of 2 is common practice for a sudden load (no source).",
                )
            )
    return found


def _boiling(study: Study, name: str, result: CaseResult, flowing: list[str]) -> list[Finding]:
    vapor, ambient = study.fluid.vapor_pressure, study.ambient
    if vapor is None or ambient is None:
        return []
    return [
        Finding(
            "cavitation",
            name,
            f"At '{opening}' the absolute pressure falls below the vapor pressure: the liquid would boil there, and the forces of "
            "this case are not to be trusted.",
        )
        for opening in flowing
        if float(energy.vapor_margin(result.openings[opening].pressure, ambient, vapor)) < 0.0
    ]


def _missing_bolts(study: Study) -> list[Finding]:
    return [
        Finding(
            "missing bolts",
            None,
            f"Joint '{name}' is judged without bolt {', '.join(map(str, joint.bolts.missing))} of {len(joint.bolts.numbers)}: the "
            "rest carry its share, and the face next to a gap is the first to leak; put the bolt in before pressure comes on.",
        )
        for name, joint in study.joints.items()
        if joint.bolts.missing
    ]


def _without_gasket(study: Study) -> list[Finding]:
    return [
        Finding(
            "no gasket given",
            None,
            f"Joint '{name}' has no gasket: pressure is taken to act on the bore only; a gasket lets it act farther out, which adds to "
            "the bolt tension. Give the gasket's inside and outside diameters.",
        )
        for name, joint in study.joints.items()
        if joint.gasket is None
    ]


def _without_weight(study: Study) -> list[Finding]:
    absent = [
        what for what, value in (("mass", study.fitting.mass), ("contents", study.fitting.contents)) if value is None
    ]
    if not absent:
        return []
    return [
        Finding(
            "weight left out",
            None,
            f"The fitting's {' and '.join(absent)} {'is' if len(absent) == 1 else 'are'} not given, so that weight is not in the "
            "reaction: uplift looks worse and downward load better than it is.",
        )
    ]


def _far_off(study: Study) -> list[Finding]:
    """Centers of mass that lie far outside the openings: a slip of unit or sign."""
    centers = np.array([opening.center for opening in study.openings.values()])
    span = float(np.max(np.linalg.norm(centers[:, None] - centers[None], axis=-1)))
    fitting, found = study.fitting, []
    centers_of = [("mass_center", fitting.mass_center), ("contents_center", fitting.contents_center)]
    centers_of += [(f"center of '{each.name}'", each.center) for each in fitting.extra_masses]
    for what, center in centers_of:
        if center is None or span == 0.0:
            continue
        away = float(np.min(np.linalg.norm(centers - center, axis=-1)))
        if away > FAR_OFF * span:
            found.append(
                Finding(
                    "center far off",
                    None,
                    f"The {what} lies {show(away, 'length', study.units)} from the nearest opening, while the openings are at most "
                    f"{show(span, 'length', study.units)} apart: is its unit right?",
                )
            )
    return found


def _flow_change(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    if all(opening.path_moment is not None for opening in study.openings.values()):
        return []
    return [
        Finding(
            "moment of the flow change estimated",
            name,
            "The moment of the changing flow is worked out along straight lines between the openings, since the fitting's centerline is "
            "not known; its force is exact. Build the fitting from its shape to have both.",
        )
        for name, result in cases.items()
        if any(load.source == "flow change" for load in result.loads)
    ]


def _several_joints(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    if len(study.joints) < 2 or any(result.joints for result in cases.values()):
        return []
    loose = [name for name, joint in study.joints.items() if not stiffness_known(joint)]
    return [
        Finding(
            "shared by several joints",
            None,
            f"{len(study.joints)} joints ({', '.join(study.joints)}) share the reaction in a way that only their stiffness decides: the "
            "total reaction is shown, the bolts of each joint and the supports are not judged. Give stiffness or pipe_behind to "
            f"{_listed(loose)}.",
        )
    ]


def _pipe_behind(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """What the pipe behind a joint gets at its fixed end: its strength and sag are someone's to check."""
    found = []
    for name, joint in study.joints.items():
        pipe = joint.pipe_behind
        if pipe is None or not all(name in result.joints for result in cases.values()):
            continue
        end = joint.center + np.asarray(pipe.length) * study.openings[joint.at].outward
        moments = {}
        for case, result in cases.items():
            held = result.joints[name]
            moment = momentum.transfer(held.reaction_force, held.reaction_moment, joint.center, end)
            axis = study.openings[joint.at].outward
            moments[case] = float(np.linalg.norm(moment - float(moment @ axis) * axis))
        worst = max(moments, key=lambda case: moments[case])
        inside = np.asarray(pipe.outside) - 2.0 * np.asarray(pipe.wall)
        modulus = float(np.pi / 32.0 * (np.asarray(pipe.outside) ** 4 - inside**4) / pipe.outside)
        found.append(
            Finding(
                "pipe behind not checked",
                None,
                f"The pipe behind joint '{name}' is used for its stiffness only; its strength, sag and fixed end are not checked. It gets a "
                f"bending moment of up to {show(moments[worst], 'moment', study.units)} at its fixed end in '{worst}', M/Z = "
                f"{show(moments[worst] / modulus, 'stress', study.units)}, its own weight and pressure not counted: judge it by the piping "
                "code that applies.",
            )
        )
    return found


def _listed(names: list[str]) -> str:
    return ", ".join(f"'{name}'" for name in names)
