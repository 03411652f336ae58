"""A quilt's plan changed on its page, told beforehand what that does; copied, taken away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from stash.errors import PlanError, StashError
from stash.quilt.plan import Quilt
from stash.quilt.setting import settings_of
from stash.shape.template import families
from stash.usecases.change_quilt import change_quilt, copy_quilt, delete_quilt, renewed_for
from stash.usecases.manage_palettes import palettes
from stash.usecases.plan_quilt import checked_plan, pattern_of, quilt_named, set_aside
from stash.usecases.suggestions import free_name
from stash.web.desk import Desk, Page, back_to
from stash.web.forms import Form, Kept

__all__ = ["PAGES", "form_of"]

_RULES = {"charm": "each fabric once", "limit": "at most so many of one fabric", "": "as it comes"}
_MOST_TYPED = 4


def form_of(desk: Desk, quilt: Quilt) -> dict[str, object]:
    """Give what the form of a quilt's plan shows at first, and what it may be set to."""
    plan = quilt.plan
    return {
        "rows": plan.rows,
        "across": plan.across,
        "shape": plan.template,
        "size": desk.said(plan.size),
        "setting": plan.setting,
        "palette": plan.palette,
        "rule": "charm" if plan.limit == 1 else "limit" if plan.limit else "",
        "limit": plan.limit or "",
        "shapes": families(),
        "settings": settings_of(plan.template),
        "palettes": [palette.name for palette in palettes(desk.store)],
        "rules": _RULES,
    }


def _change(desk: Desk, request: Request) -> Response:
    quilt = quilt_named(desk.store, request.query_params.get("name", ""))
    return _shown(desk, request, quilt, Kept())


def _shown(desk: Desk, request: Request, quilt: Quilt, kept: Kept) -> Response:
    values = {"quilt": quilt, "plan": form_of(desk, quilt), "kept": kept}
    return desk.page(request, "quilt_change.html", values)


def _again(desk: Desk, request: Request, kept: Kept) -> Response:
    return _shown(desk, request, quilt_named(desk.store, kept.text("name")), kept)


def _settings(desk: Desk, quilt: Quilt, text: Callable[[str], str]) -> dict[str, Any]:
    """Read the form; what is left as it was shown is not among what changes."""
    shown = form_of(desk, quilt)
    asked: dict[str, Any] = {}
    for field, into in (("shape", "template"), ("setting", "setting"), ("palette", "palette")):
        if text(field) != shown[field]:
            asked[into] = text(field)
    if "template" in asked:
        asked["setting"] = ""  # the usual one of that shape
    for field in ("rows", "across"):
        if text(field) != str(shown[field]):
            asked[field] = _count(text(field), field)
    if text("size") != shown["size"]:
        asked["size"] = desk.meant(text("size"))
    limit = {"charm": 1, "limit": None}.get(text("rule"))
    if text("rule") == "limit":
        limit = _count(text("limit"), "pieces of one fabric")
    if limit != quilt.plan.limit:
        asked["limit"] = limit
    return asked


def _count(text: str, what: str) -> int:
    if not (text.isascii() and text.isdigit() and 0 < len(text) <= _MOST_TYPED):
        raise PlanError(f"Say the {what} as a whole number.")
    return int(text)


def _would(desk: Desk, request: Request) -> Response:
    """Say what a change would do, without keeping it."""
    query = request.query_params
    quilt = quilt_named(desk.store, query.get("name", ""))
    values: dict[str, object] = {"problem": "", "effects": (), "pattern": None}
    try:
        asked = _settings(desk, quilt, lambda field: query.get(field, "").strip())
        plan = checked_plan(desk.store, replace(quilt.plan, **asked))
        values["effects"] = renewed_for(desk.store, quilt, plan)[1] if asked else ()
        values["pattern"] = pattern_of(plan)
    except StashError as problem:
        values["problem"] = problem.plain
    return desk.page(request, "quilt_would.html", values)


def _keep(desk: Desk, _request: Request, form: Form) -> Response:
    quilt = quilt_named(desk.store, form.text("name"))
    asked = _settings(desk, quilt, form.text)
    if asked:
        change_quilt(desk.store, quilt.name, asked)
    return back_to("/quilt", name=quilt.name, said="quilt")


def _copy(desk: Desk, _request: Request, form: Form) -> Response:
    name = form.text("name")
    made = copy_quilt(desk.store, name, free_name(desk.store, "quilt", f"{name[:100]}, copy"))
    return back_to("/quilt/change", name=made.name, said="copied")


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
