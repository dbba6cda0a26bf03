"""A tree put right where one reading alone makes sense of it, so that the rest of the file is judged as it was meant."""

from __future__ import annotations

import re
from collections.abc import Collection
from itertools import pairwise

from anchorsize.casefile.problems import alike
from anchorsize.casefile.reading import Branch, Text

_ENDS_IN_DIGIT = re.compile(r".*\d", re.ASCII)


def rejoined(branch: Branch) -> Branch:
    """Put values together that a comma has cut in two inside braces: ``{pressure: 1,800 kPa}`` has a key ``800 kPa``."""
    keys = list(branch)
    halves = [
        (first, second)
        for first, second in pairwise(keys)
        if second[:1].isdigit()
        and branch[second] == ""
        and isinstance(branch[first], Text)
        and _ENDS_IN_DIGIT.fullmatch(str(branch[first]))
    ]
    if not halves:
        return branch
    whole_again = Branch(branch.line, branch.path)
    for key in keys:
        whole_again[key], whole_again.lines[key] = branch[key], branch.lines[key]
    for first, second in halves:
        text = branch[first]
        if isinstance(text, Text):
            whole_again[first] = Text(f"{text},{second}", text.line, text.path)
            whole_again.pop(second, None)
    return whole_again


def read_as_meant(branch: Branch, key: str, keys: Collection[str]) -> str | None:
    """Put the value of an unknown ``key`` also under the one that differs by form alone, capitals or a plural s, and return that.

    The unknown key is a problem all the same; but nothing that follows from the absence of the other is one.
    """
    meant = next((known for known in keys if alike(known) == alike(key)), None) or next(
        (known for known in keys if alike(key) in (f"{alike(known)}s", alike(known).removesuffix("s"))), None
    )
    if meant is None or meant in branch:
        return None
    branch[meant], branch.lines[meant] = branch[key], branch.lines[key]
    return meant
