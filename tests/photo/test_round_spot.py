"""Cloth told from what lies round a spot: drawn shapes, whose corners are known."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from stash.photo.table.round_spot import ring_round

PX_PER_IN = 90
CORNERS = np.array([[310, 260], [705, 300], [660, 690], [280, 640]])


def table(corners: np.ndarray, *, motif: bool = False) -> np.ndarray:
    """Dark cloth on light ground, soft and noisy as a camera has it."""
    rng = np.random.default_rng(5)
    picture = np.full((1000, 1000, 3), (206, 200, 190), np.uint8)
    cv2.fillPoly(picture, [corners], (60, 74, 120))
    if motif:
        for x, y in rng.integers(250, 720, (90, 2)):
            inside = cv2.pointPolygonTest(corners, (float(x), float(y)), measureDist=True) > 6
            if inside:
                cv2.circle(picture, (int(x), int(y)), 4, (235, 230, 220), -1)
    noisy = cv2.GaussianBlur(picture, (0, 0), 1.2) + rng.normal(0, 4, picture.shape)
    return np.clip(noisy, 0, 255).astype(np.uint8)


@pytest.mark.parametrize("motif", [False, True])
def test_the_edge_of_the_cloth_is_found_to_a_few_hundredths_of_an_inch(motif: bool) -> None:
    found = ring_round(table(CORNERS, motif=motif), (480.0, 470.0), px_per_in=PX_PER_IN)
    assert found is not None
    ring, truth = Polygon(found.corners_px), Polygon(CORNERS)
    off_in = shapely.hausdorff_distance(ring, truth, 0.02) / PX_PER_IN
    assert off_in < found.unsure_px / PX_PER_IN <= 0.2
    assert ring.area == pytest.approx(truth.area, rel=0.02)


def test_a_spot_on_the_bare_table_is_no_cloth() -> None:
    assert ring_round(table(CORNERS), (850.0, 850.0), px_per_in=PX_PER_IN) is None


def test_cloth_that_fills_the_picture_has_no_edge_to_find() -> None:
    whole = np.array([[-50, -50], [1050, -50], [1050, 1050], [-50, 1050]])
    assert ring_round(table(whole), (480.0, 470.0), px_per_in=PX_PER_IN) is None
