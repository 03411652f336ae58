"""Loose corner markers as PDF pages to cut up: four to a page, at true size."""

from __future__ import annotations

import io

from reportlab.lib.pagesizes import A4, letter
from reportlab.pdfgen.canvas import Canvas

from stash.photo.cards.corner_marker import (
    CHECK_LINE_IN,
    MARKER_COUNT,
    PAPER_IN,
    SIDE_IN,
    marker_cells,
)

__all__ = ["PAPERS", "corner_sheet_pdf", "places_in"]

PAPERS = {"letter": letter, "a4": A4}
_PT = 72.0
_ON_A_PAGE = 4
_TOP_IN = 0.55  # from the page's upper edge to the first cut line
_WORDS = (
    "Print at 100 % (“actual size”, no fitting to the page) on plain white paper or card stock.",
    "Lay a ruler along the line: it must be 6 inches (152.4 mm). If it is not, print again,",
    "or tell its length whenever you log: stash log --corner-line LENGTH.",
    "Cut along the grey lines; the white round the black square must stay. Cut with care: blades "
    "are sharp.",
    "Lay one flat near each corner of the table area, in any order and any way round, on the bare",
    "backing, an inch from any scrap. The reference card must still lie in the photo: it gives the",
    "colour and the inches; the markers tell how the table slants, so that outlines far from the",
    "card come out true. Three serve, four or more serve better.",
)


def places_in(paper: str) -> tuple[tuple[float, float], ...]:
    """Give the middles of a page's four markers, inches from its upper left corner."""
    width_in = PAPERS[paper][0] / _PT
    return tuple(
        (width_in / 2 + (column - 0.5) * PAPER_IN, _TOP_IN + (row + 0.5) * PAPER_IN)
        for row in range(2)
        for column in range(2)
    )


def corner_sheet_pdf(paper: str = "letter") -> bytes:
    """Draw the markers for a paper: ``letter`` or ``a4``, upright, at true size; two pages."""
    width, height = PAPERS[paper]
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(width, height), invariant=True)
    canvas.setTitle("Loose corner markers for photos of a big table")
    for first in range(1, MARKER_COUNT + 1, _ON_A_PAGE):
        for offset, (x_in, y_in) in enumerate(places_in(paper)):
            _marker(canvas, first + offset, x_in * _PT, height - y_in * _PT)
        _check_line(canvas, width, height)
        _words(canvas, width, height)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _marker(canvas: Canvas, number: int, x: float, y: float) -> None:
    half = PAPER_IN / 2 * _PT
    canvas.setStrokeGray(0.75)
    canvas.setLineWidth(0.4)
    canvas.rect(x - half, y - half, 2 * half, 2 * half, stroke=1, fill=0)
    white = marker_cells(number)
    cell = SIDE_IN / len(white) * _PT
    corner = SIDE_IN / 2 * _PT
    canvas.setFillGray(0)
    canvas.rect(x - corner, y - corner, 2 * corner, 2 * corner, stroke=0, fill=1)
    canvas.setFillGray(1)
    for row, column in zip(*white.nonzero(), strict=True):
        left, bottom = x - corner + column * cell, y + corner - (row + 1) * cell
        canvas.rect(left, bottom, cell, cell, stroke=0, fill=1)
    canvas.setFillGray(0.35)
    canvas.setFont("Helvetica", 8)
    canvas.drawCentredString(x, y - half + 7, f"corner marker {number}")


def _check_line(canvas: Canvas, width: float, height: float) -> None:
    half, y = CHECK_LINE_IN / 2 * _PT, height - (_TOP_IN + 2 * PAPER_IN + 0.45) * _PT
    middle = width / 2
    canvas.setStrokeGray(0)
    canvas.setLineWidth(0.6)
    canvas.line(middle - half, y, middle + half, y)
    for inch in range(int(CHECK_LINE_IN) + 1):
        tick = 8 if inch in (0, CHECK_LINE_IN) else 4
        at = middle - half + inch * _PT
        canvas.line(at, y - tick, at, y + tick)
    canvas.setFillGray(0)
    canvas.setFont("Helvetica", 9)
    canvas.drawCentredString(middle, y - 18, "6 inches = 152.4 mm")


def _words(canvas: Canvas, width: float, height: float) -> None:
    canvas.setFillGray(0)
    canvas.setFont("Helvetica-Bold", 12)
    canvas.drawCentredString(width / 2, height - 0.36 * _PT, "Loose corner markers")
    canvas.setFont("Helvetica", 8.5)
    top = height - (_TOP_IN + 2 * PAPER_IN + 1.0) * _PT
    for line, text in enumerate(_WORDS):
        canvas.drawCentredString(width / 2, top - 13 * line, text)
