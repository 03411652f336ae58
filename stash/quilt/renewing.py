"""A quilt whose pieces are chosen anew: what is cut, placed, pinned or sewn stays where it is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, replace

from stash.quilt.plan import Plan, Quilt, QuiltPiece

__all__ = ["Renewed", "renewed"]


@dataclass(frozen=True)
class Renewed:
    """A quilt with new pieces.

    Attributes
    ----------
    quilt : Quilt
        With as many pieces as places.
    open_cells : tuple of int
        Places that have to be laid out: their piece is a new one. None before the first layout.
    """

    quilt: Quilt
    open_cells: tuple[int, ...]


def renewed(
    quilt: Quilt,
    plan: Plan,
    fresh: Sequence[QuiltPiece],
    *,
    before: Sequence[str],
    now: Sequence[str],
) -> Renewed:
    """Give a quilt by another plan, or by the same, with newly chosen pieces beside the cut ones.

    Parameters
    ----------
    quilt : Quilt
        As it is.
    plan : Plan
        As it is to be.
    fresh : sequence of QuiltPiece
        Pieces to be cut: as many as the plan needs beyond those that are cut.
    before, now : sequence of str
        Names of the places by the old plan and by the new one.
    """
    place_of = {piece: before[cell] for cell, piece in enumerate(quilt.piece_at)}
    stay, spare = _cut_that_stay(quilt, place_of, now)
    new_of = _paired(quilt.pieces, fresh)
    pieces: list[QuiltPiece] = []
    at_place: dict[str, int] = {}
    for number, piece in enumerate(quilt.pieces):
        kept = piece if number in stay else new_of.pop(number, None)
        if kept is None:
            continue
        if number in place_of:
            at_place[place_of[number]] = len(pieces)
        pieces.append(kept)
    known = len(quilt.pieces)
    pieces += [quilt.spare[number - known] for number in stay if number >= known]
    pieces += new_of.values()
    cells = [at_place.get(name) for name in now]
    placed = {piece for piece in cells if piece is not None}
    rest = iter([number for number in range(len(pieces)) if number not in placed])
    piece_at = tuple(next(rest) if piece is None else piece for piece in cells)
    open_cells = tuple(cell for cell, piece in enumerate(cells) if piece is None)
    changed = replace(
        quilt,
        plan=plan,
        pieces=tuple(pieces),
        piece_at=piece_at if quilt.piece_at else (),
        pinned=tuple(name for name in quilt.pinned if name in set(now)),
        spare=spare,
    )
    return Renewed(changed, open_cells if quilt.piece_at else ())


def _cut_that_stay(
    quilt: Quilt, place_of: dict[int, str], now: Sequence[str]
) -> tuple[list[int], tuple[QuiltPiece, ...]]:
    """Give the numbers of the cut pieces that stay in the quilt, spare ones counted on."""
    places = set(now)
    cut = [number for number, piece in enumerate(quilt.pieces) if piece.cut]
    cut += range(len(quilt.pieces), len(quilt.pieces) + len(quilt.spare))
    cut.sort(key=lambda number: place_of.get(number) not in places)
    everything = (*quilt.pieces, *quilt.spare)
    return sorted(cut[: len(now)]), tuple(everything[number] for number in cut[len(now) :])


def _paired(old: Sequence[QuiltPiece], fresh: Sequence[QuiltPiece]) -> dict[int, QuiltPiece]:
    """Give each new piece the number of an old uncut one most like it; further ones count on."""
    free = {number: piece for number, piece in enumerate(old) if not piece.cut}
    left = list(fresh)
    found: dict[int, QuiltPiece] = {}
    for alike in _LIKENESS:
        waiting: dict[Hashable, list[int]] = defaultdict(list)
        for number, piece in reversed(free.items()):
            waiting[alike(piece)].append(number)
        rest = []
        for piece in left:
            numbers = waiting[alike(piece)]
            if not numbers:
                rest.append(piece)
                continue
            number = numbers.pop()
            # A piece that lies as before is the same piece, whatever was decided about it since.
            before = free.pop(number)
            found[number] = before if alike is _same_cut else piece
        left = rest
    beyond = 1_000_000
    return {**found, **{beyond + at: piece for at, piece in enumerate(left)}}


def _same_cut(piece: QuiltPiece) -> Hashable:
    return (piece.scrap, piece.crop)


_LIKENESS: tuple[Callable[[QuiltPiece], Hashable], ...] = (
    _same_cut,
    lambda piece: piece.scrap,
    lambda piece: piece.fabric,
    lambda piece: (piece.family, piece.value, piece.amount),
    lambda piece: (piece.family, piece.value),
)
