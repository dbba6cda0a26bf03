"""Pictures that are read on paper and on a phone: sizes of letters, names that fit, and nothing that says more than is so."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from anchorsize.assessment import assess
from anchorsize.casefile import read_case
from anchorsize.present.limits_picture import limits_alt, limits_picture
from anchorsize.present.pictures import fitting_view
from anchorsize.present.pictures.acting import Acting
from anchorsize.present.pictures.beside import APART, CLEAR, SIDE_BY_SIDE, places
from anchorsize.present.pictures.body import View
from anchorsize.present.pictures.scatter import _draw
from anchorsize.present.report.pictures import drawn, drawn_study, follow, orders
from anchorsize.present.supports_picture import comparison_figure
from anchorsize.studies.limits import Ask, limits
from anchorsize.studies.scatter import scatter
from anchorsize.studies.supports import compare
from tests.cases import ELBOW
from tests.test_pictures import named, texts

EXAMPLES = Path(__file__).parents[1] / "examples"
PAGE = 184.0 * 72.0 / 25.4  # width of A4 less the margins of a report [pt]
READABLE = 7.5  # least size of letters on paper [pt]


@pytest.fixture(scope="module")
def arm():
    return read_case(EXAMPLES / "supported_arm.yaml")


@pytest.fixture(scope="module")
def compared(arm):
    return compare(arm)


def letters(svg):
    """Sizes of the letters of a picture [pt] as they come out on paper, where it is no wider than the page."""
    text = svg.decode()
    wide = float(re.search(r'<svg[^>]* width="([\d.]+)pt"', text)[1])
    shrunk = min(1.0, PAGE / wide)
    return [float(size) * shrunk for size in re.findall(r"font(?:-size)?: [^;\"]*?([\d.]+)px", text)]


def test_letters_of_every_picture_of_a_report_are_readable_on_paper(arm, compared):
    """Numbers within a bolt may be smaller: the same stand beside it."""
    assessed = assess(arm, "rest on a post")
    blocks = [block for order in orders(assessed) for block in drawn(assessed, order)]
    for found in (compared, limits(arm, Ask(points=5)), follow(assessed)):
        blocks += drawn_study(found)
    assert len(blocks) > 10
    for block in blocks:
        sizes = letters(re.sub(rb"<text[^>]*>\d{1,2}</text>", b"", block.svg))
        assert sizes
        assert min(sizes) >= READABLE, block.alt


def test_a_case_of_the_limits_has_its_own_picture_in_the_report(arm):
    found = limits(arm, Ask(points=5, cases=("full flow", "part flow")))
    one, other = drawn_study(found)
    assert "'full flow'" in one.alt
    assert "'part flow'" not in one.alt
    assert "'part flow'" in other.alt


def test_where_a_check_fails_whatever_the_flow_nothing_looks_safe():
    """The wye lacks a bolt, so that one gap between bolts is too wide whatever flows."""
    found = limits(read_case(EXAMPLES / "wye_missing_bolt.yaml"), Ask(points=5, cases=("both branches",)))
    assert [each.check for each in found.cases["both branches"].fixed] == ["widest bolt gap"]
    text = limits_picture(found, "svg").decode()
    assert "Holds nowhere" in text
    assert "url(#h" not in text  # no hatching
    assert "hatched" not in text
    alt = limits_alt(found)
    assert "holds nowhere: widest bolt gap fails whatever" in alt
    assert "By flow" not in alt


def outside(figure):
    """How far letters of a figure reach beyond its edges [in]."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    wide, high = figure.get_size_inches() * figure.dpi
    shown = [*figure.texts, figure._suptitle]
    for axes in figure.axes:
        shown += [*axes.texts, *axes.get_yticklabels(), axes.xaxis.label]
    boxes = [text.get_window_extent() for text in shown if text.get_text()]
    return max(max(-box.x0, -box.y0, box.x1 - wide, box.y1 - high) for box in boxes) / figure.dpi


@pytest.mark.filterwarnings("ignore:Glyph")
@pytest.mark.parametrize(
    "name", ["hanger", "W" * 40, "hanger of the upper platform beside the pump room, with a rod", "吊" * 30]
)
def test_names_of_options_and_supports_fit_into_their_picture(compared, name):
    options = [replace(option, name=f"{name} {i}") for i, option in enumerate(compared.options)]
    figure = comparison_figure(replace(compared, options=tuple(options)))
    assert outside(figure) <= 0.0


def test_rows_of_the_comparison_stay_apart_under_long_names(compared):
    name = "hanger of the upper platform beside the pump room, with a rod"
    options = [replace(option, name=f"{name} {i}") for i, option in enumerate(compared.options)]
    figure = comparison_figure(replace(compared, options=tuple(options)))
    FigureCanvasAgg(figure).draw()
    for axes in figure.axes:
        boxes = sorted(
            (label.get_window_extent() for label in axes.get_yticklabels() if label.get_text()), key=lambda b: b.y0
        )
        assert all(low.y1 <= high.y0 + 1.0 for low, high in itertools.pairwise(boxes))


def test_bars_of_a_narrow_scatter_fill_their_picture_and_an_arrow_points_at_the_limit():
    found = scatter(ELBOW.replace("flow_in: 20 L/s", "flow_in: 20 L/s +- 0.001 L/s"), "t", 400)
    edges, _ = found.bars
    assert edges[-1] - edges[0] < 0.01 * abs(1.0 - edges[-1])  # all samples far from the limit
    axes = Figure(figsize=(7.5, 4.2)).subplots()
    _draw(axes, found)
    left, right = axes.get_xlim()
    assert not left <= 1.0 <= right
    assert edges[-1] - edges[0] > 0.02 * (right - left)
    assert any("limit at 1" in text.get_text() for text in axes.texts)


def test_supports_are_said_to_be_signs_and_idle_ones_to_be_idle(arm):
    figure = fitting_view(assess(arm, "rod hanger"), "full flow", "side")
    assert any("not to length" in text for text in texts(figure))
    assert any(text.startswith("H1 (hanger), slack") for text in texts(figure))
    carrying = fitting_view(assess(arm, "rod hanger"), "shut", "side")
    assert any(text == "H1 (hanger)" for text in texts(carrying))


def test_a_support_seen_end_on_is_no_sign_of_a_force(arm):
    figure = fitting_view(assess(arm, "struts up and across"), "full flow", "side")
    (sign,) = named(figure, "S2: end on")
    assert len(sign.get_xy()) == 5  # a closed diamond
    assert any(text.startswith("S2 (strut)") and text.endswith("seen end on") for text in texts(figure))


class Paper:
    """A sheet of one inch for one metre."""

    scale = to_shown = 1.0

    def inches(self, points):
        return np.asarray(points, dtype=float)


FACING = View(np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), "v")


def acts(*forces, at=(0.0, 0.0, 0.0)):
    return [
        Acting(f"f{i}", "external", np.array(force, dtype=float), np.array(at), np.zeros(3))
        for i, force in enumerate(forces)
    ]


def test_an_arrow_that_would_lie_on_another_stands_beside_it():
    first, second, across = places(Paper(), acts((0, 2, 0), (0, 1, 0), (1, 0, 0)), FACING, 1.0, [])
    assert np.allclose(first.shift, 0.0)
    assert np.hypot(*second.shift) == pytest.approx(APART)
    assert second.shift @ np.array([0.0, 1.0]) == pytest.approx(0.0)  # across itself
    assert np.allclose(across.shift, 0.0)  # crossing is no lying on


def test_a_mark_stands_clear_of_arrows_and_other_marks():
    made = places(Paper(), acts((0, 0, 1), (0, 0, -1), (1, 0, 0)), FACING, 1.0, [])
    one, other = made[0].mark, made[1].mark
    line = np.linspace([0, 0], [1, 0], 200)
    for mark in (one, other):
        assert np.hypot(*(line - mark).T).min() >= CLEAR - 1e-9
    assert np.hypot(*(one - other)) >= SIDE_BY_SIDE - 1e-9


def test_a_mark_alone_stands_at_its_place():
    (made,) = places(Paper(), acts((0, 0, 1), at=(0.3, 0.4, 0.0)), FACING, 1.0, [])
    assert made.mark == pytest.approx([0.3, 0.4])


def test_the_boundary_has_its_corner_where_two_checks_meet():
    """The contour of the greatest of two planes must reach their corner, which a contour on the coarse grid alone cuts off."""
    from anchorsize.present.limits_picture import _beyond

    places_of = np.linspace(0.0, 1.0, 5), np.linspace(0.0, 1.0, 5)
    x, y = np.meshgrid(*places_of, indexing="ij")
    fine = np.linspace(0.0, 1.0, 101)
    points = np.stack(np.meshgrid(fine, fine), axis=-1)
    worst = np.max([_beyond(each, places_of, np.ones(2), points) for each in (x - 0.6, y - 0.6)], axis=0)
    assert worst[59, 59] <= 0.0  # just inside the corner (0.6, 0.6)
    assert worst[61, 30] > 0.0
    assert worst[30, 61] > 0.0
    exact = np.maximum(points[..., 0], points[..., 1]) - 0.6
    clear = np.abs(exact) > 1e-9
    assert np.all(np.sign(worst[clear]) == np.sign(exact[clear]))


def test_checks_far_from_the_boundary_are_left_out_of_it_and_none_that_makes_it():
    from anchorsize.present.limits_picture import _binding

    x, y = np.meshgrid(np.linspace(0.0, 1.0, 21), np.linspace(0.0, 1.0, 21), indexing="ij")
    right, up, idle = x - 0.6, y - 0.6, 0.2 * x - 0.9
    kept = _binding([right, up, idle])
    assert any(each is right for each in kept)
    assert any(each is up for each in kept)
    assert not any(each is idle for each in kept)
    assert _binding([idle]) == [idle]
