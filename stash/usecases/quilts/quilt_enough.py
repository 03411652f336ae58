"""Have I enough for this quilt, could it grow, and if not, what would make it possible."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from stash.colour.difference import colour_difference
from stash.colour.palette import Palette
from stash.colour.spaces import Lab
from stash.quilt.allocation import allot
from stash.quilt.amounts import shares_of, shares_wished, value_shares, what_amounts_are_of
from stash.quilt.cutting import RULER_STEP, STRIP_IN
from stash.quilt.feasibility import Enough, enough, largest_possible
from stash.quilt.pattern import Pattern
from stash.quilt.plan import Plan, Quilt, QuiltPiece
from stash.quilt.possible import Choices, largest_count_of, least_limit
from stash.quilt.smallest_changes import CutOnSale, Purchase, Remedy
from stash.quilt.standard_cuts import STANDARD_CUTS, StandardCut
from stash.quilt.strip_nesting import pieces_by_strips
from stash.quilt.supply import Share, Supply, Wish
from stash.shape.nesting.filling import Effort, fill
from stash.shape.plane.outline import outline_of
from stash.shape.templates.turning import Turning
from stash.units import format_inches
from stash.usecases.palettes.manage_palettes import palette_named
from stash.usecases.ports import Store
from stash.usecases.quilts.plan_quilt import MOST_PIECES, pattern_of, quilt_named, template_of
from stash.usecases.quilts.quilt_counts import across_counter, next_count, row_counter
from stash.usecases.quilts.quilt_stock import (
    Stock,
    Tell,
    Unused,
    all_counted,
    count_more,
    counted_from,
    say_nothing,
    stock_of,
    to_look_at_twice,
)
from stash.usecases.twins.one_cloth_questions import undecided

__all__ = [
    "EnoughAnswer",
    "Growth",
    "StandIn",
    "allotting",
    "cuts_on_sale",
    "enough_for",
    "enough_of",
    "pieces_as_supplies",
    "possible_with",
    "ways_to_help",
    "wish_of",
]

_MOST_SUBSTITUTES = 5
_PORTION = 40  # scraps counted before the answer is looked at again
_SMALLER_STEPS_IN = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0)


@dataclass(frozen=True, slots=True)
class StandIn:
    """A fabric that could stand in for a missing one: same value, nearest in colour."""

    part: str
    scrap: int
    fabric: int
    distance_de00: float
    family: str
    value: str
    why_not: str


@dataclass(frozen=True, slots=True)
class Growth:
    """Whether a larger quilt by the same rules is possible.

    Attributes
    ----------
    count : int or None
        The next larger number of rows, or of pieces across; None where the setting has none.
    pieces : int
        Pieces of that quilt.
    possible : bool
        Whether it can be made.
    most : int
        The largest number that can be made; at least so many where not all is counted.
    """

    count: int | None
    pieces: int
    possible: bool
    most: int


@dataclass(frozen=True, slots=True)
class EnoughAnswer:
    """The whole answer.

    Attributes
    ----------
    enough : Enough
        The counts and the verdict.
    rows, across : Growth
        One row more, one piece wider, and the most of each; what is cut stays.
    most_pieces : int
        The most pieces a quilt of any size can have by the same rules.
    uncounted : int
        Scraps that give at least what is said.
    substitutes, to_buy : tuple
        For what is short.
    """

    quilt: Quilt
    enough: Enough
    rows: Growth
    across: Growth
    most_pieces: int
    uncounted: int
    substitutes: tuple[StandIn, ...]
    to_buy: tuple[Purchase, ...]


def wish_of(store: Store, quilt: Quilt, stock: Stock, *, also: Sequence[QuiltPiece] = ()) -> Wish:
    """Say what a quilt asks for; ``also`` are pieces that stay as those that are cut."""
    plan = quilt.plan
    palette = palette_named(store, plan.palette) if plan.palette else None
    shares = shares_of(palette) if palette else ()
    if plan.amounts:
        shares = shares_wished(shares, palette, plan.amounts)
    if plan.values:
        shares = (*shares, *value_shares(plan.values))
    done = pieces_as_supplies((*quilt.cut_pieces, *also))
    fabrics = {supply.fabric for supply in (*stock.supplies, *done)}
    pattern = pattern_of(plan)
    return Wish(
        len(pattern.places),
        plan.limit,
        shares,
        undecided(store).among(fabrics),
        done,
        plan.uses_many,
        plan.surely,
        _along_the_edge(plan, pattern, palette),
    )


def _along_the_edge(plan: Plan, pattern: Pattern, palette: Palette | None) -> tuple[Share, ...]:
    """Give the hope for as many pieces of the colour that frames the quilt as lie at its edge."""
    if not plan.frame:
        return ()
    by = what_amounts_are_of(palette, plan.frame) or "family"
    return (Share(by, plan.frame, len(pattern.rim) / len(pattern.places)),)


def allotting(wish: Wish, stock: Stock) -> Wish:
    """Give the wish to allot by, with its hopes as far as they can be met.

    For many fabrics the smallest limit that works is taken, so that every fabric is used about as
    often as every other.
    """
    hoped = replace(wish, shares=(*wish.shares, *wish.hopes), hopes=())
    if wish.hopes and Choices(stock.free, hoped).possible():
        wish = hoped
    if wish.limit is not None or not wish.many_fabrics:
        return wish
    return replace(wish, limit=least_limit(stock.free, wish))


def pieces_as_supplies(pieces: Sequence[QuiltPiece]) -> tuple[Supply, ...]:
    """Give pieces that stay, alike ones together."""
    counts = Counter(
        (piece.fabric, piece.lab, piece.family, piece.value, piece.amount) for piece in pieces
    )
    return tuple(
        Supply(0, fabric, count, 0.0, lab, family, value, amount)
        for (fabric, lab, family, value, amount), count in counts.items()
    )


def possible_with(
    store: Store,
    quilt: Quilt,
    stock: Stock,
    wish: Wish,
    pieces: int,
    look: Callable[[Stock], None] = lambda _stock: None,
) -> tuple[bool, Stock]:
    """Decide whether a quilt of so many pieces can be made, counting no more than it takes.

    What the stash gives at least and what it has cloth for stand on either side of the truth; as
    long as they do not agree, the roomiest scraps are counted; ``look`` sees each portion of them.
    """
    while True:
        if Choices(stock.free, wish).possible(pieces):
            return True, stock
        if not stock.uncounted:
            return False, stock
        roof = [supply for supply in stock.roof if not supply.held_by]
        if not Choices(roof, wish).possible(pieces):
            return False, stock
        before = stock.uncounted
        count_more(store, quilt.plan, stock, _PORTION)
        stock = stock_of(store, quilt, at_once=0)
        look(stock)
        if stock.uncounted == before:
            return False, stock


def enough_for(
    store: Store, name: str, *, count: bool = False, tell: Tell = say_nothing
) -> EnoughAnswer:
    """Answer for a quilt by its name, as far as it is cut; raises NotFoundError.

    The verdict comes first: scraps are counted only as far as it takes, or all if asked. ``tell``
    hears how many are counted, of how many at most.
    """
    return enough_of(store, quilt_named(store, name), count=count, tell=tell)


def enough_of(
    store: Store, quilt: Quilt, *, count: bool = False, tell: Tell = say_nothing
) -> EnoughAnswer:
    """Answer for a quilt as it is given, kept or not; see `enough_for`."""
    stock = stock_of(store, quilt)
    look = counted_from(stock, tell)
    if count:
        stock = all_counted(
            store, quilt.plan, stock, lambda: stock_of(store, quilt, at_once=0), look
        )
    plan = quilt.plan
    wish = wish_of(store, quilt, stock)
    decide = partial(possible_with, store, quilt, look=look)
    possible, stock = decide(stock, wish, wish.pieces)
    rows, stock = _growth(decide, stock, wish, plan.rows, row_counter(plan))
    across, stock = _growth(decide, stock, wish, plan.across, across_counter(plan))
    answer = enough(stock.supplies, wish, () if possible else cuts_on_sale(plan))
    if not answer.possible:
        answer = replace(answer, changes=ways_to_help(store, quilt, stock, wish, answer.changes))
    bought = [change.purchases for change in answer.changes if change.kind == "buy"]
    return EnoughAnswer(
        quilt,
        answer,
        rows,
        across,
        most_pieces=largest_count_of(Choices(stock.free, wish)),
        uncounted=len(stock.uncounted),
        substitutes=() if answer.possible else _substitutes(stock, answer),
        to_buy=bought[0] if bought else (),
    )


def _growth(
    decide: Callable[[Stock, Wish, int], tuple[bool, Stock]],
    stock: Stock,
    wish: Wish,
    now: int,
    pieces_in: Callable[[int], int | None],
) -> tuple[Growth, Stock]:
    """Plan the quilt again at larger counts."""
    larger = next_count(pieces_in, now)
    pieces = (pieces_in(larger) or 0) if larger else 0
    possible = False
    if larger and pieces <= MOST_PIECES:
        possible, stock = decide(stock, wish, pieces)
    most = largest_possible(Choices(stock.free, wish), pieces_in, most=MOST_PIECES)
    return Growth(larger, pieces, possible, most), stock


def ways_to_help(
    store: Store, quilt: Quilt, stock: Stock, wish: Wish, changes: Sequence[Remedy]
) -> tuple[Remedy, ...]:
    """Give all that would help, what costs nothing first."""
    free = [_in_rows(quilt, stock, wish, one) for one in changes if one.kind == "fewer"]
    ways = [
        *free,
        _smaller_piece(store, quilt),
        *(one for one in changes if one.kind == "decide"),
        _look_twice(store, quilt),
        *(one for one in changes if one.kind not in ("fewer", "decide")),
    ]
    return tuple(one for one in ways if one is not None)


def _in_rows(quilt: Quilt, stock: Stock, wish: Wish, change: Remedy) -> Remedy:
    """Say a smaller quilt in rows, if whole rows are possible at all."""
    pieces_in = row_counter(quilt.plan)
    rows = largest_possible(Choices(stock.free, wish), pieces_in, most=MOST_PIECES)
    if not 0 < rows < quilt.plan.rows:
        return change
    return replace(change, amounts={"rows": rows, "pieces": pieces_in(rows) or 0})


def _smaller_piece(store: Store, quilt: Quilt) -> Remedy | None:
    """Find the largest smaller piece, in usual steps, with which as many can be cut."""
    plan, size_in = quilt.plan, template_of(quilt.plan).size_in
    if quilt.cut_pieces or template_of(plan).height_in is not None:
        return None
    for step in _SMALLER_STEPS_IN:
        if size_in - step < 1:
            return None
        size = format_inches(size_in - step)
        other = replace(quilt, plan=replace(plan, size=size))
        stock = stock_of(store, other)
        if Choices(stock.free, wish_of(store, other, stock)).possible():
            return Remedy("size", {}, size=size)
    return None


def _look_twice(store: Store, quilt: Quilt) -> Remedy | None:
    """Name the fabrics to look at twice that would make it possible."""
    if quilt.plan.borderline or not quilt.plan.palette:
        return None
    other = replace(quilt, plan=replace(quilt.plan, borderline=True))
    stock = stock_of(store, other)
    wish = wish_of(store, other, stock)
    chosen = allot(stock.supplies, replace(allotting(wish, stock), many_fabrics=False))
    if chosen is None:
        return None
    unsure = [one for one in stock.free if to_look_at_twice(one) and one.scrap in chosen.takes]
    taken = {"pieces": sum(chosen.takes[one.scrap] for one in unsure)}
    return Remedy("borderline", taken, tuple(one.scrap for one in unsure))


def cuts_on_sale(plan: Plan) -> tuple[CutOnSale, ...]:
    """Give the cuts shops sell with the pieces of the plan that each gives."""
    return tuple(
        CutOnSale(cut.name, _pieces_of_cut(plan, cut), cut.width_in * cut.height_in)
        for cut in STANDARD_CUTS
    )


def _pieces_of_cut(plan: Plan, cut: StandardCut) -> int:
    kept = 1.0 - plan.shrink_share
    width, height = cut.width_in * kept, cut.height_in * kept
    if cut.width_in >= STRIP_IN:  # yardage is cut by strips across it
        return pieces_by_strips(template_of(plan), width, height, ruler_step=RULER_STEP)
    outline = outline_of([(0, 0), (width, 0), (width, height), (0, height)])
    turning = Turning.free()
    if plan.grain_tolerance_deg is not None:
        turning = Turning.grain(0.0, plan.grain_tolerance_deg)
    return fill(outline, template_of(plan), turning=turning, effort=Effort(steps=0)).pieces


def _substitutes(stock: Stock, answer: Enough) -> tuple[StandIn, ...]:
    """For each short part, fabrics to look at twice of the same value, the nearest in colour."""
    found: list[StandIn] = []
    for part in answer.parts:
        if not part.short:
            continue
        like = [supply for supply in stock.free if getattr(supply, part.by) == part.name]
        for unused, distance in _nearest(like, stock.unused):
            found.append(
                StandIn(
                    part.name, unused.scrap, unused.fabric, distance, unused.family, unused.value,
                    unused.text,
                )
            )  # fmt: skip
    return tuple(found)


def _nearest(wanted: Sequence[Supply], unused: Sequence[Unused]) -> list[tuple[Unused, float]]:
    if not wanted:
        return []
    middle: Lab = np.mean(np.array([one.lab for one in wanted]), axis=0)
    values = {one.value for one in wanted}
    per_fabric: dict[int, tuple[Unused, float]] = {}
    for one in unused:
        if one.why != "borderline" or one.value not in values:
            continue
        distance = float(colour_difference(middle, np.array([one.lab]), lightness_weight=1.0)[0])
        known = per_fabric.get(one.fabric)
        if known is None or distance < known[1]:
            per_fabric[one.fabric] = (one, distance)
    return sorted(per_fabric.values(), key=lambda pair: pair[1])[:_MOST_SUBSTITUTES]
