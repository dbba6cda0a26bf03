"""What the installer's sheet has ticked off before the first nut is turned, and how the tightening goes on."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from anchorsize import units
from anchorsize.assessment.findings_loose import ask_before_turned
from anchorsize.assessment.findings_lubricant import is_stainless
from anchorsize.assessment.findings_preload import overstretched
from anchorsize.assessment.findings_target import only_loosened
from anchorsize.assessment.findings_tightening import far_looser, tightened_to, without_clamp
from anchorsize.assessment.taken_out import missing_in, parts_without
from anchorsize.present.boltup_passes import first_for_tight, in_turn, off, own_asked, passes_of
from anchorsize.present.boltup_stays import where_it_stays
from anchorsize.present.boltup_supports import supports_first
from anchorsize.present.boltup_words import (
    NO_LUBRICANT,
    REPLACED,
    STAYS,
    apart_words,
    fitted_words,
    if_replaced_words,
    numbered,
    plain,
    short,
    systems,
)
from anchorsize.present.repaired import AS_TIGHT
from anchorsize.present.words import joined, size_words
from anchorsize.reference import NotInTable, nut_flats
from anchorsize.studies.boltup import BoltUp, stretched_in_place, wrench_setting
from anchorsize.studies.repaired import needs_repair, to_replace
from anchorsize.study import Joint
from anchorsize.units import System

FROM_MEMORY = "from-memory"
STAY_TIGHT = ", whose nuts stay tight"
NOT_KNOWN_HOW_TIGHT = "not known how tight they are: passes ONLY where the engineer says so"
NOT_REACHED = "{} cannot get to this torque: go back to the engineer"  # without a nut loosened


def check_first(plan: BoltUp, system: System) -> list[str]:
    """What to look at before the first nut is turned. Common practice, no source."""
    bolts = plan.joint.bolts
    marks = f"marked {bolts.property_class}" if bolts.property_class else "all marked with one class or grade"
    sizes = " and ".join(size_words(size) for size in dict.fromkeys(bolts.sizes))
    return [
        "Line out of service: without pressure, drained, locked out, tagged; checked at a gauge or an open drain.",
        "Fitting held by hoist, strap or prop until every bolt is hand-tight.",
        *supports_first(plan.supports, plan.idle, system),
        *_found_loose(plan),
        *_found_overtight(plan),
        f"{_bolts(plan)} {sizes}, {marks}, nuts to match; threads whole, nuts run freely, each long enough to show thread beyond its nut."
        f"{_used(plan)}",
        *_gasket(plan),
        "Flanges parallel and holes in line before a bolt is turned; bolts are not to pull them together.",
        "Washers flat and hardened, under every nut that turns.",
        _threads(plan),
        _wrench(plan, system),
    ]


def steps(plan: BoltUp) -> tuple[str, ...]:
    """The tightening in four steps; none where the joint must not be tightened by the sheet. Common practice, no source."""
    if plan.asks_engineer:
        return ()
    left = f", {numbered(plan.not_for)} left out" if plan.not_for else ""
    last = "every bolt at its OWN full torque" if own_asked(plan) else f"at full torque{left}"
    return (
        f"{_hand_tight(plan)}; the flanges as far apart all round.",
        _over_all(plan, left),
        "After each pass look between the flanges: as far apart all round, else stop.",
        f"Last, {last}, bolt by bolt round the flange, again and again until no nut turns.",
    )


def _over_all(plan: BoltUp, left: str) -> str:
    """The passes over all bolts but those ``left`` out; where nuts stay tight only as far as they turn one."""
    if own := own_asked(plan):
        if tightened_to(plan.was) is None:
            return f"{_check_of_others(own)}; {NOT_KNOWN_HOW_TIGHT}. In this order:"
        return f"Then passes at {_percent(plan.shares)} of the final torque of the others, {numbered(own)} left out, each in this order:"
    shares = plan.shares[(first := first_for_tight(plan)) :]
    if first and len(shares) == 1:
        return f"Then as a CHECK one round at full torque{left}, in this order:"
    return (
        f"{'Then passes' if first else 'Passes'} at {_percent(shares)} of the final torque{left}, each in this order:"
    )


def _check_of_others(own: tuple[int, ...]) -> str:
    """The round over nuts that stay tight beside bolts with a torque of their own. Common practice, no source."""
    return f"Then as a CHECK one round over the others at THEIR final torque, {numbered(own)} left out"


def _percent(shares: Sequence[float]) -> str:
    return ", ".join(f"{share:.0%}" for share in shares)


def _hand_tight(plan: BoltUp) -> str:
    """Which nuts are run up by hand before the first pass: where the gasket stays only those that are off, or loose, in any case."""
    out = off(plan)
    if not plan.gasket_stays or len(out) == len(plan.joint.bolts.numbers):
        return "All nuts hand-tight"
    if not out:
        return "NO nut is loosened, all are tightened up from where they are"
    tight = f"at {_percent(plan.shares)} of its {'OWN ' if own_asked(plan) else ''}torque"
    if without := tuple(bolt for bolt in out if bolt in plan.not_for):
        asked = AS_TIGHT
        tight = asked if without == out else f"{tight} ({numbered(without)}: {asked})"
    kept = "NO other nut is loosened"
    if len(out) == 1:
        return f"{numbered(out).capitalize()}: hand-tight, then {tight}; {kept}"
    # all of them slack at once would leave that side of a gasket that stays without any squeeze
    return f"{numbered(out).capitalize()} ONE AFTER THE OTHER, in this order: hand-tight, then at once {tight}; {kept}"


def if_it_stays_words(plan: BoltUp) -> str:
    """What is done before the passes if the gasket stays; empty where the file says what becomes of it. Common practice, no source."""
    stays = where_it_stays(plan)
    if stays is None:
        return ""
    lead = "If the gasket STAYS"
    if stays.asks_engineer:
        return f"{lead}: {_stuck(stays)}; do NOT tighten on this sheet."
    own = own_asked(stays)
    if own and tightened_to(stays.was) is None:
        check = f"{_check_of_others(own)} ({NOT_KNOWN_HOW_TIGHT})".replace("Then", "then", 1)
        return f"{lead}: {_hand_tight(stays)}; {check}; then steps 3 and 4, each at its OWN torque."
    apart = stays.not_for or own
    without = f", NOT for {numbered(apart)}" if apart else ""
    first = first_for_tight(stays)
    only = f" at {_percent(plan.shares[first:])} only" if first else ""
    return f"{lead}: {_hand_tight(stays)}; then steps 2 to 4{only}{without}."


def _stuck(stays: BoltUp) -> str:
    """Why a joint whose gasket stays is not tightened by the sheet."""
    if over := stretched_in_place(stays.was):
        return f"{numbered(over)}, over yield, cannot be replaced by this sheet: go back to the engineer"
    return NOT_REACHED.format(numbered(only_loosened(stays.was)))


def _threads(plan: BoltUp) -> str:
    """What goes on threads and nut faces; stainless ones never stay dry."""
    galls = " STAINLESS: never dry, it galls." if is_stainless(plan.joint) and not plan.asks_engineer else ""
    stays, on = where_it_stays(plan), _put_on(plan)
    if stays is not None and (other := _put_on(stays)) != on:
        on = f"{REPLACED} {on} If it STAYS: {other}"
    return on + galls


def _put_on(plan: BoltUp) -> str:
    if plan.asks_engineer:
        return "Threads and nut faces: nothing put on them before the engineer has decided."
    given = None if plan.joint.tightening is None else plan.joint.tightening.at_target
    lubricant = None if given is None else given.lubricant
    on = NO_LUBRICANT if lubricant is None else f"lubricant: {short(lubricant)}"
    own = _on_other_threads(plan)
    if plan.not_for:
        theirs = "NOT the torque of this sheet. Nothing is put on the others."
        if not own:
            return f"Threads of {numbered(plan.not_for)} new or cleaned: {theirs}"
        return f"Threads and nut faces of {numbered(own)}: {on}. {numbered(plan.not_for).capitalize()}, new or cleaned: {theirs}"
    if own:
        return _of_some(own, on) + ("." if apart_words(plan) else f"{STAY_TIGHT}.")
    if plan.gasket_stays:
        out = off(plan)
        if not out:
            return "Threads and nut faces: nothing put on them, for all nuts stay tight."
        if len(out) < len(plan.joint.bolts.numbers):
            return f"{_of_some(sorted(out), on)}{STAY_TIGHT}."
    return f"Threads and nut faces all alike; {on}."


def _on_other_threads(plan: BoltUp) -> list[int]:
    """The bolts whose torque counts on other threads than were found, beside bolts that keep theirs; none where all are alike."""
    given = None if plan.joint.tightening is None else plan.joint.tightening.at_target
    if given is None or given.kept is None:
        return []
    numbers = plan.joint.bolts.numbers
    kept = np.broadcast_to(given.kept, len(numbers))
    return [number for number, left in zip(numbers, kept, strict=True) if not left and number not in plan.not_for]


def _of_some(bolts: Sequence[int], on: str) -> str:
    return f"Threads and nut faces of {numbered(bolts)}: {on}. Nothing is put on the others"


def before_steps(plan: BoltUp) -> tuple[str, ...]:
    """What is done before the first step; where nobody says whether the gasket stays, each way with its condition."""
    stays = where_it_stays(plan)
    if stays is None:
        return tuple(filter(None, [fitted_words(plan)]))
    if_it_stays = if_it_stays_words(plan).removeprefix(f"{STAYS} ")
    if fitted := fitted_words(stays, ""):
        if_it_stays = f"{fitted} {if_it_stays[0].upper()}{if_it_stays[1:]}"
    return f"{STAYS} {if_it_stays}", if_replaced_words(plan)


def fitted_first(plan: BoltUp) -> str:
    """What must be in before the first nut is turned; only if the gasket stays where nobody says it, for else the joint is taken apart first."""
    stays = where_it_stays(plan)
    if stays is None:
        return fitted_words(plan)
    fitted = fitted_words(stays, "")
    return f"{STAYS} {fitted}" if fitted else ""


def _found_loose(plan: BoltUp) -> list[str]:
    """Bolts that were found loose or far looser than the others, before anyone tightens the reason away."""
    joint = plan.was
    none, little = without_clamp(joint), tuple(far_looser(joint))
    if (not none and not little) or len(none) == int(joint.bolts.present.sum()):
        return []
    loose = in_turn(joint, (*none, *little))
    how = " or ".join(filter(None, ["LOOSE" if none else "", "FAR LOOSER than the others" if little else ""]))
    one = len(loose) == 1
    lead = f"{numbered(loose).capitalize()} {'was' if one else 'were'} found {how}: "
    if plan.asks_engineer:  # no torque of the sheet would bring back what is taken out
        return [f"{lead}{ask_before_turned(one)}."]
    line = f"{lead}find out why; inspect or replace {'it' if one else 'them'} before tightening."
    stays = where_it_stays(plan)
    if stays is not None:
        closed = f"{ask_before_turned(one)}." if stays.asks_engineer else _one_at_a_time(joint)
        return [f"{line} {STAYS} {closed}"]
    return [f"{line} {_one_at_a_time(joint)}" if plan.gasket_stays else line]


def _one_at_a_time(joint: Joint) -> str:
    """How loose bolts come out of a joint that stays closed."""
    first = (
        f" the missing in first{' and tightened' if missing_in(joint) is not None else ''},"
        if joint.bolts.missing
        else ""
    )
    out = f"Pressure off,{first} one bolt out at a time, all others left as they are."
    if parts := parts_without(joint):
        them = numbered(parts) if len(parts) == 1 else f"any of {numbered(parts)}"
        out += f" With {them} out the flanges can part there, and the gasket with them: ASK before it comes out."
    return out


def _found_overtight(plan: BoltUp) -> list[str]:
    """Bolts that were found so tight that they are stretched, which nobody sees."""
    found = plan.was
    stretched = overstretched(found)
    if not stretched:
        return []
    one = len(stretched) == 1
    lead = (
        f"{numbered(stretched).capitalize()} {'was' if one else 'were'} found OVERTIGHT, over yield by the torque found"
    )
    if not to_replace(found):
        return [f"{lead}: ASK the engineer before {'it is' if one else 'they are'} turned."]
    also = " If the gasket stays, ASK first." if plan.gasket_not_said else ""
    return [
        f"{lead}: {'a NEW one in its place' if one else 'NEW ones in their place'}, nut too, however sound {'it looks' if one else 'they look'}.{also}"
    ]


def _bolts(plan: BoltUp) -> str:
    """Which bolts are looked at: where the gasket stays, those that are off; no tight nut is loosened for it."""
    out = off(plan) if plan.gasket_stays else ()
    if plan.asks_engineer and (gone := plan.was.bolts.missing):
        return f"{numbered(gone).capitalize()}, to go in when the engineer says so:"
    return f"{numbered(out).capitalize()}, to go in:" if out else "Bolts"


def _used(plan: BoltUp) -> str:
    """What becomes of bolts that were in use; empty where the joint is a new one."""
    if plan.gasket_stays:
        return " Tight ones stay tight: one that looks corroded, stretched or damaged, ASK the engineer."
    if not needs_repair(plan.was):
        return ""
    aimed = None if plan.joint.tightening is None else plan.joint.tightening.at_target
    if aimed is not None and aimed.kept is not None:
        return " Used ones: threads left as they are; corroded, stretched or damaged, ASK: a new one wants a torque of its own."
    out = " taken out" if plan.gasket_not_said else ""
    return f" Used ones{out}: cleaned; corroded, stretched or damaged ones REPLACED, nut too."


def _gasket(plan: BoltUp) -> list[str]:
    """What to see to of the gasket: that it stays, that a new one goes in, or both where nobody says which."""
    renewed = "Faces clean and whole, old gasket off; gasket new, of the right kind and size, dry and centered."
    if plan.gasket_stays:
        return [
            "Gasket STAYS, so no tight nut is loosened: its edge whole all round, nowhere squeezed out, no trace of a leak."
        ]
    if plan.gasket_not_said:
        held = only_loosened(plan.was)
        then = f", and {NOT_REACHED.format(numbered(held))}" if held else ""
        ask = f"ASK whether the gasket stays; not said, judged as new. If it does, no tight nut is loosened{then}."
        return [ask, f"{REPLACED} {renewed}"]
    return [renewed]


def _wrench(plan: BoltUp, system: System) -> str:
    """What the wrench must cover, and its socket where the nuts of the size are tabled."""
    sockets = [words for size in dict.fromkeys(plan.joint.bolts.sizes) if (words := socket_words(size))]
    socket = f" Socket {joined(sockets)}." if sockets else ""
    lead = "Wrench calibrated, in date; it covers "
    finals = [float(group.passes[-1]) for group in plan.groups]
    if not finals:
        return f"{lead}the torque that will be given.{socket}"
    first = min(float(group.passes[passes_of(plan, group)[0]]) for group in plan.groups)
    ranges = [_wrench_range(first, max(finals), each) for each in systems(system)]
    return f"{lead}{ranges[0]} ({ranges[1]}).{socket}"


def socket_words(size: str) -> str:
    """The width across flats of the nut of a bolt size, and whose nut that is; empty where it is not tabled."""
    try:
        flats = nut_flats(size)
    except NotInTable:
        return ""
    remembered = ", from memory" if flats.provenance.status == FROM_MEMORY else ""
    return f"{flats.words} ({flats.part} {size_words(size)}, {flats.provenance.source}{remembered})"


def _wrench_range(least: float, greatest: float, system: System) -> str:
    """From the least to the greatest setting of a wrench in one system."""
    settings = [
        plain(wrench_setting(float(units.convert(torque, "moment", system)[0]))) for torque in (least, greatest)
    ]
    return f"{' to '.join(dict.fromkeys(settings))} {units.convert(0.0, 'moment', system)[1]}"
