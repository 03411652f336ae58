"""Have I enough for this quilt, and if not, what would make it possible."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

import numpy as np

from stash.colour.difference import colour_difference
from stash.colour.spaces import Lab
from stash.quilt.allocation import least_limit
from stash.quilt.amounts import shares_of, value_shares
from stash.quilt.feasibility import Enough, enough, most_rows
from stash.quilt.plan import Plan, Quilt
from stash.quilt.standard_cuts import StandardCut, cut_to_buy
from stash.quilt.supply import Supply, Wish
from stash.shape.nesting import Effort, fill
from stash.shape.outline import outline_of
from stash.shape.turning import Turning
from stash.usecases.manage_palettes import palette_named
from stash.usecases.plan_quilt import pattern_of, quilt_named, template_of
from stash.usecases.ports import Store
from stash.usecases.quilt_stock import Stock, Unused, stock_of
from stash.usecases.twins import undecided

__all__ = ["EnoughAnswer", "Substitute", "ToBuy", "enough_for", "wish_of"]

_MOST_SUBSTITUTES = 5


@dataclass(frozen=True, slots=True)
class Substitute:
    """A fabric that could stand in for a missing one: same value, nearest in colour."""

    part: str
    scrap: int
    fabric: int
    distance_de00: float
    family: str
    value: str
    why_not: str


@dataclass(frozen=True, slots=True)
class ToBuy:
    """Fabrics to buy of one part of the palette, in a standard cut; no cut when none fits."""

    part: str
    fabrics: int
    cut: str
    pieces_each: int


@dataclass(frozen=True, slots=True)
class EnoughAnswer:
    """The whole answer.

    Attributes
    ----------
    enough : Enough
        The counts and the verdict.
    one_row_more : bool
        Whether a quilt with one row more is possible too.
    most_rows, most_pieces : int
        The largest quilt by the same rules.
    substitutes, to_buy : tuple
        For what is short.
    """

    quilt: Quilt
    enough: Enough
    one_row_more: bool
    pieces_one_row_more: int
    most_rows: int
    most_pieces: int
    substitutes: tuple[Substitute, ...]
    to_buy: tuple[ToBuy, ...]


def wish_of(store: Store, plan: Plan, supplies: Sequence[Supply], pieces: int) -> Wish:
    """Say what a plan asks for.

    Without a rule, the smallest limit per fabric that works is taken: as scrappy as it gets.
    """
    shares = shares_of(palette_named(store, plan.palette)) if plan.palette else ()
    if plan.values:
        shares = (*shares, *value_shares(plan.values))
    open_pairs = undecided(store).among([supply.fabric for supply in supplies])
    wish = Wish(pieces, plan.limit, shares, open_pairs)
    if plan.limit is None:
        return replace(wish, limit=least_limit(supplies, wish))
    return wish


def enough_for(store: Store, name: str) -> EnoughAnswer:
    """Answer for a quilt by its name; raises NotFoundError."""
    quilt = quilt_named(store, name)
    stock = stock_of(store, quilt)
    plan = quilt.plan
    wish = wish_of(store, plan, stock.supplies, len(pattern_of(plan).places))
    answer = enough(stock.supplies, wish)
    rows, most = most_rows(stock.supplies, wish, lambda count: _pieces_in(plan, count))
    return EnoughAnswer(
        quilt,
        answer,
        one_row_more=rows > plan.rows,
        pieces_one_row_more=_pieces_in(plan, plan.rows + 1),
        most_rows=rows,
        most_pieces=most,
        substitutes=() if answer.possible else _substitutes(stock, answer),
        to_buy=() if answer.possible else _to_buy(plan, answer, wish),
    )


def _pieces_in(plan: Plan, rows: int) -> int:
    return len(pattern_of(replace(plan, rows=rows)).places)


def _to_buy(plan: Plan, answer: Enough, wish: Wish) -> tuple[ToBuy, ...]:
    wanted = next((change.amounts for change in answer.changes if change.kind == "buy"), {})
    each = min(wish.limit or ceil(answer.short or 1), max(1, answer.short))
    chosen = cut_to_buy(lambda cut: _pieces_of_cut(plan, cut), each)
    return tuple(
        ToBuy(
            part, fabrics, chosen[0].name if chosen else "", min(each, chosen[1]) if chosen else 0
        )
        for part, fabrics in wanted.items()
    )


def _pieces_of_cut(plan: Plan, cut: StandardCut) -> int:
    kept = 1.0 - plan.shrink_share
    width, height = cut.width_in * kept, cut.height_in * kept
    outline = outline_of([(0, 0), (width, 0), (width, height), (0, height)])
    turning = Turning.free()
    if plan.grain_tolerance_deg is not None:
        turning = Turning.grain(0.0, plan.grain_tolerance_deg)
    return fill(outline, template_of(plan), turning=turning, effort=Effort(steps=0)).pieces


def _substitutes(stock: Stock, answer: Enough) -> tuple[Substitute, ...]:
    """For each short part, unused fabrics of the same value that come nearest in colour."""
    found: list[Substitute] = []
    for part in answer.parts:
        if not part.short:
            continue
        like = [supply for supply in stock.free if getattr(supply, part.by) == part.name]
        for unused, distance in _nearest([supply.lab for supply in like], stock.unused):
            found.append(
                Substitute(
                    part.name, unused.scrap.number, unused.scrap.fabric, distance, unused.family,
                    unused.value, unused.text,
                )
            )  # fmt: skip
    return tuple(found)


def _nearest(wanted: Sequence[Lab], unused: Sequence[Unused]) -> list[tuple[Unused, float]]:
    if not wanted:
        return []
    middle = np.mean(np.array(wanted), axis=0)
    per_fabric: dict[int, tuple[Unused, float]] = {}
    for one in unused:
        if one.why == "small":
            continue
        lab = np.array([one.scrap.appearance.reads_as])
        distance = float(colour_difference(middle, lab, lightness_weight=1.0)[0])
        known = per_fabric.get(one.scrap.fabric)
        if known is None or distance < known[1]:
            per_fabric[one.scrap.fabric] = (one, distance)
    return sorted(per_fabric.values(), key=lambda pair: pair[1])[:_MOST_SUBSTITUTES]
