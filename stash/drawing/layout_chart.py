"""The chart that lies beside the sewing machine: every row and piece by its number."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from PIL import Image, ImageDraw
from reportlab.lib.utils import ImageReader

from stash.drawing.paper import MARGIN_IN, Paper
from stash.drawing.pdf_lettering import text_width
from stash.drawing.pdf_page import Pdf, Pen
from stash.drawing.quilt_picture import PictureOf, quilt_image
from stash.quilt.pattern import Pattern, Place
from stash.quilt.plan import Quilt

__all__ = ["draw_chart", "layout_chart"]

_PALE = 0.35  # how far the cloth is bleached, so that numbers stay readable on a grey printer
_ROW_GAP_IN = 0.42
_MOST_STRIP_IN = 1.15
_NUMBER_PT = (4.5, 10.0)  # smallest that can be read, largest that looks right


@dataclass(frozen=True)
class _Window:
    """A part of the quilt on the paper: scale and where the quilt's 0, 0 would lie, inches."""

    scale: float
    left_in: float
    bottom_in: float

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Give where a point of the quilt, inches, lies on the page, inches from its lower left."""
        return (self.left_in + x * self.scale, self.bottom_in + y * self.scale)


def layout_chart(
    quilt: Quilt,
    pattern: Pattern,
    paper: Paper,
    *,
    picture_of: PictureOf | None = None,
    bins: Mapping[int, str] | None = None,
    unit: str = "in",
) -> bytes:
    """Draw the chart as PDF: the whole top first, then every row as a strip with its scraps.

    Parameters
    ----------
    quilt : Quilt
        Laid out.
    pattern : Pattern
        Its shapes.
    paper : Paper
        Letter or A4.
    picture_of : callable, optional
        Gives the bytes of scrap pictures.
    bins : mapping, optional
        Where each scrap is kept, by its number.
    unit : str
        Lengths are written in ``in`` or ``cm``.
    """
    pdf = Pdf(paper, title=f"{quilt.name}: layout chart", unit=unit)
    draw_chart(pdf, quilt, pattern, picture_of=picture_of, bins=bins)
    return pdf.finish()


def draw_chart(
    pdf: Pdf,
    quilt: Quilt,
    pattern: Pattern,
    *,
    picture_of: PictureOf | None = None,
    bins: Mapping[int, str] | None = None,
) -> None:
    """Add the chart to a document."""
    image = _bleached(quilt_image(quilt, pattern, picture_of, long_side_px=1600))
    _whole_page(pdf, quilt, pattern, image)
    _row_pages(pdf, quilt, pattern, image, bins or {})


def _bleached(image: Image.Image) -> Image.Image:
    white = Image.new("RGB", image.size, "white")
    solid = white.copy()
    solid.paste(image, mask=image.getchannel("A"))
    return Image.blend(solid, white, _PALE)


def _whole_page(pdf: Pdf, quilt: Quilt, pattern: Pattern, image: Image.Image) -> None:
    pdf.new_page()
    top = pdf.height_in - MARGIN_IN
    pdf.text((MARGIN_IN, top - 0.2), quilt.name, size_pt=18, bold=True)
    size = pdf.size(pattern.width_in, pattern.length_in)
    rows = len(pattern.row_numbers)
    pdf.text(
        (MARGIN_IN, top - 0.45),
        f"{quilt.plan.template}, {len(pattern.places)} pieces in {rows} rows, {size} finished. "
        "Row 1 is the top row; pieces count from the left.",
        size_pt=9.5,
        grey=0.25,
    )
    room = (pdf.width_in - 2 * MARGIN_IN - 0.35, top - 0.65 - MARGIN_IN - 0.15)
    scale = min(room[0] / pattern.width_in, room[1] / pattern.length_in)
    left = MARGIN_IN + 0.35 + (room[0] - pattern.width_in * scale) / 2
    window = _Window(scale, left, top - 0.65 - pattern.length_in * scale)
    _lay_image(pdf, image, window, pattern)
    for place in pattern.places:
        _outline(pdf, place, window)
    size_pt = _number_size(pattern.places, window)
    for number in range(len(pattern.places)):
        if size_pt >= _NUMBER_PT[0]:
            _number(pdf, pattern, number, window, size_pt)
    for row in pattern.row_numbers:
        y = window.at(0, _middle_of_row(pattern, row))[1]
        at = (window.left_in - 0.09, y - 0.04)
        pdf.text(at, str(row), size_pt=min(9.0, 62 * 0.7 * _row_height(pattern, row) * scale),
                 bold=True, align="right")  # fmt: skip


def _row_pages(
    pdf: Pdf, quilt: Quilt, pattern: Pattern, image: Image.Image, bins: Mapping[int, str]
) -> None:
    width = pdf.width_in - 2 * MARGIN_IN
    share = (pdf.height_in - 2 * MARGIN_IN - 0.2) / len(pattern.row_numbers)
    most_in = max(_MOST_STRIP_IN, share - _ROW_GAP_IN - 0.34)  # few rows fill their page
    y = 0.0
    for row in pattern.row_numbers:
        numbers = [n for n, place in enumerate(pattern.places) if place.row == row]
        low, high = _span([pattern.places[number] for number in numbers])
        scale = min(width / pattern.width_in, most_in / (high - low))
        needed = (high - low) * scale + _ROW_GAP_IN + 0.3
        if y - needed < MARGIN_IN:
            y = _next_page(pdf, quilt)
        y -= 0.24
        _row_head(pdf, row, len(numbers), y)
        y -= (high - low) * scale + 0.08
        window = _Window(scale, MARGIN_IN, y - low * scale)
        _lay_strip(pdf, image, window, pattern, (low, high), numbers)
        size_pt = _number_size([pattern.places[number] for number in numbers], window)
        for number in numbers:
            _outline(pdf, pattern.places[number], window)
            _number(pdf, pattern, number, window, max(size_pt, _NUMBER_PT[0]))
            _scrap_below(pdf, quilt, pattern, number, (window, y), bins)
        y -= _ROW_GAP_IN


def _next_page(pdf: Pdf, quilt: Quilt) -> float:
    pdf.new_page()
    top = pdf.height_in - MARGIN_IN
    note = f"{quilt.name}, row by row; under each piece the scrap it is cut from"
    pdf.text((MARGIN_IN, top - 0.12), note, size_pt=9, grey=0.3)
    pdf.text((pdf.width_in - MARGIN_IN, top - 0.12), f"{pdf.pages}", size_pt=9, align="right")
    return top - 0.2


def _row_head(pdf: Pdf, row: int, count: int, y: float) -> None:
    pdf.rectangle((MARGIN_IN, y - 0.01), (0.12, 0.12), Pen(0.7))
    pdf.text((MARGIN_IN + 0.2, y), f"Row {row}", size_pt=10.5, bold=True)
    at = (MARGIN_IN + 0.2 + text_width(f"Row {row}", size_pt=10.5, bold=True) + 0.12, y)
    pdf.text(at, f"{count} pieces, sewn from left to right", size_pt=8.5, grey=0.35)


def _scrap_below(
    pdf: Pdf,
    quilt: Quilt,
    pattern: Pattern,
    number: int,
    where: tuple[_Window, float],
    bins: Mapping[int, str],
) -> None:
    window, y = where
    piece = quilt.pieces[quilt.piece_at[number]]
    x = window.at(float(pattern.centres_in[number][0]), 0)[0]
    text = "to find" if piece.to_find else f"{piece.scrap}"
    kept = bins.get(piece.scrap, "")
    wide = _width_of(pattern.places[number]) * window.scale
    size_pt = min(7.5, 62 * 0.9 * wide / max(2, len(text)) * 1.6)
    pdf.text((x, y - 0.12), text, size_pt=size_pt, align="middle")
    if kept and text_width(kept, size_pt=6) <= wide:
        pdf.text((x, y - 0.23), kept, size_pt=6, align="middle", grey=0.35)


def _outline(pdf: Pdf, place: Place, window: _Window) -> None:
    pdf.polygon([window.at(x, y) for x, y in place.outline], Pen(0.6, 0.15))


def _number(pdf: Pdf, pattern: Pattern, number: int, window: _Window, size_pt: float) -> None:
    place = pattern.places[number]
    x, y = window.at(*map(float, pattern.centres_in[number]))
    text = str(place.number)
    half = max(text_width(text, size_pt=size_pt, bold=True), size_pt / 72) / 2 + size_pt / 300
    pdf.circle((x, y), half, None, fill_grey=1.0)
    pdf.text((x, y - 0.35 * size_pt / 72), text, size_pt=size_pt, bold=True, align="middle")


def _number_size(places: Sequence[Place], window: _Window) -> float:
    """Give the type size that fits into the whole pieces, points."""
    wide = sorted(_width_of(place) for place in places)[len(places) // 2] * window.scale
    return min(_NUMBER_PT[1], 72 * wide / 3.2)


def _lay_image(pdf: Pdf, image: Image.Image, window: _Window, pattern: Pattern) -> None:
    size = (pattern.width_in * window.scale, pattern.length_in * window.scale)
    pdf.image(_jpeg(image), window.at(0, 0), size)


def _lay_strip(
    pdf: Pdf,
    image: Image.Image,
    window: _Window,
    pattern: Pattern,
    span: tuple[float, float],
    numbers: Sequence[int],
) -> None:
    """Lay one row's cloth, cut to the row's own pieces."""
    low, high = span
    px = image.height / pattern.length_in
    upper = round((pattern.length_in - high) * px)
    part = image.crop((0, upper, image.width, upper + round((high - low) * px)))
    shape = Image.new("L", part.size, 0)
    draw = ImageDraw.Draw(shape)
    for number in numbers:
        draw.polygon(
            [(x * px, (high - y) * px) for x, y in pattern.places[number].outline], fill=255
        )
    strip = Image.composite(part, Image.new("RGB", part.size, "white"), shape)
    size = (pattern.width_in * window.scale, (high - low) * window.scale)
    pdf.image(_jpeg(strip), window.at(0, low), size)


def _jpeg(image: Image.Image) -> ImageReader:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=82)
    out.seek(0)
    return ImageReader(out)


def _span(places: Sequence[Place]) -> tuple[float, float]:
    heights = [y for place in places for _, y in place.outline]
    return min(heights), max(heights)


def _width_of(place: Place) -> float:
    across = [x for x, _ in place.outline]
    return max(across) - min(across)


def _middle_of_row(pattern: Pattern, row: int) -> float:
    low, high = _span([place for place in pattern.places if place.row == row])
    return (low + high) / 2


def _row_height(pattern: Pattern, row: int) -> float:
    low, high = _span([place for place in pattern.places if place.row == row])
    return high - low
