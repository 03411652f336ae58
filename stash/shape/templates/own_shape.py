"""A quilter's own shape from a file: a list of corners, or the one closed path of a drawing."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from xml.etree import ElementTree

from shapely.geometry import Polygon
from shapely.geometry.polygon import orient
from shapely.validation import explain_validity

from stash.errors import TemplateError
from stash.shape.plane.outline import Point, Ring

__all__ = ["OwnShape", "read_own_shape"]

_PX_PER_IN = 96.0  # CSS pixels, SVG 1.1 and 2
_CURVE_ERROR_IN = 0.0005
_MOST_CORNERS = 20_000
_UNITS = {
    "": 1 / 96,
    "px": 1 / 96,
    "in": 1.0,
    "cm": 1 / 2.54,
    "mm": 1 / 25.4,
    "pt": 1 / 72,
    "pc": 1 / 6,
}
_TOKEN = re.compile(
    r"([MmLlHhVvCcSsQqTtAaZz])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)|([\s,]+)|(.)"
)
_NUMBER = r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)"
_SPACED = r"(?:\s+|\s*,\s*)"
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


@dataclass(frozen=True, slots=True)
class OwnShape:
    """A ring that contains the drawn shape, and by how much at most."""

    ring: Ring
    error_in: float


def read_own_shape(data: bytes, suffix: str) -> OwnShape:
    """Read ``{"cut": [[x, y], ...]}`` or an SVG drawing of one closed path.

    The drawing's y axis points down, ours up, so the shape is mirrored to lie as drawn; its
    origin stays the drawing's 0, 0. Sizes follow the drawing's width and viewBox, else 96 to
    the inch.

    Raises
    ------
    TemplateError
        If the file is not one plain shape; the message says what is wrong with it.
    """
    kind = suffix.lower().lstrip(".")
    if kind == "json":
        return OwnShape(_plain(_json_corners(data)), 0.0)
    if kind == "svg":
        corners, curved = _svg_corners(data)
        if not curved:
            return OwnShape(_plain(corners), 0.0)
        return OwnShape(_grown(_plain(corners)), 2 * _CURVE_ERROR_IN)
    raise TemplateError(f"A template file ends in .json or .svg, not “{suffix}”.")


def _plain(corners: list[Point]) -> Ring:
    if len(corners) > 1 and math.dist(corners[0], corners[-1]) < 1e-9:
        corners = corners[:-1]
    if any(not math.isfinite(value) or abs(value) > 500 for corner in corners for value in corner):
        raise TemplateError("A corner of this shape is no length in inches.")
    if len(set(corners)) < 3:
        raise TemplateError(f"A shape needs three corners or more; this one has {len(corners)}.")
    if len(corners) > _MOST_CORNERS:
        raise _too_many()
    shape = Polygon(corners)
    if not shape.is_valid:
        raise TemplateError(f"This shape is not one plain outline: {explain_validity(shape)}.")
    if shape.area < 1e-4:
        raise TemplateError("This shape encloses next to no cloth; give its corners in inches.")
    return tuple((float(x), float(y)) for x, y in orient(shape).exterior.coords[:-1])


def _too_many() -> TemplateError:
    return TemplateError(f"This shape has more than {_MOST_CORNERS:,} corners; draw it with fewer.")


def _grown(ring: Ring) -> Ring:
    grown = orient(Polygon(ring).buffer(_CURVE_ERROR_IN, join_style="mitre"))
    return tuple((float(x), float(y)) for x, y in grown.exterior.coords[:-1])


def _json_corners(data: bytes) -> list[Point]:
    try:
        body = json.loads(data)
        return [(float(x), float(y)) for x, y in body["cut"]]
    except (ValueError, TypeError, KeyError, RecursionError):
        raise TemplateError(
            'This template file is not of the form {"cut": [[x, y], [x, y], ...]} in inches.'
        ) from None


def _svg_corners(data: bytes) -> tuple[list[Point], bool]:
    if b"<!ENTITY" in data.replace(b"\x00", b""):  # in two or four bytes a letter as well
        raise TemplateError("This drawing holds entities; save it as plain SVG.")
    try:
        root = ElementTree.fromstring(data)
    except (ElementTree.ParseError, ValueError, LookupError):
        raise TemplateError("This file is not an SVG drawing.") from None
    shapes = [one for one in root.iter() if _tag(one) in _DRAWN]
    paths = [one for one in shapes if _tag(one) == "path"]
    if len(shapes) != 1 or len(paths) != 1:
        raise TemplateError(
            f"The drawing should hold one closed path and nothing else; it holds {len(shapes)} "
            f"shapes, {len(paths)} of them paths."
        )
    if any(one.get("transform") for one in root.iter()):
        raise TemplateError("The drawing moves its path by a transform; save it without.")
    try:
        corners, curved = _Pen(_scale(root)).draw(paths[0].get("d", ""))
    except (ArithmeticError, ValueError):
        raise TemplateError("The path holds a number that is far too large or small.") from None
    return [(x, -y) for x, y in corners], curved


_DRAWN = {
    "path",
    "rect",
    "circle",
    "ellipse",
    "line",
    "polyline",
    "polygon",
    "text",
    "image",
    "use",
}


def _tag(element: ElementTree.Element) -> str:
    return element.tag.rsplit("}", 1)[-1] if isinstance(element.tag, str) else ""


def _scale(root: ElementTree.Element) -> float:
    """Give inches per drawing unit."""
    box = re.fullmatch(rf"\s*{_SPACED.join([_NUMBER] * 4)}\s*", root.get("viewBox", ""))
    width = re.fullmatch(rf"\s*{_NUMBER}\s*([a-z]*)\s*", root.get("width", ""))
    if box is None or width is None or width[2] not in _UNITS or not float(box[3]) > 0:
        return 1 / _PX_PER_IN
    return float(width[1]) * _UNITS[width[2]] / float(box[3])


class _Pen:
    """Follows path commands and notes corners in inches."""

    def __init__(self, scale: float) -> None:
        self.scale = scale
        self.corners: list[Point] = []
        self.curved = False
        self.at: Point = (0.0, 0.0)
        self.handle: Point | None = None
        self.before = ""
        self.closed = False

    def draw(self, commands: str) -> tuple[list[Point], bool]:
        """Follow the path; gives its corners and whether it has curves."""
        for name, numbers in _commands(commands):
            if self.closed:
                raise TemplateError("The path goes on after it has closed; draw one closed path.")
            if name.upper() == "M" and self.corners:
                raise TemplateError("The path jumps; draw one closed path.")
            self._follow(name, numbers)
            self.before = name.upper()
        ends_meet = len(self.corners) > 2 and math.dist(self.corners[0], self.corners[-1]) < 1e-6
        if not self.closed and not ends_meet:
            raise TemplateError("The path is not closed; close it and save the drawing again.")
        return self.corners, self.curved

    def _follow(self, name: str, numbers: list[float]) -> None:
        upper, relative = name.upper(), name.islower()
        if upper == "Z":
            self.closed = True
            return
        dx, dy = self.at if relative else (0.0, 0.0)
        if upper == "H":
            self._line_to((numbers[0] + dx, self.at[1]))
        elif upper == "V":
            self._line_to((self.at[0], numbers[0] + dy))
        elif upper == "A":
            self._arc(numbers, (numbers[5] + dx, numbers[6] + dy))
        else:
            points = [(numbers[k] + dx, numbers[k + 1] + dy) for k in range(0, len(numbers), 2)]
            self._by_points(upper, points)

    def _by_points(self, upper: str, points: list[Point]) -> None:
        if upper in "ML":
            self._line_to(points[0])
        elif upper in "CS":
            first = points[0] if upper == "C" else self._mirrored("CS")
            self._bezier([self.at, first, *points[-2:]])
        else:
            first = points[0] if upper == "Q" else self._mirrored("QT")
            self._bezier([self.at, first, points[-1]])

    def _mirrored(self, kinds: str) -> Point:
        if self.handle is None or self.before not in kinds:
            return self.at
        return (2 * self.at[0] - self.handle[0], 2 * self.at[1] - self.handle[1])

    def _line_to(self, point: Point) -> None:
        self.at = point
        if len(self.corners) > _MOST_CORNERS:  # before millions of them are worked out
            raise _too_many()
        self.corners.append((point[0] * self.scale, point[1] * self.scale))

    def _bezier(self, control: list[Point]) -> None:
        self.curved = True
        # a chord strays at most n (n - 1) / 8 * max second difference / steps ** 2
        order = len(control) - 1
        bend = max(
            math.hypot(
                control[k][0] - 2 * control[k + 1][0] + control[k + 2][0],
                control[k][1] - 2 * control[k + 1][1] + control[k + 2][1],
            )
            for k in range(order - 1)
        )
        strays = order * (order - 1) / 8 * bend * self.scale
        steps = min(400, max(2, math.ceil(math.sqrt(strays / _CURVE_ERROR_IN))))
        for k in range(1, steps + 1):
            self._line_to(_on_bezier(control, k / steps))
        self.handle = control[-2]

    def _arc(self, numbers: list[float], to: Point) -> None:
        turn = _arc_of(self.at, to, numbers)
        if turn is None:
            self._line_to(to)
            return
        self.curved = True
        on_arc, radius, sweep = turn
        half = math.acos(1 / (1 + _CURVE_ERROR_IN / max(radius * self.scale, 1e-6)))
        steps = min(400, max(2, math.ceil(abs(sweep) / (2 * half))))
        for k in range(1, steps):
            self._line_to(on_arc(k / steps))
        self._line_to(to)


def _commands(text: str) -> Iterator[tuple[str, list[float]]]:
    name = ""
    numbers: list[float] = []
    for letter, number, _, other in (found.groups() for found in _TOKEN.finditer(text)):
        if other:
            raise TemplateError(f"The path holds “{other}”, which is no path command.")
        if letter:
            _full(name, numbers)
            name, numbers = letter, []
            if letter in "Zz":
                yield letter, []
        elif number:
            numbers.append(float(number))
            if name == "" or _TAKES[name.upper()] == 0:
                raise TemplateError("The path starts with a number; it should start with M.")
            if len(numbers) == _TAKES[name.upper()]:
                yield name, numbers
                numbers = []
                name = {"M": "L", "m": "l"}.get(name, name)
    _full(name, numbers)


def _full(name: str, numbers: list[float]) -> None:
    if numbers:
        raise TemplateError(f"A number is missing after “{name}” in the path.")


def _on_bezier(control: list[Point], share: float) -> Point:
    points = control
    while len(points) > 1:
        points = [
            (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)
            for a, b in pairwise(points)
        ]
    return points[0]


def _arc_of(
    start: Point, end: Point, numbers: list[float]
) -> tuple[Callable[[float], Point], float, float] | None:
    """Centre form of an SVG arc (SVG 1.1, appendix F.6.5)."""
    rx, ry, tilt = abs(numbers[0]), abs(numbers[1]), math.radians(numbers[2])
    large, clockwise = bool(numbers[3]), bool(numbers[4])
    if rx == 0 or ry == 0 or start == end:
        return None
    cos, sin = math.cos(tilt), math.sin(tilt)
    dx, dy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    x, y = cos * dx + sin * dy, cos * dy - sin * dx
    grow = math.sqrt(max(1.0, (x / rx) ** 2 + (y / ry) ** 2))
    rx, ry = rx * grow, ry * grow
    under = (rx * y) ** 2 + (ry * x) ** 2
    root = math.sqrt(max(0.0, ((rx * ry) ** 2 - under) / under))
    root = -root if large == clockwise else root
    cx, cy = root * rx * y / ry, -root * ry * x / rx
    from_turn = math.atan2((y - cy) / ry, (x - cx) / rx)
    sweep = math.atan2((-y - cy) / ry, (-x - cx) / rx) - from_turn
    sweep += 2 * math.pi * ((clockwise and sweep < 0) - (not clockwise and sweep > 0))
    mid = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)

    def on_arc(share: float) -> Point:
        """Give the point at a share of the arc, 0..1."""
        turn = from_turn + share * sweep
        px, py = cx + rx * math.cos(turn), cy + ry * math.sin(turn)
        return (mid[0] + cos * px - sin * py, mid[1] + sin * px + cos * py)

    return on_arc, max(rx, ry), sweep
