"""How the light falls off over the table, seen on the plain backing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stash.colour.spaces import FloatArray

__all__ = ["LightField", "fit_light_field"]

_DARKEST = 1e-3


@dataclass(frozen=True, eq=False)
class LightField:
    """Light relative to the card's centre, per channel: the exponent of a quadratic.

    Attributes
    ----------
    weights : float64, shape (6, 3)
        Of 1, x, y, x^2, xy, y^2 in units of ``scale_px`` from ``origin_px``.
    ratio : float
        Brightest over darkest light where the backing was seen.
    """

    weights: FloatArray
    origin_px: FloatArray
    scale_px: float
    ratio: float

    def at(self, px: FloatArray) -> FloatArray:
        """Give the light (n, 3) at pixels (n, 2)."""
        return np.asarray(np.exp(_terms(px, self.origin_px, self.scale_px) @ self.weights))


def fit_light_field(at_px: FloatArray, light: FloatArray, card_px: FloatArray) -> LightField:
    """Fit the field to camera light (n, 3) of a plain backing seen at pixels (n, 2)."""
    scale = float(max(np.ptp(at_px[:, 0]), np.ptp(at_px[:, 1]), 1.0))
    terms = _terms(at_px, card_px, scale)
    logs = np.log(np.maximum(light, _DARKEST))
    kept = np.ones(len(terms), dtype=bool)
    for _ in range(3):  # threads and stains on the backing are left aside
        weights = np.linalg.lstsq(terms[kept], logs[kept], rcond=None)[0]
        left = np.abs(logs - terms @ weights).max(axis=1)
        kept = left <= max(3 * float(np.median(left)), 1e-6)
    weights[0] = 0.0  # relative to the card's centre
    over = np.exp((terms @ weights).mean(axis=1))
    ratio = float(np.percentile(over, 99) / np.percentile(over, 1))
    return LightField(np.asarray(weights, dtype=np.float64), card_px, scale, ratio)


def _terms(px: FloatArray, origin: FloatArray, scale: float) -> FloatArray:
    x, y = ((px - origin) / scale).T
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=1)
