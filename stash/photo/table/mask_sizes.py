"""Growing and shrinking masks by a radius in pixels."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.photo.table.backing_model import Mask

__all__ = [
    "closed",
    "disc",
    "grown_back",
    "hem_of",
    "largest_part",
    "numbered",
    "opened",
    "outer_border",
    "parts_of",
    "shrunk",
]


def disc(radius_px: float) -> NDArray[np.uint8]:
    """Give a disc for OpenCV's operations on masks."""
    side = 2 * max(1, round(radius_px)) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), dtype=np.uint8)


def opened(mask: Mask, radius_px: float) -> Mask:
    """Take off all that a disc does not fit into."""
    result = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, disc(radius_px))
    return np.asarray(result, dtype=bool)


def closed(mask: Mask, radius_px: float) -> Mask:
    """Fill all that a disc does not fit into."""
    result = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, disc(radius_px))
    return np.asarray(result, dtype=bool)


def grown_back(kept: Mask, whole: Mask, reach_px: float) -> Mask:
    """Grow what was kept back into the sharp corners that opening took off."""
    grown: NDArray[np.uint8] = kept.astype(np.uint8)
    limit = whole.astype(np.uint8) | grown
    for _ in range(max(1, round(reach_px / 2))):
        grown = np.minimum(cv2.dilate(grown, disc(2)), limit)
    return grown.astype(bool)


def numbered(mask: Mask) -> tuple[NDArray[np.int32], NDArray[np.intp]]:
    """Number the connected parts from 1, the rest is 0; and count the pixels of each number.

    OpenCV's own statistics take five times as long as finding the parts.
    """
    count, labels = cv2.connectedComponents(mask.astype(np.uint8), connectivity=4)
    return np.asarray(labels, dtype=np.int32), np.bincount(labels.ravel(), minlength=count)


def parts_of(mask: Mask, least_px: float) -> list[Mask]:
    """Give the connected parts that have so many pixels."""
    labels, areas = numbered(mask)
    large = 1 + np.flatnonzero(areas[1:] >= least_px)
    return [np.asarray(labels == label, dtype=bool) for label in large]


def outer_border(mask: Mask) -> NDArray[np.int32]:
    """Give the longest outer border, pixel by pixel, shape (n, 2) of x and y; n is 0 if none."""
    rings, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    longest = max(rings, key=len, default=np.empty((0, 1, 2), np.int32))
    return np.asarray(longest.reshape(-1, 2), dtype=np.int32)


def largest_part(mask: Mask) -> Mask:
    """Give the largest connected part; an empty mask stays empty."""
    return max(parts_of(mask, 1), key=np.count_nonzero, default=mask)


def shrunk(mask: Mask, by_px: int) -> Mask:
    """Take a band off all round, along the picture's border too."""
    square = np.ones((2 * by_px + 1,) * 2, np.uint8)
    inner = cv2.erode(mask.astype(np.uint8), square, borderType=cv2.BORDER_CONSTANT, borderValue=0)
    return np.asarray(inner, dtype=bool)


def hem_of(mask: Mask, wide_px: int) -> Mask:
    """Give the band along the inside of a mask's border."""
    return mask & ~shrunk(mask, wide_px)
