"""The seams of a top: which pieces share which line or arc, and where crossings lie."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.spatial import cKDTree

from stash.quilt.pattern import Pattern, Place
from stash.shape.plane.outline import Point, Ring
from stash.shape.templates.curve import Arc, Line, Path, Segment

__all__ = ["Crossing", "Seam", "SeamMap", "part_of", "placed_path", "seams_of"]

# Two edges are one seam within this; places come from flattened arcs, true to 0.001 in.
_SAME_IN = 0.01
_BENT_DEG = 10.0  # a flatter inner corner needs no turn of the needle (judgement)


@dataclass(frozen=True, slots=True)
class Seam:
    """One straight or curved line that joins two pieces, from crossing to crossing.

    Attributes
    ----------
    first, second : int
        Indices of the pieces in the pattern's places.
    segment : Line or Arc
        As the first piece travels it, counter-clockwise round itself.
    """

    first: int
    second: int
    segment: Segment

    @property
    def bulging(self) -> int | None:
        """The piece whose edge bulges out; None for a straight seam."""
        if isinstance(self.segment, Line):
            return None
        return self.first if self.segment.sweep_deg > 0 else self.second

    @property
    def hollow(self) -> int | None:
        """The piece whose edge is hollow; None for a straight seam."""
        bulging = self.bulging
        if bulging is None:
            return None
        return self.second if bulging == self.first else self.first


@dataclass(frozen=True, slots=True)
class Crossing:
    """A point where pieces meet, and which."""

    point: Point
    pieces: frozenset[int]


@dataclass(frozen=True)
class SeamMap:
    """Every edge of a top, sorted into seams and border.

    Attributes
    ----------
    paths : tuple of Path
        The finished pieces in true lines and arcs, uncut, in the pattern's frame.
    seams : tuple of Seam
        Each once.
    border : tuple of Segment
        The edge of the top; true arcs, or four lines when it is trimmed straight.
    outlines : tuple of Ring
        The pieces as polygons, cut off where a straight edge cuts them.
    """

    paths: tuple[Path, ...]
    seams: tuple[Seam, ...]
    border: tuple[Segment, ...]
    outlines: tuple[Ring, ...]

    @property
    def edge_in(self) -> float:
        """Length of the edge along its curves, inches."""
        return sum(segment.length_in for segment in self.border)

    @property
    def curved_edge(self) -> bool:
        """Whether any of the edge is an arc."""
        return any(isinstance(segment, Arc) for segment in self.border)

    @cached_property
    def inner_corners(self) -> int:
        """How many corners of the edge point into the top."""
        labels = labels_of([one.start for one in self.border] + [one.end for one in self.border])
        count = len(self.border)
        after = {label: self.border[at] for at, label in enumerate(labels[:count])}
        return sum(
            _turn_deg(one, after[label]) < -_BENT_DEG
            for one, label in zip(self.border, labels[count:], strict=True)
            if label in after
        )

    @cached_property
    def crossings(self) -> tuple[Crossing, ...]:
        """Where seams end, with the pieces that meet there."""
        ends = [end for seam in self.seams for end in (seam.segment.start, seam.segment.end)]
        owners = [(seam.first, seam.second) for seam in self.seams for _ in (0, 1)]
        met: dict[int, set[int]] = defaultdict(set)
        for place, pair in zip(labels_of(ends), owners, strict=True):
            met[place].update(pair)
        return tuple(Crossing(ends[at], frozenset(pieces)) for at, pieces in met.items())


def seams_of(pattern: Pattern, finished: Path) -> SeamMap:
    """Match the edges of all pieces of a top.

    Parameters
    ----------
    pattern : Pattern
        The top.
    finished : Path
        The finished outline of its shape in the template's frame, true lines and arcs.
    """
    paths = tuple(placed_path(finished, place) for place in pattern.places)
    parts = _split_all(paths)
    if pattern.straight:
        parts = _inside_box(parts, pattern.width_in, pattern.length_in)
    seams, border = _matched(parts)
    if pattern.straight:
        border = _box_border(pattern.width_in, pattern.length_in)
    outlines = tuple(place.outline for place in pattern.places)
    return SeamMap(paths, tuple(seams), tuple(border), outlines)


def placed_path(finished: Path, place: Place) -> Path:
    """Turn and move a template's path to its place in the top."""
    turn = math.radians(place.turn_deg)
    cos, sin = math.cos(turn), math.sin(turn)

    def put(point: Point) -> Point:
        """Move a point of the shape to its place on the quilt."""
        x, y = point
        return (place.x + x * cos - y * sin, place.y + x * sin + y * cos)

    return tuple(
        Line(put(one.start), put(one.end))
        if isinstance(one, Line)
        else Arc(put(one.centre), one.radius_in, one.start_deg + place.turn_deg, one.sweep_deg)
        for one in finished
    )


def _turn_deg(before: Segment, after: Segment) -> float:
    """Give how far the edge turns between two segments; to the right is negative."""
    (ax, ay), (bx, by) = before.direction_at(1.0), after.direction_at(0.0)
    return math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))


def part_of(segment: Segment, low: float, high: float) -> Segment:
    """Give the part of a segment between two shares of its length."""
    if isinstance(segment, Line):
        return Line(segment.point_at(low), segment.point_at(high))
    sweep = segment.sweep_deg
    return Arc(
        segment.centre, segment.radius_in, segment.start_deg + low * sweep, (high - low) * sweep
    )


def share_at(segment: Segment, point: Point) -> float | None:
    """Give where on a segment a point lies, as a share of its length; None if it does not."""
    if isinstance(segment, Line):
        along = segment.direction_at(0.0)
        x, y = point[0] - segment.start[0], point[1] - segment.start[1]
        share = (x * along[0] + y * along[1]) / segment.length_in
    else:
        centre = segment.centre
        turn = math.degrees(math.atan2(point[1] - centre[1], point[0] - centre[0]))
        off = (turn - segment.start_deg) * math.copysign(1, segment.sweep_deg)
        share = ((off + 90) % 360 - 90) / abs(segment.sweep_deg)
    if not 0 <= share <= 1 or math.dist(segment.point_at(share), point) > _SAME_IN:
        return None
    return share


def labels_of(points: Sequence[Point], *, near_in: float = 2 * _SAME_IN) -> list[int]:
    """Give points that are one the same label: the lowest index among them."""
    if not points:
        return []
    close = cKDTree(np.asarray(points)).query_ball_point(points, near_in)
    return [int(np.min(group)) for group in close]


def _split_all(paths: Sequence[Path]) -> list[tuple[int, Segment]]:
    owned = [(piece, segment) for piece, path in enumerate(paths) for segment in path]
    corners = np.array([segment.start for _, segment in owned])
    tree = cKDTree(corners)
    parts = []
    for piece, segment in owned:
        reach = segment.length_in / 2 + _SAME_IN
        near = tree.query_ball_point(segment.point_at(0.5), reach)
        shares = [share_at(segment, owned[at][1].start) for at in near]
        parts += [(piece, part_of(segment, low, high)) for low, high in _steps(segment, shares)]
    return parts


def _steps(segment: Segment, shares: Sequence[float | None]) -> list[tuple[float, float]]:
    least = 2 * _SAME_IN / segment.length_in
    cuts = [0.0]
    for share in sorted(share for share in shares if share is not None):
        if share - cuts[-1] > least and 1 - share > least:
            cuts.append(share)
    return list(zip(cuts, [*cuts[1:], 1.0], strict=True))


def _matched(parts: Sequence[tuple[int, Segment]]) -> tuple[list[Seam], list[Segment]]:
    middles = [segment.point_at(0.5) for _, segment in parts]
    groups: dict[int, list[int]] = defaultdict(list)
    for at, label in enumerate(labels_of(middles, near_in=_SAME_IN)):
        groups[label].append(at)
    seams, border = [], []
    for members in groups.values():
        owners = {parts[at][0]: at for at in members}
        if len(owners) == 2:
            first, second = sorted(owners)
            seams.append(Seam(first, second, parts[owners[first]][1]))
        else:
            border += [parts[at][1] for at in members]
    return seams, border


def _inside_box(
    parts: Sequence[tuple[int, Segment]], width_in: float, length_in: float
) -> list[tuple[int, Segment]]:
    kept = []
    for piece, segment in parts:
        shares = sorted(_box_shares(segment, width_in, length_in))
        for low, high in zip([0.0, *shares], [*shares, 1.0], strict=True):
            part = part_of(segment, low, high)
            x, y = part.point_at(0.5)
            inside = _SAME_IN < x < width_in - _SAME_IN and _SAME_IN < y < length_in - _SAME_IN
            if part.length_in > _SAME_IN and inside:
                kept.append((piece, part))
    return kept


def _box_shares(segment: Segment, width_in: float, length_in: float) -> list[float]:
    """Find where a segment crosses the straight edge, by bisection between sign changes."""
    found = []
    for axis, level in ((0, 0.0), (0, width_in), (1, 0.0), (1, length_in)):
        steps = [k / 8 for k in range(9)]  # an arc of at most half a circle turns once
        over = [segment.point_at(share)[axis] - level for share in steps]
        found += [step for step, value in zip(steps, over, strict=True) if value == 0]
        for k in range(8):
            if over[k] * over[k + 1] < 0:
                low, high = steps[k], steps[k + 1]
                for _ in range(40):
                    middle = (low + high) / 2
                    value = segment.point_at(middle)[axis] - level
                    low, high = (middle, high) if value * over[k] > 0 else (low, middle)
                found.append((low + high) / 2)
    return found


def _box_border(width_in: float, length_in: float) -> list[Segment]:
    ring = [(0.0, 0.0), (width_in, 0.0), (width_in, length_in), (0.0, length_in)]
    return [Line(corner, ring[(k + 1) % 4]) for k, corner in enumerate(ring)]
