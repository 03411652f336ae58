"""Loose corner markers, rasterised from their sheet and laid in scenes with known truth."""

from functools import cache

import numpy as np
import pypdfium2
import pytest

from stash.demo.laying import Leftover
from stash.demo.paper import PrintedSheet
from stash.demo.scene import RenderedScene, SceneSpec, render_scene
from stash.drawing.corner_sheet import corner_sheet_pdf
from stash.photo.cards.card import chart24
from stash.photo.cards.card_finding import find_card
from stash.photo.cards.corner_marker import LoosePrint, find_corner_markers
from stash.photo.files.reading import read_photo
from stash.photo.inches.loose_corners import LooseCorners, level_by_corners
from stash.photo.inches.table_plane import plane_of_photo
from stash.photo.measuring import measure_photo
from tests.photo.corner_papers import laid_marker
from tests.photo.scoring import match_scraps, off_and_stated

SIZE = (2000, 1500)
SPOTS = ((2.6, 2.6), (37.4, 2.6), (37.4, 27.4), (2.6, 27.4))
CARDS = [chart24("chart", 0.55)]


@cache
def big_table(*scales: float, cover: int | None = None) -> RenderedScene:
    """Photograph a table of 40 x 30 in, a 3-inch chart at one end, markers printed so large."""
    papers = [
        laid_marker(index + 1, SPOTS[index], turn_deg=70.0 * index + 11, scale=scale)
        for index, scale in enumerate(scales)
    ]
    if cover is not None:
        spot = (SPOTS[cover][0] + 1.2, SPOTS[cover][1])
        papers.append(PrintedSheet(np.full((1, 1, 3), 0.2, np.float32), (1.6, 3.0), spot))
    spec = SceneSpec(
        (Leftover("coral", "square", 5.0), Leftover("deep water", "ell", 6.0)),
        size_px=SIZE,
        board_in=(40.0, 30.0),
        tilt_deg=10.0,
        k1=0.006,
        card_at_in=(6.5, 15.0),
    )
    return render_scene(spec, seed=3, papers=tuple(papers))


def levelled(scene: RenderedScene, printed: LoosePrint | None = None) -> LooseCorners:
    """Level by card and markers."""
    photo = read_photo(scene.jpeg(), name="big")
    plane = plane_of_photo(photo, find_card(photo.pixels_srgb, CARDS))
    return level_by_corners(photo.pixels_srgb, plane, printed or LoosePrint())


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_every_marker_of_the_sheet_is_read_and_measures_two_and_a_half_inches(paper):
    document = pypdfium2.PdfDocument(corner_sheet_pdf(paper))
    for page in range(2):
        seen = np.asarray(document[page].render(scale=400 / 72).to_pil().convert("RGB"))
        found = find_corner_markers(seen)
        assert [marker.number for marker in found] == [4 * page + n for n in (1, 2, 3, 4)]
        for marker in found:
            sides = np.hypot(*(np.roll(marker.corners_px, -1, axis=0) - marker.corners_px).T)
            assert sides / 400 == pytest.approx(
                2.5, abs=0.006
            )  # two pixels of the raster, which is drawn outwards


def test_four_markers_make_a_big_table_three_times_truer_and_the_stated_error_holds():
    without = off_and_stated(big_table(), levelled(big_table()).plane)
    scene = big_table(1.0, 1.0, 1.0, 1.0)
    loose = levelled(scene)
    off, stated = off_and_stated(scene, loose.plane)
    assert (off <= stated).mean() >= 0.95
    assert stated.max() < without[1].max() / 3
    assert off.max() < 0.08  # the outline error aimed at
    assert loose.notes == ("The table was levelled by 4 loose corner markers.",)


def test_markers_are_no_scraps():
    scene = big_table(1.0, 1.0, 1.0, 1.0)
    measured = measure_photo(read_photo(scene.jpeg(), name="big"), CARDS)
    matches, false = match_scraps(scene.truth, [scrap.outline for scrap in measured.scraps])
    assert false == 0
    assert all(match.index is not None for match in matches)
    assert all(match.edge_in <= match.stated_in for match in matches)


def test_without_markers_the_plane_is_the_cards_own():
    photo = read_photo(big_table().jpeg(), name="big")
    plane = plane_of_photo(photo, find_card(photo.pixels_srgb, CARDS))
    loose = level_by_corners(photo.pixels_srgb, plane, LoosePrint())
    assert loose.plane is plane and loose.notes == ()


def test_markers_printed_too_small_are_told_and_left_out_until_their_line_is_stated():
    scene = big_table(0.95, 0.95, 0.95, 0.95)
    loose = levelled(scene)
    assert "check line would be 5.7" in loose.notes[0]
    assert "levelled" not in " ".join(loose.notes)
    stated = levelled(scene, LoosePrint.of_line(5.7))
    assert stated.notes == ("The table was levelled by 4 loose corner markers.",)
    off, error = off_and_stated(scene, stated.plane)
    assert (off <= error).mean() >= 0.95


def test_one_marker_of_another_print_is_named_and_left_out():
    loose = levelled(big_table(1.0, 1.0, 0.95, 1.0))
    assert loose.notes[0] == "The table was levelled by 3 loose corner markers."
    assert loose.notes[1].startswith("Corner marker 3 fits neither")


def test_a_marker_partly_covered_does_not_spoil_the_others():
    scene = big_table(1.0, 1.0, 1.0, 1.0, cover=1)
    loose = levelled(scene)
    off, stated = off_and_stated(scene, loose.plane)
    assert (off <= stated).mean() >= 0.95
    assert off.max() < 0.08
