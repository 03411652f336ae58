"""The lines of a template as they are drawn: cut and seam, notches, grain, room for its name."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shapely import contains_xy

from stash.drawing.pdf_page import Point, arc_points
from stash.shape.templates.curve import Arc, Line, Path, Segment
from stash.shape.templates.template import Template

__all__ = ["Notch", "TemplateLines", "notches_of", "path_points", "shown_name"]

_CLEAR_IN = 0.1  # a notch ends at least this far from the seam line


@dataclass(frozen=True, slots=True)
class Notch:
    """A snip at a curved edge, from the cut line inwards; it never reaches the seam line."""

    outer: Point
    inner: Point


@dataclass(frozen=True, slots=True)
class TemplateLines:
    """A template's lines with the lower left corner of the cut shape at 0, 0."""

    template: Template
    cut: list[Point]
    seam: list[Point]
    notches: tuple[tuple[Point, Point], ...]
    grain: tuple[Point, Point]
    label: Point
    label_room_in: float
    width_in: float
    height_in: float

    @classmethod
    def of(cls, template: Template, *, turned: bool) -> TemplateLines:
        """Lay out a template, turned a quarter if asked."""

        def turn(point: Point) -> Point:
            """Turn a point by a quarter where the paper wants it."""
            return (-point[1], point[0]) if turned else point

        cut = [turn(point) for point in path_points(template.cut_path)]
        left, bottom = min(x for x, _ in cut), min(y for _, y in cut)
        width = max(x for x, _ in cut) - left
        height = max(y for _, y in cut) - bottom

        def put(point: Point) -> Point:
            """Give a point measured from the drawing's lower left corner, inches."""
            x, y = turn(point)
            return (x - left, y - bottom)

        seam = path_points(template.finished) if template.seam_allowance_in > 0 else []
        middle, reach = _grain_line(template)
        return cls(
            template,
            [(x - left, y - bottom) for x, y in cut],
            [put(point) for point in seam],
            tuple((put(one.outer), put(one.inner)) for one in notches_of(template)),
            (put((middle[0] - reach, middle[1])), put((middle[0] + reach, middle[1]))),
            put(middle),
            2 * reach,
            width,
            height,
        )


def shown_name(template: Template, *, unit: str = "in") -> str:
    """Write a template's name for a heading, its size in the unit chosen.

    Examples
    --------
    >>> from stash.shape.templates.template import make_template
    >>> shown_name(make_template("tumbler", 4.5))
    'Tumbler 4½ in'
    >>> shown_name(make_template("rectangle", "2 x 3"), unit="cm")
    'Rectangle 5.1 × 7.6 cm'
    >>> shown_name(make_template("diamond-60", 4.0))
    'Diamond 60 4 in'
    """
    text = template.said(unit).replace("-", " ")
    return f"{text[:1].upper()}{text[1:]}"


def notches_of(template: Template) -> tuple[Notch, ...]:
    """Place a notch at the middle of each curved edge, and at the quarters of a half circle.

    The quarters are there because the two hollows that meet on a dome are one quarter each.
    A notch is half as deep as the seam allowance, so that it ends well before the seam line.
    """
    allowance_in = template.seam_allowance_in
    depth_in = min(0.5 * allowance_in, allowance_in - _CLEAR_IN)
    if depth_in <= 0:
        return ()
    notches = []
    for segment in template.finished:
        if isinstance(segment, Arc):
            shares = (0.25, 0.5, 0.75) if abs(segment.sweep_deg) > 135 else (0.5,)
            notches += [_notch(segment, share, allowance_in, depth_in) for share in shares]
    return tuple(notches)


def path_points(path: Path | Sequence[Segment]) -> list[Point]:
    """Give points along a path, arcs finer than print shows."""
    points: list[Point] = []
    for segment in path:
        if isinstance(segment, Line):
            points += [segment.start, segment.end]
        else:
            points += arc_points(
                segment.centre, segment.radius_in, segment.start_deg, segment.sweep_deg
            )
    return [
        point for k, point in enumerate(points) if k == 0 or math.dist(point, points[k - 1]) > 1e-9
    ]


def _notch(arc: Arc, share: float, allowance_in: float, depth_in: float) -> Notch:
    (x, y), (along_x, along_y) = arc.point_at(share), arc.direction_at(share)
    out_x, out_y = along_y, -along_x  # outwards of a counter-clockwise path
    inner = allowance_in - depth_in
    return Notch(
        (x + allowance_in * out_x, y + allowance_in * out_y),
        (x + inner * out_x, y + inner * out_y),
    )


def _grain_line(template: Template) -> tuple[Point, float]:
    """Give the middle and half the length of the grain arrow, well inside the finished shape."""
    inside = template.cut_polygon().buffer(-template.seam_allowance_in)
    shape = inside if not inside.is_empty else template.cut_polygon()
    centre = shape.representative_point()
    left, _, right, _ = shape.bounds
    if shape.contains(shape.centroid):
        centre = shape.centroid
    reach = 0.02 * (right - left)
    for share in range(1, 20):
        longer = share / 40 * (right - left)
        ends = [(centre.x - longer, centre.y), (centre.x + longer, centre.y)]
        if not all(contains_xy(shape, *end) for end in ends):
            break
        reach = longer
    return (centre.x, centre.y), 0.8 * min(reach, 2.0)
