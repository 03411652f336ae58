"""Type on PDF pages: how wide a line is, which typeface prints which letter, where it wraps."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from reportlab.pdfbase.pdfmetrics import registerFont, stringWidth
from reportlab.pdfbase.ttfonts import TTFont

from stash.drawing.fractions import Piece, in_pieces
from stash.drawing.line_breaks import broken
from stash.drawing.typefaces import OWN, face_file, in_faces, in_reading_order

__all__ = [
    "PT_PER_IN",
    "SMALL",
    "font_name",
    "in_fonts",
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
    """Cut a line into letters and fractions, in the order in which they stand on paper."""
    return in_pieces(in_reading_order(text))


def in_fonts(text: str, font: str) -> Iterator[tuple[str, str]]:
    """Cut letters into runs that one font prints: its name for the PDF, and the letters."""
    for face, run in in_faces(text, _in_standard_fonts):
        yield font if face == OWN else _registered(face, font.endswith("Bold")), run


def width_pt(text: str, size_pt: float, font: str) -> float:
    """Give the width of a line, points."""
    return sum(piece_pt(piece, size_pt, font) for piece in printed_pieces(text))


def piece_pt(piece: Piece, size_pt: float, font: str) -> float:
    """Give the width of letters or of a built fraction, points."""
    if isinstance(piece, str):
        runs = in_fonts(piece, font)
        return float(sum(stringWidth(run, used, size_pt) for used, run in runs))
    over, under = (stringWidth(str(number), font, SMALL * size_pt) for number in piece)
    return float(over + under + 0.27 * size_pt)


def _in_standard_fonts(sign: str) -> bool:
    try:
        sign.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return sign.isprintable()


@cache
def _registered(face: str, bold: bool) -> str:
    """Make a font known to the PDF library under a name of its own; a file embeds what it uses."""
    file = face_file(face, bold=bold)
    registerFont(TTFont(file.stem, str(file)))
    return file.stem
