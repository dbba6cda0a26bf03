"""The envelope over the operating cases: least and greatest of every action, and the cases that give them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from anchorsize.assessment.asking import first_greatest
from anchorsize.assessment.results import Assessment, JointResult
from anchorsize.study import Joint


@dataclass(frozen=True)
class Extremes:
    """Least and greatest of one action over all cases [N or N·m], each with its case and, for bolts, the bolt's number."""

    action: str
    kind: Literal["force", "moment"]
    joint: str | None  # None for the reaction on the fitting
    least: float
    least_case: str
    greatest: float
    greatest_case: str
    least_bolt: int | None = None
    greatest_bolt: int | None = None


def envelope(assessment: Assessment) -> list[Extremes]:
    """Least and greatest of the reaction, of each joint's actions and of its bolts' tension over all cases.

    Of cases that give the same value the first in the file is named.
    """
    names = list(assessment.cases)
    cases = list(assessment.cases.values())
    reactions = np.array([np.broadcast_to(case.reaction_force, 3) for case in cases], dtype=float)
    found = [_over(names, f"reaction {axis}", "force", None, reactions[:, i]) for i, axis in enumerate("xyz")]
    vertical = np.array([float(case.vertical_reaction) for case in cases])
    found.append(_over(names, "vertical reaction", "force", None, vertical))
    for joint in cases[0].joints if cases else ():
        results = [case.joints[joint] for case in cases]
        found += _of_joint(names, joint, results, assessment.study.joints[joint])
    return found


def _over(names: list[str], action: str, kind: Literal["force", "moment"], joint: str | None, values: Any) -> Extremes:
    low, high = int(first_greatest(-values)), int(first_greatest(values))
    return Extremes(action, kind, joint, float(values[low]), names[low], float(values[high]), names[high])


def _of_joint(names: list[str], joint: str, results: list[JointResult], given: Joint) -> Iterator[Extremes]:
    actions: tuple[tuple[str, Literal["force", "moment"]], ...] = (
        ("axial", "force"),
        ("axial_demand", "force"),
        ("shear", "force"),
        ("bending", "moment"),
        ("torsion", "moment"),
    )
    for action, kind in actions:
        values = np.array([float(getattr(result, action)) for result in results])
        yield _over(names, action.replace("_", " "), kind, joint, values)
    there = np.flatnonzero(given.carrying)
    numbers = [given.bolts.numbers[i] for i in there]
    external = np.array([result.external_tension[there] for result in results])
    yield _of_bolts(names, "external tension", joint, external, numbers)
    service = [result.service.tension for result in results if result.service is not None]
    tensions = [tension[there] for tension in service if tension is not None]
    if tensions and len(tensions) == len(results):
        yield _of_bolts(names, "service tension", joint, np.array(tensions), numbers)


def _of_bolts(names: list[str], action: str, joint: str, tension: Any, numbers: list[int]) -> Extremes:
    """Extremes over cases and bolts of ``tension`` (cases, bolts)."""
    places = first_greatest(-np.ravel(tension)), first_greatest(np.ravel(tension))
    low, high = (divmod(int(index), len(numbers)) for index in places)
    return Extremes(
        action,
        "force",
        joint,
        float(tension[low]),
        names[low[0]],
        float(tension[high]),
        names[high[0]],
        numbers[low[1]],
        numbers[high[1]],
    )
