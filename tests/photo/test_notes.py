"""A photo says which outlines are known too roughly, and what would help."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from stash.photo.notes import narrow_notes, odd_notes, thread_notes, unsure_notes
from stash.photo.outlines.outlining import MeasuredOutline
from stash.photo.table.segmentation import Segmentation, find_scraps
from stash.shape.plane.outline import Outline, outline_of


def square(error_in: float) -> Outline:
    return outline_of([(0, 0), (4, 0), (4, 4), (0, 4)], error_in=error_in)


def test_outlines_known_well_need_no_word() -> None:
    assert unsure_notes([square(0.05), square(0.19)]) == ()


def test_the_worst_of_the_rough_outlines_is_told_with_their_number() -> None:
    (note,) = unsure_notes([square(0.05), square(0.25), square(0.37)])
    assert note.startswith("2 outlines are sure to no better than ⅜ in")
    assert "another colour" in note


def test_several_narrow_things_may_be_the_stripes_of_one_scrap() -> None:
    one, two = (replace(tiles(), narrow_px=((10.0, 590.0),) * count) for count in (1, 2))
    assert "stripes" not in " ".join(narrow_notes(one)) and "bottom left" in narrow_notes(one)[0]
    assert "stripes" in " ".join(narrow_notes(two))


@cache
def tiles(*, cloth: bool = False) -> Segmentation:
    """Tiles with joints, 40 pixels an inch; on them, cloth in the colour of the joints."""
    pixels = np.full((600, 800, 3), (150, 95, 65), np.uint8)
    for start in range(30, 800, 80):
        pixels[:, start : start + 8] = pixels[start : start + 8] = (130, 130, 125)
    if cloth:
        pixels[420:500, 600:680] = (130, 130, 125)
    pixels[240:340, 330:470] = 25
    noisy = pixels + np.random.default_rng(1).normal(0, 2.0, pixels.shape)
    card = np.array([(330, 240), (470, 240), (470, 340), (330, 340)], dtype=np.float64)
    return find_scraps(np.clip(noisy, 0, 255).astype(np.uint8), px_per_in=40.0, cards_px=(card,))


def test_cloth_in_the_colour_of_a_tables_joints_is_told_with_its_place() -> None:
    seen = tiles(cloth=True)
    assert not seen.regions  # else there is nothing to tell
    (note,) = odd_notes(seen)
    assert "(bottom right)" in note


def test_bare_tiles_need_no_word() -> None:
    assert odd_notes(tiles()) == ()


def test_scraps_whose_threads_were_left_off_are_counted() -> None:
    plain, hairy = (
        MeasuredOutline(square(0.05), 20.0, 0.0, 0.0, threads=on) for on in (False, True)
    )
    assert thread_notes([plain]) == ()
    (note,) = thread_notes([plain, hairy, hairy])
    assert note.startswith("Threads or pins stick out of 2 scraps")
