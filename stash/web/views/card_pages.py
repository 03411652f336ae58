"""The reference cards this stash knows."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stash.errors import MeasureError, UnitError
from stash.units import parse_length
from stash.usecases.photos.manage_cards import add_chart, cards
from stash.web.door.forms import Form, Kept
from stash.web.page_tools import Page, PageTools, back_to

__all__ = ["PAGES"]

_LONGEST_NAME = 120


def _list(tools: PageTools, request: Request) -> Response:
    return _form(tools, request, Kept())


def _form(tools: PageTools, request: Request, kept: Kept) -> Response:
    values = {"cards": list(reversed(cards(tools.store))), "kept": kept}
    return tools.page(request, "cards.html", values)


def _add(tools: PageTools, _request: Request, form: Form) -> Response:
    name = form.text("name")[:_LONGEST_NAME]
    if not name:
        raise MeasureError("Give the card a name, so that you know it again.")
    add_chart(tools.store, name, parse_length(form.text("pitch"), unit=tools.settings.unit))
    return back_to("/photograph", said="card")


PAGES = (Page("/cards", look=_list, send=_add, again=_form, fields={UnitError: "pitch"}),)
