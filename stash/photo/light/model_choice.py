"""Which colour model suits a photo: the stiffest that its card cannot tell from the best.

Each square of the card is left out in turn and predicted from the others. Free models follow a
camera better and run away where the card has no square; a photo of a plain camera needs none of
that freedom, one that a phone has made vivid does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stash.colour.difference import paired_difference
from stash.colour.spaces import FloatArray, lab_of_linear
from stash.photo.light.colour_model import (
    ColourModel,
    Patches,
    Recipe,
    fit_colour_model,
    fitted_to_light,
    tone_curves,
)

__all__ = ["GREYS_ONLY", "RECIPES", "LeftOut", "best_recipe", "fitted", "left_out"]

# From stiff to free. How vivid phones make colours is not published: 1.3 to 2.0 are a judgement
# from photos of charts; saturation of 1.35 with a steep tone curve already acts like 2.
RECIPES = (
    Recipe("3x3"),
    Recipe("3x3, vivid 1.3", vivid=1.3),
    Recipe("3x3, vivid 1.6", vivid=1.6),
    Recipe("3x3, vivid 2", vivid=2.0),
    Recipe("CIELAB, the file's own tones", curves=False, terms=4),
    Recipe("root-polynomial of 6", terms=6),
    Recipe("root-polynomial of 13", terms=13, smooth=False),
)
GREYS_ONLY = Recipe("greys only", terms=0, smooth=False)
_STIFFER_BY = 0.10  # of the error: so much is no reason for a freer model
_LEAST_FOR = {3: 5, 4: 7, 6: 9, 13: 16}  # squares that so many terms are fitted to


@dataclass(frozen=True, eq=False)
class LeftOut:
    """How far each square comes out from its true colour when the model has not seen it.

    Attributes
    ----------
    de00 : float64, shape (n,)
        CIEDE2000; NaN for squares that cannot be used.
    lab : float64, shape (n, 3)
        As it comes out, CIELAB, white D65.
    """

    de00: FloatArray
    lab: FloatArray

    @property
    def mean(self) -> float:
        """Mean over the usable squares."""
        return float(np.nanmean(self.de00))

    @property
    def worst(self) -> float:
        """The largest."""
        return float(np.nanmax(self.de00))


def best_recipe(patches: Patches, recipes: Sequence[Recipe] = RECIPES) -> tuple[Recipe, LeftOut]:
    """Choose by leave-one-out with a preference for stiff; squares count by their weight."""
    count = int((patches.weight > 0).sum())
    tried = [
        (recipe, left_out(patches, recipe))
        for recipe in recipes
        if count >= _LEAST_FOR[recipe.terms]
    ]
    errors = [_weighted(one.de00, patches.weight) for _, one in tried]
    limit = min(errors) * (1 + _STIFFER_BY)
    return next(one for one, error in zip(tried, errors, strict=True) if error <= limit)


def fitted(patches: Patches, recipe: Recipe) -> ColourModel:
    """Fit one recipe to all squares."""
    return fit_colour_model(patches, recipe, tone_curves(patches, recipe))


def left_out(patches: Patches, recipe: Recipe) -> LeftOut:
    """Predict each usable square by a model fitted to the others, all of them at once."""
    usable = np.flatnonzero(patches.weight > 0)
    curves = tone_curves(patches, recipe)
    whole = ColourModel(recipe, curves, np.eye(3)).light_of(patches.srgb)
    light = np.repeat(whole[None], len(usable), axis=0)
    weight = np.repeat(patches.weight[None], len(usable), axis=0)
    weight[np.arange(len(usable)), usable] = 0.0
    for row, index in enumerate(usable):
        # Leaving out a colour does not change the tone curves, which rest on the greys alone.
        if recipe.curves and patches.neutral[index]:
            others = tone_curves(replace(patches, weight=weight[row]), recipe)
            light[row] = ColourModel(recipe, others, np.eye(3)).light_of(patches.srgb)
    if patches.field is not None:
        light = light / patches.field
    model = fitted_to_light(light, patches, weight, recipe, curves)
    own = light[np.arange(len(usable)), usable]
    lab, de00 = np.full(patches.srgb.shape, np.nan), np.full(len(patches.weight), np.nan)
    lab[usable] = model.lab_of(own[:, None])[:, 0]
    de00[usable] = paired_difference(lab_of_linear(patches.reference[usable]), lab[usable])
    return LeftOut(de00, lab)


def _weighted(de00: FloatArray, weight: FloatArray) -> float:
    usable = weight > 0
    return float(np.average(de00[usable], weights=weight[usable] ** 2))
