"""What to write in place of what people write first: clock positions, nominal sizes, directions in words, # for pounds."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TypeAlias

from anchorsize.reference import NotInTable, gasket_ring, load
from anchorsize.reference.tables import Row, figure, inches
from anchorsize.units import System, figures, show

_CLOCK = re.compile(r"\b(\d{1,2})(?::(\d\d)\b|\s*o\W?\s*clock)", re.ASCII | re.IGNORECASE)
NO_CLOCK = "clock positions are not read: write the number of the bolt; check prints the clock position of every bolt beside its number"
CLASSES_DIFFER = (
    "a joint has one class: put the numbers of bolts of another grade under missing, where they are judged as absent until they are "
    "replaced, or write the weaker class for all"
)
SIZES_DIFFER = "bolts of one circle have one size: where sizes differ give bolts as a list of {x, y, size}"
WHICH_BOLTS = "write the numbers of the bolts that are missing, as in [3, 4]"
_NUMBERED = re.compile(r"\W*(?:bolt|b|no|nr|n|#)?\W*(\d{1,4})\W*(?:bolts?)?\W*", re.ASCII | re.IGNORECASE)

_LONGEST_LIST = 300  # characters in which a list without commas is looked for
_LONGEST_NUMBERED = 30  # characters in which a bolt number with a word is looked for

_SIZE = r"((?:\d+[\s-]+)?\d+/\d+|\d+(?:\.\d+)?)"
_DN = re.compile(r"\bDN\s*(\d+)|\b(\d+)\s*DN\b", re.ASCII | re.IGNORECASE)
_NPS = re.compile(rf"\bNPS\s*{_SIZE}|\b{_SIZE}\s*NPS\b", re.ASCII | re.IGNORECASE)
_SCHEDULE = re.compile(r"\b(?:sch(?:ed(?:ule)?)?\.?\s*(\d+|std|xs)|(std|xs))\b", re.ASCII | re.IGNORECASE)
_LEADING = re.compile(rf"\s*{_SIZE}\s*(?:in\b\.?|inch(?:es)?\b|[\"″”])?", re.ASCII | re.IGNORECASE)
_INSIDE = ("bore", "inside")

_DECIMAL = r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)"
_ABOUT = re.compile(r"\s*(?:about|approx\w*\.?|around|roughly|ca\.?|~|≈)\s*(?=\d)", re.IGNORECASE)
_BLANKS = re.compile(rf"\s*({_DECIMAL}(?:\s+{_DECIMAL})+)(?:\s*([^\W\d][^\s].*?|[^\W\d]))?\s*", re.ASCII)
_SPAN = re.compile(r"\s*(\d{1,4})\s*(?:-|–|to|\.\.+)\s*(\d{1,4})\s*", re.IGNORECASE)
_BETWEEN = re.compile(r"\s*[,;&]\s*|\s+and\s+|\s+(?=\d)(?<!-\s)(?<!–\s)(?<!to\s)", re.IGNORECASE)
_MOST_OF_A_SPAN = 40  # bolts that are written out one by one

WordHints: TypeAlias = tuple[tuple[str, str], ...]
"""What people write where a few words are known, as patterns, each with what to write."""
GASKET_WORDS: WordHints = (
    (
        r"stays|in[ _-]?service|undisturbed|un-?opened|not[ _-]opened|never|kept|in[ _-]?situ|for years",
        "write in_place: it stays",
    ),
    (
        r"old|used|re-?used|existing|original|worn|second",
        "write reused where it is to be replaced by a new one, in_place where it stays (in service, not opened)",
    ),
)
_RUNS_CLOCKWISE = (
    "bolts are numbered clockwise, seen from the fitting toward the pipe, bolt 1 at first_at; where yours run the other way, write the "
    "lists of torques in that clockwise order, or give bolts as a list of {x, y, size} in your own order"
)
NUMBERING_WORDS: WordHints = (
    (r"clock|ccw|^cw$|number", _RUNS_CLOCKWISE),
    (r"sense|^direction$|^order$|^turn", _RUNS_CLOCKWISE),  # of a joint itself these may mean something else
)
SUBMERGED = (
    "an opening under water is connected, with the pressure there: write {pressure: …}, the depth of its center under the surface times ρg "
    "(9.8 kPa for each meter, 0.43 psi for each foot of water)"
)
EXIT_WORDS: WordHints = (
    (r"submerged|drowned|under ?water|flooded|tailwater", SUBMERGED),
    (
        r"blank|blind|plug|cap|cork|closed|bung|stopper",
        "write capped, where the closure belongs to the fitting; a valve beyond it is connected",
    ),
    (r"open|atmosph|free|jet|air", "write free_jet"),
    (r"pipe|hose", "write {pressure: …}: it is connected, with the pressure there"),
)
LOOSE = r"\s*(?:finger|hand|spanner|loose|slack|not tight|un-?tight)"
_AXIS = re.compile(r"([+-]?)\s*([xyz])(?:\s*axis)?", re.IGNORECASE)
_UP = ("up", "upward", "upwards", "vertical", "vertically")
_DOWN = ("down", "downward", "downwards")


def word_hint(text: str, meant: WordHints) -> str:
    """What to write for a text that is none of the words known; nothing where that is not known."""
    return next((hint for words, hint in meant if re.search(words, text, re.IGNORECASE)), "")


def tightened_by_feel(text: str, unit: str) -> str:
    """How to write the torque of a bolt that was found loose or hand-tight, or a figure with `about` before it; nothing for any other text."""
    if re.match(LOOSE, text, re.IGNORECASE):
        return f"write 0 {unit} for a bolt that is loose or only hand-tight"
    about = _ABOUT.match(text)
    return "" if about is None else f"write {text[about.end() :].strip()}; how far it may be off goes under scatter"


def clock_angle(text: str) -> float | None:
    """The angle [deg] clockwise from 12:00 of a text that is a clock position; None for any other."""
    found = _CLOCK.fullmatch(text.strip())
    return None if found is None else (30.0 * int(found[1]) + 0.5 * int(found[2] or 0)) % 360.0


def bolt_number(text: str) -> str:
    """What to write for a bolt that is named by its place or with a word; nothing where that is not known."""
    if _CLOCK.search(text):
        return NO_CLOCK
    worded = len(text) <= _LONGEST_NUMBERED and re.search("[A-Za-z#]", text)
    found = _NUMBERED.fullmatch(text) if worded else None
    return f"write {int(found[1])}" if found and int(found[1]) else ""


def bolt_numbers(text: str, least: int = 2) -> str:
    """How to write a list of ``least`` bolt numbers or more that are given without commas, with a word or as a span such as 3-4.

    Nothing for any other text.
    """
    found: list[int] = []
    if least < 2 and bolt_number(text).removeprefix("write ").isdigit():
        text = bolt_number(text).removeprefix("write ")
    for part in _BETWEEN.split(text.strip(" []")):
        span = _SPAN.fullmatch(part)
        if span is None and not (part.isascii() and part.isdigit() and len(part) < 5):
            return ""
        first, last = (int(span[1]), int(span[2])) if span else (int(part), int(part))
        if not first <= last < first + _MOST_OF_A_SPAN:
            return ""
        found += range(first, last + 1)
    return f"write [{', '.join(map(str, found))}]" if len(found) >= least else ""


def commas(text: str, unit: str) -> str:
    """How to write numbers that only blanks part as a list; its unit, where it has none, is ``unit``. Nothing for any other text."""
    found = _BLANKS.fullmatch(text) if len(text) <= _LONGEST_LIST else None
    if found is None:
        return ""
    given = found[2] or ""
    behind = f" {given or unit}" if given or unit else ""
    said = "commas between the values" + ("" if given or not unit else ", and the unit behind the last")
    return f"{said}: [{', '.join(found[1].split())}{behind}]"


def ring_diameters(flange: str, system: System) -> dict[str, str]:
    """What to write for the inside and outside diameters of a gasket, from the table of rings where the flange named is in it."""
    table = "`anchorsize table gasket_rings` lists rings; for any other write what the face really presses"
    try:
        ring = gasket_ring(flange) if flange.strip() else None
    except NotInTable:
        ring = None
    if ring is None:
        return dict.fromkeys(("inside", "outside"), table)
    sizes = {"inside": ring.inside, "outside": ring.outside}
    return {
        key: f"the flat ring {ring.designation} of `anchorsize table gasket_rings` has {show(size, 'length', system)}; write what is fitted"
        for key, size in sizes.items()
    }


def direction(text: str, up: Sequence[float] | None) -> str:
    """How to write a direction that is given as a word; ``up`` is that of the file, None where it is not known."""
    word = " ".join(text.lower().split())
    axis = _AXIS.fullmatch(word)
    if axis:
        place = "xyz".index(axis[2])
        return _vector([(-1.0 if axis[1] == "-" else 1.0) if k == place else 0.0 for k in range(3)])
    if up is not None and word in (*_UP, *_DOWN):
        return f"{_vector([-each if word in _DOWN else each for each in up])}, which is {word} in this file"
    return "write [x, y, z]"


def _vector(parts: Sequence[float]) -> str:
    return f"write [{', '.join(f'{part + 0.0:g}' for part in parts)}]"


def nominal_size(text: str, key: str, system: System) -> str:
    """What to write for a nominal pipe size that stands where a length is wanted; nothing for any other text.

    Outside diameter and wall are those of the table of pipe sizes, where it lists the size.
    """
    dn, nps, schedule = _DN.search(text), _NPS.search(text), _SCHEDULE.search(text)
    size = nps or (_LEADING.match(text) if schedule else None)
    if not (dn or size):
        return ""
    wanted = "the inside diameter" if key in _INSIDE else "the length itself"
    said = f"a nominal size is no length: write {wanted}, with its unit"
    column, asked = ("dn", _named(dn)) if dn else ("nps", _named(size))
    row = next((row for row in load("pipe_sizes").rows if inches(row[column]) == inches(asked)), None)
    if row is None:
        return f"{said}; `anchorsize table pipe_sizes` lists pipes"
    return f"{said}; `anchorsize table pipe_sizes`: {_pipe(row, _named(schedule).lower(), system)}"


def _named(found: re.Match[str] | None) -> str:
    """The one group of a pattern that took part in its match."""
    return "" if found is None else next(filter(None, found.groups()), "")


def _pipe(row: Row, schedule: str, system: System) -> str:
    """A pipe of the table with its outside diameter and, where its schedule is named and listed, its inside diameter."""
    unit = "in" if system == "us" else "mm"
    outside = figure(row, f"outside_{unit}")
    words = f"DN {row['dn']} (NPS {row['nps']}) is {outside:g} {unit} outside"
    wall = row.get(f"wall_{schedule if schedule.isalpha() else f'sch{schedule}'}_{unit}")
    if not schedule or not wall:
        return f"{words}; its bore is that less twice the wall"
    name = f"schedule {schedule}" if schedule.isdigit() else schedule.upper()
    return f"{words}, and {figures(outside - 2 * float(wall), 5)} {unit} inside with the {wall} {unit} wall of {name}"


def pound_sign(given: str, line: str, noun: str) -> str:
    """What to say of a bare number that a # follows in its line, where it starts a comment; nothing where none does."""
    if not re.search(rf"{re.escape(given)}\s+#", line):
        return ""
    unit = {"a mass": "lb", "a force": "lbf", "a moment": "ft*lbf"}.get(noun)
    remedy = f"write {unit}" if unit else "write the unit in letters"
    return f"a # after a blank starts a comment: {remedy} if it stands for pounds"
