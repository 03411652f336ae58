"""Runs the page on this computer until it is stopped."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Callable
from typing import cast

import uvicorn

from stash.errors import StashError
from stash.usecases.ports import Store
from stash.web.app import make_app
from stash.web.door.addresses import Door
from stash.web.door.line import TimedConnection
from stash.web.practice import Practice

__all__ = ["NoNetworkError", "PortTakenError", "lan_address", "open_sockets", "serve"]

_REQUESTS_AT_ONCE = 120
_HEADER_BYTES = 32_000
_FAREWELL_S = 5
_PATIENCE_S = 5.0


class PortTakenError(StashError):
    """Another program, perhaps this page itself, already answers at the port.

    Attributes
    ----------
    port, free : int
        The port asked for, and one that is free.
    """

    def __init__(self, port: int, free: int) -> None:
        self.port, self.free = port, free
        super().__init__(
            f"Port {port} is taken; perhaps the page is already open there. Use that one.",
            at_terminal=f"Or start another with: stash web --port {free}",
        )


class NoNetworkError(StashError):
    """The computer is in no network a phone could share."""

    def __init__(self) -> None:
        super().__init__(
            "This computer is in no network now, so no phone can reach it. Connect it to your "
            "home network first."
        )


def lan_address() -> str:
    """Find this computer's address in the home network; nothing is sent.

    Raises
    ------
    NoNetworkError
        If there is none.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # TEST-NET-1 (RFC 5737): choosing a route to it tells which of our addresses is used.
            probe.connect(("192.0.2.1", 9))
            address = str(probe.getsockname()[0])
        except OSError:
            raise NoNetworkError from None
    if address.startswith(("127.", "0.")):
        raise NoNetworkError
    return address


def open_sockets(port: int, lan: str = "") -> list[socket.socket]:
    """Listen on this computer's own address and, if given, on its home network address.

    Parameters
    ----------
    port : int
        0 takes any free one.
    lan : str
        The home network address; empty for none.

    Raises
    ------
    PortTakenError
        If the port is in use; names a free one.
    """
    opened = [_listen("127.0.0.1", port)]
    try:
        if lan:
            opened.append(_listen(lan, opened[0].getsockname()[1]))
    except StashError:
        opened[0].close()
        raise
    return opened


def serve(
    open_store: Callable[[], Store],
    door: Door,
    sockets: list[socket.socket],
    practice: Practice | None = None,
) -> None:
    """Answer until Ctrl-C."""
    config = uvicorn.Config(
        make_app(open_store, door, practice),
        log_level="error",
        access_log=False,
        # No proxy stands in front: a header must not make a stranger look local.
        proxy_headers=False,
        server_header=False,
        ws="none",
        http=TimedConnection,
        lifespan="on",
        limit_concurrency=_REQUESTS_AT_ONCE,
        h11_max_incomplete_event_size=_HEADER_BYTES,
        timeout_graceful_shutdown=_FAREWELL_S,
    )
    server = _Server(config)
    server.in_network = sockets[1:]
    door.listen = lambda: server.listen_in_network(door.settings.port)
    door.deafen = server.leave_network
    server.run(sockets=sockets)


class _Server(uvicorn.Server):
    """The server, which can begin and end to listen in the home network while it runs."""

    in_network: list[socket.socket]
    _loop: asyncio.AbstractEventLoop

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin to answer."""
        self._loop = asyncio.get_running_loop()
        await super().startup(sockets)

    def listen_in_network(self, port: int) -> str:
        """Listen in the home network as well, asked from another thread; gives the address."""
        address = lan_address()
        made = _listen(address, port)
        asyncio.run_coroutine_threadsafe(self._listen_also(made), self._loop).result(_PATIENCE_S)
        self.in_network.append(made)
        return address

    def leave_network(self) -> None:
        """Listen to this computer only."""
        asyncio.run_coroutine_threadsafe(self._leave(), self._loop).result(_PATIENCE_S)

    async def _listen_also(self, made: socket.socket) -> None:
        def answer() -> asyncio.Protocol:
            """Make the protocol that speaks with one browser."""
            kind = cast("Callable[..., asyncio.Protocol]", self.config.http_protocol_class)
            return kind(
                config=self.config, server_state=self.server_state, app_state=self.lifespan.state
            )

        backlog = self.config.backlog
        self.servers.append(await self._loop.create_server(answer, sock=made, backlog=backlog))

    async def _leave(self) -> None:
        left = {made.fileno() for made in self.in_network}
        for server in self.servers:
            if any(own.fileno() in left for own in server.sockets):
                server.close()
        for made in self.in_network:
            made.close()
        self.in_network.clear()


def _listen(address: str, port: int) -> socket.socket:
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((address, port))
        made.listen(128)
    except (OSError, OverflowError):
        made.close()
        raise PortTakenError(port, _free_port()) from None
    return made


def _free_port() -> int:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
