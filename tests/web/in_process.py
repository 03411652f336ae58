"""The pages asked in this process, through their gate: quicker than a server for every question."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import anyio
import httpx
from anyio.abc import TaskStatus
from anyio.from_thread import BlockingPortal, start_blocking_portal
from starlette.types import ASGIApp, Message


class Browser:
    """A browser on this computer: asks, sends, keeps its cookie, follows nothing by itself."""

    def __init__(self, portal: BlockingPortal, app: ASGIApp, address: str) -> None:
        self._portal = portal
        transport = httpx.ASGITransport(app=app, client=("127.0.0.1", 50000))
        self._client = httpx.AsyncClient(transport=transport, base_url=address)

    def get(self, path: str) -> httpx.Response:
        """Ask for a page."""
        return self._portal.call(self._client.get, path)

    def post(self, path: str, fields: dict[str, str]) -> httpx.Response:
        """Send a form."""

        async def sent() -> httpx.Response:
            return await self._client.post(path, data=fields)

        return self._portal.call(sent)


@contextmanager
def browsing(app: ASGIApp, address: str) -> Iterator[Browser]:
    """Begin the application, give a browser on it, and end it."""
    with start_blocking_portal() as portal:
        ending, ended = portal.start_task(_alive, app)
        try:
            yield Browser(portal, app, address)
        finally:
            portal.call(ended.set)
            ending.result()


async def _alive(app: ASGIApp, *, task_status: TaskStatus[anyio.Event]) -> None:
    ended, begun = anyio.Event(), False

    async def receive() -> Message:
        nonlocal begun
        if begun:
            await ended.wait()
            return {"type": "lifespan.shutdown"}
        begun = True
        return {"type": "lifespan.startup"}

    async def send(message: Message) -> None:
        if message["type"] == "lifespan.startup.complete":
            task_status.started(ended)

    scope: dict[str, Any] = {"type": "lifespan", "asgi": {"version": "3.0"}, "state": {}}
    await app(scope, receive, send)
