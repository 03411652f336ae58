"""The cloth round a spot somebody points at, where the backing's model does not tell it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.shape.plane.outline import Point

__all__ = ["RingRound", "ring_round"]

# The picture is looked at this coarsely: pixels to an inch. Judgement: threads do not matter.
_COARSE_PX_PER_IN = 24.0
_SEED_IN = 0.3  # the spot lies so far inside the cloth at least
_REACH_IN = 9.0  # no scrap reaches farther from the spot
_LEAST_SQ_IN = 0.8
_ROUNDS = 4
_MOTIF_IN, _THREAD_IN = 0.18, 0.06  # gaps that a print makes at the edge; what sticks out
_LEAST_CORNER_IN = 0.035  # a corner this shallow is none
# The edge is looked for so far on either side of the coarse one, at places so far apart.
_ACROSS_IN, _APART_IN = 0.2, 0.05
_LOOKS = 33  # across the edge
_LEAST_CONTRAST = 12.0  # of 8-bit colours; a weaker edge stays where the coarse one is
_UNSURE_IN = 0.07
# A ring of more corners follows a print more than the cloth's end; both judgement.
_CORNERS_OF_CLOTH, _RAGGED_IN = 16, 0.2
_ROOM_IN = 0.3  # cloth that comes so near to the end of what is looked at is the ground


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
    coarse = _ring_of(mask, spot, per_in)
    if coarse is None:
        return None
    ring = _at_the_edge(window, (coarse + 0.5) / scale - 0.5, px_per_in)
    corners = tuple((float(u) + left, float(v) + top) for u, v in ring)
    unsure_in = _UNSURE_IN if len(corners) <= _CORNERS_OF_CLOTH else _RAGGED_IN
    return RingRound(corners, unsure_px=unsure_in * px_per_in)


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
) -> NDArray[np.float64] | None:
    """Give the outer border of the part that holds the spot, pixel by pixel."""
    gaps, threads = (_round_brush(width * per_in) for width in (_MOTIF_IN, _THREAD_IN))
    clean = cv2.morphologyEx(cv2.morphologyEx(mask, cv2.MORPH_CLOSE, gaps), cv2.MORPH_OPEN, threads)
    found, _ = cv2.findContours(clean, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    for contour in found:
        if cv2.pointPolygonTest(contour, (float(spot[0]), float(spot[1])), measureDist=False) < 0:
            continue
        area = cv2.contourArea(contour)
        if not _LEAST_SQ_IN * per_in**2 <= area <= 0.8 * mask.size:
            return None
        room = contour[:, 0].min(), (np.array(mask.shape[::-1]) - contour[:, 0]).min()
        if min(room) < _ROOM_IN * per_in:
            return None
        return np.asarray(contour[:, 0], np.float64)
    return None


def _round_brush(radius_px: float) -> NDArray[np.uint8]:
    side = 2 * max(1, round(radius_px)) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), np.uint8)


def _at_the_edge(
    window: NDArray[np.uint8], ring: NDArray[np.float64], px_per_in: float
) -> NDArray[np.float64]:
    """Move a ring to where the colours change, and give it straight between its corners.

    Across each place of it the colours go from the cloth's to the ground's: how much of the way
    is still cloth says where the edge lies.
    """
    points, outward = _evenly(ring, _APART_IN * px_per_in)
    across = np.linspace(-_ACROSS_IN, _ACROSS_IN, _LOOKS)
    at = points[:, None] + outward[:, None] * (across[:, None] * px_per_in)
    soft = cv2.GaussianBlur(window, (0, 0), max(0.5, 0.02 * px_per_in)).astype(np.float32)
    where = at.astype(np.float32)
    seen = cv2.remap(soft, where[..., 0], where[..., 1], cv2.INTER_LINEAR)
    inner, outer = seen[:, : _LOOKS // 4].mean(axis=1), seen[:, -(_LOOKS // 4) :].mean(axis=1)
    way = inner - outer
    length = np.linalg.norm(way, axis=1)
    share = ((seen - outer[:, None]) * way[:, None]).sum(axis=2) / np.maximum(length, 1)[
        :, None
    ] ** 2
    moved = np.clip(share, 0, 1).mean(axis=1) * 2 * _ACROSS_IN - _ACROSS_IN
    moved[length < _LEAST_CONTRAST] = np.nan
    moved = _calmed(moved)
    exact = points + outward * (moved[:, None] * px_per_in)
    step = _LEAST_CORNER_IN * px_per_in
    corners = cv2.approxPolyDP(exact.astype(np.float32)[:, None], step, closed=True)[:, 0]
    return np.asarray(corners if len(corners) >= 3 else ring, np.float64)


def _evenly(
    ring: NDArray[np.float64], apart_px: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give places evenly along a closed ring, and which way is outward there."""
    closed = np.vstack([ring, ring[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    count = max(12, round(float(along[-1]) / apart_px))
    where = np.arange(count) * along[-1] / count
    points = np.column_stack([np.interp(where, along, closed[:, axis]) for axis in (0, 1)])
    ahead = np.roll(points, -2, axis=0) - np.roll(points, 2, axis=0)
    outward = np.column_stack([ahead[:, 1], -ahead[:, 0]])
    outward /= np.maximum(np.linalg.norm(outward, axis=1), 1e-9)[:, None]
    x, y = points.T
    turned = float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) > 0  # clockwise as pixels are seen
    return points, outward if turned else -outward


def _calmed(moved: NDArray[np.float64]) -> NDArray[np.float64]:
    """Take the middle of nine neighbours: a motif that runs over the edge is no edge."""
    some = np.stack([np.roll(moved, turn) for turn in range(-4, 5)])
    known = np.where(np.isnan(some).all(axis=0), 0.0, np.nan)
    some[4] = np.where(np.isnan(known), some[4], 0.0)
    return np.asarray(np.nanmedian(some, axis=0))
