"""Colours of a card's patches, and which of them cannot be trusted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray, linear_of_srgb, srgb_of_linear
from stash.photo.cards.card import Card
from stash.photo.cards.card_shade import CardShade, shade_across
from stash.photo.cards.patch_edges import PatchCentres, project
from stash.photo.cards.patch_misfit import affine_misfit, colour_misfit
from stash.photo.files.reading import PixelsU8

__all__ = ["SIDE_OF_PITCH", "PatchColours", "sample_patches"]

SIDE_OF_PITCH = 0.84  # patches of common charts are 0.8 to 0.9 of their distance
_INNER = 0.6  # the middle part of a patch, free of its blurred border
_SAMPLES = 24
_BLOCKS = 4  # parts of a patch a side: whole ones lie inside whatever covers half of it
_TOP = 251  # of 255: at or above, a pixel may be burnt out
_TOP_SHARE = 0.05
_ROUGH = 0.14  # encoded: parts of a free patch differ by 0.08 at most on 24 real photos
_SHIFTED = 0.05  # of the pitch: borders of free patches lie within 0.03 of where they should
_ODD = 0.10  # encoded: as far from the colour the other patches let expect
_DARK_GREYS = 2  # the card's frame is as dark as these: their borders may not show
_VEIL = 0.03  # linear light added to a square in glare
_NEIGHBOURS = 1.5  # pitches, diagonal ones too
_LIKE_LAMP = 0.5  # of the light added, least channel over most: a lamp is nearly white


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
    hidden : bool, shape (n,)
        Something lies on it: its border does not show, or not all of it is of one colour.
    glaring : bool, shape (n,)
        A lamp is mirrored in it: its border shows, and a part of it is lighter, not coloured.
    crossed : bool, shape (n,)
        The edge of a shadow runs through it.
    shade : CardShade or None
        The shadow that lies over a part of the card.
    """

    srgb: FloatArray
    spread: FloatArray
    clipped: NDArray[np.bool_]
    hidden: NDArray[np.bool_]
    glaring: NDArray[np.bool_]
    crossed: NDArray[np.bool_]
    shade: CardShade | None = None


def sample_patches(
    pixels: PixelsU8, image_from_card: FloatArray, card: Card, borders: PatchCentres
) -> PatchColours:
    """Read the colour of every patch, and whether the patch lies free.

    Colour alone says nothing of what lies on a patch: inks differ between makers, and cameras
    bend strong and light colours. What lies there hides a border or is of another colour.
    """
    inside = _pixels_of_patches(pixels, image_from_card, card)
    values = inside / 255
    srgb = np.median(values, axis=1)
    low, high = np.percentile(values, [25, 75], axis=1)
    clipped = (inside >= _TOP).mean(axis=1).max(axis=1) > _TOP_SHARE
    reference = srgb_of_linear(card.patch_linear)
    shade = shade_across(srgb, reference, card.patch_centres_in)
    lit = srgb if shade is None else srgb_of_linear(linear_of_srgb(srgb) / shade.light)
    _, left = colour_misfit(lit, reference)
    bordered = _bordered(borders)
    expected = left <= _ODD  # where patch and frame are as dark as each other, no border shows
    expected[list(card.neutrals[-_DARK_GREYS:])] |= True
    parts = _parts(values)
    rough = np.ptp(parts, axis=1).max(axis=1) > _ROUGH
    lamp = (
        rough & bordered & _lighter_without_colour(parts) & _own_colour_below(parts, lit, reference)
    )
    crossed = np.zeros_like(lamp)
    if shade is not None:
        crossed, lamp = rough & _at_the_edge(shade, card), lamp & ~_at_the_edge(shade, card)
    if lamp.any():  # then what lies about it, wholly in its veil, is in glare too
        lamp |= _veiled(lit, reference)
    hidden = (rough | (~bordered & ~expected)) & ~lamp & ~crossed
    spread = (high - low).max(axis=1)
    return PatchColours(srgb, spread, clipped, hidden, lamp, crossed, shade)


def _at_the_edge(shade: CardShade, card: Card) -> NDArray[np.bool_]:
    """Which squares have a neighbour on the other side of the shadow's edge."""
    at = card.patch_centres_in / card.pitch_in
    near = np.linalg.norm(at[:, None] - at[None], axis=2) < _NEIGHBOURS
    other = shade.shaded[:, None] != shade.shaded[None]
    return np.asarray((near & other).any(axis=1), dtype=np.bool_)


def _bordered(borders: PatchCentres) -> NDArray[np.bool_]:
    """Whether the patches' own borders are seen where those of the others let expect them."""
    usual = np.nanmedian(borders.half_pitch, axis=0)
    near = np.abs(borders.half_pitch - usual) <= _SHIFTED
    return np.asarray((borders.seen & near).all(axis=1), dtype=np.bool_)


def _parts(values: FloatArray) -> FloatArray:
    """Give means of a few parts of each patch, shape (n, parts, 3)."""
    side = _SAMPLES // _BLOCKS
    cut = values.reshape(len(values), _BLOCKS, side, _BLOCKS, side, 3)
    return np.asarray(cut.mean(axis=(2, 4)).reshape(len(values), _BLOCKS**2, 3))


def _veiled(srgb: FloatArray, reference: FloatArray) -> NDArray[np.bool_]:
    """Whether light without colour lies over a patch, beside what half of the others let expect."""
    more = linear_of_srgb(srgb) - linear_of_srgb(np.clip(_expected(srgb, reference), 0, 1))
    return np.asarray(more.min(axis=1) > np.maximum(_VEIL, _LIKE_LAMP * more.max(axis=1)))


def _expected(srgb: FloatArray, reference: FloatArray) -> FloatArray:
    """Give the colour of each patch that half of the others let expect."""
    return np.asarray(srgb - affine_misfit(reference, srgb))


def _own_colour_below(
    parts: FloatArray, srgb: FloatArray, reference: FloatArray
) -> NDArray[np.bool_]:
    """Whether no part is darker than the patch itself: lamps add light, striped cloth hides it."""
    darker = _expected(srgb, reference)[:, None] - parts
    return np.asarray(darker.max(axis=(1, 2)) < _ODD)


def _lighter_without_colour(parts: FloatArray) -> NDArray[np.bool_]:
    """Whether the lightest part has more of every colour than the darkest, all about as much."""
    light = linear_of_srgb(parts)
    ranks = np.argsort(light.sum(axis=2), axis=1)
    rows = np.arange(len(light))
    more = light[rows, ranks[:, -1]] - light[rows, ranks[:, 0]]
    return np.asarray(more.min(axis=1) > _LIKE_LAMP * more.max(axis=1))


def _pixels_of_patches(pixels: PixelsU8, image_from_card: FloatArray, card: Card) -> FloatArray:
    """Give nearest pixels on a grid inside every patch, shape (n, samples^2, 3)."""
    reach = card.pitch_in * SIDE_OF_PITCH * _INNER / 2
    steps = np.linspace(-reach, reach, _SAMPLES)
    inner = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    points = (card.patch_centres_in[:, None] + inner).reshape(-1, 2)
    columns, rows = np.rint(project(image_from_card, points)).astype(int).T
    height, width = pixels.shape[:2]
    seen = pixels[np.clip(rows, 0, height - 1), np.clip(columns, 0, width - 1)]
    return np.asarray(seen.reshape(len(card.patch_centres_in), -1, 3), dtype=np.float64)
