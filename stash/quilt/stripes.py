"""Which way stripes run on the quilt: straight on their piece, neighbours crosswise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from stash.quilt.pattern import Pattern
from stash.quilt.plan import QuiltPiece

__all__ = ["run_of", "same_way_pairs", "turn_stripes"]

_SAME_WAY_DEG = 30.0  # stripes less than this apart seem to run on into each other (judgement)
_ROUNDS = 4


def run_of(piece: QuiltPiece, turn_deg: float) -> float | None:
    """Give the direction stripes run on the quilt, degrees 0..180; None without stripes."""
    if piece.kind != "stripe" or piece.stripe_deg is None:
        return None
    return (piece.stripe_deg + turn_deg) % 180.0


def same_way_pairs(pieces: Sequence[QuiltPiece], pattern: Pattern, piece_at: Sequence[int]) -> int:
    """Count touching striped pieces whose stripes run the same way."""
    runs = [
        run_of(pieces[piece], place.turn_deg)
        for piece, place in zip(piece_at, pattern.places, strict=True)
    ]
    return sum(_same_way(runs[one], runs[other]) for one, other in pattern.neighbours)


def turn_stripes(
    pieces: Sequence[QuiltPiece], pattern: Pattern, piece_at: Sequence[int]
) -> tuple[QuiltPiece, ...]:
    """Choose for each striped piece the way of cutting that runs across its striped neighbours.

    Only pieces that can be cut either way are turned, and none that is cut already.
    """
    turned = list(pieces)
    if not any(piece.kind == "stripe" for piece in pieces):
        return tuple(turned)
    beside: dict[int, list[int]] = {}
    for one, other in pattern.neighbours:
        beside.setdefault(one, []).append(other)
        beside.setdefault(other, []).append(one)
    for _ in range(_ROUNDS):
        changed = False
        for at, number in enumerate(piece_at):
            if _better_turned(turned, pattern, piece_at, at, beside.get(at, [])):
                turned[number] = _turned(turned[number])
                changed = True
        if not changed:
            break
    return tuple(turned)


def _better_turned(
    pieces: Sequence[QuiltPiece],
    pattern: Pattern,
    piece_at: Sequence[int],
    at: int,
    beside: Sequence[int],
) -> bool:
    piece = pieces[piece_at[at]]
    if piece.other_crop is None or piece.cut or piece.kind != "stripe":
        return False
    turn = pattern.places[at].turn_deg
    around = [run_of(pieces[piece_at[one]], pattern.places[one].turn_deg) for one in beside]
    now = sum(_same_way(run_of(piece, turn), run) for run in around)
    then = sum(_same_way(run_of(_turned(piece), turn), run) for run in around)
    return then < now


def _turned(piece: QuiltPiece) -> QuiltPiece:
    return replace(
        piece,
        crop=piece.other_crop,
        other_crop=piece.crop,
        stripe_deg=piece.other_stripe_deg,
        other_stripe_deg=piece.stripe_deg,
    )


def _same_way(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return False
    apart = abs(one - other) % 180.0
    return min(apart, 180.0 - apart) < _SAME_WAY_DEG
