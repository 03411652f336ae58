"""Which coding of a photo's colours the card speaks for: the file's own wide one, or sRGB.

Most phones render into the wide space they save in, and what sRGB cannot hold is still there. Some
files were cut to sRGB first and only coded wide afterwards: their channels end where sRGB's end,
and in the wide coding that bend looks like nothing a camera does.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from PIL import Image

from stash.errors import PhotoError
from stash.photo.cards.card import FoundCard
from stash.photo.files.colour_profile import OwnColours
from stash.photo.files.reading import Photo, PixelsU8
from stash.photo.light.calibration import Calibration, calibrate

__all__ = ["calibrate_photo"]

_TOP = 251 / 255  # at or above, a square may be burnt out


def calibrate_photo(photo: Photo, found: FoundCard) -> tuple[PixelsU8, Calibration]:
    """Fit a camera to a card found in a photo's own pixels, in the coding that fits it better.

    Returns
    -------
    pixels : uint8, shape (height, width, 3)
        The photo in the coding chosen.
    calibration : Calibration
        Made for it.

    Raises
    ------
    PhotoError
        As `calibrate`.
    """
    own = calibrate(found)
    if photo.own is None:
        return photo.pixels, own
    try:
        plain = calibrate(_in_srgb(found, photo.own))
    except PhotoError:  # too much of the card lies beyond sRGB
        return photo.pixels, own
    if own.error_de00 <= plain.error_de00:
        return photo.pixels, own
    return photo.pixels_srgb, plain


def _in_srgb(found: FoundCard, own: OwnColours) -> FoundCard:
    levels = np.rint(255 * found.patch_srgb).astype(np.uint8)
    srgb = np.asarray(own.to_srgb(Image.fromarray(levels[None])))[0] / 255
    clipped = found.clipped | (srgb >= _TOP).any(axis=1)
    return replace(found, patch_srgb=srgb, clipped=clipped, usable=found.usable & ~clipped)
