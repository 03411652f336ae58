"""Closed paths of straight lines and true arcs: measured, moved outwards, flattened safely."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

from stash.shape.plane.outline import Point, Ring

__all__ = [
    "Arc",
    "Line",
    "Path",
    "Segment",
    "arc_steps",
    "at_quarters",
    "flattened",
    "moved",
    "offset",
    "path_length",
]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight piece of a path, inches."""

    start: Point
    end: Point

    @property
    def length_in(self) -> float:
        """Length along the line, inches."""
        return math.dist(self.start, self.end)

    def point_at(self, share: float) -> Point:
        """Give the point that lies a share (0 to 1) along the line."""
        (x, y), (to_x, to_y) = self.start, self.end
        return (x + (to_x - x) * share, y + (to_y - y) * share)

    def direction_at(self, share: float) -> Point:
        """Give the unit direction of travel; the same everywhere on a line."""
        del share
        length = self.length_in
        return (
            (self.end[0] - self.start[0]) / length,
            (self.end[1] - self.start[1]) / length,
        )


@dataclass(frozen=True, slots=True)
class Arc:
    """A piece of a circle; a positive sweep bulges out of a counter-clockwise path."""

    centre: Point
    radius_in: float
    start_deg: float
    sweep_deg: float

    @property
    def length_in(self) -> float:
        """Length along the arc, inches."""
        return self.radius_in * math.radians(abs(self.sweep_deg))

    @property
    def start(self) -> Point:
        """Where the arc begins."""
        return self.point_at(0.0)

    @property
    def end(self) -> Point:
        """Where the arc ends."""
        return self.point_at(1.0)

    def point_at(self, share: float) -> Point:
        """Give the point that lies a share (0 to 1) along the arc."""
        return _on_circle(self.centre, self.radius_in, self.start_deg + share * self.sweep_deg)

    def direction_at(self, share: float) -> Point:
        """Give the unit direction of travel at a share along the arc."""
        turn = math.radians(self.start_deg + share * self.sweep_deg)
        sign = math.copysign(1.0, self.sweep_deg)
        return (-sign * math.sin(turn), sign * math.cos(turn))


Segment: TypeAlias = Line | Arc
Path: TypeAlias = tuple[Segment, ...]


def path_length(path: Path) -> float:
    """Give the true length round a path, inches."""
    return sum(segment.length_in for segment in path)


def moved(path: Path, dx: float, dy: float) -> Path:
    """Shift a path, inches."""

    def shift(point: Point) -> Point:
        """Move a point."""
        return (point[0] + dx, point[1] + dy)

    return tuple(
        Line(shift(one.start), shift(one.end))
        if isinstance(one, Line)
        else Arc(shift(one.centre), one.radius_in, one.start_deg, one.sweep_deg)
        for one in path
    )


def at_quarters(path: Path) -> Path:
    """Part bulging arcs where they face along x or y, so that tangents give the true width."""
    made: list[Segment] = []
    for segment in path:
        made.extend(_quarters(segment) if isinstance(segment, Arc) else [segment])
    return tuple(made)


def _quarters(arc: Arc) -> list[Arc]:
    if arc.sweep_deg < 0:
        return [arc]
    end_deg = arc.start_deg + arc.sweep_deg
    first, last = math.ceil(arc.start_deg / 90 + 1e-6), math.floor(end_deg / 90 - 1e-6)
    cuts = [90.0 * k for k in range(first, last + 1)]
    turns = [arc.start_deg, *cuts, end_deg]
    return [Arc(arc.centre, arc.radius_in, low, high - low) for low, high in pairwise(turns)]


def arc_steps(path: Path, *, error_in: float, per_quarter: int = 0) -> tuple[int, ...]:
    """Give into how many straight edges each arc goes: 0 for lines.

    As many as the error asks for, and not fewer than some per quarter of a circle.
    """
    return tuple(
        max(_steps(one, error_in), math.ceil(abs(one.sweep_deg) / 90 * per_quarter - 1e-6))
        if isinstance(one, Arc)
        else 0
        for one in path
    )


def flattened(
    path: Path, *, error_in: float, outside: bool, steps: Sequence[int] | None = None
) -> Ring:
    """Turn a counter-clockwise path into a polygon.

    Parameters
    ----------
    path : Path
        Closed, counter-clockwise.
    error_in : float
        How far the polygon may lie from an arc, inches.
    outside : bool
        True: the polygon contains the path (tangents on bulging arcs, chords on hollow ones).
        False: its corners lie on the path.
    steps : sequence of int
        Edges of each arc, see `arc_steps`, in place of what the error asks for.
    """
    ring: list[Point] = []
    before = path[-1]
    for segment, count in zip(path, steps or arc_steps(path, error_in=error_in), strict=True):
        if not (outside and _goes_on(before, segment)):  # tangents meet there in one line
            ring.append(segment.start)
        before = segment
        if isinstance(segment, Arc):
            ring.extend(_arc_points(segment, count, outside and segment.sweep_deg > 0))
    return tuple(ring)


def _goes_on(one: Segment, other: Segment) -> bool:
    """Whether two bulging arcs are neighbouring parts of one circle."""
    return (
        isinstance(one, Arc)
        and isinstance(other, Arc)
        and one.sweep_deg > 0 < other.sweep_deg
        and (one.centre, one.radius_in) == (other.centre, other.radius_in)
        and math.dist(one.end, other.start) < 1e-9
    )


def _steps(arc: Arc, error_in: float) -> int:
    # sagitta r (1 - cos(step / 2)); the tangents overshoot by r (1 / cos(step / 2) - 1)
    half = math.acos(1 / (1 + error_in / arc.radius_in))
    return max(2, math.ceil(math.radians(abs(arc.sweep_deg)) / (2 * half)))


def _arc_points(arc: Arc, steps: int, tangents: bool) -> list[Point]:
    step_deg = arc.sweep_deg / steps
    if not tangents:
        return [arc.point_at(k / steps) for k in range(1, steps)]
    radius_in = arc.radius_in / math.cos(math.radians(step_deg / 2))
    return [
        _on_circle(arc.centre, radius_in, arc.start_deg + (k + 0.5) * step_deg)
        for k in range(steps)
    ]


def offset(path: Path, allowances_in: Sequence[float]) -> Path:
    """Move every segment outwards by its own allowance and meet the neighbours again.

    Straight neighbours meet in a sharp corner, as templates are cut. Where two segments can
    never meet (the tail of a clamshell) both run on straight for the allowance and a straight
    edge closes the gap.

    Raises
    ------
    ValueError
        If a hollow arc is tighter than its allowance.
    """
    wide = [_pushed(one, by) for one, by in zip(path, allowances_in, strict=True)]
    joints = [
        _joint(wide[k - 1], wide[k], path[k].start, allowances_in[k]) for k in range(len(path))
    ]
    made: list[Segment] = []
    for k, segment in enumerate(wide):
        made.append(_trimmed(segment, joints[k][-1], joints[(k + 1) % len(wide)][0]))
        corner = joints[(k + 1) % len(wide)]
        made.extend(
            Line(corner[i], corner[i + 1])
            for i in range(len(corner) - 1)
            if math.dist(corner[i], corner[i + 1]) > 1e-9
        )
    return tuple(made)


def _pushed(segment: Segment, by: float) -> Segment:
    if isinstance(segment, Line):
        along = segment.direction_at(0.0)
        dx, dy = along[1] * by, -along[0] * by
        (x, y), (to_x, to_y) = segment.start, segment.end
        return Line((x + dx, y + dy), (to_x + dx, to_y + dy))
    radius_in = segment.radius_in + math.copysign(by, segment.sweep_deg)
    if radius_in <= 1e-6:
        raise ValueError(f"a hollow arc of radius {segment.radius_in} cannot move out by {by}")
    return Arc(segment.centre, radius_in, segment.start_deg, segment.sweep_deg)


def _joint(before: Segment, after: Segment, near: Point, allowance_in: float) -> tuple[Point, ...]:
    if math.dist(before.end, after.start) < 1e-9:
        return (after.start,)
    met = _meetings(before, after)
    if met:
        return (min(met, key=lambda point: math.dist(point, near)),)
    out, back = before.direction_at(1.0), after.direction_at(0.0)
    return (
        before.end,
        (before.end[0] + out[0] * allowance_in, before.end[1] + out[1] * allowance_in),
        (after.start[0] - back[0] * allowance_in, after.start[1] - back[1] * allowance_in),
        after.start,
    )


def _meetings(one: Segment, other: Segment) -> list[Point]:
    if isinstance(one, Line) and isinstance(other, Line):
        (ax, ay), (bx, by) = one.direction_at(0), other.direction_at(0)
        cross = ax * by - ay * bx
        if abs(cross) < 1e-12:
            return []
        dx, dy = other.start[0] - one.start[0], other.start[1] - one.start[1]
        along = (dx * by - dy * bx) / cross
        return [(one.start[0] + along * ax, one.start[1] + along * ay)]
    if isinstance(one, Arc) and isinstance(other, Arc):
        return _circles_meet(one, other)
    return _line_meets(one, other) if isinstance(one, Line) else _line_meets(other, one)


def _circles_meet(one: Arc, other: Arc) -> list[Point]:
    (x, y), apart = one.centre, math.dist(one.centre, other.centre)
    if apart < 1e-12:
        return []
    along = (apart**2 + one.radius_in**2 - other.radius_in**2) / (2 * apart)
    aside2 = one.radius_in**2 - along**2
    if aside2 < 0:
        return []
    ux, uy = (other.centre[0] - x) / apart, (other.centre[1] - y) / apart
    aside = math.sqrt(aside2)
    return [
        (x + along * ux - side * aside * uy, y + along * uy + side * aside * ux) for side in (1, -1)
    ]


def _line_meets(line: Segment, arc: Segment) -> list[Point]:
    assert isinstance(line, Line)
    assert isinstance(arc, Arc)
    ux, uy = line.direction_at(0)
    dx, dy = line.start[0] - arc.centre[0], line.start[1] - arc.centre[1]
    middle = -(dx * ux + dy * uy)
    reach2 = arc.radius_in**2 - (dx * uy - dy * ux) ** 2
    if reach2 < 0:
        return []
    reach = math.sqrt(reach2)
    return [
        (line.start[0] + t * ux, line.start[1] + t * uy) for t in (middle - reach, middle + reach)
    ]


def _trimmed(segment: Segment, start: Point, end: Point) -> Segment:
    if isinstance(segment, Line):
        return Line(start, end)
    (x, y) = segment.centre
    from_deg = math.degrees(math.atan2(start[1] - y, start[0] - x))
    to_deg = math.degrees(math.atan2(end[1] - y, end[0] - x))
    sweep = to_deg - from_deg
    sweep += 360 * round((segment.sweep_deg - sweep) / 360)
    return Arc(segment.centre, segment.radius_in, from_deg, sweep)


def _on_circle(centre: Point, radius_in: float, turn_deg: float) -> Point:
    turn = math.radians(turn_deg)
    return (centre[0] + radius_in * math.cos(turn), centre[1] + radius_in * math.sin(turn))
