"""The numbers a page needs to draw a scrap to scale: inches, y down as a screen has it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import shapely

from stash.scrap import Scrap
from stash.shape.plane.outline import Point
from stash.units import CM_PER_INCH, format_inches

__all__ = ["OutlineDrawing", "Tick"]

_MARGIN_IN = 0.6
# Corners worth a handle: those that stay when the outline is simplified by an eighth of an inch.
_HANDLE_IN = 0.125


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark of the ruler, at so many inches; longer ones carry a number."""

    at: float
    text: str


@dataclass(frozen=True)
class OutlineDrawing:
    """A scrap laid out for an SVG whose unit is the inch, origin at the scrap's upper left."""

    scrap: Scrap
    unit: str = "in"

    @property
    def margin(self) -> float:
        """Room round the scrap for the ruler."""
        return _MARGIN_IN

    @property
    def width(self) -> float:
        """Width of the scrap."""
        least_x, _, most_x, _ = self.scrap.outline.bounds
        return most_x - least_x

    @property
    def height(self) -> float:
        """Height of the scrap."""
        _, least_y, _, most_y = self.scrap.outline.bounds
        return most_y - least_y

    @property
    def view_box(self) -> str:
        """What the drawing shows."""
        wide, high = self.width + 1.3 * _MARGIN_IN, self.height + 1.3 * _MARGIN_IN
        return f"{-_MARGIN_IN:.4f} {-0.3 * _MARGIN_IN:.4f} {wide:.4f} {high:.4f}"

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """The outer border."""
        return tuple(self._placed(point) for point in self.scrap.outline.points)

    @property
    def path(self) -> str:
        """The border and the holes as an SVG path."""
        rings = [self.points, *(map(self._placed, hole) for hole in self.scrap.outline.holes)]
        return " ".join("M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in ring) + "Z" for ring in rings)

    @property
    def handles(self) -> list[int]:
        """Which points of the border are corners that a hand would take hold of."""
        ring = shapely.LinearRing(self.scrap.outline.points)
        kept = set(ring.simplify(_HANDLE_IN).coords)
        return [index for index, point in enumerate(self.scrap.outline.points) if point in kept]

    @property
    def origin(self) -> Point:
        """The card-frame inches of the drawing's origin."""
        least_x, _, _, most_y = self.scrap.outline.bounds
        return least_x, most_y

    @property
    def middle(self) -> Point:
        """A place well inside the cloth, for the grain's arrow."""
        inside = self.scrap.outline.polygon.representative_point()
        return self._placed((inside.x, inside.y))

    @property
    def picture_box(self) -> tuple[float, float] | None:
        """Where the picture's upper left corner lies."""
        picture = self.scrap.picture
        return None if picture is None else self._placed((picture.left_in, picture.top_in))

    def ticks(self, length_in: float) -> list[Tick]:
        """Give the ruler's marks: quarters of an inch, or half centimetres."""
        step, whole = (0.25, 4) if self.unit == "in" else (0.5 / CM_PER_INCH, 2)
        count = int(length_in / step + 1e-9)
        return [
            Tick(index * step, str(index // whole) if index % whole == 0 else "")
            for index in range(count + 1)
        ]

    @property
    def alternative(self) -> str:
        """What the drawing shows, in words."""
        unit = "cm" if self.unit == "cm" else "inches"
        wide = format_inches(self.width, unit=self.unit)
        high = format_inches(self.height, unit=self.unit)
        return f"Outline of scrap {self.scrap.number}: {wide} by {high} {unit} at its widest"

    def _placed(self, point: Point) -> Point:
        left, top = self.origin
        return point[0] - left, top - point[1]
