"""One quilt on its page: its picture, and beside it the plan with what the stash says of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from stash.quilt.plan import Quilt
from stash.usecases.quilts.look_twice_pieces import bent_fabrics
from stash.usecases.quilts.plan_quilt import pattern_of, quilt_named
from stash.usecases.quilts.quilt_cut import progress_of
from stash.usecases.quilts.quilt_enough import enough_of
from stash.usecases.quilts.quilt_layout import layout_of
from stash.usecases.quilts.quilt_pieces import still_there
from stash.web.door.forms import Kept
from stash.web.page_tools import PageTools
from stash.web.shown.quilt_drawing import QuiltDrawing
from stash.web.shown.tiles import Tile, tiles_by_scrap
from stash.web.views.palette_pages import hopes_of
from stash.web.views.papers import paper_of
from stash.web.views.plan_form import form_of, ways_of

__all__ = ["answer_of", "shown_quilt"]


@dataclass(frozen=True, slots=True)
class _Cutting:
    """A scrap that still has pieces to give."""

    scrap: int
    pieces: int
    tile: Tile | None


def shown_quilt(
    tools: PageTools, request: Request, name: str, kept: Kept | None = None
) -> Response:
    """Show a quilt, and in its form what was typed where that could not be taken."""
    quilt = quilt_named(tools.store, name)
    pattern = pattern_of(quilt.plan)
    tiles = tiles_by_scrap(tools.views())
    values = {
        "quilt": quilt,
        "kept": kept or Kept(),
        "plan": form_of(tools, quilt, tiles),
        "pattern": pattern,
        "drawing": QuiltDrawing(quilt, pattern, tiles, hopes_of(tools.store, quilt.plan.palette)),
        "laid": layout_of(tools.store, quilt),
        "progress": progress_of(tools.store, quilt, len(pattern.places)),
        "to_cut": _to_cut(tools, quilt, tiles),
        "paper": paper_of(request, tools),
        "tiles": tiles,
        "bent": bent_fabrics(tools.store, quilt),
        **answer_of(tools, quilt),
    }
    return tools.page(request, "quilt.html", values)


def answer_of(tools: PageTools, quilt: Quilt) -> dict[str, object]:
    """Say whether the stash gives a quilt, kept or not, and what would help."""
    there = len(still_there(tools.store, quilt))
    missing = len(quilt.pieces) - quilt.cut_count - there
    if quilt.pieces and not missing:
        return {"answer": None, "ways": (), "missing": 0}
    answer = enough_of(tools.store, quilt)
    ways = ways_of(answer.enough.changes, tools.said)
    return {"answer": answer, "ways": ways, "missing": missing}


def _to_cut(tools: PageTools, quilt: Quilt, tiles: Mapping[int, Tile]) -> Sequence[_Cutting]:
    """Offer only scraps that still give what was chosen of them."""
    return [
        _Cutting(number, len(quilt.to_cut_of(number)), tiles.get(number))
        for number in sorted({piece.scrap for piece in still_there(tools.store, quilt)})
    ]
