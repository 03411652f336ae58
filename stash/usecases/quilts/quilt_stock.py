"""What the stash gives to one quilt: which scraps yield a piece, and why others do not."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from stash.colour.appearance import Appearance, PrintKind
from stash.colour.cloth_family import families_of_table
from stash.colour.naming import value_limits
from stash.colour.spaces import Lab
from stash.quilt.amounts import amount_of
from stash.quilt.keeping import TableRule, lay_to_keep
from stash.quilt.plan import Plan, Quilt, QuiltPiece
from stash.quilt.remainder import LEAST_IN, remainders
from stash.quilt.supply import Supply
from stash.scrap import Scrap, ScrapState
from stash.shape.containment.piece_fit import Placement
from stash.shape.nesting.filling import fill
from stash.shape.plane.outline import Outline, Ring
from stash.shape.templates.template import Template
from stash.shape.templates.turning import Turning
from stash.usecases.matching.match_palette import judged_by
from stash.usecases.palettes.manage_palettes import palette_named
from stash.usecases.pieces.grain import grain_of
from stash.usecases.pieces.piece_counts import (
    CutRule,
    count_key,
    keep_sizes,
    kept_sizes,
    one_way_scraps,
    usable_outline,
)
from stash.usecases.pieces.usable_fabrics import UsableFabrics, fabric_colours, usable_fabrics
from stash.usecases.pieces.what_scraps_give import AT_ONCE, count_scraps, what_scraps_give
from stash.usecases.ports import AskedStore, SizeKey, Store
from stash.usecases.quilts.plan_quilt import held_on_scraps, template_of

__all__ = [
    "Stock",
    "Tell",
    "Unused",
    "all_counted",
    "count_more",
    "counted_from",
    "cut_rule",
    "families_of_fabrics",
    "growth_on",
    "left_on",
    "looks_of_fabrics",
    "parts_left",
    "placements_on",
    "say_nothing",
    "stock_of",
    "stripe_placements",
    "to_look_at_twice",
]

Tell: TypeAlias = Callable[[int, int], None]  # told how many are done, of how many

_PORTION = 40  # scraps counted between two words on how far it is
_STRIPE_TOLERANCE_DEG = 2.0  # stripes more askew than this look like a mistake (judgement)
_ON_GRAIN = ("square", "rectangle")
_WOVEN = (PrintKind.PLAID, PrintKind.STRIPE)
_RELUCTANCE = 10_000.0  # square inches: a borderline fabric only when nothing else will do
_YARDAGE_RELUCTANCE = 1_000.0  # where scraps are wished first
_YARDAGE_SQ_IN = 360.0  # from a quarter yard on it is yardage: 9 x 40 in


@dataclass(frozen=True, slots=True)
class Unused:
    """A scrap that does not come into the quilt, with the reason in a few words."""

    scrap: int
    fabric: int
    family: str
    value: str
    lab: Lab
    why: str
    text: str


@dataclass(frozen=True)
class Stock:
    """What there is for a quilt.

    Attributes
    ----------
    supplies : tuple of Supply
        Scraps that give pieces. What other quilts hold of a scrap is a supply of its own, marked;
        where pieces are not counted, a scrap gives at least so many.
    roof : tuple of Supply
        The same with the most pieces there is cloth for where they are not counted.
    uncounted : tuple of int
        Scraps that are not counted yet, the roomiest first.
    unused : tuple of Unused
        ``small`` (belongs but no piece fits), ``clash``, ``borderline`` or ``wish``.
    one_way : frozenset of int
        Numbers of the scraps whose print has an up and a down.
    """

    supplies: tuple[Supply, ...]
    roof: tuple[Supply, ...]
    uncounted: tuple[int, ...]
    unused: tuple[Unused, ...]
    one_way: frozenset[int] = frozenset()

    @property
    def free(self) -> tuple[Supply, ...]:
        """Supplies no other quilt holds."""
        return tuple(supply for supply in self.supplies if not supply.held_by)


def stock_of(
    store: Store, quilt: Quilt, *, own: Sequence[QuiltPiece] = (), at_once: int = AT_ONCE
) -> Stock:
    """Say what the stash gives to a quilt; what it holds itself counts as free.

    Parameters
    ----------
    own : sequence of QuiltPiece
        Pieces it holds that are not free, because they are to stay as they are.
    at_once : int
        Where no more scraps than these are not counted yet, they are counted.
    """
    stock = _stock(store, quilt, own)
    if 0 < len(stock.uncounted) <= at_once:
        count_more(store, quilt.plan, stock, at_once)
        stock = _stock(store, quilt, own)
    return stock


def count_more(store: Store, plan: Plan, stock: Stock, most: int) -> None:
    """Count the pieces of some scraps that are not counted yet, the roomiest first."""
    count_scraps(store, template_of(plan), cut_rule(plan), stock.uncounted[:most])


def say_nothing(_counted: int, _of: int) -> None:
    """Hear how many scraps are counted, and leave it at that."""


def counted_from(stock: Stock, tell: Tell) -> Callable[[Stock], None]:
    """Give what tells, of a stock as it is later, how many of these scraps are counted by then."""
    of = len(stock.uncounted)
    return lambda now: tell(max(0, of - len(now.uncounted)), of)


def all_counted(
    store: Store,
    plan: Plan,
    stock: Stock,
    again: Callable[[], Stock],
    look: Callable[[Stock], None],
) -> Stock:
    """Count all that is not counted yet; ``again`` gives the stock anew, ``look`` sees each."""
    before: tuple[int, ...] = ()
    while stock.uncounted and stock.uncounted != before:
        before = stock.uncounted
        count_more(store, plan, stock, _PORTION)
        stock = again()
        look(stock)
    return stock


def _stock(store: Store, quilt: Quilt, own: Sequence[QuiltPiece]) -> Stock:
    plan, usable = quilt.plan, usable_fabrics(store)
    if not len(usable.numbers):
        return Stock((), (), (), ())
    given = what_scraps_give(store, template_of(plan), cut_rule(plan), at_once=0)
    fabrics = _Fabrics(store, plan, usable)
    held = held_on_scraps(store, but=quilt.name, also=(quilt, own))
    supplies, roof, uncounted, unused = [], [], [], []
    for at in range(len(usable.numbers)):
        row = int(fabrics.row_of[at])
        why, text = fabrics.refused(row, at)
        if why or not given.fits[at]:
            why = why or "small"
            unused.append(fabrics.unused(row, at, why, text or "belongs, but no piece fits on it"))
            continue
        number, pieces = int(usable.numbers[at]), int(given.pieces[at])
        one = fabrics.supply(row, at, pieces)
        if number in held:
            left = left_on(store, plan, store.scrap(number), held[number].pieces)
            names = held[number].words
            taken = max(0, pieces - left)
            some = [replace(one, pieces=left)] if left else []
            some += [replace(one, pieces=taken, held_by=names)] if taken else []
            supplies += some
            roof += some
            continue
        supplies.append(one)
        if given.counted[at] or plan.limit == 1:
            roof.append(one)
        else:
            roof.append(replace(one, pieces=int(given.most[at])))
            uncounted.append(number)
    order = {number: place for place, number in enumerate(given.uncounted)}
    uncounted.sort(key=lambda number: order[number])
    one_way = one_way_scraps(store)
    return Stock(tuple(supplies), tuple(roof), tuple(uncounted), tuple(unused), one_way)


class _Fabrics:
    """What holds of every fabric for one plan, in their order; worked out once."""

    def __init__(self, store: Store, plan: Plan, usable: UsableFabrics) -> None:
        self.plan, self.usable = plan, usable
        self.looks = looks_of_fabrics(store)
        self.numbers = [int(one) for one in usable.table.fabric]
        self.row_of = np.searchsorted(usable.starts, np.arange(len(usable.numbers)), "right") - 1
        self.surely = frozenset(plan.surely)
        palette = palette_named(store, plan.palette) if plan.palette else None
        self.judged = judged_by(store, palette) if palette else None
        self.grade = self.judged.grade.tolist() if self.judged else [0] * len(self.numbers)
        self.families = families_of_fabrics(store)
        dark, light = value_limits()
        self.values = [
            "light" if at >= light else "dark" if at < dark else "medium"
            for at in usable.table.lightness.tolist()
        ]
        self.amounts = amount_of(palette, self.looks) if palette else [""] * len(self.numbers)

    def refused(self, row: int, at: int) -> tuple[str, str]:
        """Say why a scrap is not taken, in a word and in words; nothing where it is."""
        wish = self._against_a_wish(row, at)
        if wish:
            return "wish", wish
        if self.numbers[row] in self.surely or self.grade[row] == 0:
            return "", ""
        if self.grade[row] == 1:
            return ("", "") if self.plan.borderline else ("borderline", self._reasons(row))
        return "clash", self._reasons(row)

    def _against_a_wish(self, row: int, at: int) -> str:
        plan = self.plan
        kind, value, place = self.looks[row].kind.value, self.values[row], self.usable.places[at]
        if self.numbers[row] in plan.never:
            return "never in this quilt, as wished"
        for allowed, is_, words in (
            (plan.kinds, kind, "kind"),
            (plan.tones, value, "value"),
            (plan.bins, place, "bin"),
        ):
            if allowed and is_ not in allowed:
                return f"its {words} is {is_ or 'none'}, wished is {' or '.join(allowed)}"
        return ""

    def _reasons(self, row: int) -> str:
        if self.judged is None:
            return ""
        [verdict] = self.judged.verdicts(np.array([row]))
        return "; ".join(one.text for one in verdict.reasons if one.moves)

    def supply(self, row: int, at: int, pieces: int) -> Supply:
        """Give what one scrap offers the plan."""
        area = float(self.usable.areas[at])
        reluctance = _RELUCTANCE if self.grade[row] else 0.0
        if self.plan.scraps_first and area >= _YARDAGE_SQ_IN:
            reluctance = max(reluctance, _YARDAGE_RELUCTANCE)
        return Supply(
            int(self.usable.numbers[at]),
            self.numbers[row],
            pieces,
            area,
            self.looks[row].reads_as,
            family=self.families[row],
            value=self.values[row],
            amount=self.amounts[row],
            reluctance=0.0 if self.numbers[row] in self.surely else reluctance,
        )

    def unused(self, row: int, at: int, why: str, text: str) -> Unused:
        """Give one scrap that the plan leaves out, and why."""
        look = self.looks[row]
        number, fabric = int(self.usable.numbers[at]), self.numbers[row]
        return Unused(
            number, fabric, self.families[row], self.values[row], look.reads_as, why, text
        )


def to_look_at_twice(supply: Supply) -> bool:
    """Whether a scrap is put up with for its colour, not only because it is yardage."""
    return supply.reluctance >= _RELUCTANCE


def looks_of_fabrics(store: AskedStore) -> list[Appearance]:
    """Give the looks of every fabric, those of its largest scrap, in their order."""

    def made() -> list[Appearance]:
        scraps = [scrap for scrap in store.scraps() if scrap.state is not ScrapState.CUT_UP]
        return [one.appearance for one in fabric_colours(scraps)]

    return store.derived("looks of fabrics", made)


def families_of_fabrics(store: AskedStore) -> list[str]:
    """Give the colour family every fabric is sorted under, in their order."""

    def made() -> list[str]:
        means = np.array([look.reads_as for look in looks_of_fabrics(store)]).reshape(-1, 3)
        return families_of_table(usable_fabrics(store).table, means) if len(means) else []

    return store.derived("families of fabrics", made)


def left_on(store: Store, plan: Plan, scrap: Scrap, taken: Sequence[Ring]) -> int:
    """Count the pieces a scrap gives beside those that other quilts hold on it."""
    template, rule = template_of(plan), cut_rule(plan)
    free_sq_in = scrap.outline.area_sq_in - sum(Outline(ring).area_sq_in for ring in taken)
    if free_sq_in < float(template.cut_polygon().area):
        return 0
    word = hashlib.sha256(repr(taken).encode()).hexdigest()[:12]
    key = SizeKey(f"beside-{word}:{count_key(template, rule).family}", rule.word())
    known = kept_sizes(store, key, rule).get(scrap.number)
    if known is None:
        known = float(sum(count for _, count in parts_left(store, plan, scrap, taken)))
        keep_sizes(store, key, rule, {scrap.number: known})
    return int(known)


def parts_left(
    store: Store, plan: Plan, scrap: Scrap, taken: Sequence[Ring]
) -> list[tuple[Outline, int]]:
    """Give what is left of a scrap beside pieces that other quilts hold, and what it gives."""
    template, rule = template_of(plan), cut_rule(plan)
    one_way = scrap.number in one_way_scraps(store)
    turning = rule.turning(scrap, one_way=one_way)
    parts = remainders(scrap.outline, taken, least_in=LEAST_IN)
    usable = [usable_outline(replace(scrap, outline=part), rule) for part in parts]
    counts = [fill(outline, template, turning=turning).pieces for outline in usable]
    return [(part, count) for part, count in zip(parts, counts, strict=True) if count]


def cut_rule(plan: Plan) -> CutRule:
    """Give the plan's rule of cutting."""
    return CutRule(plan.seam_allowance_in, plan.grain_tolerance_deg, plan.shrink_share)


def growth_on(scrap: Scrap, plan: Plan) -> float:
    """Give how much larger a piece is cut on this scrap because it is not washed yet."""
    return 1.0 if scrap.washed else 1.0 / (1.0 - plan.shrink_share)


def placements_on(
    scrap: Scrap, plan: Plan, pieces: int, *, one_way: bool, part: Outline | None = None
) -> tuple[Placement, ...]:
    """Lay so many pieces on a scrap, or on a part of it, in the inches of its washed outline.

    They lie so that what is left gives the most further pieces; squares, rectangles, plaids and
    stripes lie on the grain where turns are free.
    """
    template, rule = template_of(plan), cut_rule(plan)
    turning = rule.turning(scrap, one_way=one_way)
    on_grain = template.family in _ON_GRAIN or scrap.appearance.kind in _WOVEN
    grain = grain_of(scrap)
    table = TableRule(
        template,
        turning,
        grain_deg=grain.deg if on_grain else None,
        grain_known=grain.sure,
    )
    cloth = scrap if part is None else replace(scrap, outline=part)
    return lay_to_keep(usable_outline(cloth, rule), table, pieces)


def stripe_placements(
    scrap: Scrap, plan: Plan, *, one_way: bool
) -> tuple[Placement | None, Placement | None]:
    """Lay one piece with the stripes along its upright axis, and one with them across."""
    direction = scrap.appearance.direction_deg
    if direction is None:
        return None, None
    template, rule = template_of(plan), cut_rule(plan)
    given = rule.turning(scrap, one_way=one_way)
    outline = usable_outline(scrap, rule)
    within_deg = _STRIPE_TOLERANCE_DEG
    found: list[Placement | None] = []
    for steps in ((90, 270), (0, 180)):  # the template's x axis across the stripes, or along
        turns = [one for one in steps if given.allows(direction + one, slack_deg=within_deg)]
        if not turns:
            found.append(None)
            continue
        turning = Turning.grain(direction, _STRIPE_TOLERANCE_DEG, turns)
        laid = lay_to_keep(outline, TableRule(template, turning), 1)
        turned = _turned_as_asked(laid[0], template, turning) if laid else None
        found.append(turned if turned and given.allows(turned.angle_deg) else None)
    return found[0], found[1]


def _turned_as_asked(laid: Placement, template: Template, turning: Turning) -> Placement | None:
    """Give the same cut under the turn asked for.

    A square cut at 90 degrees is one cut at none, but its stripes run the other way.
    """
    period = template.rotation_period_deg
    turns = (laid.angle_deg + k * period for k in range(round(360 / period)))
    angle = next((turn % 360 for turn in turns if turning.allows(turn)), None)
    return None if angle is None else Placement(laid.x, laid.y, angle, laid.turned_over)
