"""The stash as a wall of swatches, with what it can be sifted by."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from math import atan2, degrees

from starlette.requests import Request
from starlette.responses import Response

from stash.colour.naming import FAMILIES, NEUTRALS
from stash.colour.spaces import hex_of_lab
from stash.errors import MeasureError
from stash.shape.templates.template import families as shapes
from stash.usecases.pieces.manage_templates import template_of
from stash.usecases.pieces.piece_counts import CutRule
from stash.usecases.pieces.sizes_ahead import sizes_known
from stash.usecases.scraps.correct_scraps import Correction, correct_scraps, name_fabrics
from stash.usecases.scraps.review_scraps import ScrapFilter, ScrapView, sift
from stash.usecases.twins.one_cloth_questions import review
from stash.web.door.forms import Form
from stash.web.page_tools import Page, PageTools, back_to
from stash.web.shown.tiles import tile_of
from stash.web.views.papers import paper_of

__all__ = ["PAGES"]

_A_PAGE = 48  # a screen or two; the next come while they are scrolled to
_SHA256 = re.compile("[0-9a-f]{64}").fullmatch
_VALUES = ("light", "medium", "dark")
_ASKED = ("words", "family", "value", "place", "shape", "size", "grey", "sort", "dense", "choose")
_SORTS = {"": "newest", "hue": "hue", "value": "light to dark", "size": "largest"}
_MOST_CHOSEN = 5000
_LONGEST_WORDS = 200
_LONGEST_NAME = 120


def _wall(tools: PageTools, request: Request) -> Response:
    asked = {name: request.query_params.get(name, "").strip() for name in _ASKED}
    everything = tools.views()
    alike, unknown = _large_enough(tools, sift(everything, _filter(asked)), asked)
    shown = _sorted([v for v in alike if asked["family"] in ("", v.family)], asked["sort"])
    page = _page_number(request, len(shown))
    tiles = [tile_of(view) for view in shown[page * _A_PAGE : (page + 1) * _A_PAGE]]
    values = {
        "tiles": tiles,
        "count": len(shown),
        "unknown": unknown,
        "all_count": len(everything),
        "asked": asked,
        "sifted": any(asked[name] for name in _ASKED[:6] if name != "shape"),
        "families": _families(everything, alike),
        "family_count": len(alike),
        "sorts": _SORTS,
        "page": page,
        "page_count": -(-len(shown) // _A_PAGE),
        "places": sorted({view.scrap.place for view in everything if view.scrap.place}),
    }
    if request.query_params.get("part"):
        part = "wall_tiles.html" if request.query_params["part"] == "tiles" else "wall_part.html"
        return tools.page(request, part, values)
    values |= {
        "fabric_count": review(tools.store).count,
        "values": _VALUES,
        "shapes": shapes(),
        "cards": tools.store.documents("card"),
        "paper": paper_of(request, tools),
    }
    return tools.page(request, "wall.html", values)


def _sorted(views: Sequence[ScrapView], by: str) -> list[ScrapView]:
    keys: dict[str, Callable[[ScrapView], tuple[float, ...]]] = {
        "hue": _hue,
        "value": lambda view: (-view.scrap.appearance.reads_as[0],),
        "size": lambda view: (-view.scrap.outline.area_sq_in,),
    }
    return sorted(views, key=keys.get(by, lambda view: (-view.scrap.number,)))


def _hue(view: ScrapView) -> tuple[float, ...]:
    """Order as round the colour circle, by family first; the greys after all colours."""
    light, a, b = view.scrap.appearance.reads_as
    grey, family = view.family in NEUTRALS, FAMILIES.index(view.family)
    return grey, family, degrees(atan2(b, a)) % 360, -light


def _filter(asked: dict[str, str]) -> ScrapFilter:
    """Sift by all but the family: its chips tell how many there are of each."""
    return ScrapFilter(
        values=tuple(filter(None, [asked["value"]])),
        place=asked["place"],
        text=asked["words"],
    )


def _large_enough(
    tools: PageTools, views: Sequence[ScrapView], asked: dict[str, str]
) -> tuple[Sequence[ScrapView], int]:
    """Keep the scraps that give a piece of the shape and finished size asked for.

    Gives besides how many are not yet worked out; they are begun, and not shown.
    """
    if not asked["size"]:
        return views, 0
    shape = asked["shape"] if asked["shape"] in shapes() else shapes()[0]
    template = template_of(None, shape, size=tools.meant(asked["size"]))
    unknown = tools.sizes.left(tools.store, template, CutRule(), counts=False)
    sizes = sizes_known(tools.store, template, CutRule())
    found = [view for view in views if sizes.get(view.scrap.number, 0.0) >= template.size_in]
    return found, unknown


def _families(
    everything: Sequence[ScrapView], alike: Sequence[ScrapView]
) -> list[tuple[str, str, int]]:
    """Give the families there are, with a colour of the stash to show each by, and how many."""
    found: dict[str, list[ScrapView]] = {}
    for view in everything:
        found.setdefault(view.family, []).append(view)
    counts = Counter(view.family for view in alike)
    return [
        (family, _middle(found[family]), counts[family]) for family in FAMILIES if family in found
    ]


def _middle(views: Sequence[ScrapView]) -> str:
    """Give the colour of the scrap of middle lightness."""
    ordered = sorted(view.scrap.appearance.reads_as for view in views)
    return hex_of_lab(ordered[len(ordered) // 2])


def _page_number(request: Request, count: int) -> int:
    text = request.query_params.get("page", "0")
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 7 else 0
    return min(number, max(0, (count - 1) // _A_PAGE))


def _undo(tools: PageTools, _request: Request, form: Form) -> Response:
    tools.store.undo()
    return back_to(_still_there(tools, form), said="undone")


def _redo(tools: PageTools, _request: Request, form: Form) -> Response:
    tools.store.redo()
    return back_to(_still_there(tools, form), said="redone")


def _still_there(tools: PageTools, form: Form) -> str:
    """Give the photo's page the button stood on, if the photo is still there; else the wall."""
    _, _, sha256 = form.text("here").partition("/photo/")
    return f"/photo/{sha256}" if _SHA256(sha256) and tools.store.photo(sha256) else "/"


def _many(tools: PageTools, _request: Request, form: Form) -> Response:
    """Do one thing to all scraps that were chosen."""
    numbers = [int(one) for one in form.texts("scrap")[:_MOST_CHOSEN] if one.isdecimal()]
    if not numbers:
        raise MeasureError("Choose some scraps first: tap those you mean.")
    what, words = form.text("what"), form.text("words")[:_LONGEST_WORDS]
    if what == "drop":
        tools.store.delete_scraps(numbers, why=f"took {len(numbers)} scraps out")
    elif what == "name":
        name_fabrics(tools.store, numbers, words[:_LONGEST_NAME])
    elif what == "washed":
        correct_scraps(tools.store, numbers, Correction(washed=True))
    else:
        correct_scraps(tools.store, numbers, Correction(place=words))
    return back_to("/", said="gone" if what == "drop" else "placed", **_kept(form))


def _kept(form: Form) -> dict[str, str]:
    """Give what the wall was sifted by, so that it looks the same afterwards."""
    return {name: form.text(f"was_{name}") for name in _ASKED if form.text(f"was_{name}")}


PAGES = (
    Page("/", look=_wall),
    Page("/scraps/many", send=_many),
    Page("/undo", send=_undo),
    Page("/redo", send=_redo),
)
