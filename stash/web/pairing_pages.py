"""The two pages of pairing: the code on the computer, the welcome on the phone."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stash.web.desk import Desk, Page, back_to
from stash.web.forms import Form
from stash.web.pairing import qr_svg
from stash.web.security import Refusal, session_cookie

__all__ = ["PAGES"]


def _pair(desk: Desk, request: Request) -> Response:
    if not desk.settings.lan_address:
        return desk.page(request, "pair.html", {"code": "", "address": ""})
    address = desk.settings.join_address(desk.pairing.secret)
    return desk.page(request, "pair.html", {"code": qr_svg(address), "address": address})


def _join(desk: Desk, request: Request) -> Response:
    return desk.page(request, "join.html", {"key": request.query_params.get("key", "")})


def _joined(desk: Desk, _request: Request, form: Form) -> Response:
    session = desk.pairing.redeem(form.text("key"))
    if session is None:
        raise Refusal(
            403,
            "This code has been used or is out of date. On the computer, open “Pair a phone” "
            "and scan the new code.",
        )
    answer = back_to("/photograph")
    answer.headers["Set-Cookie"] = session_cookie(desk.settings, session)
    return answer


PAGES = (
    Page("/pair", look=_pair),
    Page("/join", look=_join, send=_joined),
)
