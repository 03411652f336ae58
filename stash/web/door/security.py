"""Lets in only what this computer's user, or a paired phone, can have meant to ask.

A page on this computer can be reached by every other site the browser has open: by a form, by
a picture address, by a foreign name led to 127.0.0.1. Each request is therefore judged by its
Host, its Origin and its Sec-Fetch-Site before any work is done; forms carry a token besides
(`stash.web.door.forms`). Every answer leaves with headers that forbid framing, sniffing and any
script or style that is not a file of ours.
"""

from __future__ import annotations

import asyncio
import contextlib
from html import escape
from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from stash.web.door.addresses import Door
from stash.web.door.pairing import new_session
from stash.web.door.settings import WebSettings

__all__ = ["CONTENT_POLICY", "Gate", "Incoming", "Refusal", "cookie_name", "session_cookie"]

CONTENT_POLICY = (
    "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'; img-src 'self' blob:"  # a photo shown before it is sent
)
_HEADERS = {
    "Content-Security-Policy": CONTENT_POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # Not "no-referrer": with it browsers send "Origin: null" from our own forms.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=(), payment=(), usb=()",
}
_SHOWN_THERE = (
    "<p class=lead>On the computer, open “Use my phone” and scan the code there with this phone’s "
    "camera.</p><p><a class='button main' href='/join'>Or type its six digits</a></p>"
)
_SHOWN_HERE = (
    "<p class=lead>Open the whole address that the terminal shows, with its key: others who use "
    "this computer do not know it.</p>"
)
_A_YEAR_S = 365 * 24 * 3600
_PASSING_BYTES = 2_000_000
_PASSING_S = 1.0
_LOCAL_CLIENTS = frozenset({"127.0.0.1", "::1"})
# What a phone may ask for before it is paired.
_OPEN_PATHS = frozenset({"/join", "/static/style.css", "/static/icon.svg"})


class Refusal(Exception):  # noqa: N818 - not a problem of the quilter's
    """A request that is not let in."""

    def __init__(self, status: int, text: str) -> None:
        self.status = status
        super().__init__(text)


class _Stranger(Exception):  # noqa: N818 - the same
    """A phone that was not let in yet, or a browser here that may be another user's; says how."""


class Gate:
    """The ASGI layer in front of everything."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        self._app = app
        self._door = door

    @property
    def _settings(self) -> WebSettings:
        return self._door.settings

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Judge one request; pass it on or answer why not."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        headers, incoming = Headers(scope=scope), Incoming(receive)
        answer: Response | None = None
        session: str | None = None
        try:
            self._judge(scope, headers)
            if _led_here(headers):
                answer = _doorstep(scope)
            else:
                session = self._session(scope, headers)
        except _Stranger as stranger:
            answer = _at_the_door(str(stranger))
        except Refusal as refused:
            answer = PlainTextResponse(f"{refused}\n", status_code=refused.status)
        if answer is not None:
            await incoming.let_pass()
            await answer(scope, receive, _dressed(send, {}))
            return
        known = session is not None
        session = session or new_session()
        scope.setdefault("state", {})["session"] = session
        cookie = {} if known else {"Set-Cookie": session_cookie(self._settings, session)}
        await self._app(scope, incoming, _dressed(send, cookie))

    def _judge(self, scope: Scope, headers: Headers) -> None:
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self._settings.hosts:
            raise Refusal(400, "This address is not one the stash page answers to.")
        if scope["method"] not in {"GET", "HEAD", "POST"}:
            raise Refusal(405, "The stash page answers GET and POST only.")
        if not scope["path"].isprintable():
            raise Refusal(404, "There is no such page.")
        if len(scope["query_string"]) > self._settings.limits.query_bytes:
            raise Refusal(414, "This address is too long.")
        _judge_origin(scope["method"], hosts[0].lower(), headers)

    def _session(self, scope: Scope, headers: Headers) -> str | None:
        """Give the browser's cookie if it is to be believed; refuse strangers."""
        session = _cookie_value(headers, cookie_name(self._settings))
        client = (scope.get("client") or ("", 0))[0]
        host = headers["host"].lower()
        is_here = client in _LOCAL_CLIENTS and host in self._settings.local_hosts
        if is_here and self._door.told_owners:
            return session
        if session is not None and self._door.pairing.knows(session):
            return session
        if scope["path"] in _OPEN_PATHS:
            return session
        raise _Stranger(_SHOWN_HERE if is_here else _SHOWN_THERE)


class Incoming:
    """What a request still brings."""

    def __init__(self, receive: Receive) -> None:
        self._receive = receive
        self._ended = False

    async def __call__(self) -> Message:
        """Give the next piece."""
        message = await self._receive()
        self._ended = message["type"] != "http.request" or not message.get("more_body")
        return message

    async def let_pass(self) -> None:
        """Let the rest of a refused request go by, if it is short.

        A line closed while the sender still sends would lose our answer on its way.
        """
        passed = 0
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(_PASSING_S):
                while not self._ended and passed < _PASSING_BYTES:
                    passed += len((await self()).get("body", b""))


def _judge_origin(method: str, host: str, headers: Headers) -> None:
    origins = headers.getlist("origin")
    if any(origin.lower() != f"http://{host}" for origin in origins):
        raise Refusal(403, "This request comes from another site.")
    if not _from_elsewhere(headers):
        return
    # A link on another site may lead here; it may neither post nor embed what is here.
    if method == "POST" or headers.get("sec-fetch-mode") != "navigate":
        raise Refusal(403, "This request comes from another site.")
    if headers.get("sec-fetch-dest", "document") != "document":
        raise Refusal(403, "This page may not be shown inside another.")


def _from_elsewhere(headers: Headers) -> bool:
    return headers.get("sec-fetch-site", "none") not in {"same-origin", "none"}


def _led_here(headers: Headers) -> bool:
    """Whether a link on another site was followed; the strict cookie then stays away."""
    return _from_elsewhere(headers) and headers.get("sec-fetch-mode") == "navigate"


def _doorstep(scope: Scope) -> Response:
    """Answer a foreign link with a link of our own, which brings the cookie along."""
    address = scope["raw_path"] if "raw_path" in scope else scope["path"].encode()
    if scope["query_string"]:
        address += b"?" + scope["query_string"]
    target = escape("/" + address.decode("latin-1").lstrip("/\\"), quote=True)
    return HTMLResponse(
        "<!doctype html><html lang=en><title>Your stash</title>"
        f'<p>Another site led here. <a href="{target}">Open this page of your stash</a></p>'
    )


def _at_the_door(how: str) -> Response:
    """Tell a phone or browser that is not let in yet how to be."""
    return HTMLResponse(
        "<!doctype html><html lang=en><meta name=viewport content='width=device-width'>"
        "<link rel=stylesheet href='/static/style.css'><title>Your stash</title>"
        f"<main class=alone><h1>Not let in yet</h1>{how}</main>",
        status_code=403,
    )


def cookie_name(settings: WebSettings) -> str:
    """Name the cookie by port: browsers share cookies between the ports of one computer."""
    return f"stash-{settings.port}"


def session_cookie(settings: WebSettings, session: str) -> str:
    """Write the cookie that no script and no other site can read or send."""
    return (
        f"{cookie_name(settings)}={session}; Max-Age={_A_YEAR_S}; Path=/; HttpOnly; SameSite=Strict"
    )


def _cookie_value(headers: Headers, name: str) -> str | None:
    try:
        morsel = SimpleCookie("; ".join(headers.getlist("cookie"))).get(name)
    except CookieError:
        return None
    if morsel is None or not 20 <= len(morsel.value) <= 200:
        return None
    return str(morsel.value)


def _dressed(send: Send, extra: dict[str, str]) -> Send:
    async def send_dressed(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers[name] = value
            headers.setdefault("Cache-Control", "private, no-cache")
            for name, value in extra.items():
                if name not in headers:
                    headers[name] = value
        await send(message)

    return send_dressed
