"""Quilting lines without lifting the needle: what to stitch, in which order, how long it is."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

import networkx as nx
from shapely.geometry import Polygon, box
from shapely.ops import substring

from stash.errors import PlanError
from stash.quilt.finishing import trim
from stash.quilt.open_lines import cross_ways, straight_ways, vine
from stash.quilt.row_by_row import Rim, Way, chain, path_in
from stash.quilt.seams import SeamMap, labels_of
from stash.quilt.straight_route import Trail, straight_trails, turn_rad
from stash.shape.plane.outline import Point, Ring
from stash.shape.templates.curve import Line, Path, Segment
from stash.units import length_words

__all__ = ["GuideLine", "LineStyle", "LineWish", "QuiltingGuide", "quilting_guide", "usual_style"]

_STEP_IN = 0.05  # points along a drawn line
_NEAR_IN = 0.02
_USUAL_IN = 0.25  # common practice, no source
_LEAST_IN = 1 / 16  # nearer, two lines are one
_CUSP = math.radians(150)  # two seams that lead away like this meet in a cusp
_DEEPEST = 1 / 8  # of its length a line bows from its seam at most (judgement)


class LineStyle(StrEnum):
    """What is stitched."""

    ARCS = "arcs"
    PEEL = "peel"
    ECHO = "echo"
    SEAMS = "seams"
    STRAIGHT = "straight"
    CROSSHATCH = "crosshatch"
    VINE = "vine"


@dataclass(frozen=True, slots=True)
class LineWish:
    """What is to be stitched.

    Attributes
    ----------
    style : LineStyle or None
        None takes what is usual for the seams: `usual_style`.
    depth_in : float
        How far inside the seam a line lies, and a vine from the edges of its border; 1/4 is usual
        (common practice, no source).
    apart_in : float
        From line to line of straight lines and crosshatch.
    """

    style: LineStyle | None = None
    depth_in: float = _USUAL_IN
    apart_in: float = 2.0


@dataclass(frozen=True, slots=True)
class GuideLine:
    """A line of the guide, or a row of them sewn in one go: where it begins, and its length."""

    start: Point
    length_in: float


@dataclass(frozen=True, slots=True)
class QuiltingGuide:
    """Lines in stitching order.

    Attributes
    ----------
    style : LineStyle
        What is stitched.
    runs : tuple of tuple of Point
        Each one is stitched without lifting the needle; inches, the top's lower left at 0, 0.
    length_in : float
        Stitched length of all runs.
    repeated_in : float
        Of that, what is stitched twice (the short ways between echo lines).
    edge_in : float
        Of that, what runs along the edge of the top from line to line.
    lines : tuple of GuideLine
        In the order they are sewn: down one side of a row of pieces and back the other.
    crossings : tuple of Point
        Where pieces meet: the register points of a stencil.
    """

    style: LineStyle
    runs: tuple[tuple[Point, ...], ...]
    length_in: float
    repeated_in: float
    edge_in: float
    lines: tuple[GuideLine, ...]
    crossings: tuple[Point, ...]

    @property
    def passes(self) -> int:
        """How often the needle is set down anew."""
        return len(self.runs)


@dataclass(frozen=True, slots=True)
class _Stitch:
    """A line between two nodes of the graph."""

    points: tuple[Point, ...]
    repeated: bool = False


def usual_style(seams: SeamMap) -> LineStyle:
    """Give petals for seams that meet in cusps, as of clamshells, where arcs would turn back."""
    away: dict[int, list[Point]] = defaultdict(list)
    ends = [end for one in seams.seams for end in (one.segment.start, one.segment.end)]
    for number, label in enumerate(labels_of(ends)):
        segment = seams.seams[number // 2].segment
        x, y = segment.direction_at(float(number % 2))
        away[label].append((-x, -y) if number % 2 else (x, y))
    cusps = any(
        turn_rad(one, other) > _CUSP
        for ways in away.values()
        for k, one in enumerate(ways)
        for other in ways[k + 1 :]
    )
    return LineStyle.PEEL if cusps else LineStyle.ARCS


def quilting_guide(
    seams: SeamMap, wish: LineWish | LineStyle | None = None, *, border_in: float = 0.0
) -> QuiltingGuide:
    """Find lines to quilt, and an order row by row with few new starts.

    Parameters
    ----------
    seams : SeamMap
        The edges of the top.
    wish : LineWish or LineStyle
        ``ARCS``: on both sides of every seam an arc from crossing to crossing, ``depth_in``
        inside at its middle (less on short seams and in sharp corners, where it would run into
        its neighbour). ``PEEL``: the same two arcs about the straight line between the crossings,
        so that curved seams too carry even petals. ``ECHO``: a line ``depth_in`` inside all
        edges of every piece, so on both sides of every seam, reached from the crossings.
        ``SEAMS``: along the seams. ``STRAIGHT`` and ``CROSSHATCH``: ``apart_in`` apart over the
        whole top. ``VINE``: along the edge, in the border where there is one.
    border_in : float
        Width of the border round the pieces.

    Raises
    ------
    PlanError
        If there is no seam, no piece is wide enough, or a distance makes no sense.

    Notes
    -----
    Lines go straight on at a crossing and turn back at the edge only, along which the needle then
    goes to the next line: under the binding, or in the border's seam.
    """
    if not isinstance(wish, LineWish):
        wish = LineWish(wish)
    style = wish.style or usual_style(seams)
    _check_depth(seams, style, wish.depth_in)
    rim = Rim(seams.outlines)
    stitches: list[_Stitch] = []
    if style is LineStyle.VINE:
        groups = [[vine(_straight_edge(seams, border_in), border_in, wish.depth_in)]]
    elif style is LineStyle.STRAIGHT:
        groups = [straight_ways(rim.top, wish.apart_in, 0.0)]
    elif style is LineStyle.CROSSHATCH:
        groups = list(cross_ways(rim.top, wish.apart_in))
    else:
        stitches = _stitches(seams, style, wish.depth_in)
        # Rings are reached from the crossings; no way leads along the edge from one to another.
        groups = [_ways(stitches, None if style is LineStyle.ECHO else rim)]
    runs, lines, edge_in = chain(groups, rim)
    return QuiltingGuide(
        style,
        tuple(runs),
        sum(path_in(run) for run in runs),
        sum(path_in(one.points) for one in stitches if one.repeated) / 2,
        edge_in,
        tuple(GuideLine(*one) for one in lines),
        tuple(crossing.point for crossing in seams.crossings),
    )


def _stitches(seams: SeamMap, style: LineStyle, depth_in: float) -> list[_Stitch]:
    if not seams.seams:
        raise PlanError("This top has no seam to quilt along; it is one piece.")
    if style is LineStyle.ECHO:
        return _echo(seams, depth_in)
    if style is LineStyle.SEAMS:
        return [_Stitch(tuple(_along(one.segment))) for one in seams.seams]
    return list(_arcs(seams, depth_in, peel=style is LineStyle.PEEL))


def _straight_edge(seams: SeamMap, border_in: float) -> Polygon:
    """Give the rectangle a vine winds along: the border's outer edge, or one inside the pieces."""
    left, bottom, right, upper = trim([Polygon(one) for one in seams.outlines])
    return box(left - border_in, bottom - border_in, right + border_in, upper + border_in)


def _check_depth(seams: SeamMap, style: LineStyle, depth_in: float) -> None:
    """Refuse a distance that cannot be sewn, and arcs too deep for every seam of the top."""
    if not _LEAST_IN - 1e-9 <= depth_in < 10:
        told = " or ".join(length_words(_LEAST_IN, step=16, unit=u) for u in ("in", "cm"))
        raise PlanError(
            f"Lines {length_words(depth_in, step=64)} inside a seam make no sense: {told} is the "
            "least, and 1/4 in or 0.6 cm is usual."
        )
    if style not in (LineStyle.ARCS, LineStyle.PEEL) or depth_in <= _USUAL_IN or not seams.seams:
        return
    most_in = _DEEPEST * max(one.segment.length_in for one in seams.seams)
    if depth_in > most_in + 1e-9:
        told = " or ".join(
            length_words(max(most_in, _USUAL_IN), step=16, unit=u) for u in ("in", "cm")
        )
        raise PlanError(
            f"Arcs {depth_in:g} in inside the seam are too deep for pieces of this size; {told} "
            "is the most that fits."
        )


def _arcs(seams: SeamMap, depth_in: float, *, peel: bool) -> Iterator[_Stitch]:
    corners = [_corner_angles(path) for path in seams.paths]
    for one in seams.seams:
        ends = (one.segment.start, one.segment.end)
        if peel and not isinstance(one.segment, Line):
            for side in (1, -1):
                yield _Stitch(tuple(_bowed(Line(*ends), side * depth_in, math.pi)))
            continue
        for piece, inwards in ((one.first, 1), (one.second, -1)):
            room = min(_room(corners[piece], end) for end in ends)
            yield _Stitch(tuple(_bowed(one.segment, inwards * depth_in, room)))


def _corner_angles(path: Path) -> list[tuple[Point, float]]:
    """Give the inner angle at each corner of a piece, radians."""
    angles = []
    for k, segment in enumerate(path):
        before, after = path[k - 1].direction_at(1.0), segment.direction_at(0.0)
        turn = math.atan2(
            before[0] * after[1] - before[1] * after[0],
            before[0] * after[0] + before[1] * after[1],
        )
        angles.append((segment.start, math.pi - turn))
    return angles


def _room(corners: Sequence[tuple[Point, float]], end: Point) -> float:
    near = [angle for corner, angle in corners if math.dist(corner, end) < _NEAR_IN]
    return min(near, default=math.pi)


def _bowed(segment: Segment, depth_in: float, room: float) -> list[Point]:
    """Bow a line away from its seam: an arc where the corners leave room, else a slender leaf.

    A positive depth lies to the left of the segment's direction. An arc leaves its chord at
    4 depth / chord radians; two of them must share a corner. A leaf leaves along the seam.
    """
    chord = math.dist(segment.start, segment.end)
    depth_in = math.copysign(min(abs(depth_in), _DEEPEST * segment.length_in), depth_in)
    steps = max(6, math.ceil(segment.length_in / _STEP_IN))
    shares = [k / steps for k in range(steps + 1)]
    arc_fits = 4 * abs(depth_in) / chord < 0.45 * room
    points = []
    for share in shares:
        x, y = segment.point_at(share)
        along = segment.direction_at(share)
        rise = 4 * share * (1 - share) if arc_fits else math.sin(math.pi * share) ** 2
        points.append((x - along[1] * depth_in * rise, y + along[0] * depth_in * rise))
    return points


def _along(segment: Segment) -> list[Point]:
    if isinstance(segment, Line):
        return [segment.start, segment.end]
    steps = max(2, math.ceil(segment.length_in / _STEP_IN))
    return [segment.point_at(k / steps) for k in range(steps + 1)]


def _echo(seams: SeamMap, depth_in: float) -> list[_Stitch]:
    rings = [_inner_ring(outline, depth_in) for outline in seams.outlines]
    if all(ring is None for ring in rings):
        raise PlanError(
            f"No piece is wide enough for a line {depth_in:g} in inside its seams; "
            "take a smaller distance."
        )
    reach: dict[int, list[tuple[Point, Point]]] = defaultdict(list)
    for crossing, pieces in _tree(seams, rings):
        ring = rings[pieces]
        assert ring is not None
        at = ring.exterior.interpolate(ring.exterior.project(_spot(crossing)))
        reach[pieces].append((crossing, (float(at.x), float(at.y))))
    stitches: list[_Stitch] = []
    for piece, ring in enumerate(rings):
        if ring is None:
            continue
        spurs = reach.get(piece, [])
        stitches += [_Stitch(spur, repeated=True) for spur in spurs for _ in (0, 1)]
        stitches += _loop(ring, [at for _, at in spurs])
    return stitches


def _tree(seams: SeamMap, rings: Sequence[Polygon | None]) -> Iterator[tuple[Point, int]]:
    """Join pieces through crossings with as few ways as can be; crossings that end blind go."""
    graph = nx.Graph()
    for at, crossing in enumerate(seams.crossings):
        for piece in crossing.pieces:
            ring = rings[piece]
            if ring is not None:
                apart = float(ring.distance(_spot(crossing.point)))
                fewer = 0.01 / len(crossing.pieces)  # of equal ways, where more pieces meet
                graph.add_edge(("crossing", at), ("piece", piece), weight=apart + fewer)
    tree = nx.minimum_spanning_tree(graph)
    blind = [node for node, degree in tree.degree if node[0] == "crossing" and degree < 2]
    tree.remove_nodes_from(blind)
    for one, other in tree.edges:
        crossing, piece = sorted((one, other))
        yield seams.crossings[crossing[1]].point, piece[1]


def _inner_ring(outline: Ring, depth_in: float) -> Polygon | None:
    inner = Polygon(outline).buffer(-depth_in, join_style="mitre")
    if inner.is_empty:
        return None
    parts = list(inner.geoms) if hasattr(inner, "geoms") else [inner]
    largest = max(parts, key=lambda part: float(part.area))
    return largest if largest.area > 1e-3 else None


def _loop(ring: Polygon, stops: Sequence[Point]) -> list[_Stitch]:
    """Break a closed line at the points where it is reached."""
    border = ring.exterior
    if not stops:
        return [_Stitch(_coords(border.coords))]
    at = sorted({round(float(border.project(_spot(stop))), 6) for stop in stops})
    pieces = []
    for k, low in enumerate(at):
        high = at[k + 1] if k + 1 < len(at) else at[0] + border.length
        coords: list[Sequence[float]] = list(
            substring(border, low, min(high, border.length)).coords
        )
        if high > border.length:
            coords += list(substring(border, 0, high - border.length).coords)[1:]
        pieces.append(_Stitch(_coords(coords)))
    return pieces


def _ways(stitches: Sequence[_Stitch], rim: Rim | None) -> list[Way]:
    """Put stitches together to rows, each sewn in one go."""
    ends = [end for one in stitches for end in (one.points[0], one.points[-1])]
    labels = labels_of(ends, near_in=_NEAR_IN)
    along = rim.along(ends) if rim else [-1.0] * len(ends)
    on_rim = {label for label, at in zip(labels, along, strict=True) if at >= 0}
    away = [way for one in stitches for way in _leading(one.points)]
    return [
        _way(trail, stitches, labels, on_rim) for trail in straight_trails(labels, away, on_rim)
    ]


def _way(trail: Trail, stitches: Sequence[_Stitch], labels: Sequence[int], on_rim: set[int]) -> Way:
    points: list[Point] = []
    entries = []
    for end in trail.ends:
        line = stitches[end // 2].points
        if labels[end] in on_rim or not points:
            entries.append(len(points) - 1 if points else 0)
        line = tuple(reversed(line)) if end % 2 else line
        points += line[1:] if points else line
    if trail.closed:
        on = [entry for entry in entries[1:] if entry]
        first_on = labels[trail.ends[0]] in on_rim
        return Way(tuple(points), tuple([0, *on] if first_on or not on else on), closed=True)
    return Way(tuple(points), (0, len(points) - 1), closed=False)


def _leading(line: Sequence[Point]) -> tuple[Point, Point]:
    """Give which way a line leads away from its beginning, and from its end."""
    (ax, ay), (bx, by) = line[0], line[1]
    (cx, cy), (dx, dy) = line[-1], line[-2]
    return (bx - ax, by - ay), (dx - cx, dy - cy)


def _coords(coords: Iterable[Sequence[float]]) -> tuple[Point, ...]:
    return tuple((float(one[0]), float(one[1])) for one in coords)


def _spot(point: Point) -> object:
    from shapely.geometry import Point as Spot  # the name is taken here

    return Spot(point)
