"""PDF pages in inches: lines, true arcs, large type with real fractions, both paper sizes."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Literal

from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from stash.drawing.fractions import as_plain_text
from stash.drawing.paper import MARGIN_IN, Paper
from stash.drawing.pdf_lettering import (
    PT_PER_IN,
    SMALL,
    font_name,
    in_fonts,
    piece_pt,
    printed_pieces,
    width_pt,
    wrap,
)
from stash.drawing.typefaces import in_reading_order
from stash.units import format_inches, length_words, size_words

__all__ = [
    "LEADING",
    "Pdf",
    "Pen",
    "Point",
    "arc_points",
    "moved",
]

LEADING = 1.32  # from base line to base line of a paragraph, share of the type size
_RAISE = 0.33  # how far the upper digit stands over the line, share of the type size
Align = Literal["left", "middle", "right"]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Pen:
    """How a line is drawn: points wide, grey (0 black to 1 white), dashes in points."""

    width_pt: float = 1.0
    grey: float = 0.0
    dash_pt: tuple[float, ...] = ()


class Pdf:
    """Pages of one paper size, drawn in inches from the lower left corner, y up.

    The bytes depend on what is drawn alone: no clock, no random name.

    Parameters
    ----------
    paper : Paper
        Letter or A4.
    title : str
        What the document is called.
    unit : str
        Lengths are written in ``in`` or ``cm``; what is drawn is the same.
    numbered : bool
        Whether every page carries the title and its number at the foot.
    """

    def __init__(
        self, paper: Paper, *, title: str, unit: str = "in", numbered: bool = False
    ) -> None:
        self.paper = paper
        self.unit = unit
        self.pages = 0
        self._title, self._numbered = title, numbered
        self._bytes = io.BytesIO()
        self._canvas = Canvas(
            self._bytes,
            pagesize=(paper.width_in * PT_PER_IN, paper.height_in * PT_PER_IN),
            invariant=1,
            pageCompression=1,
        )
        self._canvas.setTitle(title)
        self._canvas.setCreator("stash")
        self._canvas.setViewerPreference("PrintScaling", "None")  # printed at 100 %

    @property
    def width_in(self) -> float:
        """Width of the paper."""
        return self.paper.width_in

    @property
    def height_in(self) -> float:
        """Height of the paper."""
        return self.paper.height_in

    def new_page(self) -> None:
        """Begin a page; the one before is done."""
        if self.pages:
            self._canvas.showPage()
        self.pages += 1
        if self._numbered:
            low = 0.56 * MARGIN_IN
            self.text((MARGIN_IN, low), self._title, size_pt=8.5, grey=0.3)
            at = (self.width_in - MARGIN_IN, low)
            self.text(at, str(self.pages), size_pt=8.5, align="right", grey=0.3)

    def mark(self, title: str) -> None:
        """Name this page in the outline that readers of a PDF show beside it."""
        key = f"page-{self.pages}-{title}"
        self._canvas.bookmarkPage(key)
        self._canvas.addOutlineEntry(title, key)

    def later(self, name: str) -> None:
        """Leave room on this page for what `now` draws under the same name, on its own places."""
        self._canvas.doForm(name)

    @contextmanager
    def now(self, name: str) -> Iterator[None]:
        """Draw what an earlier page left room for; begin no page meanwhile."""
        self._canvas.beginForm(name)
        yield
        self._canvas.endForm()

    def number(self, inches: float, *, step: int = 8) -> str:
        """Write a length, without ``in`` behind inches."""
        return format_inches(inches, step=step, unit=self.unit)

    def long(self, inches: float, *, step: int = 8) -> str:
        """Write a length with its unit."""
        return length_words(inches, step=step, unit=self.unit)

    def size(self, width_in: float, height_in: float) -> str:
        """Write width x height with the unit."""
        return size_words(width_in, height_in, unit=self.unit)

    def finish(self) -> bytes:
        """Give the whole document."""
        self._canvas.showPage()
        self._canvas.save()
        return self._bytes.getvalue()

    def line(self, points: Sequence[Point], pen: Pen = Pen()) -> None:
        """Draw an open line through points."""
        self._stroke(points, pen, closed=False)

    def polygon(
        self, points: Sequence[Point], pen: Pen | None = Pen(), *, fill_grey: float | None = None
    ) -> None:
        """Draw a closed shape, filled with a grey if one is given."""
        path = self._canvas.beginPath()
        path.moveTo(points[0][0] * PT_PER_IN, points[0][1] * PT_PER_IN)
        for x, y in points[1:]:
            path.lineTo(x * PT_PER_IN, y * PT_PER_IN)
        path.close()
        self._paint(path, pen, fill_grey)

    def rectangle(
        self,
        corner: Point,
        size: tuple[float, float],
        pen: Pen | None = Pen(),
        *,
        fill_grey: float | None = None,
    ) -> None:
        """Draw a rectangle from its lower left corner."""
        (x, y), (width, height) = corner, size
        ring = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
        self.polygon(ring, pen, fill_grey=fill_grey)

    def circle(
        self,
        centre: Point,
        radius_in: float,
        pen: Pen | None = Pen(),
        *,
        fill_grey: float | None = None,
    ) -> None:
        """Draw a circle."""
        path = self._canvas.beginPath()
        path.circle(centre[0] * PT_PER_IN, centre[1] * PT_PER_IN, radius_in * PT_PER_IN)
        self._paint(path, pen, fill_grey)

    def image(self, data: object, corner: Point, size: tuple[float, float]) -> None:
        """Place a picture (a reportlab ImageReader) with its lower left corner there."""
        self._canvas.drawImage(
            data,
            corner[0] * PT_PER_IN,
            corner[1] * PT_PER_IN,
            size[0] * PT_PER_IN,
            size[1] * PT_PER_IN,
            mask="auto",
        )

    def clip(self, corner: Point, size: tuple[float, float]) -> None:
        """Show only what is drawn inside this rectangle until `unclip`."""
        self._canvas.saveState()
        path = self._canvas.beginPath()
        path.rect(
            corner[0] * PT_PER_IN,
            corner[1] * PT_PER_IN,
            size[0] * PT_PER_IN,
            size[1] * PT_PER_IN,
        )
        self._canvas.clipPath(path, stroke=0, fill=0)

    def unclip(self) -> None:
        """Show everything again."""
        self._canvas.restoreState()

    def arrow(self, start: Point, end: Point, pen: Pen = Pen(), *, both: bool = False) -> None:
        """Draw an arrow with a filled head, or a head at both ends."""
        self.line([start, end], pen)
        size = 0.06 + 0.035 * pen.width_pt
        self._head(start, end, size, pen.grey)
        if both:
            self._head(end, start, size, pen.grey)

    def text(  # noqa: PLR0913 - a line of type has this many properties
        self,
        at: Point,
        text: str,
        *,
        size_pt: float = 11,
        bold: bool = False,
        align: Align = "left",
        grey: float = 0.0,
        turn_deg: float = 0.0,
    ) -> None:
        """Write one line; ``at`` is on its base line at the left, the middle or the right end."""
        canvas = self._canvas
        canvas.saveState()
        canvas.translate(at[0] * PT_PER_IN, at[1] * PT_PER_IN)
        canvas.rotate(turn_deg)
        canvas.setFillGray(grey)
        font = font_name(bold)
        x = -{"left": 0.0, "middle": 0.5, "right": 1.0}[align] * width_pt(text, size_pt, font)
        pieces = printed_pieces(text)
        as_written = in_reading_order(text) == text
        astral = max(text, default="") > "\uffff"  # the PDF library tells these letters wrong
        built = astral or not as_written or not all(isinstance(piece, str) for piece in pieces)
        if built:  # ISO 32000, 14.9.4: the text the drawing stands for
            meant = as_plain_text(pieces) if as_written else text
            code = meant.encode("utf-16-be").hex().upper()
            canvas.addLiteral(f"/Span <</ActualText <FEFF{code}>>> BDC")
        for piece in pieces:
            if isinstance(piece, str):
                self._letters(x, piece, size_pt, font)
            else:
                self._fraction(x, piece, size_pt, font)
            x += piece_pt(piece, size_pt, font)
        if built:
            canvas.addLiteral("EMC")
        canvas.restoreState()

    def paragraph(
        self,
        at: Point,
        text: str,
        *,
        width_in: float,
        size_pt: float = 11,
        bold: bool = False,
        grey: float = 0.0,
    ) -> float:
        """Write wrapped lines from a first base line down; gives the next free base line."""
        x, y = at
        for line in wrap(text, width_in, size_pt=size_pt, bold=bold):
            self.text((x, y), line, size_pt=size_pt, bold=bold, grey=grey)
            y -= LEADING * size_pt / PT_PER_IN
        return y

    def _stroke(self, points: Sequence[Point], pen: Pen, *, closed: bool) -> None:
        if len(points) < 2:
            return
        path = self._canvas.beginPath()
        path.moveTo(points[0][0] * PT_PER_IN, points[0][1] * PT_PER_IN)
        for x, y in points[1:]:
            path.lineTo(x * PT_PER_IN, y * PT_PER_IN)
        if closed:
            path.close()
        self._paint(path, pen, None)

    def _paint(self, path: object, pen: Pen | None, fill_grey: float | None) -> None:
        canvas = self._canvas
        canvas.saveState()
        if pen is not None:
            canvas.setLineWidth(pen.width_pt)
            canvas.setStrokeGray(pen.grey)
            canvas.setLineJoin(1)
            if pen.dash_pt:
                canvas.setDash(list(pen.dash_pt))
        if fill_grey is not None:
            canvas.setFillGray(fill_grey)
        canvas.drawPath(path, stroke=int(pen is not None), fill=int(fill_grey is not None))
        canvas.restoreState()

    def _head(self, start: Point, end: Point, size_in: float, grey: float) -> None:
        turn = math.atan2(end[1] - start[1], end[0] - start[0])
        ring = [end]
        for side in (2.72, -2.72):  # radians: a head of about 48 degrees
            ring.append(
                (end[0] + size_in * math.cos(turn + side), end[1] + size_in * math.sin(turn + side))
            )
        self.polygon(ring, None, fill_grey=grey)

    def _letters(self, x_pt: float, letters: str, size_pt: float, font: str) -> None:
        for used, run in in_fonts(letters, font):
            self._canvas.setFont(used, size_pt)
            self._canvas.drawString(x_pt, 0, run)
            x_pt += stringWidth(run, used, size_pt)

    def _fraction(self, x_pt: float, fraction: tuple[int, int], size_pt: float, font: str) -> None:
        """Build the sign from small digits and a stroke."""
        over, under = map(str, fraction)
        canvas = self._canvas
        canvas.setFont(font, SMALL * size_pt)
        canvas.drawString(x_pt, _RAISE * size_pt, over)
        x_pt += stringWidth(over, font, SMALL * size_pt)
        canvas.setFont(font, size_pt * 0.9)
        canvas.drawString(x_pt - 0.01 * size_pt, 0, "/")
        x_pt += 0.25 * size_pt
        canvas.setFont(font, SMALL * size_pt)
        canvas.drawString(x_pt, -0.04 * size_pt, under)


def arc_points(centre: Point, radius_in: float, from_deg: float, sweep_deg: float) -> list[Point]:
    """Give points on an arc so close that no eye and no ruler sees the corners (0.0002 in)."""
    most_deg = 2 * math.degrees(math.acos(max(0.5, 1 - 0.0002 / max(radius_in, 0.001))))
    steps = max(1, math.ceil(abs(sweep_deg) / most_deg))
    turns = (math.radians(from_deg + sweep_deg * k / steps) for k in range(steps + 1))
    return [
        (centre[0] + radius_in * math.cos(turn), centre[1] + radius_in * math.sin(turn))
        for turn in turns
    ]


def moved(points: Iterable[Point], by: Point, scale: float = 1.0) -> list[Point]:
    """Scale points about the origin, then move them."""
    return [(x * scale + by[0], y * scale + by[1]) for x, y in points]
