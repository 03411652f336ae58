"""What is too thin to be a part of a scrap: threads and pins that stick out, bridges to others.

A thread on a scrap's edge sticks out as wide as it is long along; the tip of a triangle widens
towards the scrap. Two scraps hang together by a thread, a pin or the rim of a shadow between
them; no cloth worth logging has so narrow a waist.
"""

from __future__ import annotations

import cv2
import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from stash.photo.table.backing_model import Mask
from stash.photo.table.mask_sizes import largest_part, numbered, opened

__all__ = ["trimmed", "without_bridges", "without_spurs"]

_SPUR_IN = 0.035  # half the width of a thread or pin, its blur and shadow included
_LEAST_SPUR_IN = 0.1  # a square corner sticks out by less
_LEAST_FRAY_IN = 0.03  # the same where corners stay sharp; less does not matter
_CLEAN_CUT_IN = 0.0005  # leaves no slivers beside the cut, which may cross when moved
_WIDENS = 1.5  # a tip reaches twice as far out of an opening twice as wide, a spur no further
_WAIST_IN, _GUESSED_WAIST_IN = 0.06, 0.2  # half the widest bridge: seen, and only guessed
_LEAST_BODY_SQ_IN = 0.3


def without_spurs(mask: Mask, step: float) -> Mask:
    """Cut off threads and pins that stick out of one scrap's mask; ``step`` is pixels an inch."""
    body = largest_part(opened(mask, _SPUR_IN * step))
    count, labels = cv2.connectedComponents((mask & ~body).astype(np.uint8), connectivity=8)
    # A part that reaches so far out has as many pixels, or 1.4 times fewer along a diagonal.
    large = np.bincount(labels.ravel(), minlength=count)[1:] >= _LEAST_SPUR_IN * step / 1.4
    if not large.any():
        return mask
    wide = opened(body, 2 * _SPUR_IN * step)
    if not wide.any():
        return mask
    from_body, from_wide = (
        cv2.distanceTransform((~part).astype(np.uint8), cv2.DIST_L2, 3) for part in (body, wide)
    )
    kept = body.copy()
    for label in range(1, count):
        part = labels == label
        out = float(from_body[part].max())
        if out < _LEAST_SPUR_IN * step or float(from_wide[part].max()) > _WIDENS * out:
            kept |= part
    return kept


def trimmed(shape: Polygon) -> Polygon:
    """Cut frayed threads off an outline in inches, as ``without_spurs`` does coarsely."""
    body, wide = (_body(shape, radius_in) for radius_in in (_SPUR_IN, 2 * _SPUR_IN))
    if wide.is_empty:
        return shape
    kept = shape
    for part in _pieces(shape.difference(body)):
        rim = shapely.points(np.asarray(part.exterior.coords))
        out = float(shapely.distance(rim, body).max())
        if out >= _LEAST_FRAY_IN and float(shapely.distance(rim, wide).max()) < _WIDENS * out:
            rest = kept.difference(part.buffer(_CLEAN_CUT_IN))
            kept = max(_pieces(rest), key=lambda one: one.area, default=kept)
    return kept


def without_bridges(cloth: Mask, seen: Mask, step: float) -> Mask:
    """Part what hangs together by narrow bridges only.

    Parameters
    ----------
    cloth : bool, shape (height, width)
        Every scrap.
    seen : bool, shape (height, width)
        What does not look like the backing; bridges through the rest are guesses.
    step : float
        Pixels an inch.
    """
    narrow = cloth & ~opened(cloth, _WAIST_IN * step)
    narrow |= cloth & ~seen & ~opened(cloth, _GUESSED_WAIST_IN * step)
    bodies = _large(cloth & ~narrow, step)
    whole = cv2.connectedComponents(cloth.astype(np.uint8), connectivity=4)[1]
    held_by = np.zeros(int(bodies.max()) + 1, np.intp)
    held_by[bodies] = whole  # all pixels of a body hang together, so that any of them tells
    count = np.bincount(held_by[1:], minlength=int(whole.max()) + 1)
    if count.max() < 2:
        return cloth
    bridged = (count > 1)[whole]
    return np.asarray((cloth & ~bridged) | _apart(bodies * bridged, cloth, step), dtype=bool)


def _pieces(shape: BaseGeometry) -> list[Polygon]:
    parts = shapely.get_parts(shape)
    return [part for part in parts if isinstance(part, Polygon) and not part.is_empty]


def _body(shape: Polygon, radius_in: float) -> Polygon:
    """Take off all that a disc does not fit into, and what hangs on it; corners stay as sharp."""
    opened = shape.buffer(-radius_in, join_style="mitre").buffer(radius_in, join_style="mitre")
    return max(_pieces(opened), key=lambda one: one.area, default=Polygon())


def _large(mask: Mask, step: float) -> np.ndarray:
    """Number the parts large enough to be scraps, from 1; the rest is 0."""
    labels, areas = numbered(mask)
    large = areas >= _LEAST_BODY_SQ_IN * step**2
    large[0] = False
    return np.asarray((np.cumsum(large) * large)[labels])


def _apart(bodies: np.ndarray, cloth: Mask, step: float) -> Mask:
    """Grow bodies back into their corners, with a gap where they would meet."""
    away, nearest = cv2.distanceTransformWithLabels(
        (bodies == 0).astype(np.uint8), cv2.DIST_L2, 3, labelType=cv2.DIST_LABEL_CCOMP
    )
    cells, three = nearest.astype(np.float32), np.ones((3, 3), np.uint8)
    meet = cv2.dilate(cells, three) != cv2.erode(cells, three)
    return np.asarray(cloth & (away <= _WAIST_IN * step) & ~meet, dtype=bool)
