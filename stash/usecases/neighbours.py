"""Useful neighbours: what can stand in for a fabric, what a scrap could join, what is short."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from stash.colour.difference import colour_difference
from stash.colour.naming import FAMILIES, families_of, family_of, value_limits, value_word
from stash.colour.palette import Palette
from stash.errors import NotFoundError
from stash.quilt.plan import Quilt
from stash.scrap import Scrap, ScrapState
from stash.shape.piece_fit import find_placement
from stash.usecases.manage_palettes import palette_named, palettes
from stash.usecases.match_palette import fabric_colours, verdicts
from stash.usecases.piece_counts import one_way_scraps, usable_outline
from stash.usecases.plan_quilt import quilts, template_of
from stash.usecases.ports import Store
from stash.usecases.quilt_stock import cut_rule

__all__ = ["PlaceForScrap", "Substitute", "Tally", "could_join", "substitutes", "tally"]


@dataclass(frozen=True, slots=True)
class Substitute:
    """A fabric that can stand in; ``difference`` is CIEDE2000 with lightness counted whole."""

    fabric: int
    difference: float
    same_value: bool


@dataclass(frozen=True, slots=True)
class PlaceForScrap:
    """A palette or a quilt (``kind``), its verdict on a scrap, and whether a piece fits on it."""

    kind: str
    name: str
    verdict: str
    fits: bool


@dataclass(frozen=True, slots=True)
class Tally:
    """How many fabrics of a family and value there are."""

    family: str
    value: str
    fabrics: int


def substitutes(store: Store, fabric: int, *, most: int = 8) -> tuple[Substitute, ...]:
    """Rank the fabrics of the same colour family that could stand in for one that ran out.

    Value comes before hue in a quilt, so those of the same value stand first.
    """
    colours = {one.fabric: one.appearance for one in fabric_colours(_whole(store))}
    wanted = colours.get(fabric)
    if wanted is None:
        wanted = store.scrap(_any_scrap(store, fabric)).appearance
    others = {number: look for number, look in colours.items() if number != fabric}
    lightnesses = [look.reads_as[0] for look in colours.values()]
    family, value = family_of(wanted.reads_as), value_word(wanted.reads_as[0], lightnesses)
    found = [
        Substitute(
            number,
            float(colour_difference(wanted.reads_as, [look.reads_as])[0]),
            value_word(look.reads_as[0], lightnesses) == value,
        )
        for number, look in others.items()
        if family.family in (family_of(look.reads_as).family, family_of(look.reads_as).alternative)
    ]
    ranked = sorted(found, key=lambda one: (not one.same_value, one.difference))
    return tuple(ranked[:most])


def could_join(store: Store, scrap: Scrap) -> tuple[PlaceForScrap, ...]:
    """Say which palettes and quilts could use a scrap, the best first."""
    found = [_in_palette(store, scrap, palette) for palette in palettes(store)]
    found += [_in_quilt(store, scrap, quilt) for quilt in quilts(store)]
    order = ("belongs", "borderline", "clashes")
    ranked = sorted(found, key=lambda one: (not one.fits, order.index(one.verdict)))
    return tuple(ranked)


def _in_palette(store: Store, scrap: Scrap, palette: Palette) -> PlaceForScrap:
    verdict = next(
        one.verdict for one in verdicts(_with(store, scrap), palette) if one.fabric == scrap.fabric
    )
    return PlaceForScrap("palette", palette.name, str(verdict), fits=True)


def _in_quilt(store: Store, scrap: Scrap, quilt: Quilt) -> PlaceForScrap:
    verdict = "belongs"
    if quilt.plan.palette:
        palette = palette_named(store, quilt.plan.palette)
        verdict = _in_palette(store, scrap, palette).verdict
    rule = cut_rule(quilt.plan)
    turning = rule.turning(
        scrap, quilt.plan.template, one_way=scrap.number in one_way_scraps(store)
    )
    answer = find_placement(usable_outline(scrap, rule), template_of(quilt.plan), turning=turning)
    return PlaceForScrap("quilt", quilt.name, verdict, fits=answer.fits == "yes")


def _with(store: Store, scrap: Scrap) -> list[Scrap]:
    whole = _whole(store)
    return whole if scrap.state is not ScrapState.CUT_UP else [*whole, scrap]


def tally(store: Store) -> tuple[Tally, ...]:
    """Count the fabrics of every family and value in the stash."""
    looks = [one.appearance for one in fabric_colours(_whole(store))]
    if not looks:
        return ()
    lightnesses = [look.reads_as[0] for look in looks]
    dark, light = value_limits(lightnesses)
    families = families_of([look.reads_as for look in looks]).first.tolist()
    values = ["light" if at >= light else "dark" if at < dark else "medium" for at in lightnesses]
    counts = Counter(
        (FAMILIES[family], value) for family, value in zip(families, values, strict=True)
    )
    return tuple(Tally(*key, count) for key, count in sorted(counts.items()))


def _whole(store: Store) -> list[Scrap]:
    return [scrap for scrap in store.scraps() if scrap.state is not ScrapState.CUT_UP]


def _any_scrap(store: Store, fabric: int) -> int:
    for scrap in store.scraps():
        if scrap.fabric == fabric:
            return scrap.number
    raise NotFoundError("fabric", fabric, hint="See them all with: stash fabrics")
