"""Broad areas of a patterned table that its pattern does not explain: cloth in its own colours.

Each colour of such cloth passes for one of the table's. But lines, veins and stripes of a table
mix evenly over a few tenths of an inch; where they do not, something else lies.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import find_objects

from stash.colour.spaces import FloatArray
from stash.photo.table.backing_model import BackingModel, Mask
from stash.photo.table.mask_sizes import hem_of, numbered, opened

__all__ = ["odd_areas"]

_CELL = 4  # pixels a side; nothing finer counts here
_MIX_IN = 0.2  # standard deviation of the window over which the pattern mixes
_RIM_IN = 0.12  # round what is known, its shadow and the blur of its edge
_LEAST_SEEN = 0.5  # share of the window
_LIMIT = 4.5  # spreads of the mixed colours, a normal cloud's 99.98th percentile in three channels
_FLOOR = 0.55  # CIELAB; least spread taken for real
_LEAST_SQ_IN, _LEAST_WIDE_IN = 1.0, 0.5
_HUE = 3.5  # CIELAB; a shadow keeps the table's a* and b* so well


def odd_areas(backing: BackingModel, known: Mask, step: float) -> tuple[tuple[float, float], ...]:
    """Give the middles x, y (work pixels) of such areas; none of a plain table.

    Parameters
    ----------
    backing : BackingModel
        The table.
    known : bool, shape (height, width)
        Where something lies that is told of otherwise: scraps, cards, what the border cuts.
    step : float
        Pixels an inch.
    """
    if backing.plain:
        return ()
    reach = np.ones((2 * round(_RIM_IN * step) + 1,) * 2, np.uint8)
    bare = (cv2.dilate(known.astype(np.uint8), reach) == 0).astype(np.float32)
    share = _mixed(bare, step)
    seen = (share > _LEAST_SEEN) & (_cells(bare) > _LEAST_SEEN)
    if not seen.any():
        return ()
    planes = [_mixed(plane * bare, step)[seen] / share[seen] for plane in backing.residual]
    colours = np.stack(planes, axis=-1).astype(np.float64)
    odd = np.zeros_like(seen)
    odd[seen] = _spreads_off(colours) > _LIMIT
    if not odd.any():
        return ()
    shaded = np.zeros_like(seen)
    table = np.stack([_cells(plane)[seen] for plane in backing.expected], axis=-1)
    shaded[seen] = _dimmed(colours - np.median(colours, axis=0), table)
    return tuple(
        ((x + 0.5) * _CELL - 0.5, (y + 0.5) * _CELL - 0.5)
        for x, y in _middles(odd, shaded, step / _CELL)
    )


def _middles(odd: Mask, shaded: Mask, step: float) -> list[tuple[float, float]]:
    """Middles of areas large enough, save shadows that fall in over the photo's border."""
    labels, areas = numbered(odd)
    broad = set(np.unique(labels[opened(odd, _LEAST_WIDE_IN / 2 * step)]).tolist())
    from_outside = set(np.unique(labels[hem_of(np.ones_like(odd), 2)]).tolist())
    middles = []
    for label, box in enumerate(find_objects(labels), start=1):
        here = labels[box] == label
        if label not in broad or areas[label] < _LEAST_SQ_IN * step**2:
            continue
        if label in from_outside and shaded[box][here].mean() > 0.5:
            continue
        down, across = np.nonzero(here)
        middles.append((box[1].start + float(across.mean()), box[0].start + float(down.mean())))
    return middles


def _spreads_off(colours: FloatArray) -> FloatArray:
    """Mahalanobis distance of mixed colours (n, 3) from the cloud of the most usual 19 in 20."""
    some = colours[:: max(1, len(colours) // 4000)]
    kept = np.ones(len(some), dtype=bool)
    for _ in range(3):
        middle = some[kept].mean(axis=0)
        spread = np.cov(some[kept].T) + np.eye(3) * _FLOOR**2
        whiten = np.linalg.cholesky(np.linalg.inv(spread))
        away = np.linalg.norm((some - middle) @ whiten, axis=1)
        kept = away <= np.percentile(away, 95)
    return np.asarray(np.linalg.norm((colours - middle) @ whiten, axis=1))


def _dimmed(off: FloatArray, table: NDArray[np.floating]) -> NDArray[np.bool_]:
    """Whether colours ``off`` a table's (n, 3) are the table with less light.

    In CIELAB less light scales L* + 16, a* and b* alike.
    """
    left = 1 + off[:, :1] / (table[:, :1] + 16)
    hue = np.abs(table[:, 1:] * (1 - left) + off[:, 1:]).max(axis=1)
    return np.asarray((left[:, 0] < 1) & (hue < _HUE))


def _mixed(plane: NDArray[np.float32], step: float) -> NDArray[np.float32]:
    blurred = cv2.GaussianBlur(_cells(plane), (0, 0), _MIX_IN * step / _CELL)
    return np.asarray(blurred, dtype=np.float32)


def _cells(plane: NDArray[np.float32]) -> NDArray[np.float32]:
    height, width = plane.shape
    size = (max(1, width // _CELL), max(1, height // _CELL))
    return np.asarray(cv2.resize(plane, size, interpolation=cv2.INTER_AREA), dtype=np.float32)
