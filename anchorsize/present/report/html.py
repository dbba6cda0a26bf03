"""The report as one self-contained page: no script, nothing fetched; formulas are MathML, pictures SVG."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from html import escape

from markupsafe import Markup

from anchorsize.present.mathml import math, signed
from anchorsize.present.pages.page import figure_html, page, style, table_html, told
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
from anchorsize.present.report.lines import LEFT_OUT, Written, in_mathml
from anchorsize.present.report.steps import Step
from anchorsize.units import System

PRINTED_WIDTH = 104
"""Signs of a term that fit on a printed line; a longer one is set smaller, since it cannot break and would shrink every page."""

_TAGS = re.compile(r"<[^>]*>")
_SUBSCRIPT = re.compile(r"\b([A-Za-z])_(\w{1,3})\b")


def report_html(made: Document, system: System, full: bool = False) -> str:
    """The whole page; ``full`` writes every worked line out."""
    writer = _Writer(system, full)
    body = [
        Markup("<header><h1>{}</h1>").format(told(made.title)),
        *(writer.block(block) for block in made.front),
        Markup("</header>"),
    ]
    body.append(_contents(made.sections))
    body += [writer.section(section, 2, str(i)) for i, section in enumerate(made.sections, 1)]
    return page(f"Calculation report: {made.title}", Markup("\n").join(body), style("report.css"))


def _contents(sections: Sequence[Section]) -> Markup:
    items = Markup("").join(
        Markup('<li><a href="#s{0}">{1}</a></li>').format(i, told(section.heading))
        for i, section in enumerate(sections, 1)
    )
    return Markup('<nav aria-label="Contents"><ol>{}</ol></nav>').format(items)


class _Writer:
    """Writes sections and blocks; worked lines are numbered within each section of the first level.

    In brief, a formula that an earlier line has shown is referred to by the number of that line.
    """

    def __init__(self, system: System, full: bool) -> None:
        self._system: System = system
        self._full = full
        self._chapter, self._line = "", 0
        self._shown: dict[tuple[str, ...], str] = {}  # number of the line that has shown a formula

    def section(self, section: Section, level: int, number: str = "") -> Markup:
        """A section with what is within it; ``number`` is that of a section of the first level."""
        if number:
            self._chapter, self._line = number, 0
        lead = Markup('<span class="no">{}</span> ').format(number) if number else ""
        name = Markup(' id="s{}"').format(number) if number else ""
        parts = [Markup("<section{0}><h{1}>{2}{3}</h{1}>").format(name, level, lead, told(section.heading))]
        parts += [self.block(block) for block in section.blocks]
        parts += [self.section(each, level + 1) for each in section.sections]
        return Markup("\n").join([*parts, Markup("</section>")])

    def block(self, block: Block) -> Markup:
        """One block."""
        match block:
            case Prose(text=text, look=look):
                kind = Markup("") if look == "plain" else Markup(' class="{}"').format(look)
                return Markup("<p{}>{}</p>").format(kind, told(text))
            case Bullets(items=items):
                return Markup("<ul>{}</ul>").format(
                    Markup("").join(Markup("<li>{}</li>").format(told(item)) for item in items)
                )
            case Facts(items=facts):
                pairs = (Markup("<div><dt>{}</dt><dd>{}</dd></div>").format(name, told(words)) for name, words in facts)
                return Markup('<dl class="facts">{}</dl>').format(Markup("").join(pairs))
            case Grid(headers=headers, rows=rows, caption=caption, left=left):
                return table_html([_head(head) for head in headers] if caption else headers, rows, caption, left)
            case Picture(svg=svg, alt=alt, caption=caption):
                return figure_html(svg, alt, caption)
            case Lines(steps=steps):
                return Markup("\n".join(self._lines(steps)))
            case Listing(text=text, caption=caption):
                return Markup('<figure class="listing"><figcaption>{}</figcaption><ol>{}</ol></figure>').format(
                    caption,
                    Markup("").join(Markup("<li><code>{}</code></li>").format(line) for line in text.splitlines()),
                )
            case Signatures(roles=roles, fields=fields):
                return _signatures(roles, fields)

    def _lines(self, steps: Sequence[Step]) -> Iterator[str]:
        """Worked lines: the formula of a group once, then a line for each set of numbers put in."""
        told, tables = ([Told(group) for group in grouped(steps)], []) if self._full else in_brief(steps)
        for each in told:
            yield from self._group(each)
        yield from (self.block(table) for table in tables)

    def _group(self, told: Told) -> Iterator[str]:
        """Lines of one formula."""
        group = told.steps
        written = [in_mathml(step, self._system, self._full) for step in group]
        first, step = written[0], group[0]
        alone = len(group) == 1 and not step.label and not step.unknowns
        key = (step.name, step.symbol, step.formula, step.source)
        again = not self._full and key in self._shown
        number = self._shown.setdefault(key, f"{self._chapter}.{self._line + 1}")
        cited = f"as {number}" if again else step.source
        cited += f"; {ELSEWHERE}" if told.tabled else ""
        formula = "" if again else math(first.formula if step.unknowns else f"{first.symbol}<mo>=</mo>{first.formula}")
        if not self._full and len(group) == 1 and not step.unknowns:
            name = with_subscripts(step.name) + (f", {escape(step.label)}" if step.label else "")
            source = f'<span class="src">{escape(cited)}</span>'
            shown = f'<span class="formula">{formula or math(first.symbol)}</span> '
            told_line = self._line_of(step, first, f"<bdi>{name} {source}</bdi> {shown}", "=")
            yield f'<div class="step again">{told_line}</div>'
            return
        yield f'<div class="step"><p class="what">{with_subscripts(step.name)} <span class="src">{escape(cited)}</span></p>'
        if formula and not alone:
            yield f'<p class="formula">{formula}</p>'
        for step, line in zip(group, written, strict=True):
            label = f"<bdi>{escape(step.label)}</bdi> " if step.label else ""
            yield self._line_of(
                step, line, f'<span class="formula">{formula}</span> ' if alone else label, "=" if alone else ""
            )
        yield "</div>"

    def _line_of(self, step: Step, line: Written, lead: str, first: str) -> str:
        """One line: its number, what leads it, the numbers put in after ``first``, the result."""
        self._line += 1
        put_in = " ".join(signed(sign or first, body) for sign, body in line.put_in)
        result = (math(line.symbol) if step.unknowns else "") + signed("=", line.result)
        also = f' <span class="also">= {escape(line.also)}</span>' if line.also else ""
        also += f' <span class="src">{LEFT_OUT}</span>' if line.left_out else ""
        number = f"{self._chapter}.{self._line}"
        longest = max(len(_TAGS.sub("", body)) for _, body in line.put_in)
        fit = f' style="--fit:{PRINTED_WIDTH / longest:.2f}"' if longest > PRINTED_WIDTH else ""
        return (
            f'<p class="line"><span class="no">{number}</span> {lead}<span class="put"{fit}>{put_in}</span> '
            f'<span class="result">{result}</span>{also}</p>'
        )


def with_subscripts(words: str) -> str:
    """Words as HTML in which a letter with a subscript, such as a_y, is set as one; with quotes in them a name of the user's stays."""
    told_words = str(escape(words))
    return told_words if "'" in words else _SUBSCRIPT.sub(r"\1<sub>\2</sub>", told_words)


def _head(head: str) -> str:
    """A head of a table, its letters with their subscripts."""
    found = with_subscripts(head)
    return Markup(found) if "<sub>" in found else head


def _signatures(roles: Sequence[str], fields: Sequence[str]) -> Markup:
    heads = Markup("").join(Markup('<th scope="col">{}</th>').format(field) for field in ("", *fields))
    empty = Markup("<td></td>") * len(fields)
    rows = Markup("").join(Markup('<tr><th scope="row">{}</th>{}</tr>').format(role, Markup(empty)) for role in roles)
    return Markup(
        '<div class="scroll" role="region" tabindex="0" aria-label="Signatures"><table class="sign"><thead><tr>{}</tr></thead><tbody>{}</tbody></table></div>'
    ).format(heads, rows)
