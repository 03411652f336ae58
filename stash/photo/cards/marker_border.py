"""The corners of a black square to a few hundredths of a pixel, from its four sides.

A corner alone is rounded off by blur; the sides are long, and where two of them meet is known far
better than any pixel of it.
"""

from __future__ import annotations

import cv2
import numpy as np

from stash.colour.spaces import FloatArray, linear_of_srgb
from stash.photo.files.reading import PixelsU8

__all__ = ["square_corners"]

_ALONG = np.linspace(0.08, 0.92, 64)  # of a side: its ends belong to two sides
_REACH = 1 / 11  # of a side, to either side of it: less than the black border is wide
_LEAST_REACH_PX = 2.5
_LEAST_STEP = 0.08  # linear light from black to white
_LEAST_POINTS = 24
_LEAST_SIDE_PX = 24.0
_ASTRAY = 3.0  # times the median distance from the line: something lies on the side there
_DECODE = linear_of_srgb(np.arange(256) / 255).astype(np.float32)


def square_corners(pixels: PixelsU8, rough_px: FloatArray) -> FloatArray | None:
    """Give the corners (4, 2) in the order they came; None if a side cannot be seen.

    Parameters
    ----------
    pixels : uint8, shape (height, width, 3)
        The photo at full size.
    rough_px : float64, shape (4, 2)
        Corners of a black square on white, in order round it, right to a twentieth of a side.
    """
    corners = rough_px
    for _ in range(2):
        lines = [_side(pixels, corners, index) for index in range(4)]
        if any(line is None for line in lines):
            return None
        meets = [_crossing(lines[index - 1], lines[index]) for index in range(4)]
        corners = np.array(meets)
    return corners


def _side(
    pixels: PixelsU8, corners: FloatArray, index: int
) -> tuple[FloatArray, FloatArray] | None:
    """Fit a line to the side from one corner to the next: a point on it and its direction."""
    start, end = corners[index], corners[(index + 1) % 4]
    length = float(np.hypot(*(end - start)))
    if not length >= _LEAST_SIDE_PX:
        return None
    way = (end - start) / length
    out = np.array([way[1], -way[0]])
    out *= np.sign(out @ ((start + end) / 2 - corners.mean(axis=0)))
    reach = max(length * _REACH, _LEAST_REACH_PX)
    away = np.linspace(-reach, reach, int(np.clip(round(8 * reach), 24, 96)))
    base = start + _ALONG[:, None] * (end - start)
    at = (base[:, None] + away[:, None] * out).astype(np.float32)
    height, width = pixels.shape[:2]
    if (at < 0).any() or (at > np.array([width - 1, height - 1])).any():
        return None
    low = np.floor(at.min(axis=(0, 1))).astype(int)
    high = np.ceil(at.max(axis=(0, 1))).astype(int) + 2
    part = pixels[low[1] : high[1], low[0] : high[0]]
    local = at - low.astype(np.float32)
    light = _DECODE[cv2.remap(part, local[..., 0], local[..., 1], cv2.INTER_LINEAR)].mean(axis=2)
    off = _half_way(light, away)
    seen = np.isfinite(off)
    if seen.sum() < _LEAST_POINTS:
        return None
    return _line(base[seen] + off[seen, None] * out)


def _half_way(light: FloatArray, away: FloatArray) -> FloatArray:
    """Where each profile (n, samples) passes half way from black to white; NaN where none does."""
    ends = max(2, len(away) // 8)
    dark, bright = light[:, :ends].mean(axis=1), light[:, -ends:].mean(axis=1)
    step = bright - dark
    level = (light - dark[:, None]) / np.maximum(step, 1e-6)[:, None]
    rises = (level[:, :-1] < 0.5) & (level[:, 1:] >= 0.5)
    index = np.argmax(rises, axis=1)
    rows = np.arange(len(level))
    before, after = level[rows, index], level[rows, index + 1]
    share = (0.5 - before) / np.maximum(after - before, 1e-6)
    there = away[index] + share * (away[1] - away[0])
    return np.where((step > _LEAST_STEP) & (rises.sum(axis=1) == 1), there, np.nan)


def _line(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Fit a line; points that something covers are left out."""
    kept = np.ones(len(points), dtype=bool)
    for _ in range(3):
        middle = points[kept].mean(axis=0)
        _, _, axes = np.linalg.svd(points[kept] - middle, full_matrices=False)
        off = np.abs((points - middle) @ axes[1])
        kept = off <= max(_ASTRAY * float(np.median(off)), 1e-3)
    return middle, np.asarray(axes[0])


def _crossing(
    one: tuple[FloatArray, FloatArray] | None, other: tuple[FloatArray, FloatArray] | None
) -> FloatArray:
    assert one is not None and other is not None
    (at, way), (there, along) = one, other
    steps = np.linalg.solve(np.column_stack([way, -along]), there - at)
    return np.asarray(at + steps[0] * way)
