"""What further cards do for a photo: shapes of known size for the plane, and no cloth."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stash.errors import CardsDisagreeError
from stash.photo.cards.card import FoundCard
from stash.photo.inches.known_shapes import KnownShape
from stash.photo.inches.levelling import Levelled

__all__ = ["check_sizes", "names_of_cards", "notes_on_cards", "shape_of_card"]

_FOUND_PX = 0.05  # how truly the centre of a square is found ...
_LIES_IN = 0.0025  # ... and how truly a card lies and is made
_ODD_IN = 0.006
_PITCH_SPREAD = 0.004  # a distance of squares taken with a ruler over the whole card
_STRETCH = {"chart24": 0.001, "printed": 0.003}  # as for markers; common practice, no source
_PRINT = "card "


def shape_of_card(found: FoundCard) -> KnownShape:
    """Give the squares of a card as a shape of known size."""
    seen = found.edges.seen.all(axis=1) & ~_odd(found)
    px = np.vstack([found.edges.centres_px[seen], found.points_px])
    points_in = np.vstack([found.card.patch_centres_in[seen], found.points_in])
    pitch_px = float(np.hypot(*(found.edges.centres_px[1] - found.edges.centres_px[0])))
    found_in = _FOUND_PX * found.card.pitch_in / pitch_px
    return KnownShape(
        px,
        points_in,
        float(np.hypot(found_in, _LIES_IN)),
        _PRINT + found.card.name,
        _PITCH_SPREAD,
        _STRETCH[found.card.kind],
        found.card.name,
    )


def _odd(found: FoundCard) -> NDArray[np.bool_]:
    """Squares of another size than the rest: one of their sides is not where it should be."""
    half = found.edges.half_pitch
    off_in = np.abs(half - np.nanmedian(half, axis=0)) * found.card.pitch_in
    return np.asarray((off_in > _ODD_IN).any(axis=1), dtype=np.bool_)


def names_of_cards(levelled: Levelled) -> str:
    """Say which further cards the table was levelled by; empty if by none."""
    count = len(_cards(levelled.used))
    return "" if not count else "a second card" if count == 1 else f"{count} further cards"


def check_sizes(levelled: Levelled, cards: Sequence[FoundCard]) -> None:
    """Refuse two charts of different size: either may be the registered one.

    A printed card beside a chart is only left out, as a printer may scale it.

    Raises
    ------
    CardsDisagreeError
    """
    if not cards or cards[0].card.kind != "chart24":
        return
    charts = {found.card.name for found in cards[1:] if found.card.kind == "chart24"}
    for shape, times in levelled.misprinted:
        if shape.print_name.startswith(_PRINT) and shape.name in charts:
            raise CardsDisagreeError(
                f"Two charts lie in the photo, and one is {100 * times:.0f} % of the size of the "
                "other. Take away the one whose distance was not registered and take the photo "
                "again.",
                times=times,
            )


def notes_on_cards(levelled: Levelled) -> tuple[str, ...]:
    """Say of each further card that was left out why."""
    bent = [
        f"Another card (“{shape.name}”) fits neither the first card nor what else is known of the "
        "table and was left out: it may be bent, or lie on something."
        for shape in _cards(levelled.astray)
    ]
    sizes = [
        f"Another card (“{shape.name}”) was left out: beside the first card it is "
        f"{100 * times:.0f} % of the size it was registered with. Measure the squares of both."
        for shape, times in levelled.misprinted
        if shape.print_name.startswith(_PRINT)
    ]
    return (*bent, *sizes)


def _cards(shapes: Sequence[KnownShape]) -> list[KnownShape]:
    return [shape for shape in shapes if shape.print_name.startswith(_PRINT)]
