"""Phones: let in from the page, by a code to scan or to type, and forgotten again."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response

from stash.web.door.forms import Form
from stash.web.door.pairing import CODE_TRIES, qr_svg
from stash.web.door.security import Refusal, session_cookie
from stash.web.page_tools import Page, PageTools, back_to

__all__ = ["PAGES"]

_DEVICES = (("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android phone"))


def _pair(tools: PageTools, request: Request) -> Response:
    values: dict[str, object] = {"code": "", "here_local": _is_local(tools, request)}
    values["phones"] = tools.pairing.phones
    if tools.settings.lan_address and _is_local(tools, request):
        address = tools.settings.join_address(tools.pairing.secret)
        values |= {
            "address": address,
            "code": qr_svg(address),
            "short": f"{tools.settings.lan_address}:{tools.settings.port}/join",
            "digits": tools.pairing.new_code(),
            "tries": CODE_TRIES,
        }
    return tools.page(request, "pair.html", values)


def _is_local(tools: PageTools, request: Request) -> bool:
    """Whether this computer itself asks: the gate has matched host and sender already."""
    return request.headers["host"].lower() in tools.settings.local_hosts


def _need_local(tools: PageTools, request: Request) -> None:
    if not _is_local(tools, request):
        raise Refusal(403, "Phones are let in and forgotten on the computer the stash is on.")


def _open(tools: PageTools, request: Request, _form: Form) -> Response:
    _need_local(tools, request)
    tools.door.let_phones_in()
    return back_to("/pair", said="phones")


def _close(tools: PageTools, request: Request, _form: Form) -> Response:
    _need_local(tools, request)
    tools.door.shut_phones_out()
    return back_to("/pair", said="nophones")


def _forget(tools: PageTools, request: Request, form: Form) -> Response:
    _need_local(tools, request)
    tools.pairing.forget(form.text("mark"))
    return back_to("/pair", said="forgotten")


def _join(tools: PageTools, request: Request) -> Response:
    here = _is_local(tools, request)
    if here and tools.pairing.knows(request.state.session):
        return back_to("/")
    key = request.query_params.get("key", "")
    return tools.page(request, "join.html", {"key": key, "at_home": here})


def _joined(tools: PageTools, request: Request, form: Form) -> Response:
    device = _device(request.headers.get("user-agent", ""))
    if "digits" in form.fields:
        session = tools.pairing.redeem_code(form.text("digits"), device=device)
    else:
        session = tools.pairing.redeem(form.text("key"), device=device)
    if session is None:
        raise Refusal(
            403,
            "This code is wrong, used or out of date. On the computer, open “Use my phone” again "
            "and take the new code.",
        )
    answer = back_to("/" if _is_local(tools, request) else "/photograph")
    answer.headers["Set-Cookie"] = session_cookie(tools.settings, session)
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
