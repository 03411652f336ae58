"""Two scraps of one cloth in one outline, parted where a straight faint seam runs between notches.

The upper scrap's edge shows as a thin shadow or a small step of lightness. It is only looked for
where the outline's shape says that it may be two scraps, and only believed where nothing like it
runs beside it: stripes and checks have lines all over.
"""

from __future__ import annotations

import cv2
import numpy as np
from shapely.geometry import Polygon

from stash.colour.spaces import FloatArray
from stash.photo.table.backing_model import Float32Array, Mask
from stash.photo.table.mask_sizes import disc, outer_border
from stash.photo.table.seam_chords import seam_chords

__all__ = ["parted_at_faint_seam"]

_RIM_IN = 0.08  # of a region, where the backing shines through
_REACH_IN, _EVERY_IN = 0.6, 0.02  # parallels on either side of the chord
_OFF_IN = 0.1  # how far the seam may lie off its chord
_MIDDLE_SHARE, _SEEN_SHARE = 0.94, 0.3  # of the chord: looked at; inside the region at least
_CLEAR, _LEAST_STEP = 2.5, 1.5  # times the largest step beside it; CIELAB L*
_GRAIN = 0.15  # CIELAB L*, the least a step counts for


def parted_at_faint_seam(mask: Mask, lab: Float32Array, step: float) -> list[Mask] | None:
    """Part a region at the clearest straight seam between two notches; None if none is clear.

    Parameters
    ----------
    mask : bool, shape (height, width)
        The region in its box.
    lab : float32, shape (height, width, 3)
        CIELAB of the same box.
    step : float
        Pixels an inch.
    """
    outer = outer_border(mask)
    if len(outer) < 4:
        return None
    inside = cv2.erode(mask.astype(np.uint8), disc(_RIM_IN * step))
    seen = np.dstack([lab[..., 0], inside.astype(np.float32)])
    best, side = _CLEAR, None
    for first, _second in seam_chords(Polygon(outer / step)):
        clear = _clear(seen, first[0] * step, first[-1] * step, step)
        if clear > best:
            best, side = clear, first
    if side is None:
        return None
    half = np.zeros(mask.shape, np.uint8)
    cv2.fillPoly(half, [np.round(side * step).astype(np.int32)], 1)
    return [mask & (half > 0), mask & (half == 0)]


def _clear(seen: Float32Array, start: FloatArray, end: FloatArray, step: float) -> float:
    """How many times the largest step of lightness beside a chord the one at it is."""
    long = float(np.hypot(*(end - start)))
    way = (end - start) / long
    across = np.array([-way[1], way[0]])
    away = np.arange(-_REACH_IN, _REACH_IN + _EVERY_IN / 2, _EVERY_IN)
    rest = (1 - _MIDDLE_SHARE) / 2
    along = np.arange(rest * long, (1 - rest) * long)
    at = start + along[None, :, None] * way + (away * step)[:, None, None] * across
    x, y = (np.ascontiguousarray(at[..., axis], dtype=np.float32) for axis in (0, 1))
    found = cv2.remap(seen, x, y, cv2.INTER_LINEAR)
    lightness = np.where(found[..., 1] > 0.99, found[..., 0], np.nan)
    lightness[np.isfinite(lightness).mean(axis=1) < _SEEN_SHARE] = np.nan
    rows = np.flatnonzero(np.isfinite(lightness).any(axis=1))
    profile = np.full(len(away), np.nan)
    profile[rows] = np.nanmedian(lightness[rows], axis=1)
    steps = np.abs(profile[4:] - profile[:-4])
    places = away[2:-2]
    near = steps[np.abs(places) <= _OFF_IN]
    beside = steps[np.abs(places) > _OFF_IN + 3 * _EVERY_IN]
    near, beside = near[np.isfinite(near)], beside[np.isfinite(beside)]
    if len(near) < 5 or len(beside) < 10 or near.max() < _LEAST_STEP:
        return 0.0
    return float(near.max() / (beside.max() + _GRAIN))
