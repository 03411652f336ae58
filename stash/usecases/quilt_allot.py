"""Choose the scraps each piece of a quilt is cut from, and hold them for it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from stash.colour.appearance import PrintKind
from stash.errors import PlanError
from stash.quilt.allocation import Allotment, Change, allot, smallest_changes
from stash.quilt.plan import CropPlace, Plan, Quilt, QuiltPiece
from stash.quilt.supply import Supply
from stash.scrap import Scrap
from stash.shape.piece_fit import Placement
from stash.usecases.plan_quilt import keep_quilt, pattern_of, quilt_named, quilts_seen
from stash.usecases.ports import Store
from stash.usecases.quilt_enough import wish_of
from stash.usecases.quilt_stock import (
    Stock,
    growth_on,
    placements_on,
    stock_of,
    stripe_placements,
)

__all__ = ["AllotAnswer", "allot_quilt", "crop_of"]


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
    changes : tuple of Change
        When it cannot be made: the smallest changes that help.
    """

    quilt: Quilt
    possible: bool
    limit: int | None
    opened_sq_in: float
    gap: float
    reluctant: int
    changes: tuple[Change, ...]


def allot_quilt(store: Store, name: str) -> AllotAnswer:
    """Allot scraps to a quilt and hold them; nothing is kept when it cannot be made.

    Raises
    ------
    NotFoundError
        If there is no such quilt.
    PlanError
        If pieces of it are cut already, or it is set aside.
    """
    seen = quilts_seen(store)
    quilt = quilt_named(store, name)
    if quilt.cut_count:
        raise PlanError(
            f"{quilt.cut_count} pieces of “{name}” are cut already; a new allotment would lose "
            "them. Undo the cutting first, or go on with this one."
        )
    stock = stock_of(store, quilt)
    plan = quilt.plan
    wish = wish_of(store, plan, stock.supplies, len(pattern_of(plan).places))
    allotment = allot(stock.supplies, wish)
    if allotment is None:
        changes = smallest_changes(stock.supplies, wish)
        return AllotAnswer(quilt, False, wish.limit, 0.0, 0.0, 0, changes)
    changed = _allotted(quilt, stock, allotment)
    keep_quilt(store, changed, seen=seen, why=f"allotted scraps to the quilt {quilt.name}")
    by_scrap = {supply.scrap: supply for supply in stock.supplies}
    reluctant = sum(
        count for number, count in allotment.takes.items() if by_scrap[number].reluctance
    )
    opened = allotment.opened_sq_in
    return AllotAnswer(changed, True, wish.limit, opened, allotment.gap, reluctant, ())


def _allotted(quilt: Quilt, stock: Stock, allotment: Allotment) -> Quilt:
    by_scrap = {supply.scrap: supply for supply in stock.supplies}
    pieces: list[QuiltPiece] = []
    for number, count in sorted(allotment.takes.items()):
        pieces += _pieces_of(stock, by_scrap[number], quilt.plan, count)
    return replace(
        quilt, pieces=tuple(pieces), gap=allotment.gap, piece_at=(), pinned=(), set_aside=False
    )


def _pieces_of(stock: Stock, supply: Supply, plan: Plan, count: int) -> list[QuiltPiece]:
    scrap, one_way = stock.scraps[supply.scrap], supply.scrap in stock.one_way
    if count == 1 and scrap.appearance.kind is PrintKind.STRIPE:
        along, across = stripe_placements(scrap, plan, one_way=one_way)
        first, second = (along, across) if along else (across, None)
        if first is not None:
            return [_striped(_piece(scrap, supply, plan, first), scrap, plan, second)]
    laid = placements_on(scrap, plan, count, one_way=one_way)
    return [_piece(scrap, supply, plan, place) for place in laid]


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
        lab=scrap.appearance.reads_as,
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
