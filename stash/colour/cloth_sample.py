"""The pixels of one scrap, made small enough to look at closely without losing its colours."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray, linear_of_srgb, srgb_of_linear

__all__ = ["Calibrate", "ClothSample", "Pixels", "SmallCloth", "shrink"]

Pixels: TypeAlias = NDArray[np.uint8]
Calibrate: TypeAlias = Callable[[FloatArray], FloatArray]

_LONG_SIDE_PX = 512  # of the picture that colours are taken from
_BORDER_PX = 2  # pixels along the mask's edge mix cloth and backing
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
    x_axis_deg : float
        Direction of the crop's x axis in the card's frame, degrees counter-clockwise.
    """

    pixels_srgb: Pixels
    mask: NDArray[np.bool_]
    calibrate: Calibrate
    px_per_in: float
    x_axis_deg: float = 0.0

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
class SmallCloth:
    """A cloth shrunk by averaging in linear light; ``mask`` keeps off the border."""

    srgb: Pixels
    mask: NDArray[np.bool_]
    px_per_in: float


def shrink(sample: ClothSample) -> SmallCloth:
    """Crop to the mask and average down to 512 px on the long side, in linear light."""
    rows, columns = np.flatnonzero(sample.mask.any(axis=1)), np.flatnonzero(sample.mask.any(axis=0))
    top, left = rows[0], columns[0]
    crop = np.s_[top : rows[-1] + 1, left : columns[-1] + 1]
    pixels, mask = sample.pixels_srgb[crop], sample.mask[crop].astype(np.uint8)
    factor = max(mask.shape) / _LONG_SIDE_PX
    if factor > 1:
        size = tuple(max(1, round(side / factor)) for side in mask.shape[::-1])
        linear = cv2.resize(_LINEAR_16[pixels], size, interpolation=cv2.INTER_AREA)
        pixels = _LEVEL_OF_LINEAR[linear]
        mask = (cv2.resize(mask * 255, size, interpolation=cv2.INTER_AREA) > 250).astype(np.uint8)
    inner = cv2.erode(mask, np.ones((3, 3), np.uint8), iterations=_BORDER_PX, borderValue=0)
    if inner.sum() < 50 or inner.sum() < 0.2 * mask.sum():
        inner = mask
    if not inner.any():
        inner = np.ones_like(mask)
    return SmallCloth(pixels, inner.astype(bool), sample.px_per_in / max(factor, 1.0))
