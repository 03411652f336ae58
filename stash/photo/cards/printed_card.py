"""Our own reference card, printed at home: corner markers, 18 colours and a grey ramp.

Inks of a home printer are unknown: until the card is measured once beside a 24-patch chart, its
nominal colours only make photos agree with each other.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from stash.colour.spaces import FloatArray, lab_of_hex, linear_of_lab
from stash.photo.cards.card import Card
from stash.photo.cards.square_codes import read_codes
from stash.photo.files.reading import PixelsU8

__all__ = [
    "CARD_ABOVE_MIDDLE_IN",
    "CHECK_LINE_IN",
    "MARKER_IDS",
    "MARKER_IN",
    "PATCH_HEX",
    "PATCH_OF_PITCH",
    "PITCH_IN",
    "FoundMarker",
    "find_markers",
    "marker_centres_in",
    "marker_corners_in",
    "printed_card",
]

PITCH_IN = 0.9
PATCH_OF_PITCH = 0.86
MARKER_IN = 0.8
CHECK_LINE_IN = 6.0
CARD_ABOVE_MIDDLE_IN = 0.35  # the card's centre above its page's, to leave room for the text
MARKER_IDS = (31, 32, 33, 34)  # of the 4 x 4 dictionary; upper left, upper right, lower right, left
_MARKER_AT = np.array([(-4.1, 2.7), (4.1, 2.7), (4.1, -2.7), (-4.1, -2.7)])
_SEARCH_PX = (1600, 3200)
# Light, strong and deep steps round the hue circle, all within what home inks reach; then greys.
PATCH_HEX = (
    "#e8b4a8", "#e9d3a0", "#c3d6a4", "#a9d3cf", "#a9bfe0", "#d2b3d8",
    "#c8392f", "#e59a1c", "#7fa32b", "#1f8f8a", "#3f62b3", "#a04a9a",
    "#6b2a2a", "#7a5320", "#3f5a2a", "#1f5560", "#2b336e", "#5a2452",
    "#ffffff", "#c8c8c8", "#a0a0a0", "#787878", "#525252", "#202020",
)  # fmt: skip
_NEUTRALS = (18, 19, 20, 21, 22, 23)


def printed_card(
    name: str,
    *,
    check_line_in: float = CHECK_LINE_IN,
    patch_linear: FloatArray | None = None,
) -> Card:
    """Describe a printed card.

    Parameters
    ----------
    name : str
        Its owner's name for it.
    check_line_in : float
        What a ruler says of the printed 6-inch line: the print's true scale.
    patch_linear : float64, shape (24, 3), optional
        Measured colours, linear sRGB; without them the card is consistent, not absolute.
    """
    pitch = PITCH_IN * check_line_in / CHECK_LINE_IN
    grid = np.array([(column - 2.5, 1.5 - row) for row in range(4) for column in range(6)])
    nominal = np.array([linear_of_lab(np.array(lab_of_hex(text))) for text in PATCH_HEX])
    return Card(
        name=name,
        kind="printed",
        pitch_in=pitch,
        absolute=patch_linear is not None,
        patch_centres_in=grid * pitch,
        patch_linear=nominal if patch_linear is None else patch_linear,
        neutrals=_NEUTRALS,
    )


def marker_centres_in(pitch_in: float = PITCH_IN) -> FloatArray:
    """Give the centres of the corner markers in the card's frame, inches (4, 2)."""
    return _MARKER_AT * (pitch_in / PITCH_IN)


def marker_corners_in(pitch_in: float = PITCH_IN) -> FloatArray:
    """Give the corners of every marker, clockwise from its upper left, (4, 4, 2)."""
    half = MARKER_IN / 2
    square = np.array([(-half, half), (half, half), (half, -half), (-half, -half)])
    corners = (_MARKER_AT[:, None] + square) * (pitch_in / PITCH_IN)
    return np.asarray(corners, dtype=np.float64)


@dataclass(frozen=True, eq=False)
class FoundMarker:
    """A corner marker of the card: which one, and its corners (4, 2) in pixels."""

    number: int
    corners_px: FloatArray


def find_markers(pixels: PixelsU8) -> list[FoundMarker]:
    """Find corner markers of the card, all in the smallest copy that shows each of the four."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    found: list[FoundMarker] = []
    for longest in _SEARCH_PX:
        for number, rough, factor in read_codes(pixels, dictionary, longest_px=longest):
            if number in MARKER_IDS and not _seen_before(found, number, rough):
                found.append(FoundMarker(number, _sharpened(pixels, rough, factor)))
        if {marker.number for marker in found} == set(MARKER_IDS):
            break
    return found


def _seen_before(found: list[FoundMarker], number: int, corners_px: FloatArray) -> bool:
    side = float(np.hypot(*(corners_px[1] - corners_px[0])))
    return any(
        marker.number == number
        and float(np.hypot(*(marker.corners_px - corners_px).mean(axis=0))) < side
        for marker in found
    )


def _sharpened(pixels: PixelsU8, corners: FloatArray, factor: int) -> FloatArray:
    """Move marker corners to fractions of a pixel of the full photo."""
    low = np.maximum(np.floor(corners.min(axis=0)).astype(int) - 20 - 2 * factor, 0)
    high = np.ceil(corners.max(axis=0)).astype(int) + 21 + 2 * factor
    part = cv2.cvtColor(pixels[low[1] : high[1], low[0] : high[0]], cv2.COLOR_RGB2GRAY)
    side = float(np.hypot(*(corners[1] - corners[0])))
    reach = int(np.clip(side / 16, 2, 3 * factor + 2))
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 40, 0.005)
    fine = cv2.cornerSubPix(
        part, (corners - low).astype(np.float32).reshape(-1, 1, 2), (reach, reach), (-1, -1), stop
    )
    return np.asarray(fine.reshape(4, 2) + low, dtype=np.float64)
