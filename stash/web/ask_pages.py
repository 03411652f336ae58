"""Questions to the stash: do I own this, how many of each colour, what can stand in."""

from __future__ import annotations

from collections.abc import Sequence

from starlette.requests import Request
from starlette.responses import Response

from stash.colour.colour_name import colour_name
from stash.colour.naming import FAMILIES
from stash.colour.spaces import hex_of_lab
from stash.errors import NotFoundError, PhotoError
from stash.usecases.add_photo import cards_to_use
from stash.usecases.goes_with import chosen_fabrics, goes_with
from stash.usecases.manage_palettes import PaletteRequest
from stash.usecases.neighbours import Tally, range_words, substitutes, tally
from stash.usecases.own_cloth import OwnCloth, own_cloth
from stash.usecases.twins import review
from stash.web.desk import Desk, Page
from stash.web.forms import Form
from stash.web.pairing import new_session
from stash.web.palette_pages import patches_of
from stash.web.pictures import picture_response
from stash.web.tiles import tiles_by_fabric

__all__ = ["PAGES"]

_VALUES = ("dark", "medium", "light")
_MOST_CHOSEN, _SHOWN = 40, 24


def _ask(desk: Desk, request: Request) -> Response:
    return desk.page(request, "own.html", {"asked": False, **_cards(desk)})


def _own(desk: Desk, request: Request, form: Form) -> Response:
    if not form.files:
        raise PhotoError("No photo came. Choose one of the cloth beside the card.")
    cards = cards_to_use(desk.store, form.text("card") or None)
    with desk.measuring:
        photo = form.files[0]
        found = own_cloth(desk.store, photo.read(), file_name=photo.label, cards=cards)
    tiles = tiles_by_fabric(desk.views())
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
        for one, address in zip(found, _on_the_shelf(desk, found), strict=True)
    ]
    return desk.page(request, "own.html", {"asked": True, "cloths": cloths, **_cards(desk)})


def _cards(desk: Desk) -> dict[str, object]:
    return {"cards": [one.name for one in reversed(desk.store.documents("card"))]}


def _on_the_shelf(desk: Desk, cloths: Sequence[OwnCloth]) -> list[str]:
    """Lay the pictures of cloth that is not kept where the page can fetch them for a while."""
    word = new_session()
    for index, cloth in enumerate(cloths):
        desk.shelf.put(f"asked {word} {index}", cloth.picture_jpeg)
    return [f"/own/{word}/{index}.jpg" for index in range(len(cloths))]


def _asked_picture(desk: Desk, request: Request) -> Response:
    word, number = request.path_params["word"], request.path_params["number"]
    held = desk.shelf.get(f"asked {word} {number}")
    if held is None:
        raise NotFoundError("picture", number)
    return picture_response(held, keep=False)


def _tally(desk: Desk, request: Request) -> Response:
    found = tally(desk.store)
    values = {
        "rows": [
            (family, _cells(found, family), _sum([one for one in found if one.family == family]))
            for family in _families(found)
        ],
        "values": _VALUES,
        "totals": [_sum([one for one in found if one.value == value]) for value in _VALUES],
        "total": _sum(found),
        "held": review(desk.store).count,
        "fills": {(one.family, one.value): hex_of_lab(one.lab) for one in found},
        "most": max((one.fabrics for one in found), default=0),
    }
    return desk.page(request, "tally.html", values)


def _families(found: Sequence[Tally]) -> list[str]:
    there = {one.family for one in found}
    return [family for family in FAMILIES if family in there]


def _cells(found: Sequence[Tally], family: str) -> list[Tally | None]:
    counts = {one.value: one for one in found if one.family == family}
    return [counts.get(value) for value in _VALUES]


def _sum(some: Sequence[Tally]) -> str:
    return range_words(sum(one.count.least for one in some), sum(one.count.most for one in some))


def _stand_ins(desk: Desk, request: Request) -> Response:
    scrap = desk.store.scrap(request.path_params["number"])
    tiles = tiles_by_fabric(desk.views())
    found = substitutes(desk.store, scrap.fabric)
    values = {
        "scrap": scrap,
        "tile": tiles[scrap.fabric],
        "found": [(one, tiles[one.fabric]) for one in found if one.fabric in tiles],
    }
    return desk.page(request, "stand_ins.html", values)


def _goes_with(desk: Desk, request: Request) -> Response:
    texts = request.query_params.getlist("scrap")[:_MOST_CHOSEN]
    scraps = tuple(int(one) for one in texts if one.isdecimal() and len(one) < 10)
    asked = PaletteRequest(name="chosen", scraps=tuple(dict.fromkeys(scraps)))
    found = goes_with(desk.store, asked)
    tiles = tiles_by_fabric(desk.views())
    echoing = found.echoing()
    values = {
        "chosen": [tiles[one] for one in chosen_fabrics(desk.store, asked) if one in tiles],
        "also": "&".join(f"scrap={number}" for number in asked.scraps),
        "patches": patches_of(found.palette),
        "found": [(tiles[one], part) for one, part in echoing[:_SHOWN] if one in tiles],
        "more": max(0, len(echoing) - _SHOWN),
        "wanting": [
            (one, [tiles[number] for number in one.fabrics if number in tiles])
            for one in found.wanting
        ],
    }
    return desk.page(request, "goes_with.html", values)


PAGES = (
    Page("/own", look=_ask, send=_own, photos=True),
    Page("/own/{word}/{number:number}.jpg", look=_asked_picture),
    Page("/goes-with", look=_goes_with),
    Page("/tally", look=_tally),
    Page("/scrap/{number:number}/stand-ins", look=_stand_ins),
)
