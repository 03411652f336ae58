"""The outline a person painted: a picture that is white on the scrap and black elsewhere."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from shapely.geometry import Polygon

from stash.colour.spaces import FloatArray
from stash.errors import MeasureError
from stash.photo.files.reading import read_photo

__all__ = ["PaintedOutline", "painted_outline"]

_WHITE = 128  # of 255; painting programs soften the edge
_SLIM_PX = 0.5
_LEAST_PX = 30  # smaller spots are slips of the brush


@dataclass(frozen=True, eq=False)
class PaintedOutline:
    """Rings in pixels of the painted picture (width, height): outer border first, then holes."""

    size_px: tuple[int, int]
    rings_px: tuple[FloatArray, ...]


def painted_outline(data: bytes, *, name: str) -> PaintedOutline:
    """Trace the white part of a picture; pixels on the border count, their outer halves do not.

    Raises
    ------
    UnreadablePhotoError
        If the file is no picture.
    MeasureError
        If nothing in it is white, or more than one part is.
    """
    pixels = read_photo(data, name=name).pixels_srgb
    white = (pixels.mean(axis=2) >= _WHITE).astype(np.uint8)
    contours, tree = cv2.findContours(white, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    large = [at for at, ring in enumerate(contours) if len(ring) >= _LEAST_PX]
    outer = [at for at in large if tree[0][at][3] < 0]
    if len(outer) != 1:
        found = "nothing in it is" if not outer else f"{len(outer)} parts of it are"
        raise MeasureError(
            f"{name} shows no single scrap: {found} white. Paint the scrap white, all else black."
        )
    holes = [at for at in large if tree[0][at][3] == outer[0]]
    rings = tuple(_slim(contours[at].reshape(-1, 2)) for at in (*outer, *holes))
    return PaintedOutline((pixels.shape[1], pixels.shape[0]), rings)


def _slim(ring: np.ndarray) -> FloatArray:
    slim = shapely.simplify(Polygon(ring).exterior, _SLIM_PX)
    return np.asarray(slim.coords[:-1], dtype=np.float64)
