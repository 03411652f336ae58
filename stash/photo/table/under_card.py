"""What the card lies on, where that is smaller than the photo; and what touches the card.

Scraps and card are often laid on a sheet of paper or a cutting mat, with table or carpet showing
all round. Then the sheet is the backing, and the photo ends for us where it ends.
"""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.photo.table.backing_model import Float32Array, Mask
from stash.photo.table.mask_sizes import disc

__all__ = ["AtCard", "Sheet", "at_card", "sheet_round", "sheet_under"]

_ALL_ROUND = 0.9  # share of the card's rim along which a sheet shows
_LEAST_TIMES = 3.0  # a sheet is so many times the card; less is its rim or holder
_TOUCHES_IN = 0.5  # length along the card; a scrap laid close meets it at a corner only
_RIM_IN, _RIM_SHARE = 0.5, 0.3  # a card's own rim: how wide at most, along how much of the card
_ROUGH_PX_PER_IN = 20.0  # so coarse that weave and grain are smooth and a sheet's edge is a step
_SAME, _HUE_OFF = (
    2.5,
    9.0,
)  # CIELAB: from one rough pixel to the next; a* and b* off the card's place
_REACHED = 2
_FLOOD = 4 | (_REACHED << 8) | cv2.FLOODFILL_MASK_ONLY
_MOSTLY = 0.75
_DARKER, _LIGHTER = 35.0, 25.0  # L*: light falls off over a sheet


class AtCard(Enum):
    """How something lies to the card."""

    TOUCHES = "touches"
    RIM = "rim"


class Sheet(NamedTuple):
    """What the card lies on: all of it, and what of it is bare; bool, shape (height, width)."""

    whole: Mask
    bare: Mask


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
    sheet = _holes_filled(labels == label)
    return sheet if sheet.sum() > _LEAST_TIMES * card.sum() else None


def sheet_round(card: Mask, lab: Float32Array, step: float) -> Sheet | None:
    """Give what the card lies on by its own colour, followed from the card outwards, holes filled.

    For photos round whose border several things are seen, so that none of them is the backing.
    None if the card has no such surroundings.

    Parameters
    ----------
    card : bool, shape (height, width)
        Where the card lies.
    lab : float32, shape (height, width, 3)
        CIELAB of the work image.
    step : float
        Pixels an inch.
    """
    height, width = card.shape
    by = min(1.0, _ROUGH_PX_PER_IN / step)
    size = (max(8, round(width * by)), max(8, round(height * by)))
    rough = cv2.resize(lab, size, interpolation=cv2.INTER_AREA)
    blocked = cv2.resize(card.astype(np.float32), size, interpolation=cv2.INTER_AREA) > 0
    rim = _rim(blocked)
    if not rim.any():
        return None
    off = rough - np.median(rough[rim], axis=0)
    alike = (np.abs(off[..., 1:]).max(axis=2) < _HUE_OFF) & ~blocked
    alike &= (off[..., 0] > -_DARKER) & (off[..., 0] < _LIGHTER)
    barred = np.pad((~alike).astype(np.uint8), 1, constant_values=1)
    for down, across in np.argwhere(rim & alike).tolist():
        if not barred[down + 1, across + 1]:
            cv2.floodFill(rough, barred, (across, down), 0, (_SAME,) * 3, (_SAME,) * 3, _FLOOD)
    reached = barred[1:-1, 1:-1] == _REACHED
    sheet = _holes_filled(reached | blocked)
    if (reached & rim).sum() < _ALL_ROUND * rim.sum() or sheet.sum() < _LEAST_TIMES * blocked.sum():
        return None
    fine = (
        cv2.resize(mask.astype(np.float32), (width, height), interpolation=cv2.INTER_LINEAR)
        for mask in (sheet, reached)
    )
    return Sheet(*(np.asarray(mask > _MOSTLY, dtype=bool) for mask in fine))


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


def _holes_filled(mask: Mask) -> Mask:
    gaps = cv2.connectedComponents(np.pad(~mask, 1, constant_values=True).astype(np.uint8))[1]
    return np.asarray(gaps[1:-1, 1:-1] != gaps[0, 0], dtype=bool)


def _all_near(part: Mask, card: Mask, reach_px: float) -> bool:
    near = cv2.dilate(card.astype(np.uint8), disc(reach_px)) > 0
    return not (part & ~near).any()


def _rim(card: Mask) -> Mask:
    """Give the two pixels round the card."""
    wider = cv2.dilate(card.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    return np.asarray(wider & ~card, dtype=bool)
