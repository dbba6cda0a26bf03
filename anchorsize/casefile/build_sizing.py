"""What may be chosen for bolts, from its entry in the file or from words of the command line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeAlias

from pydantic import ValidationError

from anchorsize.casefile.format_sizing import SizingEntry
from anchorsize.casefile.problems import CaseFileError
from anchorsize.casefile.quantities import Collector, Quantity
from anchorsize.casefile.reading import Branch, Text
from anchorsize.study import Sizing

_Quantities: TypeAlias = tuple[Quantity, ...] | None


def build_sizing(entry: SizingEntry) -> Sizing:
    """Build the choice from a validated entry."""

    def si(quantities: _Quantities) -> tuple[float, ...]:
        return tuple(float(quantity.si) for quantity in quantities or ())

    return Sizing(
        counts=entry.counts or (),
        sizes=entry.sizes or (),
        circles=si(entry.circles),
        classes=entry.classes or (),
        torques=si(entry.torques),
        preload_shares=si(entry.preload_share),
        flanges=entry.flanges or (),
        standard=entry.standard in ("yes", "true"),
    )


def sizing_of_words(words: Mapping[str, str]) -> Sizing:
    """Read a choice from words of the command line, by key; each is a list with commas.

    Raises
    ------
    CaseFileError
        With everything that is wrong with them.
    """
    collector = Collector("command line")
    read = {}
    for key, text in words.items():
        branch = Branch(0, ())
        branch[key], branch.lines[key] = Text(text, 0, (key,)), 0
        try:  # key by key, so that one broken list does not hide what is wrong with the next
            read[key] = getattr(SizingEntry.model_validate(branch, context=collector), key)
        except ValidationError:
            continue
    if collector.problems:
        raise CaseFileError(collector.problems)
    return build_sizing(SizingEntry.model_construct(**read))
