"""Rows of parallelograms, edge to edge, as a ruler and a rotary cutter lay them: best by rows."""

from __future__ import annotations

import bisect
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import MultiPolygon, Polygon

from stash.shape.border import FloatArray
from stash.shape.outline import Ring

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
    rows: list[Row] = []
    for base in bases:
        bottoms = _bottoms(heights, [one.height_in for one in bases], base.height_in)
        rows.extend(_filled(rings, base, bottoms))
    return _most_pieces(rows)


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


def _filled(rings: Sequence[FloatArray], base: Base, bottoms: FloatArray) -> Iterable[Row]:
    start = np.concatenate(rings)
    end = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    low, high = bottoms + _SNAP_IN, bottoms + base.height_in - _SNAP_IN
    least, most = _spans(start, end, low, high)
    middle = (low + high) / 2
    at_middle = _crossings(start, end, middle)
    for k, bottom in enumerate(bottoms):
        hit = np.isfinite(least[k])
        starts = _starts(
            sorted(zip(least[k][hit].tolist(), most[k][hit].tolist(), strict=True)),
            np.sort(at_middle[k][np.isfinite(at_middle[k])]).tolist(),
            base.width_in,
        )
        if starts:
            yield Row(base, float(bottom), starts)


def _spans(
    start: FloatArray, end: FloatArray, low: FloatArray, high: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Give the x-range of every edge inside every row's height; nan where it stays out."""
    y0, y1 = start[None, :, 1], end[None, :, 1]
    x0, x1 = start[None, :, 0], end[None, :, 0]
    rise = np.where(y1 == y0, 1.0, y1 - y0)
    flat = y1 == y0
    from_share = np.where(flat, 0.0, np.clip((low[:, None] - y0) / rise, 0, 1))
    to_share = np.where(flat, 1.0, np.clip((high[:, None] - y0) / rise, 0, 1))
    ends = x0 + from_share * (x1 - x0), x0 + to_share * (x1 - x0)
    inside = (np.minimum(y0, y1) < high[:, None]) & (np.maximum(y0, y1) > low[:, None])
    return (
        np.where(inside, np.minimum(*ends), np.nan),
        np.where(inside, np.maximum(*ends), np.nan),
    )


def _crossings(start: FloatArray, end: FloatArray, level: FloatArray) -> FloatArray:
    y0, y1 = start[None, :, 1], end[None, :, 1]
    crosses = (y0 <= level[:, None]) != (y1 <= level[:, None])
    rise = np.where(crosses, y1 - y0, 1.0)
    share = (level[:, None] - y0) / rise
    return np.where(crosses, start[None, :, 0] + share * (end - start)[None, :, 0], np.nan)


def _starts(
    blocked: list[tuple[float, float]], crossings: list[float], width: float
) -> tuple[float, ...]:
    """Fill the gaps between blocked ranges that lie in the cloth."""
    starts: list[float] = []
    reach = -math.inf
    for least, most in blocked:
        fits = int((least - reach + 2 * _SNAP_IN) / width) if reach > -math.inf else 0
        inside = bisect.bisect(crossings, (reach + least) / 2) % 2 == 1 if fits > 0 else False
        if inside:
            starts.extend(reach + k * width for k in range(fits))
        reach = max(reach, most)
    return tuple(starts)


def _most_pieces(rows: Sequence[Row]) -> tuple[Row, ...]:
    """Weighted choice of rows whose heights do not overlap (interval scheduling)."""
    ordered = sorted(rows, key=lambda row: row.bottom_in + row.base.height_in)
    tops = [row.bottom_in + row.base.height_in for row in ordered]
    best = [0] * (len(ordered) + 1)
    before = [0] * len(ordered)
    for k, row in enumerate(ordered):
        before[k] = bisect.bisect_right(tops, row.bottom_in + 2 * _SNAP_IN, hi=k)
        best[k + 1] = max(best[k], best[before[k]] + len(row.starts_in))
    chosen = []
    k = len(ordered)
    while k > 0:
        if best[k] == best[k - 1]:
            k -= 1
        else:
            chosen.append(ordered[k - 1])
            k = before[k - 1]
    return tuple(reversed(chosen))
