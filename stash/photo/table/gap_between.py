"""The backing between two scraps that lie close: closing gaps in a print had bridged it."""

from __future__ import annotations

import cv2
import numpy as np

from stash.photo.table.backing_model import Mask
from stash.photo.table.cloth_mask import GAP_IN
from stash.photo.table.mask_sizes import closed, disc, largest_part

__all__ = ["without_gap"]

_NEAR_IN = 0.3  # so far from the other scrap a bridge may reach, its sides included


def without_gap(kinds: list[Mask], seen: Mask, step: float) -> list[Mask]:
    """Take from each of several scraps what belongs to none: the bridge between them.

    A stripe in the backing's colour is closed by cloth of its own scrap on both sides; a bridge
    has it on one side only.

    Parameters
    ----------
    kinds : list of bool arrays, shape (height, width)
        The scraps that one region was split into.
    seen : bool, shape (height, width)
        What does not look like the backing, nothing bridged.
    step : float
        Pixels an inch.
    """
    kept = []
    for kind in kinds:
        others = np.any([other for other in kinds if other is not kind], axis=0)
        near = cv2.dilate(others.astype(np.uint8), disc(_NEAR_IN * step)) > 0
        own = closed(kind & seen, GAP_IN * step)
        kept.append(kind & _solid(largest_part(kind & (own | ~near))))  # its own holes stay
    return kept


def _solid(mask: Mask) -> Mask:
    """Fill the holes."""
    rings, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    solid = np.zeros(mask.shape, dtype=np.uint8)
    cv2.drawContours(solid, rings, -1, 1, cv2.FILLED)
    return solid.astype(bool)
