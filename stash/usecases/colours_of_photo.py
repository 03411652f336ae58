"""The colours of a photo of anything, to make a palette of."""

from __future__ import annotations

import numpy as np

from stash.colour.appearance import Appearance
from stash.colour.describing import ClothSample, describe
from stash.colour.spaces import lab_of_srgb
from stash.photo.reading import read_photo

__all__ = ["look_of_photo"]


def look_of_photo(data: bytes, *, name: str) -> Appearance:
    """Give the colours of a whole photo as its file says them.

    Raises
    ------
    UnreadablePhotoError
        If the bytes are no photo.
    """
    photo = read_photo(data, name=name)
    mask = np.ones(photo.pixels_srgb.shape[:2], dtype=bool)
    return describe(ClothSample(photo.pixels_srgb, mask, lab_of_srgb, px_per_in=1.0))
