"""The cloth round a spot somebody points at, where the backing's model does not tell it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.shape.outline import Point

__all__ = ["RingRound", "ring_round"]

# The picture is looked at this coarsely: pixels to an inch. Judgement: threads do not matter.
_COARSE_PX_PER_IN = 24.0
_SEED_IN = 0.3  # the spot lies so far inside the cloth at least
_REACH_IN = 9.0  # no scrap reaches farther from the spot
_LEAST_SQ_IN = 0.8
_ROUNDS = 4
_STEP_OF_CORNERS = 0.012  # of the ring's length: a corner this shallow is none


@dataclass(frozen=True, slots=True)
class RingRound:
    """Corners of the cloth, pixels of the photo, and how far they may be off."""

    corners_px: tuple[Point, ...]
    unsure_px: float


def ring_round(
    pixels_srgb: NDArray[np.uint8], spot_px: Point, *, px_per_in: float
) -> RingRound | None:
    """Tell the cloth at a spot from what lies round it; None where nothing stands out.

    The colours within a finger's width of the spot are cloth, those at the window's border are
    not; where each pixel between belongs is cut with least seam (GrabCut: Rother, Kolmogorov and
    Blake, 2004, as OpenCV has it).

    Parameters
    ----------
    pixels_srgb : uint8, shape (height, width, 3)
        The photo, upright.
    px_per_in : float
        Pixels to an inch at the spot.
    """
    scale = min(1.0, _COARSE_PX_PER_IN / px_per_in)
    per_in = px_per_in * scale
    x, y = spot_px
    reach = round(_REACH_IN * px_per_in)
    left, top = max(0, round(x) - reach), max(0, round(y) - reach)
    window = pixels_srgb[top : round(y) + reach, left : round(x) + reach]
    small = cv2.resize(window, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    spot = (round((x - left) * scale), round((y - top) * scale))
    mask = _cut_out(np.ascontiguousarray(small), spot, per_in)
    ring = _ring_of(mask, spot, per_in)
    if ring is None:
        return None
    corners = tuple((float(u) / scale + left, float(v) / scale + top) for u, v in ring)
    return RingRound(corners, unsure_px=1.5 / scale)


def _cut_out(small: NDArray[np.uint8], spot: tuple[int, int], per_in: float) -> NDArray[np.uint8]:
    height, width = small.shape[:2]
    mask = np.full((height, width), cv2.GC_PR_BGD, np.uint8)
    cv2.circle(mask, spot, round(2.2 * per_in), int(cv2.GC_PR_FGD), -1)
    cv2.circle(mask, spot, max(2, round(_SEED_IN * per_in)), int(cv2.GC_FGD), -1)
    rim = max(2, round(0.2 * per_in))
    for side in (mask[:rim], mask[-rim:], mask[:, :rim], mask[:, -rim:]):
        side[...] = cv2.GC_BGD
    smooth = cv2.bilateralFilter(small, 7, 30, 5)
    inside, outside = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.grabCut(smooth, mask, (0, 0, 1, 1), inside, outside, _ROUNDS, cv2.GC_INIT_WITH_MASK)
    return np.asarray((mask == cv2.GC_FGD) | (mask == cv2.GC_PR_FGD), np.uint8)


def _ring_of(
    mask: NDArray[np.uint8], spot: tuple[int, int], per_in: float
) -> NDArray[np.int32] | None:
    """Give the outer border of the part that holds the spot, straight between its corners."""
    side = 2 * max(1, round(0.06 * per_in)) + 1
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    clean = cv2.morphologyEx(
        cv2.morphologyEx(mask, cv2.MORPH_CLOSE, kernel), cv2.MORPH_OPEN, kernel
    )
    found, _ = cv2.findContours(clean, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    for contour in found:
        if cv2.pointPolygonTest(contour, (float(spot[0]), float(spot[1])), measureDist=False) < 0:
            continue
        area = cv2.contourArea(contour)
        if not _LEAST_SQ_IN * per_in**2 <= area <= 0.8 * mask.size:
            return None
        step = _STEP_OF_CORNERS * cv2.arcLength(contour, closed=True)
        ring = cv2.approxPolyDP(contour, step, closed=True)[:, 0]
        return np.asarray(ring, np.int32) if len(ring) >= 3 else None
    return None
