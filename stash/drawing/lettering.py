"""Lettering for pictures: Pillow's own typeface, with the fractions it lacks built from digits."""

from __future__ import annotations

from functools import cache
from typing import Literal

from PIL import ImageDraw, ImageFont

from stash.drawing.fractions import Piece, in_pieces

__all__ = ["letter", "letter_width", "typeface"]

_SMALL = 0.62  # share of the type size for the digits of a fraction
Align = Literal["left", "middle", "right"]


@cache
def typeface(size_px: int) -> ImageFont.FreeTypeFont:
    """Give the typeface at a size; the same on every machine, since Pillow brings it."""
    font = ImageFont.load_default(size_px)
    if not isinstance(font, ImageFont.FreeTypeFont):
        raise TypeError("Pillow was built without FreeType, so pictures cannot be lettered")
    return font


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
            draw.text((x, y), piece, fill=fill, font=typeface(size_px))
        else:
            _draw_fraction(draw, (x, y), piece, size_px=size_px, fill=fill)
        x += _piece_width(piece, size_px)


def _split(text: str) -> list[Piece]:
    return in_pieces(text.replace("×", "x"))  # the typeface has no multiplication sign


def _piece_width(piece: Piece, size_px: int) -> float:
    if isinstance(piece, str):
        return float(typeface(size_px).getlength(piece))
    small = typeface(_small_px(size_px))
    over, under = (small.getlength(str(number)) for number in piece)
    return float(over + under + 0.22 * size_px)


def _small_px(size_px: int) -> int:
    return max(6, round(_SMALL * size_px))


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
