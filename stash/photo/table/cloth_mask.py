"""Which pixels are cloth: unlike the backing and its shadows, gaps closed, threads left off."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import find_objects

from stash.photo.table.backing_model import FINE_LIMIT, BackingModel, Mask
from stash.photo.table.mask_sizes import closed, disc, grown_back, numbered, opened
from stash.photo.table.thin_parts import without_bridges

__all__ = ["COARSE_LIMIT", "GAP_IN", "cloth_of", "free_of", "seen_of"]

COARSE_LIMIT = 3.2  # spreads of the backing beyond which a neighbourhood is something else
_THREAD_IN = 0.06  # half of what counts as thin: pins, threads, grid lines
_COARSE_MOST = 4.5  # beside something bold the limit rises to half of it, but not above this
_HALO_IN = 0.11  # half the width of what a bold edge does to its neighbourhood
_PENUMBRA_IN = 0.4  # width of such a shadow's soft edge
_ARM_BORDER = 0.08  # share of the border that a shadow from outside covers at least
_SHADOW_IN = 0.11  # half the width of the widest shadow taken for one
GAP_IN = 0.09  # half of the widest backing-coloured stripe bridged at an edge
_BAY_IN = 0.22  # half of the widest bay that is cloth if it is not quite like the backing ...
_DOUBT = 1.8  # ... which is to say this many spreads off; bare backing stays below 1.6
_LEAST_HOLE_SQ_IN = 0.2


def free_of(backing: BackingModel, card: Mask, step: float) -> Mask:
    """Where cloth may lie: neither on the card nor in a shadow."""
    return ~_thin_shadow(backing, step) & ~card


def seen_of(backing: BackingModel, free: Mask, step: float) -> Mask:
    """What does not look like the backing, nor like its shadow; threads and pins included."""
    around = cv2.dilate(backing.coarse, np.ones((2 * round(0.14 * step) + 1,) * 2, np.uint8))
    fine = backing.fine > FINE_LIMIT
    coarse = backing.coarse > np.clip(0.5 * around, COARSE_LIMIT, _COARSE_MOST)
    bold = opened(fine, _HALO_IN * step)
    faint = opened((fine | coarse) & ~bold, _HALO_IN * step)
    found = opened(fine, 1.0) | faint
    return np.asarray(found & free, dtype=bool)


def cloth_of(seen: Mask, backing: BackingModel, free: Mask, card: Mask, step: float) -> Mask:
    """Tell cloth: what is seen, with gaps in the backing's colour closed, threads left off."""
    joined = closed(seen, GAP_IN * step)
    bays = closed(joined, _BAY_IN * step) & (backing.coarse > _DOUBT) & free
    filled = _filled(closed(joined | bays, GAP_IN * step), backing, step)
    kept = opened(filled, _THREAD_IN * step)
    whole = grown_back(kept, opened(filled, 0.5 * _THREAD_IN * step), 0.2 * step) & ~card
    return without_bridges(whole, seen, step)


def _thin_shadow(backing: BackingModel, step: float) -> Mask:
    """Bands beside scraps that are backing with less light: same hue, darker, narrow."""
    shadow = backing.shadow
    broad = opened(shadow, _SHADOW_IN * step)
    outside = _from_outside(broad)
    if outside.any():  # its soft edge is brighter than what counts as shadow
        rim = cv2.dilate(outside.astype(np.uint8), disc(_PENUMBRA_IN * step)) > 0
        outside |= rim & (backing.light_left > 0.68) & (backing.light_left < 1.04)
    return np.asarray(shadow & ~broad, dtype=bool) | outside


def _from_outside(broad: Mask) -> Mask:
    """Broad shadows that reach in over a good part of the photo's border: the photographer's."""
    if _border_of(broad).mean() <= _ARM_BORDER:
        return np.zeros_like(broad)
    labels = cv2.connectedComponents(broad.astype(np.uint8), connectivity=4)[1]
    border = _border_of(labels)
    reach = np.bincount(border, minlength=int(labels.max()) + 1) / len(border)
    outside = reach > _ARM_BORDER
    outside[0] = False
    return np.asarray(outside[labels], dtype=bool)


def _border_of(picture: NDArray[Any]) -> NDArray[Any]:
    """Give the outermost pixels of a picture."""
    return np.concatenate([picture[0], picture[-1], picture[:, 0], picture[:, -1]])


def _filled(mask: Mask, backing: BackingModel, step: float) -> Mask:
    """Fill holes, but not those where the backing shows, wide and plain."""
    filled = mask.copy()
    labels, areas = numbered(~mask)
    outside = set(_border_of(labels).tolist())
    for label, (rows, columns) in enumerate(find_objects(labels), start=1):
        if label in outside:
            continue
        box = (rows, columns)
        hole = labels[box] == label
        small = areas[label] < _LEAST_HOLE_SQ_IN * step**2
        if small or not _shows_backing(hole, backing, box, step):
            filled[box] |= hole
    return filled


def _shows_backing(
    hole: Mask, backing: BackingModel, box: tuple[slice, slice], step: float
) -> bool:
    padded = np.pad(hole.astype(np.uint8), 1)
    inner = cv2.erode(padded, disc(0.15 * step))[1:-1, 1:-1].astype(bool)
    if inner.sum() < 0.02 * step**2:
        return False
    alike = np.median(backing.coarse[box][inner]) < 0.5 * COARSE_LIMIT
    return bool(alike and np.median(backing.fine[box][inner]) < 0.5 * FINE_LIMIT)
