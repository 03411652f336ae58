"""The edge of a shadow across a scrap, which is no seam between two cloths.

Both sides of it are one cloth in more and in less light: all of CIELAB's L* + 16, a* and b* scale
by the cube root of the light, and the backing beside it gets darker by as much, at the same place.
"""

from __future__ import annotations

import math

import cv2
import numpy as np

from stash.photo.table.backing_model import Float32Array, Mask
from stash.photo.table.mask_sizes import disc

__all__ = ["is_shadow_edge"]

_CLOTH_IN, _BACKING_IN = 0.3, 0.7  # how far beside the seam cloth and backing are looked at
_BESIDE_IN = 0.35  # so near a scrap the backing lies in the scrap's light ...
_OWN_SHADOW_IN = 0.12  # ... but nearer than this in the scrap's own shadow
_DARKER = math.log(1 / 0.95)  # of the cube root of the light: less tells of no shadow
_AGREE = 0.5  # share of the backing's step by which the cloth's may differ from it
_SAME_HUE = 4.0  # CIELAB, once the light is taken out
_LEAST_PX = 40
_BLACK = np.array([16.0, 0.0, 0.0])  # what scales with the light begins so far below L* 0


def is_shadow_edge(
    kinds: list[Mask], lab: Float32Array, light_left: Float32Array, step: float
) -> bool:
    """Whether what parts two regions is the edge of a shadow that lies on the backing too.

    Parameters
    ----------
    kinds : two bool arrays, shape (height, width)
        What one region was split into.
    lab : float32, shape (height, width, 3)
        CIELAB of the same box.
    light_left : float32, shape (height, width)
        Cube root of the light on the backing, -1 where it is not seen.
    step : float
        Pixels an inch.
    """
    cloth = [_cloth_beside(kind, other, step) for kind, other in (kinds, kinds[::-1])]
    bare = [_backing_beside(kind, other, light_left, step) for kind, other in (kinds, kinds[::-1])]
    if min(int(spot.sum()) for spot in (*cloth, *bare)) < _LEAST_PX:
        return False
    first, second = (np.median(lab[spot], axis=0) + _BLACK for spot in cloth)
    if first[0] > second[0]:
        first, second, bare = second, first, bare[::-1]
    dim, bright = (light_left[spot] for spot in bare)
    darker = math.log(float(np.median(bright) / np.median(dim)))
    # The edge's soft rim lies on both sides; beyond it the step is larger than in the middle.
    at_most = math.log(float(np.percentile(bright, 90) / np.percentile(dim, 10)))
    cloth_darker = math.log(second[0] / max(float(first[0]), 1.0))
    if not (darker > _DARKER and (1 - _AGREE) * darker < cloth_darker < (1 + _AGREE) * at_most):
        return False
    off = first - second * first[0] / second[0]
    return float(np.hypot(*off[1:])) < _SAME_HUE


def _grown(mask: Mask, by_in: float, step: float) -> Mask:
    return np.asarray(cv2.dilate(mask.astype(np.uint8), disc(by_in * step)), dtype=bool)


def _cloth_beside(kind: Mask, other: Mask, step: float) -> Mask:
    """Cloth of one kind near the other, but not so near that the edge's blur is met."""
    return kind & _grown(other, _CLOTH_IN, step) & ~_grown(other, 0.3 * _CLOTH_IN, step)


def _backing_beside(kind: Mask, other: Mask, light_left: Float32Array, step: float) -> Mask:
    """Backing beside one kind, near where the other begins."""
    both = _grown(kind | other, _OWN_SHADOW_IN, step)
    beside = _grown(kind, _BESIDE_IN, step) & ~_grown(other, _BESIDE_IN, step)
    near = _grown(other, _BACKING_IN, step)
    return beside & near & ~both & (light_left > 0)
