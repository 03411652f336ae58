"""Layouts drawn on their scraps, all at one scale: the cloth, its safe edge and every piece."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from io import BytesIO
from itertools import pairwise
from typing import Literal, Protocol

from PIL import Image, ImageDraw
from shapely.geometry import MultiPolygon, Polygon
from shapely.ops import polylabel

from stash.drawing.lettering import letter, typeface
from stash.errors import MeasureError
from stash.shape.containment.piece_fit import Placement
from stash.shape.plane.outline import Outline, Point, Ring
from stash.shape.templates.template import OWN_SHAPE, Template
from stash.wording import counted

__all__ = ["PlacedScrap", "draw_placements"]

_PAPER, _INK, _FAINT = "#faf7f2", "#2b2a28", "#68635a"
_CLOTH, _HOLE = "#dfe6e4", "#faf7f2"
_PIECES = ("#2f6f86", "#9c5224", "#3f6a54", "#7d6118", "#63547d", "#8f4040")
_SEAM = "#ffffff"
_GAP_IN = 0.55
_LABEL_IN = 0.75
_WIDEST_PX = 1500


@dataclass(frozen=True, slots=True)
class PlacedScrap:
    """A scrap with the pieces laid on it."""

    name: str
    outline: Outline
    placements: Sequence[Placement]
    grain_deg: float | None = None


class _Canvas(Protocol):
    """What a layout is drawn on, pixels, y down."""

    def area(self, rings: Sequence[Ring], fill: str) -> None:
        """Fill rings; those after the first are holes."""

    def line(self, points: Sequence[Point], colour: str, width: float, *, dashed: bool) -> None:
        """Draw a line."""

    def text(self, at: Point, text: str, size: float, colour: str, *, middle: bool) -> None:
        """Write text, its middle or its lower left corner at a point."""

    def data(self) -> bytes:
        """Give the finished file."""


@dataclass(frozen=True, slots=True)
class _Cell:
    scrap: PlacedScrap
    left: float
    top: float


def draw_placements(scraps: Sequence[PlacedScrap], template: Template, suffix: str) -> bytes:
    """Draw every scrap at one scale, as SVG or PNG by suffix.

    Raises
    ------
    MeasureError
        If the suffix is neither.
    """
    kind = suffix.lower().lstrip(".")
    if kind not in ("svg", "png"):
        raise MeasureError(f"A picture file ends in .svg or .png, not “{suffix}”.")
    cells, width_in, height_in = _arranged(scraps)
    scale = max(8.0, min(60.0, _WIDEST_PX / width_in))
    size = (math.ceil(width_in * scale), math.ceil(height_in * scale))
    canvas: _Canvas = _Svg(*size) if kind == "svg" else _Png(*size)
    total = sum(len(scrap.placements) for scrap in scraps)
    _heading(canvas, template, total, len(scraps), scale)
    for cell in cells:
        _draw_scrap(canvas, cell, template, scale)
    return canvas.data()


def _arranged(scraps: Sequence[PlacedScrap]) -> tuple[list[_Cell], float, float]:
    """Lay scraps in lines like words, so that the whole is a little wider than high."""
    sizes = [_size(scrap) for scrap in scraps]
    area = sum((w + _GAP_IN) * (h + _GAP_IN + _LABEL_IN) for w, h in sizes)
    line_in = max([math.sqrt(1.5 * area), 9.0, *(w + 2 * _GAP_IN for w, _ in sizes)])
    cells: list[_Cell] = []
    left, top, tallest, widest = _GAP_IN, 1.5, 0.0, 0.0
    for scrap, (width, height) in zip(scraps, sizes, strict=True):
        if left > _GAP_IN and left + width + _GAP_IN > line_in:
            left, top, tallest = _GAP_IN, top + tallest + _LABEL_IN + _GAP_IN, 0.0
        cells.append(_Cell(scrap, left, top))
        left += max(width, 2.2) + _GAP_IN
        tallest = max(tallest, height)
        widest = max(widest, left)
    return cells, max(widest, 9.0), top + tallest + _LABEL_IN + _GAP_IN


def _size(scrap: PlacedScrap) -> tuple[float, float]:
    west, south, east, north = scrap.outline.bounds
    return east - west, north - south


def _heading(canvas: _Canvas, template: Template, total: int, scraps: int, scale: float) -> None:
    even = f"{template.seam_allowance_in:g} in seams"
    seam = "seams edge by edge" if template.edge_allowances_in else even
    plural = "piece" if total == 1 else "pieces"
    title = f"{template.name}: {total} {plural} from {counted(scraps, 'scrap')}"
    canvas.text((_GAP_IN * scale, 0.62 * scale), title, 0.42 * scale, _INK, middle=False)
    note = f"cut line filled, seam line white, {seam}; dashed: the sure edge of the cloth"
    canvas.text((_GAP_IN * scale, 1.05 * scale), note, 0.24 * scale, _FAINT, middle=False)


def _draw_scrap(canvas: _Canvas, cell: _Cell, template: Template, scale: float) -> None:
    west, _, _, north = cell.scrap.outline.bounds

    def page(ring: Ring) -> Ring:
        """Move a ring of the scrap to its cell on the page."""
        return tuple(
            ((x - west + cell.left) * scale, (north - y + cell.top) * scale) for x, y in ring
        )

    outline = cell.scrap.outline
    canvas.area([page(outline.points), *(page(hole) for hole in outline.holes)], _CLOTH)
    for ring in (outline.points, *outline.holes):
        canvas.line(_closed(page(ring)), _INK, max(1.0, 0.035 * scale), dashed=False)
    finished, spot = template.finished_ring(), _number_spot(template)
    for number, placement in enumerate(cell.scrap.placements):
        colour = _PIECES[number % len(_PIECES)]
        ring = page(placement.ring(template))
        canvas.area([ring], colour)
        canvas.line(_closed(ring), _PAPER, max(0.8, 0.02 * scale), dashed=False)
        seam = page(placement.moved(finished))
        canvas.line(_closed(seam), _SEAM, max(0.7, 0.018 * scale), dashed=True)
        at = page(placement.moved((spot,)))[0]
        canvas.text(at, str(number + 1), 0.3 * scale, _SEAM, middle=True)
        if placement.turned_over:
            below = (at[0], at[1] + 0.27 * scale)
            canvas.text(below, "face down", 0.15 * scale, _SEAM, middle=True)
    for ring in _safe_edge(outline):
        canvas.line(_closed(page(ring)), _FAINT, max(0.6, 0.015 * scale), dashed=True)
    _caption(canvas, cell, scale)


def _caption(canvas: _Canvas, cell: _Cell, scale: float) -> None:
    width, height = _size(cell.scrap)
    count = len(cell.scrap.placements)
    pieces = "no piece" if count == 0 else "1 piece" if count == 1 else f"{count} pieces"
    left, low = cell.left * scale, (cell.top + height) * scale
    name = f"{cell.scrap.name}: {pieces}"
    canvas.text((left, low + 0.36 * scale), name, 0.28 * scale, _INK, middle=False)
    size = f"{width:.1f} x {height:.1f} in"
    canvas.text((left, low + 0.64 * scale), size, 0.2 * scale, _FAINT, middle=False)
    if cell.scrap.grain_deg is not None:
        beside = 0.55 + 0.16 * len(name)  # past the words, at their usual width
        _arrow(canvas, (left + beside * scale, low + 0.3 * scale), cell.scrap.grain_deg, scale)


def _arrow(canvas: _Canvas, at: Point, grain_deg: float, scale: float) -> None:
    """Draw the grain line as a double arrow."""
    turn = math.radians(grain_deg)
    dx, dy = math.cos(turn) * 0.3 * scale, -math.sin(turn) * 0.3 * scale
    ends = ((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy))
    canvas.line(ends, _INK, max(0.8, 0.025 * scale), dashed=False)
    for (x, y), sign in zip(ends, (1, -1), strict=True):
        for side in (-1, 1):
            barb = math.atan2(dy, dx) + side * 0.5
            tip = (
                x + sign * 0.12 * scale * math.cos(barb),
                y + sign * 0.12 * scale * math.sin(barb),
            )
            canvas.line(((x, y), tip), _INK, max(0.8, 0.025 * scale), dashed=False)


def _number_spot(template: Template) -> Point:
    """Where a piece is numbered: an own shape's 0, 0 may lie on its edge or beside it."""
    if template.family != OWN_SHAPE:
        return (0.0, 0.0)
    middle = polylabel(template.cut_polygon(), 0.05)
    return (middle.x, middle.y)


def _safe_edge(outline: Outline) -> list[Ring]:
    sure = outline.sure()
    parts = sure.geoms if isinstance(sure, MultiPolygon) else [sure]
    return [_ring(part) for part in parts if not part.is_empty and outline.error_in > 0]


def _ring(part: Polygon) -> Ring:
    return tuple((float(x), float(y)) for x, y in part.exterior.coords)


def _closed(ring: Ring) -> Ring:
    return (*ring, ring[0])


class _Svg:
    """An SVG drawing."""

    def __init__(self, width: int, height: int) -> None:
        self.parts = [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
            f'width="{width}" height="{height}" font-family="Georgia, serif">',
            f'<rect width="{width}" height="{height}" fill="{_PAPER}"/>',
        ]

    def area(self, rings: Sequence[Ring], fill: str) -> None:
        """Fill the first ring, the others left out as holes."""
        path = "".join("M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in ring) + "Z" for ring in rings)
        self.parts.append(f'<path d="{path}" fill="{fill}" fill-rule="evenodd"/>')

    def line(self, points: Sequence[Point], colour: str, width: float, *, dashed: bool) -> None:
        """Draw a line through points."""
        path = " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
        dash = f' stroke-dasharray="{3 * width:.1f} {2.5 * width:.1f}"' if dashed else ""
        self.parts.append(
            f'<polyline points="{path}" fill="none" stroke="{colour}" '
            f'stroke-width="{width:.2f}" stroke-linejoin="round"{dash}/>'
        )

    def text(self, at: Point, text: str, size: float, colour: str, *, middle: bool) -> None:
        """Write a text, about its middle or from its left end."""
        place = 'text-anchor="middle" dominant-baseline="central" ' if middle else ""
        self.parts.append(
            f'<text x="{at[0]:.2f}" y="{at[1]:.2f}" {place}font-size="{size:.1f}" '
            f'fill="{colour}">{escape(text)}</text>'
        )

    def data(self) -> bytes:
        """Give the file, SVG."""
        return "\n".join([*self.parts, "</svg>"]).encode()


class _Png:
    """A PNG picture, drawn twice as large and scaled down for smooth edges."""

    def __init__(self, width: int, height: int) -> None:
        self.grow = 2
        self.image = Image.new("RGB", (width * self.grow, height * self.grow), _PAPER)
        self.pen = ImageDraw.Draw(self.image)

    def _at(self, points: Sequence[Point]) -> list[tuple[float, float]]:
        return [(x * self.grow, y * self.grow) for x, y in points]

    def area(self, rings: Sequence[Ring], fill: str) -> None:
        """Fill the first ring, the others painted over as holes."""
        for number, ring in enumerate(rings):
            self.pen.polygon(self._at(ring), fill=fill if number == 0 else _HOLE)

    def line(self, points: Sequence[Point], colour: str, width: float, *, dashed: bool) -> None:
        """Draw a line through points."""
        thick = max(1, round(width * self.grow))
        if not dashed:
            self.pen.line(self._at(points), fill=colour, width=thick, joint="curve")
            return
        for part in _dashes(points, 3.5 * width, 3 * width):
            self.pen.line(self._at(part), fill=colour, width=thick)

    def text(self, at: Point, text: str, size: float, colour: str, *, middle: bool) -> None:
        """Write a text, about its middle or from its left end."""
        x, y = self._at([at])[0]
        size_px = round(size * self.grow)
        # The line's top: half the height of capitals over the middle, or the ascent over the base.
        ascent = typeface(size_px).getmetrics()[0]
        top = y - ascent + (0.36 * size_px if middle else 0)
        align: Literal["left", "middle"] = "middle" if middle else "left"
        letter(self.pen, (x, top), text, size_px=size_px, fill=colour, align=align)

    def data(self) -> bytes:
        """Give the file, PNG."""
        small = self.image.resize(
            (self.image.width // self.grow, self.image.height // self.grow),
            Image.Resampling.LANCZOS,
        )
        out = BytesIO()
        small.save(out, "PNG", optimize=True)
        return out.getvalue()


def _dashes(points: Sequence[Point], on: float, off: float) -> list[tuple[Point, Point]]:
    made: list[tuple[Point, Point]] = []
    left, drawing = on, True
    for (x0, y0), (x1, y1) in pairwise(points):
        length, done = math.dist((x0, y0), (x1, y1)), 0.0
        while done < length:
            step = min(left, length - done)
            if drawing:
                a, b = done / length, (done + step) / length
                made.append(
                    (
                        (x0 + a * (x1 - x0), y0 + a * (y1 - y0)),
                        (x0 + b * (x1 - x0), y0 + b * (y1 - y0)),
                    )
                )
            done += step
            left -= step
            if left <= 1e-9:
                drawing = not drawing
                left = on if drawing else off
    return made
