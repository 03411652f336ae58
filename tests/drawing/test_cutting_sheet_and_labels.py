"""Cutting sheets and labels: pieces drawn where they lie, codes that can be read again."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from PIL import Image

from stash.drawing.bin_label import BinLabel, labels_pdf
from stash.drawing.cutting_sheet import CutList, cutting_pdf
from stash.drawing.paper import A4, LETTER
from stash.quilt.cutting import ScrapToCut
from stash.quilt.stacks import ToStack, stacks_of
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template
from tests.drawing.measuring_pdf import (
    DPI,
    dark_shapes,
    page_pixels,
    page_text,
    page_with,
    pages_of,
)

PAPERS = pytest.mark.parametrize("paper", [LETTER, A4], ids=["letter", "a4"])


def cuts_of(count, *, washed=True, family="square"):
    template = make_template(family, 2)
    outline = outline_of([(1, 1), (5, 1), (5, 4), (1, 4)], error_in=0.02)
    ring = tuple((x + 2.5, y + 2.5) for x, y in template.cut)
    scraps = tuple(
        ScrapToCut(number, number, "ditsy blue", "Jar 3", outline, (ring,), washed=washed)
        for number in range(1, count + 1)
    )
    to_stack = [ToStack(one.number, one.outline, one.pieces) for one in scraps]
    return CutList("Tidewater", template, scraps, stacks_of(to_stack, template.cut, layers=6))


@PAPERS
def test_a_piece_is_drawn_where_it_lies_on_its_scrap(paper):
    # a scrap smaller than its frame is drawn at true size
    data = cutting_pdf(cuts_of(1), paper)
    pixels = page_pixels(data, page_with(data, "Scrap 1"))
    boxes = dark_shapes(pixels)
    piece = next(box for box in boxes if 2.4 < box[2] - box[0] < 2.6)
    line_in = 1.7 / 72
    assert piece[2] - piece[0] == pytest.approx(2.5 + line_in, abs=0.3 / 25.4)
    # the ruler's left corner stands at the margin and 0.3 in; the piece begins 0.25 in from it
    assert piece[0] == pytest.approx(0.8 + 0.25 - line_in / 2, abs=0.3 / 25.4)


@PAPERS
def test_every_scrap_is_listed_and_drawn_and_no_page_is_left_half_empty(paper):
    data = cutting_pdf(cuts_of(5), paper)
    assert "5 pieces from 5 scraps of 5 fabrics" in page_text(data)
    drawn = " ".join(page_text(data, page) for page in range(pages_of(data)))
    assert all(f"Scrap {number}" in drawn for number in range(1, 6))
    for page in range(pages_of(data) - 1):
        ink = np.flatnonzero((page_pixels(data, page, dpi=50) < 200).any(axis=1))
        assert ink.max() > 0.6 * 50 * paper.height_in


def test_a_long_list_names_the_quilt_on_each_of_its_pages():
    data = cutting_pdf(cuts_of(60), LETTER)
    listed = [page for page in range(pages_of(data)) if "Jar 3" in page_text(data, page)]
    assert len(listed) >= 3
    assert all("Cut for Tidewater" in page_text(data, page) for page in listed)


def test_a_long_name_and_a_long_bin_are_written_out():
    one = cuts_of(1)
    name, place = "indigo ditsy with the smallest white anchors", "practically full tin of blues"
    scraps = (replace(one.scraps[0], name=name, place=place),)
    data = cutting_pdf(replace(one, scraps=scraps), LETTER)
    words = " ".join(page_text(data).split())
    assert "…" not in words
    listed = words[words.index("pieces 1") :]
    for word in f"{name} {place}".split():
        assert listed.count(word) >= 2  # in the list and over the drawing


def test_what_stays_in_the_stash_is_marked_with_its_size():
    one = cuts_of(1)
    rest = outline_of([(1, 1), (2.4, 1), (2.4, 4), (1, 4)])
    scraps = (replace(one.scraps[0], left=(rest,)),)
    data = cutting_pdf(replace(one, scraps=scraps), LETTER)
    words = " ".join(page_text(data, page_with(data, "Scrap 1")).split())
    assert "to keep: 1⅜ × 3 in" in words
    assert "keep" in words.replace("to keep:", "")  # written on the drawing too
    assert "Nothing is left" in page_text(cutting_pdf(one, LETTER))


def test_a_scrap_has_the_size_on_its_sheet_that_lists_give_it_however_it_lies():
    one = cuts_of(1)
    tilted = outline_of([(1, 2), (4, 1), (5, 4), (2, 5)])  # computed: a square of root 10, 3.16 in
    scraps = (replace(one.scraps[0], outline=tilted),)
    words = page_text(cutting_pdf(replace(one, scraps=scraps), LETTER))
    assert "3⅛ × 3⅛ in; drawn right side" in words


def test_the_list_warns_of_the_blade_and_names_the_tools_own_instructions():
    words = page_text(cutting_pdf(cuts_of(1), LETTER)).replace("\r\n", " ")
    assert "Rotary cutter" in words
    assert "came with your tools" in words


def test_the_list_says_which_side_of_the_cloth_is_up():
    words = page_text(cutting_pdf(cuts_of(1), LETTER)).replace("\r\n", " ")
    assert "its right side: lay it so" in words


def test_unwashed_cloth_is_told_to_be_washed_and_what_may_bleed_says_so():
    unwashed = cuts_of(1, washed=False)
    words = page_text(cutting_pdf(unwashed, LETTER)).replace("\r\n", " ")
    assert "Not washed" in words
    assert "bleed" not in words
    deep = replace(unwashed, scraps=(replace(unwashed.scraps[0], may_bleed=True),))
    assert "bleed" in page_text(cutting_pdf(deep, LETTER))
    assert "Not washed" not in page_text(cutting_pdf(cuts_of(1), LETTER))


@pytest.mark.parametrize(("size", "told"), [(0.4, True), (0.5, False)])
def test_a_strip_under_an_inch_is_told_with_a_caution(size, told):
    cuts = replace(cuts_of(1), template=make_template("square", size))  # strips of 0.9 and 1 in
    words = " ".join(page_text(cutting_pdf(cuts, LETTER)).split())
    assert ("slips from under a ruler" in words) is told


def test_a_curved_shape_says_which_strip_just_takes_it():
    template = make_template("apple-core", 3.75)
    cuts = cuts_of(1)
    data = cutting_pdf(CutList("Core", template, cuts.scraps, cuts.stacks), LETTER)
    assert "A strip 4¼ in wide just takes it" in page_text(data)


@PAPERS
def test_nothing_runs_off_the_paper(paper):
    data = cutting_pdf(cuts_of(3, washed=False), paper)
    for page in range(pages_of(data)):
        pixels = page_pixels(data, page, dpi=72)
        assert (pixels < 250).sum() == (pixels[24:-24, 24:-24] < 250).sum()


def labels(*places):
    lines = ("blue 12, teal 4", "9 at least 6 in wide", "largest 11⅜ × 8 in")
    return [BinLabel(place, 20, 18, lines, f"bin:{place}") for place in places]


@PAPERS
@pytest.mark.parametrize("place", ["Jar 3", "Blue box, top shelf by the window"])
def test_the_code_on_a_label_reads_as_the_bins_code(paper, place):
    pixels = page_pixels(labels_pdf(labels(place), paper), dpi=150)
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(np.ascontiguousarray(pixels))
    assert text == f"bin:{place}"


@PAPERS
def test_a_page_takes_three_labels_with_large_names(paper):
    data = labels_pdf(labels("A", "B", "C", "D"), paper)
    assert pages_of(data) == 2
    assert "largest 11⅜ × 8 in" in page_text(data)
    # the name of the first bin is over half an inch high
    pixels = page_pixels(data)
    part = pixels[round(0.55 * DPI) : round(1.6 * DPI), round(0.6 * DPI) : round(2 * DPI)]
    rows = np.flatnonzero((part < 60).any(axis=1))
    assert np.ptp(rows) / DPI > 0.5


def test_a_scrap_with_a_picture_shows_it_pale(tmp_path):
    picture = tmp_path / "swatch.jpg"
    Image.new("RGB", (400, 300), (20, 20, 90)).save(picture)
    cuts = cuts_of(1)
    shown = replace(
        cuts.scraps[0], picture=picture.read_bytes(), px_per_in=100.0, left_in=1.0, top_in=4.0
    )
    data = cutting_pdf(replace(cuts, scraps=(shown,)), LETTER)
    pixels = page_pixels(data, page_with(data, "Scrap 1"))
    # half white over a dark blue: clearly grey, and clearly lighter than the cloth, which is
    # drawn 4 in wide from the margin and 0.3 in, at true size, over its ruler
    left = round(0.8 * DPI)
    cloth = pixels[:, left + round(0.3 * DPI) : left + round(0.6 * DPI)]
    tinted = (cloth > 90) & (cloth < 220)
    assert tinted.all(axis=1).sum() > 1.5 * DPI


def on_cloth(number, wide, high, *corners, places):
    """A scrap of a size, with 2 1/2-in squares (2 in finished) at these lower left corners."""
    outline = outline_of([(0, 0), (wide, 0), (wide, high), (0, high)], error_in=0.02)
    template = make_template("square", 2)
    pieces = tuple(
        tuple((x + 1.25 + left, y + 1.25 + low) for x, y in template.cut) for left, low in corners
    )
    return ScrapToCut(number, number, "navy", "Jar 3", outline, pieces, places=places)


def sheet_words(*scraps):
    template = make_template("square", 2)
    to_stack = [ToStack(one.number, one.outline, one.pieces) for one in scraps]
    stacks = stacks_of(to_stack, template.cut, layers=6)
    data = cutting_pdf(CutList("Tidewater", template, scraps, stacks), LETTER)
    text = " ".join(page_text(data, page) for page in range(pages_of(data)))
    return " ".join(text.split())


def test_of_a_stack_with_a_yard_only_the_cloth_round_the_template_is_drawn():
    small = on_cloth(2, 3, 3, (0.25, 0.25), places=("1.2",))
    words = sheet_words(on_cloth(1, 36, 40, (0.5, 0.5), places=("1.1",)), small)
    assert "Cloth goes on beyond the fine frame." in words
    assert "Drawn at" not in words  # what is shown of it has room at true size
    alone = sheet_words(replace(small, number=1), small)
    assert "Cloth goes on" not in alone


def test_places_are_told_in_words_where_a_piece_is_drawn_too_small_to_hold_them():
    corners, places = ((0.5, 0.5), (3, 0.5)), ("4.5", "1.3")
    told = "Row and piece it is for: 1 to 4.5, 2 to 1.3."
    assert told in sheet_words(on_cloth(1, 36, 40, *corners, places=places))
    assert "Row and piece" not in sheet_words(on_cloth(1, 6, 4, *corners, places=places))
