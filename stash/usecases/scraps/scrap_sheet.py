"""Scraps or fabrics as a picture: the real cloth under headings, from light to dark."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stash.drawing.contact_sheet import Group, SheetSwatch, draw_contact_sheet
from stash.units import format_size
from stash.usecases.ports import Store
from stash.usecases.scraps.arrange_scraps import arrange, order_words
from stash.usecases.scraps.review_scraps import ScrapView
from stash.usecases.scraps.swatches import swatch_of

__all__ = ["SheetLook", "scrap_sheet"]


@dataclass(frozen=True, slots=True)
class SheetLook:
    """How a sheet looks: its order as in ``arrange``, in grey values or colours, SVG or PNG."""

    sort_by: str = "family"
    values: bool = False
    svg: bool = False


def scrap_sheet(
    store: Store,
    views: Sequence[ScrapView],
    look: SheetLook,
    *,
    counted_as: str = "scrap",
    unit: str = "in",
) -> bytes:
    """Draw scraps in an order of one's choice, PNG or SVG.

    Parameters
    ----------
    views : sequence of ScrapView
        What to show; ``counted_as`` "fabric" takes each for its whole fabric.
    look : SheetLook
        The order, and how it is drawn.
    """
    groups = [
        Group(
            group.heading,
            tuple(_swatch(store, view, counted_as, unit) for view in group.views),
            counted_as,
        )
        for group in arrange(views, look.sort_by)
    ]
    title = f"{counted_as.capitalize()}s, {order_words(look.sort_by)}"
    return draw_contact_sheet(groups, title=title, values=look.values, svg=look.svg)


def _swatch(store: Store, view: ScrapView, counted_as: str, unit: str) -> SheetSwatch:
    scrap = view.scrap
    number = scrap.number if counted_as == "scrap" else view.fabric.number
    size = format_size(view.short_in, view.long_in, unit=unit)
    lines = [size if scrap.washed else f"{size}, unwashed"]
    if scrap.place:
        lines.append(scrap.place if scrap.place.startswith("bin") else f"bin {scrap.place}")
    return swatch_of(store, view, number=number, lines=lines)
