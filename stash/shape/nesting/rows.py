"""Rows of parallelograms, edge to edge, as a ruler and a rotary cutter lay them: best by rows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import MultiPolygon, Polygon

from stash.shape.plane.border import FloatArray, IndexArray
from stash.shape.plane.outline import Ring

__all__ = ["Base", "Row", "bases_of", "best_rows", "rings_of"]

_SNAP_IN = 1e-9  # rounding; a gap this much short still holds its pieces
_MOST_ROWS = 400


@dataclass(frozen=True, slots=True)
class Base:
    """A parallelogram standing on one of its edges.

    Attributes
    ----------
    corner : int
        Number of the corner the edge starts from.
    turn_deg : float
        Direction of that edge in the template's frame.
    width_in, height_in, lean_in : float
        Length of the edge, height above it, and how far the top is shifted along it.
    """

    corner: int
    turn_deg: float
    width_in: float
    height_in: float
    lean_in: float


@dataclass(frozen=True, slots=True)
class Row:
    """A row of pieces in the turned, straightened frame of `best_rows`."""

    base: Base
    bottom_in: float
    starts_in: tuple[float, ...]


def bases_of(cut: Ring) -> tuple[Base, ...]:
    """Give the two ways a parallelogram can stand; nothing for other shapes."""
    if len(cut) != 4:
        return ()
    a, b, c, d = (np.array(corner) for corner in cut)
    if np.abs(a + c - b - d).max() > 1e-9:
        return ()
    made = []
    for corner, (along, up) in enumerate(((b - a, d - a), (c - b, a - b))):
        width = float(np.hypot(*along))
        unit = along / width
        made.append(
            Base(
                corner,
                math.degrees(math.atan2(unit[1], unit[0])),
                width,
                float(unit[0] * up[1] - unit[1] * up[0]),
                float(unit @ up),
            )
        )
    return tuple(made)


def rings_of(sure: Polygon | MultiPolygon) -> list[FloatArray]:
    """Give every ring of the sure cloth as points (n, 2), last not repeated."""
    parts = sure.geoms if isinstance(sure, MultiPolygon) else [sure]
    return [
        np.asarray(ring.coords)[:-1]
        for part in parts
        if not part.is_empty
        for ring in (part.exterior, *part.interiors)
    ]


def best_rows(rings: Sequence[FloatArray], bases: Sequence[Base]) -> tuple[Row, ...]:
    """Choose rows, each of one base, that hold the most pieces; rows never overlap in height.

    Parameters
    ----------
    rings : sequence of float64, shape (n, 2)
        The cloth, turned so that rows lie along x and sheared so that the pieces are upright.
    bases : sequence of Base
        The ways a row may stand; all upright in this frame.
    """
    heights = np.concatenate([ring[:, 1] for ring in rings])
    steps = [base.height_in for base in bases]
    shelves = [_shelf(rings, base, _bottoms(heights, steps, base.height_in)) for base in bases]
    return _most_pieces(shelves)


@dataclass(frozen=True)
class _Shelf:
    """Every row tried for one base, and the gaps in them that hold pieces.

    Attributes
    ----------
    base : Base
    bottoms : float64, shape (r,)
    row, start, fits : shape (g,)
        Of each gap: its row, where it starts, how many pieces it holds.
    """

    base: Base
    bottoms: FloatArray
    row: IndexArray
    start: FloatArray
    fits: IndexArray

    def counts(self) -> IndexArray:
        """Give how many pieces each row holds."""
        return np.bincount(self.row, self.fits, len(self.bottoms)).astype(np.intp)

    def taken(self, row: int) -> Row:
        """Lay the pieces of one row."""
        starts: list[float] = []
        for gap in np.flatnonzero(self.row == row).tolist():
            first = float(self.start[gap])
            starts.extend(first + k * self.base.width_in for k in range(int(self.fits[gap])))
        return Row(self.base, float(self.bottoms[row]), tuple(starts))


def _bottoms(heights: FloatArray, steps: Sequence[float], own: float) -> FloatArray:
    low, high = float(heights.min()), float(heights.max())
    reach = _sums(steps, high - low)
    up = (heights[:, None] + reach[None, :]).ravel()
    down = (heights[:, None] - reach[None, :] - own).ravel()
    even = np.arange(low, high - own, own / 6)
    every = np.concatenate([up, down, even])
    every = every[(every >= low - _SNAP_IN) & (every <= high - own + _SNAP_IN)]
    every = np.unique(np.round(every, 10))
    if len(every) > _MOST_ROWS:
        ends = np.concatenate([low + reach, high - reach - own])
        ends = ends[(ends >= low) & (ends <= high - own + _SNAP_IN)]
        every = np.unique(
            np.concatenate([every[:: math.ceil(len(every) / _MOST_ROWS)], np.round(ends, 10)])
        )
    return np.asarray(every)


def _sums(steps: Sequence[float], most: float) -> FloatArray:
    counts = [np.arange(int(min(60, most / step + 1e-6)) + 1) * step for step in steps]
    total = counts[0]
    for more in counts[1:]:
        total = (total[:, None] + more[None, :]).ravel()
    return np.unique(np.round(total[total <= most + _SNAP_IN], 10))


def _shelf(rings: Sequence[FloatArray], base: Base, bottoms: FloatArray) -> _Shelf:
    """Find the gaps between the border's edges, in every row, that lie in the cloth."""
    start = np.concatenate(rings)
    end = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    low, high = bottoms + _SNAP_IN, bottoms + base.height_in - _SNAP_IN
    least, most = _spans(start, end, low, high)
    order = np.argsort(least, axis=1)
    least = np.take_along_axis(least, order, axis=1)
    reach = np.maximum.accumulate(np.take_along_axis(most, order, axis=1), axis=1)
    wide = least[:, 1:] - reach[:, :-1] + 2 * _SNAP_IN
    row, gap = np.nonzero((wide >= base.width_in) & np.isfinite(wide))
    crossings = _crossings(start, end, (low + high) / 2)
    middle = (reach[row, gap] + least[row, gap + 1]) / 2
    inside = (crossings[row] <= middle[:, None]).sum(axis=1) % 2 == 1
    row, gap = row[inside], gap[inside]
    fits = (wide[row, gap] / base.width_in).astype(np.intp)
    return _Shelf(base, bottoms, row, reach[row, gap], fits)


def _spans(
    start: FloatArray, end: FloatArray, low: FloatArray, high: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Give the x-range of every edge inside every row's height; inf, -inf where it stays out."""
    y0, y1 = start[None, :, 1], end[None, :, 1]
    x0, x1 = start[None, :, 0], end[None, :, 0]
    rise = np.where(y1 == y0, 1.0, y1 - y0)
    flat = y1 == y0
    from_share = np.where(flat, 0.0, np.clip((low[:, None] - y0) / rise, 0, 1))
    to_share = np.where(flat, 1.0, np.clip((high[:, None] - y0) / rise, 0, 1))
    ends = x0 + from_share * (x1 - x0), x0 + to_share * (x1 - x0)
    inside = (np.minimum(y0, y1) < high[:, None]) & (np.maximum(y0, y1) > low[:, None])
    return (
        np.where(inside, np.minimum(*ends), np.inf),
        np.where(inside, np.maximum(*ends), -np.inf),
    )


def _crossings(start: FloatArray, end: FloatArray, level: FloatArray) -> FloatArray:
    y0, y1 = start[None, :, 1], end[None, :, 1]
    crosses = (y0 <= level[:, None]) != (y1 <= level[:, None])
    rise = np.where(crosses, y1 - y0, 1.0)
    share = (level[:, None] - y0) / rise
    return np.where(crosses, start[None, :, 0] + share * (end - start)[None, :, 0], np.nan)


def _most_pieces(shelves: Sequence[_Shelf]) -> tuple[Row, ...]:
    """Weighted choice of rows whose heights do not overlap (interval scheduling)."""
    every = np.array(
        [
            (bottom + shelf.base.height_in, bottom, count, which, row)
            for which, shelf in enumerate(shelves)
            for row, (bottom, count) in enumerate(
                zip(shelf.bottoms.tolist(), shelf.counts().tolist(), strict=True)
            )
            if count > 0
        ]
    ).reshape(-1, 5)
    every = every[np.argsort(every[:, 0], kind="stable")]
    ends = np.searchsorted(every[:, 0], every[:, 1] + 2 * _SNAP_IN, side="right")
    before = np.minimum(ends, np.arange(len(every))).tolist()
    counts = every[:, 2].astype(np.intp).tolist()
    best = [0] * (len(every) + 1)
    for k, count in enumerate(counts):
        best[k + 1] = max(best[k], best[before[k]] + count)
    chosen = []
    k = len(every)
    while k > 0:
        if best[k] == best[k - 1]:
            k -= 1
        else:
            which, row = every[k - 1, 3:].astype(np.intp).tolist()
            chosen.append(shelves[which].taken(row))
            k = before[k - 1]
    return tuple(reversed(chosen))
