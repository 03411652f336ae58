"""A template larger than the paper, spread over pages that are joined at marks."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from stash.drawing.paper import MARGIN_IN
from stash.drawing.pdf_page import Pdf, Pen, Point
from stash.drawing.template_lines import TemplateLines, shown_name
from stash.drawing.template_page import CUT, FOOT_IN, HEAD_IN, draw_foot, draw_head, draw_lines

__all__ = ["Tiling", "draw_tiles"]

_FINE = Pen(0.5, 0.45)
_JOINED = (
    "Cut each page along its fine frame where it meets another page, or lay one page over the next "
    "so that the diamonds with the same letters lie on each other. Tape, then cut the template out."
)
_ON_THE_NEXT = "At true size it fills the next page. Measure both squares here, then cut it out."
_BLEED_IN = 0.25  # what neighbouring pages show twice, each side of the joint


@dataclass(frozen=True, slots=True)
class Tiling:
    """How a template is spread over pages.

    Attributes
    ----------
    shape : TemplateLines
        What is drawn.
    across, down : int
        Pages.
    cell_in : tuple of float
        Width and height that one page adds, inches.
    """

    shape: TemplateLines
    across: int
    down: int
    cell_in: tuple[float, float]

    @classmethod
    def of(cls, shape: TemplateLines, pdf: Pdf) -> Tiling:
        """Spread a template over as few pages of this paper as hold it."""
        around = 2 * MARGIN_IN + 2 * _BLEED_IN
        wide, high = pdf.width_in - around, pdf.height_in - around - 0.6
        across = math.ceil(shape.width_in / wide)
        return cls(shape, across, math.ceil(shape.height_in / high), (wide, high))

    @property
    def count(self) -> int:
        """Pages, the cover left aside."""
        return self.across * self.down

    def places(self) -> Iterator[tuple[int, int]]:
        """Give column and row of every page, row by row from the top."""
        for row in range(self.down):
            for column in range(self.across):
                yield column, row

    def corner(self, column: int, row: int) -> Point:
        """Give the lower left corner of a page's part; the whole is centred on its pages.

        So no page holds a sliver only.
        """
        wide, high = self.cell_in
        left = (self.shape.width_in - self.across * wide) / 2
        low = (self.shape.height_in - self.down * high) / 2
        return (left + column * wide, low + (self.down - 1 - row) * high)


def draw_tiles(pdf: Pdf, tiling: Tiling) -> None:
    """Draw a cover that shows how the pages join, then the pages."""
    _draw_cover(pdf, tiling)
    for column, row in tiling.places():
        _draw_tile(pdf, tiling, (column, row))


def _tile_name(column: int, row: int) -> str:
    return f"{chr(ord('A') + row % 26)}{column + 1}"


def _draw_cover(pdf: Pdf, tiling: Tiling) -> None:
    pdf.new_page()
    one = tiling.count == 1
    draw_head(pdf, tiling.shape.template, "" if one else f"{tiling.count} pages")
    _draw_overview(pdf, tiling)
    pdf.paragraph(
        (MARGIN_IN, MARGIN_IN + FOOT_IN + 0.75),
        _ON_THE_NEXT if one else _JOINED,
        width_in=pdf.width_in - 2 * MARGIN_IN,
        size_pt=13,
    )
    draw_foot(pdf, tiling.shape.template)


def _draw_overview(pdf: Pdf, tiling: Tiling) -> None:
    """Draw the whole template small, with the frames of its pages."""
    top, bottom = pdf.height_in - MARGIN_IN - HEAD_IN, MARGIN_IN + FOOT_IN + 1.15
    wide, high = tiling.cell_in
    whole = (tiling.across * wide, tiling.down * high)
    scale = min((pdf.width_in - 2 * MARGIN_IN) / whole[0], (top - bottom) / whole[1])
    left = (pdf.width_in - scale * whole[0]) / 2
    low = (top + bottom - scale * whole[1]) / 2
    start = tiling.corner(0, tiling.down - 1)

    def put(point: Point) -> Point:
        """Give where a point of the template lies on this page's small plan."""
        return (left + (point[0] - start[0]) * scale, low + (point[1] - start[1]) * scale)

    for column, row in tiling.places():
        x, y = tiling.corner(column, row)
        pdf.rectangle(put((x, y)), (wide * scale, high * scale), _FINE)
        name = _tile_name(column, row)
        middle = put((x + wide / 2, y + high / 2))
        pdf.text(middle, name, size_pt=24, bold=True, align="middle", grey=0.55)
    pdf.polygon([put(point) for point in tiling.shape.cut], CUT)


def _draw_tile(pdf: Pdf, tiling: Tiling, place: tuple[int, int]) -> None:
    pdf.new_page()
    last = _tile_name(tiling.across - 1, tiling.down - 1)
    name = "at true size" if tiling.count == 1 else f"page {_tile_name(*place)} of {last}"
    pdf.text(
        (MARGIN_IN, pdf.height_in - MARGIN_IN - 0.3),
        f"{shown_name(tiling.shape.template)}: {name}",
        size_pt=18,
        bold=True,
    )
    corner, wide, high = tiling.corner(*place), *tiling.cell_in
    frame = (MARGIN_IN + _BLEED_IN, MARGIN_IN + _BLEED_IN)
    pdf.clip((MARGIN_IN, MARGIN_IN), (wide + 2 * _BLEED_IN, high + 2 * _BLEED_IN))
    draw_lines(pdf, tiling.shape, (frame[0] - corner[0], frame[1] - corner[1]))
    pdf.unclip()
    _draw_joints(pdf, tiling, place, frame)
    _draw_inch(pdf)


def _draw_inch(pdf: Pdf) -> None:
    top, x = pdf.height_in - MARGIN_IN, pdf.width_in - MARGIN_IN - 1.05
    pdf.text((x - 0.1, top - 0.3), "1 in", size_pt=12, align="right")
    pdf.line([(x, top - 0.25), (x + 1, top - 0.25)], Pen(0.8))
    for end in (x, x + 1):
        pdf.line([(end, top - 0.33), (end, top - 0.17)], Pen(0.8))


def _draw_joints(pdf: Pdf, tiling: Tiling, place: tuple[int, int], frame: Point) -> None:
    (column, row), (x, y), (wide, high) = place, frame, tiling.cell_in
    sides = (
        (column > 0, [(x, y), (x, y + high)], (column - 1, row, "r")),
        (
            column < tiling.across - 1,
            [(x + wide, y), (x + wide, y + high)],
            (column, row, "r"),
        ),
        (row > 0, [(x, y + high), (x + wide, y + high)], (column, row - 1, "b")),
        (row + 1 < tiling.down, [(x, y), (x + wide, y)], (column, row, "b")),
    )
    for joined, (start, end), (owner_column, owner_row, side) in sides:
        if not joined:
            continue
        pdf.line([start, end], _FINE)
        for k, share in enumerate((0.2, 0.5, 0.8)):
            at = (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)
            letter = f"{_tile_name(owner_column, owner_row)}{side}{k + 1}"
            _draw_diamond(pdf, at, letter)


def _draw_diamond(pdf: Pdf, at: Point, letters: str) -> None:
    """Draw a mark, its letters on the side of it where the paper is wide: printers need a rim."""
    x, y = at
    size = 0.16
    pdf.polygon([(x - size, y), (x, y - size), (x + size, y), (x, y + size)], _FINE)
    if x < pdf.width_in / 2:
        pdf.text((x + size + 0.03, y + 0.03), letters, size_pt=10, grey=0.35)
    else:
        pdf.text((x - size - 0.03, y + 0.03), letters, size_pt=10, align="right", grey=0.35)
