"""A quilt's plan changed beside its picture, told beforehand what that does; copied, taken away."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stash.errors import StashError
from stash.usecases.quilts.change_quilt import (
    change_quilt,
    copy_quilt,
    delete_quilt,
    renewed_for,
    wished_plan,
)
from stash.usecases.quilts.plan_quilt import pattern_of, quilt_named, set_aside
from stash.usecases.quilts.suggestions import free_name
from stash.web.door.forms import Form, Kept
from stash.web.page_tools import Page, PageTools, back_to
from stash.web.shown.quilt_drawing import QuiltDrawing
from stash.web.shown.tiles import tiles_by_scrap
from stash.web.views.palette_pages import hopes_of
from stash.web.views.plan_form import asked_of, form_of
from stash.web.views.quilt_page import answer_of, shown_quilt

__all__ = ["PAGES"]


def _change(tools: PageTools, request: Request) -> Response:
    return shown_quilt(tools, request, request.query_params.get("name", ""))


def _again(tools: PageTools, request: Request, kept: Kept) -> Response:
    return shown_quilt(tools, request, kept.text("name"), kept)


def _would(tools: PageTools, request: Request) -> Response:
    """Say and draw what a change would do, keeping nothing; what the stash gives is asked apart."""
    query = request.query_params
    form = Form({name: query.getlist(name) for name in query})
    quilt = quilt_named(tools.store, form.text("name"))
    tiles = tiles_by_scrap(tools.views())
    whole = bool(query.get("whole"))
    values: dict[str, object] = {"quilt": quilt, "problem": "", "drawing": None, "tiles": tiles}
    try:
        asked = asked_of(tools, form, form_of(tools, quilt, tiles))
        if asked.anything:
            plan = wished_plan(tools.store, quilt, asked.settings, asked.wishes)
            changed, effects = renewed_for(tools.store, quilt, plan)
            pattern = pattern_of(plan)
            values["drawing"] = QuiltDrawing(
                changed, pattern, tiles, hopes_of(tools.store, plan.palette)
            )
            values |= {"effects": effects, "pattern": pattern, "whole": whole}
            values |= answer_of(tools, changed) if whole else {}
    except StashError as problem:
        values["problem"] = problem.plain
    return tools.page(request, "quilt_would.html", values)


def _keep(tools: PageTools, _request: Request, form: Form) -> Response:
    quilt = quilt_named(tools.store, form.text("name"))
    asked = asked_of(tools, form, form_of(tools, quilt, tiles_by_scrap(tools.views())))
    if asked.anything:
        change_quilt(tools.store, quilt.name, asked.settings, asked.wishes)
    return back_to("/quilt", name=quilt.name, said="quilt")


def _copy(tools: PageTools, _request: Request, form: Form) -> Response:
    name = form.text("name")
    made = copy_quilt(tools.store, name, free_name(tools.store, "quilt", f"{name[:100]}, copy"))
    return back_to("/quilt", name=made.name, said="copied")


def _aside(tools: PageTools, _request: Request, form: Form) -> Response:
    back = form.text("what") == "back"
    set_aside(tools.store, form.text("name"), back=back)
    return back_to("/quilt", name=form.text("name"), said="taken-up" if back else "aside")


def _delete(tools: PageTools, _request: Request, form: Form) -> Response:
    delete_quilt(tools.store, form.text("name"))
    return back_to("/quilts", said="gone")


PAGES = (
    Page("/quilt/change", look=_change, send=_keep, again=_again),
    Page("/quilt/change/would", look=_would),
    Page("/quilt/copy", send=_copy),
    Page("/quilt/aside", send=_aside),
    Page("/quilt/delete", send=_delete),
)
