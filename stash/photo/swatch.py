"""A scrap's picture: laid flat in the card's frame, in true colours, small."""

from __future__ import annotations

import io
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from stash.photo.plane import Plane
from stash.shape.outline import Outline

__all__ = ["Swatch", "colour_table", "cut_swatch"]

_LONG_SIDE_PX = 512
_MARGIN_IN = 0.12
_QUALITY = 88


@dataclass(frozen=True)
class Swatch:
    """A JPEG of a scrap as it lies in the photo, not mirrored.

    Attributes
    ----------
    jpeg : bytes
        The picture; x of the card's frame runs to the right, y down.
    px_per_in : float
        Scale.
    left_in, top_in : float
        Least x and least y of the picture in the card's frame.
    """

    jpeg: bytes
    px_per_in: float
    left_in: float
    top_in: float


def colour_table(lut: NDArray[np.float32]) -> ImageFilter.Color3DLUT:
    """Make Pillow's colour table of a calibration's ``lut3d``."""
    return ImageFilter.Color3DLUT(len(lut), lut.ravel().tolist())


def cut_swatch(
    pixels_srgb: NDArray[np.uint8],
    outline: Outline,
    plane: Plane,
    table: ImageFilter.Color3DLUT,
) -> Swatch:
    """Cut a scrap out of the photo, lay it flat and give it its true colours."""
    low_x, low_y, high_x, high_y = outline.bounds
    left, top = low_x - _MARGIN_IN, low_y - _MARGIN_IN
    width, height = high_x - low_x + 2 * _MARGIN_IN, high_y - low_y + 2 * _MARGIN_IN
    middle = np.array([(low_x + high_x) / 2, (low_y + high_y) / 2])
    scale = min(_LONG_SIDE_PX / max(width, height), plane.px_per_in(middle))
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    right, bottom = left + width, top + height
    corners_in = np.array([[left, top], [right, top], [right, bottom], [left, bottom]])
    corners_px = plane.to_pixels(corners_in)
    crop, origin, factor = _small_crop(pixels_srgb, corners_px, plane.px_per_in(middle) / scale)
    source = ((corners_px - origin + 0.5) * factor - 0.5).astype(np.float32)
    goal = np.array([[0, 0], [size[0], 0], list(size), [0, size[1]]], dtype=np.float32) - 0.5
    turn = cv2.getPerspectiveTransform(source, goal.astype(np.float32))
    flat = cv2.warpPerspective(crop, turn, size, borderMode=cv2.BORDER_REPLICATE)
    buffer = io.BytesIO()
    Image.fromarray(flat).filter(table).save(buffer, "JPEG", quality=_QUALITY)
    return Swatch(buffer.getvalue(), scale, left, top)


def _small_crop(
    pixels: NDArray[np.uint8], corners_px: NDArray[np.float64], times_too_large: float
) -> tuple[NDArray[np.uint8], NDArray[np.int_], NDArray[np.float64]]:
    """Crop the photo and average it down to near the picture's scale, so that threads do not jag.

    Gives the crop, its origin in the photo and the factors (x, y) it was scaled by.
    """
    height, width = pixels.shape[:2]
    low = np.clip(np.floor(corners_px.min(axis=0)).astype(int) - 2, 0, [width - 2, height - 2])
    high = np.clip(np.ceil(corners_px.max(axis=0)).astype(int) + 3, low + 2, [width, height])
    crop = pixels[low[1] : high[1], low[0] : high[0]]
    if times_too_large <= 1.2:
        return crop, low, np.ones(2)
    wide, tall = high - low
    size = (max(1, round(wide / times_too_large)), max(1, round(tall / times_too_large)))
    small = cv2.resize(crop, size, interpolation=cv2.INTER_AREA)
    return np.asarray(small, dtype=np.uint8), low, np.array([size[0] / wide, size[1] / tall])
