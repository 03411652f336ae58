"""The outline of a scrap: a polygon in inches that knows its own error."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.validation import explain_validity

from stash.errors import MeasureError
from stash.shape.plane.straight_edges import straight_edges

__all__ = ["Outline", "Point", "Ring", "outline_of"]

Point: TypeAlias = tuple[float, float]
Ring: TypeAlias = tuple[Point, ...]

_NOUGHT_IN = 1e-12


@dataclass(frozen=True)
class Outline:
    """A measured shape, inches.

    Attributes
    ----------
    points : Ring
        The outer border, counter-clockwise (y up), last point not repeated.
    holes : tuple of Ring
        Holes and masked stains, clockwise.
    error_in : float
        The true border lies within this distance of the measured one.
    """

    points: Ring
    holes: tuple[Ring, ...] = ()
    error_in: float = 0.0

    @cached_property
    def polygon(self) -> Polygon:
        """The same shape for shapely."""
        return Polygon(np.array(self.points), [np.array(hole) for hole in self.holes])

    @property
    def area_sq_in(self) -> float:
        """Area, square inches, holes taken out."""
        return float(self.polygon.area)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y, inches."""
        least_x, least_y, most_x, most_y = self.polygon.bounds
        return (least_x, least_y, most_x, most_y)

    def longest_edge_deg(self) -> float:
        """Direction of the longest straight edge, degrees 0..180 counter-clockwise from x.

        Likely the grain or the selvage: leftovers keep a cut or torn edge along the thread.
        """
        start, end = next(straight_edges(np.array(self.points), self.error_in))
        dx, dy = (end - start).tolist()
        return math.degrees(math.atan2(dy, dx)) % 180.0

    def least_box_in(self) -> tuple[float, float]:
        """Short and long side, inches, of the least box around the shape, turned as it may be."""
        corners = shapely.get_coordinates(shapely.oriented_envelope(self.polygon))
        sides = sorted(math.dist(corners[index], corners[index + 1]) for index in (0, 1))
        return sides[0], sides[1]

    def sure(self) -> Polygon | MultiPolygon:
        """The part of the shape that is cloth even if the border is off by its whole error."""
        return self.polygon.buffer(-self.error_in, join_style="mitre")


def outline_of(
    points: Iterable[Sequence[float]],
    holes: Iterable[Iterable[Sequence[float]]] = (),
    *,
    error_in: float = 0.0,
) -> Outline:
    """Make an outline from rings in any direction, or say why they are no shape.

    Raises
    ------
    MeasureError
        If a ring has fewer than three points, crosses itself, holds a number that is not
        finite, or encloses nothing.

    Examples
    --------
    >>> outline_of([(0, 0), (0, 2), (2, 2), (2, 0)]).points[1]
    (2.0, 0.0)
    """
    outer, inner = _ring(points), tuple(_ring(hole) for hole in holes)
    if not error_in >= 0 or error_in == float("inf"):
        raise MeasureError(f"An outline error of {error_in} in makes no sense; give 0 or more.")
    polygon = Polygon(outer, inner)
    if not polygon.is_valid:
        raise MeasureError(_fault(Polygon(outer), polygon))
    if polygon.area <= 0:
        raise MeasureError("This outline encloses no cloth. Give three corners or more.")
    turned = shapely.geometry.polygon.orient(polygon)
    return Outline(
        _points(turned.exterior.coords),
        tuple(_points(ring.coords) for ring in turned.interiors),
        float(error_in),
    )


def _fault(border: Polygon, whole: Polygon) -> str:
    """Say what is wrong with a shape, and near which point."""
    wrong = whole if border.is_valid else border
    place = explain_validity(wrong).partition("[")[2].rstrip("]").replace(" ", ", ")
    if border.is_valid:
        return (
            f"A hole crosses the border or another hole, or lies outside, near ({place})."
            " Give each hole apart, inside the border."
        )
    return (
        f"This outline is not one plain shape: it crosses or touches itself near ({place})."
        " Give its corners in order, once round."
    )


def _plain_number(value: float) -> float:
    # So near nought that its square is none, a number makes slits no geometry can measure.
    number = float(value)
    return 0.0 if abs(number) < _NOUGHT_IN else number


def _ring(points: Iterable[Sequence[float]]) -> list[Point]:
    ring = [(_plain_number(x), _plain_number(y)) for x, y in points]
    if len(ring) > 1 and ring[0] == ring[-1]:
        ring.pop()
    if any(abs(value) > 1e6 or value != value for point in ring for value in point):  # noqa: PLR0124
        raise MeasureError("An outline holds a number that is no length; give inches.")
    corners = len(set(ring))
    if corners < 3:
        raise MeasureError(f"An outline needs three corners or more, this one has {corners}.")
    return ring


def _points(coords: Iterable[Sequence[float]]) -> Ring:
    ring = tuple((float(x), float(y)) for x, y in coords)
    return ring[:-1]
