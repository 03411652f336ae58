"""Trails put one after another, with the way between them along the edge of the top."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.ops import substring

from stash.shape.plane.outline import Point, Ring

__all__ = ["Rim", "Way", "chain", "path_in"]

_ON_IN = 0.03  # so near the edge a line ends on it
_CLOSE_IN = 0.005  # hairs between neighbouring pieces, which come from flattened arcs
_SAME_IN = 0.02


@dataclass(frozen=True)
class Way:
    """A line, or a row of them, that is quilted in one go.

    Attributes
    ----------
    points : tuple of Point
        Along it.
    entries : tuple of int
        Where it may be begun: numbers of points. An open one is begun at either end.
    closed : bool
        Whether it ends where it began.
    """

    points: tuple[Point, ...]
    entries: tuple[int, ...]
    closed: bool

    def begun_at(self, entry: int) -> tuple[Point, ...]:
        """Give its points from one of the entries on."""
        if self.closed:
            return (*self.points[entry:], *self.points[1 : entry + 1])
        return self.points if entry == 0 else tuple(reversed(self.points))


class Rim:
    """The edge of a top, along which the needle may go unseen from line to line."""

    def __init__(self, outlines: Sequence[Ring]) -> None:
        pieces = [Polygon(one).buffer(_CLOSE_IN, join_style="mitre") for one in outlines]
        whole = shapely.union_all(pieces).buffer(-_CLOSE_IN, join_style="mitre")
        self.top: Polygon = max(shapely.get_parts(whole), key=lambda part: float(part.area))
        self._ring = LineString(self.top.exterior.coords)

    def along(self, points: Sequence[Point]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        """Give how far along the edge points lie, inches; nan for those that lie off it."""
        spots = shapely.points(np.asarray(points, dtype=float).reshape(-1, 2))
        at = shapely.line_locate_point(self._ring, spots)
        return np.where(shapely.distance(self._ring, spots) <= _ON_IN, at, np.nan)

    def apart(
        self, one: float, others: np.ndarray[tuple[int], np.dtype[np.float64]]
    ) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        """Give how long the shorter way along the edge is."""
        off = np.abs(others - one)
        return np.asarray(np.minimum(off, self._ring.length - off))

    def between(self, one: float, other: float) -> list[Point]:
        """Give the shorter way along the edge, both ends included."""
        length = self._ring.length
        if abs(other - one) <= length / 2:
            way = [substring(self._ring, one, other)]
        elif other > one:
            way = [substring(self._ring, one, 0), substring(self._ring, length, other)]
        else:
            way = [substring(self._ring, one, length), substring(self._ring, 0, other)]
        return [(float(x), float(y)) for part in way for x, y in part.coords]


def chain(
    groups: Sequence[Sequence[Way]], rim: Rim
) -> tuple[list[tuple[Point, ...]], list[tuple[Point, float]], float]:
    """Put ways one after another, the next one always where the edge is followed least.

    Parameters
    ----------
    groups : sequence of sequence of Way
        All ways of one group are sewn before the next group.
    rim : Rim
        The edge.

    Returns
    -------
    runs : list of tuple of Point
        Each is stitched without lifting the needle.
    lines : list of (Point, float)
        Where each way begins, in the order they are sewn, and how long it is, inches.
    edge_in : float
        How much of it runs along the edge, inches.
    """
    runs: list[list[Point]] = []
    lines: list[tuple[Point, float]] = []
    edge_in = 0.0
    for ways in groups:
        spots = _Spots(ways, rim)
        while spots.left.any():
            at = spots.next_from(runs[-1][-1] if runs else None, rim)
            here = rim.along([runs[-1][-1]])[0] if runs else math.nan
            start = spots.point(at)
            if math.isnan(here) or math.isnan(spots.along[at]):
                runs.append([start])
            elif math.dist(runs[-1][-1], start) > _SAME_IN:
                travel = [*rim.between(float(here), float(spots.along[at])), start]
                edge_in += path_in(travel)
                runs[-1] += travel
            points = spots.taken(at)
            runs[-1] += points[1:]
            lines.append((start, path_in(points)))
    return [tuple(run) for run in runs], lines, edge_in


class _Spots:
    """Every place where a way may still be begun."""

    def __init__(self, ways: Sequence[Way], rim: Rim) -> None:
        self._ways = ways
        self._entry = [(k, entry) for k, one in enumerate(ways) for entry in one.entries]
        self._owner = np.array([k for k, _ in self._entry])
        points = [ways[k].points[entry] for k, entry in self._entry]
        self._places = np.array(points).reshape(-1, 2)
        self.along = rim.along(points)
        self.left = np.ones(len(points), dtype=bool)

    def point(self, at: int) -> Point:
        """Give the place itself."""
        return (float(self._places[at, 0]), float(self._places[at, 1]))

    def next_from(self, here: Point | None, rim: Rim) -> int:
        """Choose where to go on: along the edge, else the nearest; first the lower left."""
        if here is None:
            return int(np.argmin(self._places.sum(axis=1) + 1e6 * np.isnan(self.along)))
        at = rim.along([here])[0]
        reached = self.left & ~np.isnan(self.along)
        if not math.isnan(at) and reached.any():
            return int(np.argmin(np.where(reached, rim.apart(float(at), self.along), np.inf)))
        off = np.hypot(self._places[:, 0] - here[0], self._places[:, 1] - here[1])
        return int(np.argmin(np.where(self.left, off, np.inf)))

    def taken(self, at: int) -> tuple[Point, ...]:
        """Give the points of the way that begins there, and strike it off."""
        way, entry = self._entry[at]
        self.left &= self._owner != way
        return self._ways[way].begun_at(entry)


def path_in(points: Sequence[Point]) -> float:
    """Give the length of a way, inches."""
    return sum(math.dist(points[k], points[k + 1]) for k in range(len(points) - 1))
