"""Cloth that may be the same, side by side, group after group on one picture."""

from __future__ import annotations

import io
from collections.abc import Sequence

from PIL import Image

from stash.drawing.canvas import PALE_INK, Canvas, png_of, svg_of
from stash.drawing.lettering import letter_width
from stash.drawing.twin_sheet import TwinCloth, TwinRow

__all__ = ["draw_twins"]

_WIDTH, _MARGIN = 1180.0, 36.0
_SIDE, _GAP, _BETWEEN = 132.0, 8.0, 34.0
_HEAD, _BELOW = 28.0, 62.0
_SMALL = 11.5
_FINE_PX = 100  # type size at which lines are measured


def draw_twins(rows: Sequence[TwinRow], *, svg: bool = False) -> bytes:
    """Draw groups one after the other, as many to a line as fit; PNG or SVG.

    Within a group all squares show the same inches of cloth, which its head tells.
    """
    lines = _lines(rows)
    height = 100 + sum(_height(line) for line in lines)
    canvas = Canvas(_WIDTH, max(160.0, height))
    canvas.text((_MARGIN, 30), "What may be one cloth", size=28)
    if not rows:
        canvas.text((_MARGIN, 90), "Nothing waits for a look.", size=16, fill=PALE_INK)
    y, number = 88.0, 0
    for line in lines:
        x = _MARGIN
        for row in line:
            number += 1
            _group(canvas, row, number, (x, y))
            x += _width(row) + _BETWEEN
        y += _height(line)
    return svg_of(canvas) if svg else png_of(canvas, scale=1.5)


def _lines(rows: Sequence[TwinRow]) -> list[list[TwinRow]]:
    lines: list[list[TwinRow]] = []
    left = 0.0
    for row in rows:
        if not lines or _width(row) > left:
            lines.append([])
            left = _WIDTH - 2 * _MARGIN
        lines[-1].append(row)
        left -= _width(row) + _BETWEEN
    return lines


def _per_line(row: TwinRow) -> int:
    return min(len(row.cloths), int((_WIDTH - 2 * _MARGIN + _GAP) / (_SIDE + _GAP)))


def _width(row: TwinRow) -> float:
    return _per_line(row) * (_SIDE + _GAP) - _GAP


def _height(line: Sequence[TwinRow]) -> float:
    return _HEAD + max(-(-len(row.cloths) // _per_line(row)) for row in line) * (_SIDE + _BELOW)


def _group(canvas: Canvas, row: TwinRow, number: int, at: tuple[float, float]) -> None:
    x, y = at
    canvas.text((x, y), str(number), size=17)
    canvas.text((x + 30, y + 4), row.scale, size=_SMALL, fill=PALE_INK)
    canvas.line(x, y + 23, x + _width(row), y + 23)
    per_line = _per_line(row)
    for place, cloth in enumerate(row.cloths):
        corner = (
            x + place % per_line * (_SIDE + _GAP),
            y + _HEAD + place // per_line * (_SIDE + _BELOW),
        )
        _cloth(canvas, cloth, corner)


def _cloth(canvas: Canvas, cloth: TwinCloth, corner: tuple[float, float]) -> None:
    x, y = corner
    if cloth.picture_jpeg:
        image = Image.open(io.BytesIO(cloth.picture_jpeg)).convert("RGB")
        canvas.picture(x, y, _SIDE, _SIDE, image)
    canvas.frame(x, y, _SIDE, _SIDE)
    canvas.text((x, y + _SIDE + 5), f"#{cloth.number}", size=14)
    for place, text in enumerate(cloth.lines[:2]):
        fits = min(1.0, _SIDE / max(1.0, letter_width(text, _FINE_PX) * _SMALL / _FINE_PX))
        at = (x, y + _SIDE + 23 + 14 * place)
        canvas.text(at, text, size=max(8.0, _SMALL * fits), fill=PALE_INK, width=_SIDE)
