"""The border of a card, so that it can be cut out of the photo."""

from __future__ import annotations

import numpy as np

from stash.colour.spaces import FloatArray
from stash.photo.cards.card import Card
from stash.photo.cards.patch_edges import project
from stash.photo.files.reading import PixelsU8

__all__ = ["card_corners"]

_LEAST, _MOST = 0.5, 1.35  # of the pitch, from the outermost patch centres to the border; a step
# further out is something else, as beside a dark frame on a dark board
_USUAL = 0.85
_GENEROUS = 0.06
_LEVELS = 25  # grey levels from the frame to what lies around it


def card_corners(pixels: PixelsU8, image_from_card: FloatArray, card: Card) -> FloatArray:
    """Give the card's four corners in pixels (4, 2), in order round it, slightly generous."""
    centres = card.patch_centres_in
    low, high = centres.min(axis=0), centres.max(axis=0)
    sides = [
        _border(pixels, image_from_card, card, axis, sign) for axis in (0, 1) for sign in (-1, 1)
    ]
    left, right, bottom, top = (value * card.pitch_in for value in sides)
    corners = np.array(
        [
            (low[0] - left, high[1] + top),
            (high[0] + right, high[1] + top),
            (high[0] + right, low[1] - bottom),
            (low[0] - left, low[1] - bottom),
        ]
    )
    return project(image_from_card, corners)


def _border(
    pixels: PixelsU8, image_from_card: FloatArray, card: Card, axis: int, sign: int
) -> float:
    """Give how far, in pitches, the dark frame reaches past the outermost patch centres."""
    centres = card.patch_centres_in
    half = np.abs(centres).max(axis=0)
    out = np.arange(_LEAST, _MOST, 0.02)
    along = np.linspace(-half[1 - axis], half[1 - axis], 41)
    points = np.empty((len(along), len(out), 2))
    points[..., axis] = sign * (half[axis] + out * card.pitch_in)
    points[..., 1 - axis] = along[:, None]
    columns, rows = np.rint(project(image_from_card, points.reshape(-1, 2))).astype(int).T
    height, width = pixels.shape[:2]
    seen = pixels[np.clip(rows, 0, height - 1), np.clip(columns, 0, width - 1)]
    profile = np.median(seen.reshape(len(along), len(out), 3).astype(float), axis=0)
    frame = np.median(profile[:4], axis=0)
    away = np.abs(profile - frame).max(axis=1) > _LEVELS
    lasting = away[:-4] & away[4:]
    return float(out[np.argmax(lasting)] + _GENEROUS) if lasting.any() else _USUAL
