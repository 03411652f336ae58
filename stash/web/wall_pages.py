"""The stash as a wall of swatches, with what it can be sifted by."""

from __future__ import annotations

import re
from collections.abc import Sequence

from starlette.requests import Request
from starlette.responses import Response

from stash.colour.naming import FAMILIES
from stash.colour.spaces import hex_of_lab
from stash.shape.template import families as shapes
from stash.usecases.manage_templates import template_of
from stash.usecases.piece_counts import CutRule
from stash.usecases.review_scraps import ScrapFilter, ScrapView, sift
from stash.usecases.sizes_ahead import sizes_known
from stash.usecases.twins import review
from stash.web.desk import Desk, Page, back_to
from stash.web.forms import Form
from stash.web.papers import paper_of
from stash.web.tiles import tile_of

__all__ = ["PAGES"]

_A_PAGE = 120
_SHA256 = re.compile("[0-9a-f]{64}").fullmatch
_VALUES = ("light", "medium", "dark")
_ASKED = ("words", "family", "value", "place", "shape", "size", "grey")


def _wall(desk: Desk, request: Request) -> Response:
    asked = {name: request.query_params.get(name, "").strip() for name in _ASKED}
    everything = desk.views()
    shown, unknown = _large_enough(desk, sift(everything, _filter(asked)), asked)
    page = _page_number(request, len(shown))
    values = {
        "tiles": [tile_of(view) for view in shown[page * _A_PAGE : (page + 1) * _A_PAGE]],
        "count": len(shown),
        "unknown": unknown,
        "all_count": len(everything),
        "fabric_count": review(desk.store).count,
        "asked": asked,
        "sifted": any(asked[name] for name in _ASKED if name not in ("grey", "shape")),
        "families": _families(everything),
        "values": _VALUES,
        "places": sorted({view.scrap.place for view in everything if view.scrap.place}),
        "shapes": shapes(),
        "page": page,
        "page_count": -(-len(shown) // _A_PAGE),
        "cards": desk.store.documents("card"),
        "paper": paper_of(request, desk),
    }
    return desk.page(request, "wall.html", values)


def _filter(asked: dict[str, str]) -> ScrapFilter:
    return ScrapFilter(
        families=tuple(filter(None, [asked["family"]])),
        values=tuple(filter(None, [asked["value"]])),
        place=asked["place"],
        text=asked["words"],
    )


def _large_enough(
    desk: Desk, views: Sequence[ScrapView], asked: dict[str, str]
) -> tuple[Sequence[ScrapView], int]:
    """Keep the scraps that give a piece of the shape and finished size asked for.

    Gives besides how many are not yet worked out; they are begun, and not shown.
    """
    if not asked["size"]:
        return views, 0
    shape = asked["shape"] if asked["shape"] in shapes() else shapes()[0]
    template = template_of(None, shape, size=desk.meant(asked["size"]))
    unknown = desk.bench.left(desk.store, template, CutRule(), counts=False)
    sizes = sizes_known(desk.store, template, CutRule())
    found = [view for view in views if sizes.get(view.scrap.number, 0.0) >= template.size_in]
    return found, unknown


def _families(views: Sequence[ScrapView]) -> list[tuple[str, str]]:
    """Give the families there are, each with a colour of the stash to show it by."""
    found: dict[str, list[ScrapView]] = {}
    for view in views:
        found.setdefault(view.family, []).append(view)
    return [(family, _middle(found[family])) for family in FAMILIES if family in found]


def _middle(views: Sequence[ScrapView]) -> str:
    """Give the colour of the scrap of middle lightness."""
    ordered = sorted(view.scrap.appearance.reads_as for view in views)
    return hex_of_lab(ordered[len(ordered) // 2])


def _page_number(request: Request, count: int) -> int:
    text = request.query_params.get("page", "0")
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 7 else 0
    return min(number, max(0, (count - 1) // _A_PAGE))


def _undo(desk: Desk, _request: Request, form: Form) -> Response:
    desk.store.undo()
    return back_to(_still_there(desk, form), said="undone")


def _redo(desk: Desk, _request: Request, form: Form) -> Response:
    desk.store.redo()
    return back_to(_still_there(desk, form), said="redone")


def _still_there(desk: Desk, form: Form) -> str:
    """Give the photo's page the button stood on, if the photo is still there; else the wall."""
    _, _, sha256 = form.text("here").partition("/photo/")
    return f"/photo/{sha256}" if _SHA256(sha256) and desk.store.photo(sha256) else "/"


PAGES = (
    Page("/", look=_wall),
    Page("/undo", send=_undo),
    Page("/redo", send=_redo),
)
