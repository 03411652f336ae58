"""How far the paper of the printed card reaches: letter or A4."""

from __future__ import annotations

import numpy as np

from stash.colour.spaces import FloatArray
from stash.photo.cards.patch_edges import project
from stash.photo.cards.printed_card import CARD_ABOVE_MIDDLE_IN
from stash.photo.files.reading import PixelsU8

__all__ = ["page_outline_px"]

_LETTER_IN, _A4_IN = (11.0, 8.5), (297 / 25.4, 210 / 25.4)  # lying on the long side
_ALIKE = 20  # of 255: paper differs less across a page
# Strips (x, y) along both short sides: on the letter page, and beyond it where A4 goes on.
_ALONG_IN = np.linspace(-2.0, 2.0, 15)
_ON_LETTER_IN, _BEYOND_LETTER_IN = 5.2, 5.67


def page_outline_px(pixels: PixelsU8, image_from_card: FloatArray) -> FloatArray:
    """Give the corners (4, 2) of the paper in the photo, in order round it.

    Parameters
    ----------
    pixels : uint8, shape (height, width, 3)
        The photo at full size.
    image_from_card : float64, shape (3, 3)
        From the card's frame, inches.
    """
    width_in, height_in = _A4_IN if _goes_on(pixels, image_from_card) else _LETTER_IN
    half, top = width_in / 2, height_in / 2 - CARD_ABOVE_MIDDLE_IN
    bottom = -height_in / 2 - CARD_ABOVE_MIDDLE_IN
    corners_in = np.array([(-half, top), (half, top), (half, bottom), (-half, bottom)])
    return project(image_from_card, corners_in)


def _goes_on(pixels: PixelsU8, image_from_card: FloatArray) -> bool:
    """Whether both short sides show the same paper beyond where a letter page ends."""
    return all(
        np.abs(
            _colour(pixels, image_from_card, side * _ON_LETTER_IN)
            - _colour(pixels, image_from_card, side * _BEYOND_LETTER_IN)
        ).max()
        < _ALIKE
        for side in (-1, 1)
    )


def _colour(pixels: PixelsU8, image_from_card: FloatArray, x_in: float) -> FloatArray:
    """Median colour along a line; far from any where it leaves the photo."""
    along = np.column_stack([np.full(len(_ALONG_IN), x_in), _ALONG_IN])
    columns, rows = np.rint(project(image_from_card, along)).astype(int).T
    inside = (columns >= 0) & (rows >= 0) & (columns < pixels.shape[1]) & (rows < pixels.shape[0])
    if not inside.any():
        return np.full(3, np.inf)
    return np.asarray(np.median(pixels[rows[inside], columns[inside]], axis=0), dtype=np.float64)
