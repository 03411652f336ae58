"""Borders of many shapes side by side: exact signed distances from batches of points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from stash.shape.outline import Ring

__all__ = ["Borders", "FloatArray", "IndexArray", "borders_of", "signed_distance", "with_slope"]

FloatArray: TypeAlias = NDArray[np.float64]
IndexArray: TypeAlias = NDArray[np.intp]
SingleArray: TypeAlias = NDArray[np.float32]

_FAR_IN = 1e4  # where padding lies: farther than any cloth
_AT_ONCE = 40_000  # point-edge pairs in one pass; keeps the work inside the cache


@dataclass(frozen=True)
class Borders:
    """Edges of several polygons, padded to the same number, single precision.

    Attributes
    ----------
    weights : float32, shape (shapes, 3, 2 * edges)
        Maps (x, y, 1) to the distance along each edge from its middle, then to the distance
        left of it (inwards).
    halves : float32, shape (shapes, edges)
        Half the edge lengths, inches.
    directions : float32, shape (shapes, edges, 2)
        Unit direction of each edge.
    corner_normals : float32, shape (shapes, edges, 4)
        Along and left parts of the inward direction at the start and at the end of an edge.
    """

    weights: SingleArray
    halves: SingleArray
    directions: SingleArray
    corner_normals: SingleArray

    @property
    def edges(self) -> int:
        """Padded number of edges."""
        return int(self.halves.shape[1])


def borders_of(shapes: Sequence[Sequence[Ring]]) -> Borders:
    """Lay out the rings of each shape: outer counter-clockwise, holes clockwise."""
    rows = [_edges(rings) for rings in shapes]
    most = max(len(row) for row in rows)
    table = np.zeros((len(rows), most, 9))
    table[:, :, 0:2] = _FAR_IN
    table[:, :, 2] = 1.0
    for k, row in enumerate(rows):
        table[k, : len(row)] = row
    x, y, ux, uy, length = (table[:, :, k] for k in range(5))
    along = np.stack([ux, uy, -(x * ux + y * uy) - length / 2], axis=1)
    left = np.stack([-uy, ux, x * uy - y * ux], axis=1)
    return Borders(
        np.concatenate([along, left], axis=2).astype(np.float32),
        (length / 2).astype(np.float32),
        table[:, :, 2:4].astype(np.float32),
        table[:, :, 5:9].astype(np.float32),
    )


def _edges(rings: Sequence[Ring]) -> FloatArray:
    """Give start, direction, length and corner normals of every edge, one a row."""
    parts = []
    for ring in rings:
        points = np.asarray(ring, dtype=float)
        step = np.roll(points, -1, axis=0) - points
        length = np.hypot(step[:, 0], step[:, 1])
        kept = length > 0
        points, step, length = points[kept], step[kept], length[kept]
        unit = step / length[:, None]
        normal = np.stack([-unit[:, 1], unit[:, 0]], axis=1)
        ends = [normal + np.roll(normal, by, axis=0) for by in (1, -1)]
        turned = [(end * axis).sum(axis=1) for end in ends for axis in (unit, normal)]
        parts.append(np.column_stack([points, unit, length, *turned]))
    return np.concatenate(parts)


def signed_distance(borders: Borders, which: IndexArray, points: FloatArray) -> FloatArray:
    """Give how far points lie inside (positive) or outside (negative) their shape.

    Parameters
    ----------
    borders : Borders
        The shapes.
    which : int, shape (m,)
        The shape each row of points belongs to.
    points : float64, shape (m, j, 2)
        Points, inches.

    Returns
    -------
    float64, shape (m, j)
        Inches, exact up to single precision: 0.00001 in at 40 in from the origin.
    """
    return _in_passes(borders, which, points, slopes=False)[0]


def with_slope(
    borders: Borders, which: IndexArray, points: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Give signed distances and the unit direction in which each grows, shape (m, j, 2)."""
    return _in_passes(borders, which, points, slopes=True)


def _in_passes(
    borders: Borders, which: IndexArray, points: FloatArray, *, slopes: bool
) -> tuple[FloatArray, FloatArray]:
    rows, per_row = points.shape[:2]
    distance = np.empty((rows, per_row))
    slope = np.empty((rows, per_row, 2)) if slopes else np.empty((0, 0, 2))
    step = max(1, _AT_ONCE // max(1, per_row * borders.edges))
    for start in range(0, rows, step):
        part = slice(start, start + step)
        distance[part], found = _one_pass(borders, which[part], points[part], slopes)
        if slopes:
            slope[part] = found
    return distance, slope


def _one_pass(
    borders: Borders, which: IndexArray, points: FloatArray, slopes: bool
) -> tuple[FloatArray, FloatArray]:
    edges = borders.edges
    ones = np.ones((*points.shape[:2], 1), dtype=np.float32)
    homogeneous = np.concatenate([points.astype(np.float32), ones], axis=2)
    alone = len(borders.weights) == 1
    both = homogeneous @ (borders.weights[0] if alone else borders.weights[which])
    square = np.abs(both[:, :, :edges])
    square -= borders.halves[0] if alone else borders.halves[which][:, None, :]
    np.maximum(square, 0.0, out=square)  # how far past the edge's ends
    square *= square
    left = both[:, :, edges:]
    square += left * left
    edge = np.argmin(square, axis=2)
    row = np.arange(edge.size) * (2 * edges) + edge.ravel()
    flat = both.ravel()
    along = flat[row].reshape(edge.shape).astype(float)
    aside = flat[row + edges].reshape(edge.shape).astype(float)
    return _signed(borders, which, edge, along, aside, slopes)


def _signed(
    borders: Borders,
    which: IndexArray,
    edge: IndexArray,
    along: FloatArray,
    aside: FloatArray,
    slopes: bool,
) -> tuple[FloatArray, FloatArray]:
    """Tell inside from outside; at a corner by the side of its inward direction."""
    nearest = (which * borders.edges)[:, None] + edge
    past = np.abs(along) - borders.halves.ravel()[nearest]
    value = aside  # beside an edge the distance is signed already
    beyond = past > 0
    at_end = np.sign(along[beyond])
    past = past[beyond] * at_end
    corner = borders.corner_normals.reshape(-1, 4)[nearest[beyond]]
    end = at_end > 0
    side = past * np.where(end, corner[:, 2], corner[:, 0])
    side += aside[beyond] * np.where(end, corner[:, 3], corner[:, 1])
    distance = np.hypot(past, aside[beyond])
    sign = np.where(side >= 0, 1.0, -1.0)
    if not slopes:
        value[beyond] = sign * distance
        return value, value
    unit = borders.directions.reshape(-1, 2)[nearest].astype(float)
    slope = np.stack([-unit[:, :, 1], unit[:, :, 0]], axis=2)
    scale = sign / np.maximum(distance, 1e-9)
    slope[beyond] = (
        slope[beyond] * (aside[beyond] * scale)[:, None] + unit[beyond] * (past * scale)[:, None]
    )
    value[beyond] = sign * distance
    return value, slope
