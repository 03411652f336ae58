"""Lay a quilt's pieces out, by the rules or by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stash.errors import PlanError
from stash.quilt.layout import Arrangement, Cells, PieceColours, arrange, judge_layout, swap
from stash.quilt.pattern import Pattern
from stash.quilt.plan import Quilt
from stash.quilt.stripes import turn_stripes
from stash.usecases.plan_quilt import keep_quilt, pattern_of, quilt_seen
from stash.usecases.ports import Store

__all__ = ["LayoutRequest", "lay_out", "layout_of"]


@dataclass(frozen=True, slots=True)
class LayoutRequest:
    """What to do with a layout.

    Attributes
    ----------
    seed : int
        The same seed gives the same layout.
    pin, unpin : tuple of str
        Places whose piece is to stay, or no longer; ``3.12`` is row 3, piece 12.
    swaps : tuple of (str, str)
        Places whose pieces change over.
    only : tuple of str
        Shuffle only these places; all but the pinned when empty.
    keep : bool
        Change nothing but pins and swaps.
    """

    seed: int = 0
    pin: tuple[str, ...] = ()
    unpin: tuple[str, ...] = ()
    swaps: tuple[tuple[str, str], ...] = ()
    only: tuple[str, ...] = ()
    keep: bool = False


def lay_out(store: Store, name: str, request: LayoutRequest) -> tuple[Quilt, Arrangement]:
    """Lay a quilt out and keep the layout.

    Raises
    ------
    NotFoundError
        If there is no such quilt.
    PlanError
        If it has no pieces yet, or a place is not on it.
    """
    quilt, seen = quilt_seen(store, name)
    if not quilt.pieces:
        raise PlanError(
            f"“{name}” has no pieces to lay out yet; run stash quilt allot “{name}” first."
        )
    pattern = pattern_of(quilt.plan)
    cells, colours = _cells(pattern), _colours(quilt)
    at = {place.name: number for number, place in enumerate(pattern.places)}
    piece_at = quilt.piece_at or None
    for one, other in request.swaps:
        if piece_at is None:
            raise PlanError(f"“{name}” is not laid out yet, so no pieces can change places.")
        piece_at = swap(piece_at, *_numbers(at, (one, other)))
    pinned = (set(quilt.pinned) | set(request.pin)) - set(request.unpin)
    _numbers(at, (*pinned, *request.unpin))
    if (request.keep or request.swaps) and piece_at is not None:
        laid = judge_layout(cells, colours, piece_at)
    else:
        fixed = set(_numbers(at, sorted(pinned))) if piece_at is not None else set()
        if request.only and piece_at is not None:
            chosen = set(_numbers(at, request.only))
            fixed |= {number for number in at.values() if number not in chosen}
        laid = arrange(cells, colours, seed=request.seed, start=piece_at, fixed=fixed)
    pieces = turn_stripes(quilt.pieces, pattern, laid.piece_at)
    changed = replace(
        quilt,
        pieces=pieces,
        piece_at=laid.piece_at,
        pinned=tuple(sorted(pinned)),
        seed=request.seed,
    )
    keep_quilt(store, changed, seen=(seen,), why=f"laid out the quilt {name}")
    return changed, laid


def layout_of(quilt: Quilt) -> Arrangement | None:
    """Measure the layout a quilt has; None before it is laid out."""
    if not quilt.piece_at:
        return None
    return judge_layout(_cells(pattern_of(quilt.plan)), _colours(quilt), quilt.piece_at)


def _cells(pattern: Pattern) -> Cells:
    return Cells(pattern.centres_in, pattern.neighbours)


def _colours(quilt: Quilt) -> PieceColours:
    pieces = quilt.pieces
    classes = {
        "family": [piece.family for piece in pieces],
        "value": [piece.value for piece in pieces],
    }
    if any(piece.amount for piece in pieces):
        classes["amount"] = [piece.amount for piece in pieces]
    if any(piece.kind == "stripe" for piece in pieces):
        classes["stripes"] = ["stripe" if piece.kind == "stripe" else "" for piece in pieces]
    labs = np.array([piece.lab for piece in pieces])
    return PieceColours(labs, [piece.fabric for piece in pieces], classes)


def _numbers(at: dict[str, int], names: Sequence[str]) -> list[int]:
    for name in names:
        if name not in at:
            raise PlanError(
                f"There is no place “{name}” on this quilt; write row.piece, such as 3.12."
            )
    return [at[name] for name in names]
