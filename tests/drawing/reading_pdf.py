"""Read a PDF page as what it is: lines, shapes and lettering, each with its place in inches."""

from __future__ import annotations

import ctypes
import math
from dataclasses import dataclass

import pypdfium2
from pypdfium2 import raw

Point = tuple[float, float]
_PT = 72.0


@dataclass(frozen=True)
class Shape:
    """A line or an area: its points, what strokes it and what fills it (0 black, 1 white)."""

    points: tuple[Point, ...]
    closed: bool
    curved: bool
    width_pt: float  # 0 without a stroke
    grey: float
    fill: float | None
    dash: tuple[float, ...]

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top."""
        xs, ys = [x for x, _ in self.points], [y for _, y in self.points]
        return min(xs), min(ys), max(xs), max(ys)

    @property
    def size(self) -> tuple[float, float]:
        left, bottom, right, top = self.box
        return right - left, top - bottom

    @property
    def middle(self) -> Point:
        left, bottom, right, top = self.box
        return (left + right) / 2, (bottom + top) / 2


@dataclass(frozen=True)
class Lettering:
    """A line of type: where its base line begins, how far it reaches, how large and how turned."""

    text: str
    x: float
    y: float
    right: float
    size_pt: float
    bold: bool
    turn_deg: float
    box: tuple[float, float, float, float]

    @property
    def middle(self) -> float:
        return (self.box[0] + self.box[2]) / 2


@dataclass(frozen=True)
class Picture:
    """A picture's place: left, bottom, right, top."""

    box: tuple[float, float, float, float]


@dataclass(frozen=True)
class Page:
    """What is drawn on a page, in the order it was drawn."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    lettering: tuple[Lettering, ...]
    pictures: tuple[Picture, ...]

    def says(self, words: str) -> Lettering:
        """Give the first line of type that holds these words."""
        return next(one for one in self.lettering if words in one.text)

    def circles(self) -> list[Shape]:
        return [one for one in self.shapes if one.curved]


def pages(data: bytes) -> list[Page]:
    """Read every page."""
    document = pypdfium2.PdfDocument(data)
    try:
        return [_page(page) for page in document]
    finally:
        document.close()


def _page(page: pypdfium2.PdfPage) -> Page:
    shapes, lettering, pictures = [], [], []
    text = page.get_textpage()
    for one in page.get_objects():
        handle, by = one.raw, one.get_matrix()
        box = tuple(side / _PT for side in one.get_bounds())
        if one.type == raw.FPDF_PAGEOBJ_PATH:
            shapes.append(_shape(handle, by))
        elif one.type == raw.FPDF_PAGEOBJ_TEXT:
            lettering.append(_lettering(handle, by, text.raw, box))
        elif one.type == raw.FPDF_PAGEOBJ_IMAGE:
            pictures.append(Picture(box))
    width, height = page.get_size()
    written = tuple(one for one in _joined(lettering) if one.text.strip())
    return Page(width / _PT, height / _PT, tuple(shapes), written, tuple(pictures))


def _shape(handle: object, by: pypdfium2.PdfMatrix) -> Shape:
    points: list[Point] = []
    closed = curved = False
    x, y = ctypes.c_float(), ctypes.c_float()
    for k in range(raw.FPDFPath_CountSegments(handle)):
        segment = raw.FPDFPath_GetPathSegment(handle, k)
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        at = by.on_point(x.value, y.value)
        points.append((at[0] / _PT, at[1] / _PT))
        curved |= raw.FPDFPathSegment_GetType(segment) == raw.FPDF_SEGMENT_BEZIERTO
        closed |= bool(raw.FPDFPathSegment_GetClose(segment))
    mode, stroked, width = ctypes.c_int(), ctypes.c_int(), ctypes.c_float()
    raw.FPDFPath_GetDrawMode(handle, mode, stroked)
    raw.FPDFPageObj_GetStrokeWidth(handle, width)
    dashes = (ctypes.c_float * raw.FPDFPageObj_GetDashCount(handle))()
    raw.FPDFPageObj_GetDashArray(handle, dashes, len(dashes))
    fill = _grey(raw.FPDFPageObj_GetFillColor, handle) if mode.value else None
    width_pt = width.value if stroked.value else 0.0
    grey = _grey(raw.FPDFPageObj_GetStrokeColor, handle)
    return Shape(tuple(points), closed, curved, width_pt, grey, fill, tuple(dashes))


def _grey(ask: object, handle: object) -> float:
    colour = [ctypes.c_uint() for _ in range(4)]
    ask(handle, *colour)  # type: ignore[operator]
    return round(sum(one.value for one in colour[:3]) / 3 / 255, 2)


def _lettering(
    handle: object, by: pypdfium2.PdfMatrix, text: object, box: tuple[float, ...]
) -> Lettering:
    room = ctypes.create_string_buffer(2000)
    length = raw.FPDFTextObj_GetText(
        handle, text, ctypes.cast(room, ctypes.POINTER(ctypes.c_ushort)), 1000
    )
    words = room.raw[: 2 * length].decode("utf-16-le").rstrip("\0 ")
    size, name = ctypes.c_float(), ctypes.create_string_buffer(100)
    raw.FPDFTextObj_GetFontSize(handle, size)
    raw.FPDFFont_GetBaseFontName(raw.FPDFTextObj_GetFont(handle), name, 100)
    turn = math.degrees(math.atan2(by.b, by.a))
    left, bottom, right, top = box
    return Lettering(
        words, by.e / _PT, by.f / _PT, right, size.value, b"Bold" in name.value, round(turn, 3),
        (left, bottom, right, top),
    )  # fmt: skip


def _joined(parts: list[Lettering]) -> list[Lettering]:
    """Join what was set in several typefaces or holds a built fraction into one line of type."""
    lines: list[Lettering] = []
    for part in parts:
        before = lines[-1] if lines else None
        near = before is not None and part.turn_deg == before.turn_deg == 0.0
        if near and abs(part.y - before.y) < 0.4 * before.size_pt / _PT:
            near = -0.1 < (part.x - before.right) * _PT / before.size_pt < 0.35
        else:
            near = False
        if not near:
            lines.append(part)
            continue
        box = (
            before.box[0], min(before.box[1], part.box[1]),
            part.box[2], max(before.box[3], part.box[3]),
        )  # fmt: skip
        lines[-1] = Lettering(
            before.text + part.text, before.x, before.y, part.box[2], before.size_pt, before.bold,
            0.0, box,
        )  # fmt: skip
    return lines
