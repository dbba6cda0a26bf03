"""Study → numbers: the loads on the fitting, the reaction, the actions on each joint and bolt, per operating case.

Works on any batch shape; nothing here is worded for people (see :mod:`anchorsize.assessment.findings`).
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache, partial

import numpy as np

from anchorsize.assessment.audit import energy_audit
from anchorsize.assessment.buckling import with_euler_loads
from anchorsize.assessment.checks import judge
from anchorsize.assessment.checks_cycles import with_fatigue
from anchorsize.assessment.checks_supports import judge_supports
from anchorsize.assessment.clamping import Clamping, clamping, service
from anchorsize.assessment.holding import Holding, Wrench, chosen_option, holding, how_joints_share, share_out
from anchorsize.assessment.hot import unknown_boiling
from anchorsize.assessment.refusing import Refuse, raise_at_once
from anchorsize.assessment.results import (
    CaseResult,
    JointResult,
    Load,
    NotChecked,
    NotHeldError,
    OpeningResult,
    StudyError,
    axial_demand,
)
from anchorsize.assessment.scale import Scale, action_scale, given_in, resolved
from anchorsize.assessment.states import opening_states
from anchorsize.mechanics import bolt_group, continuity, frames, gasket, momentum, unsteady
from anchorsize.study import CONTENTS_WEIGHT, FITTING_WEIGHT, FLOW_CHANGE, Array, Case, Joint, Number, Opening, Study


def evaluate(study: Study, option: str | None = None, refuse: Refuse = raise_at_once) -> dict[str, CaseResult]:
    """Evaluate every operating case of ``study`` with the supports of ``option`` (the first of the file if left out).

    Rows of a batch that cannot be judged go to ``refuse``; as it stands it raises.

    Raises
    ------
    StudyError
        Where the study cannot be judged: flows that do not close, a bolt pattern that cannot carry the moment.
    """
    chosen = chosen_option(study, option)
    held = holding(study, chosen)
    clamped = _clamped(study, held, refuse)
    cases = {name: _case(study, case, chosen, held, clamped, refuse) for name, case in study.cases.items()}
    return with_fatigue(study, with_euler_loads(study, cases))


def evaluate_case(
    study: Study, case: Case, option: str | None = None, refuse: Refuse = raise_at_once, held: Holding | None = None
) -> CaseResult:
    """Evaluate one operating case of ``study`` as :func:`evaluate` does; fatigue, which needs two, is left out.

    ``held`` holds the fitting in place of what the option says.
    """
    chosen = chosen_option(study, option)
    held = holding(study, chosen) if held is None else held
    return _case(study, case, chosen, held, _clamped(study, held, refuse), refuse)


def case_or_none(study: Study, case: Case, option: str) -> CaseResult | None:
    """One operating case as :func:`evaluate_case` has it; None where it cannot be judged."""
    try:
        return evaluate_case(study, case, option)
    except StudyError:
        return None


def _clamped(study: Study, held: Holding | None, refuse: Refuse) -> dict[str, Clamping | None]:
    """How each joint is tightened, the same in every case; empty where it is not known which joint carries what."""
    if held is None and len(study.joints) > 1:
        return {}
    if refuse is not raise_at_once:  # who counts rows that are refused must hear of them every time
        return {name: clamping(joint, refuse) for name, joint in study.joints.items()}
    return {name: _tightened(_Same(joint)) for name, joint in study.joints.items()}


class _Same:
    """A joint as key of what is kept of it: the same one, for arrays have no hash and comparing them takes as long as anything."""

    def __init__(self, joint: Joint) -> None:
        self.joint = joint

    def __hash__(self) -> int:
        return id(self.joint)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and self.joint is other.joint


@lru_cache(maxsize=8)
def _tightened(same: _Same) -> Clamping | None:
    """How a joint is tightened; kept, for findings ask again and again what other loads would do to it."""
    return clamping(same.joint)


def _case(
    study: Study,
    case: Case,
    option: str,
    held: Holding | None,
    clamped: dict[str, Clamping | None],
    refuse: Refuse,
) -> CaseResult:
    openings = opening_states(study, case, refuse)
    loads = _loads(study, case, openings)
    force = -_total([load.force for load in loads])
    moment = -_total([load.moment for load in loads])
    shared = share_out(study, case.name, held, force, moment, refuse)
    scale = action_scale(loads, given_in(study, shared.joints, shared.supports))
    joints = {
        name: _joint(
            joint, study.openings[joint.at], openings[joint.at], (shared.joints[name], scale), tightened, refuse
        )
        for name, tightened in clamped.items()
        for joint in (study.joints[name],)
    }
    checks, not_checked = judge(study, joints, case)
    total = np.asarray(sum(np.linalg.norm(load.force, axis=-1) for load in loads))
    supports = {name: replace(result, loads=total) for name, result in shared.supports.items()}
    more, not_made = judge_supports(study, supports)
    return CaseResult(
        name=case.name,
        openings=openings,
        loads=loads,
        reaction_force=force,
        reaction_moment=moment,
        vertical_reaction=frames.part_along(force, study.up),
        energy=energy_audit(study, case, openings),
        joints=joints,
        checks=checks + more,
        not_checked=(
            *_unjudged(study, option, clamped),
            *not_checked,
            *not_made,
            *unknown_boiling(study, case, openings),
        ),
        supports=supports,
        motion=shared.motion,
    )


def _unjudged(study: Study, option: str, clamped: dict[str, Clamping | None]) -> list[NotChecked]:
    """What is named to hold the fitting but cannot be judged, since it is not known what it carries."""
    supports = study.supports.get(option, ())
    if not study.joints and not supports:
        return [NotChecked("what holds the fitting", "fitting", "a joint with its bolts, or supports", True)]
    if clamped or not study.joints:
        return []
    supply = how_joints_share(study)
    names = [*study.joints, *(each.name for each in supports)]
    return [NotChecked("what it carries", name, supply, True) for name in names]


def _total(vectors: list[Array]) -> Array:
    total = np.zeros(3)
    for vector in vectors:
        total = total + vector
    return total


def _loads(study: Study, case: Case, openings: dict[str, OpeningResult]) -> tuple[Load, ...]:
    """Loads on the fitting by source, about the world origin."""
    loads = []
    for name, result in openings.items():
        if result.exit == "capped":
            continue
        opening = study.openings[name]
        for what, thrust in (("pressure", result.pressure_thrust), ("momentum", result.momentum_thrust)):
            loads.append(_at(f"{name} {what}", momentum.push(thrust, opening.outward), opening.center))
    loads += _unsteady(study, case)
    loads += _weights(study, case)
    for load in study.external:
        if load.acts_in(case.name):
            moved = _at(load.name, load.force, load.at)
            loads.append(replace(moved, moment=moved.moment + load.moment))
    return tuple(loads)


def _at(source: str, force: Array, at: Array) -> Load:
    return Load(source, force, momentum.moment_about_origin(force, at), at)


def _weights(study: Study, case: Case) -> list[Load]:
    fitting, loads = study.fitting, []
    if fitting.mass is not None and fitting.mass_center is not None:
        loads.append(_at(FITTING_WEIGHT, momentum.weight(fitting.mass, study.up), fitting.mass_center))
    loads += [
        _at(f"{each.name} weight", momentum.weight(each.mass, study.up), each.center) for each in fitting.extra_masses
    ]
    if fitting.contents is not None and fitting.contents_center is not None and case.contents_full:
        mass = fitting.contents * study.fluid.density
        loads.append(_at(CONTENTS_WEIGHT, momentum.weight(mass, study.up), fitting.contents_center))
    return loads


def _unsteady(study: Study, case: Case) -> list[Load]:
    """The force of a changing flow, and its moment along the centerline, or along straight lines where that is not known."""
    changes = [case.states[name].flow_change for name in study.openings]
    if not any(np.any(np.asarray(change) != 0.0) for change in changes):
        return []
    centers = np.stack(np.broadcast_arrays(*[o.center for o in study.openings.values()]), axis=-2)
    rates = np.stack(np.broadcast_arrays(*changes), axis=-1)
    if np.any(np.abs(rates.sum(axis=-1)) > continuity.GREATEST_IMBALANCE * np.abs(rates).max(axis=-1)):
        raise StudyError(
            f"case '{case.name}': the flow_change of all openings, positive out, must add up to nothing: the fluid does not give way"
        )
    force = momentum.unsteady_force(study.fluid.density, centers, rates)
    paths = np.stack(np.broadcast_arrays(*[path_moment(study, name) for name in study.openings]), axis=-2)
    return [Load(FLOW_CHANGE, force, unsteady.unsteady_moment(study.fluid.density, paths, rates))]


def path_moment(study: Study, opening: str) -> Array:
    """∫ r × dr (..., 3) [m²] from the first opening to this one: along the centerline, or along a straight line, r₁ × r."""
    first, here = next(iter(study.openings.values())), study.openings[opening]
    return np.cross(first.center, here.center) if here.path_moment is None else here.path_moment


def _joint(
    joint: Joint,
    opening: Opening,
    at: OpeningResult,
    found: tuple[Wrench, Scale],
    clamped: Clamping | None,
    refuse: Refuse,
) -> JointResult:
    """Actions on a joint by the wrench that it puts on the fitting, and the linear bolt group's tension and shear.

    ``found`` is that wrench and the scale of what it was found from, beside which rounding is told.
    """
    wrench, scale = found
    axes = (opening.outward, *frames.joint_frame(opening.outward, joint.reference))
    force, about_center, actions = resolved(*wrench, axes, scale)
    diameter = reaction_diameter(joint, opening)
    annulus = frames.pressure_annulus(at.pressure, diameter, opening.area)
    weights = bolt_weights(joint)
    demand, bending = axial_demand(actions.axial, annulus), (actions.bending1, actions.bending2)
    pulls, slides = (demand, *bending), (actions.shear1, actions.shear2, actions.torsion)
    group = bolt_group.pattern(joint.bolts.xy, weights)
    lost = bolt_group.unable(group, pulls, slides)
    if clamped is not None:  # the bounds leave out the relief of a force that presses
        lost += bolt_group.unable(group, (np.maximum(demand, 0.0), *bending))
    for each in lost:
        try:
            refuse(each.rows, partial(_not_balanced, joint, each), each.rank, each.force, each.moment)
        except StudyError as error:
            raise NotHeldError(str(error)) from None
    tension, shear = bolt_group.tensions_of(group, *pulls), bolt_group.shears_of(group, *slides)
    carried = None
    if clamped is not None:
        carried = service(joint, clamped, demand, *bending, unrelieved(joint, demand, *bending, tension), refuse)
    return JointResult(
        reaction_force=force,
        reaction_moment=about_center,
        axial=actions.axial,
        pressure_annulus=annulus,
        shear1=actions.shear1,
        shear2=actions.shear2,
        bending1=actions.bending1,
        bending2=actions.bending2,
        torsion=actions.torsion,
        reaction_diameter=diameter,
        external_tension=tension,
        bolt_shear=np.hypot(shear[..., 0], shear[..., 1]),
        pressure=at.pressure,
        bore_area=opening.area,
        clamping=clamped,
        service=carried,
    )


def _not_balanced(joint: Joint, lost: bolt_group.Unable, rank: float, force: float, moment: float) -> str:
    loose = "; bolts that are loose carry nothing" if np.any(joint.bolts.present & ~joint.carrying) else ""
    return f"joint '{joint.name}': {lost.why(rank, force, moment)}{loose}"


def unrelieved(joint: Joint, demand: Array, bending1: Array, bending2: Array, tension: Array) -> Array:
    """External tension (..., n) [N] without the relief of an axial demand that presses the joint: for bounds without stiffness."""
    if not np.any(demand < 0.0):
        return tension
    group = bolt_group.pattern(joint.bolts.xy, bolt_weights(joint))
    return bolt_group.tensions_of(group, np.maximum(demand, 0.0), bending1, bending2)


def reaction_diameter(joint: Joint, opening: Opening) -> Number:
    """Diameter out to which pressure opens the joint [m]: as given, by the gasket, or the bore where there is no gasket."""
    if joint.gasket is None:
        return np.sqrt(4.0 * opening.area / np.pi)
    if joint.gasket.reaction_diameter is not None:
        return joint.gasket.reaction_diameter
    return gasket.reaction_diameter(joint.gasket.inside, joint.gasket.outside)


def bolt_weights(joint: Joint) -> Array:
    """Share-giving weight of each bolt (..., n): its stiffness where given, else its tensile area (equal grip); 0 if missing or loose."""
    bolts = joint.bolts
    weight = bolts.tensile_area if bolts.stiffness is None else bolts.stiffness
    return np.where(joint.carrying, weight, 0.0)
