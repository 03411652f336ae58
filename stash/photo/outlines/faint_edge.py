"""An outline that is hardly seen, made straight as cloth is cut.

Where cloth looks like what it lies on, its print leads the outline in and out along the edge. Sides
that are long beside the outline's own error are taken for straight cuts: each is one line, near the
outermost of what was seen of it, for what is missed of such cloth lies inside; corners are where
two of them meet.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from stash.shape.plane.outline import Outline, outline_of

__all__ = ["straight_sides"]

_SEEN_IN = 0.12  # an outline surer than this is left as it is; judgement, as all below
_COARSE = 0.5  # sides are told apart at this share of the error
_LONG = 3.0  # a straight side is so many times as long as the error
_CORNER = 1.5  # a corner moves by no more than this times the error
_ROUNDED = 2 / 3  # and what was more than one corner by this share of that
_OUTERMOST = 0.9  # of the points of a side this share lies inside its line
_APART_IN = 0.04
_ROUNDS = 8
_SHARPEST = 0.2  # sine of the least angle at which two lines make a corner

_Line = tuple[NDArray[np.float64], NDArray[np.float64]]  # a point on it, and its direction


def straight_sides(outline: Outline) -> Outline:
    """Give the outline with straight sides where it is unsure; it is no surer than before.

    A hole stays only in an outline that is left as it was: in a faint one it is the print's.
    """
    error = outline.error_in
    if error < _SEEN_IN:
        return outline
    seen = outline.polygon
    filled = _filled(seen, error)
    if filled is None:
        return outline
    corners = _corners(filled.simplify(_COARSE * error))
    there = np.array(shapely.segmentize(filled.exterior, _APART_IN).coords)[:-1]
    sides = [
        _side(there, one, other, error)
        for one, other in zip(corners, np.roll(corners, -1, axis=0), strict=True)
    ]
    moved = Polygon(_ring(corners, sides, _CORNER * error))
    if not moved.is_valid:
        return outline
    off = float(shapely.hausdorff_distance(moved, Polygon(seen.exterior), 0.02))
    return outline_of(list(moved.exterior.coords)[:-1], error_in=max(error, off))


def _filled(seen: Polygon, error: float) -> Polygon | None:
    """Close the bays a print makes: those narrower than twice the error."""
    wide = seen.buffer(error, join_style="mitre").buffer(-error, join_style="mitre")
    return Polygon(wide.exterior) if isinstance(wide, Polygon) and not wide.is_empty else None


def _corners(coarse: Polygon) -> NDArray[np.float64]:
    """Give the corners, counter-clockwise."""
    return np.array(shapely.geometry.polygon.orient(coarse).exterior.coords)[:-1]


def _side(
    there: NDArray[np.float64], one: NDArray[np.float64], other: NDArray[np.float64], error: float
) -> _Line | None:
    """Give the line of a side, or None where it is too short to be a cut.

    A line below which most points lie: regression of a quantile, by weights renewed (Koenker and
    Bassett, 1978, has the measure; the weights are Schlossmacher's of 1973).
    """
    length = float(np.linalg.norm(other - one))
    if length < _LONG * error:
        return None
    along = (other - one) / length
    outward = np.array([along[1], -along[0]])
    place, height = (there - one) @ along, (there - one) @ outward
    of_it = (place > 0.1 * length) & (place < 0.9 * length) & (np.abs(height) < error)
    if of_it.sum() < 5:
        return one, along
    place, height = place[of_it], height[of_it]
    weight = np.ones(len(place))
    for _ in range(_ROUNDS):
        slope, rise = np.polyfit(place, height, 1, w=np.sqrt(weight))
        left = height - slope * place - rise
        weight = np.where(left > 0, _OUTERMOST, 1 - _OUTERMOST) / np.maximum(np.abs(left), 0.005)
    turned = along + outward * slope
    return one + outward * rise, turned / np.linalg.norm(turned)


def _ring(
    corners: NDArray[np.float64], sides: list[_Line | None], most: float
) -> list[NDArray[np.float64]]:
    """Give the corners anew; short sides between two straight ones were one corner, rounded."""
    straight = [index for index, side in enumerate(sides) if side is not None]
    if len(straight) < 3:
        return list(corners)
    ring = []
    for one, other in zip(straight, [*straight[1:], straight[0] + len(sides)], strict=True):
        between = [corners[index % len(sides)] for index in range(one + 1, other + 1)]
        before, after = sides[one], sides[other % len(sides)]
        assert before is not None and after is not None
        met = _met(before, after)
        near = most if len(between) == 1 else most * _ROUNDED
        if met is not None and max(np.linalg.norm(met - each) for each in between) < near:
            ring.append(met)
        elif len(between) == 1:
            ring += between
        else:
            ring += [_onto(between[0], before), *between[1:-1], _onto(between[-1], after)]
    return ring


def _onto(corner: NDArray[np.float64], line: _Line) -> NDArray[np.float64]:
    return np.asarray(line[0] + line[1] * ((corner - line[0]) @ line[1]))


def _met(before: _Line, after: _Line) -> NDArray[np.float64] | None:
    """Give where two lines meet, unless they run nearly alike."""
    (at, way), (to, turn) = before, after
    sine = way[0] * turn[1] - way[1] * turn[0]
    if abs(sine) < _SHARPEST:
        return None
    gap = to - at
    return np.asarray(at + way * (gap[0] * turn[1] - gap[1] * turn[0]) / sine)
