"""Cloth so bright in the photo that the camera's numbers end: its colour can only be guessed."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from stash.colour.cloth_sample import ClothSample

__all__ = ["burnt_share", "doubt_de00", "warning_of"]

_FULL = 252  # of 255; noise and JPEG keep burnt-out pixels a little below the end
_STEP = 3  # every third pixel each way tells as much
_TOLD = 0.15  # less is the glint of a few threads
# CIEDE2000 that a scrap wholly burnt out in one channel was off by: up to 4.8 on simulated photos.
_DOUBT_WHOLE = 5.0


def burnt_share(sample: ClothSample) -> float:
    """Give the share of a scrap's pixels that are at the end of the scale, worst channel, 0..1."""
    seen = np.ascontiguousarray(sample.pixels_srgb[::_STEP, ::_STEP])
    on_scrap = sample.mask[::_STEP, ::_STEP].astype(np.uint8)
    at_the_end = cv2.threshold(seen, _FULL - 1, 1, cv2.THRESH_BINARY)[1]
    return float(max(cv2.mean(at_the_end, on_scrap)[:3]))


def doubt_de00(share: float) -> float:
    """Give what the colour may be off by for it, CIEDE2000."""
    return _DOUBT_WHOLE * share if share > _TOLD else 0.0


def warning_of(shares: Sequence[float]) -> tuple[str, ...]:
    """Say what a quilter should know; nothing if no scrap is burnt out."""
    count = int(np.sum(np.asarray(shares) > _TOLD))
    if not count:
        return ()
    what, their = ("A scrap is", "its") if count == 1 else (f"{count} scraps are", "their")
    return (
        f"{what} burnt out in this photo, so {their} colour is less sure; take the photo a little "
        "darker.",
    )
