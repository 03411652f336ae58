"""Outlines that are hardly seen, made straight."""

from __future__ import annotations

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry import Point, Polygon, box

from stash.photo.outlines.faint_edge import straight_sides
from stash.shape.plane.outline import Outline, outline_of

TRUTH = shapely.affinity.rotate(box(0, 0, 4, 3), 17)


def eaten(error_in: float) -> Outline:
    """A rectangle of 4 by 3 in with bays a quarter inch deep along its sides."""
    ring = TRUTH.exterior
    bays = [ring.interpolate(at).buffer(0.25) for at in (0.6, 1.3, 2.6, 4.9, 6.1, 8.7, 11.8)]
    left = TRUTH.difference(shapely.union_all(bays))
    assert isinstance(left, Polygon)
    return outline_of(list(left.exterior.coords)[:-1], error_in=error_in)


def test_a_faint_outline_gets_its_straight_sides_and_corners_back() -> None:
    was, now = eaten(0.3), straight_sides(eaten(0.3))
    assert shapely.hausdorff_distance(was.polygon, TRUTH, 0.02) > 0.24
    assert shapely.hausdorff_distance(now.polygon, TRUTH, 0.02) < 0.05
    assert now.error_in >= was.error_in


def test_a_sure_outline_is_left_as_it_was() -> None:
    sure = eaten(0.05)
    assert straight_sides(sure) is sure


def test_a_bite_that_is_larger_than_the_error_stays() -> None:
    bitten = TRUTH.difference(Point(*np.array(TRUTH.exterior.coords[0])).buffer(1.2))
    told = outline_of(list(bitten.exterior.coords)[:-1], error_in=0.15)
    assert shapely.hausdorff_distance(straight_sides(told).polygon, bitten, 0.02) < 0.15
