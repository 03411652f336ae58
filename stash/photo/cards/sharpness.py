"""How sharp a photo is, told without knowing what it shows.

A sharp border is as steep in a small copy of the photo as in a large one; a border that is smeared
out over many pixels is steep only in the small copy. Shake smears along one direction alone, so
each direction is looked at by itself.
"""

from __future__ import annotations

import cv2
import numpy as np

from stash.colour.spaces import FloatArray
from stash.photo.cards.patch_candidates import smaller_copy
from stash.photo.files.reading import PixelsU8

__all__ = ["sharpness"]

_FINE_PX, _COARSE_PX = 1000, (250, 64)  # longest sides of the copies
_LEAST_STEEP = 8.0  # grey levels a pixel; below it there is no border to judge by
_BORDER_LENGTH = 0.4  # long sides of the photo: a card alone on a table has several
_DIRECTIONS = np.arange(0, np.pi, np.pi / 6)


def sharpness(pixels: PixelsU8) -> float:
    """Give steepness in the 1000-pixel copy over that in smaller ones, in the softest direction.

    About 1 for a sharp photo and less for a blurred one; infinite where no borders are seen.
    """
    fine = _steepness(pixels, _FINE_PX)
    coarse = np.max([_steepness(pixels, longest) for longest in _COARSE_PX], axis=0)
    clear = coarse > _LEAST_STEEP
    return float((fine[clear] / coarse[clear]).min()) if clear.any() else float("inf")


def _steepness(pixels: PixelsU8, longest_px: int) -> FloatArray:
    """Give how steep the steepest borders are, grey levels a pixel, for each direction."""
    small, _ = smaller_copy(pixels, longest_px)
    grey = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY).astype(np.float32)
    right, down = cv2.Sobel(grey, cv2.CV_32F, 1, 0) / 8, cv2.Sobel(grey, cv2.CV_32F, 0, 1) / 8
    rank = min(round(_BORDER_LENGTH * max(grey.shape)), grey.size)
    slopes = [np.abs(np.cos(turn) * right + np.sin(turn) * down).ravel() for turn in _DIRECTIONS]
    return np.array([float(np.partition(slope, -rank)[-rank]) for slope in slopes])
