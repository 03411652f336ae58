"""Borders of many shapes side by side: exact signed distances from batches of points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from stash.shape.plane.outline import Ring

__all__ = [
    "Borders",
    "FloatArray",
    "IndexArray",
    "borders_of",
    "signed_distance",
    "with_edge",
    "with_slope",
]

FloatArray: TypeAlias = NDArray[np.float64]
IndexArray: TypeAlias = NDArray[np.intp]
SingleArray: TypeAlias = NDArray[np.float32]

_AT_ONCE = 28_000  # point-edge pairs in one pass; keeps the work inside the cache
_OF_RUN, _OF_ROW = 170, 10  # what a run of rows of one shape costs, and a row apart, in points
_STRAIGHT = 0.05  # corners that turn less (radians) take the side of their edge


@dataclass(frozen=True)
class Borders:
    """Edges of several polygons.

    Attributes
    ----------
    forms : per shape, float32, shape (3, 3, edges)
        Three maps of (x, y, 1) per edge: how far past its end, how far before its start, and
        twice the distance left of it (inwards).
    lines : float32, shape (7, all edges)
        Two maps of (x, y, 1) in single precision: how far along the edge from its middle, and how
        far left of it; then its half length.
    first : int, shape (shapes + 1,)
        Where the edges of each shape begin in the table.
    table : float64, shape (all edges, 7)
        Unit direction; offsets of the two distances; half length; side on which the points
        before its start and past its end lie: 1 inside, -1 outside, 0 as seen from the edge.
    starts : float64, shape (all edges, 2)
        Where each edge begins.
    turns : float64, shape (all edges,)
        Sine of the turn there; negative where the corner points into the shape.
    after : int, shape (all edges,)
        The edge that follows each on its ring.
    """

    forms: tuple[SingleArray, ...]
    lines: SingleArray
    first: IndexArray
    table: FloatArray
    starts: FloatArray
    turns: FloatArray
    after: IndexArray


def borders_of(shapes: Sequence[Sequence[Ring | FloatArray]]) -> Borders:
    """Lay out the rings of each shape: outer counter-clockwise, holes clockwise."""
    rings = [np.asarray(ring, dtype=float) for shape in shapes for ring in shape]
    owner = np.repeat(np.arange(len(shapes)), [len(shape) for shape in shapes])
    sizes = np.array([len(ring) for ring in rings])
    points = np.concatenate(rings)
    kept = (points != points[_next(sizes)]).any(axis=1)  # a corner given twice makes no edge
    ring_of = np.repeat(np.arange(len(rings)), sizes)[kept]
    sizes = np.bincount(ring_of, minlength=len(rings))
    first = np.concatenate([[0], np.cumsum(np.bincount(owner[ring_of], minlength=len(shapes)))])
    after = _next(sizes)
    table, turns = _table(points[kept], after)
    forms = _forms(table)
    return Borders(
        tuple(
            np.ascontiguousarray(forms[:, :, first[k] : first[k + 1]]) for k in range(len(shapes))
        ),
        _lines(table),
        first.astype(np.intp),
        table,
        points[kept],
        turns,
        after,
    )


def _next(sizes: IndexArray) -> IndexArray:
    """Number the point after each, ring by ring."""
    after = np.arange(1, int(sizes.sum()) + 1)
    ends = np.cumsum(sizes)
    filled = sizes > 0
    after[ends[filled] - 1] = (ends - sizes)[filled]
    return after


def _table(points: FloatArray, after: IndexArray) -> tuple[FloatArray, FloatArray]:
    """Give the table's row of every edge, and the sine of the turn at its start."""
    step = points[after] - points
    length = np.hypot(step[:, 0], step[:, 1])
    x, y = points.T
    ux, uy = step.T / length
    turn = ux * uy[after] - uy * ux[after]  # at the end of each edge
    side = np.where(turn > _STRAIGHT, -1.0, np.where(turn < -_STRAIGHT, 1.0, 0.0))
    back = ux * ux[after] + uy * uy[after] < 0  # a spike turns by nearly half a circle
    side = np.where(back & (side == 0), np.where(turn > 0, -1.0, 1.0), side)
    at_start, turn_at_start = np.empty_like(side), np.empty_like(turn)
    at_start[after], turn_at_start[after] = side, turn
    along, left = -(x * ux + y * uy) - length / 2, x * uy - y * ux
    return np.column_stack([ux, uy, along, left, length / 2, at_start, side]), turn_at_start


def _forms(table: FloatArray) -> SingleArray:
    ux, uy, along, left, half = table[:, :5].T
    return np.array(
        [[ux, uy, along - half], [-ux, -uy, -along - half], [-2 * uy, 2 * ux, 2 * left]],
        dtype=np.float32,
    )


def _lines(table: FloatArray) -> SingleArray:
    ux, uy, along, left, half = table[:, :5].T
    return np.array([ux, uy, along, -uy, ux, left, half], dtype=np.float32)


def signed_distance(borders: Borders, which: IndexArray, points: FloatArray) -> FloatArray:
    """Give how far points lie inside (positive) or outside (negative) their shape.

    Parameters
    ----------
    borders : Borders
        The shapes.
    which : int, shape (m,)
        The shape each row of points belongs to; quickest when equal ones stand together.
    points : float64, shape (m, j, 2)
        Points, inches.

    Returns
    -------
    float64, shape (m, j)
        Inches; single precision chooses the nearest edge: 0.00001 in at 40 in from the origin.
    """
    return with_edge(borders, which, points)[0]


def with_edge(
    borders: Borders, which: IndexArray, points: FloatArray
) -> tuple[FloatArray, IndexArray]:
    """Give signed distances and the nearest edges' numbers in the table, shape (m, j)."""
    edge, x, y = _nearest(borders, which, points)
    value = _measured(borders.table.take(edge, axis=0), x, y)[0]
    return value.reshape(points.shape[:2]), edge.reshape(points.shape[:2])


def with_slope(
    borders: Borders, which: IndexArray, points: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Give signed distances and the unit direction in which each grows, shape (m, j, 2)."""
    edge, x, y = _nearest(borders, which, points)
    row = borders.table.take(edge, axis=0)
    value, sign, past = _measured(row, x, y)
    ux, uy = row[:, 0], row[:, 1]
    aside = row[:, 0] * y - row[:, 1] * x + row[:, 3]
    scale = sign / np.maximum(np.abs(value), 1e-9)
    beside = past == 0
    left = np.where(beside, 1.0, aside * scale)
    ahead = past * scale
    slope = np.stack([ux * ahead - uy * left, uy * ahead + ux * left], axis=1)
    return value.reshape(points.shape[:2]), slope.reshape(points.shape)


def _measured(
    row: FloatArray, x: FloatArray, y: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Give distance, sign and how far past the edge's end (signed), per point."""
    along = row[:, 0] * x + row[:, 1] * y + row[:, 2]
    aside = row[:, 0] * y - row[:, 1] * x + row[:, 3]
    half = row[:, 4]
    past = along - np.minimum(np.maximum(along, -half), half)
    corner = np.where(past < 0, row[:, 5], row[:, 6])
    seen = (past == 0) | (corner == 0)
    sign = np.where(seen, np.where(aside < 0, -1.0, 1.0), corner)
    return sign * np.sqrt(past * past + aside * aside), sign, past


def _nearest(
    borders: Borders, which: IndexArray, points: FloatArray
) -> tuple[IndexArray, FloatArray, FloatArray]:
    """Number the nearest edge of every point in the table; give the points' x and y too."""
    flat = points.reshape(-1, 2)
    homogeneous = np.ones((len(flat), 3), dtype=np.float32)
    homogeneous[:, :2] = flat
    if len(borders.forms) == 1:
        edge = _nearest_of(borders, 0, homogeneous)
    elif (which[1:] < which[:-1]).any():
        order = np.argsort(which, kind="stable")
        each = homogeneous.reshape(*points.shape[:2], 3)[order]
        edge = np.empty(points.shape[:2], dtype=np.intp)
        edge[order] = _in_runs(borders, which[order], each).reshape(edge.shape)
        edge = edge.ravel()
    else:
        edge = _in_runs(borders, which, homogeneous.reshape(*points.shape[:2], 3))
    return edge, flat[:, 0], flat[:, 1]


def _in_runs(borders: Borders, which: IndexArray, points: SingleArray) -> IndexArray:
    """Take the points shape by shape: each only meets the edges of its own."""
    each = points.shape[1]
    flat = points.reshape(-1, 3)
    starts = np.concatenate([[0], np.flatnonzero(which[1:] != which[:-1]) + 1, [len(which)]])
    if len(flat) + _OF_ROW * len(which) < _OF_RUN * (len(starts) - 1):
        return _side_by_side(borders, which, points)
    edge = np.empty(len(flat), dtype=np.intp)
    bounds = (starts * each).tolist()
    for k, shape in enumerate(which[starts[:-1]].tolist() if len(which) else ()):
        part = slice(bounds[k], bounds[k + 1])
        edge[part] = _nearest_of(borders, shape, flat[part])
    return edge


def _side_by_side(borders: Borders, which: IndexArray, points: SingleArray) -> IndexArray:
    """Take rows of many shapes in one pass: a shape with fewer edges gives its last one again."""
    each = points.shape[1]
    first, counts = borders.first[which], np.diff(borders.first)[which]
    edge = np.empty((len(which), each), dtype=np.intp)
    start = 0
    while start < len(which):
        step = max(1, _AT_ONCE // (each * int(counts[start])))
        part = slice(start, start + step)
        most = int(counts[part].max())
        number = first[part, None] + np.minimum(np.arange(most), counts[part, None] - 1)
        lines = borders.lines.take(number, axis=1)
        past = np.matmul(points[part], lines[:3].transpose(1, 0, 2))
        aside = np.matmul(points[part], lines[3:6].transpose(1, 0, 2))
        np.abs(past, out=past)
        past -= lines[6][:, None]
        past += np.abs(past)  # twice how far past the edge's ends, at least 0
        past *= past
        aside *= aside
        aside *= 4
        past += aside
        edge[part] = past.argmin(axis=2) + first[part, None]
        start += step
    return edge.ravel()


def _nearest_of(borders: Borders, shape: int, points: SingleArray) -> IndexArray:
    """Number the nearest edge: the least of squared distances, four times each."""
    after, before, left = borders.forms[shape]
    step = min(max(1, _AT_ONCE // left.shape[1]), len(points))
    work = np.empty((3, step, left.shape[1]), dtype=np.float32)
    found = []
    for start in range(0, len(points), max(step, 1)):
        part = points[start : start + step]
        past, other, aside = work[:, : len(part)]
        np.matmul(part, after, out=past)
        np.matmul(part, before, out=other)
        np.matmul(part, left, out=aside)
        np.maximum(past, other, out=past)
        np.abs(past, out=other)
        past += other  # twice how far past the edge's ends, at least 0
        past *= past
        aside *= aside
        past += aside
        found.append(past.argmin(axis=1))
    nearest = found[0] if len(found) == 1 else np.concatenate([*found, [0][:0]])
    return np.asarray(nearest + borders.first[shape], dtype=np.intp)
