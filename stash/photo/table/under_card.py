"""What the card lies on, where that is smaller than the photo; and what touches the card.

Scraps and card are often laid on a sheet of paper or a cutting mat, with table or carpet showing
all round. Then the sheet is the backing, and the photo ends for us where it ends.
"""

from __future__ import annotations

from enum import Enum

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.photo.table.backing_model import Mask
from stash.photo.table.mask_sizes import disc

__all__ = ["AtCard", "at_card", "sheet_under"]

_ALL_ROUND = 0.9  # share of the card's rim along which a sheet shows
_LEAST_TIMES = 3.0  # a sheet is so many times the card; less is its rim or holder
_TOUCHES_IN = 0.5  # length along the card; a scrap laid close meets it at a corner only
_RIM_IN, _RIM_SHARE = 0.5, 0.3  # a card's own rim: how wide at most, along how much of the card


class AtCard(Enum):
    """How something lies to the card."""

    TOUCHES = "touches"
    RIM = "rim"


def sheet_under(card: Mask, cloth: Mask) -> Mask | None:
    """Give the sheet that was taken for a scrap, holes filled; None if the card lies on no such.

    Parameters
    ----------
    card : bool, shape (height, width)
        Where the card lies.
    cloth : bool, shape (height, width)
        What is unlike the backing that runs round the photo.
    """
    labels = cv2.connectedComponents((cloth & ~card).astype(np.uint8), connectivity=4)[1]
    around = labels[_rim(card)]
    counts = np.bincount(around, minlength=2)
    label = 1 + int(counts[1:].argmax())
    if counts[label] < _ALL_ROUND * max(1, len(around)):
        return None
    gaps = cv2.connectedComponents(
        np.pad(labels != label, 1, constant_values=True).astype(np.uint8)
    )
    outside = gaps[1][0, 0]
    sheet = np.asarray(gaps[1][1:-1, 1:-1] != outside, dtype=bool)
    return sheet if sheet.sum() > _LEAST_TIMES * card.sum() else None


def at_card(labels: NDArray[np.int32], card: Mask, step: float) -> dict[int, AtCard]:
    """Tell which parts of the cloth lie at the card, and how.

    Parameters
    ----------
    labels : int32, shape (height, width)
        The parts' numbers, 0 where no cloth is.
    card : bool, shape (height, width)
        Where the card lies.
    step : float
        Pixels an inch.
    """
    rim = _rim(card)
    wide_px = 2
    along_px = np.bincount(labels[rim], minlength=1) / wide_px
    found = dict[int, AtCard]()
    for label in np.flatnonzero(along_px >= _TOUCHES_IN * step).tolist():
        if label == 0:
            continue
        hugs = along_px[label] * wide_px > _RIM_SHARE * rim.sum()
        is_rim = hugs and _all_near(labels == label, card, _RIM_IN * step)
        found[label] = AtCard.RIM if is_rim else AtCard.TOUCHES
    return found


def _all_near(part: Mask, card: Mask, reach_px: float) -> bool:
    near = cv2.dilate(card.astype(np.uint8), disc(reach_px)) > 0
    return not (part & ~near).any()


def _rim(card: Mask) -> Mask:
    """Give the two pixels round the card."""
    wider = cv2.dilate(card.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    return np.asarray(wider & ~card, dtype=bool)
