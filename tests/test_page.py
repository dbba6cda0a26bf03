"""The shell of the pages: what is put in comes out as text, pictures keep their names apart, nothing can be fetched."""

from __future__ import annotations

import io
import json
import re

import pytest
from jinja2 import UndefinedError
from markupsafe import Markup

from anchorsize.present.pages.page import esc, figure_html, page, render, table_html, told
from tests.browser import load


def drawn(values):
    """A small picture by matplotlib, with names and references inside it."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(3, 2))
    figure.subplots().plot(values)
    written = io.BytesIO()
    figure.savefig(written, format="svg")
    return written.getvalue()


def test_text_is_escaped_and_markup_is_not():
    assert esc("a < b & c") == "a &lt; b &amp; c"
    assert esc(Markup("<b>a</b>")) == "<b>a</b>"
    assert esc(3) == "3"
    assert told("<i>") == "<bdi>&lt;i&gt;</bdi>"
    assert esc("left\u202eright\u2066") == "leftright"


def test_a_table_has_heads_and_escapes_its_cells():
    made = table_html(["bolt", "torque\nN·m"], [["<1>", Markup("<b>90</b>")]], "Torques & turns")
    assert '<th scope="col" class="left">bolt</th><th scope="col">torque<br>N·m</th>' in made
    assert '<th scope="row" class="left">&lt;1&gt;</th><td><b>90</b></td>' in made
    assert "<figcaption>Torques &amp; turns</figcaption>" in made
    assert 'aria-label="Torques &amp; turns"' in made


def test_two_pictures_on_a_page_share_no_name_and_keep_their_references():
    both = figure_html(drawn([1, 2]), "one") + figure_html(drawn([1, 2]), "another")
    names = re.findall(r'\bid="([^"]+)"', both)
    assert names
    assert len(names) == len(set(names))
    references = re.findall(r'(?:url\(#|href="#)([^)"]+)', both)
    assert references
    assert set(references) <= set(names)


def test_a_picture_says_what_it_shows_and_shrinks_with_the_page():
    made = figure_html(drawn([1, 2]), 'a "rising" <line>', "caption <1>")
    assert 'role="img"' in made
    assert re.search(r'<title id="[^"]+">a &#34;rising&#34; &lt;line&gt;</title>', made)
    assert 'style="--native:216pt"' in made  # 3 in; page.css lets it be no wider than its column
    assert "<figcaption>caption &lt;1&gt;</figcaption>" in made
    assert "<metadata>" not in made


def test_what_is_no_picture_is_refused():
    with pytest.raises(ValueError, match="svg element"):
        figure_html("<p>none</p>", "a picture")


def test_a_page_fetches_nothing_and_runs_nothing():
    made = page("a < b", Markup("<h1>{}</h1>").format("<script>"), "p { color: red; }")
    assert "default-src 'none'" in made
    assert "<title>a &lt; b</title>" in made
    assert "<h1>&lt;script&gt;</h1>" in made
    assert "p { color: red; }" in made
    assert made.startswith('<!DOCTYPE html>\n<html lang="en">')
    assert not re.search(r"url\(|@import|<script", made)


def test_a_name_left_out_of_a_template_is_an_error():
    with pytest.raises(UndefinedError, match="'lang' is undefined"):
        render("page.html.j2")


HINT = "getComputedStyle(document.querySelector('.scroll'), '::before').maxHeight"
SEEN = "getComputedStyle(document.querySelector('.scroll'), '::before').opacity"
LINES = "document.querySelector('.scroll').getBoundingClientRect().height"


def comes(shown, what):
    """Whether something comes to be true within some frames: the browser runs what follows the scrolling at its own pace."""
    for _ in range(100):
        if what():
            return True
        shown.value("new Promise(done => requestAnimationFrame(() => setTimeout(() => done(true), 50)))")
    return False


def test_a_table_that_goes_on_beyond_a_narrow_screen_says_so(browser, tmp_path):
    """The hint stands above a table only where there is more of it to the right; nothing of it is printed."""
    wide = table_html([f"column {i}" for i in range(9)], [["figure"] * 9])
    (tmp_path / "t.html").write_text(page("t", "<h1>t</h1>" + wide))
    pypdf = pytest.importorskip("pypdf")
    shown = load(browser, tmp_path / "t.html")
    shown.at_width(1200)
    assert shown.value(HINT) == "0px"
    plain = shown.value(LINES)
    shown.at_width(390)
    assert comes(shown, lambda: float(shown.value(HINT).removesuffix("px")) > 10)
    assert shown.value(LINES) > plain
    shown.value("document.querySelector('.scroll').scrollLeft = 9999")
    assert comes(shown, lambda: shown.value(SEEN) == "0")
    printed = pypdf.PdfReader(io.BytesIO(shown.pdf("A4"))).pages
    assert "more to the right" not in " ".join(each.extract_text() for each in printed)


def page_of(tmp_path, body, css=""):
    (tmp_path / "p.html").write_text(page("p", "<h1>p</h1>" + body, css))
    return tmp_path / "p.html"


def test_a_caption_has_the_width_of_the_page_over_a_narrow_table(browser, tmp_path):
    made = table_html(["a"], [["1"]], "A caption that is a good deal longer than its table is wide")
    shown = load(browser, page_of(tmp_path, made))
    shown.at_width(1400)
    assert shown.value("document.querySelector('figcaption').getClientRects().length") == 1
    high = shown.value("document.querySelector('figcaption').getBoundingClientRect().height")
    assert high < 2 * 16 * 1.45  # one line of letters of 16 px


def test_nothing_stands_beside_a_table_narrower_than_the_page(browser, tmp_path):
    """The shades of a table that scrolls must be covered whole, also where its box ends within a pixel."""
    image = pytest.importorskip("PIL.Image")
    made = table_html(["a"], [["1"]] * 5)
    shown = load(browser, page_of(tmp_path, made, "main { max-width: 801.33px; }"))
    shown.at_width(1400)
    box = shown.value("JSON.stringify(document.querySelector('.scroll').getBoundingClientRect())")
    seen = image.open(io.BytesIO(shown.screenshot(1400))).convert("L")
    where = {name: int(value) for name, value in json.loads(box).items()}
    right = seen.crop((where["right"] - 40, where["top"], where["right"] + 3, where["bottom"] + 3))
    assert right.getextrema() == (255, 255)


def test_a_picture_keeps_its_letters_readable_on_a_phone_and_scrolls_in_its_own_box(browser, tmp_path):
    wide = figure_html(
        '<svg width="520pt" height="200pt" viewBox="0 0 520 200"><text font-size="8">a</text></svg>', "a"
    )
    shown = load(browser, page_of(tmp_path, wide))
    assert shown.overflow(390) == 0
    across = shown.value("document.querySelector('svg').getBoundingClientRect().width")
    # letters of 7.8 pt in a picture of 520 pt, the smallest of all pictures but numbers in bolts
    assert 7.8 * across / 520 >= 8.8


def printed(browser, tmp_path, body):
    pypdf = pytest.importorskip("pypdf")
    shown = load(browser, page_of(tmp_path, body))
    return [each.extract_text() for each in pypdf.PdfReader(io.BytesIO(shown.pdf("A4"))).pages]


@pytest.mark.parametrize("height", range(225, 262, 4))
def test_a_caption_and_heads_stay_with_the_first_rows_in_print(browser, tmp_path, height):
    """Whatever stands above: caption, heads and two rows are on one page, and the heads on every page."""
    rows = [[f"row {i}", "1"] for i in range(60)]
    body = f'<div style="height:{height}mm">x</div>' + table_html(["head", "other"], rows, "The caption")
    pages = printed(browser, tmp_path, body)
    (first,) = [text for text in pages if "The caption" in text]
    for words in ("head", "row 0", "row 1"):
        assert words in first
    assert all("head" in text for text in pages if "row " in text)


def test_a_short_table_is_not_parted_in_print(browser, tmp_path):
    rows = [[f"row {i}", "1"] for i in range(8)]
    body = '<div style="height:235mm">x</div>' + table_html(["head", "other"], rows, "The caption")
    pages = printed(browser, tmp_path, body)
    assert sum("row " in text for text in pages) == 1


def test_bars_of_fractions_keep_clear_of_their_numbers_in_print(browser, tmp_path):
    body = "<p><math><mfrac><mrow><mn>5268</mn></mrow><mrow><mn>5268</mn></mrow></mfrac></math></p>"
    shown = load(browser, page_of(tmp_path, body))
    shown.ask("Emulation.setEmulatedMedia", media="print")
    seen = "document.querySelector('{}').getBoundingClientRect().{}"
    high = [shown.value(seen.format(f"mfrac > :{each}-child", "height")) for each in ("first", "last")]
    letters = shown.value(seen.format("mn", "height"))
    assert min(high) > letters  # each has room of its own between its digits and the bar
