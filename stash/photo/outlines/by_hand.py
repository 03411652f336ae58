"""Outlines a person marked on the photo, where finding them fails."""

from __future__ import annotations

import numpy as np

from stash.errors import MeasureError
from stash.photo.inches.plane import Plane
from stash.shape.plane.outline import Outline, Ring, outline_of

__all__ = ["outline_by_hand"]

# A finger or a mouse hits a corner within about this share of the photo's long side; judgement.
_HIT_SHARE = 1 / 800


def outline_by_hand(corners_px: Ring, plane: Plane, *, size_px: tuple[int, int]) -> Outline:
    """Turn corners marked on the upright photo, pixels, into an outline in inches.

    Parameters
    ----------
    size_px : tuple of int
        Height and width of the photo.

    Raises
    ------
    MeasureError
        If the corners are no shape, or one lies outside the photo.
    """
    height_px, width_px = size_px
    if not all(0 <= x <= width_px and 0 <= y <= height_px for x, y in corners_px):
        raise MeasureError(
            f"A corner lies outside the photo, which is {width_px} by {height_px} pixels. Mark "
            "the scrap where it is seen."
        )
    inches = plane.to_inches(np.array(corners_px))
    scale = plane.px_per_in(np.mean(inches, axis=0))
    hit_in = max(size_px) * _HIT_SHARE / scale
    error_in = float(np.max(plane.error_in(inches))) + hit_in
    return outline_of(inches, error_in=error_in)
