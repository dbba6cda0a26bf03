"""The shell of every page that is taken away: one self-contained file, set for screen, phone and printed A4 or Letter.

Everything here returns :class:`markupsafe.Markup`, a string that says of itself that it is HTML. Plain strings given to any
function of this module are escaped, Markup is taken as it is; so text of a case file can only come out as text. Paper size is
left to the printer, no script is used, nothing is fetched (the page's own policy forbids it).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from hashlib import sha256
from importlib.resources import files
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from anchorsize import __version__

OVERRIDES = {ord(each): None for each in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"}
"""Signs that turn the direction of all that follows; taken out of every text, since they could turn a sentence's numbers."""

TOGETHER = 12
"""Rows up to which a table is kept on one printed page."""

_PACKAGE = files("anchorsize.present.pages")


def esc(text: object) -> Markup:
    """Text as HTML that shows just that text; Markup is taken as it is."""
    return escape(text.translate(OVERRIDES) if type(text) is str else text)


def told(text: object) -> Markup:
    """Text of the user's, kept from turning the line around it: right-to-left writing stays within itself."""
    return Markup("<bdi>{}</bdi>").format(esc(text))


def render(template: str, **values: Any) -> Markup:
    """A template of this package as HTML; what is put in is escaped unless it is Markup, a name left out is an error."""
    return Markup(_environment().get_template(template).render(**values))


def style(name: str) -> Markup:
    """A style sheet of this package, for ``css`` of :func:`page`."""
    return Markup(_PACKAGE.joinpath(name).read_text(encoding="utf-8"))


def page(title: str, body_html: str, css: str = "", lang: str = "en") -> str:
    """A whole page: ``body_html`` (Markup, with one h1 at its head) in the shell.

    Parameters
    ----------
    title
        Plain text for the window and the printed file's name.
    body_html
        What stands in ``main``. A plain ``str`` is taken as HTML here, and only here.
    css
        Rules of this page, after those of the house (page.css); they must name no outside file.
    lang
        Language of the page.
    """
    return render(
        "page.html.j2",
        title=title,
        body=Markup(body_html),
        house_css=style("page.css"),
        css=Markup(css),
        lang=lang,
        version=__version__,
    )


def table_html(headers: Sequence[str], rows: Sequence[Sequence[str]], caption: str = "", left: int = 1) -> Markup:
    """A table: column heads with scope, the first cell of each row its head, the first ``left`` columns set left.

    A newline in a header breaks its line. On a narrow screen the table scrolls in its own box, reached by keyboard.
    """
    return render(
        "table.html.j2",
        headers=[header.split("\n") for header in headers],
        rows=rows,
        caption=caption,
        left=left,
        together=TOGETHER,
    )


def figure_html(svg: bytes | str, alt: str, caption: str = "") -> Markup:
    """A picture set in the page: ``svg`` as drawn here or by matplotlib, ``alt`` what it shows, ``caption`` below it.

    The names inside the picture are made its own (two pictures of one page share none), its size becomes the greatest it is
    shown at, and ``alt`` becomes its title for those who do not see it. ValueError where there is no svg element.
    """
    text = svg.decode("utf-8") if isinstance(svg, bytes) else svg
    found = re.search(r"<svg\b([^>]*)>(.*)</svg>", text, re.DOTALL)
    if found is None:
        raise ValueError("a picture for a page is an svg element")
    prefix = f"p{sha256((text + alt).encode()).hexdigest()[:10]}-"
    inside = re.sub(r"<metadata>.*?</metadata>", "", found[2], flags=re.DOTALL)
    inside = re.sub(r"(\bid=\"|url\(#|href=\"#)", rf"\g<1>{prefix}", inside)
    width = re.search(r'\bwidth="([\d.]+)(pt|px|mm|)"', found[1])
    return render(
        "figure.html.j2",
        attributes=Markup(re.sub(r'\s(?:width|height|role|style|aria-\w+)="[^"]*"', "", found[1])),
        width=f"{width[1]}{width[2] or 'px'}" if width else "100%",
        name=f"{prefix}title",
        alt=alt,
        inside=Markup(inside),
        caption=caption,
    )


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("anchorsize.present", "pages"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=esc,
        trim_blocks=True,
        lstrip_blocks=True,
    )
