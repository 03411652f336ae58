"""From what the camera wrote to true linear light: tone curves, then a root-polynomial.

Root-polynomial terms: Finlayson, Mackiewicz, Hurlbert 2015, IEEE Transactions on Image Processing
24(5); monotone curves: Fritsch and Carlson 1980, SIAM Journal on Numerical Analysis 17(2).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator

from stash.colour.spaces import FloatArray, linear_of_srgb, srgb_of_linear

__all__ = ["ColourModel", "fit_colour_model", "terms_of"]

_KNOTS = np.linspace(0, 1, 1025)  # of the tabulated tone curve
_RIDGE = 1e-3
_BRIGHTEST = 1.3  # linear light beyond the white patch is not extrapolated further
_Y_OF_RGB = np.array([0.2126729, 0.7151522, 0.0721750])  # IEC 61966-2-1


@dataclass(frozen=True, eq=False)
class ColourModel:
    """A fitted camera.

    Attributes
    ----------
    curves : float64, shape (3, 1025)
        Encoded channel 0..1 in equal steps to linear light.
    matrix : float64, shape (terms, 3)
        Root-polynomial terms to linear sRGB.
    """

    curves: FloatArray
    matrix: FloatArray

    def light_of(self, srgb: FloatArray) -> FloatArray:
        """Give linear camera light (n, 3) of encoded colours (n, 3), before the matrix."""
        columns = [np.interp(srgb[:, c], _KNOTS, self.curves[c]) for c in range(3)]
        return np.stack(columns, axis=1)

    def linear_of(self, light: FloatArray) -> FloatArray:
        """Give true linear sRGB (n, 3) of camera light (n, 3)."""
        return terms_of(light, len(self.matrix)) @ self.matrix


def terms_of(light: FloatArray, count: int) -> FloatArray:
    """Give 3, 6 or 13 root-polynomial terms of linear camera light (n, 3)."""
    r, g, b = np.maximum(light, 0.0).T
    terms = [r, g, b]
    if count >= 6:
        terms += [np.sqrt(r * g), np.sqrt(g * b), np.sqrt(r * b)]
    if count >= 13:
        products = (r * g * g, g * b * b, r * b * b, g * r * r, b * g * g, b * r * r, r * g * b)
        terms += [np.cbrt(product) for product in products]
    return np.stack(terms, axis=1)


def fit_colour_model(
    srgb: FloatArray,
    reference: FloatArray,
    neutral: np.ndarray,
    *,
    terms: int,
    field: FloatArray | None = None,
    curves: FloatArray | None = None,
) -> ColourModel:
    """Fit curves and matrix to the patches of a card.

    Parameters
    ----------
    srgb : float64, shape (n, 3)
        Patches as photographed, encoded, 0..1.
    reference : float64, shape (n, 3)
        Their true linear sRGB, not clipped.
    neutral : bool, shape (n,)
        Which are greys.
    terms : int
        13, 6 or 3 root-polynomial terms.
    field : float64, shape (n, 3), optional
        Light on each patch relative to the card's centre.
    curves : float64, shape (3, 1025), optional
        Tone curves that are known already.
    """
    light_there = np.ones_like(srgb) if field is None else field
    if curves is None:
        curves = np.stack(
            [
                _tone_curve(srgb[neutral, c], reference[neutral, c] * light_there[neutral, c])
                for c in range(3)
            ]
        )
    model = ColourModel(curves, np.eye(3))
    light = model.light_of(srgb) / light_there
    return ColourModel(curves, _matrix(terms_of(light, terms), light, reference))


def _tone_curve(seen: FloatArray, target: FloatArray) -> FloatArray:
    """Tabulate linear light over the encoded channel, monotone through the greys."""
    order = np.argsort(seen, kind="stable")
    x, y = [0.0], [0.0]
    for v, t in zip(seen[order], srgb_of_linear(target[order]), strict=True):
        if v - x[-1] > 1 / 255 and t > y[-1]:
            x.append(float(v))
            y.append(float(t))
    if x[-1] < 1:
        slope = (y[-1] - y[-2]) / (x[-1] - x[-2]) if len(x) > 1 else 1.0
        y.append(y[-1] + float(np.clip(slope, 0.5, 2.0)) * (1 - x[-1]))
        x.append(1.0)
    encoded = PchipInterpolator(np.array(x), np.array(y))(_KNOTS)
    return np.asarray(np.minimum(linear_of_srgb(encoded), _BRIGHTEST), dtype=np.float64)


def _matrix(terms: FloatArray, light: FloatArray, reference: FloatArray) -> FloatArray:
    """Solve the ridge regression pulled towards the weighted 3x3."""
    weight = np.maximum(reference @ _Y_OF_RGB, 0.02) ** (-2 / 3)  # even errors in lightness
    aim = reference * weight[:, None]
    plain = np.linalg.lstsq(light * weight[:, None], aim, rcond=None)[0]
    start = np.zeros((terms.shape[1], 3))
    start[:3] = plain
    if terms.shape[1] == 3:
        return start
    weighted = terms * weight[:, None]
    square = weighted.T @ weighted
    size = np.trace(square) / len(square)
    pull = square + _RIDGE * size * np.eye(len(square))
    more = np.linalg.solve(pull, weighted.T @ (aim - weighted @ start))
    return np.asarray(start + more, dtype=np.float64)
