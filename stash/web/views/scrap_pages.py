"""One scrap: its cloth, outline and colours, and what can be put right about it."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stash.colour.colour_name import colour_name
from stash.errors import MeasureError
from stash.scrap import Scrap
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import families
from stash.units import round_down
from stash.usecases.pieces.grain import grain_of
from stash.usecases.pieces.piece_counts import CutRule, largest_sizes
from stash.usecases.quilts.neighbours import could_join
from stash.usecases.scraps.correct_scraps import Correction, correct_scrap
from stash.usecases.scraps.review_scraps import view_scrap
from stash.usecases.twins.answer_twins import Answers, answer_twins
from stash.web.door.forms import Form
from stash.web.page_tools import Page, PageTools, back_to
from stash.web.shown.outline_drawing import OutlineDrawing
from stash.web.shown.tiles import tile_of, tiles_of_fabric
from stash.web.views.corners import corners_of_text, text_of_corners
from stash.web.views.pictures import picture_size_in
from stash.web.views.stale import changed_text, changed_tick, need_unchanged
from stash.web.views.twin_pages import groups_of_scraps

__all__ = ["PAGES"]

_LONGEST_WORDS = 200
_LONGEST_NAME = 120
_LONGEST_NOTES = 4000


def _look(tools: PageTools, request: Request) -> Response:
    number: int = request.path_params["number"]
    view = view_scrap(tools.store, number)
    scrap, grain = view.scrap, grain_of(view.scrap)
    tiles = tiles_of_fabric(tools.views(), scrap.fabric)
    values = {
        "scrap": scrap,
        "fabric": view.fabric,
        "tile": tile_of(view),
        "sisters": [tile for tile in tiles if tile.number != scrap.number],
        "drawing": OutlineDrawing(scrap, tools.settings.unit),
        "corners": text_of_corners(scrap.outline.points, per_unit=tools.per_unit),
        "places": sorted({one.place for one in tools.store.scraps() if one.place}),
        "flat_in": picture_size_in(tools, scrap.picture) if scrap.picture else None,
        "named_colours": [(one, colour_name(one.lab)) for one in scrap.appearance.colours],
        "twins": groups_of_scraps(tools.store, [number]),
        "grain_deg": round(grain.deg) % 180,
        "grain_from": str(grain.told_by),
        "was_grain": _grain_text(scrap),
    }
    return tools.page(request, "scrap.html", values)


def _card(tools: PageTools, request: Request) -> Response:
    """Show the little that is put right most often, to lie over a photo."""
    number: int = request.path_params["number"]
    view = view_scrap(tools.store, number)
    values = {
        "scrap": view.scrap,
        "fabric": view.fabric,
        "tile": tile_of(view),
        "places": sorted({one.place for one in tools.store.scraps() if one.place}),
        "twins": groups_of_scraps(tools.store, [number]),
    }
    return tools.page(request, "scrap_card.html", values)


def _card_kept(tools: PageTools, request: Request, form: Form) -> Response:
    view = view_scrap(tools.store, request.path_params["number"])
    name = changed_text(form, "name", view.fabric.name, "the name of this fabric")
    place = changed_text(form, "place", view.scrap.place, "the bin of this scrap")
    correction = Correction(
        name=_cut(name, _LONGEST_NAME),
        place=_cut(place, _LONGEST_WORDS),
        washed=changed_tick(form, "washed", now=view.scrap.washed),
    )
    return _correct(tools, view.scrap, correction, "placed")


def _gives(tools: PageTools, request: Request) -> Response:
    """Say the largest finished size of each shape; a page of its own, for it may take a while."""
    number = request.path_params["number"]
    scrap = tools.store.scrap(number)
    found = []
    for family in families():
        size_in = largest_sizes(tools.store, [scrap], family=family, rule=CutRule())[number]
        shown = tools.length(round_down(size_in, step=8)) if size_in > 0 else "none"
        found.append((family.replace("-", " "), shown))
    values = {"gives": found, "number": number, "joins": could_join(tools.store, scrap)}
    return tools.page(request, "scrap_gives.html", values)


def _seen(tools: PageTools, request: Request) -> Scrap:
    """Give the scrap as it is while a form is compared with it."""
    return tools.store.scrap(request.path_params["number"])


def _correct(tools: PageTools, seen: Scrap, correction: Correction, said: str) -> Response:
    correct_scrap(tools.store, seen.number, correction, seen=seen)
    return back_to(f"/scrap/{seen.number}", said=said)


def _outline(tools: PageTools, request: Request, form: Form) -> Response:
    scrap = _seen(tools, request)
    before = scrap.outline
    now = text_of_corners(before.points, per_unit=tools.per_unit)
    text = changed_text(form, "corners", now, "the outline of this scrap")
    if text is None:
        return back_to(f"/scrap/{scrap.number}")
    corners = corners_of_text(text, per_unit=tools.per_unit)
    outline = outline_of(corners, before.holes, error_in=before.error_in)
    return _correct(tools, scrap, Correction(outline=outline), "outline")


def _place(tools: PageTools, request: Request, form: Form) -> Response:
    now = _seen(tools, request)
    place = changed_text(form, "place", now.place, "the bin of this scrap")
    fibre = changed_text(form, "fibre", now.fibre, "the fibre of this scrap")
    notes = changed_text(form, "notes", now.notes, "the notes on this scrap")
    correction = Correction(
        place=_cut(place, _LONGEST_WORDS),
        washed=changed_tick(form, "washed", now=now.washed),
        fibre=_cut(fibre, _LONGEST_WORDS),
        notes=_cut(notes, _LONGEST_NOTES),
    )
    return _correct(tools, now, correction, "placed")


def _grain_text(scrap: Scrap) -> str:
    """Write the grain as the page's form does; nothing if it is not known."""
    return "" if scrap.grain_deg is None else str(round(scrap.grain_deg) % 180)


def _grain(tools: PageTools, request: Request, form: Form) -> Response:
    scrap = _seen(tools, request)
    now, forget = _grain_text(scrap), form.text("what") == "forget"
    degrees = form.number("grain")
    if forget:
        need_unchanged(form, "grain", now, "", "the grain of this scrap")
        return _correct(tools, scrap, Correction(forget_grain=True), "grain")
    if degrees is None:
        raise MeasureError("Say how the grain runs: whole degrees from 0 to 179.")
    need_unchanged(form, "grain", now, str(degrees % 180), "the grain of this scrap")
    return _correct(tools, scrap, Correction(grain_deg=float(degrees % 180)), "grain")


def _stain(tools: PageTools, request: Request, form: Form) -> Response:
    scrap = _seen(tools, request)
    before = scrap.outline
    if form.text("what") == "forget":
        now = str(len(before.holes))
        need_unchanged(form, "stains", now, "0", "what is left out of this scrap")
        whole = outline_of(before.points, error_in=before.error_in)
        return _correct(tools, scrap, Correction(outline=whole), "unstained")
    stain = corners_of_text(form.text("corners"), per_unit=tools.per_unit)
    return _correct(tools, scrap, Correction(stains=(stain,)), "stain")


def _name(tools: PageTools, request: Request, form: Form) -> Response:
    view = view_scrap(tools.store, request.path_params["number"])
    fabric = view.fabric
    name = changed_text(form, "name", fabric.name, "the name of this fabric")
    correction = Correction(
        name=_cut(name, _LONGEST_NAME),
        one_way=changed_tick(form, "one_way", now=fabric.one_way),
    )
    return _correct(tools, view.scrap, correction, "named")


def _cut(text: str | None, longest: int) -> str | None:
    return None if text is None else text[:longest]


def _join(tools: PageTools, request: Request, form: Form) -> Response:
    other = tools.store.scrap(form.number("other") or 0)
    scrap = _seen(tools, request)
    answer_twins(tools.store, Answers(same=((scrap.number, other.number),)))
    return back_to(f"/scrap/{scrap.number}", said="joined")


def _split(tools: PageTools, request: Request, _form: Form) -> Response:
    return _correct(tools, _seen(tools, request), Correction(own_fabric=True), "split")


def _drop(tools: PageTools, request: Request, _form: Form) -> Response:
    scrap = tools.store.scrap(request.path_params["number"])
    tools.store.delete_scrap(scrap.number, why=f"took scrap {scrap.number} out")
    return back_to(f"/photo/{scrap.photo}" if scrap.photo else "/", said="dropped")


_PATH = "/scrap/{number:number}"
PAGES = (
    Page(_PATH, look=_look),
    Page(f"{_PATH}/card", look=_card, send=_card_kept),
    Page(f"{_PATH}/gives", look=_gives),
    Page(f"{_PATH}/outline", send=_outline),
    Page(f"{_PATH}/place", send=_place),
    Page(f"{_PATH}/grain", send=_grain),
    Page(f"{_PATH}/stain", send=_stain),
    Page(f"{_PATH}/name", send=_name),
    Page(f"{_PATH}/join", send=_join),
    Page(f"{_PATH}/split", send=_split),
    Page(f"{_PATH}/drop", send=_drop),
)
