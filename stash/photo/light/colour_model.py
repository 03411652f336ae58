"""From what the camera wrote to true linear light: a chain of steps, from stiff to free.

First a tone curve a channel through the card's greys, then what cameras do to strong colours taken
back (all of them are rendered more vivid than they are), then a matrix, last a smooth correction
where the card's squares show that the rest has bent. Which steps a photo needs it decides itself:
see ``stash.photo.light.model_choice``.

Root-polynomial terms: Finlayson, Mackiewicz, Hurlbert 2015, IEEE Transactions on Image Processing
24(5); monotone curves: Fritsch and Carlson 1980, SIAM Journal on Numerical Analysis 17(2);
Gaussian process with the Matern kernel of order 3/2: Rasmussen and Williams 2006, Gaussian
Processes for Machine Learning, equations 2.23 and 4.17.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from stash.colour.spaces import (
    FloatArray,
    lab_of_linear,
    linear_of_lab,
    linear_of_srgb,
    srgb_of_linear,
)

__all__ = [
    "ColourModel",
    "Patches",
    "Recipe",
    "fit_colour_model",
    "fitted_to_light",
    "terms_of",
    "tone_curves",
]

_KNOTS = np.linspace(0, 1, 1025)  # of the tabulated tone curve
_RIDGE = 1e-3
_BRIGHTEST = 1.3  # linear light beyond the white patch is not extrapolated further
_Y_OF_RGB = np.array([0.2126729, 0.7151522, 0.0721750])  # IEC 61966-2-1
_REACH_LAB = 40.0  # how far in CIELAB the correction at a square is felt
_NOISE = 0.1  # of the correction's own spread: squares are not followed to the last unit
_LEAST_WEIGHT = 1e-3


@dataclass(frozen=True, slots=True)
class Recipe:
    """Which steps a model takes.

    Attributes
    ----------
    name : str
        For people who read the figures.
    curves : bool
        Whether a tone curve is laid through the greys; else the file's own (sRGB) is believed.
    vivid : float
        How many times more vivid than true colours are taken to be, in encoded values.
    terms : int
        3, 6 or 13 root-polynomial terms; 4 stands for an affine map in CIELAB, 0 for none.
    smooth : bool
        Whether a smooth correction in CIELAB comes last.
    """

    name: str
    curves: bool = True
    vivid: float = 1.0
    terms: int = 3
    smooth: bool = True


@dataclass(frozen=True, eq=False)
class Patches:
    """The squares of a card that a model is fitted to.

    Attributes
    ----------
    srgb : float64, shape (n, 3)
        As photographed, encoded, 0..1.
    reference : float64, shape (n, 3)
        Their true linear sRGB, not clipped.
    neutral : bool, shape (n,)
        Which are greys.
    weight : float64, shape (n,)
        0 for a square that cannot be used, 1 for one that is sure.
    field : float64, shape (n, 3), optional
        Light on each relative to the card's centre.
    """

    srgb: FloatArray
    reference: FloatArray
    neutral: NDArray[np.bool_]
    weight: FloatArray
    field: FloatArray | None = None


@dataclass(frozen=True, eq=False)
class ColourModel:
    """A fitted camera, or many of them side by side (a leading axis m on every array).

    Attributes
    ----------
    recipe : Recipe
    curves : float64, shape (3, 1025)
        Encoded channel 0..1 in equal steps to linear light.
    matrix : float64, shape (terms, 3)
        Root-polynomial terms to linear sRGB, or L*, a*, b*, 1 to CIELAB.
    at_lab, pull : float64, shape (n, 3)
        Where the smooth correction is tied down, and its weights; None without one.
    """

    recipe: Recipe
    curves: FloatArray
    matrix: FloatArray
    at_lab: FloatArray | None = None
    pull: FloatArray | None = None

    def light_of(self, srgb: FloatArray) -> FloatArray:
        """Give linear camera light (n, 3) of encoded colours (n, 3), channel by channel."""
        columns = [np.interp(srgb[:, c], _KNOTS, self.curves[c]) for c in range(3)]
        return np.stack(columns, axis=1)

    def linear_of(self, light: FloatArray) -> FloatArray:
        """Give true linear sRGB (n, 3), not clipped, of camera light (n, 3)."""
        if self.recipe.terms != 4 and self.at_lab is None:
            return np.asarray(_features(light, self.recipe) @ self.matrix, dtype=np.float64)
        return linear_of_lab(self.lab_of(light))

    def lab_of(self, light: FloatArray) -> FloatArray:
        """Give true CIELAB, white D65 (n, 3) of camera light (n, 3)."""
        lab = _before_smoothing(light, self.recipe, self.matrix)
        if self.at_lab is None or self.pull is None:
            return lab
        return np.asarray(lab + _matern(lab, self.at_lab) @ self.pull, dtype=np.float64)


def terms_of(light: FloatArray, count: int) -> FloatArray:
    """Give 3, 6 or 13 root-polynomial terms of linear camera light (..., 3)."""
    if count <= 3:
        return light
    r, g, b = np.moveaxis(np.maximum(light, 0.0), -1, 0)
    terms = [r, g, b, np.sqrt(r * g), np.sqrt(g * b), np.sqrt(r * b)]
    if count >= 13:
        products = (r * g * g, g * b * b, r * b * b, g * r * r, b * g * g, b * r * r, r * g * b)
        terms += [np.cbrt(product) for product in products]
    return np.stack(terms, axis=-1)


def fit_colour_model(patches: Patches, recipe: Recipe, curves: FloatArray) -> ColourModel:
    """Fit a model to the squares of a card.

    Parameters
    ----------
    curves : float64, shape (3, 1025)
        As `tone_curves` gives them for the recipe.
    """
    light = ColourModel(recipe, curves, np.eye(3)).light_of(patches.srgb)
    if patches.field is not None:
        light = light / patches.field
    return fitted_to_light(light, patches, patches.weight, recipe, curves)


def fitted_to_light(
    light: FloatArray, patches: Patches, weight: FloatArray, recipe: Recipe, curves: FloatArray
) -> ColourModel:
    """Fit what comes after the curves to camera light (..., n, 3) with weights (..., n)."""
    matrix = _matrix(light, patches.reference, weight, recipe)
    if not recipe.smooth:
        return ColourModel(recipe, curves, matrix)
    at_lab = _before_smoothing(light, recipe, matrix)
    left = lab_of_linear(patches.reference) - at_lab
    noise = _NOISE / np.maximum(weight, _LEAST_WEIGHT) ** 2
    spread = _matern(at_lab, at_lab) + noise[..., None] * np.eye(weight.shape[-1])
    pull = np.asarray(np.linalg.solve(spread, left), dtype=np.float64)
    return ColourModel(recipe, curves, matrix, at_lab, pull)


def tone_curves(patches: Patches, recipe: Recipe) -> FloatArray:
    """Tabulate linear light over each encoded channel, shape (3, 1025)."""
    if not recipe.curves:
        return np.tile(linear_of_srgb(_KNOTS), (3, 1))
    grey = patches.neutral & (patches.weight > 0)
    seen, target = patches.srgb[grey], patches.reference[grey]
    if patches.field is not None:
        target = target * patches.field[grey]
    return np.stack([_tone_curve(seen[:, c], target[:, c]) for c in range(3)])


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


def _features(light: FloatArray, recipe: Recipe) -> FloatArray:
    light = _less_vivid(light, recipe.vivid)
    if recipe.terms != 4:
        return terms_of(light, recipe.terms)
    return np.concatenate([lab_of_linear(light), np.ones((*light.shape[:-1], 1))], axis=-1)


def _less_vivid(light: FloatArray, vivid: float) -> FloatArray:
    """Bring encoded colours nearer to their own grey; greys stay."""
    if vivid == 1:
        return light
    coded = _coded(light)
    grey = (coded @ _Y_OF_RGB)[..., None]
    return _decoded(grey + (coded - grey) / vivid)


def _coded(light: FloatArray) -> FloatArray:
    """Encode as sRGB does, on beyond white."""
    low = np.maximum(light, 0.0031308)
    return np.where(light <= 0.0031308, light * 12.92, 1.055 * low ** (1 / 2.4) - 0.055)


def _decoded(coded: FloatArray) -> FloatArray:
    high = np.maximum(coded, 0.04045)
    return np.where(coded <= 0.04045, coded / 12.92, ((high + 0.055) / 1.055) ** 2.4)


def _before_smoothing(light: FloatArray, recipe: Recipe, matrix: FloatArray) -> FloatArray:
    mapped = _features(light, recipe) @ matrix
    return np.asarray(mapped if recipe.terms == 4 else lab_of_linear(mapped), dtype=np.float64)


def _matrix(
    light: FloatArray, reference: FloatArray, weight: FloatArray, recipe: Recipe
) -> FloatArray:
    """Solve the weighted regression; of root-polynomials, one pulled towards the 3x3."""
    if recipe.terms == 0:
        return np.broadcast_to(np.eye(3), (*light.shape[:-2], 3, 3))
    features = _features(light, recipe)
    if recipe.terms == 4:
        return _least_squares(features, lab_of_linear(reference), weight)
    weight = weight * np.maximum(reference @ _Y_OF_RGB, 0.02) ** (-2 / 3)  # even in lightness
    plain = _least_squares(features[..., :3], reference, weight)
    if recipe.terms == 3:
        return plain
    start = np.concatenate([plain, np.zeros((*plain.shape[:-2], recipe.terms - 3, 3))], axis=-2)
    weighted = (features * weight[..., None]).swapaxes(-1, -2)
    square = weighted @ (features * weight[..., None])
    size = np.trace(square, axis1=-2, axis2=-1)[..., None, None] / recipe.terms
    pull = square + _RIDGE * size * np.eye(recipe.terms)
    aim = (reference - features @ start) * weight[..., None]
    return np.asarray(start + np.linalg.solve(pull, weighted @ aim), dtype=np.float64)


def _least_squares(features: FloatArray, aim: FloatArray, weight: FloatArray) -> FloatArray:
    weighted = features * weight[..., None]
    return np.asarray(np.linalg.pinv(weighted) @ (aim * weight[..., None]), dtype=np.float64)


def _matern(first: FloatArray, second: FloatArray) -> FloatArray:
    """Give how much two colours share a correction, shape (..., n, m), 1 for the same one."""
    far = np.linalg.norm(first[..., :, None, :] - second[..., None, :, :], axis=-1)
    steps = np.sqrt(3) * far / _REACH_LAB
    return np.asarray((1 + steps) * np.exp(-steps), dtype=np.float64)
