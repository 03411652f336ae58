"""Flat, roughly square regions of a photo: what patches of a card look like."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np

from stash.colour.spaces import FloatArray
from stash.photo.files.reading import PixelsU8

__all__ = ["Squares", "find_squares", "smaller_copy"]

# Grey levels across an edge: the first suits most photos, 10 dim ones, 42 loud ones.
_STEPS = (16, 10, 26, 42)
_LEAST_SIDE_PX = 5
_MOST_AREA_SHARE = 1 / 40  # a patch of a card that fills the photo


@dataclass(frozen=True, eq=False)
class Squares:
    """Candidates for patches, in the pixels of the copy they were found in.

    Attributes
    ----------
    centres_px : float64, shape (n, 2)
    side_px : float64, shape (n,)
        Square root of the area.
    """

    centres_px: FloatArray
    side_px: FloatArray

    def __len__(self) -> int:
        """How many there are."""
        return len(self.side_px)


def smaller_copy(pixels: PixelsU8, longest_px: int) -> tuple[PixelsU8, int]:
    """Shrink by a whole factor to about a longest side; gives the copy and the factor."""
    factor = max(1, round(max(pixels.shape[:2]) / longest_px))
    if factor == 1:
        return pixels, 1
    height, width = pixels.shape[0] // factor, pixels.shape[1] // factor
    whole = pixels[: height * factor, : width * factor]
    left = factor
    while left % 2 == 0:  # halving is several times faster than one large step
        left //= 2
        size = (width * left, height * left)
        whole = np.asarray(cv2.resize(whole, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    if left > 1:
        shrunk = cv2.resize(whole, (width, height), interpolation=cv2.INTER_AREA)
        whole = np.asarray(shrunk, dtype=np.uint8)
    return whole, factor


def find_squares(small: PixelsU8) -> Iterator[Squares]:
    """Find flat squares at several edge strengths; one collection for each strength."""
    gradient = _gradient(small)
    for step in _STEPS:
        yield _squares_below(gradient, step)


def _gradient(small: PixelsU8) -> PixelsU8:
    smooth = cv2.GaussianBlur(small, (3, 3), 0)
    block = np.ones((3, 3), np.uint8)
    spread = cv2.morphologyEx(smooth, cv2.MORPH_GRADIENT, block)
    red, green, blue = cv2.split(spread)
    return np.asarray(cv2.max(cv2.max(red, green), blue), dtype=np.uint8)


def _squares_below(gradient: PixelsU8, step: int) -> Squares:
    flat = (gradient < step).astype(np.uint8)
    _, labels, stats, centres = cv2.connectedComponentsWithStats(flat, connectivity=4)
    area, width, height = stats[:, 4], stats[:, 2], stats[:, 3]
    likely = (
        (area >= _LEAST_SIDE_PX**2)
        & (area < flat.size * _MOST_AREA_SHARE)
        & (np.maximum(width, height) < 3.2 * np.minimum(width, height))
        & (area > 0.42 * width * height)  # a square on its corner fills half of its box
    )
    likely[0] = False
    kept = [
        index for index in np.flatnonzero(likely) if _is_square(labels, stats[index], int(index))
    ]
    return Squares(
        np.asarray(centres[kept], dtype=np.float64), np.sqrt(area[kept].astype(np.float64))
    )


def _is_square(labels: np.ndarray, stat: np.ndarray, index: int) -> bool:
    left, top, width, height, _ = (int(value) for value in stat)
    mask = (labels[top : top + height, left : left + width] == index).astype(np.uint8)
    rings, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    ring = max(rings, key=len)
    _, (long, short), _ = cv2.minAreaRect(ring)
    long, short = max(long, short), min(long, short)
    return bool(
        short >= _LEAST_SIDE_PX - 2
        and long <= 2.6 * short
        and cv2.contourArea(ring) >= 0.72 * long * short
    )
