"""Colours of a card's patches, and which of them cannot be trusted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stash.colour.spaces import FloatArray, srgb_of_linear
from stash.photo.cards.card import Card
from stash.photo.cards.patch_edges import project
from stash.photo.cards.patch_order import colour_misfit
from stash.photo.files.reading import PixelsU8

__all__ = ["PatchColours", "sample_patches"]

_SIDE_OF_PITCH = 0.84  # patches of common charts are 0.8 to 0.9 of their distance
_INNER = 0.6  # the middle part of a patch, free of its blurred border
_SAMPLES = 24
_TOP = 251  # of 255: at or above, a pixel may be burnt out
_TOP_SHARE = 0.05
_ODD = 0.13  # encoded sRGB: farther from the fitted colour, something else lies there
_ROUGH = 0.10  # quartile distance inside a patch; noise and weave of a photo stay below 0.05


@dataclass(frozen=True, eq=False)
class PatchColours:
    """What was seen on the patches.

    Attributes
    ----------
    srgb : float64, shape (n, 3)
        Medians of the inner part, 0..1.
    spread : float64, shape (n,)
        Quartile distance of the channel that varies most, 0..1.
    clipped : bool, shape (n,)
        Burnt out in some channel.
    odd : bool, shape (n,)
        Not the colour this patch has beside the others, or not of one colour.
    """

    srgb: FloatArray
    spread: FloatArray
    clipped: np.ndarray
    odd: np.ndarray


def sample_patches(pixels: PixelsU8, image_from_card: FloatArray, card: Card) -> PatchColours:
    """Read the colour of every patch."""
    inside = _pixels_of_patches(pixels, image_from_card, card)
    values = inside / 255
    srgb = np.median(values, axis=1)
    low, high = np.percentile(values, [25, 75], axis=1)
    spread = (high - low).max(axis=1)
    clipped = (inside >= _TOP).mean(axis=1).max(axis=1) > _TOP_SHARE
    _, left = colour_misfit(srgb, srgb_of_linear(card.patch_linear))
    return PatchColours(srgb, spread, clipped, (left > _ODD) | (spread > _ROUGH))


def _pixels_of_patches(pixels: PixelsU8, image_from_card: FloatArray, card: Card) -> FloatArray:
    """Give nearest pixels on a grid inside every patch, shape (n, samples^2, 3)."""
    reach = card.pitch_in * _SIDE_OF_PITCH * _INNER / 2
    steps = np.linspace(-reach, reach, _SAMPLES)
    inner = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    points = (card.patch_centres_in[:, None] + inner).reshape(-1, 2)
    columns, rows = np.rint(project(image_from_card, points)).astype(int).T
    height, width = pixels.shape[:2]
    seen = pixels[np.clip(rows, 0, height - 1), np.clip(columns, 0, width - 1)]
    return np.asarray(seen.reshape(len(card.patch_centres_in), -1, 3), dtype=np.float64)
