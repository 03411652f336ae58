"""Telling scraps apart that touch or overlap: two cloths, one region, an inward corner between.

A region is only split where both signs agree: its cloth is of two kinds that each hang together,
and the seam between them ends at an inward corner of the outline. A two-coloured print has no such
corner; an L-shaped scrap has no second kind of cloth. Kinds of about one colour each are told
here, mixtures of colours in ``stash.photo.table.cloth_seam``.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.photo.table.backing_model import Float32Array, Mask
from stash.photo.table.cloth_seam import parted_at_seam
from stash.photo.table.faint_seam import parted_at_faint_seam
from stash.photo.table.mask_sizes import outer_border
from stash.photo.table.shadow_edge import is_shadow_edge

__all__ = ["split_touching"]

_BLUR_IN = 0.08
_LEAST_SQ_IN = 0.5
_LEAST_STEP = 7.0  # CIELAB between the two cloths' means
_CLEAR = 2.2  # that step over the two cloths' own spreads
_WHOLE = 0.93  # share of the region that two connected parts must explain
_CORNER_DEEP_IN, _CORNER_NEAR_IN = 0.12, 0.35
_SAMPLES = 2500
_LEAST_HALF_WIDTH_IN = 0.25  # no scrap worth logging is narrower than half an inch all over


def split_touching(
    mask: Mask, lab: Float32Array, light_left: Float32Array, step: float
) -> list[Mask]:
    """Split a region into scraps, or give it back whole.

    Parameters
    ----------
    mask : bool, shape (height, width)
        The region in its box.
    lab : float32, shape (height, width, 3)
        CIELAB of the same box.
    light_left : float32, shape (height, width)
        Cube root of the light on the backing, -1 where it is not seen.
    step : float
        Pixels an inch.
    """
    looks = (_of_two_colours, parted_at_seam, parted_at_faint_seam)
    found = (parts for look in looks if (parts := look(mask, lab, step)))
    seams = (parts for parts in found if not is_shadow_edge(parts, lab, light_left, step))
    parts = next(seams, None)
    if parts is None or not all(_has_body(part, step) for part in parts):
        return [mask]
    return [one for part in parts for one in split_touching(part, lab, light_left, step)]


def _of_two_colours(mask: Mask, lab: Float32Array, step: float) -> list[Mask] | None:
    """Split two cloths of which each is about one colour."""
    corners = _inward_corners(mask, step)
    if not len(corners):
        return None
    parts = _two_kinds(mask, lab, step)
    if parts is None:
        return None
    kinds = _nearest_part(mask, parts)
    if not all(_has_body(kind, step) for kind in kinds):
        return None
    ends = _seam_ends(mask, kinds, step)
    near = [np.hypot(*(corners - end).T).min() < _CORNER_NEAR_IN * step for end in ends]
    return kinds if len(near) >= 2 and any(near) else None


def _inward_corners(mask: Mask, step: float) -> NDArray[np.float64]:
    """Points (n, 2) where the outline turns inwards by more than a nick."""
    slim = cv2.approxPolyDP(outer_border(mask), 0.04 * step, closed=True).reshape(-1, 2)
    if len(slim) < 5:
        return np.empty((0, 2))
    hull = np.sort(cv2.convexHull(slim, returnPoints=False).ravel())[::-1].copy()
    defects = cv2.convexityDefects(slim, hull)
    if defects is None:
        return np.empty((0, 2))
    defects = defects.reshape(-1, 4)
    deep = defects[:, 3] / 256 > _CORNER_DEEP_IN * step
    return np.asarray(slim[defects[deep, 2]], dtype=np.float64)


def _two_kinds(mask: Mask, lab: Float32Array, step: float) -> list[Mask] | None:
    """Part the region's cloth into two connected kinds, if it is so."""
    weight = mask.astype(np.float32)
    sigma = _BLUR_IN * step
    share = np.maximum(cv2.GaussianBlur(weight, (0, 0), sigma), 1e-3)
    smooth = cv2.GaussianBlur(lab * weight[..., None], (0, 0), sigma) / share[..., None]
    rows = np.nonzero(mask)
    chosen = slice(None, None, max(1, len(rows[0]) // _SAMPLES))
    seen = np.ascontiguousarray(smooth[rows][chosen], dtype=np.float32)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 20, 0.3)
    cv2.setRNGSeed(1)
    _, labels, centres = cv2.kmeans(seen, 2, np.zeros(0), stop, 2, cv2.KMEANS_PP_CENTERS)
    apart = float(np.linalg.norm(centres[0] - centres[1]))
    away = np.linalg.norm(seen - centres[labels.ravel()], axis=1)
    spreads = [float(np.median(away[labels.ravel() == kind])) for kind in (0, 1)]
    if apart < _LEAST_STEP or apart < _CLEAR * sum(spreads):
        return None
    first = ((smooth - centres[0]) ** 2).sum(axis=2) < ((smooth - centres[1]) ** 2).sum(axis=2)
    parts = [_largest(mask & kind, step) for kind in (first, ~first)]
    if sum(int(part.sum()) for part in parts) < _WHOLE * mask.sum():
        return None
    least = _LEAST_SQ_IN * step**2
    return parts if all(part.sum() > least for part in parts) else None


def _largest(mask: Mask, step: float) -> Mask:
    side = 2 * max(1, round(0.04 * step)) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    calm = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, disc)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(calm, connectivity=4)
    if len(stats) < 2:
        return np.zeros_like(mask)
    return np.asarray(labels == 1 + int(stats[1:, cv2.CC_STAT_AREA].argmax()), dtype=bool)


def _has_body(mask: Mask, step: float) -> bool:
    """Tell a cloth from the soft rim of one, whose mixed pixels look like a second kind."""
    inside = cv2.distanceTransform(np.pad(mask.astype(np.uint8), 1), cv2.DIST_L2, 3)
    return float(inside.max()) >= _LEAST_HALF_WIDTH_IN * step


def _nearest_part(mask: Mask, parts: list[Mask]) -> list[Mask]:
    away = [cv2.distanceTransform((~part).astype(np.uint8), cv2.DIST_L2, 3) for part in parts]
    first = mask & (away[0] < away[1])
    return [first, mask & ~first]


def _seam_ends(mask: Mask, kinds: list[Mask], step: float) -> list[NDArray[np.float64]]:
    """Middles of the places where the seam between the kinds meets the outside."""
    three = np.ones((3, 3), np.uint8)
    near = [cv2.dilate(kind.astype(np.uint8), three, iterations=2) > 0 for kind in kinds]
    outside = cv2.dilate(np.pad((~mask).astype(np.uint8), 1, constant_values=1), three) > 0
    ends = (near[0] & near[1] & outside[1:-1, 1:-1]).astype(np.uint8)
    joined = cv2.dilate(ends, three, iterations=max(1, round(0.05 * step)))
    count, _, _, middles = cv2.connectedComponentsWithStats(joined)
    return [np.asarray(middles[label], dtype=np.float64) for label in range(1, count)]
