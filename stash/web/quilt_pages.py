"""Quilts: planned, counted against the stash, laid out by rule or by hand, cut step by step."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stash.errors import PlanError, SettingError, TemplateError, UnitError
from stash.quilt.bed_sizes import QUILT_SIZES
from stash.quilt.changes import Change
from stash.quilt.plan import Quilt
from stash.quilt.setting import settings_of
from stash.shape.template import families
from stash.units import parse_length
from stash.usecases.look_twice_pieces import bent_fabrics
from stash.usecases.manage_palettes import palettes
from stash.usecases.plan_quilt import QuiltRequest, make_quilt, pattern_of, quilt_named, quilts
from stash.usecases.quilt_allot import allot_quilt
from stash.usecases.quilt_cut import cut_scraps, progress_of
from stash.usecases.quilt_enough import enough_for
from stash.usecases.quilt_layout import LayoutRequest, lay_out, layout_of, move_pieces
from stash.usecases.suggestions import free_name
from stash.web.desk import Desk, Page, back_to, wants_json
from stash.web.forms import Form, Kept
from stash.web.papers import paper_of
from stash.web.quilt_drawing import QuiltDrawing
from stash.web.tiles import Tile, tiles_by_scrap

__all__ = ["PAGES", "words_of_change"]

_LONGEST_NAME = 120


def words_of_change(change: Change) -> str:
    """Say in words what would make a quilt possible.

    Examples
    --------
    >>> words_of_change(Change("buy", {"teal": 3}))
    'Buy 3 fabrics more: 3 teal'
    """
    return _CHANGES[change.kind](change)


def _buy_words(change: Change) -> str:
    if any(one.cut.name for one in change.purchases):
        parts = [
            f"{one.fabrics} {'fabric' if one.part == 'any' else one.part}, a {one.cut.name} of each"
            for one in change.purchases
        ]
        return f"Buy {'; '.join(parts)}"
    total = sum(change.amounts.values())
    return f"Buy {total} fabric{'' if total == 1 else 's'} more: {_parts(change)}"


def _parts(change: Change) -> str:
    return ", ".join(f"{count} {name}" for name, count in change.amounts.items())


def _numbers(change: Change) -> str:
    return ", ".join(f"#{number}" for number in change.scraps[:8])


def _fewer_words(change: Change) -> str:
    rows = f"{change.amounts['rows']} rows, " if "rows" in change.amounts else ""
    return f"Make it smaller: {rows}{change.amounts['pieces']} pieces"


_CHANGES: Mapping[str, Callable[[Change], str]] = {
    "buy": _buy_words,
    "fewer": _fewer_words,
    "size": lambda change: f"Make the piece smaller: {change.size} in finished",
    "decide": lambda change: f"Say of what may be one cloth whether it is: {_numbers(change)}",
    "borderline": lambda change: f"Look twice, and take: {_numbers(change)}",
    "limit": lambda change: f"Take up to {max(change.amounts.values())} pieces of one fabric",
    "release": lambda change: (
        f"Take scraps back from other quilts ({', '.join(change.amounts)}): {_numbers(change)}"
    ),
    "shares": lambda change: (
        f"Let the palette’s amounts shift: {_parts(change)} pieces over or under"
    ),
}


def _list(desk: Desk, request: Request) -> Response:
    tiles = tiles_by_scrap(desk.views())
    shown = []
    for quilt in quilts(desk.store):
        pattern = pattern_of(quilt.plan)
        shown.append((quilt, pattern, QuiltDrawing(quilt, pattern, tiles)))
    return desk.page(request, "quilts.html", {"quilts": shown})


def _new(desk: Desk, request: Request) -> Response:
    return _form(desk, request, Kept())


def _form(desk: Desk, request: Request, kept: Kept) -> Response:
    values = {
        "kept": kept,
        "shapes": families(),
        "settings": [(family, settings_of(family)) for family in families()],
        "beds": QUILT_SIZES,
        "palettes": [palette.name for palette in reversed(palettes(desk.store))],
    }
    return desk.page(request, "quilt_new.html", values)


def _make(desk: Desk, _request: Request, form: Form) -> Response:
    unit = desk.settings.unit
    width, length = form.text("width"), form.text("length")
    finished = (parse_length(width, unit=unit), parse_length(length, unit=unit)) if width else None
    quilt = make_quilt(
        desk.store,
        QuiltRequest(
            name=form.text("name")[:_LONGEST_NAME] or _named(desk, form),
            template=form.text("shape"),
            size=desk.meant(form.text("size")),
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


def _quilt(desk: Desk, request: Request) -> Response:
    quilt = quilt_named(desk.store, request.query_params.get("name", ""))
    pattern = pattern_of(quilt.plan)
    tiles = tiles_by_scrap(desk.views())
    values = {
        "quilt": quilt,
        "pattern": pattern,
        "drawing": QuiltDrawing(quilt, pattern, tiles),
        "laid": layout_of(desk.store, quilt),
        "progress": progress_of(desk.store, quilt, len(pattern.places)),
        "to_cut": _to_cut(quilt, tiles),
        "answer": None,
        "words_of_change": words_of_change,
        "paper": paper_of(request, desk),
        "tiles": tiles,
        "bent": bent_fabrics(desk.store, quilt),
    }
    if not quilt.pieces:
        values["answer"] = enough_for(desk.store, quilt.name)
    return desk.page(request, "quilt.html", values)


def _named(desk: Desk, form: Form) -> str:
    """Call a quilt by its palette and shape where no name was given."""
    words = f"{form.text('shape').replace('-', ' ')}s"
    palette = form.text("palette")
    wanted = f"{palette}, {words}" if palette else words[:1].upper() + words[1:]
    return free_name(desk.store, "quilt", wanted[: _LONGEST_NAME - 4])


@dataclass(frozen=True, slots=True)
class _Cutting:
    """A scrap that still has pieces to give."""

    scrap: int
    pieces: int
    tile: Tile | None


def _to_cut(quilt: Quilt, tiles: Mapping[int, Tile]) -> Sequence[_Cutting]:
    return [
        _Cutting(number, len(quilt.to_cut_of(number)), tiles.get(number))
        for number in sorted(quilt.held_scraps)
    ]


def _allot(desk: Desk, _request: Request, form: Form) -> Response:
    name = form.text("name")
    answer = allot_quilt(desk.store, name)
    if not answer.possible:
        ways = "; ".join(words_of_change(change) for change in answer.changes)
        raise PlanError(f"The stash does not give this quilt. What would help: {ways}.")
    if not answer.quilt.piece_at:
        lay_out(desk.store, name, LayoutRequest())
    return back_to("/quilt", name=name, said="allotted")


def _layout(desk: Desk, request: Request, form: Form) -> Response:
    name, what = form.text("name"), form.text("what")
    if what == "shuffle":
        lay_out(desk.store, name, LayoutRequest(seed=secrets.randbelow(1_000_000)))
    else:
        move_pieces(desk.store, name, _by_hand(form), shown=_shown(form.text("seen")))
    if wants_json(request):
        return JSONResponse({"kept": True})
    return back_to("/quilt", name=name, said="laid")


def _by_hand(form: Form) -> LayoutRequest:
    what, one, other = form.text("what"), form.text("one"), form.text("other")
    if what == "swap":
        return LayoutRequest(swaps=((one, other),))
    return LayoutRequest(pin=(one,)) if what == "pin" else LayoutRequest(unpin=(one,))


def _shown(seen: str) -> dict[str, int]:
    """Read which scrap lay in each place on the page, such as ``3.12=7 4.5=20``."""
    pairs = (pair.partition("=") for pair in seen.split())
    return {place: int(scrap) for place, _, scrap in pairs if scrap.isdecimal() and len(scrap) < 10}


def _cut(desk: Desk, request: Request, form: Form) -> Response:
    name, scrap = form.text("name"), form.number("scrap")
    if scrap is None:
        raise PlanError("Say which scrap has been cut, by its number.")
    cut_scraps(desk.store, name, [scrap])
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
    Page("/quilt/allot", send=_allot),
    Page("/quilt/layout", send=_layout),
    Page("/quilt/cut", send=_cut),
)
