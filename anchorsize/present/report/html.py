"""The report as one self-contained page: no script, nothing fetched; formulas are MathML, pictures SVG."""

from __future__ import annotations

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
from anchorsize.present.report.lines import Written, in_mathml
from anchorsize.present.report.steps import Step
from anchorsize.units import System


def report_html(made: Document, system: System) -> str:
    """The whole page."""
    writer = _Writer(system)
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
    """Writes sections and blocks; worked lines are numbered within each section of the first level."""

    def __init__(self, system: System) -> None:
        self._system: System = system
        self._chapter, self._line = "", 0

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
                return table_html(headers, rows, caption, left)
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
        for group in grouped(steps):
            written = [in_mathml(step, self._system) for step in group]
            first, step = written[0], group[0]
            formula = math(first.formula if step.unknowns else f"{first.symbol}<mo>=</mo>{first.formula}")
            alone = len(group) == 1 and not step.label and not step.unknowns
            yield f'<div class="step"><p class="what">{escape(step.name)} <span class="src">{escape(step.source)}</span></p>'
            if not alone:
                yield f'<p class="formula">{formula}</p>'
            for step, line in zip(group, written, strict=True):
                yield self._line_of(step, line, formula if alone else "")
            yield "</div>"

    def _line_of(self, step: Step, line: Written, formula: str) -> str:
        """One line: its number and label or formula, the numbers put in, the result."""
        self._line += 1
        lead = (
            f'<span class="formula">{formula}</span> '
            if formula
            else f"<bdi>{escape(step.label)}</bdi> "
            if step.label
            else ""
        )
        first = "=" if formula else ""
        put_in = " ".join(signed(sign or first, body) for sign, body in line.put_in)
        result = (math(line.symbol) if step.unknowns else "") + signed("=", line.result)
        also = f' <span class="also">= {escape(line.also)}</span>' if line.also else ""
        number = f"{self._chapter}.{self._line}"
        return (
            f'<p class="line"><span class="no">{number}</span> {lead}<span class="put">{put_in}</span> '
            f'<span class="result">{result}</span>{also}</p>'
        )


def _signatures(roles: Sequence[str], fields: Sequence[str]) -> Markup:
    heads = Markup("").join(Markup('<th scope="col">{}</th>').format(field) for field in ("", *fields))
    empty = Markup("<td></td>") * len(fields)
    rows = Markup("").join(Markup('<tr><th scope="row">{}</th>{}</tr>').format(role, Markup(empty)) for role in roles)
    return Markup(
        '<div class="scroll" role="region" tabindex="0" aria-label="Signatures"><table class="sign"><thead><tr>{}</tr></thead><tbody>{}</tbody></table></div>'
    ).format(heads, rows)
