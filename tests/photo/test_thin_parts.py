"""Threads, pins and bridges are no cloth; tips, corners and necks of cloth are."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from stash.demo.scene import render_scene
from stash.photo.cards.card import chart24
from stash.photo.files.reading import read_photo
from stash.photo.measuring import measure_photo
from stash.photo.table.thin_parts import trimmed, without_bridges, without_spurs
from tests.benchmarks.scraps_by_kind import kinds
from tests.photo.scoring import match_scraps

STEP = 60.0  # pixels an inch


def drawn(*polygons: list[tuple[int, int]]) -> np.ndarray:
    mask = np.zeros((300, 400), np.uint8)
    for corners in polygons:
        cv2.fillPoly(mask, [np.array(corners, np.int32)], 1)
    return mask > 0


SQUARE = [(60, 60), (180, 60), (180, 200), (60, 200)]
OTHER = [(230, 60), (350, 60), (350, 200), (230, 200)]


def test_a_thread_that_sticks_out_is_cut_off() -> None:
    thread = [(180, 120), (215, 118), (215, 121), (180, 123)]
    assert (without_spurs(drawn(SQUARE, thread), STEP) == drawn(SQUARE)).mean() > 0.9995


def test_a_pin_goes_with_its_head() -> None:
    head = [(215, 115), (223, 115), (223, 123), (215, 123)]
    pin = [(180, 118), (216, 118), (216, 120), (180, 120)]
    assert not without_spurs(drawn(SQUARE, pin, head), STEP)[:, 190:].any()


@pytest.mark.parametrize("half_base", [30, 18, 12])
def test_a_tip_that_widens_stays_whole(half_base: int) -> None:
    tip = drawn([(60, 150 - half_base), (200, 150), (60, 150 + half_base)])
    assert (without_spurs(tip, STEP) == tip).all()


def test_a_frayed_thread_is_trimmed_off_an_outline_and_corners_stay() -> None:
    square, thread = box(0, 0, 3, 3), box(1, 2.9, 1.04, 3.12)
    left = trimmed(square.union(thread)).symmetric_difference(square)
    assert left.area < 1e-4 and left.intersection(box(0, 3.001, 3, 4)).is_empty


def test_a_thread_with_a_knot_is_trimmed_off_too() -> None:
    square, thread = box(0, 0, 3, 3), box(2.9, 1, 3.7, 1.04)
    left = trimmed(unary_union([square, thread, box(3.5, 0.96, 3.62, 1.08)]))
    assert left.symmetric_difference(square).area < 1e-4


@pytest.mark.parametrize("base_in", [1.0, 0.4, 0.2])
def test_the_tip_of_a_slim_triangle_is_not_trimmed(base_in: float) -> None:
    slim = Polygon([(0, 0), (3, base_in / 2), (0, base_in)])
    assert trimmed(slim).equals(slim)


def test_scraps_on_either_end_of_a_thread_are_two() -> None:
    thread = [(180, 120), (230, 120), (230, 123), (180, 123)]
    cloth = drawn(SQUARE, OTHER, thread)
    parted = without_bridges(cloth, cloth, STEP)
    assert cv2.connectedComponents(parted.astype(np.uint8), connectivity=4)[0] == 3


def test_a_bridge_that_was_only_guessed_may_be_wider() -> None:
    bridge = [(180, 120), (230, 120), (230, 138), (180, 138)]
    cloth, seen = drawn(SQUARE, OTHER, bridge), drawn(SQUARE, OTHER)
    counts = [
        cv2.connectedComponents(without_bridges(cloth, look, STEP).astype(np.uint8))[0]
        for look in (seen, cloth)
    ]
    assert counts == [3, 2]


def test_scraps_across_the_soft_edge_of_a_shadow_are_not_joined() -> None:
    """Two strips and a crumb a quarter inch apart; closing gaps had bridged the rim between."""
    kind = "arm's shadow"
    index = list(kinds(np.random.default_rng(0))).index(kind)
    scene = render_scene(kinds(np.random.default_rng([500, index]))[kind], seed=500)
    photo = measure_photo(read_photo(scene.jpeg(), name="s"), [chart24("chart", 0.55)])
    matches, false = match_scraps(scene.truth, [scrap.outline for scrap in photo.scraps])
    assert false == 0
    assert all(match.index is not None for match in matches)


def test_an_outline_that_was_trimmed_can_be_moved_to_another_plane() -> None:
    """A cut that left a sliver of no width crossed itself there once the plane had moved."""
    fringe = [box(x, 2.95, x + 0.03, 3.1) for x in np.arange(0.2, 2.8, 0.11)]
    whole = trimmed(unary_union([box(0, 0, 3, 3), *fringe]))
    bent = Polygon([(x + 1e-4 * y * y, y - 1e-4 * x * x) for x, y in whole.exterior.coords])
    assert bent.is_valid
