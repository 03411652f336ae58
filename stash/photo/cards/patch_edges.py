"""Patch centres to a few hundredths of a pixel, from the borders of every patch.

Each patch lies between two borders on either axis; blur and tone curve move both borders
outwards or inwards alike, so their middle stays put whatever the camera did to the edge.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from stash.colour.spaces import FloatArray, linear_of_srgb
from stash.photo.files.reading import PixelsU8

__all__ = ["PatchCentres", "measure_centres", "project"]

_ALONG = np.linspace(-0.28, 0.28, 24)  # of the pitch: where along a border profiles are taken
_NEAR, _FAR = 0.18, 0.5  # of the pitch: how far from the centre a profile runs
_LEAST_CONTRAST = 0.012  # linear light; below it (black patch on black frame) no border is seen
_MOST_SAMPLES = 120
# Outward directions: left, right, down, up in the card's frame.
_SIDES = np.array([(-1.0, 0.0), (1.0, 0.0), (0.0, -1.0), (0.0, 1.0)])
_DECODE = linear_of_srgb(np.arange(256) / 255).astype(np.float32)


@dataclass(frozen=True, eq=False)
class PatchCentres:
    """Measured centres.

    Attributes
    ----------
    centres_px : float64, shape (n, 2)
        In the photo's pixels.
    seen : bool, shape (n, 2)
        Whether both borders were seen on the card's x and y axis; where not, the centre's
        coordinate is only the guess it started from.
    rise_pitch : float
        Median width of the borders from 20 % to 80 %, in patch pitches, on the axis where
        they are wider (a shaken photo is sharp along the other).
    half_pitch : float64, shape (n, 2)
        Half width and half height of each patch, in pitches; NaN where not seen.
    """

    centres_px: FloatArray
    seen: np.ndarray
    rise_pitch: float
    half_pitch: FloatArray


def project(transform: FloatArray, points: FloatArray) -> FloatArray:
    """Map points (n, 2) through a homography (3, 3)."""
    mapped = points @ transform[:, :2].T + transform[:, 2]
    return np.asarray(mapped[:, :2] / mapped[:, 2:], dtype=np.float64)


def measure_centres(
    pixels: PixelsU8, image_from_grid: FloatArray, grid: FloatArray
) -> PatchCentres:
    """Measure where the patches truly are, starting from a homography that is nearly right.

    Parameters
    ----------
    pixels : uint8, shape (height, width, 3)
        The photo at full size.
    image_from_grid : float64, shape (3, 3)
        From pitches to pixels, right within a quarter of a patch.
    grid : float64, shape (n, 2)
        Nominal patch centres, in pitches.
    """
    reach = _reach(image_from_grid, grid)
    profiles = _profiles(pixels, image_from_grid, grid, reach)
    positions, rises = _crossings(profiles, reach)
    positions = positions.reshape(len(grid), 2, 2)
    middle = (positions[..., 1] - positions[..., 0]) / 2
    half = (positions[..., 1] + positions[..., 0]) / 2
    seen = np.isfinite(middle)
    centres = project(image_from_grid, grid + np.where(seen, middle, 0.0))
    rises = rises.reshape(len(grid), 2, 2)
    widths = [float(np.nanmedian(rises[:, axis])) for axis in (0, 1) if seen[:, axis].any()]
    return PatchCentres(centres, seen, max(widths, default=float("nan")), half)


def _reach(image_from_grid: FloatArray, grid: FloatArray) -> FloatArray:
    """Give distances from the centre at which profiles are sampled, about half a pixel apart."""
    middle = grid.mean(axis=0)
    ends = project(image_from_grid, middle + np.array([[0, 0], [1, 0], [0, 1]]))
    pitch_px = max(np.hypot(*(ends[1] - ends[0])), np.hypot(*(ends[2] - ends[0])))
    count = int(np.clip((_FAR - _NEAR) * pitch_px * 2, 16, _MOST_SAMPLES))
    return np.linspace(_NEAR, _FAR, count)


def _profiles(
    pixels: PixelsU8, image_from_grid: FloatArray, grid: FloatArray, reach: FloatArray
) -> FloatArray:
    """Sample mean profiles across every border, linear light, shape (n * 4, samples, 3)."""
    x, y = _sample_places(image_from_grid, grid, reach)
    left, top = (max(int(np.floor(at.min())) - 2, 0) for at in (x, y))
    right, bottom = (int(np.ceil(at.max())) + 3 for at in (x, y))
    part = pixels[top : max(bottom, top + 1), left : max(right, left + 1)]
    sampled = cv2.remap(
        part,
        (x - left).astype(np.float32),
        (y - top).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    light = cv2.LUT(sampled, _DECODE).reshape(-1, len(_ALONG), len(reach), 3)
    return np.asarray(light.mean(axis=1), dtype=np.float64)


def _sample_places(
    image_from_grid: FloatArray, grid: FloatArray, reach: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Give x and y in the photo of all samples, one row a border.

    A homography is linear before its division, so that the steps across and along a border are
    mapped once and added to every patch.
    """
    across = _SIDES[:, None, None, :] * reach[None, None, :, None]
    along = _SIDES[:, None, None, ::-1] * _ALONG[None, :, None, None]
    steps = np.moveaxis((across + along) @ image_from_grid[:, :2].T, -1, 0)
    centres = image_from_grid[:, :2] @ grid.T + image_from_grid[:, 2:]
    x, y, depth = (
        (centre[:, None, None, None] + step).reshape(len(grid) * len(_SIDES), -1)
        for centre, step in zip(centres, steps, strict=True)
    )
    return x / depth, y / depth


def _crossings(profiles: FloatArray, reach: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Find where each profile passes half way from patch to frame; NaN where it does not."""
    ends = max(3, len(reach) // 8)
    inside = profiles[:, :ends].mean(axis=1)
    outside = profiles[:, -ends:].mean(axis=1)
    step = inside - outside
    strength = np.sum(step**2, axis=1)
    level = np.einsum("psc,pc->ps", profiles - outside[:, None], step)
    level /= np.maximum(strength, 1e-12)[:, None]
    clear = np.sqrt(strength) > _LEAST_CONTRAST
    half = _first_fall(level, 0.5, reach)
    rise = _first_fall(level, 0.2, reach) - _first_fall(level, 0.8, reach)
    fine = clear & np.isfinite(half)
    return np.where(fine, half, np.nan), np.where(fine, rise, np.nan)


def _first_fall(level: FloatArray, height: float, reach: FloatArray) -> FloatArray:
    """Give the last place a profile falls through a height, linearly between samples."""
    above = level >= height
    falls = above[:, :-1] & ~above[:, 1:]
    index = falls.shape[1] - 1 - np.argmax(falls[:, ::-1], axis=1)
    rows = np.arange(len(level))
    upper, lower = level[rows, index], level[rows, index + 1]
    share = (upper - height) / np.maximum(upper - lower, 1e-9)
    place = reach[index] + share * (reach[1] - reach[0])
    return np.where(falls.any(axis=1), place, np.nan)
