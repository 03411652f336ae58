"""A scrap's picture: laid flat in the card's frame, in true colours, small."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray
from stash.photo.inches.plane import Plane
from stash.shape.plane.outline import Outline

__all__ = ["ColourTable", "Swatch", "colour_table", "cut_swatch", "jpeg_of"]

_LONG_SIDE_PX = 512
_MARGIN_IN = 0.12
_QUALITY = 88
_CELL = 4  # levels of a channel that one entry of the colour table serves
_CELLS = 256 // _CELL


@dataclass(frozen=True)
class Swatch:
    """A JPEG of a scrap as it is seen from above.

    Attributes
    ----------
    jpeg : bytes
        The picture; x of the card's frame runs to the right, y up.
    px_per_in : float
        Scale.
    left_in, top_in : float
        Card-frame inches of the picture's upper left corner: its least x and greatest y.
    """

    jpeg: bytes
    px_per_in: float
    left_in: float
    top_in: float


@dataclass(frozen=True, eq=False)
class ColourTable:
    """True colours for whole pictures, one entry for every four levels of each channel.

    Within an entry's cell a colour moves as the photo's does, so that no steps are seen.

    Attributes
    ----------
    entries : uint32, shape (64 * 64 * 64,)
        Four bytes each: blue, green, red at the cell's least levels; the last is not used.
    """

    entries: NDArray[np.uint32]

    def applied_bgr(self, pixels_srgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """Give a picture's true colours, blue first, as JPEG is written."""
        cell = np.zeros(pixels_srgb.shape[:2], np.int32)
        for channel, place in zip(cv2.split(pixels_srgb), _PLACES, strict=True):
            cell += np.asarray(cv2.LUT(channel, place), dtype=np.int32)
        true = self.entries.take(cell, mode="clip").view(np.uint8).reshape(*cell.shape, 4)
        within = cv2.cvtColor(pixels_srgb & np.uint8(_CELL - 1), cv2.COLOR_RGB2BGR)
        return np.asarray(cv2.add(cv2.cvtColor(true, cv2.COLOR_BGRA2BGR), within), dtype=np.uint8)


# What each level of red, green and blue adds to the place of its entry.
_PLACES = [(np.arange(256, dtype=np.int32) // _CELL) * _CELLS**power for power in range(3)]


def colour_table(lut: FloatArray | NDArray[np.float32]) -> ColourTable:
    """Make the table of a calibration's ``lut3d``, which is read between its entries."""
    middles = (np.arange(_CELLS) + 0.5) * _CELL - 0.5
    size = len(lut)
    at = middles / 255 * (size - 1)
    weights = np.maximum(0, 1 - np.abs(at[:, None] - np.arange(size))).astype(np.float32)
    table = lut  # blue, green, red, colour; the axis in front is read, then goes to the back
    for _ in range(3):
        table = np.tensordot(table, weights, axes=(0, 1))
    red, green, blue = (  # each laid out by blue, green, red; the cast rounds and clips
        cv2.addWeighted(plane, 255, plane, 0, -(_CELL - 1) / 2, dtype=cv2.CV_8U)
        for plane in table.reshape(3, _CELLS, -1).astype(np.float32)
    )
    entries = np.asarray(cv2.merge([blue, green, red, blue]), dtype=np.uint8)
    return ColourTable(entries.view(np.uint32).ravel())


def cut_swatch(
    pixels_srgb: NDArray[np.uint8], outline: Outline, plane: Plane, table: ColourTable
) -> Swatch:
    """Cut a scrap out of the photo, lay it flat and give it its true colours."""
    low_x, low_y, high_x, high_y = outline.bounds
    left, top = low_x - _MARGIN_IN, high_y + _MARGIN_IN
    width, height = high_x - low_x + 2 * _MARGIN_IN, high_y - low_y + 2 * _MARGIN_IN
    middle = np.array([(low_x + high_x) / 2, (low_y + high_y) / 2])
    scale_there = plane.px_per_in(middle)
    scale = min(_LONG_SIDE_PX / max(width, height), scale_there)
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    right, bottom = left + width, top - height
    corners_in = np.array([[left, top], [right, top], [right, bottom], [left, bottom]])
    corners_px = plane.to_pixels(corners_in)
    crop, origin, factor = _small_crop(pixels_srgb, corners_px, scale_there / scale)
    source = ((corners_px - origin + 0.5) * factor - 0.5).astype(np.float32)
    goal = np.array([[0, 0], [size[0], 0], list(size), [0, size[1]]], dtype=np.float32) - 0.5
    turn = cv2.getPerspectiveTransform(source, goal.astype(np.float32))
    four = cv2.cvtColor(crop, cv2.COLOR_RGB2RGBA)  # laid flat in half the time of three channels
    flat = cv2.warpPerspective(four, turn, size, borderMode=cv2.BORDER_REPLICATE)
    rgb = np.asarray(cv2.cvtColor(flat, cv2.COLOR_RGBA2RGB), dtype=np.uint8)
    true = table.applied_bgr(rgb)
    return Swatch(jpeg_of(true), scale, left, top)


def jpeg_of(pixels_bgr: NDArray[np.uint8]) -> bytes:
    """Give a scrap's picture as it is kept."""
    _, jpeg = cv2.imencode(".jpg", pixels_bgr, [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
    return jpeg.tobytes()


def _small_crop(
    pixels: NDArray[np.uint8], corners_px: FloatArray, times_too_large: float
) -> tuple[NDArray[np.uint8], NDArray[np.int_], float]:
    """Crop the photo and smooth it as far as the picture is smaller, so that threads do not jag.

    Gives the crop, its origin in the photo and the factor it was scaled by.
    """
    height, width = pixels.shape[:2]
    low = np.clip(np.floor(corners_px.min(axis=0)).astype(int) - 2, 0, [width - 2, height - 2])
    high = np.clip(np.ceil(corners_px.max(axis=0)).astype(int) + 3, low + 2, [width, height])
    crop = pixels[low[1] : high[1], low[0] : high[0]]
    # Averaging whole pixels is several times faster than parts of them.
    whole = max(1, min(int(times_too_large), *(high - low).tolist()))
    if whole > 1:
        size = (high - low) // whole
        crop = crop[: size[1] * whole, : size[0] * whole]
        crop = np.asarray(cv2.resize(crop, tuple(size), interpolation=cv2.INTER_AREA))
    rest = times_too_large / whole
    if rest > 1.2:  # a blur as wide as the average would be, in a quarter of its time
        crop = np.asarray(cv2.GaussianBlur(crop, (3, 3), rest / 12**0.5))
    return crop, low, 1 / whole
