"""Finding the printed card by its corner markers; several prints may lie in one photo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from stash.colour.spaces import FloatArray
from stash.errors import CardCoveredError
from stash.photo.cards.card import Card, FoundCard
from stash.photo.cards.card_reading import CardPlace, found_card, settled
from stash.photo.cards.printed_card import (
    MARKER_IDS,
    FoundMarker,
    marker_centres_in,
    marker_corners_in,
)
from stash.photo.cards.printed_page import page_outline_px
from stash.photo.files.reading import PixelsU8

__all__ = ["read_printed_cards"]

# Prints lie at least 8 in apart; one marker says where the middle of its page is to an inch.
_SAME_PAGE_IN = 3.0


def read_printed_cards(
    pixels: PixelsU8, markers: Sequence[FoundMarker], card: Card
) -> list[FoundCard]:
    """Read every print of which all four corner markers are seen.

    Parameters
    ----------
    pixels : uint8, shape (height, width, 3)
        The photo at full size.
    markers : sequence of FoundMarker
        As ``printed_card.find_markers`` gives them.

    Raises
    ------
    CardCoveredError
        If there are markers and no print shows all four.
    """
    pages = _pages(markers, card.pitch_in)
    whole = [page for page in pages if len(page) == len(MARKER_IDS)]
    if pages and not whole:
        seen = max(len(page) for page in pages)
        raise CardCoveredError(
            f"I can see {seen} of the 4 corner marks of the printed card. Lay the whole "
            "card free and take the photo again.",
            squares_seen=seen,
            squares_needed=len(MARKER_IDS),
        )
    return [_read(pixels, page, card) for page in whole]


@dataclass(frozen=True, eq=False)
class _Placed:
    """A marker, and where it says the middle of its page is."""

    marker: FoundMarker
    middle_px: FloatArray
    px_per_in: float


def _pages(markers: Sequence[FoundMarker], pitch_in: float) -> list[dict[int, FloatArray]]:
    """Put the markers of one print together: their corners by number."""
    pages: list[list[_Placed]] = []
    for marker in markers:
        placed = _placed(marker, pitch_in)
        near = [page for page in pages if _belongs(placed, page)]
        if near:
            near[0].append(placed)
        else:
            pages.append([placed])
    return [{one.marker.number: one.marker.corners_px for one in page} for page in pages]


def _placed(marker: FoundMarker, pitch_in: float) -> _Placed:
    corners_in = marker_corners_in(pitch_in)[MARKER_IDS.index(marker.number)]
    # Turned, moved and scaled only: perspective from four close corners would throw far. A photo's
    # y runs down.
    matrix, _ = cv2.estimateAffinePartial2D(corners_in * (1, -1), marker.corners_px)
    return _Placed(marker, np.asarray(matrix[:, 2]), float(np.hypot(matrix[0, 0], matrix[1, 0])))


def _belongs(placed: _Placed, page: Sequence[_Placed]) -> bool:
    if any(one.marker.number == placed.marker.number for one in page):
        return False
    middle = np.mean([one.middle_px for one in page], axis=0)
    return bool(np.hypot(*(placed.middle_px - middle)) < _SAME_PAGE_IN * placed.px_per_in)


def _read(pixels: PixelsU8, page: dict[int, FloatArray], card: Card) -> FoundCard:
    corners_px = np.stack([page[number] for number in MARKER_IDS])
    corners_in = marker_corners_in(card.pitch_in)
    start, _ = cv2.findHomography(corners_in.reshape(-1, 2), corners_px.reshape(-1, 2))
    _, centres = settled(pixels, np.asarray(start, dtype=np.float64), card)
    # Blur moves all four corners of a marker outwards or inwards alike; its middle stays.
    points_in, points_px = marker_centres_in(card.pitch_in), _middles(corners_px)
    all_in = np.vstack([points_in, card.patch_centres_in])
    all_px = np.vstack([points_px, centres.centres_px])
    image_from_card = np.asarray(cv2.findHomography(all_in, all_px)[0], dtype=np.float64)
    place = CardPlace(image_from_card, centres, points_in, points_px)
    return found_card(pixels, card, place, page_outline_px(pixels, image_from_card))


def _middles(corners_px: FloatArray) -> FloatArray:
    """Where the diagonals of squares (n, 4, 2) cross, (n, 2): their middle, seen from anywhere."""
    around = np.concatenate([corners_px, np.ones((*corners_px.shape[:2], 1))], axis=2)
    crossing = np.cross(np.cross(around[:, 0], around[:, 2]), np.cross(around[:, 1], around[:, 3]))
    return np.asarray(crossing[:, :2] / crossing[:, 2:])
