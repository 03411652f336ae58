"""Square codes (ArUco) in a photo: numbers and corners."""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np

from stash.colour.spaces import FloatArray
from stash.photo.cards.patch_candidates import smaller_copy
from stash.photo.files.reading import PixelsU8

__all__ = ["read_codes"]

# A cell is read from 8 x 8 samples and without its rim: of codes some 35 pixels wide about a
# quarter is not read with OpenCV's own settings (4 x 4, nearly whole cells).
_SAMPLES, _RIM = 8, 0.25


def read_codes(
    pixels: PixelsU8,
    dictionary: cv2.aruco.Dictionary,
    *,
    longest_px: int,
    window_px: int | None = None,
) -> Iterator[tuple[int, FloatArray, int]]:
    """Read codes in a smaller copy of a photo.

    Parameters
    ----------
    pixels : uint8, shape (height, width, 3)
        The photo at full size.
    longest_px : int
        How long the copy's longer side is, about.
    window_px : int, optional
        Compare with the surroundings in this window only, which is quicker than in three.

    Yields
    ------
    tuple
        Number, corners (4, 2) in pixels of the photo, and how many times smaller the copy was.
    """
    small, factor = smaller_copy(pixels, longest_px)
    settings = cv2.aruco.DetectorParameters()
    settings.perspectiveRemovePixelPerCell = _SAMPLES
    settings.perspectiveRemoveIgnoredMarginPerCell = _RIM
    if window_px is not None:
        settings.adaptiveThreshWinSizeMin = settings.adaptiveThreshWinSizeMax = window_px
    grey = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY)
    corners, numbers, _ = cv2.aruco.ArucoDetector(dictionary, settings).detectMarkers(grey)
    for number, corner in zip([] if numbers is None else numbers.ravel(), corners, strict=True):
        rough = (np.asarray(corner, dtype=np.float64).reshape(4, 2) + 0.5) * factor - 0.5
        yield int(number), rough, factor
