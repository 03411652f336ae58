"""A quilt top as shapes: every piece in its place, its neighbours, the finished size."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from stash.colour.spaces import FloatArray
from stash.quilt.setting import Cell, Frame, Setting
from stash.shape.plane.outline import Ring

__all__ = ["Pattern", "Place", "counts_for_size", "make_pattern"]

_CRUMB = 1e-4  # share of a piece below which a straight edge leaves nothing of it


@dataclass(frozen=True, slots=True)
class Place:
    """A piece's place in the finished top.

    Attributes
    ----------
    row, number : int
        From 1, as written on the chart: rows from the top, pieces from the left.
    x, y, turn_deg : float
        Where the template's origin lies and how the template is turned, counter-clockwise;
        inches, y up, the top's lower left corner at 0, 0.
    outline : Ring
        The finished piece; cut off where a straight edge cuts it.
    whole : bool
        False for a piece that a straight edge cuts.
    """

    row: int
    number: int
    x: float
    y: float
    turn_deg: float
    outline: Ring
    whole: bool

    @property
    def name(self) -> str:
        """Row and piece as sewn and pinned, e.g. ``3.12``."""
        return f"{self.row}.{self.number}"


@dataclass(frozen=True)
class Pattern:
    """A quilt top of one shape.

    Attributes
    ----------
    setting : Setting
        How the shape is set.
    rows, across : int
        As asked; a straight edge may add rows of part pieces at top and bottom.
    straight : bool
        Whether the edge is straight, or left as the pieces make it.
    places : tuple of Place
        All pieces, by row and number.
    """

    setting: Setting
    rows: int
    across: int
    straight: bool
    places: tuple[Place, ...]

    @cached_property
    def polygons(self) -> tuple[Polygon, ...]:
        """The finished pieces for shapely."""
        return tuple(Polygon(place.outline) for place in self.places)

    @cached_property
    def size_in(self) -> tuple[float, float]:
        """Finished width and length, inches, at the widest and longest."""
        bounds = shapely.total_bounds(np.array(self.polygons))
        return (float(bounds[2] - bounds[0]), float(bounds[3] - bounds[1]))

    @property
    def width_in(self) -> float:
        """Finished width, inches."""
        return self.size_in[0]

    @property
    def length_in(self) -> float:
        """Finished length, inches."""
        return self.size_in[1]

    @cached_property
    def centres_in(self) -> FloatArray:
        """Centres of the pieces, shape (n, 2)."""
        points = [polygon.centroid for polygon in self.polygons]
        return np.array([(point.x, point.y) for point in points])

    @cached_property
    def neighbours(self) -> tuple[tuple[int, int], ...]:
        """Pairs of pieces that share a seam, not only a corner."""
        shapes = np.array(self.polygons)
        reach = 1e-3 * float(np.sqrt(np.median(shapely.area(shapes))))
        tree = shapely.STRtree(shapes)
        first, second = tree.query(shapes, predicate="dwithin", distance=reach)
        first, second = first[first < second], second[first < second]
        wide = shapely.buffer(shapes, reach)
        shared = shapely.length(shapely.intersection(shapely.boundary(shapes)[first], wide[second]))
        seam = shared > 20 * reach  # a corner gives about two reaches, three where it is sharp
        return tuple(zip(first[seam].tolist(), second[seam].tolist(), strict=True))

    @cached_property
    def rim(self) -> tuple[int, ...]:
        """Numbers of the pieces that have a side along the edge, not only a corner."""
        shapes = np.array(self.polygons)
        reach = 1e-3 * float(np.sqrt(np.median(shapely.area(shapes))))
        edge = shapely.boundary(shapely.union_all(shapely.buffer(shapes, reach / 2)))
        along = shapely.length(shapely.intersection(shapes, shapely.buffer(edge, 2 * reach)))
        return tuple(np.flatnonzero(along > 40 * reach).tolist())

    @property
    def part_count(self) -> int:
        """Pieces that a straight edge cuts."""
        return sum(not place.whole for place in self.places)

    @property
    def row_numbers(self) -> tuple[int, ...]:
        """The rows on the chart, from the top."""
        return tuple(sorted({place.row for place in self.places}))


def make_pattern(
    finished: Ring, setting: Setting, rows: int, across: int, *, straight: bool = False
) -> Pattern:
    """Lay a finished shape out in rows.

    Parameters
    ----------
    finished : Ring
        The finished outline in the template's own frame, inches, arcs already flattened.
    setting : Setting
        How it is set.
    rows, across : int
        Rows, and whole pieces per row.
    straight : bool
        Whether to fill up or trim to straight edges; settings without a straight edge keep
        the edge the pieces make.

    Raises
    ------
    SettingError
        If the setting does not have these counts.
    """
    upright = _Upright.of(finished, setting.upright)
    setting.check(upright.frame, rows, across)
    straight = straight and setting.window is not None
    frame = upright.frame
    cells = list(setting.cells(frame, rows, across, straight=straight))
    shapes = upright.at_all(cells)
    if straight and setting.window:
        laid = _clipped(cells, shapes, box(*setting.window(frame, rows, across)))
    else:
        laid = [(cell, shape, True) for cell, shape in zip(cells, shapes, strict=True)]
    return Pattern(setting, rows, across, straight, _numbered(laid, upright))


def counts_for_size(
    finished: Ring, setting: Setting, width_in: float, length_in: float, *, straight: bool
) -> tuple[int, int]:
    """Give the fewest rows and pieces per row that make a top at least so wide and long."""
    across = _fewest(
        lambda count: make_pattern(finished, setting, 1, count, straight=straight).width_in,
        width_in,
        setting.group,
    )
    rows = _fewest(
        lambda count: (
            make_pattern(finished, setting, count, setting.group, straight=straight).length_in
        ),
        length_in,
        1,
    )
    return rows, across


def _fewest(measure: Callable[[int], float], wanted_in: float, step: int) -> int:
    """Count up in steps; sizes grow evenly from the second step on."""
    one, two, three = (measure(step * count) for count in (2, 3, 4))
    pitch = (three - one) / 2
    guess = max(1, int((wanted_in - one) / pitch) + 1) if two > one else 1
    while measure(guess * step) + 1e-6 < wanted_in:
        guess += 1
    while guess > 1 and measure((guess - 1) * step) + 1e-6 >= wanted_in:
        guess -= 1
    return guess * step


def _clipped(
    cells: Sequence[Cell], shapes: Sequence[Polygon], limit: Polygon
) -> list[tuple[Cell, Polygon, bool]]:
    """Cut the pieces at a straight edge and leave out those beyond it."""
    laid = []
    shapely.prepare(limit)
    for cell, shape, inside in zip(cells, shapes, shapely.covers(limit, shapes), strict=True):
        part = shape if inside else _largest(shape.intersection(limit))
        if part.area > _CRUMB * shape.area:
            laid.append((cell, part, part.area > (1 - _CRUMB) * shape.area))
    return laid


def _numbered(laid: Sequence[tuple[Cell, Polygon, bool]], upright: _Upright) -> tuple[Place, ...]:
    left, bottom = shapely.total_bounds(np.array([shape for _, shape, _ in laid]))[:2]
    rows = {row: at + 1 for at, row in enumerate(sorted({cell.row for cell, _, _ in laid}))}
    seen: dict[int, int] = {}
    places = []
    for cell, shape, whole in sorted(laid, key=lambda one: (one[0].row, one[0].number)):
        seen[cell.row] = seen.get(cell.row, 0) + 1
        x, y, turn = upright.origin_at(cell)
        corners = shapely.get_coordinates(shape.exterior)[:-1] - (left, bottom)
        ring = tuple((float(px), float(py)) for px, py in corners.tolist())
        places.append(
            Place(rows[cell.row], seen[cell.row], x - left, y - bottom, turn, ring, whole)
        )
    return tuple(places)


@dataclass(frozen=True)
class _Upright:
    """A shape in its upright position, its box centred on 0, 0."""

    shape: Polygon
    origin: tuple[float, float]  # where the template's origin lies
    turn_deg: float  # from the template's own position to upright
    frame: Frame

    @classmethod
    def of(cls, finished: Ring, position: str) -> _Upright:
        """Turn a finished shape upright, as its position says."""
        given = Polygon(finished)
        score = _POSITIONS[position]
        turns = sorted({*range(0, 360, 15), *(22.5 + 45 * step for step in range(8))})
        turned = {turn: rotate(given, turn, origin=(0, 0)) for turn in turns}
        best = max(turns, key=lambda turn: (round(score(turned[turn]), 6), -turn))
        shape = turned[best]
        left, bottom, right, top = shape.bounds
        middle = ((left + right) / 2, (bottom + top) / 2)
        centred = translate(shape, -middle[0], -middle[1])
        return cls(centred, (-middle[0], -middle[1]), float(best), _frame_of(centred))

    def at_all(self, cells: Sequence[Cell]) -> Sequence[Polygon]:
        """Give the shape turned and moved into every cell; few turns, many cells."""
        turned: dict[float, FloatArray] = {}
        rings = []
        for cell in cells:
            if cell.turn_deg not in turned:
                shape = rotate(self.shape, cell.turn_deg, origin=(0, 0))
                turned[cell.turn_deg] = np.asarray(shape.exterior.coords)
            rings.append(turned[cell.turn_deg] + (cell.x, cell.y))
        return list(shapely.polygons(np.array(rings)))

    def origin_at(self, cell: Cell) -> tuple[float, float, float]:
        """Give where the shape's own origin comes to lie in a cell, and its turn, degrees."""
        angle = np.radians(cell.turn_deg)
        x, y = self.origin
        along = float(x * np.cos(angle) - y * np.sin(angle))
        up = float(x * np.sin(angle) + y * np.cos(angle))
        return (cell.x + along, cell.y + up, (self.turn_deg + cell.turn_deg) % 360.0)


def _frame_of(shape: Polygon) -> Frame:
    left, bottom, right, top = shape.bounds
    upper = _flat(shape, top)
    lower = _flat(shape, bottom)
    lean = upper[0] - lower[0] if upper and lower else 0.0
    width_of_top = upper[1] - upper[0] if upper else 0.0
    return Frame(right - left, top - bottom, width_of_top, lean)


def _flat(shape: Polygon, level: float) -> tuple[float, float] | None:
    """Give the horizontal edge at a level, or None when only a point reaches it."""
    points = np.asarray(shape.exterior.coords)
    on = points[np.abs(points[:, 1] - level) < 1e-6 * (1 + abs(level)), 0]
    return (float(on.min()), float(on.max())) if np.ptp(on) > 1e-6 else None


def _width_at_base(shape: Polygon) -> float:
    flat = _flat(shape, shape.bounds[1])
    return flat[1] - flat[0] if flat else 0.0


def _largest(shape: BaseGeometry) -> Polygon:
    """Give the one polygon of a cut shape; flattened arcs may leave crumbs beside it."""
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
    return max(parts, key=lambda part: part.area, default=Polygon())


def _box_area(shape: Polygon) -> float:
    left, bottom, right, top = shape.bounds
    return float((right - left) * (top - bottom))


def _height(shape: Polygon) -> float:
    return float(shape.bounds[3] - shape.bounds[1])


def _corner(shape: Polygon) -> float:
    """Score: the right angle at the lower left of the box."""
    left, bottom, _, _ = shape.bounds
    return -float(shapely.distance(shape, shapely.Point(left, bottom))) - _box_area(shape)


def _lean(shape: Polygon) -> float:
    """Score: a side down, the top to the right."""
    upper, lower = _flat(shape, shape.bounds[3]), _flat(shape, shape.bounds[1])
    return upper[0] - lower[0] if upper and lower else -1e9


def _dome(shape: Polygon) -> float:
    """Score: most of the cloth above the middle, as much to the left as to the right."""
    left, bottom, right, top = shape.bounds
    above = shape.centroid.y - (bottom + top) / 2
    aside = abs(shape.centroid.x - (left + right) / 2)
    return float(above - 10 * aside)


_POSITIONS: dict[str, Callable[[Polygon], float]] = {
    "box": lambda shape: -_box_area(shape),
    "corner": _corner,
    "base": _width_at_base,
    "point": _height,
    "lean": _lean,
    "dome": _dome,
    "wide": lambda shape: -_box_area(shape) - 1e-3 * _height(shape),
}
