"""Scraps or fabrics as a picture: the real cloth, family by family, from dark to light."""

from __future__ import annotations

from collections.abc import Sequence

from stash.colour.naming import FAMILIES
from stash.drawing.contact_sheet import Group, Swatch, draw_contact_sheet
from stash.units import format_size
from stash.usecases.ports import Store
from stash.usecases.review_scraps import ScrapView
from stash.usecases.swatches import swatch_of

__all__ = ["scrap_sheet"]


def scrap_sheet(
    store: Store,
    views: Sequence[ScrapView],
    *,
    title: str,
    counted_as: str = "scrap",
    unit: str = "in",
    svg: bool = False,
) -> bytes:
    """Draw scraps under their colour families, PNG or SVG.

    Parameters
    ----------
    views : sequence of ScrapView
        What to show; ``counted_as`` "fabric" takes each for its whole fabric.
    title : str
        Head of the sheet.
    """
    groups = []
    for family in FAMILIES:
        members = [view for view in views if view.family == family]
        members.sort(key=lambda view: view.scrap.appearance.reads_as[0])
        swatches = tuple(_swatch(store, view, counted_as, unit) for view in members)
        groups.append(Group(family.capitalize(), swatches, counted_as))
    return draw_contact_sheet(
        [group for group in groups if group.items], title=f"{title}, by colour family", svg=svg
    )


def _swatch(store: Store, view: ScrapView, counted_as: str, unit: str) -> Swatch:
    scrap = view.scrap
    number = scrap.number if counted_as == "scrap" else view.fabric.number
    size = format_size(view.short_in, view.long_in, unit=unit)
    lines = [size if scrap.washed else f"{size}, unwashed"]
    if scrap.place:
        lines.append(scrap.place if scrap.place.startswith("bin") else f"bin {scrap.place}")
    return swatch_of(store, view, number=number, lines=lines)
