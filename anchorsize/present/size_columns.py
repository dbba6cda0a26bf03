"""A table of candidates with as many columns as the width takes, and a word on every column that had to go."""

from __future__ import annotations

from typing import TypeAlias

from anchorsize.present.words import paragraph, table

Column: TypeAlias = tuple[str, list[str]]
"""Header, of one line or two with the unit on the second, and cells."""

NAMES = {
    "class": "class",
    "torque": "torque",
    "preload": "mean preload",
    "bolts weigh": "weight of the bolts",
    "lost": "worst lost bolt",
}
"""What a column is called in a sentence; the others by their header."""

ALIKE = ("class", "preload", "bolts weigh", "torque", "lost")  # go first where every row has the same
DROPPED = ("preload", "bolts weigh", "last", "lost", "torque", "class")  # the least telling first


def fitted(columns: dict[str, Column], width: int) -> str:
    """The table; columns that are the same in every row go first, and what went stands below it."""
    kept = {key: each for key, each in columns.items() if key != "class" or set(each[1]) != {"-"}}
    same, left_out = [], []
    constant = [key for key in ALIKE if key in kept and len(set(kept[key][1])) == 1]
    text = _text(kept)
    for key in (*constant, *DROPPED):
        if _wide(text) <= width:
            break
        if key not in kept:
            continue
        header, cells = kept.pop(key)
        first, _, second = header.partition("\n")
        if key in constant:
            same.append(f"{NAMES[key]} {cells[0]} {'' if key == 'lost' else second}".rstrip())
        else:
            left_out.append(NAMES.get(key, f"{first} {second}"))
        text = _text(kept)
    lines = [f"the same in every row: {', '.join(same)}"] if same else []
    lines += [f"left out at this width: {', '.join(left_out)}; --width and --json show them"] if left_out else []
    return "\n".join([text, *(paragraph(line, width) for line in lines)])


def _text(columns: dict[str, Column]) -> str:
    headers = [header for header, _ in columns.values()]
    return table([list(row) for row in zip(*(cells for _, cells in columns.values()), strict=True)], headers, left=3)


def _wide(text: str) -> int:
    return max(map(len, text.splitlines()))
