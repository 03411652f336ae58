"""The colours of a photo of anything, to make a palette of."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from stash.colour.appearance import Appearance
from stash.colour.describing import ClothSample, describe
from stash.colour.spaces import lab_of_srgb
from stash.errors import PhotoError
from stash.photo.cards.card import Card
from stash.photo.cards.card_finding import find_card
from stash.photo.files.reading import read_photo
from stash.photo.light.coding import calibrate_photo

__all__ = ["look_of_photo"]


def look_of_photo(data: bytes, *, name: str, cards: Sequence[Card] = ()) -> Appearance:
    """Give the colours of a whole photo: true ones if a known card lies in it, else as filed.

    Raises
    ------
    UnreadablePhotoError
        If the bytes are no photo.
    """
    photo = read_photo(data, name=name)
    mask = np.ones(photo.pixels.shape[:2], dtype=np.uint8)
    try:
        if not cards:
            raise PhotoError
        found = find_card(photo.pixels, cards)
        pixels, calibration = calibrate_photo(photo, found)
    except PhotoError:
        return describe(ClothSample(photo.pixels_srgb, mask.astype(bool), lab_of_srgb, 1.0))
    cv2.fillConvexPoly(mask, np.round(found.corners_px).astype(np.int32), 0)
    if not mask.any():
        mask[:] = 1
    return describe(
        ClothSample(pixels, mask.astype(bool), calibration.lab_of, 1.0),
        absolute=calibration.absolute,
    )
