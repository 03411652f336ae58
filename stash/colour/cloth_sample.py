"""The pixels of one scrap, and which of them to look at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeAlias

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray, linear_of_srgb, srgb_of_linear

__all__ = [
    "Calibrate",
    "Cloth",
    "ClothSample",
    "Pixels",
    "close_look",
    "cropped",
    "spread_pixels",
    "taken",
]

Pixels: TypeAlias = NDArray[np.uint8]
Calibrate: TypeAlias = Callable[[FloatArray], FloatArray]

_BORDER_PX = 2  # pixels along the mask's edge mix cloth and backing
_FINEST_PX_PER_IN = 250.0  # finer, the shadows between threads would count as colours
_TILE_PX = 96
_TILES_PX = 200_000  # pixels of cloth looked at closely
_SPREAD_PX = 40_000  # pixels spread over the whole cloth, for means and shares
# Linear light in 16 bits for every level of sRGB: averages of these are true averages.
_LINEAR_16 = np.round(linear_of_srgb(np.arange(256) / 255) * 65535).astype(np.uint16)
_LEVEL_OF_LINEAR = np.round(srgb_of_linear(np.arange(65536) / 65535) * 255).astype(np.uint8)


@dataclass(frozen=True)
class ClothSample:
    """The pixels of one scrap as photographed, and how to read them.

    Attributes
    ----------
    pixels_srgb : uint8, shape (h, w, 3)
        A crop of the photo around the scrap.
    mask : bool, shape (h, w)
        True on the scrap.
    calibrate : callable
        Turns sRGB as photographed (n, 3), 0..1, into true CIELAB, white D65 (n, 3).
    px_per_in : float
        Scale of the crop.
    to_inches : callable or None
        Turns pixels of the crop (n, 2), x right and y down, into inches of the card's frame, y up.
        None: cloth seen straight from above, the crop's x axis that of its frame.
    """

    pixels_srgb: Pixels
    mask: NDArray[np.bool_]
    calibrate: Calibrate
    px_per_in: float
    to_inches: Calibrate | None = None

    def direction_in_frame(self, lines_deg: float, at_px: FloatArray) -> float:
        """Give the direction in the frame, 0..180, of lines seen at a place of the crop.

        ``lines_deg`` is their direction there, degrees counter-clockwise from the crop's x axis.
        """
        if self.to_inches is None:
            return lines_deg % 180
        turn = np.radians(lines_deg)
        half = np.array([np.cos(turn), -np.sin(turn)]) / 2  # a pixel's y runs down
        ends = self.to_inches(np.stack([at_px - half, at_px + half]))
        across, up = ends[1] - ends[0]
        return float(np.degrees(np.arctan2(up, across)) % 180)

    def __post_init__(self) -> None:
        """Refuse arrays that do not go together."""
        shape = self.pixels_srgb.shape
        if len(shape) != 3 or shape[2] != 3 or self.pixels_srgb.dtype != np.uint8:
            raise ValueError(f"pixels must be (h, w, 3) uint8, got {shape}")
        if self.mask.shape != shape[:2]:
            raise ValueError(f"the mask is {self.mask.shape}, the pixels are {shape[:2]}")
        if not self.mask.any():
            raise ValueError("the mask is empty")


@dataclass(frozen=True)
class Cloth:
    """A cloth cropped to its mask; ``mask`` keeps off the border.

    ``corner_px`` is where its upper left pixel lies in the sample, each of its pixels as wide as
    ``coarse`` of those.
    """

    srgb: Pixels
    mask: NDArray[np.bool_]
    px_per_in: float
    corner_px: tuple[int, int] = (0, 0)
    coarse: float = 1.0

    def in_sample(self, at_px: tuple[float, float]) -> FloatArray:
        """Give the sample's pixel (2,) that lies at a pixel of the cloth."""
        corner = np.array(self.corner_px, dtype=np.float64)
        return np.asarray(corner + (np.array(at_px) + 0.5) * self.coarse - 0.5)


def cropped(sample: ClothSample) -> Cloth:
    """Crop to the mask, keep off its border, and average down very fine photos."""
    rows, columns = np.flatnonzero(sample.mask.any(axis=1)), np.flatnonzero(sample.mask.any(axis=0))
    crop = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    pixels = np.ascontiguousarray(sample.pixels_srgb[crop])
    mask = sample.mask[crop].astype(np.uint8)
    factor = sample.px_per_in / _FINEST_PX_PER_IN
    if factor > 1.4 and min(mask.shape) > 8 * factor:
        size = tuple(max(1, round(side / factor)) for side in mask.shape[::-1])
        linear = cv2.resize(_LINEAR_16[pixels], size, interpolation=cv2.INTER_AREA)
        pixels = _LEVEL_OF_LINEAR[linear]
        mask = (cv2.resize(mask * 255, size, interpolation=cv2.INTER_AREA) > 250).astype(np.uint8)
    else:
        factor = 1.0
    kernel = np.ones((2 * _BORDER_PX + 1,) * 2, np.uint8)
    inner = cv2.erode(mask, kernel, borderType=cv2.BORDER_CONSTANT, borderValue=0)
    area = np.count_nonzero(inner)
    if area < 50 or area < 0.2 * np.count_nonzero(mask):
        inner = mask if mask.any() else np.ones_like(mask)
    corner = (int(columns[0]), int(rows[0]))
    return Cloth(pixels, inner.astype(bool), sample.px_per_in / factor, corner, factor)


def spread_pixels(cloth: Cloth, rng: np.random.Generator) -> Pixels:
    """Take pixels from all over the cloth, one at random from each small square; (n, 3).

    A regular grid would beat with the repeat of a stripe; free choice would be less even.
    """
    step = (np.count_nonzero(cloth.mask) / _SPREAD_PX) ** 0.5
    height, width = cloth.mask.shape
    if step > 1:
        squares = (max(1, int(height / step)), max(1, int(width / step)))
        row, column = (
            np.minimum((first + rng.random(squares, dtype=np.float32)) * step, end).astype(np.int32)
            for first, end in zip(
                np.ogrid[: squares[0], : squares[1]], (height - 1, width - 1), strict=True
            )
        )
        spot = (row * width + column).ravel()
        inside = spot[cloth.mask.ravel().take(spot)]
        if len(inside):
            return taken(cloth.srgb, inside)
    return taken(cloth.srgb, np.flatnonzero(cloth.mask))


def taken(srgb: Pixels, places: NDArray[np.integer]) -> Pixels:
    """Pixels (n, 3) at flat places; several times faster than picking by mask."""
    return np.asarray(srgb.reshape(-1, 3).take(places, axis=0), dtype=np.uint8)


def close_look(cloth: Cloth, rng: np.random.Generator) -> tuple[Pixels, NDArray[np.bool_]]:
    """Give enough of the cloth at full sharpness: all of it, or tiles from all over.

    Returns
    -------
    pixels : uint8, shape (h, w, 3)
        The cloth, or its tiles one below the other.
    mask : bool, shape (h, w)
        True on cloth; false on the rim of each tile, where neighbours do not belong together.
    """
    if np.count_nonzero(cloth.mask) <= _TILES_PX:
        return cloth.srgb, cloth.mask
    height, width = (side // _TILE_PX * _TILE_PX for side in cloth.mask.shape)
    if not (height and width):
        return cloth.srgb, cloth.mask
    filled = _filled(cloth.mask[:height, :width])
    order = rng.permutation(np.flatnonzero(filled > _TILE_PX**2 // 3))
    if not len(order):
        return cloth.srgb, cloth.mask
    chosen = order[: int(np.searchsorted(np.cumsum(filled[order]), _TILES_PX)) + 1]
    pixels, mask = (_in_tiles(each, chosen) for each in (cloth.srgb, cloth.mask))
    mask[:, [0, -1], :] = mask[:, :, [0, -1]] = False
    return pixels.reshape(-1, _TILE_PX, 3), mask.reshape(-1, _TILE_PX)


def _filled(mask: NDArray[np.bool_]) -> NDArray[np.integer]:
    """Count the cloth's pixels in each tile, row by row."""
    sums = cv2.integral(mask.astype(np.uint8))[::_TILE_PX, ::_TILE_PX]
    return np.asarray(np.diff(np.diff(sums, axis=0), axis=1).ravel())


def _in_tiles(picture: NDArray[Any], chosen: NDArray[np.intp]) -> NDArray[Any]:
    """Cut out the chosen tiles (n, tile, tile, ...)."""
    rows, columns = picture.shape[0] // _TILE_PX, picture.shape[1] // _TILE_PX
    whole = picture[: rows * _TILE_PX, : columns * _TILE_PX]
    split = whole.reshape(rows, _TILE_PX, columns, _TILE_PX, *picture.shape[2:])
    return np.asarray(split.swapaxes(1, 2)[np.divmod(chosen, columns)])
