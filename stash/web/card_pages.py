"""The reference cards this stash knows."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stash.errors import MeasureError, UnitError
from stash.units import parse_length
from stash.usecases.manage_cards import add_chart, cards
from stash.web.desk import Desk, Page, back_to
from stash.web.forms import Form, Kept

__all__ = ["PAGES"]

_LONGEST_NAME = 120


def _list(desk: Desk, request: Request) -> Response:
    return _form(desk, request, Kept())


def _form(desk: Desk, request: Request, kept: Kept) -> Response:
    values = {"cards": list(reversed(cards(desk.store))), "kept": kept}
    return desk.page(request, "cards.html", values)


def _add(desk: Desk, _request: Request, form: Form) -> Response:
    name = form.text("name")[:_LONGEST_NAME]
    if not name:
        raise MeasureError("Give the card a name, so that you know it again.")
    add_chart(desk.store, name, parse_length(form.text("pitch"), unit=desk.settings.unit))
    return back_to("/photograph", said="card")


PAGES = (Page("/cards", look=_list, send=_add, again=_form, fields={UnitError: "pitch"}),)
