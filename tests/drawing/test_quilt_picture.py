"""The picture shows the right cloth in the right place; the chart carries every number."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from stash.colour.spaces import srgb_of_lab
from stash.drawing.layout_chart import layout_chart
from stash.drawing.paper import A4, LETTER, Paper
from stash.drawing.quilt_picture import hung, quilt_image
from stash.quilt.pattern import Pattern, make_pattern
from stash.quilt.plan import CropPlace, Plan, Quilt, QuiltPiece
from stash.quilt.setting import setting_named
from tests.quilt.shapes import FINISHED

LABS = [(30.0, 4.0, -30.0), (48.0, -22.0, -10.0), (80.0, 3.0, 16.0), (62.0, 38.0, 28.0)]


def top(family: str, rows: int, across: int, *, straight: bool = False) -> Pattern:
    return make_pattern(FINISHED[family], setting_named(family), rows, across, straight=straight)


def quilt_of(pattern: Pattern, crop: CropPlace | None = None) -> Quilt:
    pieces = tuple(
        QuiltPiece(100 + n, n, LABS[n % 4], "blue", "dark", crop=crop)
        for n in range(len(pattern.places))
    )
    order = tuple(reversed(range(len(pieces))))
    plan = Plan(pattern.setting.family, "4", pattern.setting.name, False, 1, 1)
    return Quilt("Tidewater", plan, pieces, piece_at=order)


@pytest.mark.parametrize("family", ["tumbler", "clamshell", "hexagon", "apple-core"])
def test_each_place_shows_its_own_piece(family: str) -> None:
    pattern = top(family, 3, 4)
    quilt = quilt_of(pattern)
    image = quilt_image(quilt, pattern, long_side_px=600)
    scale = 600 / max(pattern.size_in)
    for at, (x, y) in enumerate(pattern.centres_in):
        expected = srgb_of_lab(np.array(quilt.pieces[quilt.piece_at[at]].lab)) * 255
        seen = image.getpixel((int(x * scale), int((pattern.length_in - y) * scale)))
        assert np.abs(np.array(seen[:3]) - expected).max() <= 2  # rounding to whole numbers
        assert seen[3] == 255


def test_there_is_no_gap_between_pieces_and_nothing_outside() -> None:
    pattern = top("clamshell", 4, 4)
    alpha = np.array(quilt_image(quilt_of(pattern), pattern, long_side_px=800).getchannel("A"))
    area_px = sum(shape.area for shape in pattern.polygons) * (800 / max(pattern.size_in)) ** 2
    covered = (alpha > 127).sum()
    # Pieces are grown by a pixel so that no wall shows through a seam.
    assert area_px * 0.995 <= covered <= area_px * 1.03


def test_the_swatch_is_turned_and_placed_as_it_is_cut() -> None:
    # A picture of 10 x 10 in at 20 px/in, red left of x = 4 in and blue right of it. Cut at
    # (4, 5) without a turn the square is red on its left half.
    picture = Image.new("RGB", (200, 200), (20, 40, 200))
    picture.paste((200, 30, 30), (0, 0, 80, 200))
    out = io.BytesIO()
    picture.save(out, "PNG")
    pattern = make_pattern(
        ((-1.5, -1.5), (1.5, -1.5), (1.5, 1.5), (-1.5, 1.5)), setting_named("square"), 1, 1
    )
    for angle, red_at, blue_at in ((0, (30, 150), (270, 150)), (90, (150, 30), (150, 270))):
        # Turned by 90 degrees counter-clockwise, the piece's upper edge lies to the left, on red.
        crop = CropPlace(4, 5, angle, 1.0, "swatch", 20.0, 0.0, 10.0)
        quilt = quilt_of(pattern, crop)
        image = quilt_image(quilt, pattern, lambda _: out.getvalue(), long_side_px=300)
        assert image.getpixel(red_at)[0] > 150
        assert image.getpixel(blue_at)[2] > 150


def test_a_picture_that_is_gone_leaves_the_plain_colour() -> None:
    pattern = top("square", 1, 1)
    quilt = quilt_of(pattern, CropPlace(0, 0, 0, 1.0, "gone", 20.0, 0.0, 0.0))
    image = quilt_image(quilt, pattern, lambda _: b"", long_side_px=100)
    expected = srgb_of_lab(np.array(LABS[0])) * 255
    assert np.abs(np.array(image.getpixel((50, 50))[:3]) - expected).max() <= 2


def test_a_piece_still_to_be_found_shows_no_cloth_and_no_number_of_a_scrap() -> None:
    pattern = top("square", 1, 2)
    whole = quilt_of(pattern)
    gone = replace(whole.pieces[0], scrap=0)  # spoilt, or of a row that was added
    quilt = replace(whole, pieces=(gone, whole.pieces[1]), piece_at=(0, 1))
    image = quilt_image(quilt, pattern, long_side_px=200)
    left, right = (np.array(image.getpixel((x, 50))[:3]) for x in (50, 150))
    assert np.ptp(left) < 15  # the grey of paper, not the navy it was
    assert np.abs(right - srgb_of_lab(np.array(LABS[1])) * 255).max() <= 2
    pages = pypdfium2.PdfDocument(layout_chart(quilt, pattern, LETTER))
    strip = pages[1].get_textpage().get_text_range()
    assert "to find" in strip
    assert "101" in strip.split() and "0" not in strip.split()


def test_the_quilt_hangs_inside_a_wall() -> None:
    pattern = top("tumbler", 3, 3)
    image = quilt_image(quilt_of(pattern), pattern, long_side_px=300)
    wall = hung(image)
    assert wall.mode == "RGB"
    assert wall.size[0] > image.size[0] and wall.size[1] > image.size[1]


@pytest.mark.parametrize("paper", [LETTER, A4], ids=["letter", "a4"])
@pytest.mark.parametrize(("rows", "across"), [(13, 12), (30, 25)])
def test_the_chart_names_every_row_and_every_scrap(paper: Paper, rows: int, across: int) -> None:
    pattern = top("tumbler", rows, across)
    quilt = quilt_of(pattern)
    document = pypdfium2.PdfDocument(layout_chart(quilt, pattern, paper))
    words = [page.get_textpage().get_text_range().split() for page in document]
    assert float(document[0].get_width()) == pytest.approx(paper.width_in * 72, abs=0.01)
    strips = [word for page in words[1:] for word in page]
    for number in range(len(quilt.pieces)):
        assert str(100 + number) in strips
    text = " ".join(strips)
    assert all(f"Row {row} {across} pieces" in text for row in range(1, rows + 1))
