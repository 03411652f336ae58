"""What a cloth looks like, as numbers that stay the same in another photo of it.

An imprint holds still when the cloth is turned, cut from another part of the print, blurred, or
its colours are read a little off. Two imprints are compared block by block.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray

__all__ = ["LENGTH", "RECIPE", "Floats", "apart", "imprint_of"]

Floats = NDArray[np.float32]

RECIPE = 1  # goes up when an imprint is made otherwise, so that older ones are made anew
_PX_PER_IN = 48.0  # the least scale at which a scrap of a foot is pictured
_MARGIN_IN = 0.06  # the rim mixes cloth and backing
# Widths of the smoothed copies, inches; each band is the difference of two that follow.
_SMOOTH_IN = (0.03, 0.06, 0.12, 0.24, 0.48)
_BANDS = len(_SMOOTH_IN) - 1
_FLOOR = 0.4  # Lab units: less contrast than this is noise


@dataclass(frozen=True, slots=True)
class _Block:
    """Part of an imprint: its length, and how much a difference in it counts."""

    name: str
    length: int
    weight: float


# Weights and limit from a logistic regression on one half of the cloths of
# tests/benchmarks/cloth_twins.py, chosen by their names' checksum; the other half was kept back.
_BLOCKS = (
    _Block("mean", 3, 0.46),
    _Block("light 0", 1, 2.6),
    _Block("light 1", 1, 2.5),
    _Block("light 2", 1, 2.7),
    _Block("light 3", 1, 1.1),
    _Block("colour 0", 2, 1.2),
    _Block("colour 1", 2, 1.2),
    _Block("colour 2", 2, 1.2),
    _Block("colour 3", 2, 0.7),
    _Block("whole", 3, 1.4),
    _Block("lean", 3, 1.0),
)
LENGTH = sum(block.length for block in _BLOCKS)
_WEIGHTS = np.array([block.weight for block in _BLOCKS])
_LIMIT = 5.7


def imprint_of(pixels_srgb: NDArray[np.uint8], mask: NDArray[np.bool_], px_per_in: float) -> Floats:
    """Take a cloth's imprint.

    Parameters
    ----------
    pixels_srgb : uint8, shape (h, w, 3)
        A picture of it in true colours.
    mask : bool, shape (h, w)
        True on the cloth.
    px_per_in : float
        Scale of the picture.

    Returns
    -------
    float32, shape (LENGTH,)
        Mean colour (CIELAB); contrast of lightness, then of colour, in four bands of figure size
        (natural log of Lab units); contrast of the whole; to which side the rarer colours lean.

    Raises
    ------
    ValueError
        If the mask is empty or of another shape.

    Notes
    -----
    Bands are differences of Gaussians that leave out what is not cloth: both the picture and the
    mask are smoothed, and one is divided by the other.
    """
    if mask.shape != pixels_srgb.shape[:2] or not mask.any():
        raise ValueError(f"the mask is empty or {mask.shape}, pixels are {pixels_srgb.shape}")
    lab, cloth = _at_common_scale(pixels_srgb, mask, px_per_in)
    on = cloth > 0
    mean = lab[on].mean(axis=0)
    lab = (lab - mean) * cloth[..., None]
    smooth = [_smoothed(lab, cloth, width * _PX_PER_IN) for width in _SMOOTH_IN]
    bands = [(smooth[at] - smooth[at + 1])[on] for at in range(_BANDS)]
    spreads = [band.std(axis=0) for band in bands]
    whole = smooth[0][on]
    parts = [
        mean,
        *(np.log(spread[:1] + 0.25) for spread in spreads),
        *(np.log(spread[1:] + 0.25) for spread in spreads),
        np.log(whole.std(axis=0) + 0.5),
        _lean(whole),
    ]
    return np.concatenate(parts).astype(np.float32)


def apart(imprint: Floats, others: Floats) -> FloatArray:
    """Say how unlike other cloths look: up to 1 they may be the same, and somebody should look.

    Parameters
    ----------
    imprint : float32, shape (LENGTH,)
        One cloth.
    others : float32, shape (n, LENGTH)
        Those it is compared with.

    Returns
    -------
    float64, shape (n,)
        0 for equal imprints, never negative.

    Notes
    -----
    A weighted sum of the blocks' root mean square differences; the mean colour's is a difference
    in lightness, chroma and hue with the chroma weights of CIE94.
    """
    return np.asarray(_parts_apart(imprint, others) @ _WEIGHTS / _LIMIT)


def _parts_apart(imprint: Floats, others: Floats) -> FloatArray:
    """Give the difference in each block, shape (n, blocks)."""
    difference = (np.atleast_2d(others) - imprint).astype(np.float64)
    columns = [_colour_apart(imprint[:3], np.atleast_2d(others)[:, :3], difference[:, :3])]
    start = 3
    for block in _BLOCKS[1:]:
        part = difference[:, start : start + block.length]
        columns.append(np.sqrt(np.square(part).mean(axis=1)))
        start += block.length
    return np.column_stack(columns)


def _colour_apart(lab: Floats, others: Floats, difference: FloatArray) -> FloatArray:
    chroma, chromas = float(np.hypot(lab[1], lab[2])), np.hypot(others[:, 1], others[:, 2])
    more = chromas - chroma
    hue = np.maximum(0.0, np.square(difference[:, 1:]).sum(axis=1) - np.square(more))
    both = np.sqrt(chroma * chromas)
    squares = np.square(difference[:, 0]) + np.square(more / (1 + 0.045 * both))
    return np.asarray(np.sqrt(squares + hue / np.square(1 + 0.015 * both)))


def _at_common_scale(
    pixels: NDArray[np.uint8], mask: NDArray[np.bool_], px_per_in: float
) -> tuple[Floats, Floats]:
    """Give CIELAB and cloth (0 or 1) at one scale, cropped to the cloth without its rim."""
    scale = _PX_PER_IN / px_per_in
    size = tuple(max(8, round(side * scale)) for side in mask.shape[::-1])
    way = cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR
    small = cv2.resize(pixels, size, interpolation=way)
    whole = cv2.resize(mask.astype(np.uint8) * 255, size, interpolation=cv2.INTER_AREA) > 200
    kernel = np.ones((2 * round(_MARGIN_IN * _PX_PER_IN) + 1,) * 2, np.uint8)
    inner = cv2.erode(
        whole.astype(np.uint8), kernel, borderType=cv2.BORDER_CONSTANT, borderValue=(0,)
    )
    if inner.sum() < 60:  # a thin strip is all rim
        inner = whole.astype(np.uint8) if whole.any() else np.ones(whole.shape, np.uint8)
    rows, columns = np.flatnonzero(inner.any(axis=1)), np.flatnonzero(inner.any(axis=0))
    crop = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    lab = cv2.cvtColor(small[crop].astype(np.float32) / 255, cv2.COLOR_RGB2Lab)
    return np.asarray(lab, dtype=np.float32), inner[crop].astype(np.float32)


def _smoothed(lab: Floats, cloth: Floats, sigma_px: float) -> Floats:
    """Smooth over cloth alone; wide kernels on a smaller copy, which is the same and quicker."""
    times = max(1, int(sigma_px / 3))
    shape = cloth.shape[::-1]
    if times > 1 and min(shape) > 4 * times:
        size = tuple(-(-side // times) for side in shape)
        lab = np.asarray(cv2.resize(lab, size, interpolation=cv2.INTER_AREA), dtype=np.float32)
        cloth = np.asarray(cv2.resize(cloth, size, interpolation=cv2.INTER_AREA), dtype=np.float32)
        sigma_px /= times
    weight = cv2.GaussianBlur(cloth, (0, 0), sigma_px)
    sums = cv2.GaussianBlur(lab, (0, 0), sigma_px)
    smooth = np.asarray(sums / np.maximum(weight, 0.05)[..., None], dtype=np.float32)
    if smooth.shape[1::-1] != shape:
        return np.asarray(cv2.resize(smooth, shape, interpolation=cv2.INTER_LINEAR), np.float32)
    return smooth


def _lean(values: Floats) -> FloatArray:
    """Whether the rarer colours lie above or below the mean, per channel (cube root of skew)."""
    cubes = (values.astype(np.float64) ** 3).mean(axis=0)
    return np.asarray(np.cbrt(cubes) / (values.std(axis=0) + _FLOOR))
