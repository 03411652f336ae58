"""Lines that follow no seam: straight across the top, crosswise, and a vine along its edge."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon

from stash.errors import PlanError
from stash.quilt.row_by_row import Way
from stash.shape.plane.outline import Point
from stash.units import length_words

__all__ = ["NARROWEST_IN", "WIDEST_IN", "cross_ways", "straight_ways", "vine"]

# How far apart lines may lie: batting holds together up to about 8 in, as its makers print;
# common practice, no source.
NARROWEST_IN, WIDEST_IN = 0.25, 8.0
_SHORT_IN = 0.25  # scraps of lines in the hollows of an edge
_STEP_IN = 0.05
_DEEP_IN = 0.75  # how far a vine swings on a top without a border, to either side
_LEAST_IN = 0.25  # a vine that swings less is a line
_WAVE = 6.0  # length of a wave, times its depth (judgement: it climbs at 46 degrees)
_LEAF, _LEAF_WIDE, _LEAF_DEG = 1.1, 0.3, 85.0  # of the depth; the turn off the vine


def straight_ways(top: Polygon, apart_in: float, turn_deg: float) -> list[Way]:
    """Lay lines so far apart over a top, as many on either side of its middle.

    Parameters
    ----------
    top : Polygon
        What is quilted.
    apart_in : float
        From line to line, inches.
    turn_deg : float
        The way they run: 0 is along the rows.

    Raises
    ------
    PlanError
        If they lie too close or too far apart, or none lies on the top.
    """
    if not NARROWEST_IN <= apart_in <= WIDEST_IN:
        least, most = (
            " or ".join(length_words(one, step=16, unit=u) for u in ("in", "cm"))
            for one in (NARROWEST_IN, WIDEST_IN)
        )
        raise PlanError(
            f"Lines {length_words(apart_in, step=16)} apart are not quilted: take {least} at "
            f"least and {most} at most, so that the batting holds."
        )
    turn = math.radians(turn_deg)
    along, across = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    corners = shapely.get_coordinates(top)
    heights, reach = corners @ across, float(np.abs(corners).max()) * 3
    low, high = float(heights.min()), float(heights.max())
    count = max(1, math.floor((high - low) / apart_in - 1e-9))
    first = (low + high - (count - 1) * apart_in) / 2
    ways = []
    for number in range(count):
        level = first + number * apart_in
        ends = [
            tuple(level * across[k] + way * reach * along[k] for k in (0, 1)) for way in (-1, 1)
        ]
        for part in shapely.get_parts(top.intersection(LineString(ends))):
            if isinstance(part, LineString) and part.length > _SHORT_IN:
                a, b = ((float(x), float(y)) for x, y in part.coords[:: len(part.coords) - 1])
                ways.append(Way((a, b), (0, 1), closed=False))
    if not ways:
        raise PlanError("No line so far apart lies on this top; take a smaller distance.")
    return ways


def vine(top: Polygon, border_in: float, keep_in: float) -> Way:
    """Wind a leafy vine along the edge until it meets its own beginning.

    Parameters
    ----------
    top : Polygon
        The straight edge of the pieces, or of their border.
    border_in : float
        Width of the border the vine stays in; 0 winds it over the edge of the pieces.
    keep_in : float
        How far it keeps from the edges of the border, inches.

    Raises
    ------
    PlanError
        If the border, or the top, is too narrow for it.
    """
    deep = (border_in - 2 * keep_in) / 2 if border_in > 0 else _DEEP_IN
    base = top.buffer(-(deep + keep_in), join_style="mitre")
    bend = deep + keep_in  # at a corner; wider, it would swing over the corner of the pieces
    base = base.buffer(-bend).buffer(bend, quad_segs=32)
    if deep < _LEAST_IN or not isinstance(base, Polygon) or base.is_empty:
        least = " or ".join(
            length_words(2 * (keep_in + _LEAST_IN), step=16, unit=u) for u in ("in", "cm")
        )
        raise PlanError(
            f"There is too little room for a vine along the edge; a border {least} wide takes one."
            if border_in > 0
            else "This top is too small for a vine along its edge."
        )
    length = float(base.exterior.length)
    waves = max(4, 2 * round(length / (_WAVE * deep) / 2))
    middle = np.arange(0, length, _STEP_IN)
    stem = _wound(base, middle, deep, waves)
    points: list[Point] = []
    for half in range(2 * waves):
        low, high = (length * (half + k) / (2 * waves) for k in (0, 1))
        points += [
            (float(x), float(y)) for x, y in stem[(middle >= low - 1e-9) & (middle < high - 1e-9)]
        ]
        points += _leaf(_wound(base, np.array([high, high + _STEP_IN]), deep, waves), deep, half)
    return Way((*points, points[0]), (0,), closed=True)


def _wound(base: Polygon, at: NDArray[np.float64], deep: float, waves: int) -> NDArray[np.float64]:
    """Give points of the wave over some places along its middle line."""
    ring, length = base.exterior, float(base.exterior.length)
    spot = shapely.get_coordinates(shapely.line_interpolate_point(ring, at % length))
    ahead = shapely.get_coordinates(shapely.line_interpolate_point(ring, (at + 0.02) % length))
    along = (ahead - spot) / np.hypot(*(ahead - spot).T)[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    swing = deep * np.sin(2 * math.pi * waves * at / length)
    return np.asarray(spot + across * swing[:, None])


def _leaf(stem: NDArray[np.float64], deep: float, half: int) -> list[Point]:
    """Draw a leaf from where the vine crosses its middle, into the bay beside it."""
    (x, y), ahead = stem[0], stem[1] - stem[0]
    side = -1 if half % 2 == 0 else 1  # after the first half the vine swings to the right
    turn = math.atan2(ahead[1], ahead[0]) - side * math.radians(_LEAF_DEG)
    long = _LEAF * deep
    points = []
    for k in range(25):
        round_ = 2 * math.pi * k / 24
        out = long * (1 - math.cos(round_)) / 2
        off = _LEAF_WIDE * long * math.sin(round_) * math.sin(round_ / 2)
        points.append(
            (
                float(x + out * math.cos(turn) - off * math.sin(turn)),
                float(y + out * math.sin(turn) + off * math.cos(turn)),
            )
        )
    return points


def cross_ways(top: Polygon, apart_in: float) -> Sequence[list[Way]]:
    """Give both sets of lines of a crosshatch, corner to corner of squares."""
    return [straight_ways(top, apart_in, turn) for turn in (45.0, -45.0)]
