"""A logged photo with what was measured on it: outlines, numbers, sizes, swatches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from stash.colour.appearance import ColourShare
from stash.colour.spaces import hex_of_lab
from stash.drawing.label_places import label_places
from stash.drawing.lettering import letter, letter_width
from stash.drawing.line_breaks import broken
from stash.drawing.photo_view import to_pixels
from stash.scrap import PhotoView
from stash.shape.plane.outline import Outline, Ring
from stash.units import size_words

__all__ = ["Outlined", "draw_photo", "draw_with_words"]

_LONG_SIDE_PX = 1600
_LINE, _HALO, _INK, _PAPER = "#ffffff", "#14181c", "#14181c", "#fbfaf7"
_SWATCH_PX, _LETTER_PX = 16, 19


@dataclass(frozen=True, slots=True)
class Outlined:
    """A scrap to draw: its number (or another short label), outline and dominant colours."""

    label: str
    outline: Outline
    colours: tuple[ColourShare, ...]


def draw_photo(
    pixels_srgb: NDArray[np.uint8],
    view: PhotoView,
    scraps: Sequence[Outlined],
    *,
    unit: str = "in",
) -> bytes:
    """Draw outlines and labels on a photo; JPEG, 1600 px on its long side.

    Parameters
    ----------
    pixels_srgb : uint8, shape (height, width, 3)
        The upright photo.
    view : PhotoView
        Inches to pixels.
    scraps : sequence of Outlined
        In the card's frame, inches.
    unit : str
        Sizes are written in ``in`` or ``cm``.
    """
    image, scale = _smaller(pixels_srgb)
    draw = ImageDraw.Draw(image)
    rings = [_on_picture(view, scrap.outline.points, scale) for scrap in scraps]
    for scrap, border in zip(scraps, rings, strict=True):
        for line in (border, *(_on_picture(view, hole, scale) for hole in scrap.outline.holes)):
            draw.line([*line, line[0]], fill=_HALO, width=7, joint="curve")
            draw.line([*line, line[0]], fill=_LINE, width=3, joint="curve")
    labels = [_label_of(scrap, unit) for scrap in scraps]
    places = label_places(
        [np.array(ring) for ring in rings], [label.size for label in labels], image.size
    )
    for label, at in zip(labels, places, strict=True):
        _draw_label(draw, label, at)
    return _jpeg(image)


def draw_with_words(
    pixels_srgb: NDArray[np.uint8],
    words: str,
    squares_px: Sequence[tuple[float, float, float]] = (),
) -> bytes:
    """Draw a photo that was not logged, with the reason under it; JPEG.

    Parameters
    ----------
    squares_px : sequence of (x, y, side)
        What was taken for squares of a card, pixels of the photo; they are framed.
    """
    image, scale = _smaller(pixels_srgb)
    frames = ImageDraw.Draw(image)
    for x, y, side in squares_px:
        half = side * scale / 2 + 2
        middle_x, middle_y = x * scale, y * scale
        box = [middle_x - half, middle_y - half, middle_x + half, middle_y + half]
        frames.rectangle(box, outline=_HALO, width=4)
        frames.rectangle(box, outline=_LINE, width=2)
    lines = broken(words, image.width - 60, lambda line: letter_width(line, 26))
    sheet = Image.new("RGB", (image.width, image.height + 40 + 36 * len(lines)), _PAPER)
    sheet.paste(image, (0, 0))
    draw = ImageDraw.Draw(sheet)
    for index, line in enumerate(lines):
        at = (30, image.height + 20 + 36 * index)
        letter(draw, at, line, size_px=26, fill=_INK)
    return _jpeg(sheet)


def _smaller(pixels_srgb: NDArray[np.uint8]) -> tuple[Image.Image, float]:
    image = Image.fromarray(pixels_srgb)
    scale = min(1.0, _LONG_SIDE_PX / max(image.size))
    size = (round(image.width * scale), round(image.height * scale))
    return image.resize(size, Image.Resampling.BOX, reducing_gap=2.0), scale


def _on_picture(view: PhotoView, ring: Ring, scale: float) -> list[tuple[float, float]]:
    return [(float(x) * scale, float(y) * scale) for x, y in to_pixels(view, np.array(ring))]


@dataclass(frozen=True, slots=True)
class _Label:
    """Two lines of words over a bar of colours."""

    lines: tuple[str, str]
    colours: tuple[ColourShare, ...]
    width: float

    @property
    def size(self) -> tuple[float, float]:
        """Width and height, pixels."""
        return self.width + 20, 2 * 24 + _SWATCH_PX + 18


def _label_of(scrap: Outlined, unit: str) -> _Label:
    lines = (scrap.label, size_words(*scrap.outline.least_box_in(), unit=unit))
    widths = [letter_width(line, _LETTER_PX) for line in lines]
    return _Label(lines, scrap.colours, max(*widths, _SWATCH_PX * len(scrap.colours)))


def _draw_label(draw: ImageDraw.ImageDraw, label: _Label, at: tuple[float, float]) -> None:
    (left, top), (wide, high) = at, label.size
    draw.rounded_rectangle(
        [left, top, left + wide, top + high], radius=8, fill=_PAPER, outline=_HALO, width=1
    )
    for row, line in enumerate(label.lines):
        letter(draw, (left + 10, top + 5 + 24 * row), line, size_px=_LETTER_PX, fill=_INK)
    x, y = left + 10, top + 56
    for colour in label.colours:
        step = label.width * colour.share
        draw.rectangle([x, y, x + step, y + _SWATCH_PX], fill=hex_of_lab(colour.lab))
        x += step
    draw.rectangle([left + 10, y, left + 10 + label.width, y + _SWATCH_PX], outline=_HALO, width=1)


def _jpeg(image: Image.Image) -> bytes:
    out = BytesIO()
    image.save(out, "JPEG", quality=88)
    return out.getvalue()
