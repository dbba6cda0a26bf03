"""Words of the trade in plain ones, for whoever bolts the joint up: told once, and only those that a text uses."""

from __future__ import annotations

import re

PLAIN: tuple[tuple[str, str, str], ...] = (
    (r"\bgoverns\b", "governs", "is nearest to its limit"),
    (r"\butiliz(?:ation|ed)\b", "utilization", "share of what is allowed that is used (over 1 fails)"),
    (r"\bpreload\b", "preload", "the pull in a bolt from tightening it"),
    (r"\bscatter\b", "scatter", "how far that pull can be off at the same torque"),
    (
        r"\bnut factor\b",
        "nut factor K",
        "friction of thread and nut in one figure: torque = K × preload × bolt diameter",
    ),
    (r"\bproof\b", "bolt proof", "the pull from which a bolt stays stretched"),
    (r"\bbolt breaking\b", "bolt breaking", "the pull that tears a bolt"),
    (r"\btension with shear\b", "tension with shear", "pull and sideways load of a bolt together"),
    (r"\bwidest bolt gap\b", "widest bolt gap", "the longest space between two bolts"),
    (r"\bbolt spacing\b", "bolt spacing", "the shortest space between two bolts, for the wrench"),
    (r"\bhole bearing\b", "hole bearing", "bolt pressing sideways on its hole"),
    (r"\blift-off\b", "joint lift-off", "the flanges part on one side"),
    (r"\bjoint slip\b", "joint slip", "the whole flange slides on its gasket"),
    (r"\bslip at the bolts\b", "slip at the bolts", "the flange slides at one bolt"),
    (r"\bthread stripping\b", "thread stripping", "thread torn out of the nut or off the bolt"),
    (r"\bgasket seating\b", "gasket seating", "tight enough to bed a new gasket in"),
    (r"\bgasket in service\b", "gasket in service", "squeeze left on the gasket under pressure, enough to seal"),
    (r"\bgasket crushing\b", "gasket crushing", "the gasket squeezed harder than allowed"),
    (r"\bm and y\b|, m [\d.]+, y ", "m and y", "figures of the gasket: how much squeeze it needs to seal"),
    (r"\bcode bolt area\b", "code bolt area", "steel enough in the bolts by the rule of ASME VIII-1"),
    (
        r"\bjoint (?:force|moment|axial|shear|bending|torsion)\b",
        "joint force, joint moment",
        "how hard the fitting pulls and bends the nozzle or pipe it is bolted to",
    ),
    (r"\bbolt fatigue\b", "bolt fatigue", "a bolt that breaks from load going back and forth"),
)
"""How a word is found, the word, and what it means."""


def in_plain_words(text: str) -> str:
    """What the words of the trade in a text mean, in one line; empty where it has none."""
    meant = [f"{word} = {plain}" for found, word, plain in PLAIN if re.search(found, text, re.IGNORECASE)]
    return f"In plain words: {'; '.join(meant)}." if meant else ""
