"""Printed templates are measured on the rendered page: within 0.3 mm of what they say."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from stash.drawing.paper import A4, LETTER
from stash.drawing.template_lines import notches_of, path_points, shown_name
from stash.drawing.template_sheet import template_pdf
from stash.shape.templates.template import families, make_template, template_of_file
from tests.drawing.measuring_pdf import DPI, dark_shapes, page_pixels, page_text, pages_of

NEAR_IN = 0.3 / 25.4  # the tolerance the project promises
CUT_LINE_IN = 1.6 / 72
SQUARE_LINE_IN = 0.8 / 72
SIZES = {"diamond-45": 3, "rectangle": "2.5x4.5", "hexagon": 2, "wedge": "3x5"}


def size_of(family):
    return SIZES.get(family, 4)


def boxes_on(template, paper):
    return dark_shapes(page_pixels(template_pdf([template], paper)))


def square_of(boxes, size_in):
    """The box nearest to a square of that size, line included."""
    want = size_in + SQUARE_LINE_IN
    return min(boxes, key=lambda box: abs(box[2] - box[0] - want) + abs(box[3] - box[1] - want))


@pytest.mark.parametrize("paper", [LETTER, A4], ids=["letter", "a4"])
@pytest.mark.parametrize("family", families())
def test_the_cut_line_is_printed_at_true_size(family, paper):
    template = make_template(family, size_of(family))
    ring = np.array(path_points(template.cut_path))
    want = np.ptp(ring, axis=0) + CUT_LINE_IN
    pixels = page_pixels(template_pdf([template], paper))
    outer = dark_shapes(pixels)[0]
    got = (outer[2] - outer[0], outer[3] - outer[1])
    # a sharp tip's line ends round, half a line width past the corner: part of `want`
    assert got == pytest.approx(tuple(want), abs=NEAR_IN)


@pytest.mark.parametrize("paper", [LETTER, A4], ids=["letter", "a4"])
def test_both_check_squares_measure_what_they_say(paper):
    boxes = boxes_on(make_template("hexagon", 1.5), paper)
    for size_in in (1.0, 5 / 2.54):
        box = square_of(boxes, size_in)
        assert box[2] - box[0] == pytest.approx(size_in + SQUARE_LINE_IN, abs=NEAR_IN)
        assert box[3] - box[1] == pytest.approx(size_in + SQUARE_LINE_IN, abs=NEAR_IN)


def test_a_page_is_as_large_as_its_paper():
    template = make_template("square", 3)
    letter = page_pixels(template_pdf([template], LETTER), dpi=72)
    a4 = page_pixels(template_pdf([template], A4), dpi=72)
    assert letter.shape == (792, 612)  # ANSI size A: 8.5 x 11 in
    assert a4.shape == pytest.approx((297 / 25.4 * 72, 210 / 25.4 * 72), abs=1)  # ISO 216


def test_every_point_of_a_printed_apple_core_lies_on_its_cut_line():
    template = make_template("apple-core", 5)
    pixels = page_pixels(template_pdf([template], LETTER))
    left, top, right, bottom = dark_shapes(pixels)[0]
    ring = np.array(path_points(template.cut_path))
    middle_x, middle_y = (left + right) / 2, (top + bottom) / 2
    centre = (ring.min(axis=0) + ring.max(axis=0)) / 2
    for x, y in ring[:: max(1, len(ring) // 60)]:
        column = round((middle_x + x - centre[0]) * DPI)
        row = round((middle_y - (y - centre[1])) * DPI)
        near = pixels[row - 2 : row + 3, column - 2 : column + 3]  # 2 pixels = 0.17 mm
        assert near.min() < 60


@pytest.mark.parametrize("family", ["apple-core", "clamshell"])
@pytest.mark.parametrize("allowance_in", [0.25, 0.375, 0.2])
def test_a_notch_begins_on_the_cut_line_and_ends_before_the_seam_line(family, allowance_in):
    template = make_template(family, 4, seam_allowance_in=allowance_in)
    cut = Polygon(path_points(template.cut_path))
    seam = Polygon(path_points(template.finished)).exterior
    notches = notches_of(template)
    assert notches
    for notch in notches:
        line = LineString([notch.outer, notch.inner])
        assert shapely.distance(shapely.Point(notch.outer), cut.exterior) < 0.002
        assert shapely.distance(line, seam) >= 0.099
        assert cut.buffer(0.002).contains(line)


@given(st.floats(2, 12), st.floats(0.11, 0.5))
@settings(max_examples=40, deadline=None)
def test_no_notch_ever_reaches_the_seam_line(size_in, allowance_in):
    template = make_template("apple-core", size_in, seam_allowance_in=allowance_in)
    seam = Polygon(path_points(template.finished)).exterior
    for notch in notches_of(template):
        assert seam.distance(LineString([notch.outer, notch.inner])) > 0.09


def test_each_arc_of_an_apple_core_has_one_notch_in_its_middle():
    template = make_template("apple-core", 4)
    notches = notches_of(template)
    assert len(notches) == 4
    for notch, arc in zip(notches, template.finished, strict=True):
        ends = [math.dist(notch.inner, end) for end in (arc.start, arc.end)]
        assert ends[0] == pytest.approx(ends[1])


def test_the_notches_of_a_dome_meet_those_of_the_two_hollows_laid_on_it():
    # computed: a hollow is a quarter of the circle, its middle at 1/4 and 3/4 of the dome
    assert len(notches_of(make_template("clamshell", 4))) == 3 + 1 + 1


def test_straight_edges_have_no_notches():
    assert notches_of(make_template("hexagon", 2)) == ()


def test_a_large_template_is_spread_over_pages_that_join():
    template = make_template("square", 12)
    data = template_pdf([template], LETTER)
    # 12.5 in is two pages of 7 in across and two of 8.9 in down, and a page that shows how
    assert pages_of(data) == 1 + 2 * 2
    words = [page_text(data, page) for page in range(5)]
    assert "A1r1" in words[1]
    assert "A1r1" in words[2]  # the same mark on both sides of the joint
    assert "A1b1" in words[1]
    assert "A1b1" in words[3]


def test_pages_joined_at_their_frames_give_the_whole_template():
    template = make_template("square", 12)
    data = template_pdf([template], LETTER)
    left = page_pixels(data, 1)
    right = page_pixels(data, 2)

    def cut_edge(pixels, *, from_left):
        columns = np.flatnonzero((pixels[1200:2400] < 90).mean(axis=0) > 0.9)
        return (columns.min() if from_left else columns.max()) / DPI

    # margin and bleed are 0.75 in: the joint lies there on one page, 7 in further on the other
    width_in = (7.75 - cut_edge(left, from_left=True)) + (cut_edge(right, from_left=False) - 0.75)
    assert width_in == pytest.approx(12.5 + CUT_LINE_IN, abs=NEAR_IN)


def test_a_reader_finds_the_real_fraction_character():
    assert "4½" in page_text(template_pdf([make_template("tumbler", 4.5)], LETTER))
    assert "3⅛" in page_text(template_pdf([make_template("square", 3.125)], LETTER))


def test_the_same_template_gives_the_same_bytes():
    template = make_template("tumbler", 4)
    assert template_pdf([template], A4) == template_pdf([template], A4)


def test_a_lopsided_shape_says_which_side_of_it_is_up():
    flag = template_of_file(b'{"cut": [[0, 0], [3, 0], [1, 2]]}', ".json")
    assert "this side up" in page_text(template_pdf([flag], LETTER))
    assert "this side up" not in page_text(template_pdf([make_template("tumbler", 4)], LETTER))


def test_a_name_is_written_as_quilters_do():
    assert shown_name(make_template("half-square-triangle", 2.5)) == "Half square triangle 2½ in"
    assert shown_name(make_template("rectangle", "2.5x4.75")) == "Rectangle 2½ × 4¾ in"


def test_a_shape_that_fills_one_page_beside_its_squares_is_not_said_to_be_joined():
    data = template_pdf([make_template("rectangle", "6x8")], LETTER)
    assert pages_of(data) == 2
    assert "fills the next page" in page_text(data, 0)
    assert "at true size" in page_text(data, 1)
    assert "Tape" not in page_text(data, 0)
    assert "A1" not in page_text(data, 1)
