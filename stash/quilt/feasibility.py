"""Is there enough: pieces and fabrics wanted against those there are, part by part."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil

from stash.quilt.one_cloth import FabricCount
from stash.quilt.possible import Choices, largest_count
from stash.quilt.smallest_changes import CutOnSale, Remedy, smallest_changes
from stash.quilt.supply import Share, Supply, Wish

__all__ = ["Enough", "PalettePart", "enough", "largest_possible", "parts_by"]


@dataclass(frozen=True, slots=True)
class PalettePart:
    """One family, value or part of the palette.

    Attributes
    ----------
    by, name : str
        ``amount``, ``family`` or ``value``, and which.
    fabrics, pieces : int
        What the stash is sure to give, the limit per fabric kept: what may be one cloth once.
    least, most : int or None
        Pieces wanted; None where nothing is said.
    cut : int
        Pieces of it that are cut already.
    """

    by: str
    name: str
    fabrics: int
    pieces: int
    least: int | None = None
    most: int | None = None
    cut: int = 0

    @property
    def short(self) -> int:
        """Pieces missing."""
        return max(0, (self.least or 0) - self.pieces - self.cut)


@dataclass(frozen=True, slots=True)
class Enough:
    """The answer to "have I enough?".

    Attributes
    ----------
    possible : bool
        Whether an allotment exists; proven either way.
    pieces_needed, fabrics_needed : int
        What the quilt asks for; fabrics are the fewest its rule allows.
    pieces_cut : int
        Pieces that are cut already, among those needed.
    pieces, fabrics : int
        What the stash is sure to give yet, the limit per fabric kept: what may be one cloth once.
    fabric_count : FabricCount
        The fabrics with what is not decided.
    parts : tuple of PalettePart
        By palette part, family and value.
    changes : tuple of Remedy
        What would make it possible, each kind by itself; empty when it is.
    """

    possible: bool
    pieces_needed: int
    pieces_cut: int
    fabrics_needed: int
    pieces: int
    fabrics: int
    fabric_count: FabricCount
    parts: tuple[PalettePart, ...]
    changes: tuple[Remedy, ...]

    @property
    def short(self) -> int:
        """Pieces missing in all."""
        return max(0, self.pieces_needed - self.pieces_cut - self.pieces)


def enough(supplies: Sequence[Supply], wish: Wish, cuts: Sequence[CutOnSale] = ()) -> Enough:
    """Compare what a quilt wants with what the stash gives; ``cuts`` are what shops sell."""
    free = [supply for supply in supplies if not supply.held_by]
    possible = Choices(free, wish).possible()
    pieces, count = _given(free, wish)
    wanted = {(share.by, share.name): share for share in wish.shares}
    by_fields = [field for field in ("amount", "family", "value") if _speaks(free, field, wish)]
    return Enough(
        possible=possible,
        pieces_needed=wish.pieces,
        pieces_cut=wish.done_pieces,
        fabrics_needed=ceil(wish.pieces / wish.limit) if wish.limit else min(1, wish.pieces),
        pieces=pieces,
        fabrics=count.least,
        fabric_count=count,
        parts=tuple(part for field in by_fields for part in parts_by(free, field, wish, wanted)),
        changes=() if possible else smallest_changes(supplies, wish, cuts),
    )


def parts_by(
    free: Sequence[Supply], field: str, wish: Wish, wanted: dict[tuple[str, str], Share]
) -> list[PalettePart]:
    """Count what there is of each family, value or palette part, most first."""
    names = {str(getattr(supply, field)) for supply in free}
    names |= {share.name for share in wish.shares if share.by == field}
    names |= {str(getattr(one, field)) for one in wish.done}
    parts = []
    for name in names - {""}:
        mine = [supply for supply in free if getattr(supply, field) == name]
        pieces, count = _given(mine, wish)
        share = wanted.get((field, name))
        least = share.least_of(wish.pieces) if share else None
        most = share.most_of(wish.pieces) if share else None
        cut = sum(one.pieces for one in wish.done if getattr(one, field) == name)
        parts.append(PalettePart(field, name, count.least, pieces, least, most, cut))
    return sorted(parts, key=lambda part: (-part.pieces, part.name))


def largest_possible(choices: Choices, pieces_in: Callable[[int], int | None], *, most: int) -> int:
    """Give the largest count, such as of rows, with which the quilt can be made; 0 when none.

    Shares are rounded in whole pieces, so that a quilt may be possible where a smaller one is
    not: the counts are tried one by one, from the first that has not too many pieces downwards.

    Parameters
    ----------
    choices : Choices
        What there is, by the rules of the quilt.
    pieces_in : callable
        Pieces of the quilt at a count; None where the setting has no such count.
    most : int
        Pieces beyond which no quilt is planned.
    """
    wish = choices.wish
    roof = min(most, choices.most_pieces(wish.limit) + wish.done_pieces)
    low, high = 0, 1
    while (pieces_in(high) or 0) <= roof and high < most:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if (pieces_in(middle) or 0) <= roof else (low, middle)
    for count in range(low, 0, -1):
        pieces = pieces_in(count)
        if pieces is not None and choices.possible(pieces):
            return count
    return 0


def _given(supplies: Sequence[Supply], wish: Wish) -> tuple[int, FabricCount]:
    """Count pieces and fabrics the stash gives beside what is cut, the limit kept."""
    count = wish.undecided.count({supply.fabric for supply in supplies})
    free = replace(wish, shares=())
    return largest_count(supplies, free) - wish.done_pieces, count


def _speaks(free: Sequence[Supply], field: str, wish: Wish) -> bool:
    named = any(getattr(supply, field) for supply in free)
    return named or any(share.by == field for share in wish.shares)
