"""What the person at the flange needs first: which way it pushes, which bolts, which torque."""

from __future__ import annotations

from anchorsize.assessment.results import Assessment
from anchorsize.present.boltup_words import both, facts, push_words, weight_words
from anchorsize.present.words import paragraph
from anchorsize.studies.boltup import BoltUp, boltup
from anchorsize.units import System

NO_TORQUE = "none given (supply the joint's tightening)"


def on_site(assessment: Assessment, joint: str) -> tuple[BoltUp, list[tuple[str, str]]]:
    """The bolting-up plan of a joint and its main facts, as names and words."""
    plan = boltup(assessment, joint)
    said = dict(facts(assessment, plan))
    items = [
        ("Worst push", f"{push_words(assessment, plan)} {weight_words(plan, assessment.study.units)}".strip()),
        ("Bolts", said["Bolts"]),
        ("Torque", _torque(plan, assessment.study.units)),
    ]
    items += [(key, said[key]) for key in ("Preload aimed at", "Lubrication") if key in said and plan.groups]
    if plan.joint.bolts.missing:
        gone = ", ".join(map(str, plan.joint.bolts.missing))
        items.append(("Missing", f"bolt {gone}: put in before pressure comes on"))
    return plan, items


def _torque(plan: BoltUp, system: System) -> str:
    """Final torque in both systems, that of the file first, by bolt where it differs."""
    shown = [
        (f"bolts {', '.join(map(str, group.bolts))}: " if len(plan.groups) > 1 else "")
        + both(float(group.passes[-1]), "moment", system)
        for group in plan.groups
    ]
    return "; ".join(shown) if shown else NO_TORQUE


def on_site_text(assessment: Assessment, width: int) -> str:
    """The same as lines of text, a joint after the other; empty without joints."""
    lines = ["On site"]
    for name in assessment.study.joints:
        lead = f"joint '{name}', " if len(assessment.study.joints) > 1 else ""
        lines += [paragraph(f"{lead}{what}: {words}", width) for what, words in on_site(assessment, name)[1]]
    return "\n".join(lines) if len(lines) > 1 else ""
