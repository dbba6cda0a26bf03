"""Worked lines of the loads: each load's force and moment, their sum, and what it asks of a joint."""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.evaluation import path_moment
from anchorsize.assessment.results import CaseResult, JointResult, Load
from anchorsize.mechanics import frames
from anchorsize.mechanics.momentum import STANDARD_GRAVITY
from anchorsize.present.report.steps import NOISE, Of, Quantity, Workings, quantity
from anchorsize.study import CONTENTS_WEIGHT, FITTING_WEIGHT, FLOW_CHANGE, Array, Joint, Study

STATICS = "statics"


def loads(work: Workings, study: Study, result: CaseResult, thrusts: dict[str, Quantity]) -> dict[str, Quantity]:
    """Force and moment about the origin of every load that is not nothing; their sum, the reaction, is returned."""
    forces = {
        load.source: force
        for load in result.loads
        if (force := _force(work, study, result, load.source, load.force, thrusts)) is not None
    }
    moments = {
        load.source: moment
        for load in result.loads
        if (moment := _moment(work, study, result, load, forces.get(load.source))) is not None
    }
    reaction = {"R": quantity(np.zeros(3), "force"), "M_R": quantity(np.zeros(3), "moment")}
    for name, symbol, kind, parts, agrees in (
        ("Reaction: minus the sum of the forces", "R", "force", forces, result.reaction_force),
        ("Moment of the reaction about the origin", "M_R", "moment", moments, result.reaction_moment),
    ):
        if parts:
            names = [f"{symbol[0] if symbol != 'R' else 'F'}_{i + 1}" for i in range(len(parts))]
            reaction[symbol] = work.step(
                name,
                symbol,
                f"-{' - '.join(names)}",
                "equilibrium of the fitting",
                Of(kind, label=", ".join(parts), agrees=agrees),
                **dict(zip(names, parts.values(), strict=True)),
            )
    work.step(
        "Vertical reaction, positive up",
        "R_up",
        "dot(R, u)",
        STATICS,
        Of("force", agrees=result.vertical_reaction),
        R=reaction["R"],
        u=quantity(study.up),
    )
    return reaction


def _clean(vectors: list[Array], kind: str) -> list[Quantity]:
    """Vectors of one kind without what is rounding beside the greatest of them."""
    size = max((float(np.max(np.abs(vector))) for vector in vectors), default=0.0)
    return [quantity(np.where(np.abs(vector) <= NOISE * size, 0.0, vector), kind) for vector in vectors]


def _force(
    work: Workings, study: Study, result: CaseResult, source: str, force: Array, thrusts: dict[str, Quantity]
) -> Quantity | None:
    """The force of one load; None where it is nothing."""
    if not np.any(force):
        return None
    if source in thrusts:
        name = source.rsplit(" ", 1)[0]
        return work.step(
            "Force of a thrust, against the outward normal",
            "F",
            "-(T*n)",
            "control-volume momentum balance",
            Of("force", label=source, agrees=force),
            T=thrusts[source],
            n=quantity(study.openings[name].outward),
        )
    gravity = {"g": Quantity(STANDARD_GRAVITY, "m/s²"), "u": quantity(study.up)}
    fitting = study.fitting
    if source == FITTING_WEIGHT and fitting.mass is not None:
        return work.step(
            "Weight of the fitting",
            "F",
            "-(m*g*u)",
            "weight",
            Of("force", agrees=force),
            m=quantity(fitting.mass, "mass"),
            **gravity,
        )
    extra = next((each for each in fitting.extra_masses if source == f"{each.name} weight"), None)
    if extra is not None:
        return work.step(
            "Weight of an extra mass",
            "F",
            "-(m*g*u)",
            "weight",
            Of("force", label=source, agrees=force),
            m=quantity(extra.mass, "mass"),
            **gravity,
        )
    if source == CONTENTS_WEIGHT and fitting.contents is not None:
        return work.step(
            "Weight of the contents",
            "F",
            "-(V*rho*g*u)",
            "weight",
            Of("force", agrees=force),
            V=quantity(fitting.contents, "volume"),
            rho=quantity(study.fluid.density, "density"),
            **gravity,
        )
    if source == FLOW_CHANGE:
        return _unsteady(work, study, result, force, moment=False)
    return quantity(force, "force")


def _moment(work: Workings, study: Study, result: CaseResult, load: Load, force: Quantity | None) -> Quantity | None:
    """The moment of one load about the origin; None where it is nothing."""
    if load.at is None:
        return _unsteady(work, study, result, load.moment, moment=True) if np.any(load.moment) else None
    outside = next((each for each in study.external if each.name == load.source and each.acts_in(result.name)), None)
    if outside is not None and np.any(outside.moment):
        return work.step(
            "Moment of an outside load about the origin",
            "M",
            "M_0 + cross(r, F)",
            STATICS,
            Of("moment", label=load.source, agrees=load.moment),
            M_0=quantity(outside.moment, "moment"),
            r=quantity(load.at, "length"),
            F=quantity(load.force, "force"),
        )
    if force is None:
        return None
    return work.step(
        "Moment of a load about the origin",
        "M",
        "cross(r, F)",
        STATICS,
        Of("moment", label=load.source, agrees=load.moment),
        r=quantity(load.at, "length"),
        F=force,
    )


def _unsteady(work: Workings, study: Study, result: CaseResult, agrees: Array, moment: bool) -> Quantity:
    """Force or moment of a changing flow."""
    changes = {
        name: (f"q_{i + 1}", f"{'P' if moment else 'r'}_{i + 1}")
        for i, name in enumerate(study.openings)
        if np.any(study.cases[result.name].states[name].flow_change)
    }
    values = {}
    for name, (rate, arm) in changes.items():
        opening = study.openings[name]
        values[rate] = quantity(study.cases[result.name].states[name].flow_change, "flow_change")
        values[arm] = quantity(path_moment(study, name), "area") if moment else quantity(opening.center, "length")
    formula = f"-(rho*({' + '.join(f'{arm}*{rate}' for rate, arm in changes.values())}))"
    what, symbol, kind = ("Moment", "M", "moment") if moment else ("Force", "F", "force")
    return work.step(
        f"{what} of the changing flow, q = dQ/dt out{(', P = ∫ r × dr along the centerline, or along straight lines where it is not known' if moment else '')}",
        symbol,
        formula,
        "storage term of the momentum balance, derived here",
        Of(kind, label=", ".join(changes), agrees=agrees),
        rho=quantity(study.fluid.density, "density"),
        **values,
    )


def frame(work: Workings, study: Study, joint: Joint) -> dict[str, Quantity]:
    """The unit vectors a, e1 and e2 of a joint."""
    a = quantity(study.openings[joint.at].outward)
    known = frames.joint_frame(study.openings[joint.at].outward, joint.reference)
    laid = work.step(
        "Reference direction laid into the flange plane",
        "q",
        "s - dot(s, a)*a",
        "convention of this calculation",
        Of(),
        s=quantity(joint.reference),
        a=a,
    )
    e1 = work.step(
        "First axis of the joint", "e_1", "q/norm(q)", "convention of this calculation", Of(agrees=known[0]), q=laid
    )
    e2 = work.step(
        "Second axis of the joint",
        "e_2",
        "cross(a, e_1)",
        "convention of this calculation",
        Of(agrees=known[1]),
        a=a,
        e_1=e1,
    )
    return {"a": a, "e_1": e1, "e_2": e2}


def shared(work: Workings, study: Study, result: CaseResult) -> None:
    """Where joints and supports share the reaction: that what they give adds up to it, force and moment."""
    parts = [
        (name, j.reaction_force, j.reaction_moment, study.joints[name].center) for name, j in result.joints.items()
    ]
    parts += [
        (name, s.force, np.zeros(3) if s.moment is None else s.moment, s.support.at)
        for name, s in result.supports.items()
    ]
    names = ", ".join(name for name, *_ in parts)
    index = range(1, len(parts) + 1)
    forces = {f"S_{i}": force for i, force in zip(index, _clean([part[1] for part in parts], "force"), strict=True)}
    work.step(
        "Joints and supports together give the reaction",
        "R",
        " + ".join(forces),
        "equilibrium of the solution",
        Of("force", label=names, agrees=result.reaction_force),
        **forces,
    )
    moments = {f"C_{i}": moment for i, moment in zip(index, _clean([part[2] for part in parts], "moment"), strict=True)}
    places = {f"r_{i}": quantity(part[3], "length") for i, part in zip(index, parts, strict=True)}
    formula = " + ".join(f"C_{i} + cross(r_{i}, S_{i})" for i in index)
    work.step(
        "and its moment about the origin",
        "M_R",
        formula,
        "equilibrium of the solution",
        Of("moment", label=names, agrees=result.reaction_moment),
        **forces,
        **moments,
        **places,
    )


def actions(
    work: Workings, joint: Joint, result: JointResult, reaction: dict[str, Quantity] | None, axes: dict[str, Quantity]
) -> dict[str, Quantity]:
    """What the loads ask of a joint: N, V1, V2, M1, M2, T. ``reaction`` is that of the whole fitting where the joint gives it all."""
    force = _clean([result.reaction_force], "force")[0] if reaction is None else reaction["R"]
    if reaction is not None:
        moment = work.step(
            "Moment of the reaction about the bolt-circle center",
            "M_J",
            "M_R - cross(c, R)",
            STATICS,
            Of("moment", agrees=result.reaction_moment),
            M_R=reaction["M_R"],
            c=quantity(joint.center, "length"),
            R=force,
        )
    else:
        moment = _clean([result.reaction_moment], "moment")[0]
    own = "R_J" if reaction is None else "R"  # the part of the reaction that this joint gives
    a, e1, e2 = axes["a"], axes["e_1"], axes["e_2"]
    found = {}
    for name, symbol, formula, kind, agrees in (
        ("Axial from the loads, positive opens the joint", "N_L", f"dot({own}, a)", "force", result.axial),
        ("Shear along the first axis", "V_1", f"dot({own}, e_1)", "force", result.shear1),
        ("Shear along the second axis", "V_2", f"dot({own}, e_2)", "force", result.shear2),
        ("Bending about the first axis", "M_1", "-dot(M_J, e_1)", "moment", result.bending1),
        ("Bending about the second axis", "M_2", "-dot(M_J, e_2)", "moment", result.bending2),
        ("Torsion about the axis", "M_T", "-dot(M_J, a)", "moment", result.torsion),
    ):
        found[symbol] = work.step(
            name, symbol, formula, STATICS, Of(kind, agrees=agrees), **{own: force}, M_J=moment, a=a, e_1=e1, e_2=e2
        )
    found["V"] = work.step(
        "Shear",
        "V",
        "sqrt(V_1**2 + V_2**2)",
        STATICS,
        Of("force", agrees=result.shear),
        V_1=found["V_1"],
        V_2=found["V_2"],
    )
    found["M_b"] = work.step(
        "Bending",
        "M_b",
        "sqrt(M_1**2 + M_2**2)",
        STATICS,
        Of("moment", agrees=result.bending),
        M_1=found["M_1"],
        M_2=found["M_2"],
    )
    return found
