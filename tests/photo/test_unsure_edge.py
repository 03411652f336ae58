"""Doubt about an outline: where its edge was weak, unseen, off or thin."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely.geometry import LinearRing, Point, Polygon

from stash.photo.outlines.straightening import straighten
from stash.photo.outlines.unsure_edge import _farthest, doubts, seen_points

Points = NDArray[np.float64]


def square_edge(bump_in: float = 0.0) -> tuple[Points, Points]:
    """Edge points of a 3 inch square; the middle 0.25 in of a side bulges, and is weak there."""
    at = np.arange(0.0125, 3, 0.025)
    low = np.zeros_like(at)
    bulge = np.where(np.abs(at - 1.5) < 0.125, -bump_in, 0.0)
    sides = [
        np.stack([at, bulge], axis=1),
        np.stack([low + 3, at], axis=1),
        np.stack([3 - at, low + 3], axis=1),
        np.stack([low, 3 - at], axis=1),
    ]
    points = np.vstack(sides)
    return points, np.where(points[:, 1] < 0, 4.0, 40.0)


def test_a_halo_beside_a_square_is_bridged_by_its_clear_edges() -> None:
    points, step = square_edge(bump_in=0.15)
    outline = Polygon(straighten(points[seen_points(points, step)]))
    square = Polygon([(0, 0), (3, 0), (3, 3), (0, 3)])
    assert outline.exterior.hausdorff_distance(square.exterior) < 0.005


def test_a_bridged_halo_still_counts_as_doubt_of_its_depth() -> None:
    points, step = square_edge(bump_in=0.15)
    outline = Polygon(straighten(points[seen_points(points, step)]))
    assert doubts(outline, points, step).weak_in == pytest.approx(0.15, abs=0.01)


def test_a_crisp_square_leaves_no_doubt() -> None:
    points, step = square_edge()
    doubt = doubts(Polygon(straighten(points)), points, step)
    assert max(doubt.weak_in, doubt.off_in, doubt.thin_in, doubt.unseen_in, doubt.crooked) < 0.005


def test_what_lies_on_no_long_straight_side_is_crooked() -> None:
    points, step = square_edge()
    lid = Polygon([(0, 0), (3, 0), (3, 3), (0, 3)]).union(Point(0, 1.5).buffer(1.5))
    # Half a turn of pi * 1.5 in beside sides of 3, 3 and 3 in.
    assert doubts(lid, points, step).crooked == pytest.approx(4.71 / 13.71, abs=0.01)


def test_a_thread_that_sticks_out_is_doubted_by_its_length() -> None:
    points, step = square_edge()
    thread = Polygon(
        [(0, 0), (3, 0), (3, 3), (1.52, 3), (1.52, 3.4), (1.48, 3.4), (1.48, 3), (0, 3)]
    )
    doubt = doubts(thread, points, step)
    assert doubt.thin_in == pytest.approx(0.4, abs=0.03)
    assert doubt.unseen_in == pytest.approx(0.4, abs=0.03)


def test_cloth_faint_all_round_keeps_all_its_points() -> None:
    points, _ = square_edge()
    step = np.where(np.arange(len(points)) % 20 < 10, 2.0, 11.0)
    assert seen_points(points, step).all()


def test_a_weak_stretch_over_the_start_of_the_ring_is_one_stretch() -> None:
    points, step = square_edge(bump_in=0.15)
    shift = 58  # the weak stretch now lies over the ring's start
    seen = seen_points(points, step)
    rolled = seen_points(np.roll(points, -shift, axis=0), np.roll(step, -shift))
    assert (~seen).sum() > 5
    assert np.array_equal(rolled, np.roll(seen, -shift))


def test_the_farthest_place_is_the_one_that_trying_all_of_them_gives() -> None:
    rng = np.random.default_rng(5)
    turns = np.sort(rng.uniform(0, 2 * np.pi, 80))
    ring = (2 + rng.uniform(-0.3, 0.3, (80, 1))) * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    line = LinearRing(ring)
    for places in rng.uniform(-3, 3, (20, 50, 2)):
        tried = max(line.distance(Point(place)) for place in places)
        assert _farthest(places, ring) == pytest.approx(tried, abs=1e-12)
    assert _farthest(ring, ring) < 1e-12
