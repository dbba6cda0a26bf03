"""What the person at the flange needs first: which way it pushes, which bolts, which torque."""

from __future__ import annotations

from anchorsize.assessment.results import Assessment
from anchorsize.present.boltup_head import service_words
from anchorsize.present.boltup_no_torque import own_torque
from anchorsize.present.boltup_push import bore_words, end_words, jet_words, push_words
from anchorsize.present.boltup_stays import not_for_words
from anchorsize.present.boltup_supports import SET_WHILE_HELD, idle_words, supports_words
from anchorsize.present.boltup_words import FIT_ONLY, both, facts, numbered, spent_words, weight_words
from anchorsize.present.preload_words import ALLOWED_TENSION
from anchorsize.present.repaired import repair_words
from anchorsize.present.words import paragraph
from anchorsize.studies.boltup import BoltUp, Lacking, boltup, is_as_found
from anchorsize.units import System

NO_TORQUE: dict[Lacking, str] = {
    "tightening": "none given (supply the joint's tightening)",
    "friction": "none given (a preload alone; supply nut_factor or the frictions under tightening)",
    "as found": "none given (supply target_torque under tightening)",
    "too strong": "none (the one given would pull a bolt over its tensile strength)",
    "held back": "none (the one given is reached only by loosening nuts, and the gasket stays)",
    "stretched": "none (bolts found over yield are to be replaced, and the gasket stays: the engineer decides how)",
}


def on_site(assessment: Assessment, joint: str) -> tuple[BoltUp, list[tuple[str, str]]]:
    """The bolting-up plan of a joint and its main facts, as names and words."""
    plan = boltup(assessment, joint)
    said = dict(facts(assessment, plan))
    lead, _, service = service_words(assessment, plan.joint).partition(": ")
    items = [
        *([(lead, service)] if service else []),
        ("Worst push", f"{push_words(assessment, plan)} {weight_words(plan, assessment.study.units)}".strip()),
        *(
            ("Not in it", words)
            for words in (*end_words(assessment, plan), jet_words(assessment), bore_words(assessment))
            if words
        ),
        ("Bolts", said["Bolts"]),
        ("Torque", _torque(plan, assessment.study.units)),
        *(("Own torque", words) for words in filter(None, [own_torque(plan)])),
    ]
    items += [(key, said[key]) for key in ("Preload aimed at", "Lubrication") if key in said and plan.groups]
    items += [(key, said[key]) for key in (ALLOWED_TENSION,) if key in said]
    if plan.new_gasket:
        items.append(("Gasket", f"it was {spent_words(plan)}: fit a new one"))
    if plan.gasket_stays:
        items.append(("Gasket", "in service, not opened: it stays; whether it still seals is not judged"))
    if tight := plan.to_loosen:
        items.append(("Nuts", f"found tight on {numbered(tight)}: loosened first, then tightened anew from hand-tight"))
    if gone := plan.joint.bolts.missing:
        when = f"{FIT_ONLY}, without pressure" if plan.asks_engineer else "put in before pressure comes on"
        items.append(("Missing", f"{numbered(gone)}: {when}"))
    if plan.supports:
        words = supports_words(plan.supports, assessment.study.units)
        it = "it" if len(plan.supports) == 1 else "them"
        items.append(("Supports", f"{words}: {SET_WHILE_HELD}, the verdict counts on {it}"))
    if plan.idle:
        items.append(("Not counted on", idle_words(plan.idle, assessment.study.units)))
    return plan, items


def _torque(plan: BoltUp, system: System) -> str:
    """The torque to tighten to, behind those found where the file gives what was found."""
    if plan.lacking is None:
        own = [
            (tuple(b for b in group.bolts if b not in plan.not_for), float(group.passes[-1])) for group in plan.groups
        ]
        aim = _by_bolt([(bolts, torque) for bolts, torque in own if bolts], system)
        if without := not_for_words(plan):
            aim += f" ({without})"
    else:
        aim = NO_TORQUE[plan.lacking]
    if not is_as_found(plan.joint):
        return aim
    if plan.found is None:
        return f"target: {aim}; judged at the preloads as found"
    found: dict[float, list[int]] = {}
    for bolt, value, there in zip(plan.joint.bolts.numbers, plan.found, plan.joint.bolts.present, strict=True):
        if there:
            found.setdefault(float(value), []).append(bolt)
    each = _by_bolt([(tuple(bolts), value) for value, bolts in found.items()], system)
    return f"target: {aim}; judged as found: {each}"


def _by_bolt(torques: list[tuple[tuple[int, ...], float]], system: System) -> str:
    """Torques in both systems, that of the file first, by bolt where they differ."""
    shown = [
        (f"{numbered(bolts)}: " if len(torques) > 1 else "") + both(torque, "moment", system)
        for bolts, torque in torques
    ]
    return "; ".join(shown)


def on_site_text(assessment: Assessment, width: int) -> str:
    """The same as lines of text, a joint after the other; empty without joints."""
    lines = ["On site"]
    for name in assessment.study.joints:
        lead = f"joint '{name}', " if len(assessment.study.joints) > 1 else ""
        lines += [paragraph(f"{lead}{what}: {words}", width) for what, words in on_site(assessment, name)[1]]
    if repaired := repair_words(assessment):
        lines.append(paragraph(f"After repair: {repaired}", width))
    return "\n".join(lines) if len(lines) > 1 else ""
