"""Useful neighbours: what can stand in for a fabric, what a scrap could join, what is short."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from stash.colour.cloth_family import cloth_families
from stash.colour.fabric_table import FabricColours
from stash.colour.naming import value_limits
from stash.colour.palette import Palette
from stash.colour.spaces import Lab
from stash.colour.substitutes import Substitute, rank_substitutes
from stash.quilt.one_cloth import FabricCount
from stash.quilt.plan import Quilt
from stash.scrap import Scrap, ScrapState
from stash.usecases.matching.match_palette import fabric_colours, verdicts
from stash.usecases.palettes.manage_palettes import palette_named, palettes
from stash.usecases.pieces.what_scraps_give import gives_one
from stash.usecases.ports import Store
from stash.usecases.quilts.plan_quilt import held_on_scraps, quilts, template_of
from stash.usecases.quilts.quilt_stock import cut_rule, left_on
from stash.usecases.twins.one_cloth_questions import count_fabrics
from stash.usecases.twins.same_fabric import no_fabric

__all__ = [
    "PlaceForScrap",
    "Substitute",
    "Tally",
    "could_join",
    "range_words",
    "substitutes",
    "tally",
]


@dataclass(frozen=True, slots=True)
class PlaceForScrap:
    """A palette or a quilt (``kind``), its verdict on a scrap, and whether a piece fits on it.

    Where one would but for what other quilts hold of the scrap, ``held`` says so.
    """

    kind: str
    name: str
    verdict: str
    fits: bool
    held: bool = False


@dataclass(frozen=True, slots=True)
class Tally:
    """How many fabrics of a family and value there are.

    Attributes
    ----------
    family, value : str
        What they share.
    fabrics : int
        How many there are, what may be one cloth once.
    count : FabricCount
        The same with what is not decided.
    lab : Lab
        The reads-as colour of the one of middle lightness, CIELAB, white D65: what stands for
        them in a drawing.
    """

    family: str
    value: str
    fabrics: int
    count: FabricCount
    lab: Lab

    @property
    def range(self) -> str:
        """How many, as it is read: a number, or the least and the most."""
        return range_words(self.count.least, self.count.most)


def range_words(least: int, most: int) -> str:
    """Write a number of fabrics, or its bounds while some may be one cloth."""
    return str(most) if least == most else f"{least} to {most}"


def substitutes(store: Store, fabric: int, *, most: int = 8) -> tuple[Substitute, ...]:
    """Rank the fabrics of the same colour family that could stand in for one that ran out.

    Value comes before hue in a quilt, so those of the same value stand first.
    """
    fabrics = fabric_colours(_whole(store))
    wanted = next((one.appearance for one in fabrics if one.fabric == fabric), None)
    if wanted is None:
        wanted = store.scrap(_any_scrap(store, fabric)).appearance
    others = [one for one in fabrics if one.fabric != fabric]
    return rank_substitutes(wanted, others)[:most]


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
    fits = gives_one(store, template_of(quilt.plan), rule, scrap)
    held = held_on_scraps(store, but=quilt.name).get(scrap.number)
    taken = fits and held is not None and left_on(store, quilt.plan, scrap, held.pieces) == 0
    return PlaceForScrap("quilt", quilt.name, verdict, fits=fits and not taken, held=taken)


def _with(store: Store, scrap: Scrap) -> list[Scrap]:
    whole = _whole(store)
    return whole if scrap.state is not ScrapState.CUT_UP else [*whole, scrap]


def tally(store: Store) -> tuple[Tally, ...]:
    """Count the fabrics of every family and value, what may be one cloth once."""
    fabrics = fabric_colours(_whole(store))
    looks = [one.appearance for one in fabrics]
    if not looks:
        return ()
    lightnesses = [look.reads_as[0] for look in looks]
    dark, light = value_limits()
    values = ["light" if at >= light else "dark" if at < dark else "medium" for at in lightnesses]
    found: dict[tuple[str, str], list[FabricColours]] = defaultdict(list)
    for one, family, value in zip(fabrics, cloth_families(looks), values, strict=True):
        found[family, value].append(one)
    return tuple(_tally_of(store, *key, of_kind) for key, of_kind in sorted(found.items()))


def _tally_of(store: Store, family: str, value: str, fabrics: Sequence[FabricColours]) -> Tally:
    labs = sorted(one.appearance.reads_as for one in fabrics)
    count = count_fabrics(store, [one.fabric for one in fabrics])
    return Tally(family, value, count.least, count, labs[len(labs) // 2])


def _whole(store: Store) -> list[Scrap]:
    return [scrap for scrap in store.scraps() if scrap.state is not ScrapState.CUT_UP]


def _any_scrap(store: Store, fabric: int) -> int:
    for scrap in store.scraps():
        if scrap.fabric == fabric:
            return scrap.number
    raise no_fabric(store, fabric)
