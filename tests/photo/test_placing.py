"""How far an outline may lie off by its plane: against exact distances between borders."""

import numpy as np
import pytest
from shapely.geometry import Polygon

from stash.photo.cards.card import chart24
from stash.photo.cards.card_finding import find_card
from stash.photo.inches.plane import Plane, fit_plane
from stash.photo.outlines.placing import border_moved_in, placed_in
from tests.photo.made_chart import PITCH_IN, photo_of

RINGS = {
    "square": [(0, 0), (3, 0), (3, 3), (0, 3)],
    "long tip": [(0, 0), (5, 0.4), (0, 0.9)],
    "ell": [(0, 0), (4, 0), (4, 1.5), (1.5, 1.5), (1.5, 4), (0, 4)],
}
AWAY_IN = np.array([6.0, 2.0])  # from the card


@pytest.mark.parametrize("ring", RINGS.values(), ids=RINGS)
def test_a_moved_border_lies_as_far_off_as_shapely_says(ring):
    ring, rng = np.array(ring, dtype=float), np.random.default_rng(1)
    moves = np.tile(rng.normal(scale=0.02, size=(40, 1, 2)), (1, len(ring), 1))
    moves += rng.normal(scale=0.002, size=moves.shape)
    exact = [
        Polygon(ring).exterior.hausdorff_distance(Polygon(ring + move).exterior) for move in moves
    ]
    assert border_moved_in(ring, moves) == pytest.approx(exact, abs=0.003)


@pytest.fixture(scope="module")
def plane() -> Plane:
    photo = photo_of()
    return fit_plane(find_card(photo, [chart24("made", PITCH_IN)]), photo.shape[:2])


@pytest.mark.parametrize("ring", RINGS.values(), ids=RINGS)
def test_nineteen_in_twenty_likely_planes_lay_the_border_within(plane, ring):
    ring = np.array(ring) + AWAY_IN
    ways = plane.shifts_in(ring)
    moves = np.tensordot(np.random.default_rng(7).standard_normal((600, 8)), ways, axes=1)
    off = [
        Polygon(ring).exterior.hausdorff_distance(Polygon(ring + move).exterior) for move in moves
    ]
    held = np.mean(np.array(off) <= placed_in(ring, plane) - plane.floor_in)
    # Both the 600 draws and the 400 inside scatter by 1 in 100.
    assert 0.92 < held < 0.98


def test_no_more_is_stated_than_for_the_worst_point_in_any_direction(plane):
    ring = np.array(RINGS["square"]) + AWAY_IN
    assert 0 < placed_in(ring, plane) < float(plane.error_in(ring).max())
