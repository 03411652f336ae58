"""Scraps as the page shows them: a name, a size, colours, and which picture."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from stash.colour.appearance import ColourShare
from stash.scrap import Scrap
from stash.usecases.scraps.review_scraps import ScrapView

__all__ = [
    "Tile",
    "tile_of",
    "tiles_by_fabric",
    "tiles_by_scrap",
    "tiles_of_fabric",
    "tiles_of_photo",
]


@dataclass(frozen=True, slots=True)
class Tile:
    """One scrap to look at.

    Attributes
    ----------
    name : str
        The fabric's name, or what its colour and print are called.
    short_in, long_in : float
        Sides of the least box round it, inches.
    family, value : str
        Of the colour it reads as; value among the whole stash.
    version : str
        Changes when the picture of the scrap does; empty without a picture.
    notes : str
        What is noted on it.
    """

    number: int
    fabric: int
    name: str
    short_in: float
    long_in: float
    place: str
    state: str
    family: str
    value: str
    colours: tuple[ColourShare, ...]
    version: str
    notes: str


def tile_of(view: ScrapView) -> Tile:
    """Give the tile of a scrap."""
    scrap = view.scrap
    return Tile(
        number=scrap.number,
        fabric=scrap.fabric,
        name=view.name,
        short_in=view.short_in,
        long_in=view.long_in,
        place=scrap.place,
        state=view.state,
        family=view.family,
        value=view.value,
        colours=scrap.appearance.colours,
        version=_version(scrap),
        notes=scrap.notes,
    )


def tiles_of_photo(views: Iterable[ScrapView], sha256: str) -> list[Tile]:
    """Give a tile for each scrap of a photo."""
    return [tile_of(view) for view in views if view.scrap.photo == sha256]


def tiles_of_fabric(views: Iterable[ScrapView], fabric: int) -> list[Tile]:
    """Give a tile for each scrap of a fabric."""
    return [tile_of(view) for view in views if view.fabric.number == fabric]


def tiles_by_scrap(views: Iterable[ScrapView]) -> dict[int, Tile]:
    """Give a tile for every scrap, by its number."""
    return {view.scrap.number: tile_of(view) for view in views}


def tiles_by_fabric(views: Iterable[ScrapView]) -> dict[int, Tile]:
    """Give a tile for each fabric: that of its largest scrap."""
    return {view.fabric.number: tile_of(view) for view in _largest(views)}


def _largest(views: Iterable[ScrapView]) -> list[ScrapView]:
    best: dict[int, ScrapView] = {}
    for view in views:
        held = best.get(view.fabric.number)
        area = view.scrap.outline.area_sq_in
        if held is None or area > held.scrap.outline.area_sq_in:
            best[view.fabric.number] = view
    return list(best.values())


def _version(scrap: Scrap) -> str:
    if scrap.picture is None:
        return ""
    return f"{scrap.picture.sha256[:10]}{hash(scrap.outline.points) & 0xFFFFFF:x}"
