"""What would make an impossible quilt possible: the least of each kind, the free ones first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from stash.quilt.one_cloth import ALL_DECIDED
from stash.quilt.possible import Choices, Kind, hold_shares, largest_count_of, least_limit_of
from stash.quilt.program import Program
from stash.quilt.supply import Share, Supply, Wish

__all__ = ["CutOnSale", "Purchase", "Remedy", "smallest_changes", "to_buy"]


@dataclass(frozen=True, slots=True)
class CutOnSale:
    """A cut that can be bought, the pieces one gives, and its cloth in square inches."""

    name: str
    pieces: int
    area_sq_in: float


# Where nobody says what shops sell, a fabric more is one from which as much can be cut as is used.
ANY_CUT = CutOnSale("", 0, 1.0)


@dataclass(frozen=True, slots=True)
class Purchase:
    """So many new fabrics of one part of the palette, each in one cut."""

    part: str
    cut: CutOnSale
    fabrics: int
    pieces_each: int


@dataclass(frozen=True, slots=True)
class Remedy:
    """One kind of change that alone makes the quilt possible, as small as can be.

    Attributes
    ----------
    kind : str
        ``fewer``, ``size``, ``decide``, ``borderline``, ``shares``, ``limit``, ``release`` or
        ``buy``.
    amounts : mapping
        What changes by how much: the new number of pieces and rows, pieces over or under a share,
        the new limit, quilts to take scraps from, fabrics to buy by palette part.
    scraps : tuple of int
        For ``release``: the scraps to take back. For ``decide``: those that may be one cloth. For
        ``borderline``: those to look at twice.
    enough : bool
        Whether the change alone makes it possible; answers (``decide``) may help only so far.
    size : str
        For ``size``: the finished size that works.
    purchases : tuple of Purchase
        For ``buy``: what to buy, in the cuts that are sold.
    """

    kind: str
    amounts: Mapping[str, int]
    scraps: tuple[int, ...] = ()
    enough: bool = True
    size: str = ""
    purchases: tuple[Purchase, ...] = ()


def smallest_changes(
    supplies: Sequence[Supply], wish: Wish, cuts: Sequence[CutOnSale] = ()
) -> tuple[Remedy, ...]:
    """Say what would make an impossible wish possible, each kind of change by itself.

    Each answer is the least of its kind: most pieces, fewest pieces outside the shares, lowest
    limit per fabric, fewest scraps taken from other quilts, least cloth to buy. What costs nothing
    comes first.
    """
    free = [supply for supply in supplies if not supply.held_by]
    choices = Choices(free, wish)
    found = [
        _fewer(choices),
        _decide(free, choices),
        _raise_limit(choices),
        _widen(choices),
        _release(supplies, choices),
        _buy(choices, cuts),
    ]
    return tuple(change for change in found if change is not None)


def _fewer(choices: Choices) -> Remedy | None:
    most = largest_count_of(choices)
    possible = choices.wish.done_pieces < most < choices.wish.pieces
    return Remedy("fewer", {"pieces": most}) if possible else None


def _decide(free: Sequence[Supply], choices: Choices) -> Remedy | None:
    """Say what it would bring if all that may be one cloth were different."""
    wish = choices.wish
    open_pairs = wish.undecided.among([supply.fabric for supply in free])
    if wish.limit is None or not open_pairs.pairs:
        return None
    decided = Choices(free, replace(wish, undecided=ALL_DECIDED))
    more = largest_count_of(decided) - largest_count_of(choices)
    possible = decided.possible()
    if more <= 0 and not possible:
        return None
    asked = {fabric for pair in open_pairs.pairs for fabric in pair}
    scraps = tuple(sorted(supply.scrap for supply in free if supply.fabric in asked))
    return Remedy("decide", {"pieces": max(0, more)}, scraps, enough=possible)


def _raise_limit(choices: Choices) -> Remedy | None:
    if choices.wish.limit is None:
        return None
    limit = least_limit_of(choices)
    if limit is None or limit <= choices.wish.limit:
        return None
    return Remedy("limit", {"limit": limit})


def _widen(choices: Choices) -> Remedy | None:
    wish = choices.wish
    if not wish.shares:
        return None
    program, chosen = _begun(choices)
    less = [program.add_variable(wish.pieces, cost=1.0) for _ in wish.shares]
    more = [program.add_variable(wish.pieces, cost=1.0) for _ in wish.shares]
    for at, share in enumerate(wish.shares):
        row = {place: 1.0 for (kind, _), place in chosen.items() if kind.has(share)}
        least, most = wish.limits_of(share)
        program.add_row({**row, less[at]: 1.0}, least, np.inf)
        program.add_row({**row, more[at]: -1.0}, -np.inf, most)
    answer, _ = program.solve()
    if answer is None:
        return None
    moved = {
        share.name: round(float(answer[more[at]] - answer[less[at]]))
        for at, share in enumerate(wish.shares)
    }
    return Remedy("shares", {name: count for name, count in moved.items() if count})


def _release(supplies: Sequence[Supply], free: Choices) -> Remedy | None:
    held = [supply for supply in supplies if supply.held_by]
    if not held:
        return None
    wish = free.wish
    whole = Choices(supplies, wish)
    if not whole.possible():
        return None
    taken = held
    # One by one they are given back while the rest is still enough; the largest stay longest.
    for one in sorted(held, key=lambda one: (one.pieces, one.scrap)):
        fewer = [other for other in taken if other is not one]
        unheld = [supply for supply in supplies if not supply.held_by]
        if Choices([*unheld, *fewer], wish).possible():
            taken = fewer
    owners: dict[str, int] = {}
    for one in taken:
        owners[one.held_by] = owners.get(one.held_by, 0) + 1
    return Remedy("release", owners, tuple(sorted(one.scrap for one in taken)))


def _buy(choices: Choices, cuts: Sequence[CutOnSale]) -> Remedy | None:
    purchases = to_buy(choices, cuts)
    if not purchases:
        return None
    fabrics: dict[str, int] = {}
    for one in purchases:
        fabrics[one.part] = fabrics.get(one.part, 0) + one.fabrics
    return Remedy("buy", fabrics, purchases=purchases)


def to_buy(choices: Choices, cuts: Sequence[CutOnSale]) -> tuple[Purchase, ...]:
    """Give the least cloth to buy with which the wish can be met, each cut another fabric.

    The limit per fabric holds for what is bought as for what is there. Where no cut gives a piece,
    fabrics are counted of which as much can be cut as is used, and no cut is named.
    """
    wish = choices.wish
    used = wish.limit or wish.to_choose
    # Where the piece is larger than all that is sold, as many fabrics are told without a cut.
    on_sale = [(cut, min(cut.pieces, used)) for cut in cuts if cut.pieces] or [(ANY_CUT, used)]
    program, chosen = _begun(choices, whole=False)
    bought: list[tuple[str, CutOnSale, int, int]] = []
    for part in _parts(wish):
        pieces = program.add_variable(wish.pieces)
        chosen[Kind(part), -1 - len(bought)] = pieces
        name = " ".join(name for _, name in part) or "any"
        gives = {pieces: 1.0}
        for cut, each in on_sale:
            count = program.add_variable(wish.pieces, cost=cut.area_sq_in)
            gives[count] = -float(each)
            bought.append((name, cut, each, count))
        program.add_row(gives, -np.inf, 0)
    program.add_row(dict.fromkeys(chosen.values(), 1.0), wish.to_choose, wish.to_choose)
    hold_shares(program, chosen, wish)
    answer, _ = program.solve()
    if answer is None:
        return ()
    counts = [(name, cut, each, round(float(answer[at]))) for name, cut, each, at in bought]
    return tuple(Purchase(name, cut, count, each) for name, cut, each, count in counts if count)


def _begun(choices: Choices, *, whole: bool = True) -> tuple[Program, dict[tuple[Kind, int], int]]:
    """Begin a programme for the pieces that are to be chosen; their number is held if whole."""
    program, chosen = choices.program(choices.wish)
    if whole:
        to_choose = choices.wish.to_choose
        program.add_row(dict.fromkeys(chosen.values(), 1.0), to_choose, to_choose)
    return program, chosen


def _parts(wish: Wish) -> list[tuple[tuple[str, str], ...]]:
    """Give every kind of fabric one could buy: one name from each field that has shares."""
    names: dict[str, list[Share]] = {}
    for share in wish.shares:
        names.setdefault(share.by, []).append(share)
    fields = [[(share.by, share.name) for share in shares] for shares in names.values()]
    return list(product(*fields))
