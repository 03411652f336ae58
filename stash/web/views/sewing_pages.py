"""Sewing day: one step a screen, for a phone beside the machine, with or without the network."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stash.errors import PlanError
from stash.quilt.cautions import cautions_for
from stash.quilt.plan import Quilt
from stash.quilt.sewing_steps import sewing_steps
from stash.usecases.papers.print_sheets import sewing_of, top_of_quilt
from stash.usecases.quilts.change_quilt import record_sewn
from stash.usecases.quilts.plan_quilt import pattern_of, quilt_named
from stash.web.door.forms import Form
from stash.web.page_tools import Page, PageTools, back_to, wants_json
from stash.web.shown.quilt_drawing import Patchwork, QuiltDrawing
from stash.web.shown.tiles import Tile, tiles_by_scrap

__all__ = ["PAGES"]


@dataclass(frozen=True, slots=True)
class _Cut:
    """A scrap that still gives pieces, and where they go."""

    scrap: int
    pieces: int
    places: str
    tile: Tile | None


@dataclass(frozen=True, slots=True)
class _Row:
    """A row to be sewn: its pieces from left to right, and where its seams are pressed."""

    number: int
    pieces: tuple[Patchwork, ...]
    press: str
    sewn: bool


def _sew(tools: PageTools, request: Request) -> Response:
    quilt = quilt_named(tools.store, request.query_params.get("name", ""))
    tiles = tiles_by_scrap(tools.views())
    top = top_of_quilt(tools.store, quilt.name)
    plan = sewing_of(top)
    drawing = QuiltDrawing(quilt, pattern_of(quilt.plan), tiles)
    by_row: dict[int, list[Patchwork]] = {}
    for piece in drawing.pieces if quilt.piece_at else []:
        by_row.setdefault(int(piece.place.partition(".")[0]), []).append(piece)
    steps = sewing_steps(plan, seam_in=top.template.seam_allowance_in, unit=tools.settings.unit)
    values = {
        "quilt": quilt,
        "cuts": _cuts(quilt, drawing, tiles),
        "rows": [
            _Row(
                row,
                tuple(pieces),
                plan.pressing_of_row(row - 1) if row <= len(plan.rows) else "",
                {piece.place for piece in pieces} <= set(quilt.sewn),
            )
            for row, pieces in sorted(by_row.items())
        ],
        "steps": steps,
        "tiles": tiles,
        "cautions": cautions_for,
    }
    return tools.page(request, "sew.html", values)


def _cuts(quilt: Quilt, drawing: QuiltDrawing, tiles: dict[int, Tile]) -> list[_Cut]:
    places: dict[int, list[str]] = {}
    for piece in drawing.pieces if quilt.piece_at else []:
        if piece.scrap and not piece.cut:
            places.setdefault(piece.scrap, []).append(piece.place)
    return [
        _Cut(
            number,
            len(quilt.to_cut_of(number)),
            ", ".join(places.get(number, [])),
            tiles.get(number),
        )
        for number in sorted(
            quilt.held_scraps,
            key=lambda one: (tiles[one].place if one in tiles else "", one),
        )
    ]


def _sewn(tools: PageTools, request: Request, form: Form) -> Response:
    name, row = form.text("name"), form.number("row")
    if row is None:
        raise PlanError("Say which row is sewn, by its number.")
    record_sewn(tools.store, name, [row])
    if wants_json(request):
        return JSONResponse({"kept": True})
    return back_to("/quilt/sew", name=name)


PAGES = (
    Page("/quilt/sew", look=_sew),
    Page("/quilt/sewn", send=_sewn),
)
