"""Which cloth of the stash binds, borders and backs a quilt; held for it, let go, cut."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stash.errors import PlanError
from stash.quilt.cautions import cautions_for
from stash.quilt.edge_cloth import ClothUse
from stash.usecases.papers.edge_cloth import ClothWish, cloth_for, cut_cloth, free_cloth, hold_cloth
from stash.usecases.scrap_numbers import scrap_numbers
from stash.web.door.forms import Form, Kept
from stash.web.page_tools import Page, PageTools, back_to
from stash.web.shown.tiles import tiles_by_scrap

__all__ = ["PAGES"]

_SHOWN = 18
_USES = {
    ClothUse.BINDING: "Binding",
    ClothUse.BORDER: "Border",
    ClothUse.BACKING: "Back",
}


def _use_of(text: str) -> ClothUse:
    if text not in {"", *ClothUse}:
        raise PlanError("Cloth is for the binding, the border or the backing.")
    return ClothUse(text or ClothUse.BINDING)


def _cloth(tools: PageTools, request: Request) -> Response:
    query = request.query_params
    return _shown(tools, request, query.get("name", ""), _use_of(query.get("for", "")))


def _shown(
    tools: PageTools, request: Request, name: str, use: ClothUse, problem: str = ""
) -> Response:
    answer = cloth_for(tools.store, name, ClothWish(use))
    values = {
        "quilt": answer.quilt,
        "answer": answer,
        "uses": _USES,
        "shown": answer.lines[:_SHOWN],
        "tiles": tiles_by_scrap(tools.views()),
        "problem": problem,
        "cautions": cautions_for("cut"),
    }
    return tools.page(request, "cloth.html", values)


def _again(tools: PageTools, request: Request, kept: Kept) -> Response:
    return _shown(tools, request, kept.text("name"), _use_of(kept.text("for")), kept.problem)


def _said(tools: PageTools, _request: Request, form: Form) -> Response:
    name, use, what = form.text("name"), _use_of(form.text("for")), form.text("what")
    if what == "free":
        free_cloth(tools.store, name, use)
    elif what == "cut":
        cut_cloth(tools.store, name, use)
    else:
        hold_cloth(tools.store, name, ClothWish(use), scrap_numbers(form.texts("scrap")))
    said = {"free": "cloth-free", "cut": "cloth-cut"}.get(what, "cloth-held")
    return back_to("/quilt/cloth", **{"name": name, "for": use.value}, said=said)


PAGES = (Page("/quilt/cloth", look=_cloth, send=_said, again=_again),)
