"""Threads and pins that lie over a scrap's edge: taken off before gaps beside them count as cloth.

Closing the gaps of a print also closes what lies between an edge and a thread beside it. Known by
its bold core, a thread is taken off with all that it had bridged; where it lay, the edge was not
seen.
"""

from __future__ import annotations

import cv2
import numpy as np
from scipy.ndimage import find_objects

from stash.photo.table.backing_model import Mask
from stash.photo.table.cloth_mask import GAP_IN
from stash.photo.table.mask_sizes import closed, disc
from stash.photo.table.thin_parts import without_spurs
from stash.photo.table.true_shape import Look, own_colours

__all__ = ["loose_threads", "without_threads"]

_MOSTLY = 0.7  # share of the scrap that must be bold; else its print may hang together by threads
_HALF_WIDE_IN, _LEAST_LONG_IN = 0.1, 0.12  # a pin's head is the widest
_INSIDE_IN, _OFTEN, _OWN = 0.2, 0.005, 0.7  # shares of the cloth's inside, of a thread
_BRIDGED_IN = 0.15  # beside a thread
_RIM_IN = 0.03  # how wide an edge of cloth is blurred


def loose_threads(part: Mask, look: Look, step: float) -> Mask:
    """Tell threads and pins at the edge of one scrap, of other colours than its cloth.

    Parameters
    ----------
    part : bool, shape (height, width)
        The scrap in its box, gaps closed.
    look : Look
        The box.
    step : float
        Pixels an inch.
    """
    sharp = part & look.bold
    core = without_spurs(sharp, step)
    threads = np.zeros_like(part)
    if core.sum() < _MOSTLY * part.sum():
        return threads
    loose = (sharp & ~core).astype(np.uint8)
    labels = np.asarray(cv2.connectedComponents(loose)[1], dtype=np.int32)
    least_px = _LEAST_LONG_IN * step
    boxes = enumerate(find_objects(labels), 1)
    long = [
        (label, at)
        for label, at in boxes
        if np.hypot(*(one.stop - one.start for one in at)) >= least_px
    ]
    if not long:
        return threads
    depth = cv2.distanceTransform(loose, cv2.DIST_L2, 3)
    inside = cv2.erode(part.astype(np.uint8), disc(_INSIDE_IN * step)) > 0
    own = own_colours(look.lab, inside, least=_OFTEN)
    for label, at in long:
        one = labels[at] == label
        if depth[at][one].max() <= _HALF_WIDE_IN * step and own[at][one].mean() < _OWN:
            threads[at] |= one
    return threads


def without_threads(part: Mask, threads: Mask, bold: Mask, step: float) -> Mask:
    """Take threads off a scrap, and the gaps that were closed only because of them."""
    if not threads.any():
        return part
    cloth = closed(part & bold & ~threads, GAP_IN * step)
    beside = cv2.dilate(threads.astype(np.uint8), disc(_BRIDGED_IN * step)) > 0
    sure = cv2.dilate(cloth.astype(np.uint8), disc(_RIM_IN * step)) > 0
    return part & (sure | ~beside)
