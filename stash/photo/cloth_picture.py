"""Cloth from a picture of the cloth alone: a close-up, or what a shop shows of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import cv2
import numpy as np

from stash.colour.appearance import Appearance
from stash.colour.describing import ClothSample, describe
from stash.colour.spaces import lab_of_srgb
from stash.errors import MeasureError
from stash.photo.files.reading import Photo, PixelsU8
from stash.photo.swatch import jpeg_of

__all__ = ["PICTURE_ERROR_DE00", "PicturedCloth", "pictured_cloth"]

# What is said of colours that are taken as the file says, CIEDE2000; a judgement: about that of a
# good photo with a card. What a shop's lamps and screens did before the file cannot be seen in it.
PICTURE_ERROR_DE00 = 1.5
_LONG_SIDE_PX = 512
_SCALES_PX_PER_IN = (4.0, 10_000.0)  # coarser shows no print, finer is a microscope's


@dataclass(frozen=True, slots=True)
class PicturedCloth:
    """What a picture tells of a cloth.

    Attributes
    ----------
    appearance : Appearance
        Its looks. Without a scale no repeat is known.
    picture_jpeg : bytes
        The cloth as large as the scrap, from the middle of the picture; repeated in mirror image
        where the picture shows less of it.
    px_per_in : float
        Scale of ``picture_jpeg``.
    """

    appearance: Appearance
    picture_jpeg: bytes = field(repr=False)
    px_per_in: float


def pictured_cloth(
    photo: Photo, size_in: tuple[float, float], *, px_per_in: float | None = None
) -> PicturedCloth:
    """Say what the cloth that fills a picture looks like, its colours taken as the file says.

    Parameters
    ----------
    photo : Photo
        As ``stash.photo.files.reading`` gives it: upright, turned to sRGB by its colour profile.
    size_in : tuple of two floats
        Width and height of the scrap, inches.
    px_per_in : float or None
        Scale of the picture. Without it the picture is shown as if it just covered the scrap.

    Raises
    ------
    MeasureError
        If no picture of cloth has that scale.
    """
    pixels = photo.pixels_srgb
    low, high = _SCALES_PX_PER_IN
    if px_per_in is not None and not low <= px_per_in <= high:
        raise MeasureError(
            f"A picture of cloth cannot have {px_per_in:g} pixels to the inch; count the pixels "
            f"along one inch of cloth, {low:g} to {high:g}, or leave the scale out."
        )
    scale = px_per_in or min(pixels.shape[1] / size_in[0], pixels.shape[0] / size_in[1])
    whole = np.ones(pixels.shape[:2], dtype=np.bool_)
    looks = describe(
        ClothSample(pixels, whole, lab_of_srgb, px_per_in=scale), error_de00=PICTURE_ERROR_DE00
    )
    if px_per_in is None:
        looks = replace(looks, repeat_in=None, repeat_sure=False)
    shown_at = min(scale, _LONG_SIDE_PX / max(size_in))
    shown = _as_large_as(_smaller(pixels, shown_at / scale), size_in, shown_at)
    shown_bgr = np.asarray(cv2.cvtColor(shown, cv2.COLOR_RGB2BGR), dtype=np.uint8)
    return PicturedCloth(looks, jpeg_of(shown_bgr), shown_at)


def _smaller(pixels: PixelsU8, factor: float) -> PixelsU8:
    size = (max(1, round(pixels.shape[1] * factor)), max(1, round(pixels.shape[0] * factor)))
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


def _as_large_as(pixels: PixelsU8, size_in: tuple[float, float], px_per_in: float) -> PixelsU8:
    for axis, length_in in enumerate(reversed(size_in)):
        wanted, there = max(1, round(length_in * px_per_in)), pixels.shape[axis]
        first = (there - wanted) // 2
        # Walked to and fro, as between two mirrors: no seam shows where the picture begins again.
        there_and_back = np.mod(np.arange(first, first + wanted), 2 * there)
        pixels = pixels.take(np.minimum(there_and_back, 2 * there - 1 - there_and_back), axis=axis)
    return pixels
