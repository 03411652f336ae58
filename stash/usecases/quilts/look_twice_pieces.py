"""Which pieces of a quilt are of fabrics to look at twice: where its palette was let bend."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from stash.colour.verdict import Verdict
from stash.quilt.plan import Quilt
from stash.usecases.matching.match_palette import verdicts
from stash.usecases.palettes.manage_palettes import palette_named
from stash.usecases.ports import Store
from stash.usecases.quilts.plan_quilt import pattern_of

__all__ = ["BentFabric", "bent_fabrics"]


@dataclass(frozen=True, slots=True)
class BentFabric:
    """A fabric of a quilt that its palette only let in by bending.

    Attributes
    ----------
    fabric : int
    scraps : tuple of int
        Those its pieces come from.
    pieces : tuple of int
        Numbers of its pieces in the quilt.
    places : tuple of str
        Row and piece of each such as ``3.12``; empty before the layout.
    text : str
        What speaks against it.
    """

    fabric: int
    scraps: tuple[int, ...]
    pieces: tuple[int, ...]
    places: tuple[str, ...]
    text: str


def bent_fabrics(store: Store, quilt: Quilt) -> tuple[BentFabric, ...]:
    """Name the fabrics of a quilt's pieces that are to be looked at twice, by number."""
    if not quilt.plan.palette or not quilt.pieces:
        return ()
    used = {piece.scrap for piece in quilt.pieces}
    scraps = [scrap for scrap in store.scraps() if scrap.number in used]
    judged = verdicts(scraps, palette_named(store, quilt.plan.palette))
    twice = {one.fabric: one for one in judged if one.verdict is Verdict.BORDERLINE}
    scraps_of: dict[int, set[int]] = defaultdict(set)
    pieces_of: dict[int, set[int]] = defaultdict(set)
    for number, piece in enumerate(quilt.pieces):
        scraps_of[piece.fabric].add(piece.scrap)
        pieces_of[piece.fabric].add(number)
    places = pattern_of(quilt.plan).places
    return tuple(
        BentFabric(
            fabric,
            tuple(sorted(scraps_of[fabric])),
            tuple(sorted(pieces_of[fabric])),
            tuple(
                places[at].name
                for at, piece in enumerate(quilt.piece_at)
                if piece in pieces_of[fabric]
            ),
            one.reasons[0].text if one.reasons else "",
        )
        for fabric, one in sorted(twice.items())
        if fabric in pieces_of
    )
