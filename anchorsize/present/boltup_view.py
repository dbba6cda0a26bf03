"""The words beside the picture of the installer's sheet: how to read it, and what it shows to those who do not see it."""

from __future__ import annotations

from anchorsize import units
from anchorsize.assessment import Assessment
from anchorsize.present.boltup_passes import order_made
from anchorsize.present.boltup_words import listed, numbered, short
from anchorsize.present.words import clock
from anchorsize.studies.boltup import BoltUp

MARKED = 40  # characters of an opening's name beside the picture


def view_words(plan: BoltUp) -> str:
    """How to read the picture."""
    if plan.up_at is None:
        twelve = _flat_words(plan)
    else:
        twelve = f"the top of the flange is at {clock(plan.up_at)}"
    outline = "" if plan.joint.flange.outside is not None else " Outer edge not to scale (not given)."
    gone = " Crossed out: bolt missing, to fit." if plan.joint.bolts.missing else ""
    gone += f" Dark ring: bolt to FIT ({listed(plan.to_fit)})." if plan.to_fit else ""
    turns = "" if plan.asks_engineer else " Outside, 1st, 2nd …: its turn, black first."
    return (
        f"Seen from the FITTING toward the PIPE; {twelve}. From the pipe side everything is mirrored. Bold: number of the bolt.{turns}"
        f"{gone}{outline}"
    )


def _flat_words(plan: BoltUp) -> str:
    """How to find 12:00 on a joint that lies flat: by an opening to its side, else by the case file alone."""
    if plan.toward is None:
        along = ", ".join(units.figures(float(part) if abs(part) > 1e-12 else 0.0) for part in plan.e1)
        return (
            f"12:00 points along [{along}] of the case file, which nothing on the fitting shows: ask, and mark it first"
        )
    name, angle = plan.toward
    at = clock(angle)
    where = "12:00 points toward" if at == "12:00" else f"{at} points toward"
    return f"{where} opening '{short(name, MARKED)}' (arrow)"


def picture_words(assessment: Assessment, plan: BoltUp) -> str:
    """What the picture shows, for those who do not see it."""
    bolts, system = plan.joint.bolts, assessment.study.units
    if bolts.circle is None:
        places = [
            f"bolt {bolt} at {units.show(float(x), 'length', system)} toward 12:00 and {units.show(float(y), 'length', system)} toward 3:00"
            for bolt, (x, y) in zip(bolts.numbers, bolts.xy, strict=True)
        ]
    else:
        places = [f"bolt {bolt} at {clock(float(a))}" for bolt, a in zip(bolts.numbers, bolts.angle, strict=True)]
    gone = f" Missing: {numbered(bolts.missing)}." if bolts.missing else ""
    gone += f" To fit: {numbered(plan.to_fit)}." if plan.to_fit else ""
    turns = "" if plan.asks_engineer else f" Order of tightening: {listed(order_made(plan))}."
    return f"Flange of joint '{short(plan.joint.name)}' seen from the fitting toward the pipe: {'; '.join(places)}.{gone}{turns}"
