"""A quilt's plan changed beside its picture, told beforehand what that does; copied, taken away."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stash.errors import StashError
from stash.usecases.change_quilt import (
    change_quilt,
    copy_quilt,
    delete_quilt,
    renewed_for,
    wished_plan,
)
from stash.usecases.plan_quilt import pattern_of, quilt_named, set_aside
from stash.usecases.suggestions import free_name
from stash.web.desk import Desk, Page, back_to
from stash.web.forms import Form, Kept
from stash.web.plan_form import asked_of, form_of
from stash.web.quilt_drawing import QuiltDrawing
from stash.web.quilt_page import answer_of, shown_quilt
from stash.web.tiles import tiles_by_scrap

__all__ = ["PAGES"]


def _change(desk: Desk, request: Request) -> Response:
    return shown_quilt(desk, request, request.query_params.get("name", ""))


def _again(desk: Desk, request: Request, kept: Kept) -> Response:
    return shown_quilt(desk, request, kept.text("name"), kept)


def _would(desk: Desk, request: Request) -> Response:
    """Say and draw what a change would do, keeping nothing; what the stash gives is asked apart."""
    query = request.query_params
    form = Form({name: query.getlist(name) for name in query})
    quilt = quilt_named(desk.store, form.text("name"))
    tiles = tiles_by_scrap(desk.views())
    whole = bool(query.get("whole"))
    values: dict[str, object] = {"quilt": quilt, "problem": "", "drawing": None, "tiles": tiles}
    try:
        asked = asked_of(desk, form, form_of(desk, quilt, tiles))
        if asked.anything:
            plan = wished_plan(desk.store, quilt, asked.settings, asked.wishes)
            changed, effects = renewed_for(desk.store, quilt, plan)
            pattern = pattern_of(plan)
            values["drawing"] = QuiltDrawing(changed, pattern, tiles)
            values |= {"effects": effects, "pattern": pattern, "whole": whole}
            values |= answer_of(desk, changed) if whole else {}
    except StashError as problem:
        values["problem"] = problem.plain
    return desk.page(request, "quilt_would.html", values)


def _keep(desk: Desk, _request: Request, form: Form) -> Response:
    quilt = quilt_named(desk.store, form.text("name"))
    asked = asked_of(desk, form, form_of(desk, quilt, tiles_by_scrap(desk.views())))
    if asked.anything:
        change_quilt(desk.store, quilt.name, asked.settings, asked.wishes)
    return back_to("/quilt", name=quilt.name, said="quilt")


def _copy(desk: Desk, _request: Request, form: Form) -> Response:
    name = form.text("name")
    made = copy_quilt(desk.store, name, free_name(desk.store, "quilt", f"{name[:100]}, copy"))
    return back_to("/quilt", name=made.name, said="copied")


def _aside(desk: Desk, _request: Request, form: Form) -> Response:
    back = form.text("what") == "back"
    set_aside(desk.store, form.text("name"), back=back)
    return back_to("/quilt", name=form.text("name"), said="taken-up" if back else "aside")


def _delete(desk: Desk, _request: Request, form: Form) -> Response:
    delete_quilt(desk.store, form.text("name"))
    return back_to("/quilts", said="gone")


PAGES = (
    Page("/quilt/change", look=_change, send=_keep, again=_again),
    Page("/quilt/change/would", look=_would),
    Page("/quilt/copy", send=_copy),
    Page("/quilt/aside", send=_aside),
    Page("/quilt/delete", send=_delete),
)
