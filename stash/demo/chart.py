"""The 24-patch chart as the demo's camera sees it: patches on a dark frame.

The table is kept apart from the one the product calibrates with, so that a wrong value in
either shows up as a wrong colour.
"""

from __future__ import annotations

import numpy as np

from stash.colour.spaces import FloatArray, linear_of_lab
from stash.demo.fabrics import Float32Array

__all__ = ["CHART_FRAME", "chart_tile", "patch_centres"]

# CIELAB, white D65, of the 24 patches, row by row from dark skin to black: average of
# measured charts as shipped with colour-science ("ColorChecker24 - After November 2014").
_PATCHES_LAB = (
    (37.967, 12.099, 13.678), (65.400, 14.805, 17.468), (50.502, -1.397, -21.692),
    (43.257, -14.771, 22.252), (55.528, 11.181, -24.480), (71.327, -32.412, 1.701),
    (61.356, 32.167, 55.868), (40.912, 15.899, -43.582), (50.321, 45.441, 14.538),
    (30.272, 22.878, -21.134), (72.371, -27.137, 58.295), (70.914, 15.740, 66.884),
    (29.711, 21.985, -48.947), (55.531, -40.185, 33.516), (40.708, 50.661, 26.019),
    (81.521, -1.045, 80.176), (50.969, 49.508, -16.213), (51.798, -24.185, -25.569),
    (96.507, -0.869, 2.539), (81.216, -0.654, 0.331), (66.488, -0.471, 0.030),
    (50.838, -0.551, -0.111), (35.885, -0.468, -0.410), (20.831, 0.180, -0.333),
)  # fmt: skip

# Half width and half height of the frame, in patch pitches.
CHART_FRAME = (3.25, 2.25)
_PATCH_SHARE = 0.84
_FRAME_REFLECTANCE = 0.022
_PX_PER_PITCH = 100


def patch_centres(pitch_in: float) -> FloatArray:
    """Give the 24 patch centres (24, 2) in the card's frame, inches, row by row."""
    column, row = np.meshgrid(np.arange(6) - 2.5, 1.5 - np.arange(4))
    return np.stack([column.ravel(), row.ravel()], axis=1) * pitch_in


def chart_tile() -> tuple[Float32Array, float]:
    """Paint the chart as linear reflectance; also give its pixels per patch pitch."""
    half_x, half_y = (round(half * _PX_PER_PITCH) for half in CHART_FRAME)
    tile = np.full((2 * half_y, 2 * half_x, 3), _FRAME_REFLECTANCE, dtype=np.float32)
    half_patch = round(_PX_PER_PITCH * _PATCH_SHARE / 2)
    inks = linear_of_lab(np.array(_PATCHES_LAB))
    for (x, y), ink in zip(patch_centres(_PX_PER_PITCH), inks, strict=True):
        column, row = half_x + round(x), half_y - round(y)
        tile[row - half_patch : row + half_patch, column - half_patch : column + half_patch] = ink
    return tile, float(_PX_PER_PITCH)
