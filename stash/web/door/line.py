"""One connection to the page: judged when it is made, and let go when it stays silent."""

from __future__ import annotations

import asyncio
import os
from pathlib import Path
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

__all__ = ["TimedConnection", "owner_of", "owners_are_told"]

# A phone on a poor network sends its few lines within a second or two; judgement.
HEAD_S = 15.0
# Connections of other devices at once: a dozen phones, each with the six lines browsers open. What
# is left of the server's own limit is this computer's.
MOST_OF_OTHERS = 72
_LOOPBACK = ("127.", "::1")
_TABLE = Path("/proc/net/tcp")  # Linux only, proc_net_tcp(5)
_UID_COLUMN, _INODE_COLUMN = 7, 9


class TimedConnection(H11Protocol):
    """A line that is closed unless a request has begun within ``HEAD_S``.

    Others than this computer get ``MOST_OF_OTHERS`` lines together, so that silent ones never keep
    its owner out; and of this computer's users only the one who runs the page is answered.
    """

    _silence: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take the line, or close it at once."""
        super().connection_made(transport)
        if self._is_local():
            if not _is_mine(self.client, self.server):
                transport.close()
                return
        elif sum(not one._is_local() for one in self._lines()) > MOST_OF_OTHERS:
            transport.close()
            return
        self._wait_for_a_request()

    def data_received(self, data: bytes) -> None:
        """Take what comes; a request that is all there ends the wait for it."""
        super().data_received(data)
        if self._is_asking():
            self._wait_no_more()
        elif self._silence is None:
            self._wait_for_a_request()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget the line."""
        self._wait_no_more()
        super().connection_lost(exc)

    def _lines(self) -> list[TimedConnection]:
        return [one for one in self.connections if isinstance(one, TimedConnection)]

    def _is_local(self) -> bool:
        return self.client is not None and self.client[0].startswith(_LOOPBACK)

    def _is_asking(self) -> bool:
        return self.cycle is not None and not self.cycle.response_complete

    def _wait_for_a_request(self) -> None:
        self._silence = self.loop.call_later(HEAD_S, self._let_go)

    def _wait_no_more(self) -> None:
        if self._silence is not None:
            self._silence.cancel()
            self._silence = None

    def _let_go(self) -> None:
        self._silence = None
        if not self._is_asking():
            self.transport.close()


def owners_are_told() -> bool:
    """Whether this system tells who opened a connection on it; elsewhere the gate asks for more."""
    return hasattr(os, "getuid") and _TABLE.exists()


def _is_mine(client: tuple[str, int] | None, server: tuple[str, int | None] | None) -> bool:
    """Whether the user who runs the page, or the computer's keeper, opened a line to it.

    Nobody's line is refused: who sends and is gone before it is taken shall do nothing.
    """
    if not owners_are_told():
        return True
    if client is None or server is None or server[1] is None:
        return False
    return owner_of(client, (server[0], server[1])) in (os.getuid(), 0)


def owner_of(client: tuple[str, int], server: tuple[str, int]) -> int | None:
    """Give the number of the user who opened a connection on this computer.

    Returns
    -------
    int or None
        None where the system does not tell: other systems than Linux, or a line whose other end
        was closed. Such a row says user 0 and has no inode any more.

    Notes
    -----
    Each end of a connection on the loopback has a row of its own in the kernel's table; the row of
    the client's end carries its owner. Addresses stand there as little-endian hexadecimal.
    """
    wanted = [_as_in_table(*client), _as_in_table(*server)]
    try:
        rows = _TABLE.read_text(encoding="ascii").splitlines()[1:]
    except OSError:
        return None
    for row in rows:
        columns: list[Any] = row.split()
        if columns[1:3] == wanted and columns[_INODE_COLUMN] != "0":
            return int(columns[_UID_COLUMN])
    return None


def _as_in_table(address: str, port: int) -> str:
    parts = address.split(".")
    if len(parts) != 4:
        return ""
    return "".join(f"{int(part):02X}" for part in reversed(parts)) + f":{port:04X}"
