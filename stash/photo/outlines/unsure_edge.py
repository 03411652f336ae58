"""Where an edge was not really seen, and how far off an outline may be because of it.

A stretch where the colour hardly steps is a guess: a halo, a thread's end, a stripe in the colour
of the backing. The edges seen on either side say more about where the cloth ends.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.ndimage import median_filter
from scipy.spatial import cKDTree
from shapely.geometry import LinearRing, LineString, Point, Polygon

from stash.colour.spaces import FloatArray

__all__ = ["Doubts", "doubts", "seen_points"]

_WEAK_STEP, _WEAK_SHARE = 12.0, 0.45  # CIELAB; and of the ring's usual step
_BRIDGED_IN = 0.4  # widest gap that the edges on either side may bridge
_LEAST_SEEN = 0.6  # share of a ring; where less is clear, faint points are all there is
_THIN_IN = 0.03  # half of what is as thin as a thread, or the end of a tip
_SQUARE = 0.42  # times that is what any square corner sticks out: sqrt(2) - 1, rounded up
_RIM_IN = 0.04  # how closely an outline is gone over
_LONG_SIDE_IN, _FLAT_IN = 0.5, 0.008  # a straight side, and how flat its corners may be
_UNSEEN_IN = 0.01  # every corner runs as far from the points, which stand 0.025 in apart


@dataclass(frozen=True, slots=True)
class Doubts:
    """What says where an outline may be wrong; lengths in inches.

    Attributes
    ----------
    weak_in : float
        How deep stretches of weak edge bulge from the chord between the clear points around.
    unseen_in : float
        How far the outline runs from the edge's points, beyond what it does at any corner.
    off_in : float
        How far the edge's points lie off the outline, 95th percentile.
    thin_in : float
        How far parts as thin as a thread, or tips, stick out; a square corner counts nothing.
    crooked : float
        Share of the outline that does not lie on a long straight side, 0..1.
    """

    weak_in: float
    unseen_in: float
    off_in: float
    thin_in: float
    crooked: float


def seen_points(points_in: FloatArray, step: FloatArray) -> NDArray[np.bool_]:
    """Tell which points (n, 2) of a ring to build on, from the colour step (n,) at each."""
    weak = _weak(step)
    seen = np.ones(len(step), dtype=bool)
    for run in _runs(weak):
        gap = points_in[(run[-1] + 1) % len(step)] - points_in[run[0] - 1]
        if np.hypot(*gap) <= _BRIDGED_IN:
            seen[run] = False
    return seen if seen.mean() > _LEAST_SEEN else np.ones(len(step), dtype=bool)


def doubts(shape: Polygon, points_in: FloatArray, step: FloatArray) -> Doubts:
    """Compare an outline with the edge points (n, 2) it was made from and their steps (n,)."""
    outer = shape.exterior
    off = shapely.distance(shapely.points(points_in), outer)
    unseen_in = _farthest(np.asarray(outer.segmentize(_RIM_IN).coords), points_in)
    return Doubts(
        _bulge(points_in, _weak(step)),
        max(0.0, unseen_in - _UNSEEN_IN),
        float(np.percentile(off, 95)),
        _thin(shape),
        _crooked(outer),
    )


def _farthest(places: FloatArray, ring: FloatArray) -> float:
    """Give how far from a ring (n, 2) the farthest of some places lies.

    No place is farther from the ring than from its nearest corner, so that only places with a
    far corner need to be tried.
    """
    at_most = np.asarray(cKDTree(ring).query(places)[0])
    line = LinearRing(ring)
    first = float(line.distance(Point(places[at_most.argmax()])))
    others = shapely.points(places[at_most > first])
    return max(first, float(shapely.distance(others, line).max(initial=0.0)))


def _weak(step: FloatArray) -> NDArray[np.bool_]:
    calm = median_filter(step, size=3, mode="wrap")
    return np.asarray(calm < min(_WEAK_STEP, _WEAK_SHARE * float(np.median(calm))), dtype=bool)


def _runs(weak: NDArray[np.bool_]) -> list[NDArray[np.intp]]:
    """Give the indices of every stretch of weak points, stretches over the ring's start whole."""
    if weak.all() or not weak.any():
        return []
    start = int(np.argmin(weak))
    places = (np.flatnonzero(np.roll(weak, -start)) + start).astype(np.intp)
    cuts = np.flatnonzero(np.diff(places) > 1) + 1
    return [run % len(weak) for run in np.split(places, cuts)]


def _bulge(points_in: FloatArray, weak: NDArray[np.bool_]) -> float:
    deepest = 0.0
    for run in _runs(weak):
        chord = LineString([points_in[run[0] - 1], points_in[(run[-1] + 1) % len(weak)]])
        deepest = max(deepest, float(shapely.distance(shapely.points(points_in[run]), chord).max()))
    return deepest


def _thin(shape: Polygon) -> float:
    thick = shape.buffer(-_THIN_IN).buffer(_THIN_IN)
    if thick.is_empty:
        return float(np.sqrt(shape.area))
    corners = shapely.points(np.asarray(shape.exterior.coords))
    return max(0.0, float(shapely.distance(corners, thick).max()) - _SQUARE * _THIN_IN)


def _crooked(outer: LinearRing) -> float:
    ring = np.asarray(outer.simplify(_FLAT_IN).coords)
    side = np.hypot(*np.diff(ring, axis=0).T)
    return 1 - float(side[side > _LONG_SIDE_IN].sum() / side.sum())
