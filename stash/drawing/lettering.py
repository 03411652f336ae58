"""Lettering for pictures: Pillow's own typeface, others for letters it lacks, built fractions."""

from __future__ import annotations

from functools import cache
from typing import Literal

from PIL import ImageDraw, ImageFont

from stash.drawing.fractions import Piece, in_pieces
from stash.drawing.typefaces import OWN, face_file, in_faces, in_reading_order

__all__ = ["letter", "letter_width", "typeface"]

_SMALL = 0.62  # share of the type size for the digits of a fraction
_BESIDE = 0.92  # size of the other typefaces: their small letters are taller
# What Pillow's typeface (Aileron) holds besides ASCII; a test looks at each.
_HOLDS = frozenset("©«°±´·»‘’“”…‹›⁄™")
Align = Literal["left", "middle", "right"]


@cache
def typeface(size_px: int) -> ImageFont.FreeTypeFont:
    """Give the typeface at a size; the same on every machine, since Pillow brings it."""
    font = ImageFont.load_default(size_px)
    if not isinstance(font, ImageFont.FreeTypeFont):
        raise TypeError("Pillow was built without FreeType, so pictures cannot be lettered")
    return font


@cache
def _other_typeface(face: str, size_px: int) -> ImageFont.FreeTypeFont:
    size = max(1, round(_BESIDE * size_px))
    # Letter by letter from the left: the line is in reading order already.
    return ImageFont.truetype(face_file(face), size, layout_engine=ImageFont.Layout.BASIC)


def _in_own_typeface(sign: str) -> bool:
    return (sign.isascii() and sign.isprintable()) or sign in _HOLDS


def _font(face: str, size_px: int) -> ImageFont.FreeTypeFont:
    return typeface(size_px) if face == OWN else _other_typeface(face, size_px)


def letter_width(text: str, size_px: int) -> float:
    """Give the width of a line of lettering, pixels."""
    return sum(_piece_width(piece, size_px) for piece in _split(text))


def letter(
    draw: ImageDraw.ImageDraw,
    at: tuple[float, float],
    text: str,
    *,
    size_px: int,
    fill: str,
    align: Align = "left",
) -> None:
    """Write one line; ``at`` is its top at the left, the middle or the right end, pixels."""
    x, y = at
    width = letter_width(text, size_px)
    x -= {"left": 0.0, "middle": width / 2, "right": width}[align]
    for piece in _split(text):
        if isinstance(piece, str):
            _draw_letters(draw, (x, y), piece, size_px=size_px, fill=fill)
        else:
            _draw_fraction(draw, (x, y), piece, size_px=size_px, fill=fill)
        x += _piece_width(piece, size_px)


def _split(text: str) -> list[Piece]:
    return in_pieces(in_reading_order(text).replace("×", "x"))  # its own x looks better


def _piece_width(piece: Piece, size_px: int) -> float:
    if isinstance(piece, str):
        runs = in_faces(piece, _in_own_typeface)
        return float(sum(_font(face, size_px).getlength(run) for face, run in runs))
    small = typeface(_small_px(size_px))
    over, under = (small.getlength(str(number)) for number in piece)
    return float(over + under + 0.22 * size_px)


def _small_px(size_px: int) -> int:
    return max(6, round(_SMALL * size_px))


def _draw_letters(
    draw: ImageDraw.ImageDraw, at: tuple[float, float], text: str, *, size_px: int, fill: str
) -> None:
    x, y = at
    base = y + typeface(size_px).getmetrics()[0]
    for face, run in in_faces(text, _in_own_typeface):
        font = _font(face, size_px)
        draw.text((x, base), run, fill=fill, font=font, anchor="ls")
        x += font.getlength(run)


def _draw_fraction(
    draw: ImageDraw.ImageDraw,
    at: tuple[float, float],
    fraction: tuple[int, int],
    *,
    size_px: int,
    fill: str,
) -> None:
    small = typeface(_small_px(size_px))
    x, y = at
    over, under = map(str, fraction)
    top, base = y + 0.13 * size_px, y + 0.98 * size_px
    draw.text((x, top), over, fill=fill, font=small)
    slash = x + small.getlength(over)
    width = max(1, round(size_px / 16))
    draw.line(
        [(slash, base - 0.02 * size_px), (slash + 0.2 * size_px, top + 0.08 * size_px)],
        fill=fill,
        width=width,
    )
    draw.text((slash + 0.2 * size_px, base), under, fill=fill, font=small, anchor="ls")
