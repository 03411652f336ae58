"""Finding the reference card in a photo, whichever way round it lies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import cv2
import numpy as np

from stash.colour.spaces import FloatArray
from stash.errors import CardCoveredError, CardReversedError, PhotoError
from stash.photo.card import Card, FoundCard, chart24
from stash.photo.card_outline import card_corners
from stash.photo.patch_candidates import find_squares, smaller_copy
from stash.photo.patch_edges import PatchCentres, measure_centres, project
from stash.photo.patch_lattice import Lattice, find_lattices
from stash.photo.patch_lines import squares_in_lines
from stash.photo.patch_order import Order, best_order, partial_order
from stash.photo.patch_sampling import sample_patches
from stash.photo.printed_card import MARKER_IDS, find_markers, marker_corners_in
from stash.photo.quality import burnt_out, check_found, covered, why_no_card
from stash.photo.reading import PixelsU8

__all__ = ["find_card"]

_COPIES_PX = (1000, 2000, 600)  # the second for small cards, the third for very noisy photos
_SURE_MISFIT = 0.05  # encoded sRGB; charts in good light leave 0.01 to 0.03
_SURE_PATCHES = 17
_PRINTED_MARGIN_IN = 0.9  # paper beyond the corner markers of the printed card


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
    printed = [card for card in wanted if card.kind == "printed"]
    charts = [card for card in wanted if card.kind == "chart24"]
    markers = find_markers(pixels_srgb) if printed else {}
    if markers:
        return _printed(pixels_srgb, markers, printed[0])
    if not charts:
        raise why_no_card(pixels_srgb)
    seen: list[tuple[Lattice, PixelsU8]] = []
    for order, factor, lattice, small in _readings(pixels_srgb):
        if order.misfit < _SURE_MISFIT and order.agreeing >= _SURE_PATCHES:
            image_from_grid = _enlarged(order.image_from_grid, factor)
            return _measured(pixels_srgb, image_from_grid, order, charts[0])
        seen.append((lattice, small))
    raise _why_not(pixels_srgb, seen)


def _printed(pixels: PixelsU8, markers: dict[int, FloatArray], card: Card) -> FoundCard:
    """Read the printed card from its corner markers."""
    if len(markers) < len(MARKER_IDS):
        raise CardCoveredError(
            f"I can see {len(markers)} of the 4 corner marks of the printed card. Lay the whole "
            "card free and take the photo again.",
            squares_seen=len(markers),
            squares_needed=len(MARKER_IDS),
        )
    px = np.concatenate([markers[number] for number in MARKER_IDS])
    points_in = marker_corners_in(card.pitch_in).reshape(-1, 2)
    rough = np.asarray(cv2.findHomography(points_in, px)[0], dtype=np.float64)
    rough, centres = _refined(pixels, rough, card)
    all_in = np.vstack([points_in, card.patch_centres_in])
    all_px = np.vstack([px, centres.centres_px])
    image_from_card = np.asarray(cv2.findHomography(all_in, all_px)[0], dtype=np.float64)
    colours = sample_patches(pixels, image_from_card, card)
    border = points_in + np.sign(points_in) * _PRINTED_MARGIN_IN
    found = FoundCard(
        card=card,
        image_from_card=image_from_card,
        corners_px=project(image_from_card, border[[0, 5, 10, 15]]),
        patch_srgb=colours.srgb,
        usable=~colours.odd & ~colours.clipped,
        patch_spread=colours.spread,
        clipped=colours.clipped,
        edges=centres,
        points_in=points_in,
        points_px=px,
    )
    check_found(found)
    return found


def _why_not(pixels: PixelsU8, seen: Sequence[tuple[Lattice, PixelsU8]]) -> PhotoError:
    """Tell a card of which a part is seen from a photo without one."""
    read = [partial_order(lattice, small) for lattice, small in seen]
    pieces = [piece for piece in read if piece is not None]
    burnt = max(
        (piece for piece in pieces if piece.burnt_out), key=lambda piece: piece.seen, default=None
    )
    parts = [piece for piece in pieces if piece.misfit < _SURE_MISFIT]
    part = max(parts, key=lambda piece: piece.seen, default=None)
    if burnt is not None and (part is None or burnt.seen > part.seen):
        return burnt_out(burnt.burnt_out)
    if part is not None:
        return covered(part.seen)
    in_lines = _seen_in_lines(pixels)
    return covered(in_lines) if in_lines else why_no_card(pixels)


def _seen_in_lines(pixels: PixelsU8) -> int:
    """Count the squares of single rows or columns, all that shows of a card mostly hidden."""
    small, _ = smaller_copy(pixels, _COPIES_PX[0])
    return max(squares_in_lines(squares, small) for squares in find_squares(small))


def _readings(pixels: PixelsU8) -> Iterator[tuple[Order, int, Lattice, PixelsU8]]:
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
                    yield order, factor, lattice, small


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
    found = FoundCard(
        card=card,
        image_from_card=image_from_card,
        corners_px=card_corners(pixels, image_from_card, card),
        patch_srgb=colours.srgb,
        usable=~colours.odd & ~colours.clipped,
        patch_spread=colours.spread,
        clipped=colours.clipped,
        edges=centres,
    )
    check_found(found, outside=order.outside)
    return found


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
