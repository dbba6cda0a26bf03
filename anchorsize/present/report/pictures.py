"""The pictures of the report as blocks, and the curves that go with them. matplotlib is imported where a picture is drawn."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np

from anchorsize.assessment.results import Assessment, StudyError
from anchorsize.present import curve as present
from anchorsize.present.on_site import on_site
from anchorsize.present.report.blocks import Block, Picture, Prose
from anchorsize.present.words import quantity
from anchorsize.studies.curve import Curve, against_flow, discharges_gas, inflow
from anchorsize.studies.limits import Limits
from anchorsize.studies.supports import Comparison

Direction: TypeAlias = Literal["side", "flange"]

_PATHS = re.compile(rb' d="[^"]*"')
_PLACES = re.compile(rb"(\.\d\d)\d+")

REACH, POINTS = 1.5, 61  # how far a curve goes, in multiples of the flow of its case


Order: TypeAlias = tuple[str, ...]


def orders(assessment: Assessment) -> list[Order]:
    """Every picture of an assessment that its report shows, as :func:`drawn` takes it."""
    joints = [(case.name, joint) for case in assessment.cases.values() for joint in case.joints]
    return [
        *(("flange", joint) for joint in assessment.study.joints),
        *(("side", case) for case in assessment.cases),
        *(("joint", *each) for each in joints),
    ]


def drawn(assessment: Assessment, order: Order) -> list[Block]:
    """What an order asks for: a fitting from the ``side`` in a case, or as it meets the ``flange`` of a joint; a ``joint`` in a case."""
    match order:
        case ("side", name):
            return fitting_blocks(assessment, name, "side")
        case ("flange", joint):
            plan = on_site(assessment, joint)[0]
            return fitting_blocks(assessment, (plan.share or plan.push).case, "flange", joint)
        case ("joint", name, joint):
            return joint_blocks(assessment, name, joint)
    raise ValueError(f"no picture {order}")


def drawn_study(found: Found) -> list[Block]:
    """The picture of how far flow and pressure may go, where there is a plane; that of the support options; or the curves."""
    if isinstance(found, Followed):
        return [block for curve in found.curves for block in curve_blocks(curve, True)]
    if isinstance(found, Limits):
        from anchorsize.present.limits_picture import drawn as planes
        from anchorsize.present.limits_picture import limits_alt, limits_picture

        names = [case.name for case in planes(found)]
        return [Picture(_slim(limits_picture(found, "svg", name)), limits_alt(found, name)) for name in names]
    from anchorsize.present.supports_picture import comparison_alt, comparison_picture

    return [Picture(comparison_picture(found, "svg"), comparison_alt(found))]


def fitting_blocks(assessment: Assessment, case: str, direction: Direction, joint: str | None = None) -> list[Block]:
    """A free-body picture of a case, along the axis of a joint where it shows the flange."""
    from anchorsize.present.pictures import fitting_alt, fitting_view, render

    return [
        Picture(
            _slim(render(fitting_view(assessment, case, direction, joint), "svg")),
            fitting_alt(assessment, case, direction, joint),
        )
    ]


def _slim(svg: bytes) -> bytes:
    """A picture whose paths go to a hundredth of a point, far below what a printer shows."""
    return _PATHS.sub(lambda path: _PLACES.sub(rb"\1", path[0]), svg)


def joint_blocks(assessment: Assessment, case: str, joint: str) -> list[Block]:
    """The bolt circle of a joint, and its face where that was solved."""
    from anchorsize.present.pictures import bolt_alt, bolt_view, face_alt, face_view, render

    blocks: list[Block] = [
        Picture(_slim(render(bolt_view(assessment, case, joint), "svg")), bolt_alt(assessment, case, joint))
    ]
    face, words = face_view(assessment, case, joint), face_alt(assessment, case, joint)
    if face is not None and words is not None:
        blocks.append(Picture(_slim(render(face, "svg")), words))
    return blocks


@dataclass(frozen=True)
class NoCurve:
    """A case that could not be followed, and why."""

    case: str
    why: str


@dataclass(frozen=True)
class Followed:
    """The cases that were followed along their flow."""

    curves: tuple[Curve | NoCurve, ...]


Found: TypeAlias = Limits | Comparison | Followed


def follow(assessment: Assessment) -> Followed:
    """The curve of every case that has a flow and no gas, from nothing to half as much again."""
    study, option = assessment.study, assessment.option
    first = {option: study.supports[option]} if option in study.supports else {}
    judged = replace(study, supports={**first, **study.supports})  # a curve is made with the first option
    found: list[Curve | NoCurve] = []
    for name, case in assessment.cases.items():
        through = inflow(case.openings)
        if through > 0.0 and not discharges_gas(study.cases[name]):
            try:
                found.append(against_flow(judged, name, np.linspace(0.0, REACH * through, POINTS)))
            except StudyError as error:
                found.append(NoCurve(name, str(error)))
    return Followed(tuple(found))


def told_curves(followed: Followed) -> list[Block]:
    """What the curves say, without their pictures."""
    return [block for curve in followed.curves for block in curve_blocks(curve, False)]


def curve_blocks(curve: Curve | NoCurve, drawn: bool) -> list[Block]:
    """What a curve says of its balance, and its picture."""
    if isinstance(curve, NoCurve):
        return [Prose(f"Case '{curve.case}' could not be followed to {REACH:g} times its flow: {curve.why}")]
    system = curve.study.units
    reach = quantity(float(curve.x[-1]), "flow", system)
    said = f"Case '{curve.case}', from no flow to {reach}, {present.pressure_words('held', [curve.study.cases[curve.case]])}. {present.balance_words(curve)}"
    if not drawn:
        return [Prose(said)]
    least, most = (quantity(float(pick(curve.result.vertical_reaction)), "force", system) for pick in (np.min, np.max))
    alt = f"Curves of the reaction against flow in case '{curve.case}', from 0 to {reach}. "
    alt += f"The vertical reaction runs between {least} and {most}. {present.balance_words(curve)}"
    return [Picture(_slim(present.curve_picture(curve, "svg", whole=False)), alt, said)]
