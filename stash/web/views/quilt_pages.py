"""Quilts: planned, counted against the stash, laid out by rule or by hand, cut step by step."""

from __future__ import annotations

import secrets

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stash.errors import PlanError, SettingError, TemplateError, UnitError
from stash.quilt.bed_sizes import QUILT_SIZES
from stash.quilt.setting import settings_of
from stash.shape.templates.template import families
from stash.units import parse_length
from stash.usecases.palettes.manage_palettes import palettes
from stash.usecases.quilts.change_quilt import Wishes, change_quilt, record_spoilt
from stash.usecases.quilts.plan_quilt import (
    QuiltRequest,
    make_quilt,
    pattern_of,
    place_names,
    quilt_named,
    quilts,
)
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_cut import cut_scraps
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out, move_pieces
from stash.usecases.quilts.suggestions import free_name
from stash.web.door.forms import Form, Kept
from stash.web.page_tools import Page, PageTools, back_to, wants_json
from stash.web.shown.quilt_drawing import QuiltDrawing
from stash.web.shown.tiles import tiles_by_scrap
from stash.web.views.palette_pages import hopes_of
from stash.web.views.plan_form import ways_of
from stash.web.views.quilt_page import shown_quilt

__all__ = ["PAGES"]

_LONGEST_NAME = 120


def _list(tools: PageTools, request: Request) -> Response:
    tiles = tiles_by_scrap(tools.views())
    shown = []
    for quilt in quilts(tools.store):
        pattern = pattern_of(quilt.plan)
        shown.append(
            (
                quilt,
                pattern,
                QuiltDrawing(quilt, pattern, tiles, hopes_of(tools.store, quilt.plan.palette)),
            )
        )
    return tools.page(request, "quilts.html", {"quilts": shown})


def _new(tools: PageTools, request: Request) -> Response:
    return _form(tools, request, Kept())


def _form(tools: PageTools, request: Request, kept: Kept) -> Response:
    values = {
        "kept": kept,
        "shapes": families(),
        "settings": [(family, settings_of(family)) for family in families()],
        "beds": QUILT_SIZES,
        "palettes": [palette.name for palette in reversed(palettes(tools.store))],
    }
    return tools.page(request, "quilt_new.html", values)


def _make(tools: PageTools, _request: Request, form: Form) -> Response:
    unit = tools.settings.unit
    width, length = form.text("width"), form.text("length")
    finished = (parse_length(width, unit=unit), parse_length(length, unit=unit)) if width else None
    quilt = make_quilt(
        tools.store,
        QuiltRequest(
            name=form.text("name")[:_LONGEST_NAME] or _named(tools, form),
            template=form.text("shape"),
            size=tools.meant(form.text("size")),
            setting=form.text("setting"),
            rows=form.number("rows"),
            across=form.number("across"),
            finished_in=finished,
            bed=form.text("bed"),
            straight=bool(form.text("straight")),
            charm=form.text("rule") == "charm",
            limit=form.number("limit") if form.text("rule") == "limit" else None,
            palette=form.text("palette"),
            borderline=bool(form.text("bend")),
        ),
    )
    return back_to("/quilt", name=quilt.name, said="quilt")


def _quilt(tools: PageTools, request: Request) -> Response:
    return shown_quilt(tools, request, request.query_params.get("name", ""))


def _again(tools: PageTools, request: Request, kept: Kept) -> Response:
    return shown_quilt(tools, request, kept.text("name"), kept)


def _named(tools: PageTools, form: Form) -> str:
    """Call a quilt by its palette and shape where no name was given."""
    words = f"{form.text('shape').replace('-', ' ')}s"
    palette = form.text("palette")
    wanted = f"{palette}, {words}" if palette else words[:1].upper() + words[1:]
    return free_name(tools.store, "quilt", wanted[: _LONGEST_NAME - 4])


def _allot(tools: PageTools, _request: Request, form: Form) -> Response:
    name = form.text("name")
    answer = allot_quilt(tools.store, name, fill=form.text("what") == "missing")
    if not answer.possible:
        ways = "; ".join(way.words for way in ways_of(answer.changes, tools.said))
        raise PlanError(f"The stash does not give this quilt. What would help: {ways}.")
    if not answer.quilt.piece_at:
        lay_out(tools.store, name, LayoutRequest())
    return back_to("/quilt", name=name, said="allotted")


def _layout(tools: PageTools, request: Request, form: Form) -> Response:
    name, what = form.text("name"), form.text("what")
    if what in ("surely", "never", "spoilt"):
        return _of_one_piece(tools, name, what, form.text("one"))
    if what == "shuffle":
        lay_out(tools.store, name, LayoutRequest(seed=secrets.randbelow(1_000_000)))
    else:
        move_pieces(tools.store, name, _by_hand(form), shown=_shown(form.text("seen")))
    if wants_json(request):
        return JSONResponse({"kept": True})
    return back_to("/quilt", name=name, said="laid")


def _of_one_piece(tools: PageTools, name: str, what: str, place: str) -> Response:
    """Wish the fabric of a piece surely or never, or note that the piece was spoilt."""
    if what == "spoilt":
        found = record_spoilt(tools.store, name, [place]).possible
        return back_to("/quilt", name=name, said="spoilt" if found else "spoilt-short")
    quilt = quilt_named(tools.store, name)
    scraps = dict(zip(place_names(quilt.plan), quilt.piece_at, strict=False))
    if place not in scraps or not quilt.pieces[scraps[place]].scrap:
        raise PlanError(f"Nothing lies at “{place[:9]}”; name a place such as 3.12.")
    scrap = (quilt.pieces[scraps[place]].scrap,)
    wish = Wishes(surely=scrap) if what == "surely" else Wishes(never=scrap)
    change_quilt(tools.store, name, {}, wish)
    return back_to("/quilt", name=name, said=what)


def _by_hand(form: Form) -> LayoutRequest:
    what, one, other = form.text("what"), form.text("one"), form.text("other")
    if what == "swap":
        return LayoutRequest(swaps=((one, other),))
    return LayoutRequest(pin=(one,)) if what == "pin" else LayoutRequest(unpin=(one,))


def _shown(seen: str) -> dict[str, int]:
    """Read which scrap lay in each place on the page, such as ``3.12=7 4.5=20``."""
    pairs = (pair.partition("=") for pair in seen.split())
    return {place: int(scrap) for place, _, scrap in pairs if scrap.isdecimal() and len(scrap) < 10}


def _cut(tools: PageTools, request: Request, form: Form) -> Response:
    name, scrap = form.text("name"), form.number("scrap")
    if scrap is None:
        raise PlanError("Say which scrap has been cut, by its number.")
    cut_scraps(tools.store, name, [scrap])
    if wants_json(request):
        return JSONResponse({"kept": True})
    return back_to("/quilt", name=name, said="cut")


PAGES = (
    Page(
        "/quilts",
        look=_list,
        send=_make,
        again=_form,
        fields={TemplateError: "size", SettingError: "setting", UnitError: "width"},
    ),
    Page("/quilts/new", look=_new),
    Page("/quilt", look=_quilt),
    Page("/quilt/allot", send=_allot, again=_again),
    Page("/quilt/layout", send=_layout, again=_again),
    Page("/quilt/cut", send=_cut),
)
