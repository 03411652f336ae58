"""Notches and tips stay where no stripe of the cloth can look like what it lies on."""

from __future__ import annotations

import numpy as np
from shapely.geometry import Polygon

from stash.photo.outlines.straightening import Blemishes, straighten
from stash.photo.table.true_shape import Look, true_shapes

STEP = 60.0  # pixels an inch
GREEN, GREY, WHITE = (45.0, -30.0, 20.0), (60.0, 0.0, 0.0), (95.0, 0.0, 2.0)


def scene(*, stripe: bool = False) -> tuple[np.ndarray, Look]:
    """A 3 inch square with a slit and a narrow tip: what finding made of it, and its look."""
    lab = np.full((300, 300, 3), GREY, dtype=np.float32)
    part = np.zeros((300, 300), dtype=bool)
    part[60:240, 60:240] = True  # finding has closed the slit and left off the tip
    seen = part.copy()
    seen[60:72, 120:125] = False
    seen[150:156, 240:260] = True
    lab[seen] = GREEN
    if stripe:
        lab[160:175, 60:240], seen[160:175, 60:240] = GREY, False
    return part, Look(seen, np.abs(lab - GREY).max(axis=2) > 8, lab)


def test_a_short_slit_is_cut_and_a_tip_of_the_same_cloth_is_kept() -> None:
    part, look = scene()
    (shape,) = true_shapes(part, look, np.ones_like(part), STEP)
    assert not shape[62:70, 122].any() and shape[152, 241:258].all()


def test_a_pale_thread_on_the_edge_is_no_tip() -> None:
    part, look = scene()
    look.lab[150:156, 240:260] = WHITE
    (shape,) = true_shapes(part, look, np.ones_like(part), STEP)
    assert not shape[152, 245:].any()


def test_a_thread_is_known_by_its_core_however_wide_its_blur() -> None:
    part, look = scene()
    part[195:207, 240:270] = look.seen[195:207, 240:270] = True
    look.bold[200:202, 240:270] = True
    (shape,) = true_shapes(part, look, np.ones_like(part), STEP)
    assert not shape[195:207, 244:].any() and shape[152, 241:258].all()


def test_two_scraps_held_together_by_a_thread_are_both_kept() -> None:
    part, look = scene()
    part[150:156, 240:258] = True
    for mask in (part, look.seen, look.bold):
        mask[120:190, 258:296] = True
    look.lab[look.bold] = GREEN
    areas = sorted(int(shape.sum()) for shape in true_shapes(part, look, part | True, STEP))
    # 70 x 38 and 180 x 180 pixels, a slit of 12 x 1 off; threads and corners may make a little.
    assert len(areas) == 2 and abs(areas[0] - 2660) < 150 and abs(areas[1] - 32388) < 300


def test_a_tip_does_not_grow_where_another_scrap_lies() -> None:
    part, look = scene()
    free = np.ones_like(part)
    free[:, 245:] = False
    (shape,) = true_shapes(part, look, free, STEP)
    assert shape[152, 241:244].all() and not shape[152, 247:].any()


def test_cloth_with_a_stripe_like_the_backing_is_left_bridged() -> None:
    part, look = scene(stripe=True)
    assert true_shapes(part, look, np.ones_like(part), STEP) == []


def test_a_speck_that_fails_to_be_seen_inside_is_filled() -> None:
    part, look = scene()
    look.seen[150:152, 150:152] = False
    (shape,) = true_shapes(part, look, np.ones_like(part), STEP)
    assert shape[151, 151]


def test_a_tip_smaller_than_a_blemish_stays_where_blemishes_are_small() -> None:
    corners = [(0, 0), (3, 0), (3, 3), (1.6, 3), (1.55, 3.1), (1.4, 3), (0, 3)]
    ring = np.asarray(Polygon(corners).exterior.segmentize(0.0125).coords[:-1])
    small = Blemishes(area_sq_in=0.003, end_in=0.045, astray_in=0.02)
    assert straighten(ring, small)[:, 1].max() > 3.08
    assert straighten(ring)[:, 1].max() < 3.03


def test_two_pieces_of_one_region_are_both_kept() -> None:
    part, look = scene()
    look.seen[:, 140:160] = False
    look.lab[:, 140:160] = GREY
    inside_only = Look(look.seen, np.ones_like(part), look.lab)
    assert true_shapes(part, inside_only, np.ones_like(part), STEP) == []
    two = part.copy()
    two[80:240, 140:160] = False
    assert len(true_shapes(two, look, np.ones_like(part), STEP)) == 2
