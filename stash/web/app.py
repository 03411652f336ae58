"""The page as one application: the gate in front, the pages behind, files known beforehand."""

from __future__ import annotations

import contextlib
import importlib
import threading
from collections.abc import AsyncIterator, Callable
from hashlib import sha256
from pathlib import Path

import anyio.to_thread
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.convertors import Convertor, register_url_convertor
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import BaseRoute, Route
from starlette.types import ASGIApp

from stash.errors import ChangedElsewhereError, NotFoundError, StashError, StorageError
from stash.usecases.ports import Store
from stash.web.door.addresses import Door
from stash.web.door.forms import Form, read_form
from stash.web.door.security import Gate, Incoming, Refusal
from stash.web.page_tools import Handler, Page, PageTools, problem, wants_json
from stash.web.practice import Practice
from stash.web.views import (
    ask_pages,
    card_pages,
    cloth_pages,
    making_pages,
    match_pages,
    pairing_pages,
    palette_pages,
    photograph_pages,
    pictures,
    print_pages,
    quilt_change_pages,
    quilt_pages,
    scrap_pages,
    sewing_pages,
    start_pages,
    twin_pages,
    wall_pages,
)

__all__ = ["all_pages", "make_app"]

_STATIC = Path(__file__).parent / "static"
_KINDS = {
    ".css": "text/css",
    ".js": "text/javascript",
    ".svg": "image/svg+xml",
    ".jpg": "image/jpeg",
}
_THREADS = 24
_WORDS = {
    404: "There is no such page.",
    500: "Something went wrong in the page itself. What was kept before is safe; the terminal "
    "that runs it shows what happened.",
}


_TRADES = (
    wall_pages,
    start_pages,
    scrap_pages,
    twin_pages,
    photograph_pages,
    card_pages,
    ask_pages,
    palette_pages,
    match_pages,
    quilt_pages,
    quilt_change_pages,
    making_pages,
    cloth_pages,
    sewing_pages,
    print_pages,
    pictures,
    pairing_pages,
)


class _NumberConvertor(Convertor[int]):
    """Numbers of scraps in addresses: no sign, nine digits at most."""

    regex = "[0-9]{1,9}"

    def convert(self, value: str) -> int:
        """Read a number in an address."""
        return int(value)

    def to_string(self, value: int) -> str:
        """Write a number into an address."""
        return str(value)


register_url_convertor("number", _NumberConvertor())


def all_pages() -> list[Page]:
    """Give every page there is."""
    return [page for trade in _TRADES for page in trade.PAGES]


def make_app(
    open_store: Callable[[], Store], door: Door, practice: Practice | None = None
) -> ASGIApp:
    """Build the application; the stash is opened when it starts.

    Parameters
    ----------
    open_store : callable
        Opens the stash; called once.
    door : Door
        Where the page answers, whom it lets in and how much one request may bring.
    practice : Practice, optional
        Where an invented stash is kept while somebody tries things out; nowhere if not given.
    """

    @contextlib.asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        """Open the stash when the page starts and close it when it ends."""
        tools = app.state.tools = PageTools(open_store(), door, practice or Practice())
        app.state.uploads = anyio.CapacityLimiter(door.settings.limits.uploads_at_once)
        anyio.to_thread.current_default_thread_limiter().total_tokens = _THREADS
        threading.Thread(target=_get_ready, args=(tools,), name="get ready", daemon=True).start()
        yield
        tools.practice.end()

    app = Starlette(
        routes=_routes(),
        lifespan=life,
        # Starlette still writes an unforeseen error to the terminal after this answer.
        exception_handlers={HTTPException: _missing, Exception: _missing},
    )
    app.router.redirect_slashes = False
    return Gate(app, door)


def _get_ready(tools: PageTools) -> None:
    """Name the scraps and load what measures photos, so that neither wall nor photo waits."""
    with contextlib.suppress(StashError):
        tools.views()
    importlib.import_module("stash.photo.measuring")


def _routes() -> list[BaseRoute]:
    routes: list[BaseRoute] = [
        Route(f"/static/{name}", _file(content, kind)) for name, content, kind in _files()
    ]
    # A worker answers for the folder it lies in and those below: this one for the whole page.
    worker = Path(__file__).parent / "keeper.js"
    routes.append(Route(f"/{worker.name}", _file(worker.read_bytes(), _KINDS[".js"])))
    for page in all_pages():
        methods = [*(["GET"] if page.look else []), *(["POST"] if page.send else [])]
        routes.append(Route(page.path, _handler(page), methods=methods))
    return routes


def _files() -> list[tuple[str, bytes, str]]:
    """Read our own files once: no address ever leads to the disk."""
    return [
        (path.name, path.read_bytes(), _KINDS[path.suffix])
        for path in sorted(_STATIC.iterdir())
        if path.suffix in _KINDS
    ]


def _file(content: bytes, kind: str) -> Handler:
    mark = f'"{sha256(content).hexdigest()[:16]}"'

    async def answer(request: Request) -> Response:
        headers = {"ETag": mark, "Cache-Control": "private, no-cache"}
        if request.headers.get("if-none-match") == mark:
            return Response(status_code=304, headers=headers)
        return Response(content, media_type=kind, headers=headers)

    return answer


def _handler(page: Page) -> Handler:
    async def answer(request: Request) -> Response:
        tools: PageTools = request.app.state.tools
        try:
            if request.method == "POST":
                return await _sent(page, tools, request)
            assert page.look is not None
            with tools.sizes.standing_back():
                return await run_in_threadpool(page.look, tools, request)
        except Refusal as refused:
            if isinstance(request.receive, Incoming):
                await request.receive.let_pass()
            answered = problem(tools, request, str(refused), refused.status)
            answered.headers["Connection"] = "close"
            return answered
        except StashError as trouble:
            return problem(tools, request, trouble.plain, _status_of(trouble))

    return answer


async def _sent(page: Page, tools: PageTools, request: Request) -> Response:
    limits = tools.settings.limits
    if not page.photos:
        form = await read_form(request, limits)
        return await run_in_threadpool(_send, page, tools, request, form)
    uploads: anyio.CapacityLimiter = request.app.state.uploads
    try:
        uploads.acquire_nowait()
    except anyio.WouldBlock:
        raise Refusal(503, "Many photos are arriving already. Try again in a moment.") from None
    # Held until the photos are measured too: they wait for each other in threads, and enough
    # threads must stay free for looking.
    try:
        form = await read_form(request, limits, photos=True)
        try:
            return await run_in_threadpool(_send, page, tools, request, form)
        finally:
            form.close()
    finally:
        uploads.release()


def _send(page: Page, tools: PageTools, request: Request, form: Form) -> Response:
    """Do what a form asks; what cannot be done is told in the form, which keeps what was typed."""
    assert page.send is not None
    try:
        return page.send(tools, request, form)
    except StashError as trouble:
        if page.again is None or wants_json(request):
            raise
        answered = page.again(tools, request, page.kept(form, trouble))
        answered.status_code = _status_of(trouble)
        return answered


def _status_of(trouble: StashError) -> int:
    if isinstance(trouble, NotFoundError):
        return 404
    if isinstance(trouble, ChangedElsewhereError):
        return 409
    return 500 if isinstance(trouble, StorageError) else 422


async def _missing(request: Request, trouble: Exception) -> Response:
    status = trouble.status_code if isinstance(trouble, HTTPException) else 500
    tools: PageTools | None = getattr(request.app.state, "tools", None)
    text = _WORDS.get(status, "The page does not answer to this.")
    if tools is None:
        return PlainTextResponse(text, status_code=status)
    return problem(tools, request, text, status)
