"""A contact sheet: swatches of cloth side by side under headings, each with its name."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PIL import Image

from stash.colour.spaces import Lab, hex_of_lab, linear_of_srgb, srgb_of_linear
from stash.drawing.canvas import INK, PALE_INK, Canvas, png_of, svg_of
from stash.drawing.lettering import letter_width
from stash.drawing.line_breaks import broken
from stash.wording import counted

__all__ = ["Group", "SheetSwatch", "draw_contact_sheet"]

_COLUMNS, _SIDE, _GAP, _MARGIN = 7, 142.0, 20.0, 44.0
_STRIP = 14.0  # height of the dominant colours under a picture
_PICTURE_PX = 2 * int(_SIDE)
_OF_THE_PICTURE = 0.8  # the middle of a scrap's picture; its rim shows what lay around it
_LABEL, _LABEL_LINE = 15.0, 20.0
_SMALL, _LINE = 12.5, 17.0
_FINE_PX = 100  # type size at which lines are measured
_MANY = 150  # swatches on one sheet; beyond, the sheet is drawn at screen size to stay quick
_LUMINANCE = np.array([0.2126729, 0.7151522, 0.0721750])  # of linear sRGB, IEC 61966-2-1


@dataclass(frozen=True, slots=True)
class SheetSwatch:
    """One cloth on the sheet.

    Attributes
    ----------
    label : str
        Its number or name.
    lines : tuple of str
        Short lines below: colour names, size.
    picture_jpeg : bytes
        A picture of it; empty if there is none, then its colours fill the square.
    colours : tuple of (Lab, float)
        Dominant colours (CIELAB, white D65) and shares.
    note : str
        A remark, such as the reason of a verdict.
    """

    label: str
    lines: tuple[str, ...] = ()
    picture_jpeg: bytes = b""
    colours: tuple[tuple[Lab, float], ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Swatches that stand under one heading; ``counted_as`` is what one of them is."""

    title: str
    items: tuple[SheetSwatch, ...]
    counted_as: str = "fabric"


def draw_contact_sheet(
    groups: Sequence[Group], *, title: str = "", values: bool = False, svg: bool = False
) -> bytes:
    """Draw swatches under headings, as PNG or SVG.

    Parameters
    ----------
    groups : sequence of Group
        In the order they are to stand; empty ones are left out.
    title : str
        Head of the sheet.
    values : bool
        Turn every swatch to the grey of its own L*: how a quilter checks value.
    svg : bool
        SVG instead of PNG.
    """
    shown = [group for group in groups if group.items]
    heights = [[_row_height(row) for row in _rows(group)] for group in shown]
    body = sum(62 + sum(rows) + 18 for rows in heights)
    width = 2 * _MARGIN + _COLUMNS * _SIDE + (_COLUMNS - 1) * _GAP
    canvas = Canvas(width, (96.0 if title else 36.0) + max(body, 60) + 20)
    y = 36.0
    if title:
        room = width - 2 * _MARGIN - (150 if values else 0)
        canvas.text((_MARGIN, y), title, size=30 * min(1.0, room / letter_width(title, 30)))
        if values:
            canvas.text(
                (width - _MARGIN, y + 12), "values (L*)", size=16, fill=PALE_INK, align="right"
            )
        y += 60
    if not shown:
        canvas.text((_MARGIN, y), "Nothing to show.", size=16, fill=PALE_INK)
    for group, rows in zip(shown, heights, strict=True):
        _heading(canvas, group, y)
        y += 62
        for row, height in zip(_rows(group), rows, strict=True):
            for column, swatch in enumerate(row):
                _draw_swatch(canvas, swatch, (_MARGIN + column * (_SIDE + _GAP), y), values)
            y += height
        y += 18
    if svg:
        return svg_of(canvas)
    many = sum(len(group.items) for group in shown) > _MANY
    return png_of(canvas, scale=1.25 if many else 2.0)


def _heading(canvas: Canvas, group: Group, y: float) -> None:
    count = len(group.items)
    canvas.text((_MARGIN, y + 6), group.title, size=21)
    fabrics = counted(count, group.counted_as)
    right = canvas.width - _MARGIN
    canvas.text((right, y + 12), fabrics, size=14, fill=PALE_INK, align="right")
    canvas.line(_MARGIN, y + 40, right, y + 40)


def _rows(group: Group) -> list[tuple[SheetSwatch, ...]]:
    return [group.items[i : i + _COLUMNS] for i in range(0, len(group.items), _COLUMNS)]


def _row_height(row: Sequence[SheetSwatch]) -> float:
    return _SIDE + _STRIP + 26 + max(_text_height(swatch) for swatch in row)


def _text_height(swatch: SheetSwatch) -> float:
    small = len(_lines(swatch)) + len(_note_lines(swatch.note))
    return len(_label_lines(swatch)) * _LABEL_LINE + small * _LINE


def _label_lines(swatch: SheetSwatch) -> list[str]:
    if _label_width(swatch.label) <= _SIDE:
        return [swatch.label]
    return broken(swatch.label, _SIDE, _label_width)


def _lines(swatch: SheetSwatch) -> list[str]:
    """Break the lines below a swatch at its width; a name is never cut where it can wrap."""
    return [part for line in swatch.lines for part in broken(line, _SIDE, _small_width)]


def _small_width(text: str) -> float:
    return letter_width(text, _FINE_PX) * _SMALL / _FINE_PX


def _label_width(text: str) -> float:
    return letter_width(text, _FINE_PX) * _LABEL / _FINE_PX


def _note_lines(note: str) -> list[str]:
    """Break a remark into lines of the swatch's width, four at the most."""
    lines = broken(note, _SIDE + 8, _small_width)
    return lines if len(lines) <= 4 else [*lines[:3], lines[3] + " ..."]


def _draw_swatch(
    canvas: Canvas, swatch: SheetSwatch, at: tuple[float, float], values: bool
) -> None:
    x, y = at
    picture = _picture_of(swatch.picture_jpeg, values)
    if picture is not None:
        canvas.picture(x, y, _SIDE, _SIDE, picture)
    else:
        _bands(canvas, swatch, (x, y, _SIDE, _SIDE), values)
    canvas.frame(x, y, _SIDE, _SIDE)
    _bands(canvas, swatch, (x, y + _SIDE + 3, _SIDE, _STRIP - 3), values)
    y += _SIDE + _STRIP + 8
    for line in _label_lines(swatch):
        canvas.text((x, y), line, size=_LABEL, fill=INK, width=_SIDE)
        y += _LABEL_LINE
    for line in _lines(swatch):
        canvas.text((x, y), line, size=_SMALL, fill=INK, width=_SIDE)
        y += _LINE
    for line in _note_lines(swatch.note):
        canvas.text((x, y), line, size=_SMALL, fill=PALE_INK, width=_SIDE + 8)
        y += _LINE


def _bands(
    canvas: Canvas, swatch: SheetSwatch, box: tuple[float, float, float, float], values: bool
) -> None:
    """Fill a box with the dominant colours, as wide as their shares."""
    x, y, width, height = box
    total = sum(share for _, share in swatch.colours)
    for lab, share in swatch.colours:
        part = width * share / total
        shown = _grey_of(lab) if values else lab
        canvas.rect(x, y, part, height, fill=hex_of_lab(shown))
        x += part


def _grey_of(lab: Lab) -> Lab:
    return (lab[0], 0.0, 0.0)


def _picture_of(jpeg: bytes, values: bool) -> Image.Image | None:
    if not jpeg:
        return None
    with Image.open(io.BytesIO(jpeg)) as opened:
        opened.draft("RGB", (2 * _PICTURE_PX, 2 * _PICTURE_PX))  # decodes hundreds quickly
        image = opened.convert("RGB")
    side = min(image.size) * _OF_THE_PICTURE
    left, top = (image.width - side) / 2, (image.height - side) / 2
    image = image.resize(
        (_PICTURE_PX, _PICTURE_PX),
        Image.Resampling.BILINEAR,
        box=(left, top, left + side, top + side),
        reducing_gap=2.0,
    )
    return _in_values(image) if values else image


def _in_values(image: Image.Image) -> Image.Image:
    """Turn a picture to the greys of its L*; the camera's own grey is not L*."""
    linear = linear_of_srgb(np.arange(256) / 255)[np.asarray(image)]
    levels = np.round(srgb_of_linear(linear @ _LUMINANCE) * 255).astype(np.uint8)
    return Image.fromarray(levels).convert("RGB")
