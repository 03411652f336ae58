"""What the stash gives to one quilt: which scraps yield a piece, and why others do not."""

from __future__ import annotations

import hashlib
import math
from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stash.colour.appearance import PrintKind
from stash.colour.cloth_family import cloth_families
from stash.colour.naming import value_word
from stash.colour.verdict import FabricVerdict, Verdict
from stash.quilt.amounts import amount_of
from stash.quilt.keeping import TableRule, lay_to_keep
from stash.quilt.plan import Plan, Quilt
from stash.quilt.supply import Supply
from stash.scrap import Scrap, ScrapState
from stash.shape.nesting import Effort, fill
from stash.shape.piece_fit import Placement, find_placements
from stash.shape.template import Template
from stash.shape.turning import Turning
from stash.usecases.grain import grain_of
from stash.usecases.manage_palettes import palette_named
from stash.usecases.match_palette import verdicts
from stash.usecases.piece_counts import (
    CutRule,
    keep_sizes,
    kept_sizes,
    one_way_scraps,
    usable_outline,
)
from stash.usecases.plan_quilt import held_scraps, template_of
from stash.usecases.ports import SizeKey, Store

__all__ = [
    "Stock",
    "Unused",
    "cut_rule",
    "growth_on",
    "placements_on",
    "stock_of",
    "stripe_placements",
]

# A third of the usual search finds 98 of 100 pieces, rows and lattices alone 90.
_QUICK = Effort(steps=12)
_STRIPE_TOLERANCE_DEG = 2.0  # stripes more askew than this look like a mistake (judgement)
_ON_GRAIN = ("square", "rectangle")
_WOVEN = (PrintKind.PLAID, PrintKind.STRIPE)
_RELUCTANCE = 10_000.0  # square inches: a borderline fabric only when nothing else will do


@dataclass(frozen=True, slots=True)
class Unused:
    """A scrap that does not come into the quilt, with the reason in a few words."""

    scrap: Scrap
    family: str
    value: str
    why: str
    text: str


@dataclass(frozen=True)
class Stock:
    """What there is for a quilt.

    Attributes
    ----------
    supplies : tuple of Supply
        Scraps that give pieces, held ones marked.
    scraps : mapping
        All scraps looked at, by number.
    unused : tuple of Unused
        ``small`` (belongs but no piece fits), ``clash`` or ``borderline``.
    one_way : frozenset of int
        Numbers of the scraps whose print has an up and a down.
    """

    supplies: tuple[Supply, ...]
    scraps: Mapping[int, Scrap]
    unused: tuple[Unused, ...]
    one_way: frozenset[int] = frozenset()

    @property
    def free(self) -> tuple[Supply, ...]:
        """Supplies no other quilt holds."""
        return tuple(supply for supply in self.supplies if not supply.held_by)


def stock_of(store: Store, quilt: Quilt) -> Stock:
    """Say what the stash gives to a quilt; scraps it holds itself count as free."""
    plan = quilt.plan
    scraps = [scrap for scrap in store.scraps() if scrap.state is not ScrapState.CUT_UP]
    judged = _verdicts(store, plan, scraps)
    welcome = [scrap for scrap in scraps if _is_welcome(plan, judged.get(scrap.fabric))]
    one_way = one_way_scraps(store)
    counts = _piece_counts(store, plan, welcome, one_way)
    held = held_scraps(store, but=quilt.name)
    amounts = _amounts(store, plan, welcome)
    families, values = _families(scraps), _values(scraps)
    supplies = tuple(
        Supply(
            scrap.number,
            scrap.fabric,
            counts[scrap.number],
            scrap.outline.area_sq_in,
            scrap.appearance.reads_as,
            family=families[scrap.number],
            value=values[scrap.number],
            amount=amounts.get(scrap.number, ""),
            reluctance=_reluctance(judged.get(scrap.fabric)),
            held_by=held.get(scrap.number, ""),
        )
        for scrap in welcome
        if scrap.number in counts
    )
    used = {supply.scrap for supply in supplies}
    unused = tuple(
        _unused(scrap, families[scrap.number], values[scrap.number], plan, judged)
        for scrap in scraps
        if scrap.number not in used
    )
    return Stock(supplies, {scrap.number: scrap for scrap in scraps}, unused, one_way)


def cut_rule(plan: Plan) -> CutRule:
    """Give the plan's rule of cutting."""
    return CutRule(plan.seam_allowance_in, plan.grain_tolerance_deg, plan.shrink_share)


def growth_on(scrap: Scrap, plan: Plan) -> float:
    """Give how much larger a piece is cut on this scrap because it is not washed yet."""
    return 1.0 if scrap.washed else 1.0 / (1.0 - plan.shrink_share)


def placements_on(scrap: Scrap, plan: Plan, pieces: int, *, one_way: bool) -> tuple[Placement, ...]:
    """Lay so many pieces on a scrap, in the inches of its washed outline.

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
    return lay_to_keep(usable_outline(scrap, rule), table, pieces)


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


def _verdicts(store: Store, plan: Plan, scraps: Sequence[Scrap]) -> dict[int, FabricVerdict]:
    if not plan.palette:
        return {}
    found = verdicts(scraps, palette_named(store, plan.palette))
    return {verdict.fabric: verdict for verdict in found}


def _is_welcome(plan: Plan, verdict: FabricVerdict | None) -> bool:
    if verdict is None or verdict.verdict is Verdict.BELONGS:
        return True
    return plan.borderline and verdict.verdict is Verdict.BORDERLINE


def _reluctance(verdict: FabricVerdict | None) -> float:
    if verdict is None or verdict.verdict is Verdict.BELONGS:
        return 0.0
    return _RELUCTANCE


def _piece_counts(
    store: Store, plan: Plan, scraps: Sequence[Scrap], one_way: frozenset[int]
) -> Mapping[int, int]:
    """Count the pieces each scrap gives; under the charm rule one is as good as many."""
    template, rule = template_of(plan), cut_rule(plan)
    answers = find_placements(
        [usable_outline(scrap, rule) for scrap in scraps],
        template,
        turnings=[rule.turning(scrap, one_way=scrap.number in one_way) for scrap in scraps],
    )
    fits = [scrap for scrap, one in zip(scraps, answers, strict=True) if one.placement]
    counts = dict.fromkeys((scrap.number for scrap in fits), 1)
    if plan.limit != 1:
        two = 2 * float(template.cut_polygon().area)
        large = [scrap for scrap in fits if scrap.outline.area_sq_in >= two]
        counts.update(_quick_counts(store, large, template, rule))
    return counts


def _quick_counts(
    store: Store, scraps: Sequence[Scrap], template: Template, rule: CutRule
) -> dict[int, int]:
    """Count pieces with a short search; kept, since a plan is asked about many times.

    The long search for one more piece belongs to the single scrap on the cutting table.
    """
    shape = hashlib.sha256(repr(template.cut).encode()).hexdigest()[:16]
    key = SizeKey(f"pieces-{_QUICK.steps}:{template.family}:{shape}", rule.word())
    known, one_way = kept_sizes(store, key, rule), one_way_scraps(store)
    fresh: dict[int, float] = {}
    for scrap in scraps:
        if scrap.number not in known:
            turning = rule.turning(scrap, one_way=scrap.number in one_way)
            outline = usable_outline(scrap, rule)
            layout = fill(outline, template, turning=turning, effort=_QUICK)
            fresh[scrap.number] = float(max(1, layout.pieces))
    if fresh:
        keep_sizes(store, key, rule, fresh)
    known.update(fresh)
    return {scrap.number: int(known[scrap.number]) for scrap in scraps}


def _amounts(store: Store, plan: Plan, scraps: Sequence[Scrap]) -> dict[int, str]:
    if not plan.palette:
        return {}
    palette = palette_named(store, plan.palette)
    names = amount_of(palette, [scrap.appearance for scrap in scraps])
    return {scrap.number: name for scrap, name in zip(scraps, names, strict=True)}


def _families(scraps: Sequence[Scrap]) -> dict[int, str]:
    families = cloth_families([scrap.appearance for scrap in scraps])
    return {scrap.number: family for scrap, family in zip(scraps, families, strict=True)}


def _values(scraps: Sequence[Scrap]) -> dict[int, str]:
    """Give each scrap's value among all; words rise with lightness, so two borders tell all."""
    lights = sorted(scrap.appearance.reads_as[0] for scrap in scraps)
    rank = {"dark": 0, "medium": 1, "light": 2}

    def word_rank(lightness: float) -> int:
        return rank[value_word(lightness, lights)]

    medium, light = (bisect_left(lights, least, key=word_rank) for least in (1, 2))
    borders = [lights[at] if at < len(lights) else math.inf for at in (medium, light)]
    words = ("dark", "medium", "light")
    return {
        scrap.number: words[bisect_right(borders, scrap.appearance.reads_as[0])] for scrap in scraps
    }


def _unused(
    scrap: Scrap, family: str, value: str, plan: Plan, judged: Mapping[int, FabricVerdict]
) -> Unused:
    verdict = judged.get(scrap.fabric)
    if _is_welcome(plan, verdict):
        return Unused(scrap, family, value, "small", "belongs, but no piece fits on it")
    why = "clash" if verdict and verdict.verdict is Verdict.CLASHES else "borderline"
    text = "; ".join(one.text for one in verdict.reasons if one.moves) if verdict else ""
    return Unused(scrap, family, value, why, text)
