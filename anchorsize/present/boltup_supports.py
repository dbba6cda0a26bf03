"""The supports that the verdict of the installer's sheet counts on, each with what it is set to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from anchorsize.present.boltup_words import both, short
from anchorsize.present.words import joined, number
from anchorsize.study import Support
from anchorsize.units import System

SET_WHILE_HELD = "in place and set while the fitting is still held, before its weight comes on the joint"
"""When a support is set that is to carry its share of the weight: what the joint bends under first, no support takes back."""

NAMED = 6  # supports named one by one; more are counted
LONGEST_NAME = 24


def supports_words(supports: Sequence[Support], system: System) -> str:
    """The supports by name, kind, set load and gap, those alike together; empty where the bolts alone hold the fitting."""
    alike: dict[str, list[str]] = {}
    for each in supports[:NAMED]:
        alike.setdefault(_terms(each, system), []).append(short(each.name, LONGEST_NAME))
    rest = len(supports) - NAMED
    told = [f"{joined(names)} ({terms})" for terms, names in alike.items()]
    return "; ".join(told) + (f"; and {rest} more in the case file" if rest > 0 else "")


def supports_first(supports: Sequence[Support], idle: Sequence[Support], system: System) -> list[str]:
    """What to tick off of the supports before the first nut is turned; nothing where the bolts alone hold the fitting."""
    told = [f"Not counted on: {idle_words(idle, system)}."] if idle else []
    if not supports:
        return told
    return [
        f"{'Support' if len(supports) == 1 else 'Supports'} {SET_WHILE_HELD}, the verdict counts on "
        f"{'it' if len(supports) == 1 else 'them'}: {supports_words(supports, system)}.",
        *told,
    ]


def idle_words(idle: Sequence[Support], system: System) -> str:
    """The supports that carry in no case, which nothing counts on."""
    return f"{supports_words(idle, system)}, {'which carries' if len(idle) == 1 else 'which carry'} nothing in any case of the file"


def supports_list(supports: Sequence[Support]) -> list[dict[str, Any]]:
    """The same for the machine output."""
    return [
        {
            "name": each.name,
            "kind": each.kind,
            "set_load_N": None if each.set_load is None else number(each.set_load),
            "gap_m": number(each.gap),
        }
        for each in supports
    ]


def _terms(support: Support, system: System) -> str:
    """Kind, set load and gap of a support."""
    terms = [support.kind.replace("_", " ")]
    if support.set_load is not None and float(support.set_load):
        terms.append(f"set to {both(float(support.set_load), 'force', system)}")
    if float(support.gap):
        terms.append(f"gap {both(float(support.gap), 'length', system)}")
    return ", ".join(terms)
