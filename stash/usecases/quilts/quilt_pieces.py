"""Which pieces of a quilt still lie on their scraps as they were chosen."""

from __future__ import annotations

from collections import defaultdict

from stash.quilt.plan import Quilt, QuiltPiece
from stash.quilt.remainder import lies_on
from stash.scrap import ScrapState
from stash.usecases.ports import Store
from stash.usecases.quilts.plan_quilt import cut_ring

__all__ = ["hole", "still_there"]


def still_there(store: Store, quilt: Quilt) -> tuple[QuiltPiece, ...]:
    """Give the pieces that are chosen, not cut yet, and can still be cut as chosen."""
    on_scrap: dict[int, list[QuiltPiece]] = defaultdict(list)
    for piece in quilt.pieces:
        if not piece.cut and piece.scrap:
            on_scrap[piece.scrap].append(piece)
    scraps = {scrap.number: scrap for scrap in store.scraps()}
    found: list[QuiltPiece] = []
    for number, pieces in on_scrap.items():
        scrap = scraps.get(number)
        if scrap is None or scrap.state is ScrapState.CUT_UP:
            continue
        rings = [cut_ring(quilt.plan, piece.crop) for piece in pieces if piece.crop]
        if lies_on(scrap.outline, rings):
            found += pieces
    return tuple(found)


def hole(like: QuiltPiece) -> QuiltPiece:
    """Give the place of a piece that has to be found anew; it keeps what it looked like."""
    return QuiltPiece(0, like.fabric, like.lab, like.family, like.value, like.amount, like.kind)
