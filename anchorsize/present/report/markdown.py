"""The report as Markdown, for those who paste it into other documents; pictures are told in words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from anchorsize.present.report.blocks import (
    Block,
    Bullets,
    Document,
    Facts,
    Grid,
    Lines,
    Listing,
    Picture,
    Prose,
    Section,
    Signatures,
    grouped,
)
from anchorsize.present.report.brief import ELSEWHERE, Told, in_brief
from anchorsize.present.report.lines import LEFT_OUT, in_text
from anchorsize.present.report.steps import Step
from anchorsize.units import System

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>#|~])")


def report_markdown(made: Document, system: System, full: bool = False) -> str:
    """The whole report; ``full`` writes every worked line out."""
    writer = _Writer(system, full)
    parts = [f"# {plain(made.title)}", *(writer.block(block) for block in made.front)]
    for i, section in enumerate(made.sections, 1):
        parts += writer.section(section, 2, str(i))
    return "\n\n".join(part for part in parts if part) + "\n"


def plain(text: str) -> str:
    """A text on one line in which nothing is read as a mark of Markdown or HTML."""
    return _SPECIAL.sub(r"\\\1", " ".join(text.split())).replace("&", "&amp;")


class _Writer:
    def __init__(self, system: System, full: bool) -> None:
        self._system: System = system
        self._full = full
        self._chapter, self._line = "", 0

    def section(self, section: Section, level: int, number: str = "") -> Iterator[str]:
        """A section with what is within it."""
        if number:
            self._chapter, self._line = number, 0
        yield f"{'#' * level} {f'{number} ' if number else ''}{plain(section.heading)}"
        yield from (self.block(block) for block in section.blocks)
        for each in section.sections:
            yield from self.section(each, level + 1)

    def block(self, block: Block) -> str:
        """One block."""
        match block:
            case Prose(text=text, look=look):
                return f"**{plain(text)}**" if look in ("loud", "boxed") else plain(text)
            case Bullets(items=items):
                return "\n".join(f"- {plain(item)}" for item in items)
            case Facts(items=facts):
                return "\n".join(f"- **{plain(name)}**: {plain(words)}" for name, words in facts)
            case Grid():
                return _table(block)
            case Picture(alt=alt, caption=caption):
                return f"*Picture: {plain(alt)}*{f' {plain(caption)}' if caption else ''}"
            case Lines(steps=steps):
                return "\n".join(self._lines(steps))
            case Listing(text=text, caption=caption):
                fence = "`" * max(3, 1 + max((len(run) for run in re.findall("`+", text)), default=0))
                return f"{plain(caption)}:\n\n{fence}\n{text.rstrip()}\n{fence}"
            case Signatures(roles=roles, fields=fields):
                return _table(Grid("", ["", *fields], [[role, *("" for _ in fields)] for role in roles], ""))

    def _lines(self, steps: Sequence[Step]) -> Iterator[str]:
        told, tables = ([Told(group) for group in grouped(steps)], []) if self._full else in_brief(steps)
        for each in told:
            group = each.steps
            written = [in_text(step, self._system, self._full) for step in group]
            lead = "" if group[0].unknowns else f"{written[0].symbol} = "
            cited = f"{group[0].source}; {ELSEWHERE}" if each.tabled else group[0].source
            yield f"- {plain(group[0].name)} ({plain(cited)}): {plain(lead + written[0].formula)}"
            for step, line in zip(group, written, strict=True):
                self._line += 1
                put_in = " ".join(f"{sign} {body}" if sign else body for sign, body in line.put_in)
                label = f"{step.label}: " if step.label else ""
                result = f"{line.symbol} = {line.result}" if step.unknowns else line.result
                also = f" = {line.also}" if line.also else ""
                also += f" ({LEFT_OUT})" if line.left_out else ""
                join = "; " if step.unknowns else " = "
                yield f"  - {self._chapter}.{self._line} {plain(f'{label}{put_in}{join}{result}{also}')}"
        for table in tables:
            yield f"\n{_table(table)}"


def _table(grid: Grid) -> str:
    def line(cells: Sequence[str]) -> str:
        return f"| {' | '.join(plain(cell) for cell in cells)} |"

    align = ["---" if i < grid.left else "---:" for i in range(len(grid.headers))]
    head = [f"{plain(grid.caption)}\n"] if grid.caption else []
    return "\n".join([*head, line(grid.headers), f"| {' | '.join(align)} |", *(line(row) for row in grid.rows)])
