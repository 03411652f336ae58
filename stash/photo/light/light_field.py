"""How the light falls off over the table, seen on the plain backing.

What is seen as backing may be several things: a sheet, the table beside it, the floor. Their
colours say nothing of the light, so the field is fitted to one material alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from stash.colour.spaces import FloatArray

__all__ = ["LightField", "fit_light_field"]

_DARKEST = 1e-3
_NEIGHBOURS = 1.5  # of the spots' own distance
# Natural logarithms of light: between neighbouring spots of one material, and off its field.
_ONE_STEP, _ONE_HUE, _OFF_FIELD = 0.12, 0.05, 0.15
_LEAST_SPOTS, _LEAST_SHARE = 12, 0.3
_ROUNDS = 3
_BEYOND = 0.2  # logarithm: so far a field is believed beyond the light that was seen


@dataclass(frozen=True, eq=False)
class LightField:
    """Light relative to the card's centre, per channel: the exponent of a quadratic.

    Attributes
    ----------
    weights : float64, shape (6, 3)
        Of 1, x, y, x^2, xy, y^2 in units of ``scale_px`` from ``origin_px``.
    low, high : float64, shape (3,)
        Logarithm of the least and most light that is believed.
    ratio : float
        Brightest over darkest light where the material was seen.
    """

    weights: FloatArray
    origin_px: FloatArray
    scale_px: float
    low: FloatArray
    high: FloatArray
    ratio: float

    def at(self, px: FloatArray) -> FloatArray:
        """Give the light (n, 3) at pixels (n, 2)."""
        logs = _terms(px, self.origin_px, self.scale_px) @ self.weights
        return np.asarray(np.exp(np.clip(logs, self.low, self.high)))


def fit_light_field(at_px: FloatArray, light: FloatArray, card_px: FloatArray) -> LightField | None:
    """Fit the field to camera light (n, 3) of a backing seen at pixels (n, 2).

    Returns None where no one material is seen over enough of it.
    """
    scale = float(max(np.ptp(at_px[:, 0]), np.ptp(at_px[:, 1]), 1.0))
    terms = _terms(at_px, card_px, scale)
    logs = np.log(np.maximum(light, _DARKEST))
    kept = _largest_joined(at_px, logs)
    for _ in range(_ROUNDS):  # then what fits its light elsewhere, as between the scraps
        if kept.sum() < max(_LEAST_SPOTS, _LEAST_SHARE * len(kept)):
            return None
        weights = np.linalg.lstsq(terms[kept], logs[kept], rcond=None)[0]
        left = np.abs(logs - terms @ weights).max(axis=1)
        spread = 3 * float(np.median(left[kept]))  # threads and stains are left aside
        kept = left <= np.clip(spread, 1e-6, _OFF_FIELD)
    weights[0] = 0.0  # relative to the card's centre
    there = terms[kept] @ weights
    over = np.exp(there.mean(axis=1))
    ratio = float(np.percentile(over, 99) / np.percentile(over, 1))
    low, high = there.min(axis=0) - _BEYOND, there.max(axis=0) + _BEYOND
    # The card's own place always counts as seen: the field is 1 there.
    return LightField(
        np.asarray(weights, dtype=np.float64),
        card_px,
        scale,
        np.minimum(low, 0.0),
        np.maximum(high, 0.0),
        ratio,
    )


def _largest_joined(at_px: FloatArray, logs: FloatArray) -> NDArray[np.bool_]:
    """Mark the spots of the largest area over which colour changes only little by little."""
    far = np.linalg.norm(at_px[:, None] - at_px[None], axis=2)
    apart = far + np.where(np.eye(len(far), dtype=bool), np.inf, 0.0)
    steps = logs[:, None] - logs[None]
    hue = steps - steps.mean(axis=2, keepdims=True)
    joined = (
        (far <= _NEIGHBOURS * float(np.median(apart.min(axis=1))))
        & (np.abs(steps).max(axis=2) < _ONE_STEP)
        & (np.abs(hue).max(axis=2) < _ONE_HUE)
    )
    _, names = connected_components(csr_array(joined), directed=False)
    return np.asarray(names == np.bincount(names).argmax(), dtype=np.bool_)


def _terms(px: FloatArray, origin: FloatArray, scale: float) -> FloatArray:
    x, y = ((px - origin) / scale).T
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=1)
