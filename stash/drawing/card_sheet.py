"""The printable reference card as a PDF page."""

from __future__ import annotations

import io

import cv2
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4, landscape, letter
from reportlab.pdfgen.canvas import Canvas

from stash.photo.cards.printed_card import (
    CARD_ABOVE_MIDDLE_IN,
    CHECK_LINE_IN,
    MARKER_IDS,
    MARKER_IN,
    PATCH_HEX,
    PATCH_OF_PITCH,
    PITCH_IN,
    marker_centres_in,
)

__all__ = ["PAPERS", "card_sheet_pdf"]

PAPERS = {"letter": landscape(letter), "a4": landscape(A4)}
_PT = 72.0
_WORDS = (
    "Print at 100 % (“actual size”, no fitting to the page) on matt white paper, in best quality.",
    "Lay a ruler along the line: it must be 6 inches (152.4 mm). If it is not, tell its length "
    "when you register the card.",
    "Lay the card flat, clean and whole beside the scraps. Kept out of the sun it fades less.",
    "Its inks are unknown: photograph it once beside a 24-patch chart.",
)


def card_sheet_pdf(paper: str = "letter") -> bytes:
    """Draw the card for a paper: ``letter`` or ``a4``, landscape, at true size."""
    width, height = PAPERS[paper]
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(width, height), invariant=True)
    canvas.setTitle("Reference card for fabric photos")
    canvas.translate(
        width / 2, height / 2 + CARD_ABOVE_MIDDLE_IN * _PT
    )  # the card's centre; y stays upwards
    for number, (x, y) in zip(MARKER_IDS, marker_centres_in(), strict=True):
        _marker(canvas, number, x * _PT, y * _PT)
    for index, colour in enumerate(PATCH_HEX):
        _patch(canvas, colour, (index % 6 - 2.5) * PITCH_IN, (1.5 - index // 6) * PITCH_IN)
    _check_line(canvas)
    _words(canvas, height)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _marker(canvas: Canvas, number: int, x: float, y: float) -> None:
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    bits = cv2.aruco.generateImageMarker(dictionary, number, 6, borderBits=1)
    cell = MARKER_IN * _PT / 6
    canvas.setFillGray(0)
    canvas.rect(x - 3 * cell, y - 3 * cell, 6 * cell, 6 * cell, stroke=0, fill=1)
    canvas.setFillGray(1)
    for row, column in zip(*(bits > 0).nonzero(), strict=True):
        left, bottom = x + (column - 3) * cell, y + (2 - row) * cell
        canvas.rect(left, bottom, cell, cell, stroke=0, fill=1)


def _patch(canvas: Canvas, colour: str, x_in: float, y_in: float) -> None:
    side = PATCH_OF_PITCH * PITCH_IN * _PT
    canvas.setFillColor(HexColor(colour))
    canvas.setStrokeGray(0.75)
    canvas.setLineWidth(0.3)
    outlined = int(colour == "#ffffff")  # white paper needs a border to be seen as a square
    canvas.rect(x_in * _PT - side / 2, y_in * _PT - side / 2, side, side, stroke=outlined, fill=1)


def _check_line(canvas: Canvas) -> None:
    half, y = CHECK_LINE_IN / 2 * _PT, -2.35 * _PT
    canvas.setStrokeGray(0)
    canvas.setLineWidth(0.6)
    canvas.line(-half, y, half, y)
    for inch in range(int(CHECK_LINE_IN) + 1):
        tick = 8 if inch in (0, CHECK_LINE_IN) else 4
        canvas.line(-half + inch * _PT, y - tick, -half + inch * _PT, y + tick)
    canvas.setFillGray(0)
    canvas.setFont("Helvetica", 9)
    canvas.drawCentredString(0, y - 18, "6 inches = 152.4 mm")


def _words(canvas: Canvas, height: float) -> None:
    canvas.setFillGray(0)
    canvas.setFont("Helvetica-Bold", 12)
    canvas.drawCentredString(0, 2.3 * _PT, "Reference card for fabric photos")
    canvas.setFont("Helvetica", 7.5)
    top = -height / 2 - CARD_ABOVE_MIDDLE_IN * _PT + 0.78 * _PT
    for line, text in enumerate(_WORDS):
        canvas.drawCentredString(0, top - 11 * line, text)
