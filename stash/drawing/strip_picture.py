"""How cloth looks as a strip: cut along the grain and on the bias, and as it shows when bound."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image

from stash.drawing.canvas import PALE_INK, Canvas, png_of, svg_of
from stash.scrap import Picture

__all__ = ["StripRow", "StripShown", "draw_strips"]

_WIDTH, _MARGIN, _LABEL = 1080.0, 36.0, 150.0
_PX_PER_IN = 34.0
_LONGEST_IN = 24.0
_BETWEEN, _HEAD = 16.0, 30.0


@dataclass(frozen=True, slots=True)
class StripShown:
    """A strip as it lies on its scrap.

    Attributes
    ----------
    label : str
        How it is cut, in words.
    start : (x, y)
        Its lower left corner, inches of the scrap.
    along_deg : float
        The way it runs, counter-clockwise from x.
    length_in, width_in : float
        What is shown of it.
    """

    label: str
    start: tuple[float, float]
    along_deg: float
    length_in: float
    width_in: float


@dataclass(frozen=True)
class StripRow:
    """One cloth: its name, its picture, and strips of it; no picture, no strips."""

    title: str
    jpeg: bytes
    picture: Picture | None
    strips: tuple[StripShown, ...]


def draw_strips(
    rows: Sequence[StripRow], *, title: str, bound_in: float, svg: bool = False
) -> bytes:
    """Draw strips of each cloth at one scale; PNG or SVG.

    ``bound_in`` of each is drawn again below it, as wide as it shows on the finished quilt.
    """
    heights = [_height(row, bound_in) for row in rows]
    canvas = Canvas(_WIDTH, 100 + max(60.0, sum(heights)))
    canvas.text((_MARGIN, 30), title, size=26)
    if not rows:
        canvas.text((_MARGIN, 90), "No cloth gives a strip.", size=16, fill=PALE_INK)
    y = 84.0
    for row, height in zip(rows, heights, strict=True):
        _row(canvas, row, y, bound_in)
        y += height
    return svg_of(canvas) if svg else png_of(canvas, scale=1.5)


def _height(row: StripRow, bound_in: float) -> float:
    each = [
        (one.width_in + (bound_in if bound_in else 0)) * _PX_PER_IN + _BETWEEN for one in row.strips
    ]
    return _HEAD + (sum(each) if each else 24.0) + 18.0


def _row(canvas: Canvas, row: StripRow, y: float, bound_in: float) -> None:
    canvas.text((_MARGIN, y), row.title, size=16)
    canvas.line(_MARGIN, y + 22, _WIDTH - _MARGIN, y + 22)
    y += _HEAD
    if not row.strips or row.picture is None:
        canvas.text((_MARGIN, y), "There is no picture of it.", size=13, fill=PALE_INK)
        return
    image = Image.open(io.BytesIO(row.jpeg)).convert("RGB")
    x = _MARGIN + _LABEL
    for strip in row.strips:
        canvas.text((_MARGIN, y + 4), strip.label, size=13, fill=PALE_INK)
        wide = min(strip.length_in, _LONGEST_IN) * _PX_PER_IN
        for height_in, from_in in ((strip.width_in, 0.0), (bound_in, strip.width_in / 2)):
            if not height_in:
                continue
            tall = height_in * _PX_PER_IN
            cloth = _laid(image, row.picture, strip, height_in, from_in)
            canvas.picture(x, y, wide, tall, cloth)
            canvas.frame(x, y, wide, tall)
            if height_in == bound_in:
                canvas.text((_MARGIN, y), "as bound", size=11, fill=PALE_INK)
            y += tall + (4 if height_in != bound_in and bound_in else 0)
        y += _BETWEEN - (4 if bound_in else 0)


def _laid(
    image: Image.Image, picture: Picture, strip: StripShown, height_in: float, from_in: float
) -> Image.Image:
    """Give the cloth of a strip lying level, from so far above its lower side."""
    scale = 2 * _PX_PER_IN
    size = (
        max(1, round(min(strip.length_in, _LONGEST_IN) * scale)),
        max(1, round(height_in * scale)),
    )
    turn = math.radians(strip.along_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    top = from_in + height_in
    # A point of the strip, i right and j down, in the scrap's inches, then on its picture.
    x0, y0 = strip.start[0] - sin * top, strip.start[1] + cos * top
    per = picture.px_per_in
    across = (cos / scale * per, sin / scale * per, (x0 - picture.left_in) * per)
    down = (-sin / scale * per, cos / scale * per, (picture.top_in - y0) * per)
    return image.transform(size, Image.Transform.AFFINE, (*across, *down), Image.Resampling.BICUBIC)
