"""Is there enough: pieces and fabrics wanted against those there are, part by part."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil

from stash.quilt.allocation import Change, allot, largest_count, smallest_changes
from stash.quilt.one_cloth import FabricCount
from stash.quilt.supply import Share, Supply, Wish

__all__ = ["Enough", "Part", "enough", "most_rows", "parts_by"]


@dataclass(frozen=True, slots=True)
class Part:
    """One family, value or part of the palette.

    Attributes
    ----------
    by, name : str
        ``amount``, ``family`` or ``value``, and which.
    fabrics, pieces : int
        What the stash is sure to give, the limit per fabric kept: what may be one cloth once.
    least, most : int or None
        Pieces wanted; None where nothing is said.
    """

    by: str
    name: str
    fabrics: int
    pieces: int
    least: int | None = None
    most: int | None = None

    @property
    def short(self) -> int:
        """Pieces missing."""
        return max(0, (self.least or 0) - self.pieces)


@dataclass(frozen=True, slots=True)
class Enough:
    """The answer to "have I enough?".

    Attributes
    ----------
    possible : bool
        Whether an allotment exists; proven either way.
    pieces_needed, fabrics_needed : int
        What the quilt asks for; fabrics are the fewest its rule allows.
    pieces, fabrics : int
        What the stash is sure to give, the limit per fabric kept: what may be one cloth once.
    fabric_count : FabricCount
        The fabrics with what is not decided.
    parts : tuple of Part
        By palette part, family and value.
    changes : tuple of Change
        What would make it possible, each kind by itself; empty when it is.
    """

    possible: bool
    pieces_needed: int
    fabrics_needed: int
    pieces: int
    fabrics: int
    fabric_count: FabricCount
    parts: tuple[Part, ...]
    changes: tuple[Change, ...]

    @property
    def short(self) -> int:
        """Pieces missing in all."""
        return max(0, self.pieces_needed - self.pieces)


def enough(supplies: Sequence[Supply], wish: Wish) -> Enough:
    """Compare what a quilt wants with what the stash gives."""
    free = [supply for supply in supplies if not supply.held_by]
    possible = allot(supplies, wish) is not None
    pieces, count = _given(free, wish)
    wanted = {(share.by, share.name): share for share in wish.shares}
    by_fields = [field for field in ("amount", "family", "value") if _speaks(free, field, wish)]
    return Enough(
        possible=possible,
        pieces_needed=wish.pieces,
        fabrics_needed=ceil(wish.pieces / wish.limit) if wish.limit else 1,
        pieces=pieces,
        fabrics=count.least,
        fabric_count=count,
        parts=tuple(part for field in by_fields for part in parts_by(free, field, wish, wanted)),
        changes=() if possible else smallest_changes(supplies, wish),
    )


def parts_by(
    free: Sequence[Supply], field: str, wish: Wish, wanted: dict[tuple[str, str], Share]
) -> list[Part]:
    """Count what there is of each family, value or palette part, most first."""
    names = {str(getattr(supply, field)) for supply in free}
    names |= {share.name for share in wish.shares if share.by == field}
    parts = []
    for name in names - {""}:
        mine = [supply for supply in free if getattr(supply, field) == name]
        pieces, count = _given(mine, wish)
        share = wanted.get((field, name))
        least = share.least_of(wish.pieces) if share else None
        most = share.most_of(wish.pieces) if share else None
        parts.append(Part(field, name, count.least, pieces, least, most))
    return sorted(parts, key=lambda part: (-part.pieces, part.name))


def most_rows(
    supplies: Sequence[Supply], wish: Wish, pieces_in: Callable[[int], int], *, limit: int = 400
) -> tuple[int, int]:
    """Give the most rows by the same rules, and the most pieces the scraps allow."""
    most = largest_count(supplies, wish)
    low, high = 0, 1
    while high < limit and pieces_in(high) <= most:
        low, high = high, high * 2
    while high - low > 1:
        middle = (low + high) // 2
        if pieces_in(middle) <= most:
            low = middle
        else:
            high = middle
    return low, most


def _given(supplies: Sequence[Supply], wish: Wish) -> tuple[int, FabricCount]:
    of_fabric: dict[int, int] = {}
    for supply in supplies:
        of_fabric[supply.fabric] = of_fabric.get(supply.fabric, 0) + supply.pieces
    count = wish.undecided.count(of_fabric)
    if count.undecided and wish.limit:
        return largest_count(supplies, replace(wish, shares=())), count
    capped = [min(pieces, wish.limit) if wish.limit else pieces for pieces in of_fabric.values()]
    return sum(capped), count


def _speaks(free: Sequence[Supply], field: str, wish: Wish) -> bool:
    named = any(getattr(supply, field) for supply in free)
    return named or any(share.by == field for share in wish.shares)
