"""What acts on the fitting in one case, each force with the place where it is drawn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from anchorsize.assessment.results import Assessment, CaseResult
from anchorsize.mechanics import momentum
from anchorsize.present.pictures.style import clean, shown_force
from anchorsize.study import FLOW_CHANGE, Array, Study

Sort: TypeAlias = Literal["thrust", "weight", "external", "reaction", "support"]

NOTHING = 1e-9
"""Share of the greatest force of a case under which one counts as rounding and is not drawn [-]."""


@dataclass(frozen=True)
class Acting:
    """A force (3,) [N] and a moment (3,) [N·m] on the fitting at ``at`` (3,) [m].

    ``pushes`` says that the arrow is drawn with its tip at the place instead of its tail: so a thrust comes from outside and
    a reaction stays on the side of the pipe, and neither hides the other. ``title`` is what its label says where that is not its
    name, ``detail`` what it is made up of.
    """

    name: str
    sort: Sort
    force: Array
    at: Array
    moment: Array
    detail: str = ""
    pushes: bool = False
    title: str = ""

    @property
    def magnitude(self) -> float:
        """Magnitude of the force [N]."""
        return float(np.linalg.norm(self.force))


def acting(assessment: Assessment, case: str) -> list[Acting]:
    """Every force on the fitting that has a place: thrusts, weight, external loads, reaction, supports.

    Raises
    ------
    KeyError
        Where the assessment holds no case of this name.
    """
    result = assessment.cases[case]
    study = assessment.study
    found = [
        *_thrusts(study, result),
        *_weight(study, result),
        *_external(study, case),
        *_reactions(study, result),
        *_supports(assessment, result),
    ]
    return found


def greatest(found: list[Acting]) -> float:
    """Greatest force of a case [N]."""
    return max((each.magnitude for each in found), default=0.0)


def unplaced(result: CaseResult) -> list[tuple[str, float]]:
    """Loads that have no single place, with their magnitude [N]: the force of a changing flow."""
    return [(each.source, float(np.linalg.norm(each.force))) for each in result.loads if each.source == FLOW_CHANGE]


def weight_and_center(study: Study, result: CaseResult) -> tuple[float, Array, list[tuple[str, float]]] | None:
    """Weight [N], its center (3,) [m] and its parts of what hangs on the joint in a case; None where nothing is known."""
    fitting, parts = study.fitting, []
    if fitting.mass is not None and fitting.mass_center is not None:
        parts.append(("fitting", float(fitting.mass), fitting.mass_center))
    parts += [(each.name, float(each.mass), each.center) for each in fitting.extra_masses]
    full = study.cases[result.name].contents_full
    if fitting.contents is not None and fitting.contents_center is not None and full:
        mass = float(fitting.contents) * float(study.fluid.density)
        parts.append(("contents", mass, fitting.contents_center))
    total = sum(mass for _, mass, _ in parts)
    if total <= 0.0:
        return None
    center = sum((mass * place for _, mass, place in parts), np.zeros(3)) / total
    weigh = float(np.linalg.norm(momentum.weight(1.0, study.up)))
    return total * weigh, center, [(name, mass * weigh) for name, mass, _ in parts]


def _thrusts(study: Study, result: CaseResult) -> Iterator[Acting]:
    jointed = {joint.at for joint in study.joints.values()}
    for name, opening in study.openings.items():
        state = result.openings[name]
        if state.exit == "capped":
            continue
        force = momentum.push(float(state.thrust), opening.outward)
        yield Acting(
            f"thrust of {clean(name)}", "thrust", force, opening.center, np.zeros(3), pushes=name not in jointed
        )


def _weight(study: Study, result: CaseResult) -> Iterator[Acting]:
    found = weight_and_center(study, result)
    if found is not None:
        weight, center, parts = found
        yield Acting(
            "weight",
            "weight",
            -weight * study.up,
            center,
            np.zeros(3),
            ", ".join(f"{clean(name)} {shown_force(each, study.units)}" for name, each in parts if len(parts) > 1),
            title=f"weight of {clean(parts[0][0])}" if len(parts) == 1 else "all weights",
        )


def _external(study: Study, case: str) -> Iterator[Acting]:
    for load in study.external:
        if load.acts_in(case):
            yield Acting(clean(load.name), "external", load.force, load.at, load.moment)


def _reactions(study: Study, result: CaseResult) -> Iterator[Acting]:
    """The reaction at each joint; where the joints were not told apart, all of it in their middle."""
    if result.joints:
        for name, joint in result.joints.items():
            given = study.joints[name]
            axis = study.openings[given.at].outward
            force = np.asarray(joint.reaction_force, dtype=float)
            moment = np.asarray(joint.reaction_moment, dtype=float)
            yield Acting(
                f"reaction at {clean(name)}", "reaction", force, given.center, moment, pushes=bool(force @ axis < 0.0)
            )
        return
    places = [joint.center for joint in study.joints.values()] or [each.center for each in study.openings.values()]
    middle = np.mean(np.stack(places), axis=0)
    force = np.asarray(result.reaction_force, dtype=float)
    moment = momentum.transfer(force, result.reaction_moment, np.zeros(3), middle)
    yield Acting("whole reaction", "reaction", force, middle, moment)


def _supports(assessment: Assessment, result: CaseResult) -> Iterator[Acting]:
    for support in assessment.study.supports.get(assessment.option, ()):
        judged = result.supports.get(support.name)
        if judged is not None:
            moment = np.zeros(3) if judged.moment is None else np.asarray(judged.moment, dtype=float)
            force = np.asarray(judged.force, dtype=float)
            yield Acting(f"force of {clean(support.name)}", "support", force, support.at, moment)
