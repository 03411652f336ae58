"""Chords that may part an outline into two scraps, told by its shape alone.

Where the borders of two scraps cross, their common outline turns inwards. Two scraps without
notches of their own lie on either side of the chord between two such corners: a half plane cuts
a convex shape into convex parts, and past the chord each scrap hides the other. An ell has one
such corner and a bite's border turns inwards all along, so neither has such a chord.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon
from shapely.geometry.polygon import orient

from stash.colour.spaces import FloatArray

__all__ = ["seam_chords"]

_STEP_IN, _ARM_IN = 0.03, 0.3  # places on the border; how far a corner's arms reach
_DEEP_IN, _SHALLOW_IN = 0.15, 0.05  # how far the deeper corner, the other, lies behind its arms
_APART_IN = 0.25  # between corners along the border
_CORNERS = 8
_GRAZES_IN = 0.05  # how far a chord may run outside the border
_LEAST_SQ_IN = 0.5
_LONGEST = 1.5  # chord, of the side of a square as large as the smaller side; a tip's is longer
# Shares of their hulls that the sides fill: an ell of narrow arms fills three quarters, two scraps
# that touch a third one more than half.
_FULLER, _LESS_FULL = 0.75, 0.5


def seam_chords(shape: Polygon) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Give the borders (n, 2) of both sides of each such chord, inches; holes count as cloth.

    The first begins and ends where the chord does.
    """
    border = orient(Polygon(shape.exterior)).exterior
    count = int(border.length / _STEP_IN)
    arm = round(_ARM_IN / _STEP_IN)
    if count < 4 * arm:
        return
    places = np.arange(count) * (border.length / count)
    corners = shapely.get_coordinates(border)
    reach = np.append(0.0, np.cumsum(np.hypot(*np.diff(corners, axis=0).T)))
    # Shapely's own interpolation walks the whole border anew for every place.
    ring = np.column_stack([np.interp(places, reach, axis) for axis in corners.T])
    deep = _depths(ring, arm)
    room = Polygon(border).buffer(_GRAZES_IN)
    for first, second in combinations(_inward_corners(deep), 2):
        sides = ring[first : second + 1], np.concatenate([ring[second:], ring[: first + 1]])
        if (
            max(deep[first], deep[second]) > _DEEP_IN
            and room.covers(LineString(ring[[first, second]]))
            and _are_scraps(*sides)
        ):
            yield sides


def _depths(ring: FloatArray, arm: int) -> FloatArray:
    """How far each place of a counter-clockwise ring lies behind its arms' ends, inches."""
    before, after = np.roll(ring, arm, axis=0), np.roll(ring, -arm, axis=0)
    way, here = after - before, ring - before
    across = way[:, 1] * here[:, 0] - way[:, 0] * here[:, 1]
    return np.asarray(-across / np.maximum(np.hypot(*way.T), 1e-9))


def _inward_corners(deep: FloatArray) -> NDArray[np.intp]:
    """Places that lie deepest of those near them along the border, in its order."""
    chosen: list[int] = []
    for index in np.argsort(-deep).tolist():
        if deep[index] < _SHALLOW_IN or len(chosen) == _CORNERS:
            break
        along = [min(abs(index - one), len(deep) - abs(index - one)) for one in chosen]
        if min(along, default=len(deep)) * _STEP_IN > _APART_IN:
            chosen.append(index)
    return np.sort(np.array(chosen, dtype=np.intp))


def _are_scraps(*rings: FloatArray) -> bool:
    sides = [Polygon(ring) for ring in rings]
    full = [side.area / max(1e-9, side.convex_hull.area) for side in sides]
    least = min(side.area for side in sides)
    chord_in = float(np.hypot(*(rings[0][-1] - rings[0][0])))
    large = least > _LEAST_SQ_IN and chord_in < _LONGEST * math.sqrt(least)
    return bool(large and max(full) > _FULLER and min(full) > _LESS_FULL)
