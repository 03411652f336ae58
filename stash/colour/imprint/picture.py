"""A cloth's picture at the one scale at which imprints are taken, and its smoothed copies."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.imprint.layout import Floats

__all__ = ["PX_PER_IN", "at_common_scale", "smoothed"]

PX_PER_IN = 48.0  # the least scale at which a scrap of a foot is pictured
_MARGIN_IN = 0.06  # the rim mixes cloth and backing


def at_common_scale(
    pixels: NDArray[np.uint8], mask: NDArray[np.bool_], px_per_in: float
) -> tuple[Floats, Floats]:
    """Give CIELAB (h, w, 3) and cloth (h, w), 0 or 1, at one scale, cropped without the rim."""
    scale = PX_PER_IN / px_per_in
    size = tuple(max(8, round(side * scale)) for side in mask.shape[::-1])
    way = cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR
    small = cv2.resize(pixels, size, interpolation=way)
    whole = cv2.resize(mask.astype(np.uint8) * 255, size, interpolation=cv2.INTER_AREA) > 200
    kernel = np.ones((2 * round(_MARGIN_IN * PX_PER_IN) + 1,) * 2, np.uint8)
    inner = cv2.erode(
        whole.astype(np.uint8), kernel, borderType=cv2.BORDER_CONSTANT, borderValue=(0,)
    )
    if inner.sum() < 60:  # a thin strip is all rim
        inner = whole.astype(np.uint8) if whole.any() else np.ones(whole.shape, np.uint8)
    rows, columns = np.flatnonzero(inner.any(axis=1)), np.flatnonzero(inner.any(axis=0))
    crop = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    lab = cv2.cvtColor(small[crop].astype(np.float32) / 255, cv2.COLOR_RGB2Lab)
    return np.asarray(lab, dtype=np.float32), inner[crop].astype(np.float32)


def smoothed(lab: Floats, cloth: Floats, sigma_px: float) -> Floats:
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
