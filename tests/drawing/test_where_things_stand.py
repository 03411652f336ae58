"""What stands where on a printed page, read from its lines and type, in inches.

The things drawn are such that all places can be worked out: squares, with corners on whole or
half inches (``made_sheets``). Letter is 8 1/2 x 11 in, and every sheet keeps half an inch free.
"""

from __future__ import annotations

import math
from itertools import pairwise

import cv2
import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from stash.drawing.cutting_sheet import cutting_pdf
from stash.drawing.paper import A4, LETTER
from stash.drawing.pdf_page import Pdf, Pen
from stash.drawing.sewing_sheet import sewing_pdf
from stash.drawing.template_sheet import template_pdf
from stash.shape.templates.template import make_template
from stash.units import length_words
from tests.drawing.made_sheets import SHEETS, sewn, sheet, three_scraps
from tests.drawing.measuring_pdf import page_pixels
from tests.drawing.reading_pdf import Page, Shape, pages

HAIR = 0.002


def near(*values: float):
    return pytest.approx(values, abs=HAIR)


def boxes(page: Page, size: tuple[float, float]) -> list[Shape]:
    return [one for one in page.shapes if one.size == near(*size)]


def heads(page: Page) -> list[tuple[Shape, tuple[float, float]]]:
    """Give each arrow's line with the tip its filled head ends in."""
    tips = [one for one in page.shapes if one.fill is not None and len(one.points) == 4]
    found = []
    for line, head in pairwise(page.shapes):
        if len(line.points) == 2 and head in tips and head.width_pt == 0:
            found.append((line, head.points[0]))
    return found


# A template.


def test_a_template_is_drawn_in_the_middle_of_its_page_between_its_name_and_its_key():
    (page,) = sheet("square template")
    cut = boxes(page, (3.5, 3.5))[0]  # 3 in and a quarter inch all round
    seam = boxes(page, (3.0, 3.0))[0]
    assert cut.middle[0] == seam.middle[0] == pytest.approx(4.25, abs=HAIR)
    assert cut.middle[1] == pytest.approx(seam.middle[1], abs=HAIR)
    assert not cut.dash and seam.dash and cut.width_pt > seam.width_pt
    assert page.says("Print at 100 %").y > cut.box[3]
    assert cut.box[1] > page.says("cut here").y
    assert page.says("Square 3 in").y == max(one.y for one in page.lettering)
    assert page.says("Cut 3½ × 3½ in, seam allowance included").y > cut.box[3]


def test_the_key_shows_each_kind_of_line_before_the_words_for_it():
    (page,) = sheet("square template")
    for words, size, dashed in (("cut here", 3.5, False), ("sew here, ¼ in inside", 3.0, True)):
        told, drawn = page.says(words), boxes(page, (size, size))[0]
        sample = next(
            one for one in page.shapes
            if len(one.points) == 2 and abs(one.middle[1] - told.y) < 0.1
        )  # fmt: skip
        assert sample.box[2] < told.x < sample.box[2] + 0.3
        assert (sample.width_pt, sample.grey) == (drawn.width_pt, drawn.grey)
        assert bool(sample.dash) is bool(drawn.dash) is dashed


def test_the_grain_arrow_lies_along_x_in_the_middle_with_a_head_at_either_end():
    (page,) = sheet("square template")
    (line, _), *_ = heads(page)
    cut = boxes(page, (3.5, 3.5))[0]
    assert line.size[1] == pytest.approx(0, abs=HAIR) and line.middle == near(*cut.middle)
    ends = [one.points[0] for one in page.shapes if one.fill is not None and one.grey < 1]
    of_line = [end for end in ends if abs(end[1] - line.middle[1]) < HAIR]
    assert sorted(end[0] for end in of_line) == near(line.box[0], line.box[2])
    assert page.says("Square 3 in").text == "Square 3 in"
    name = [one for one in page.lettering if one.text == "Square 3 in"][1]
    assert name.middle == pytest.approx(cut.middle[0], abs=0.05)
    assert 0 < name.y - line.middle[1] < 0.3  # over the arrow, not through it


def test_a_long_template_is_turned_to_fit_with_its_grain_and_name_turned_as_well():
    # 7 in are higher than the room between name and key, not wider than that between margins.
    (page,) = pages(template_pdf([make_template("rectangle", "3x6.5")], LETTER))
    assert boxes(page, (7, 3.5)) and not boxes(page, (3.5, 7))
    (line, _), *_ = heads(page)
    assert line.size[0] == pytest.approx(0, abs=HAIR) and line.size[1] > 1
    inner = [one for one in page.lettering if one.turn_deg]
    assert [one.turn_deg for one in inner] == [90.0]
    assert 0 < line.middle[0] - inner[0].x < 0.3


def test_the_check_squares_stand_in_the_lower_left_corner_each_with_its_size_inside():
    for name in ("square template", "stencil"):
        page = sheet(name)[-1]
        inch, metric = boxes(page, (1, 1))[-1], boxes(page, (5 / 2.54, 5 / 2.54))[-1]
        assert inch.box[:2] == near(0.5, 0.5)
        assert metric.box[:2] == near(1.8, 0.5)
        for square, words in ((inch, "1 in"), (metric, "5 cm")):
            told = page.says(words)
            assert (told.middle, told.y) == pytest.approx(square.middle, abs=0.08)


def test_a_shape_without_seam_allowance_has_no_second_line():
    bare = make_template("square", 3, seam_allowance_in=0)
    (page,) = pages(template_pdf([bare], LETTER))
    assert len(boxes(page, (3, 3))) == 1
    assert not [one for one in page.shapes if one.dash and one.size[1] > 0.1]


# A template on several pages: 12 1/2 in over two pages of 7 in across and two of 8.9 in down.


def test_the_cover_shows_the_pages_by_name_as_they_lie_and_the_shape_across_them():
    page = sheet("template on four pages")[0]
    frames = {name: page.says(name) for name in ("A1", "A2", "B1", "B2")}
    assert frames["A1"].x < frames["A2"].x and frames["B1"].x < frames["B2"].x
    assert frames["A1"].y == frames["A2"].y > frames["B1"].y == frames["B2"].y
    shape = next(one for one in page.shapes if one.closed and one.width_pt == pytest.approx(1.6))
    cells = [one for one in page.shapes if one.closed and one.width_pt == pytest.approx(0.5)]
    assert len(cells) == 4
    scale = cells[0].size[0] / 7.0
    assert cells[0].size == near(7.0 * scale, 8.9 * scale)
    assert shape.size == near(12.5 * scale, 12.5 * scale)
    assert shape.middle == near(*np.mean([one.middle for one in cells], axis=0))
    assert page.says("4 pages").box[2] == pytest.approx(8.0, abs=0.02)


def test_pages_that_join_bear_the_same_letters_at_the_same_places_of_the_shape():
    tiles = sheet("template on four pages")[1:]
    lower_left = [boxes(page, (12.5, 12.5))[0].box[:2] for page in tiles]
    seen: dict[str, list[tuple[float, float]]] = {}
    for page, (x0, y0) in zip(tiles, lower_left, strict=True):
        diamonds = [one.middle for one in page.shapes if one.size == near(0.32, 0.32)]
        marks = [one for one in page.lettering if one.size_pt == 10]
        assert len(diamonds) == len(marks) == 6
        for mark in marks:
            x, y = min(diamonds, key=lambda at: math.dist(at, (mark.x, mark.y)))
            assert abs(mark.y - y) < 0.1
            seen.setdefault(mark.text, []).append((x - x0, y - y0))
    assert len(seen) == 12
    for places in seen.values():
        first, second = places
        assert first == near(*second)
    # The joint between A and B halves the height, the one between 1 and 2 the width.
    assert {round(at[0][0], 2) for name, at in seen.items() if name[2] == "r"} == {6.25}
    assert {round(at[0][1], 2) for name, at in seen.items() if name[2] == "b"} == {6.25}


def test_each_page_of_a_large_template_carries_an_inch_to_check_it_by():
    for number, page in enumerate(sheet("template on four pages")[1:]):
        told = page.says("1 in")
        line = next(one for one in page.shapes if one.size == near(1.0, 0.0))
        ticks = [one for one in page.shapes if one.size == near(0.0, 0.16)]
        assert sorted(one.middle[0] for one in ticks) == near(line.box[0], line.box[2])
        assert all(one.middle[1] == pytest.approx(line.middle[1], abs=HAIR) for one in ticks)
        assert 0 < line.box[0] - told.box[2] < 0.2
        name = f"{'AB'[number // 2]}{number % 2 + 1} of B2"
        assert page.says("page").text == f"Square 12 in: page {name}"


# The cutting sheet.


def test_pieces_lie_on_their_scrap_as_measured_and_bear_their_numbers():
    page = sheet("cutting")[0]
    scrap = next(one for one in page.shapes if one.fill == 0.93)
    scale = scrap.size[0] / 7
    assert scrap.size == near(7 * scale, 5 * scale)
    assert 0.6 < scale < 1
    pieces = [one for one in page.shapes if one.width_pt == pytest.approx(1.7)]
    for piece, (x, y) in zip(pieces, ((0.5, 0.5), (3.5, 1.0)), strict=True):
        left, bottom = scrap.box[:2]
        assert piece.box == near(
            left + x * scale, bottom + y * scale, left + (x + 2.5) * scale,
            bottom + (y + 2.5) * scale,
        )  # fmt: skip
    for piece, number, place in zip(pieces, "12", ("1-1", "2-1"), strict=True):
        told = [one for one in page.lettering if one.text == number and one.bold and one.y < 6]
        (at,) = [one for one in told if piece.box[0] < one.middle < piece.box[2]]
        assert (at.middle, at.y + 0.06) == pytest.approx(piece.middle, abs=0.03)
        below = page.says(place)
        assert below.middle == pytest.approx(piece.middle[0], abs=0.03)
        assert 0.2 < at.y - below.y < 0.4


def test_the_ruler_along_a_scrap_counts_whole_inches_from_its_lower_left_corner():
    page = sheet("cutting")[0]
    scrap = next(one for one in page.shapes if one.fill == 0.93)
    scale = scrap.size[0] / 7
    below = [one for one in page.shapes if one.size[0] < HAIR and 0.03 < one.size[1] < 0.2]
    beside = [one for one in page.shapes if one.size[1] < HAIR and 0.03 < one.size[0] < 0.2]
    assert [one.middle[0] - scrap.box[0] for one in below] == near(*(k * scale for k in range(8)))
    assert [one.middle[1] - scrap.box[1] for one in beside] == near(*(k * scale for k in range(6)))
    for one in below:
        assert one.box[3] < scrap.box[1]
    for one in beside:
        assert one.box[2] < scrap.box[0]
    for inch in (0, 2, 4, 6):
        (told,) = [
            one for one in page.lettering if one.text == str(inch) and one.y < below[0].box[1]
            and one.size_pt == 9
        ]  # fmt: skip
        assert told.middle == pytest.approx(scrap.box[0] + inch * scale, abs=0.02)
        assert 0 < below[0].box[1] - told.y < 0.2
    for inch in (2, 4):
        told = next(
            one for one in page.lettering if one.text == str(inch) and one.x < scrap.box[0] - 0.1
        )
        assert told.y == pytest.approx(scrap.box[1] + inch * scale, abs=0.06)
    # Every second mark is long, and only those are numbered.
    assert [round(one.size[1], 2) for one in below] == [0.1, 0.05] * 4


def test_the_ruler_counts_centimetres_where_those_are_asked_for_five_by_five():
    page = pages(cutting_pdf(three_scraps(), LETTER, unit="cm"))[0]
    scrap = next(one for one in page.shapes if one.fill == 0.93)
    scale = scrap.size[0] / 7
    below = [one for one in page.shapes if one.size[0] < HAIR and 0.03 < one.size[1] < 0.2]
    assert len(below) == 18  # 17.78 cm
    assert below[10].middle[0] - scrap.box[0] == pytest.approx(10 / 2.54 * scale, abs=HAIR)
    told = [one.text for one in page.lettering if abs(one.y - (below[0].box[1] - 0.14)) < 0.01]
    assert told == ["0", "5", "10", "15"]


def test_the_list_has_a_line_for_each_scrap_with_a_box_to_tick_before_it():
    page = sheet("cutting")[0]
    ticks = boxes(page, (0.15, 0.15))
    assert len(ticks) == 3
    for number, tick in enumerate(ticks, start=1):
        row = [one.text for one in page.lettering if abs(one.y - tick.box[1]) < 0.05]
        assert row == [str(number), f"{10 + number} navy", "Jar 3", "2"]
        assert all(one.x > tick.box[2] for one in page.lettering if abs(one.y - tick.box[1]) < 0.05)
    head = [one for one in page.lettering if one.text in ("scrap", "fabric", "bin", "pieces")]
    row = [one for one in page.lettering if abs(one.y - ticks[0].box[1]) < 0.05]
    assert [one.x for one in head] == near(*(one.x for one in row))
    assert all(one.y > ticks[0].box[3] for one in head)


def test_a_stack_shows_its_layers_its_cuts_and_how_far_each_edge_lies_from_them():
    page = next(one for one in sheet("cutting") if any("Stack 1" in x.text for x in one.lettering))
    top = page.says("Stack 1").y
    assert page.says("cut 2 times, 6 pieces").y == pytest.approx(top, abs=HAIR)
    low = [one for one in page.shapes if one.box[3] < top]
    cuts = [one for one in low if one.width_pt == pytest.approx(2.2)]
    layers = [one for one in low if one.width_pt == pytest.approx(0.9)]
    marked = [one for one in low if one.width_pt == pytest.approx(2.0) and len(one.points) == 2]
    assert (len(cuts), len(layers), len(marked)) == (2, 3, 3)
    scale = cuts[0].size[0] / 2.5
    for cut in cuts:
        assert cut.size == near(2.5 * scale, 2.5 * scale)
        for layer in layers:
            assert Polygon(layer.points).buffer(HAIR).covers(Polygon(cut.points))
    words = " ".join(one.text for one in page.lettering)
    for number, edge in enumerate(marked, start=1):
        length_in = math.dist(*edge.points) / scale
        assert length_in == pytest.approx(7, abs=0.02)
        apart_in = (
            min(LineString(edge.points).distance(Polygon(one.points)) for one in cuts) / scale
        )
        # Each scrap's long edge lies half an inch from the first of its pieces, 1 1/2 from the
        # other side's.
        told = {0.5: "½ in", 1.5: "1½ in", 1.0: "1 in"}[round(apart_in, 2)]
        edge_words = f"Its edge of 7 in marked {number} lies {told} from the template, the dot at"
        dots = [one for one in low if one.curved and one.size == near(0.1, 0.1)]
        at_end = [one.middle for one in dots if min(math.dist(one.middle, end)
                  for end in edge.points) < HAIR]  # fmt: skip
        off = min(Point(at_end[0]).distance(Polygon(one.points)) for one in cuts) / scale
        assert f"{edge_words} its end {length_words(off, unit='in', step=16)}." in words
        assert f"{number}: scrap {number}, navy, for places A 1-{number}, B 2-{number}." in words
        spots = [one.middle for one in low if one.curved and one.size == near(0.2, 0.2)]
        on_it = [at for at in spots if LineString(edge.points).distance(Point(at)) < HAIR]
        named = [
            one.text for at in on_it for one in page.lettering
            if math.dist((one.middle, one.y + 0.045), at) < 0.03
        ]  # fmt: skip
        assert str(number) in named
    for letter, cut in zip("AB", cuts, strict=True):
        told = [one for one in page.lettering if one.text == letter]
        assert (told[0].middle, told[0].y + 0.07) == pytest.approx(cut.middle, abs=0.03)
    drawn = next(one.text for one in page.lettering if one.text.startswith("Drawn at"))
    assert drawn == f"Drawn at {100 * scale:.0f} %."


# Sewing and pressing.


@pytest.mark.parametrize(("name", "rows"), [("squares sewn", 3), ("pressing and finishing", 5)])
def test_rows_are_numbered_from_the_top_and_pressed_to_the_side_that_is_said(name, rows):
    page = sheet(name)[0]
    numbered = {
        int(one.text): one for one in page.lettering
        if one.text.isdigit() and one.bold and one.size_pt == 15 and one.x > 0.6
    }  # fmt: skip
    assert sorted(numbered) == list(range(1, rows + 1))
    heights = [numbered[row].y for row in sorted(numbered)]
    assert heights == sorted(heights, reverse=True)
    level = [(line, tip) for line, tip in heads(page) if line.size[1] < HAIR and line.width_pt > 1]
    level = [one for one in level if one[0].middle[1] > min(heights) - 0.5]
    assert len(level) >= 3 * rows
    for line, tip in level:
        row = min(numbered, key=lambda row: abs(numbered[row].y + 0.07 - line.middle[1]))
        to_the_right = tip[0] > line.middle[0]
        assert to_the_right is (row % 2 == 1)  # odd rows to the right, even rows to the left
    if rows == 5:
        for row in range(1, 6):
            head = page.says(f"Row {row}")
            side = "right" if row % 2 else "left"
            told = [
                one.text for one in page.lettering
                if abs(one.y - head.y) < HAIR and head.x < one.x < head.x + 3
            ]  # fmt: skip
            assert told == [f"{row}.1 to {row}.4", f"pressed to the {side}"]
            left = (head.x < 4.25) is (row % 2 == 1)  # two rows to a line
            assert left


def test_a_piece_is_named_by_row_and_place_in_its_middle():
    page = sheet("squares sewn")[0]
    side = next(one for one in page.shapes if one.fill in (1.0, 0.9)).size[0]
    for row in (1, 2, 3):
        for place in (1, 2, 3, 4):
            told = page.says(f"{row}.{place}")
            piece = next(
                one for one in page.shapes
                if one.size == near(side, side) and one.box[0] < told.middle < one.box[2]
                and one.box[1] < told.y < one.box[3]
            )  # fmt: skip
            assert (told.middle, told.y + 0.045) == pytest.approx(piece.middle, abs=0.02)
            assert piece.fill == (1.0 if row % 2 else 0.9)  # every second row is tinted


def test_seams_between_rows_of_squares_are_pressed_open_to_both_sides():
    page = sheet("squares sewn")[0]
    upright = [(line, tip) for line, tip in heads(page) if line.size[0] < HAIR]
    assert len(upright) == 2 * 8  # two joints between three rows, four pieces each
    assert sum(tip[1] > line.middle[1] for line, tip in upright) == 8
    assert page.says("pressed open") and page.says("pressed this way")
    key = page.says("pressed this way")
    line, tip = next(one for one in heads(page) if abs(one[0].middle[1] - key.y) < 0.1)
    assert tip[0] > line.middle[0] and line.box[2] < key.x


def test_the_steps_are_numbered_and_stand_beside_their_headings():
    page = sheet("squares sewn")[0]
    headings = ["Set up", "Rows", "Press the rows", "Join the rows", "Press the long"]
    found = [page.says(words) for words in headings]
    assert [one.y for one in found] == sorted((one.y for one in found), reverse=True)
    for number, heading in enumerate(found, start=1):
        row = [one for one in page.lettering if abs(one.y - heading.y) < HAIR]
        assert row[0].text == str(number) and len(row) == 3
        assert row[0].x < row[1].x < row[2].x


def test_a_curved_seam_is_drawn_with_the_bulging_piece_below_and_three_pins():
    page = sheet("clamshells sewn")[1]
    lower, upper = [one for one in page.shapes if one.fill in (0.88, 1.0) and len(one.points) > 20]
    assert (lower.fill, upper.fill) == (0.88, 1.0)  # the hollow piece is drawn over the other
    heads_of_pins = [one for one in page.circles() if one.fill == 0.0]
    assert len(heads_of_pins) == 3
    assert [one.text for one in page.lettering if one.text in ("end", "middle")].count("end") == 2
    middle = next(one for one in page.lettering if one.text == "middle")
    top_pin = max(heads_of_pins, key=lambda one: one.middle[1])
    assert middle.middle == pytest.approx(top_pin.middle[0], abs=0.03)
    assert middle.y > top_pin.middle[1]
    seam = next(one for one in page.shapes if one.width_pt == pytest.approx(2.6))
    assert seam.points[12][1] == pytest.approx(seam.box[3], abs=HAIR)  # the arc stands upwards
    for one in heads_of_pins:
        assert min(math.dist(one.middle, at) for at in seam.points) == pytest.approx(0.34, abs=0.01)
        assert not Polygon(lower.points).buffer(-0.05).contains(Point(one.middle))
    for words, piece in (("hollow: on top", upper), ("bulging: below,", lower)):
        told = page.says(words)
        assert piece.box[0] < told.middle < piece.box[2]
        assert piece.box[1] < told.y < piece.box[3]


@pytest.mark.parametrize("name", ["clamshells sewn", "apple cores sewn", "hexagons sewn"])
def test_parts_between_rows_are_numbered_along_the_joint_each_with_one_arrow(name):
    page = sheet(name)[-1]
    arrows = [
        (line, tip) for line, tip in heads(page) if line.width_pt == pytest.approx(2.4)
    ]  # fmt: skip
    numbers = [
        one for one in page.lettering if one.text.isdigit() and one.size_pt == 14 and one.bold
    ]
    assert [one.text for one in numbers] == [str(k + 1) for k in range(len(arrows))]
    lines = [
        one for one in page.shapes if one.width_pt == pytest.approx(2.4) and len(one.points) == 17
    ]
    assert len(lines) == len(arrows)
    for number, line in zip(numbers, lines, strict=True):
        at = (number.middle, number.y + 0.07)
        assert math.dist(at, line.points[8]) == pytest.approx(0.22, abs=0.03)
    starts = [min(one.box[0] for one in [line]) for line in lines]
    assert starts == sorted(starts)


# The layout chart.


def test_the_chart_counts_rows_from_the_top_and_pieces_from_the_left():
    page = sheet("chart")[0]
    cells = [one for one in page.shapes if one.closed and one.width_pt > 0]
    assert len(cells) == 12
    rows = sorted({round(one.middle[1], 3) for one in cells}, reverse=True)
    for cell in cells:
        inside = [
            one for one in page.lettering
            if cell.box[0] < one.middle < cell.box[2] and cell.box[1] < one.y < cell.box[3]
        ]  # fmt: skip
        place = 1 + round((cell.box[0] - cells[0].box[0]) / cell.size[0])
        assert [one.text for one in inside] == [str(place)]
        assert (inside[0].middle, inside[0].y + 0.05) == pytest.approx(cell.middle, abs=0.03)
    left = [one for one in page.lettering if one.box[2] < cells[0].box[0] and one.size_pt == 9]
    assert [one.text for one in left] == ["1", "2", "3"]
    assert [one.y + 0.04 for one in left] == pytest.approx(rows, abs=0.03)
    (picture,) = page.pictures
    assert picture.box == pytest.approx(
        (min(one.box[0] for one in cells), min(one.box[1] for one in cells),
         max(one.box[2] for one in cells), max(one.box[3] for one in cells)), abs=0.01,
    )  # fmt: skip
    assert "12 pieces in 3 rows, 8 × 6 in finished" in page.says("12 pieces").text


def test_each_row_of_the_chart_names_under_every_piece_the_scrap_it_is_cut_from():
    page = sheet("chart")[1]
    for row in (1, 2, 3):
        head = page.says(f"Row {row}")
        tick = boxes(page, (0.12, 0.12))[row - 1]
        assert tick.box[2] < head.x and abs(tick.box[1] - head.y) < 0.05
        cells = [
            one for one in page.shapes
            if one.size[0] > 1 and one.box[3] < head.y < one.box[3] + 0.2
        ]  # fmt: skip
        assert len(cells) == 4
        for place, cell in enumerate(cells):
            scrap = page.says(str(100 + 4 * (row - 1) + place))
            assert scrap.middle == pytest.approx(cell.middle[0], abs=0.02)
            assert 0.05 < cell.box[1] - scrap.y < 0.2
    bin_name = page.says("A")
    assert bin_name.text == "A"  # of scrap 100 alone a bin is known
    assert bin_name.middle == pytest.approx(page.says("100").middle, abs=0.03)
    assert len(page.pictures) == 3


# Quilting.


def test_the_stencil_lays_a_ringed_cross_on_every_crossing_of_the_seams():
    page = sheet("stencil")[1]
    seams = {round(x, 2) for one in page.shapes if one.dash for x in (one.box[0], one.box[2])}
    rings = [one.middle for one in page.circles()]
    assert len(rings) >= 64
    assert {round(x, 2) for x, _ in rings} <= seams
    ups = [one for one in page.shapes if one.size == near(0, 0.32)]
    levels = [one for one in page.shapes if one.size == near(0.32, 0)]
    assert [one.middle for one in ups] == [near(*one.middle) for one in levels]
    assert [one.middle for one in ups] == [near(*at) for at in rings]
    assert len(ups) == len(rings)
    # One crossing lies in the middle of the frame that bounds the stencil.
    frame = max(
        (one for one in page.shapes if not one.dash and one.closed), key=lambda one: one.size
    )
    assert min(math.dist(at, frame.middle) for at in rings) < HAIR


def test_the_way_over_the_top_begins_at_an_open_ring_and_its_arrows_lie_on_it():
    page = sheet("stencil")[0]
    [run] = [one for one in page.shapes if one.width_pt == pytest.approx(1.4)]
    way, rings = LineString(run.points), page.circles()
    assert len(rings) == 16  # eight seams along, eight across
    assert all(ring.fill == 1.0 for ring in rings)
    assert rings[0].middle == near(*run.points[0])
    # The rings stand in the order of their numbers along the one way.
    along = [way.project(Point(ring.middle)) for ring in rings]
    assert along == sorted(along)
    assert max(way.distance(Point(ring.middle)) for ring in rings) < HAIR
    # 288 in of seams, and from each to the next along the edge: arithmetic
    assert "320 in (8.9 yd) of stitching in 16 lines in one pass" in page.says("320 in").text
    tips = [tip for line, tip in heads(page) if line.width_pt == pytest.approx(1.8)]
    assert len(tips) == 12
    assert max(way.distance(Point(tip)) for tip in tips) < HAIR
    assert min(math.dist(one, other) for one, other in pairwise(tips)) > 0.3


# Lists, labels, twins.


def test_what_is_done_before_cutting_has_a_box_to_tick_before_each_line():
    page = sheet("plan")[0]
    ticks = boxes(page, (0.13, 0.13))
    assert len(ticks) == 8  # dye, wash, dry, starch, press, template, cutter, thread
    firsts = ["Dye tested: scrap 4.", "Washed: scraps 3, 4.", "Dried flat", "Starched", "Pressed",
              "Template printed", "A sharp blade", "Thread"]  # fmt: skip
    for tick, words in zip(ticks, firsts, strict=True):
        told = page.says(words)
        assert 0 < told.x - tick.box[2] < 0.3 and abs(told.y - tick.box[1]) < 0.04
    assert page.says("Before cutting").y > ticks[0].box[3]
    assert page.says("No chart yet.").y > page.says("Before cutting").y
    for title, number in (("Cutting", "page 2"), ("Sewing", "page 7")):
        row = [one.text for one in page.lettering if abs(one.y - page.says(number).y) < HAIR]
        assert row == [title, number]
    assert page.says("page 2").y > page.says("page 7").y > page.says("No chart yet.").y
    assert page.says("page 2").box[2] == pytest.approx(page.says("page 7").box[2], abs=0.01)


def test_every_page_of_numbered_papers_bears_the_title_left_and_its_number_right():
    for number, page in enumerate(sheet("pressing and finishing"), start=1):
        foot = sorted((one for one in page.lettering if one.y < 0.4), key=lambda one: one.x)
        assert [one.text for one in foot] == ["lists", str(number)]
        assert foot[0].x == pytest.approx(0.5, abs=HAIR)
        assert foot[1].box[2] == pytest.approx(8.0, abs=0.03)


def test_finishing_lists_every_line_under_its_heading():
    page = sheet("pressing and finishing")[1]
    binding, backing = page.says("Binding"), page.says("Backing")
    assert page.says("cut 4 strips").y == binding.y and page.says("one").y == backing.y
    assert binding.y > page.says("join them").y > backing.y
    assert page.says("join them").x == page.says("cut 4 strips").x > binding.box[2]
    assert [round(one.middle[1], 2) for one in boxes(page, (0.13, 0.13))] == near(
        round(binding.y + 0.045, 2), round(backing.y + 0.045, 2)
    )


def test_a_label_says_what_is_in_the_bin_left_and_bears_its_code_right():
    page, second = sheet("labels")
    frames = [one for one in page.shapes if one.dash]
    assert len(frames) == 3 and len([one for one in second.shapes if one.dash]) == 1
    for frame, place in zip(frames, ("Jar 3", "Tin", "C"), strict=True):
        assert frame.size == near(7.5, 3.2)
        name = page.says(place)
        inside = [one for one in page.lettering if frame.box[1] < one.y < frame.box[3]]
        assert [one.text for one in inside] == [
            place, "20 scraps of 1 fabric", "blue 12, teal 4", "9 at least 6 in wide",
            f"bin:{place}",
        ]  # fmt: skip
        assert [one.y for one in inside] == sorted((one.y for one in inside), reverse=True)
        assert name.size_pt == 54 and len({one.x for one in inside[:4]}) == 1
        modules = [
            one
            for one in page.shapes
            if one.fill == 0.0 and frame.box[1] < one.middle[1] < frame.box[3]
        ]
        left, right = min(one.box[0] for one in modules), max(one.box[2] for one in modules)
        assert left > 5.5 and right < frame.box[2]
        assert inside[-1].middle == pytest.approx((left + right) / 2, abs=0.02)
        assert inside[-1].y < min(one.box[1] for one in modules)
    tops = [one.box[3] for one in frames]
    assert tops == sorted(tops, reverse=True)
    for one, below in pairwise(frames):
        assert one.box[1] > below.box[3]


def test_groups_to_look_at_have_three_boxes_and_squares_over_their_numbers():
    (page,) = sheet("twins")
    ticks = boxes(page, (0.14, 0.14))
    assert len(ticks) == 6
    for tick, word in zip(ticks, ("same", "different", "not sure") * 2, strict=True):
        after = min(
            (
                one
                for one in page.lettering
                if one.x > tick.box[2] and abs(one.y - tick.box[1]) < 0.05
            ),
            key=lambda one: one.x,
        )
        assert after.text == word
    squares = boxes(page, (1.25, 1.25))
    assert len(squares) == 9  # two, and seven of which five stand on a line
    assert len({round(one.box[1], 2) for one in squares}) == 3
    for square, number in zip(squares, (1, 2, 1, 2, 3, 4, 5, 6, 7), strict=True):
        below = min(
            (one for one in page.lettering if one.text.startswith("scrap ")),
            key=lambda one: math.dist((one.x, one.y), square.box[:2]),
        )
        assert below.text == f"scrap {number}"
        assert below.y < square.box[1] and below.x == pytest.approx(square.box[0], abs=HAIR)
    assert page.says("1 scraps 1, 2").y > page.says("2 scraps 1, 2, 3, 4, 5, 6, 7").y


# Cards: what a camera reads is printed at true size.


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", ["card", "corner markers"])
def test_the_check_line_is_six_inches_long_with_a_tick_at_each(name, paper):
    for page in sheet(name, paper):
        (line,) = [one for one in page.shapes if one.size == near(6.0, 0.0)]
        assert line.middle[0] == pytest.approx(page.width / 2, abs=HAIR)
        ticks = [
            one for one in page.shapes
            if one.size[0] < HAIR and abs(one.middle[1] - line.middle[1]) < HAIR
        ]  # fmt: skip
        assert [one.middle[0] - line.box[0] for one in ticks] == near(0, 1, 2, 3, 4, 5, 6)
        assert [one.size[1] > 0.2 for one in ticks] == [True, *[False] * 5, True]
        told = page.says("6 inches = 152.4 mm")
        assert told.y < line.middle[1] and told.middle == pytest.approx(page.width / 2, abs=0.02)


def test_the_card_has_24_squares_in_four_rows_of_six_and_a_mark_in_each_corner():
    (page,) = sheet("card")
    assert (page.width, page.height) == near(11, 8.5)
    patches = [one for one in page.shapes if one.fill is not None and 0.5 < one.size[0] < 0.79]
    assert len(patches) == 24
    columns = sorted({round(one.middle[0], 3) for one in patches})
    rows = sorted({round(one.middle[1], 3) for one in patches})
    assert (len(columns), len(rows)) == (6, 4)
    apart = np.diff([*columns])
    assert apart == pytest.approx([apart[0]] * 5, abs=HAIR)
    assert np.diff(rows) == pytest.approx([apart[0]] * 3, abs=HAIR)
    assert np.mean(columns) == pytest.approx(5.5, abs=HAIR)


def test_a_reader_of_such_marks_finds_the_four_of_the_card_upright():
    pixels = np.ascontiguousarray(page_pixels(SHEETS["card"](LETTER), dpi=60))
    marks = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, ids, _ = cv2.aruco.ArucoDetector(marks).detectMarkers(pixels)
    assert len(ids) == 4
    for (ring,) in corners:  # the first corner is the mark's own upper left
        assert ring[0][0] < ring[2][0] and ring[0][1] < ring[2][1]


def test_loose_marks_are_numbered_through_both_pages_row_by_row():
    for first, page in zip((1, 5), sheet("corner markers"), strict=True):
        told = [one for one in page.lettering if one.text.startswith("corner marker")]
        assert [one.text for one in told] == [f"corner marker {first + k}" for k in range(4)]
        assert told[0].y == told[1].y > told[2].y == told[3].y
        assert told[0].middle == pytest.approx(told[2].middle, abs=0.02)
        assert told[0].middle < page.width / 2 < told[1].middle
        # Each number stands under its own black square, within the line it is cut along.
        blacks = [one for one in page.shapes if one.fill == 0.0]
        frames = [one for one in page.shapes if one.fill is None and min(one.size) > 2]
        for words, black, frame in zip(told, blacks, frames, strict=True):
            assert black.middle == near(*frame.middle)
            assert words.middle == pytest.approx(black.middle[0], abs=0.02)
            assert frame.box[1] < words.y < black.box[1]


# The page itself.


def test_type_is_set_at_the_left_the_middle_or_the_right_of_its_place():
    pdf = Pdf(A4, title="t")
    pdf.new_page()
    for y, align in ((9, "left"), (8, "middle"), (7, "right")):
        pdf.text((4, y), "Tidewater", align=align, size_pt=20)
    pdf.text((4, 6), "3½ in", align="right", size_pt=20)
    pdf.line([(1, 1), (2, 2)], Pen(2.0, 0.5, (3.0, 1.0)))
    pdf.line([(1, 1)])
    pdf.arrow((1, 5), (3, 5))
    end = pdf.paragraph((1, 4), "one two three four five six seven", width_in=1.2, size_pt=12)
    (page,) = pages(pdf.finish())
    left, middle, right, fraction, *lines = page.lettering
    assert left.box[0] == pytest.approx(4, abs=0.03)
    assert middle.middle == pytest.approx(4, abs=0.03)
    assert right.box[2] == pytest.approx(4, abs=0.03)
    assert fraction.text == "3½ in" and fraction.box[2] == pytest.approx(4, abs=0.05)
    assert [one.y for one in (left, middle, right)] == near(9, 8, 7)
    slant, _, head = page.shapes  # a line of one point is none
    assert (slant.width_pt, slant.grey, slant.dash) == (2.0, 0.5, (3.0, 1.0))
    assert slant.points == ((1.0, 1.0), (2.0, 2.0))
    tip, *barbs = head.points[:3]
    assert tip == near(3, 5) and all(2.8 < x < 3 for x, _ in barbs)
    assert sorted(y > 5 for _, y in barbs) == [False, True]
    assert [one.text for one in lines] == ["one two three", "four five six", "seven"]
    assert [one.y for one in lines] == near(4, 3.78, 3.56)  # 1.32 x 12 points are 0.22 in
    assert end == pytest.approx(3.34, abs=HAIR)


def test_rows_of_a_sewing_sheet_keep_the_measures_of_what_is_sewn():
    # 4 x 3 squares of 2 in: half as high again as... 8 x 6 in, drawn at one scale both ways.
    template, plan = sewn("rectangle", "2x4", 3, 4)
    page = pages(sewing_pdf(plan, template, LETTER))[0]
    cells = [one for one in page.shapes if one.fill in (1.0, 0.9) and one.closed]
    assert len(cells) == 12
    assert cells[0].size[0] / cells[0].size[1] == pytest.approx(2 / 4, abs=0.01)
