"""The pieces of one colour that frame the edge of a quilt."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from stash.quilt.pattern import Pattern
from stash.quilt.plan import Quilt, QuiltPiece

__all__ = ["Framed", "framed", "is_of", "moved_to_rim"]


@dataclass(frozen=True, slots=True)
class Framed:
    """How many places lie at the edge, and how many of them hold a piece of the colour wished."""

    places: int
    filled: int


def is_of(piece: QuiltPiece, part: str) -> bool:
    """Whether a piece is of a part of the palette, a colour family or a value."""
    return part in (piece.amount, piece.family, piece.value)


def framed(quilt: Quilt, pattern: Pattern) -> Framed | None:
    """Say how far the edge is framed as wished; None without a wish or before it is laid out."""
    part = quilt.plan.frame
    if not part or not quilt.piece_at:
        return None
    filled = sum(is_of(quilt.pieces[quilt.piece_at[cell]], part) for cell in pattern.rim)
    return Framed(len(pattern.rim), filled)


def moved_to_rim(
    quilt: Quilt, rim: Collection[int], start: Sequence[int], movable: Collection[int], seed: int
) -> tuple[int, ...]:
    """Give a layout whose pieces of the colour wished lie at the edge, as far as there are any.

    Only pieces of movable cells change places. Which of them lie where at the edge is left to
    the layout.

    Parameters
    ----------
    rim, movable : collection of int
        Cells at the edge, and cells whose piece may go elsewhere.
    start : sequence of int
        The piece in every cell.
    """
    edge, part = set(rim), quilt.plan.frame
    rng = np.random.default_rng(seed)
    order = rng.permutation(sorted(movable)).tolist()
    of_it = {cell: is_of(quilt.pieces[start[cell]], part) for cell in order}
    inside = [cell for cell in order if cell not in edge and of_it[cell]]
    outside = [cell for cell in order if cell in edge and not of_it[cell]]
    laid = list(start)
    for one, other in zip(inside, outside, strict=False):
        laid[one], laid[other] = laid[other], laid[one]
    return tuple(laid)
