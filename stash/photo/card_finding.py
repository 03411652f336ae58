"""Finding the reference card in a photo, whichever way round it lies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import cv2
import numpy as np

from stash.colour.spaces import FloatArray
from stash.errors import CardCoveredError, CardNotFoundError, CardReversedError
from stash.photo.card import Card, FoundCard, chart24
from stash.photo.card_outline import card_corners
from stash.photo.patch_candidates import find_squares, smaller_copy
from stash.photo.patch_edges import PatchCentres, measure_centres
from stash.photo.patch_lattice import find_lattices
from stash.photo.patch_order import Order, best_order
from stash.photo.patch_sampling import sample_patches
from stash.photo.reading import PixelsU8

__all__ = ["find_card"]

_COPIES_PX = (1000, 2000, 600)  # the second for small cards, the third for very noisy photos
_SURE_MISFIT = 0.05  # encoded sRGB; charts in good light leave 0.01 to 0.03
_LIKELY_MISFIT = 0.11
_SURE_PATCHES = 17
_MOST_COVERED = 2  # one glare spot or thread may be forgiven, a covering scrap may not
_LOWEST_SIDE_PX = 6  # of a patch; below, colours cannot be told from their frame


def find_card(pixels_srgb: PixelsU8, cards: Sequence[Card] = ()) -> FoundCard:
    """Find one of the registered cards in a photo.

    Parameters
    ----------
    pixels_srgb : uint8, shape (height, width, 3)
        An upright photo.
    cards : sequence of Card
        The cards that may lie there, the likeliest first.

    Raises
    ------
    CardNotFoundError
        If no card is seen; `CardCoveredError` if a part of it is hidden or outside the photo,
        `CardReversedError` if it is seen as in a mirror.
    """
    wanted = list(cards) or [chart24("chart", 1.0)]
    charts = [card for card in wanted if card.kind == "chart24"]
    if not charts:
        raise _not_found(0)
    best: Order | None = None
    for order, factor in _readings(pixels_srgb):
        if best is None or _rank(order) < _rank(best):
            best = order
        if order.misfit < _SURE_MISFIT and order.agreeing >= _SURE_PATCHES:
            return _measured(
                pixels_srgb, _enlarged(order.image_from_grid, factor), order, charts[0]
            )
    raise _not_found(0 if best is None or best.misfit > _LIKELY_MISFIT else best.agreeing)


def _readings(pixels: PixelsU8) -> Iterator[tuple[Order, int]]:
    done: set[int] = set()
    for longest in _COPIES_PX:
        small, factor = smaller_copy(pixels, longest)
        if factor in done:
            continue
        done.add(factor)
        for squares in find_squares(small):
            for lattice in find_lattices(squares)[:4]:
                order = best_order(lattice, small)
                if order is not None:
                    yield order, factor


def _rank(order: Order) -> tuple[float, int]:
    return (order.misfit, -order.agreeing)


def _enlarged(image_from_grid: FloatArray, factor: int) -> FloatArray:
    shift = (factor - 1) / 2  # a small pixel's centre is the middle of its block
    return np.array([[factor, 0, shift], [0, factor, shift], [0, 0, 1.0]]) @ image_from_grid


def _measured(pixels: PixelsU8, image_from_grid: FloatArray, order: Order, card: Card) -> FoundCard:
    if order.reversed_:
        raise CardReversedError(
            "The card is seen as in a mirror. Turn the mirror setting of the camera off, or lay "
            "the card with its printed side up, and take the photo again.",
            squares_seen=order.agreeing,
        )
    pitch = card.pitch_in
    image_from_card = image_from_grid @ np.array(
        [[1 / pitch, 0, 2.5], [0, 1 / pitch, 1.5], [0, 0, 1.0]]
    )
    image_from_card, centres = _refined(pixels, image_from_card, card)
    colours = sample_patches(pixels, image_from_card, card)
    covered = int((colours.odd & ~colours.clipped).sum()) + order.outside
    if covered > _MOST_COVERED:
        raise CardCoveredError(
            f"Something lies on the reference card or it is cut off: {24 - covered} of its 24 "
            "squares can be read. Lay the whole card free and take the photo again.",
            squares_seen=24 - covered,
        )
    return FoundCard(
        card=card,
        image_from_card=image_from_card,
        corners_px=card_corners(pixels, image_from_card, card),
        patch_srgb=colours.srgb,
        usable=~colours.odd & ~colours.clipped,
        patch_spread=colours.spread,
        clipped=colours.clipped,
        edges=centres,
    )


def _refined(
    pixels: PixelsU8, image_from_card: FloatArray, card: Card
) -> tuple[FloatArray, PatchCentres]:
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


def _not_found(seen: int) -> CardNotFoundError:
    if seen:
        text = (
            f"I can see {seen} of the 24 squares of a reference card, too few to be sure. Lay the "
            "whole card flat, free and away from shadow, and take the photo again."
        )
    else:
        text = (
            "No card found: I see no reference card in this photo. Lay the whole card flat beside "
            "the scraps and take the photo again."
        )
    return CardNotFoundError(text, squares_seen=seen)
