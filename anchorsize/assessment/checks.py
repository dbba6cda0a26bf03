"""The checks of a joint: which there are, what each needs, and how demand stands against the user's allowable.

To add a check: write a function ``(Ask) -> Check | str`` (the string says what to supply), add a :class:`Rule` to ``RULES``,
test it against a published example, and list it in DEVELOPERS.md.
"""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.asking import Ask, Rule, bolt_check, in_force, lacking, plain, worst_bolt
from anchorsize.assessment.checks_actions import ACTION_RULES
from anchorsize.assessment.checks_clamped import CLAMPED_RULES, OF_A_NEW_GASKET
from anchorsize.assessment.results import Check, JointResult, NotChecked
from anchorsize.mechanics import checks as formulas
from anchorsize.study import Allowable, Array, Case, Joint, Study

LAYOUT = ("bolt spacing", "widest bolt gap")
"""Checks of geometry, the same in every case whatever the load."""


def judge(study: Study, joints: dict[str, JointResult], case: Case) -> tuple[tuple[Check, ...], tuple[NotChecked, ...]]:
    """Make every check of a case on every joint; those that cannot be made are listed with what to supply."""
    made, missing = [], []
    for name, result in joints.items():
        joint = study.joints[name]
        ask = Ask(joint, result, in_force(study, joint, case), case.rating_factor)
        for rule in RULES:
            outcome = rule.make(ask)
            if isinstance(outcome, Check):
                made.append(outcome)
            elif outcome is not None:
                missing.append(
                    NotChecked(rule.name, name, outcome, rule.needed or any(asks(rule, joint) for asks in _ASKING))
                )
    return tuple(made), tuple(missing)


def _gap_asks(rule: Rule, joint: Joint) -> bool:
    """A gap where a bolt is missing or loose must be judged: the gasket leaks there first."""
    return rule.name == "widest bolt gap" and joint.gasket is not None and not bool(np.all(joint.carrying))


def _reuse_asks(rule: Rule, joint: Joint) -> bool:
    """A gasket used before: nothing says that it seals."""
    return rule.name in OF_A_NEW_GASKET and joint.gasket is not None and joint.gasket.used


def _proof_asks(rule: Rule, joint: Joint) -> bool:
    """A torque is set on the wrench: it must not pull the bolts beyond their strength."""
    return rule.name == "bolt proof" and joint.tightening is not None


_ASKING = (_gap_asks, _reuse_asks, _proof_asks)


def _tension_demand(ask: Ask, allowable: Allowable) -> Array:
    return ask.tension if allowable.unit == "N" else formulas.stress_tension(ask.tension, ask.joint.bolts.tensile_area)


def _shear_demand(ask: Ask, allowable: Allowable) -> Array:
    if allowable.unit == "N":
        return ask.result.bolt_shear
    return formulas.stress_shear(ask.result.bolt_shear, ask.shear_area)


def _bolt_tension(ask: Ask) -> Check | str:
    allowable = ask.allow.bolt_tension
    if allowable is None:
        return "allow / bolt_tension: a stress on the tensile area, or a force per bolt"
    formula = "external tension per bolt" if allowable.unit == "N" else "external tension / tensile stress area"
    return worst_bolt(
        ask,
        "bolt tension",
        _tension_demand(ask, allowable),
        allowable,
        "linear bolt group; stress area ISO 898-1 / ASME B1.1",
        formula,
    )


def _bolt_shear(ask: Ask) -> Check | str:
    allowable = ask.allow.bolt_shear
    if allowable is None:
        return "allow / bolt_shear: a stress on the area of the shear plane, or a force per bolt"
    plane = (
        "shank area" if ask.joint.bolts.shear_plane == "shank" else "tensile stress area (threads in the shear plane)"
    )
    formula = "shear per bolt" if allowable.unit == "N" else f"shear per bolt / {plane}"
    return worst_bolt(
        ask, "bolt shear", _shear_demand(ask, allowable), allowable, "elastic bolt group, no friction counted", formula
    )


_INTERACTIONS = {
    "circular": (formulas.interaction_circular, "√(t² + s²) ≤ 1", "circular form, common practice"),
    "linear": (formulas.interaction_linear, "t + s ≤ 1", "linear form, the strictest of the three"),
    "en_1993_1_8": (formulas.interaction_en_1993_1_8, "s + t/1.4 ≤ 1 and t ≤ 1", "EN 1993-1-8 Table 3.4"),
}


def _tension_with_shear(ask: Ask) -> Check | str:
    tension, shear = ask.allow.bolt_tension, ask.allow.bolt_shear
    if tension is None or shear is None:
        return "allow / bolt_tension and allow / bolt_shear, both"
    combine, formula, source = _INTERACTIONS[ask.allow.tension_with_shear or "linear"]
    ratios = combine(
        formulas.utilization(_tension_demand(ask, tension), np.asarray(tension.value)[..., None]),
        formulas.utilization(_shear_demand(ask, shear), np.asarray(shear.value)[..., None]),
    )
    unity = Allowable(1.0, "1", "from allow / bolt_tension and allow / bolt_shear")
    return bolt_check(ask, "tension with shear", ratios, ratios, unity, source, formula)


def _hole_bearing(ask: Ask) -> Check | str:
    allowable, thickness = ask.allow.hole_bearing, ask.joint.flange.thickness
    if allowable is None or thickness is None:
        return lacking(("allow / hole_bearing (a stress)", allowable), ("flange / thickness", thickness))
    demand = formulas.hole_bearing(ask.result.bolt_shear, ask.joint.bolts.diameter, np.asarray(thickness)[..., None])
    return worst_bolt(
        ask,
        "hole bearing",
        demand,
        allowable,
        "mean bearing stress, common practice",
        "shear per bolt / (bolt diameter × flange thickness)",
    )


def _bolt_spacing(ask: Ask) -> Check | str:
    allowable = ask.allow.bolt_spacing_least
    if allowable is None:
        return "allow / bolt_spacing_least: a length, or `from table` for wrench room"
    return plain(
        ask,
        "bolt spacing",
        formulas.least_spacing(ask.joint.bolts.xy, ask.joint.bolts.present),
        allowable.value,
        allowable.unit,
        "geometry of the bolt pattern",
        allowable.origin,
        "least center distance of neighboring bolts, at least the allowable",
        least=True,
    )


RULES: tuple[Rule, ...] = (
    Rule("bolt tension", True, _bolt_tension),
    Rule("bolt shear", True, _bolt_shear),
    Rule("tension with shear", True, _tension_with_shear),
    Rule("hole bearing", False, _hole_bearing),
    Rule("bolt spacing", False, _bolt_spacing),
    *CLAMPED_RULES,
    *ACTION_RULES,
)
