"""Phones: let in from the page, by a code to scan or to type, and forgotten again."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response

from stash.web.desk import Desk, Page, back_to
from stash.web.forms import Form
from stash.web.pairing import CODE_TRIES, qr_svg
from stash.web.security import Refusal, session_cookie

__all__ = ["PAGES"]

_DEVICES = (("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android phone"))


def _pair(desk: Desk, request: Request) -> Response:
    values: dict[str, object] = {"code": "", "here_local": _is_local(desk, request)}
    values["phones"] = desk.pairing.phones
    if desk.settings.lan_address and _is_local(desk, request):
        address = desk.settings.join_address(desk.pairing.secret)
        values |= {
            "address": address,
            "code": qr_svg(address),
            "short": f"{desk.settings.lan_address}:{desk.settings.port}/join",
            "digits": desk.pairing.new_code(),
            "tries": CODE_TRIES,
        }
    return desk.page(request, "pair.html", values)


def _is_local(desk: Desk, request: Request) -> bool:
    """Whether this computer itself asks: the gate has matched host and sender already."""
    return request.headers["host"].lower() in desk.settings.local_hosts


def _need_local(desk: Desk, request: Request) -> None:
    if not _is_local(desk, request):
        raise Refusal(403, "Phones are let in and forgotten on the computer the stash is on.")


def _open(desk: Desk, request: Request, _form: Form) -> Response:
    _need_local(desk, request)
    desk.door.let_phones_in()
    return back_to("/pair", said="phones")


def _close(desk: Desk, request: Request, _form: Form) -> Response:
    _need_local(desk, request)
    desk.door.shut_phones_out()
    return back_to("/pair", said="nophones")


def _forget(desk: Desk, request: Request, form: Form) -> Response:
    _need_local(desk, request)
    desk.pairing.forget(form.text("mark"))
    return back_to("/pair", said="forgotten")


def _join(desk: Desk, request: Request) -> Response:
    here = _is_local(desk, request)
    if here and desk.pairing.knows(request.state.session):
        return back_to("/")
    key = request.query_params.get("key", "")
    return desk.page(request, "join.html", {"key": key, "at_home": here})


def _joined(desk: Desk, request: Request, form: Form) -> Response:
    device = _device(request.headers.get("user-agent", ""))
    if "digits" in form.fields:
        session = desk.pairing.redeem_code(form.text("digits"), device=device)
    else:
        session = desk.pairing.redeem(form.text("key"), device=device)
    if session is None:
        raise Refusal(
            403,
            "This code is wrong, used or out of date. On the computer, open “Use my phone” again "
            "and take the new code.",
        )
    answer = back_to("/" if _is_local(desk, request) else "/photograph")
    answer.headers["Set-Cookie"] = session_cookie(desk.settings, session)
    return answer


def _device(agent: str) -> str:
    """Name a device by what its browser says of it."""
    named = next((name for mark, name in _DEVICES if mark in agent), "phone or computer")
    browser = re.search(r"(Firefox|Edg|Chrome|Safari)", agent)
    return f"{named}, {browser[1].replace('Edg', 'Edge')}" if browser else named


PAGES = (
    Page("/pair", look=_pair),
    Page("/pair/open", send=_open),
    Page("/pair/close", send=_close),
    Page("/pair/forget", send=_forget),
    Page("/join", look=_join, send=_joined),
)
