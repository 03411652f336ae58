"""The straight edges of a measured outline, also where parts of its border are torn or lost."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LinearRing

__all__ = ["Edge", "straight_edges"]

_Points = NDArray[np.float64]
Edge = tuple[_Points, _Points]

# An outline may be off by half an inch in places; corners are still found to this. Judgements, on
# rendered scraps on backings of their own colour (docs/measurements.md).
_MOST_OFF_IN = 0.15
_SURE_IN = 0.06  # known so well, corners tell the direction to a degree
_ASKEW_DEG, _ASIDE_IN = 8.0, 0.08  # parts of the border that are of the edge's own line


def straight_edges(points: _Points, error_in: float) -> Iterator[Edge]:
    """Give start and end of the edges, the longest first; both lie on the line most of it runs on.

    Parameters
    ----------
    points : float64, shape (n, 2)
        The border, counter-clockwise, inches, the last point not repeated.
    error_in : float
        How far it may be off, inches.
    """
    ring = np.vstack([points, points[:1]])
    corners = np.array(LinearRing(ring).simplify(max(min(error_in, _MOST_OFF_IN), 1e-9)).coords)
    edges = sorted(itertools.pairwise(corners), key=lambda edge: -math.dist(*edge))
    for start, end in edges:
        yield (start, end) if error_in <= _SURE_IN else _on_its_line(points, start, end)


def _on_its_line(points: _Points, start: _Points, end: _Points) -> Edge:
    """Lay an edge on the line of its longest straight part and of all that goes on along it."""
    border = _between(points, start, end)
    parts = np.diff(border, axis=0)
    lengths = np.hypot(parts[:, 0], parts[:, 1])
    way = (end - start) / math.dist(start, end)
    askew = np.abs(np.arctan2(parts @ [-way[1], way[0]], parts @ way))
    along = askew < math.radians(_ASKEW_DEG)
    if not along.any():
        return start, end
    longest = int(np.argmax(lengths * along))
    aside = parts[longest][::-1] * (-1, 1) / lengths[longest]
    middles = (border[1:] + border[:-1]) / 2
    along &= np.abs((middles - middles[longest]) @ aside) < _ASIDE_IN
    ends = np.concatenate([border[:-1][along], border[1:][along]])
    weights = np.tile(lengths[along], 2)
    middle = np.average(ends, axis=0, weights=weights)
    # the direction in which the weighted points spread most
    line = np.linalg.svd((ends - middle) * np.sqrt(weights)[:, None], full_matrices=False)[2][0]
    return (
        middle + line * float((start - middle) @ line),
        middle + line * float((end - middle) @ line),
    )


def _between(points: _Points, start: _Points, end: _Points) -> _Points:
    """Give the border from one of its points to another, both with it."""
    first, last = (int(np.argmin(np.abs(points - one).sum(axis=1))) for one in (start, end))
    if last > first:
        return points[first : last + 1]
    return np.vstack([points[first:], points[: last + 1]])
