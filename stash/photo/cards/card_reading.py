"""Reading a card whose place is roughly known: patch centres to a fraction of a pixel, colours."""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np

from stash.colour.spaces import FloatArray
from stash.photo.cards.card import Card, FoundCard
from stash.photo.cards.patch_edges import PatchCentres, measure_centres
from stash.photo.cards.patch_sampling import sample_patches
from stash.photo.files.reading import PixelsU8

__all__ = ["CardPlace", "found_card", "settled"]


@dataclass(frozen=True, eq=False)
class CardPlace:
    """Where a card lies.

    Attributes
    ----------
    image_from_card : float64, shape (3, 3)
        Homography from card inches to pixels.
    centres : PatchCentres
        The patch centres as measured.
    points_in, points_px : float64, shape (m, 2)
        Further known points, as in ``FoundCard``.
    """

    image_from_card: FloatArray
    centres: PatchCentres
    points_in: FloatArray = field(default_factory=lambda: np.zeros((0, 2)))
    points_px: FloatArray = field(default_factory=lambda: np.zeros((0, 2)))


def settled(
    pixels: PixelsU8, image_from_card: FloatArray, card: Card
) -> tuple[FloatArray, PatchCentres]:
    """Measure the patch centres, and the homography anew by them, until both agree."""
    scale = np.diag([card.pitch_in, card.pitch_in, 1.0])
    grid = card.patch_centres_in / card.pitch_in
    centres = measure_centres(pixels, image_from_card @ scale, grid)
    for _ in range(2):
        seen = centres.seen.all(axis=1)
        if seen.sum() < 8:
            break
        better, _ = cv2.findHomography(card.patch_centres_in[seen], centres.centres_px[seen])
        if better is None:
            break
        image_from_card = np.asarray(better, dtype=np.float64)
        centres = measure_centres(pixels, image_from_card @ scale, grid)
    return image_from_card, centres


def found_card(pixels: PixelsU8, card: Card, place: CardPlace, corners_px: FloatArray) -> FoundCard:
    """Read the patches' colours of a card whose place is settled.

    Parameters
    ----------
    corners_px : float64, shape (4, 2)
        Corners of the whole card with its border.
    """
    colours = sample_patches(pixels, place.image_from_card, card, place.centres)
    return FoundCard(
        card=card,
        image_from_card=place.image_from_card,
        corners_px=corners_px,
        patch_srgb=colours.srgb,
        usable=~(colours.hidden | colours.glaring | colours.clipped | colours.crossed),
        patch_spread=colours.spread,
        clipped=colours.clipped,
        edges=place.centres,
        hidden=colours.hidden,
        glaring=colours.glaring,
        crossed=colours.crossed,
        shade_light=None if colours.shade is None else colours.shade.light,
        points_in=place.points_in,
        points_px=place.points_px,
    )
