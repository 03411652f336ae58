"""Questions to the stash: do I own this, how many of each colour, what can stand in."""

from __future__ import annotations

from collections.abc import Sequence

from starlette.requests import Request
from starlette.responses import Response

from stash.colour.colour_name import colour_name
from stash.colour.naming import FAMILIES
from stash.colour.spaces import hex_of_lab
from stash.errors import NotFoundError, PhotoError
from stash.usecases.palettes.goes_with import chosen_fabrics, goes_with
from stash.usecases.palettes.manage_palettes import PaletteRequest
from stash.usecases.photos.add_photo import cards_to_use
from stash.usecases.photos.own_cloth import OwnCloth, own_cloth
from stash.usecases.quilts.neighbours import Tally, range_words, substitutes, tally
from stash.usecases.twins.one_cloth_questions import review
from stash.web.door.forms import Form
from stash.web.door.pairing import new_session
from stash.web.page_tools import Page, PageTools
from stash.web.shown.tiles import tiles_by_fabric
from stash.web.views.palette_pages import patches_of
from stash.web.views.pictures import picture_response

__all__ = ["PAGES"]

_VALUES = ("dark", "medium", "light")
_MOST_CHOSEN, _SHOWN = 40, 24


def _ask(tools: PageTools, request: Request) -> Response:
    return tools.page(request, "own.html", {"asked": False, **_cards(tools)})


def _own(tools: PageTools, request: Request, form: Form) -> Response:
    if not form.files:
        raise PhotoError("No photo came. Choose one of the cloth beside the card.")
    cards = cards_to_use(tools.store, form.text("card") or None)
    with tools.measuring:
        photo = form.files[0]
        found = own_cloth(tools.store, photo.read(), file_name=photo.label, cards=cards)
    tiles = tiles_by_fabric(tools.views())
    cloths = [
        {
            "name": colour_name(one.answer.appearance.reads_as),
            "picture": address,
            "owned": one.answer.owned,
            "alike": [
                (tiles[two.fabric], two.likeness)
                for two in one.answer.worth_a_look
                if two.fabric in tiles
            ],
        }
        for one, address in zip(found, _on_the_shelf(tools, found), strict=True)
    ]
    return tools.page(request, "own.html", {"asked": True, "cloths": cloths, **_cards(tools)})


def _cards(tools: PageTools) -> dict[str, object]:
    return {"cards": [one.name for one in reversed(tools.store.documents("card"))]}


def _on_the_shelf(tools: PageTools, cloths: Sequence[OwnCloth]) -> list[str]:
    """Lay the pictures of cloth that is not kept where the page can fetch them for a while."""
    word = new_session()
    for index, cloth in enumerate(cloths):
        tools.shelf.put(f"asked {word} {index}", cloth.picture_jpeg)
    return [f"/own/{word}/{index}.jpg" for index in range(len(cloths))]


def _asked_picture(tools: PageTools, request: Request) -> Response:
    word, number = request.path_params["word"], request.path_params["number"]
    held = tools.shelf.get(f"asked {word} {number}")
    if held is None:
        raise NotFoundError("picture", number)
    return picture_response(held, keep=False)


def _tally(tools: PageTools, request: Request) -> Response:
    found = tally(tools.store)
    values = {
        "rows": [
            (family, _cells(found, family), _sum([one for one in found if one.family == family]))
            for family in _families(found)
        ],
        "values": _VALUES,
        "totals": [_sum([one for one in found if one.value == value]) for value in _VALUES],
        "total": _sum(found),
        "held": review(tools.store).count,
        "fills": {(one.family, one.value): hex_of_lab(one.lab) for one in found},
        "most": max((one.fabrics for one in found), default=0),
    }
    return tools.page(request, "tally.html", values)


def _families(found: Sequence[Tally]) -> list[str]:
    there = {one.family for one in found}
    return [family for family in FAMILIES if family in there]


def _cells(found: Sequence[Tally], family: str) -> list[Tally | None]:
    counts = {one.value: one for one in found if one.family == family}
    return [counts.get(value) for value in _VALUES]


def _sum(some: Sequence[Tally]) -> str:
    return range_words(sum(one.count.least for one in some), sum(one.count.most for one in some))


def _stand_ins(tools: PageTools, request: Request) -> Response:
    scrap = tools.store.scrap(request.path_params["number"])
    tiles = tiles_by_fabric(tools.views())
    found = substitutes(tools.store, scrap.fabric)
    values = {
        "scrap": scrap,
        "tile": tiles[scrap.fabric],
        "found": [(one, tiles[one.fabric]) for one in found if one.fabric in tiles],
    }
    return tools.page(request, "stand_ins.html", values)


def _goes_with(tools: PageTools, request: Request) -> Response:
    texts = request.query_params.getlist("scrap")[:_MOST_CHOSEN]
    scraps = tuple(int(one) for one in texts if one.isdecimal() and len(one) < 10)
    asked = PaletteRequest(name="chosen", scraps=tuple(dict.fromkeys(scraps)))
    found = goes_with(tools.store, asked)
    tiles = tiles_by_fabric(tools.views())
    echoing = found.echoing()
    values = {
        "chosen": [tiles[one] for one in chosen_fabrics(tools.store, asked) if one in tiles],
        "also": "&".join(f"scrap={number}" for number in asked.scraps),
        "patches": patches_of(found.palette),
        "found": [(tiles[one], part) for one, part in echoing[:_SHOWN] if one in tiles],
        "more": max(0, len(echoing) - _SHOWN),
        "wanting": [
            (one, [tiles[number] for number in one.fabrics if number in tiles])
            for one in found.wanting
        ],
    }
    return tools.page(request, "goes_with.html", values)


PAGES = (
    Page("/own", look=_ask, send=_own, photos=True),
    Page("/own/{word}/{number:number}.jpg", look=_asked_picture),
    Page("/goes-with", look=_goes_with),
    Page("/tally", look=_tally),
    Page("/scrap/{number:number}/stand-ins", look=_stand_ins),
)
