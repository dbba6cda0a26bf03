"""What a report is made of, whatever it is written as: sections that hold sentences, lists, tables, pictures and worked lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from anchorsize.present.report.steps import Step

Look: TypeAlias = Literal["plain", "note", "loud", "boxed", "soft"]


@dataclass(frozen=True)
class Prose:
    """A paragraph, and how much it is set apart."""

    text: str
    look: Look = "plain"


@dataclass(frozen=True)
class Bullets:
    """A list of sentences."""

    items: Sequence[str]


@dataclass(frozen=True)
class Facts:
    """Names with what is known of each."""

    items: Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Grid:
    """A table. Grids of one ``name`` go into one file of comma-separated values, told apart by their ``keys``."""

    name: str
    headers: Sequence[str]  # a newline breaks a header's line
    rows: Sequence[Sequence[str]]
    caption: str
    left: int = 1
    keys: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Picture:
    """A picture: ``svg``, what it shows in words, and what stands below it."""

    svg: bytes
    alt: str
    caption: str = ""


@dataclass(frozen=True)
class Lines:
    """Worked lines; those of one formula stand together."""

    steps: Sequence[Step]


@dataclass(frozen=True)
class Listing:
    """A text as it stands in a file."""

    text: str
    caption: str


@dataclass(frozen=True)
class Signatures:
    """An empty block for those who sign: a row for each role."""

    roles: Sequence[str]
    fields: Sequence[str]


Block: TypeAlias = Prose | Bullets | Facts | Grid | Picture | Lines | Listing | Signatures


@dataclass(frozen=True)
class Section:
    """A heading with what stands under it; sections within it are one level down. ``early`` ones stand right behind the result."""

    heading: str
    blocks: Sequence[Block] = ()
    sections: Sequence[Section] = ()
    early: bool = False


@dataclass(frozen=True)
class Document:
    """A whole report. ``front`` stands before the first section, under the title."""

    title: str
    front: Sequence[Block]
    sections: Sequence[Section] = field(default=())


def grouped(steps: Sequence[Step]) -> list[list[Step]]:
    """Worked lines that follow each other with one formula and one name, together."""
    found: list[list[Step]] = []
    for step in steps:
        if found and (found[-1][0].formula, found[-1][0].symbol, found[-1][0].name) == (
            step.formula,
            step.symbol,
            step.name,
        ):
            found[-1].append(step)
        else:
            found.append([step])
    return found
