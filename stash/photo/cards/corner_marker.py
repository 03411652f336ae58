"""Loose corner markers: printed squares laid anywhere round a big area, to tell how it slants.

Where each lies and how it is turned is not known and need not be: each is a square of known size,
and a square seen too large, too small or askew tells how the table lies there. The card still
gives the colour and the inches.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from stash.colour.spaces import FloatArray
from stash.photo.cards.marker_border import square_corners
from stash.photo.cards.patch_edges import project
from stash.photo.cards.square_codes import read_codes
from stash.photo.files.reading import PixelsU8

__all__ = [
    "CHECK_LINE_IN",
    "MARKER_COUNT",
    "PAPER_IN",
    "SIDE_IN",
    "CornerMarker",
    "LoosePrint",
    "find_corner_markers",
    "marker_cells",
    "paper_outline_px",
]

SIDE_IN = 2.5
PAPER_IN = 3.5  # each is cut out with half an inch of white all round
MARKER_COUNT = 8  # numbers 1 to 8; four to a page
CHECK_LINE_IN = 6.0
CELLS = 7  # five of code and a black border
# Prints of home printers at "100 %" are out by less than a hundredth (common practice, no source);
# a line of 6 in is read off a ruler to 1/64 in.
_UNSTATED_SPREAD, _STATED_SPREAD = 0.004, 0.0015
_COPY_PX = 1000
_WINDOW_PX = 15
_CUT_IN = 0.12  # how far off the line the scissors may have gone
_SQUARE = np.array([(-1, 1), (1, 1), (1, -1), (-1, -1)]) / 2


@dataclass(frozen=True, slots=True)
class LoosePrint:
    """How large the markers were printed.

    Attributes
    ----------
    side_in : float
        Side of each black square.
    spread : float
        Standard error of it, as a share.
    """

    side_in: float = SIDE_IN
    spread: float = _UNSTATED_SPREAD

    @classmethod
    def of_line(cls, check_line_in: float) -> LoosePrint:
        """Scale by what a ruler says of the printed 6-inch line."""
        return cls(SIDE_IN * check_line_in / CHECK_LINE_IN, _STATED_SPREAD)

    @property
    def corners_in(self) -> FloatArray:
        """Corners (4, 2) about the marker's middle, as ``CornerMarker.corners_px`` has them."""
        return np.asarray(_SQUARE * self.side_in)


@dataclass(frozen=True, eq=False)
class CornerMarker:
    """A loose marker in a photo.

    Attributes
    ----------
    number : int
        As printed on it, from 1.
    corners_px : float64, shape (4, 2)
        Corners of the black square: upper left, upper right, lower right, lower left as printed.
    """

    number: int
    corners_px: FloatArray


def marker_cells(number: int) -> np.ndarray:
    """Give the cells of a marker, True where white, shape (7, 7)."""
    picture = cv2.aruco.generateImageMarker(_dictionary(), number - 1, CELLS, borderBits=1)
    return np.asarray(picture > 0)


def find_corner_markers(pixels: PixelsU8) -> tuple[CornerMarker, ...]:
    """Find the loose corner markers of a photo, by number; one seen twice is left aside."""
    codes = list(read_codes(pixels, _dictionary(), longest_px=_COPY_PX, window_px=_WINDOW_PX))
    seen = [number + 1 for number, *_ in codes]
    found = []
    for number, (_, rough, _) in sorted(zip(seen, codes, strict=True), key=lambda pair: pair[0]):
        if number <= MARKER_COUNT and seen.count(number) == 1:
            exact = square_corners(pixels, rough)
            if exact is not None:
                found.append(CornerMarker(number, exact))
    return tuple(found)


def paper_outline_px(marker: CornerMarker) -> FloatArray:
    """Give the corners (4, 2) of the paper it is printed on, a little generous."""
    plane, _ = cv2.findHomography(_SQUARE, marker.corners_px)
    reach = (PAPER_IN + 2 * _CUT_IN) / SIDE_IN
    return project(np.asarray(plane, dtype=np.float64), _SQUARE * reach)


def _dictionary() -> cv2.aruco.Dictionary:
    """Codes at least eight cells apart, so that no print of cloth is taken for one."""
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_50)
