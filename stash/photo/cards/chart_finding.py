"""Finding 24-patch charts in a photo, whichever way round they lie."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stash.errors import CardReversedError, PhotoError
from stash.photo.cards.card import Card, FoundCard
from stash.photo.cards.card_outline import card_corners
from stash.photo.cards.card_reading import CardPlace, found_card, settled
from stash.photo.cards.patch_candidates import find_squares, smaller_copy
from stash.photo.cards.patch_edges import project
from stash.photo.cards.patch_lattice import Lattice, find_lattices
from stash.photo.cards.patch_lines import squares_in_lines
from stash.photo.cards.patch_order import (
    PartialOrder,
    PatchOrder,
    best_order,
    blocks,
    partial_order,
)
from stash.photo.cards.patch_sampling import SIDE_OF_PITCH
from stash.photo.cards.quality import (
    another_card,
    burnt_out,
    check_found,
    covered,
    cut_off,
    in_glare,
    why_no_card,
)
from stash.photo.files.reading import PixelsU8

__all__ = ["ChartSearch", "read_chart", "search_charts"]

_COPIES_PX = (1000, 2000, 600)  # the second for small cards, the third for very noisy photos
_ROWS, _COLUMNS = 4, 6
_WHOLE = 20  # squares that make a card even if their order is not known
_DIFFERENT, _LOUD = 0.03, 0.12  # encoded: cards show colours that all differ, mats and tiles do not
_SMALL_PITCH_PX = 16  # in a copy; from here on another chart a little smaller is seen as well
_LATTICES = 4  # the fullest of a look are read as charts


@dataclass(frozen=True, eq=False)
class ChartSearch:
    """What a search for charts saw.

    Attributes
    ----------
    orders : tuple of PatchOrder
        Charts that are sure, their homographies in pixels of the full photo.
    others : tuple of (Lattice, PixelsU8)
        Squares in rows and columns that are no whole chart, with the copy they were seen in.
    """

    orders: tuple[PatchOrder, ...]
    others: tuple[tuple[Lattice, PixelsU8], ...]

    def why_none(self, pixels: PixelsU8) -> PhotoError:
        """Tell a chart of which a part is seen from a photo without one."""
        whole = max((_coloured_squares(*other) for other in self.others), default=0)
        read = [partial_order(lattice, small) for lattice, small in self.others]
        pieces = [piece for piece in read if piece is not None]
        burnt = max(
            (piece for piece in pieces if piece.burnt_out),
            key=lambda piece: piece.seen,
            default=None,
        )
        parts = [piece for piece in pieces if piece.sure]
        part = max(parts, key=lambda piece: piece.seen, default=None)
        if burnt is not None and (part is None or burnt.seen > part.seen):
            return burnt_out(burnt.burnt_out)
        if whole and (part is None or part.seen < whole):
            return another_card(whole)
        if part is not None:
            return _why_part(part, parts)
        in_lines = _seen_in_lines(pixels)
        return covered(in_lines) if in_lines else why_no_card(pixels)


def _why_part(part: PartialOrder, parts: Sequence[PartialOrder]) -> PhotoError:
    """Say why only a part is seen; a square half in a veil may hide the lamp from one of them."""
    if part.cut_off:
        return cut_off(part.seen)
    return in_glare(part.seen) if any(one.glare for one in parts) else covered(part.seen)


def _coloured_squares(lattice: Lattice, small: PixelsU8) -> int:
    """Count the squares of a lattice that is a card of some other order; 0 if it is none."""
    size = sorted(np.ptp(lattice.places, axis=0) + 1)
    if size != [_ROWS, _COLUMNS] or len(lattice.places) < _WHOLE:
        return 0
    seen = blocks(small, np.rint(lattice.centres_px).astype(int))
    apart = np.abs(seen[:, None] - seen[None]).max(axis=2) + 10 * np.eye(len(seen))
    different = int((apart.min(axis=1) > _DIFFERENT).sum())
    return len(seen) if different > len(seen) / 2 and seen.std(axis=0).max() > _LOUD else 0


def search_charts(pixels: PixelsU8, *, copies_px: Sequence[int] = _COPIES_PX) -> ChartSearch:
    """Look for charts until a look shows one; that look shows all that lie there.

    Parameters
    ----------
    pixels : uint8, shape (height, width, 3)
        An upright photo.
    copies_px : sequence of int
        How long the longer side of the copies is that are looked at, one after the other.
    """
    others: list[tuple[Lattice, PixelsU8]] = []
    for look in _looks(pixels, copies_px):
        orders, unread = _read(look)
        others += unread
        if orders:
            return ChartSearch(_with_smaller(pixels, orders, look.factor), tuple(others))
    return ChartSearch((), tuple(others))


@dataclass(frozen=True, eq=False)
class _Look:
    """The fullest lattices of a copy that is so many times smaller than the photo."""

    lattices: Sequence[Lattice]
    small: PixelsU8
    factor: int


def _read(look: _Look) -> tuple[list[PatchOrder], list[tuple[Lattice, PixelsU8]]]:
    """Tell the charts that are sure, in pixels of the photo, from other lattices."""
    orders: list[PatchOrder] = []
    others: list[tuple[Lattice, PixelsU8]] = []
    for lattice in look.lattices:
        order = best_order(lattice, look.small)
        if order is None:
            continue
        if not order.sure:
            others.append((lattice, look.small))
            continue
        order = _enlarged(order, look.factor)
        if not _among(order, orders):  # squares of one chart may make two lattices
            orders.append(order)
    return orders, others


def _with_smaller(
    pixels: PixelsU8, orders: list[PatchOrder], factor: int
) -> tuple[PatchOrder, ...]:
    """Look once more, closer, where a chart is so small that another may have been missed."""
    pitch_px = max(order.size_px for order in orders) / 5
    if factor == 1 or pitch_px >= _SMALL_PITCH_PX * factor:
        return tuple(orders)
    closer = next(_looks(pixels, (_COPIES_PX[1],)))
    new = [order for order in _read(closer)[0] if not _among(order, orders)]
    return (*orders, *new)


def _among(order: PatchOrder, orders: Sequence[PatchOrder]) -> bool:
    return any(
        np.hypot(*(order.middle_px - other.middle_px)) < other.size_px / 2 for other in orders
    )


def read_chart(pixels: PixelsU8, order: PatchOrder, card: Card) -> FoundCard:
    """Read a chart that was found.

    Raises
    ------
    CardReversedError
        If it is seen as in a mirror.
    PhotoError
        If it shows that the photo cannot be measured; see ``quality.check_found``.
    """
    if order.reversed_:
        raise CardReversedError(
            "The card is seen as in a mirror. Turn the mirror setting of the camera off, or lay "
            "the card with its printed side up, and take the photo again.",
            squares_seen=order.agreeing,
        )
    pitch = card.pitch_in
    rough = order.image_from_grid @ np.array(
        [[1 / pitch, 0, 2.5], [0, -1 / pitch, 1.5], [0, 0, 1.0]]
    )
    image_from_card, centres = settled(pixels, rough, card)
    corners_px = card_corners(pixels, image_from_card, card)
    found = found_card(pixels, card, CardPlace(image_from_card, centres), corners_px)
    check_found(found, outside=order.outside, cut=_cut_through(found, pixels))
    return found


def _cut_through(found: FoundCard, pixels: PixelsU8) -> NDArray[np.bool_]:
    """Which squares the photo's border cuts, though their middles are in it."""
    side = found.card.pitch_in * SIDE_OF_PITCH / 2
    corners = found.card.patch_centres_in[:, None] + side * np.array(
        [(-1, -1), (1, -1), (1, 1), (-1, 1)]
    )
    at = project(found.image_from_card, corners.reshape(-1, 2)).reshape(-1, 4, 2)
    height, width = pixels.shape[:2]
    inside = (at >= 0) & (at <= np.array([width - 1, height - 1]))
    return np.asarray(~np.all(inside, axis=(1, 2)))


def _seen_in_lines(pixels: PixelsU8) -> int:
    """Count the squares of single rows or columns, all that shows of a card mostly hidden."""
    small, _ = smaller_copy(pixels, _COPIES_PX[0])
    return max(squares_in_lines(squares, small) for squares in find_squares(small))


def _looks(pixels: PixelsU8, copies_px: Sequence[int]) -> Iterator[_Look]:
    done: set[int] = set()
    for longest in copies_px:
        small, factor = smaller_copy(pixels, longest)
        if factor in done:
            continue
        done.add(factor)
        for squares in find_squares(small):
            yield _Look(find_lattices(squares)[:_LATTICES], small, factor)


def _enlarged(order: PatchOrder, factor: int) -> PatchOrder:
    shift = (factor - 1) / 2  # a small pixel's centre is the middle of its block
    image_from_small = np.array([[factor, 0, shift], [0, factor, shift], [0, 0, 1.0]])
    return replace(order, image_from_grid=image_from_small @ order.image_from_grid)
