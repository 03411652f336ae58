"""A sheet under the card is the table; what touches the card is not measured."""

from __future__ import annotations

import cv2
import numpy as np

from stash.photo.table.segmentation import Segmentation, find_scraps

CARD = np.array([(330, 240), (470, 240), (470, 340), (330, 340)], dtype=np.float64)
PAPER, CARPET, RED, BLUE = (235, 235, 232), (110, 80, 60), (190, 40, 50), (40, 60, 150)


def table(*things: tuple[tuple[int, int, int, int], tuple[int, int, int]]) -> Segmentation:
    """Lay boxes (left, top, right, bottom) on carpet, 40 pixels an inch, the card uppermost."""
    rng = np.random.default_rng(1)
    pixels = np.full((600, 800, 3), CARPET, np.uint8)
    for (left, top, right, bottom), colour in things:
        pixels[top:bottom, left:right] = colour
    cv2.fillPoly(pixels, [CARD.astype(np.int32)], (25, 25, 27))
    noisy = pixels + rng.normal(0, 2.0, pixels.shape)
    return find_scraps(np.clip(noisy, 0, 255).astype(np.uint8), px_per_in=40.0, cards_px=(CARD,))


SHEET = ((60, 50, 740, 550), PAPER)


def test_scraps_on_a_sheet_that_does_not_fill_the_photo_are_found_on_it() -> None:
    seen = table(SHEET, ((120, 100, 260, 220), RED), ((520, 380, 640, 480), BLUE))
    areas = sorted(int(region.mask.sum()) for region in seen.regions)
    assert len(areas) == 2
    assert abs(areas[0] - 120 * 100) < 600 and abs(areas[1] - 140 * 120) < 600
    assert any("sheet" in note for note in seen.notes)


def test_a_sheet_over_two_borders_of_a_photo_of_a_patchwork_is_the_table() -> None:
    rng = np.random.default_rng(3)
    patches = [
        ((left, top, left + 100, top + 100), tuple(rng.integers(20, 235, 3).tolist()))
        for left in range(0, 800, 100)
        for top in range(0, 600, 100)
    ]
    sheet = ((0, 0, 640, 520), PAPER)
    seen = table(*patches, sheet, ((120, 100, 260, 220), RED), ((500, 80, 600, 160), BLUE))
    areas = sorted(int(region.mask.sum()) for region in seen.regions)
    assert len(areas) == 2
    assert abs(areas[0] - 100 * 80) < 500 and abs(areas[1] - 140 * 120) < 600


def test_things_smaller_than_scraps_are_measured_where_they_are_all_there_is() -> None:
    ones = [((100 + 40 * n, 400, 112 + 40 * n, 412), RED) for n in range(5)]
    seen = table(*ones)
    assert len(seen.regions) == 5
    assert any("pitch" in note for note in seen.notes)
    beside_a_scrap = table(*ones, ((500, 80, 600, 160), BLUE))
    assert len(beside_a_scrap.regions) == 1
    assert len(table(*ones[:2]).regions) == 0


def test_a_scrap_over_the_edge_of_the_sheet_is_cut_off() -> None:
    seen = table(SHEET, ((120, 100, 260, 220), RED), ((700, 380, 780, 480), BLUE))
    assert (len(seen.regions), len(seen.cut_off)) == (1, 1)


def test_a_sheet_with_nothing_but_the_card_is_no_scrap() -> None:
    seen = table(SHEET)
    assert not seen.regions
    assert any("touches the card" in note for note in seen.notes)


def test_a_scrap_that_lies_under_the_card_is_not_measured() -> None:
    seen = table(((440, 200, 600, 360), RED), ((120, 400, 260, 520), BLUE))
    assert len(seen.regions) == 1
    assert any("touches the card" in note for note in seen.notes)


def test_a_scrap_beside_the_card_is_measured() -> None:
    seen = table(((482, 200, 600, 360), RED))
    assert len(seen.regions) == 1
    assert not seen.notes


def test_a_cord_is_left_out_and_told() -> None:
    seen = table(((120, 400, 400, 412), RED), ((120, 100, 260, 220), BLUE))
    assert len(seen.regions) == 1
    ((x, y),) = seen.narrow_px
    assert abs(x - 260) < 6 and abs(y - 406) < 6


def test_a_narrow_strip_of_cloth_stays() -> None:
    assert len(table(((120, 400, 400, 416), RED)).regions) == 1
