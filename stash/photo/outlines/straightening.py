"""From a chain of measured edge points to an outline: straight where cloth was cut straight.

A straight edge is fitted as one line to all its points, which averages their noise away, and
corners are where two such lines meet; curves keep their points.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, median_filter

from stash.colour.spaces import FloatArray

__all__ = ["Blemishes", "straighten"]

_OFF_LINE_IN = 0.014  # points further off a line do not belong to it
_JAGGED_LONG_IN, _JAGGED_IN = 0.8, 0.045  # an edge this long may be this jagged
_STRAIGHT_IN = 0.15  # least length of an edge that is fitted as a line
_BENT_IN = 0.5  # a point further from the chord than any blemish leads astray: no line is tried
_CORNER_REACH_IN = 0.3  # how far a corner may lie beyond the last point seen


@dataclass(frozen=True, slots=True)
class Blemishes:
    """What may hide an edge that was cut straight.

    Attributes
    ----------
    long_in : float
        How much of an edge a thread, a pin or a grid line hides at most.
    area_sq_in : float
        Its length times how far it leads astray, at most; more is a notch or a tip.
    end_in : float
        How much of an edge's end a corner's rounding hides at most.
    astray_in : float
        How far that rounding leads off the edge's line at most.
    """

    long_in: float = 0.3
    area_sq_in: float = 0.012
    end_in: float = 0.09
    astray_in: float = 0.09


_ANY = Blemishes()


@dataclass(frozen=True, slots=True)
class _Allowed:
    """How far points may lie off a line (inches), and what may hide it."""

    tolerance: float
    blemishes: Blemishes


@dataclass(frozen=True)
class _Piece:
    """Points between two bends; a line through them if they lie on one."""

    points: FloatArray
    middle: FloatArray
    way: FloatArray
    straight: bool


def straighten(points: FloatArray, blemishes: Blemishes = _ANY) -> FloatArray:
    """Turn edge points into an outline, a ring of corners and points of curves, inches.

    Parameters
    ----------
    points : float64, shape (n, 2)
        Points along a closed edge, in order, inches.
    blemishes : Blemishes
        What to overlook.
    """
    noise = _noise(points)
    tolerance = float(np.clip(3 * noise, _OFF_LINE_IN, 2 * _OFF_LINE_IN))
    allowed = _Allowed(tolerance, blemishes)
    calm = median_filter(points, size=(5, 1), mode="wrap")
    pieces = _joined(_split(points, calm, allowed), allowed)
    if len(pieces) < 3 and all(piece.straight for piece in pieces):
        return points
    corners = [
        _meet(piece, pieces[(index + 1) % len(pieces)]) for index, piece in enumerate(pieces)
    ]
    ring: list[FloatArray] = []
    for piece, corner in zip(pieces, corners, strict=True):
        if not piece.straight:
            ring.extend(_curve(piece))
        ring.extend(corner)
    return np.array(ring)


def _noise(points: FloatArray) -> float:
    """Scatter of single points about their neighbours' mean, robustly."""
    around = (np.roll(points, 1, axis=0) + np.roll(points, -1, axis=0)) / 2
    off = np.hypot(*(points - around).T)
    return float(np.median(off)) / 1.44  # median of a 2-D normal is 1.18 s; s grows by sqrt(1.5)


def _split(points: FloatArray, calm: FloatArray, allowed: _Allowed) -> list[_Piece]:
    """Split the ring until every piece lies on a line or is too short to tell."""
    first = int(np.argmax(np.hypot(*(calm - calm.mean(axis=0)).T)))
    points, calm = np.roll(points, -first, axis=0), np.roll(calm, -first, axis=0)
    points, calm = np.vstack([points, points[:1]]), np.vstack([calm, calm[:1]])
    far = int(np.argmax(np.hypot(*(calm - calm[0]).T)))
    pieces: list[_Piece] = []
    waiting = [(far, len(points) - 1), (0, far)]
    while waiting:
        low, high = waiting.pop()
        piece = _piece(points[low : high + 1], allowed)
        if piece.straight or high - low < 4:
            pieces.append(piece)
            continue
        cut = _furthest(calm[low : high + 1]) + low
        waiting += [(cut, high), (low, cut)]
    return pieces


def _furthest(chain: FloatArray) -> int:
    """Index of the point furthest from the chord, never an end."""
    return int(np.argmax(_off_chord(chain)[1:-1])) + 1


def _off_chord(chain: FloatArray) -> FloatArray:
    """Distance (n,) of the points from the line through both ends."""
    chord = chain[-1] - chain[0]
    x, y = (chain - chain[0]).T
    length = math.hypot(*chord)
    if length < 1e-9:
        return np.asarray(np.hypot(x, y))
    return np.asarray(np.abs(x * chord[1] - y * chord[0]) / length)


def _piece(points: FloatArray, allowed: _Allowed) -> _Piece:
    """Fit a line robustly and say whether the points, a few blemishes apart, lie on it.

    A long edge may scatter more: checks and frays make it jagged, but it was cut straight.
    """
    length = float(np.hypot(*(points[-1] - points[0])))
    if length >= _STRAIGHT_IN and _off_chord(points).max() > _BENT_IN:
        return _Piece(points, points[0], points[-1] - points[0], straight=False)
    strict = _line(points, length, allowed)
    if strict.straight or length < _JAGGED_LONG_IN:
        return strict
    loose = _line(points, length, replace(allowed, tolerance=_JAGGED_IN))
    off = np.abs((points - loose.middle) @ np.array([-loose.way[1], loose.way[0]]))
    on_line = float(np.mean(off <= allowed.tolerance))
    jagged_all_along = on_line < 0.75  # else it is a small real corner
    return loose if loose.straight and jagged_all_along else strict


def _line(points: FloatArray, length: float, allowed: _Allowed) -> _Piece:
    tolerance = allowed.tolerance
    trim = min(len(points) // 5, 2)
    inner = points[trim : len(points) - trim] if trim else points
    if length < _STRAIGHT_IN or _leaves_its_chord(inner, allowed):
        return _Piece(points, points[0], points[-1] - points[0], straight=False)
    middle, way = _robust_line(inner, tolerance)
    if way @ (points[-1] - points[0]) < 0:
        way = -way
    off = (inner - middle) @ np.array([-way[1], way[0]])
    on_line = np.abs(off) <= tolerance
    straight = (
        on_line.sum() >= _least_on_line(inner)
        and _covered(
            (points - middle) @ way, (inner - middle) @ way, off, on_line, allowed.blemishes
        )
        and not _bowed(off[on_line], min(tolerance, 0.025))
    )
    return _Piece(points, middle, way, bool(straight))


def _least_on_line(inner: FloatArray) -> float:
    return max(4, 0.6 * len(inner))


def _leaves_its_chord(inner: FloatArray, allowed: _Allowed) -> bool:
    """Whether no line can be found, seen without fitting one: most points lie too far aside.

    A line that is seen from end to end passes both ends within ``near``; between them it keeps
    as close to their chord, which it crosses at an angle whose sine is at most ``slant``.
    """
    near = max(allowed.tolerance, allowed.blemishes.astray_in)
    chord = inner[-1] - inner[0]
    length = math.hypot(*chord)
    slant = 2 * near / max(length, 1e-9)
    if slant >= 1:
        return False
    along = (inner - inner[0]) @ chord
    least_off = _off_chord(inner) * math.sqrt(1 - slant * slant) - near
    aside = (least_off > allowed.tolerance) & (along > 0) & (along < length * length)
    return bool(np.count_nonzero(aside) > len(inner) - _least_on_line(inner))


def _covered(
    ends: FloatArray,
    along: FloatArray,
    off: FloatArray,
    on_line: NDArray[np.bool_],
    most: Blemishes,
) -> bool:
    """Whether the line is seen from end to end, but for a few small blemishes."""
    seen = along[on_line]
    if max(seen.min() - ends.min(), ends.max() - seen.max()) > most.end_in:
        return False
    if len(seen) == len(off):
        return True
    hidden = 0.0
    places = np.flatnonzero(on_line)
    off = np.abs(off)
    for tail in (off[: places[0]], off[places[-1] + 1 :]):
        if tail.max(initial=0.0) > most.astray_in:
            return False
    for gap in np.flatnonzero(np.diff(places) > 1):
        before, after = places[gap], places[gap + 1]
        wide = abs(float(along[after] - along[before]))
        high = float(off[before + 1 : after].max())
        if wide > most.long_in or high > most.long_in or wide * high > most.area_sq_in:
            return False
        hidden += wide
    return bool(hidden < 0.35 * (seen.max() - seen.min()))


def _robust_line(points: FloatArray, tolerance: float) -> tuple[FloatArray, FloatArray]:
    """Weighted total least squares; what lies off loses its weight (Tukey's biweight)."""
    start = points[0]
    x, y = from_start = np.ascontiguousarray((points - start).T)
    moments = np.stack([np.ones(len(x)), x, y, x * x, x * y, y * y])
    weights = moments[0]
    for turn in range(6):
        total, *sums = (moments @ weights).tolist()
        mean_x, mean_y, xx, xy, yy = (one / total for one in sums)
        xx, xy, yy = xx - mean_x * mean_x, xy - mean_x * mean_y, yy - mean_y * mean_y
        angle = 0.5 * math.atan2(2 * xy, xx - yy)  # main axis of a 2 x 2 scatter matrix
        cos, sin = math.cos(angle), math.sin(angle)
        off = np.abs(np.array([-sin, cos]) @ from_start - (mean_y * cos - mean_x * sin))
        middle_off = float(np.partition(off, len(off) // 2)[len(off) // 2])
        limit = max(tolerance, 2.5 * middle_off / (1 + 0.3 * turn))
        weights = np.square(np.maximum(1 - np.square(off / limit), 1e-3))
        if turn and middle_off * 4 < tolerance and off.max() < tolerance:
            break
    return start + np.array([mean_x, mean_y]), np.array([cos, sin])


def _bowed(off: FloatArray, tolerance: float) -> bool:
    """Whether the middle lies off to one side of both ends: a gentle curve, not a line."""
    third = len(off) // 3
    if third < 2:
        return False
    ends = (_median(off[:third]) + _median(off[-third:])) / 2
    return abs(_median(off[third:-third]) - ends) > 0.6 * tolerance


def _median(values: FloatArray) -> float:
    """Give the median of a few numbers, ten times faster than the general one."""
    ordered = np.sort(values)
    return float(ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2


def _joined(pieces: list[_Piece], allowed: _Allowed) -> list[_Piece]:
    """Join neighbours that lie on one line, blemishes between them included."""
    index, rounds = 0, 0
    while len(pieces) > 3 and index < len(pieces) and rounds < 2000:
        rounds += 1
        for reach in (2, 3, 4):  # a blemish leaves one or two short pieces between long ones
            if reach >= len(pieces):
                break
            spots = [(index + step) % len(pieces) for step in range(reach)]
            if not any(pieces[spot].straight for spot in spots):
                continue
            chain = [pieces[spots[0]].points, *(pieces[spot].points[1:] for spot in spots[1:])]
            both = _piece(np.vstack(chain), allowed)
            if both.straight:
                pieces = [piece for at, piece in enumerate(pieces) if at not in spots[1:]]
                index = index - sum(spot < index for spot in spots[1:])
                pieces[index] = both
                break
        else:
            index += 1
            continue
        if reach >= len(pieces):
            index += 1
    return pieces


def _meet(first: _Piece, second: _Piece) -> list[FloatArray]:
    """The corner between two pieces."""
    seen = first.points[-1]
    here, there = _onto(first, seen), _onto(second, seen)
    if not (first.straight and second.straight):
        return [here if first.straight else there]
    cross = first.way[0] * second.way[1] - first.way[1] * second.way[0]
    if abs(cross) < 0.08:  # nearly parallel: where they meet says nothing
        return [(here + there) / 2]
    gap = second.middle - first.middle
    along = (gap[0] * second.way[1] - gap[1] * second.way[0]) / cross
    corner = first.middle + along * first.way
    return [corner] if np.hypot(*(corner - seen)) < _CORNER_REACH_IN else [here, there]


def _onto(piece: _Piece, point: FloatArray) -> FloatArray:
    if not piece.straight:
        return point
    return np.asarray(piece.middle + (point - piece.middle) @ piece.way * piece.way)


def _curve(piece: _Piece) -> list[FloatArray]:
    """Points of a curve, smoothed along it and thinned; its ends are corners already."""
    if len(piece.points) <= 3:
        return []
    smooth = gaussian_filter1d(piece.points, 1.0, axis=0, mode="nearest")[1:-1]
    return list(smooth)
