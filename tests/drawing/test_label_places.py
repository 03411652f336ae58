"""Labels name scraps without hiding them."""

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from stash.drawing.label_places import label_places

PICTURE = (1600, 1200)
LABEL = (110.0, 80.0)


def square(x, y, side):
    return np.array([[x, y], [x + side, y], [x + side, y + side], [x, y + side]], dtype=float)


def boxes(rings, picture=PICTURE):
    sizes = [LABEL] * len(rings)
    places = label_places(rings, sizes, picture)
    return [box(x, y, x + w, y + h) for (x, y), (w, h) in zip(places, sizes, strict=True)]


def test_a_large_scrap_bears_its_label_in_the_middle():
    (label,) = boxes([square(400, 300, 400)])
    assert label.centroid.distance(Polygon(square(400, 300, 400)).centroid) < 1


def test_the_label_of_a_hooked_scrap_lies_on_its_cloth():
    hook = np.array([[0, 0], [600, 0], [600, 150], [150, 150], [150, 600], [0, 600]], dtype=float)
    (label,) = boxes([hook + 300])
    assert Polygon(hook + 300).covers(label.centroid)


def test_a_small_scrap_is_seen_beside_its_label():
    rings = [square(500, 500, 90), square(595, 400, 300)]
    small, _ = boxes(rings)
    assert small.intersection(Polygon(rings[0])).area == 0
    assert small.intersection(Polygon(rings[1])).area == 0  # there was room on the other side
    assert small.distance(Polygon(rings[0])) < 20


def test_labels_of_small_neighbours_do_not_lie_on_each_other():
    labels = boxes([square(300 + 120 * i, 500, 80) for i in range(5)])
    for i, one in enumerate(labels):
        assert all(one.intersection(other).area == 0 for other in labels[:i])


@pytest.mark.parametrize("corner", [(0, 0), (1540, 0), (0, 1140), (1540, 1140)])
def test_a_label_stays_within_the_picture(corner):
    (label,) = boxes([square(*corner, 60)])
    assert box(0, 0, *PICTURE).covers(label)
