"""Quilting lines without lifting the needle: what to stitch, in which order, how long it is."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

import networkx as nx
from shapely.geometry import Polygon
from shapely.ops import substring

from stash.errors import PlanError
from stash.quilt.seams import SeamMap, labels_of
from stash.quilt.straight_route import straight_circuit
from stash.shape.plane.outline import Point, Ring
from stash.shape.templates.curve import Line, Path, Segment
from stash.units import length_words

__all__ = ["LineStyle", "QuiltingGuide", "quilting_guide"]

_STEP_IN = 0.05  # points along a drawn line
_NEAR_IN = 0.02
_USUAL_IN = 0.25  # common practice, no source
_DEEPEST = 1 / 8  # of its length a line bows from its seam at most (judgement)


class LineStyle(StrEnum):
    """What is stitched."""

    ARCS = "arcs"
    PEEL = "peel"
    ECHO = "echo"
    SEAMS = "seams"


@dataclass(frozen=True, slots=True)
class QuiltingGuide:
    """Lines in stitching order.

    Attributes
    ----------
    style : LineStyle
        Arcs from crossing to crossing, echo lines inside every piece, or along the seams.
    runs : tuple of tuple of Point
        Each one is stitched without lifting the needle; inches, the top's lower left at 0, 0.
    length_in : float
        Stitched length of all runs.
    repeated_in : float
        Of that, what is stitched twice (the short ways between echo lines).
    crossings : tuple of Point
        Where pieces meet: the register points of a stencil.
    """

    style: LineStyle
    runs: tuple[tuple[Point, ...], ...]
    length_in: float
    repeated_in: float
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


def quilting_guide(
    seams: SeamMap, style: LineStyle = LineStyle.ARCS, *, depth_in: float = 0.25
) -> QuiltingGuide:
    """Find lines that pass through the crossings, and an order with few new starts.

    Parameters
    ----------
    seams : SeamMap
        The edges of the top.
    style : LineStyle
        ``ARCS``: on both sides of every seam an arc from crossing to crossing, ``depth_in``
        inside at its middle (less on short seams and in sharp corners, where it would run into
        its neighbour). ``PEEL``: the same two arcs about the straight line between the crossings,
        so that curved seams too carry even petals. ``ECHO``: a line ``depth_in`` inside all
        edges of every piece, reached from the crossings. ``SEAMS``: along the seams.
    depth_in : float
        How far inside the seam, inches; 1/4 is usual (common practice, no source).

    Raises
    ------
    PlanError
        If there is no seam, or no piece is wide enough for an echo line.

    Notes
    -----
    An Euler circuit exists where an even number of lines meets at every point, which two arcs
    a seam ensure; where it does not (along the seams), pairs of odd points each cost one new
    start.
    """
    if not 0 < depth_in < 10:
        raise PlanError(f"Lines {depth_in:g} in inside a seam make no sense; 1/4 in is usual.")
    _check_depth(seams, style, depth_in)
    if not seams.seams:
        raise PlanError("This top has no seam to quilt along; it is one piece.")
    if style is LineStyle.ECHO:
        stitches = _echo(seams, depth_in)
    elif style is LineStyle.SEAMS:
        stitches = [_Stitch(tuple(_along(one.segment))) for one in seams.seams]
    else:
        stitches = list(_arcs(seams, depth_in, peel=style is LineStyle.PEEL))
    runs = tuple(tuple(run) for run in _runs(stitches))
    return QuiltingGuide(
        style,
        runs,
        sum(_length(run) for run in runs),
        sum(_length(one.points) for one in stitches if one.repeated) / 2,
        tuple(crossing.point for crossing in seams.crossings),
    )


def _check_depth(seams: SeamMap, style: LineStyle, depth_in: float) -> None:
    """Refuse arcs so deep that no seam of the top is long enough for them."""
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


def _runs(stitches: Sequence[_Stitch]) -> Iterator[list[Point]]:
    """Order stitches into runs by Euler circuits, one new start for each pair of odd points."""
    ends = [end for one in stitches for end in (one.points[0], one.points[-1])]
    labels = labels_of(ends, near_in=_NEAR_IN)
    graph = nx.MultiGraph()
    for key, one in enumerate(stitches):
        graph.add_edge(labels[2 * key], labels[2 * key + 1], key=key, points=one.points)
    for nodes in sorted(nx.connected_components(graph), key=min):
        part = nx.MultiGraph(graph.subgraph(nodes))
        for jump in _jumps(part, ends):
            part.add_edge(*jump, key=-1 - len(part.edges), points=None)
        yield from _walk(part, _first_node(part, ends), ends)


def _jumps(graph: nx.MultiGraph, ends: Sequence[Point]) -> list[tuple[int, int]]:
    odd = sorted((node for node, degree in graph.degree if degree % 2), key=lambda node: ends[node])
    jumps = []
    while odd:
        one = odd.pop(0)
        other = min(odd, key=lambda node: math.dist(ends[one], ends[node]))
        odd.remove(other)
        jumps.append((one, other))
    return jumps


def _first_node(graph: nx.MultiGraph, ends: Sequence[Point]) -> int:
    """Begin at the lower left, or behind a jump if there is one, so that it costs no start."""
    jumping = [one for one, _, points in graph.edges(data="points") if points is None]
    return int(min(jumping or graph.nodes, key=lambda node: sum(ends[node])))


def _walk(graph: nx.MultiGraph, first: int, ends: Sequence[Point]) -> Iterator[list[Point]]:
    run: list[Point] = []
    runs: list[list[Point]] = []
    lines = [points for _, _, points in graph.edges(data="points")]
    nodes = [node for edge in graph.edges() for node in edge]
    away = [way for k, line in enumerate(lines) for way in _ways(line, ends[nodes[2 * k]])]
    for end in straight_circuit(nodes, away, first):
        points = lines[end // 2]
        if points is None:
            runs.append(run)
            run = []
            continue
        line = _from_here(points, ends[nodes[end]])
        run.extend(line[1:] if run else line)
    runs.append(run)
    runs = [one for one in runs if one]
    if None in lines and len(runs) > 1 and math.dist(runs[-1][-1], runs[0][0]) < _NEAR_IN:
        runs[0] = runs.pop() + runs[0][1:]  # the circuit began in the middle of a run
    yield from runs


def _ways(line: Sequence[Point] | None, start: Point) -> tuple[Point | None, Point | None]:
    """Give which way a line leads from the end that lies at a point, and from its other end."""
    if line is None:
        return None, None
    (ax, ay), (bx, by) = line[0], line[1]
    (cx, cy), (dx, dy) = line[-1], line[-2]
    one, other = (bx - ax, by - ay), (dx - cx, dy - cy)
    near = math.dist(line[0], start) <= math.dist(line[-1], start)
    return (one, other) if near else (other, one)


def _from_here(points: Sequence[Point], here: Point) -> Sequence[Point]:
    """Turn a line round if it ends where the needle is."""
    if math.dist(here, points[0]) <= math.dist(here, points[-1]):
        return points
    return list(reversed(points))


def _length(points: Sequence[Point]) -> float:
    return sum(math.dist(points[k], points[k + 1]) for k in range(len(points) - 1))


def _coords(coords: Iterable[Sequence[float]]) -> tuple[Point, ...]:
    return tuple((float(one[0]), float(one[1])) for one in coords)


def _spot(point: Point) -> object:
    from shapely.geometry import Point as Spot  # the name is taken here

    return Spot(point)
