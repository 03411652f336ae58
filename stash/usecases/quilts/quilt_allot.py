"""Choose the scraps each piece of a quilt is cut from, and hold the pieces for it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from stash.colour.appearance import PrintKind
from stash.quilt.allocation import Allotment, allot
from stash.quilt.plan import CropPlace, Plan, Quilt, QuiltPiece
from stash.quilt.renewing import renewed
from stash.quilt.smallest_changes import Remedy, smallest_changes
from stash.quilt.supply import Supply, Wish
from stash.scrap import Scrap
from stash.shape.containment.piece_fit import Placement
from stash.usecases.ports import Document, Store
from stash.usecases.quilts.plan_quilt import (
    held_on_scraps,
    keep_quilt,
    place_names,
    quilt_named,
    quilts_seen,
)
from stash.usecases.quilts.quilt_counts import next_count, row_counter
from stash.usecases.quilts.quilt_enough import (
    allotting,
    cuts_on_sale,
    ways_to_help,
    wish_of,
)
from stash.usecases.quilts.quilt_layout import with_open_cells_laid
from stash.usecases.quilts.quilt_pieces import still_there
from stash.usecases.quilts.quilt_stock import (
    Stock,
    Tell,
    all_counted,
    counted_from,
    growth_on,
    parts_left,
    placements_on,
    say_nothing,
    stock_of,
    stripe_placements,
    to_look_at_twice,
)

__all__ = ["AllotAnswer", "allot_quilt", "crop_of"]

_ROUNDS = 6  # a scrap that gives fewer than counted is counted again, and all is chosen anew


@dataclass(frozen=True, slots=True)
class AllotAnswer:
    """An allotment that is kept, or what would make one possible.

    Attributes
    ----------
    quilt : Quilt
        With its pieces, when it can be made.
    limit : int or None
        The limit per fabric that was used.
    reluctant : int
        Pieces of borderline fabrics.
    reserve_rows : int
        For so many rows more, pieces are held back.
    changes : tuple of Remedy
        When it cannot be made: the smallest changes that help.
    """

    quilt: Quilt
    possible: bool
    limit: int | None
    opened_sq_in: float
    gap: float
    reluctant: int
    reserve_rows: int
    changes: tuple[Remedy, ...]


def allot_quilt(
    store: Store, name: str, *, fill: bool = False, tell: Tell = say_nothing
) -> AllotAnswer:
    """Allot scraps to a quilt and hold the pieces; nothing is kept when it cannot be made.

    What is cut stays, and so does the place of every piece that is the same as before.

    Parameters
    ----------
    fill : bool
        Keep also the pieces that are chosen and not cut yet, and find only what is missing.
    tell : callable
        Told how many scraps are counted, of how many, while they are.

    Raises
    ------
    NotFoundError
        If there is no such quilt.
    """
    seen = quilts_seen(store)
    quilt = replace(quilt_named(store, name), set_aside=False)
    own = still_there(store, quilt) if fill else ()
    stock = _whole_stock(store, quilt, own, tell)
    wish = wish_of(store, quilt, stock, also=own)
    chooser = _Chooser(store, quilt, stock, own)
    chosen = chooser.choose(wish)
    if chosen is None:
        changes = smallest_changes(stock.supplies, wish, cuts_on_sale(quilt.plan))
        changes = ways_to_help(store, quilt, stock, wish, changes)
        return AllotAnswer(quilt, False, wish.limit, 0.0, 0.0, 0, 0, changes)
    return _kept(store, quilt, seen, chosen, own)


@dataclass(frozen=True)
class _Chosen:
    """Laid pieces, the allotment they follow, and what is held back for rows to come."""

    pieces: tuple[QuiltPiece, ...]
    allotment: Allotment
    limit: int | None
    reluctant: int
    reserve: tuple[QuiltPiece, ...] = ()
    reserve_rows: int = 0


def _kept(
    store: Store,
    quilt: Quilt,
    seen: Sequence[Document],
    chosen: _Chosen,
    own: Sequence[QuiltPiece],
) -> AllotAnswer:
    names = place_names(quilt.plan)
    changed = renewed(quilt, quilt.plan, (*own, *chosen.pieces), before=names, now=names)
    gap = chosen.allotment.gap
    whole = replace(changed.quilt, gap=gap, reserve=chosen.reserve)
    whole = with_open_cells_laid(store, whole, changed.open_cells)
    keep_quilt(store, whole, seen=seen, why=f"allotted scraps to the quilt {quilt.name}")
    return AllotAnswer(
        whole,
        True,
        chosen.limit,
        chosen.allotment.opened_sq_in,
        gap,
        chosen.reluctant,
        chosen.reserve_rows,
        (),
    )


def _whole_stock(store: Store, quilt: Quilt, own: Sequence[QuiltPiece], tell: Tell) -> Stock:
    """Give the stock with every scrap counted that the choice could fall on."""
    stock = stock_of(store, quilt, own=own)
    look = counted_from(stock, tell)
    return all_counted(
        store, quilt.plan, stock, lambda: stock_of(store, quilt, own=own, at_once=0), look
    )


class _Chooser:
    """Chooses scraps for one quilt and lays the pieces on them."""

    def __init__(self, store: Store, quilt: Quilt, stock: Stock, own: Sequence[QuiltPiece]) -> None:
        self.store, self.quilt, self.stock = store, quilt, stock
        self.scraps = {scrap.number: scrap for scrap in store.scraps()}
        self.held = held_on_scraps(store, but=quilt.name, also=(quilt, own))

    def choose(self, wish: Wish) -> _Chosen | None:
        """Choose for the quilt and, where it is wished, for rows to come."""
        rows = self.quilt.plan.reserve_rows
        for more in range(rows, 0, -1):
            chosen = self._with_reserve(wish, more)
            if chosen is not None:
                return chosen
        return self._chosen(self.stock, wish)

    def _with_reserve(self, wish: Wish, more: int) -> _Chosen | None:
        """Choose for a longer quilt first, then of that for this one; the rest is held back."""
        pieces_in = row_counter(self.quilt.plan)
        count = next_count(pieces_in, self.quilt.plan.rows + more - 1)
        if count is None:
            return None
        longer = self._chosen(self.stock, replace(wish, pieces=pieces_in(count) or 0))
        if longer is None:
            return None
        takes = longer.allotment.takes
        supplies = tuple(
            replace(one, pieces=takes[one.scrap]) for one in self.stock.free if takes.get(one.scrap)
        )
        only = replace(wish, limit=wish.limit or longer.limit, many_fabrics=True)
        chosen = allot(supplies, only)
        if chosen is None:
            return None
        left = Counter(chosen.takes)
        pieces: list[QuiltPiece] = []
        reserve: list[QuiltPiece] = []
        for piece in longer.pieces:
            (pieces if left[piece.scrap] > 0 else reserve).append(piece)
            left[piece.scrap] -= 1
        return replace(
            longer, pieces=tuple(pieces), allotment=replace(chosen, gap=longer.allotment.gap),
            reserve=tuple(reserve), reserve_rows=more,
        )  # fmt: skip

    def _chosen(self, stock: Stock, wish: Wish) -> _Chosen | None:
        """Choose and lay; a scrap on which fewer can be laid than counted counts for those."""
        for _ in range(_ROUNDS):
            asked = allotting(wish, stock)
            allotment = allot(stock.supplies, asked)
            if allotment is None:
                return None
            free = {supply.scrap: supply for supply in stock.free}
            laid = {
                number: self._laid(free[number], count)
                for number, count in sorted(allotment.takes.items())
            }
            short = {
                number: len(pieces)
                for number, pieces in laid.items()
                if len(pieces) < allotment.takes[number]
            }
            if not short:
                pieces = tuple(piece for some in laid.values() for piece in some)
                reluctant = sum(len(laid[at]) for at in laid if to_look_at_twice(free[at]))
                return _Chosen(pieces, allotment, asked.limit, reluctant)
            stock = _with_fewer(stock, short)
        return None

    def _laid(self, supply: Supply, count: int) -> list[QuiltPiece]:
        """Lay pieces on a scrap, beside those that others hold on it."""
        scrap, plan = self.scraps[supply.scrap], self.quilt.plan
        one_way = supply.scrap in self.stock.one_way
        held = self.held.get(scrap.number)
        if held is None:
            return self._laid_whole(scrap, supply, count)
        pieces: list[QuiltPiece] = []
        for part, most in parts_left(self.store, plan, scrap, held.pieces):
            wanted = min(most, count - len(pieces))
            if wanted <= 0:
                break
            laid = placements_on(scrap, plan, wanted, one_way=one_way, part=part)
            pieces += [_piece(scrap, supply, plan, place) for place in laid]
        return pieces

    def _laid_whole(self, scrap: Scrap, supply: Supply, count: int) -> list[QuiltPiece]:
        plan, one_way = self.quilt.plan, supply.scrap in self.stock.one_way
        if count == 1 and scrap.appearance.kind is PrintKind.STRIPE:
            along, across = stripe_placements(scrap, plan, one_way=one_way)
            first, second = (along, across) if along else (across, None)
            if first is not None:
                return [_striped(_piece(scrap, supply, plan, first), scrap, plan, second)]
        laid = placements_on(scrap, plan, count, one_way=one_way)
        return [_piece(scrap, supply, plan, place) for place in laid]


def _with_fewer(stock: Stock, gives: dict[int, int]) -> Stock:
    def counted(supply: Supply) -> Supply:
        """Give the supply with what its scrap was counted to give, unless a quilt holds it."""
        if supply.held_by or supply.scrap not in gives:
            return supply
        return replace(supply, pieces=gives[supply.scrap])

    return replace(stock, supplies=tuple(counted(one) for one in stock.supplies))


def _striped(piece: QuiltPiece, scrap: Scrap, plan: Plan, other: Placement | None) -> QuiltPiece:
    if other is None:
        return piece
    return replace(
        piece,
        other_crop=crop_of(scrap, plan, other),
        other_stripe_deg=_stripe(scrap, other),
    )


def _piece(scrap: Scrap, supply: Supply, plan: Plan, placement: Placement) -> QuiltPiece:
    return QuiltPiece(
        scrap=scrap.number,
        fabric=scrap.fabric,
        lab=supply.lab,
        family=supply.family,
        value=supply.value,
        amount=supply.amount,
        kind=scrap.appearance.kind.value,
        stripe_deg=_stripe(scrap, placement),
        crop=crop_of(scrap, plan, placement),
    )


def _stripe(scrap: Scrap, placement: Placement) -> float | None:
    direction = scrap.appearance.direction_deg
    return None if direction is None else (direction - placement.angle_deg) % 180


def crop_of(scrap: Scrap, plan: Plan, placement: Placement) -> CropPlace:
    """Say where on its scrap's picture a piece lies that is placed so at the size it is cut at."""
    growth, picture = growth_on(scrap, plan), scrap.picture
    return CropPlace(
        x=placement.x * growth,
        y=placement.y * growth,
        angle_deg=placement.angle_deg,
        growth=growth,
        picture=picture.sha256 if picture else "",
        px_per_in=picture.px_per_in if picture else 0.0,
        left_in=picture.left_in if picture else 0.0,
        top_in=picture.top_in if picture else 0.0,
    )
