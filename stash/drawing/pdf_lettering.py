"""Type on PDF pages: how wide a line is, what the standard fonts can print, where it wraps."""

from __future__ import annotations

import unicodedata

from reportlab.pdfbase.pdfmetrics import stringWidth

from stash.drawing.fractions import FRACTION_SIGNS, Piece, in_pieces
from stash.drawing.line_breaks import broken

__all__ = [
    "PT_PER_IN",
    "SMALL",
    "font_name",
    "piece_pt",
    "printed_pieces",
    "text_width",
    "width_pt",
    "wrap",
]

PT_PER_IN = 72.0  # ISO 32000
SMALL = 0.62  # share of the type size for the digits of a fraction


def text_width(text: str, *, size_pt: float, bold: bool = False) -> float:
    """Give the width of a line of type, inches."""
    return width_pt(text, size_pt, font_name(bold)) / PT_PER_IN


def wrap(text: str, width_in: float, *, size_pt: float, bold: bool = False) -> list[str]:
    """Break a text into lines that fit a width, inches."""
    return broken(text, width_in, lambda line: text_width(line, size_pt=size_pt, bold=bold))


def font_name(bold: bool) -> str:
    """Give the standard font, ISO 32000 section 9.6.2.2."""
    return "Helvetica-Bold" if bold else "Helvetica"


def printed_pieces(text: str) -> list[Piece]:
    """Cut a line into letters the standard fonts hold, and fractions."""
    return in_pieces(_printable(text))


def width_pt(text: str, size_pt: float, font: str) -> float:
    """Give the width of a line, points."""
    return sum(piece_pt(piece, size_pt, font) for piece in printed_pieces(text))


def piece_pt(piece: Piece, size_pt: float, font: str) -> float:
    """Give the width of letters or of a built fraction, points."""
    if isinstance(piece, str):
        return float(stringWidth(piece, font, size_pt))
    over, under = (stringWidth(str(number), font, SMALL * size_pt) for number in piece)
    return float(over + under + 0.27 * size_pt)


def _printable(text: str) -> str:
    """Keep what the standard fonts hold; the nearest plain letter stands for the rest."""
    kept = []
    for sign in text:
        if sign in FRACTION_SIGNS or _in_font(sign):
            kept.append(sign)
            continue
        plain = "".join(part for part in unicodedata.normalize("NFKD", sign) if _in_font(part))
        kept.append(plain or "?")
    return "".join(kept)


def _in_font(sign: str) -> bool:
    try:
        sign.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return sign.isprintable()
