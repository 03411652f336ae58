"""Cloth that may be the same, side by side, to be looked at on paper: PDF."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab.lib.utils import ImageReader

from stash.drawing.paper import Paper
from stash.drawing.pdf_page import Pdf, Pen

__all__ = ["TwinCloth", "TwinRow", "twins_pdf"]

_MARGIN, _SIDE, _GAP = 0.6, 1.25, 0.15
_HEAD, _LINES, _BETWEEN = 0.28, 0.46, 0.14
_BOX = 0.14
_ANSWERS = ("same", "different", "not sure")


@dataclass(frozen=True, slots=True)
class TwinCloth:
    """One scrap of a group: its number, what stands below it, a square of it (JPEG or none)."""

    number: int
    lines: tuple[str, ...]
    picture_jpeg: bytes


@dataclass(frozen=True, slots=True)
class TwinRow:
    """One group, and in words what its squares show."""

    cloths: tuple[TwinCloth, ...]
    scale: str


def twins_pdf(rows: Sequence[TwinRow], paper: Paper) -> bytes:
    """Draw groups with boxes to tick, as many to a page as fit.

    Notes
    -----
    Within a group all squares show the same inches of cloth.
    """
    pdf = Pdf(paper, title="What may be one cloth")
    y = 0.0
    for place, row in enumerate(rows, start=1):
        per_line = max(1, int((paper.width_in - 2 * _MARGIN + _GAP) / (_SIDE + _GAP)))
        lines = -(-len(row.cloths) // per_line)
        need = _HEAD + lines * (_SIDE + _LINES) + _BETWEEN
        if not pdf.pages or y - need < _MARGIN:
            pdf.new_page()
            y = paper.height_in - _MARGIN
            if pdf.pages == 1:
                y = _title(pdf, y)
        y = _draw_row(pdf, row, place, y, per_line)
    if not rows:
        pdf.new_page()
        _title(pdf, paper.height_in - _MARGIN)
    return pdf.finish()


def _title(pdf: Pdf, y: float) -> float:
    pdf.text((_MARGIN, y - 0.2), "What may be one cloth", size_pt=16)
    how = "Lay the scraps side by side, tick, and answer with stash twins --same, --different."
    pdf.text((_MARGIN, y - 0.42), how, size_pt=9)
    return y - 0.65


def _draw_row(pdf: Pdf, row: TwinRow, place: int, y: float, per_line: int) -> float:
    names = ", ".join(str(cloth.number) for cloth in row.cloths)
    pdf.text((_MARGIN, y - 0.18), f"{place}   scraps {names}", size_pt=11)
    x = pdf.width_in - _MARGIN - 2.9
    for word in _ANSWERS:
        pdf.rectangle((x, y - 0.2), (_BOX, _BOX), Pen(0.8))
        pdf.text((x + _BOX + 0.07, y - 0.18), word, size_pt=9)
        x += 1.0
    y -= _HEAD
    for start in range(0, len(row.cloths), per_line):
        for column, cloth in enumerate(row.cloths[start : start + per_line]):
            _draw_cloth(pdf, cloth, (_MARGIN + column * (_SIDE + _GAP), y - _SIDE))
        y -= _SIDE + _LINES
    return y - _BETWEEN


def _draw_cloth(pdf: Pdf, cloth: TwinCloth, corner: tuple[float, float]) -> None:
    x, y = corner
    if cloth.picture_jpeg:
        pdf.image(ImageReader(BytesIO(cloth.picture_jpeg)), corner, (_SIDE, _SIDE))
    pdf.rectangle(corner, (_SIDE, _SIDE), Pen(0.6))
    pdf.text((x, y - 0.16), f"scrap {cloth.number}", size_pt=9)
    for line, text in enumerate(cloth.lines[:2]):
        pdf.text((x, y - 0.31 - 0.14 * line), text[:26], size_pt=7.5, grey=0.35)
