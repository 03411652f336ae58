"""Connections that say nothing keep nobody out, and other users of this computer get nothing."""

from __future__ import annotations

import asyncio
import os
import signal
import socket
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from uvicorn.server import ServerState

from stash.web.door import line
from stash.web.door.line import MOST_OF_OTHERS, TimedConnection, owner_of
from stash.web.server import open_sockets

PHONE, OWNER = ("192.168.1.9", 40000), ("127.0.0.1", 40000)
HEAD = b"GET / HTTP/1.1\r\nHost: x\r\n"


class Wire(asyncio.Transport):
    """A connection as the server sees it: who is there, what was answered, whether it is open."""

    def __init__(self, peer: tuple[str, int]) -> None:
        super().__init__({"peername": peer, "sockname": ("127.0.0.1", 8765)})
        self.open, self.said = True, b""

    def close(self) -> None:
        self.open = False

    def is_closing(self) -> bool:
        return not self.open

    def write(self, data: Any) -> None:
        self.said += bytes(data)

    def pause_reading(self) -> None: ...

    def resume_reading(self) -> None: ...


async def slow(scope: Any, receive: Any, send: Any) -> None:
    await asyncio.sleep(0.3)
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"ok"})


def lines(
    monkeypatch: pytest.MonkeyPatch, mine: Callable[..., bool] = lambda client, server: True
) -> Callable[[tuple[str, int]], tuple[TimedConnection, Wire]]:
    monkeypatch.setattr(line, "HEAD_S", 0.1)
    monkeypatch.setattr(line, "_is_mine", mine)
    config = uvicorn.Config(slow, http=TimedConnection, lifespan="off", log_config=None)
    config.load()
    state = ServerState()

    def made(peer: tuple[str, int]) -> tuple[TimedConnection, Wire]:
        one, wire = TimedConnection(config=config, server_state=state, app_state={}), Wire(peer)
        one.connection_made(wire)
        return one, wire

    return made


def test_a_line_on_which_nothing_is_asked_is_closed(monkeypatch: pytest.MonkeyPatch) -> None:
    async def tried() -> list[bool]:
        connect = lines(monkeypatch)
        silent, dribbling, asking = connect(PHONE), connect(OWNER), connect(OWNER)
        dribbling[0].data_received(HEAD)
        asking[0].data_received(HEAD + b"\r\n")
        early = [wire.open for _, wire in (silent, dribbling, asking)]
        await asyncio.sleep(0.05)
        dribbling[0].data_received(b"X-More: 1\r\n")  # a line now and then is no request
        await asyncio.sleep(0.15)
        return [*early, *(wire.open for _, wire in (silent, dribbling, asking))]

    assert asyncio.run(tried()) == [True, True, True, False, False, True]


def test_an_answer_that_takes_long_is_given_and_the_next_head_is_waited_for_as_long(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async def tried() -> tuple[bytes, bool, bool]:
        one, wire = lines(monkeypatch)(OWNER)
        one.data_received(HEAD + b"\r\n")
        while not wire.said:  # after 0.3 s, longer than a line may be silent
            await asyncio.sleep(0.01)
        answered, opened = wire.said, wire.open
        one.data_received(HEAD)
        await asyncio.sleep(0.2)
        return answered, opened, wire.open

    answered, opened, still = asyncio.run(tried())
    assert answered.startswith(b"HTTP/1.1 200")
    assert (opened, still) == (True, False)


def test_silent_lines_of_others_leave_room_for_the_owner(monkeypatch: pytest.MonkeyPatch) -> None:
    async def tried() -> tuple[int, bool]:
        connect = lines(monkeypatch)
        wires = [connect(PHONE)[1] for _ in range(200)]
        return sum(wire.open for wire in wires), connect(OWNER)[1].open

    assert asyncio.run(tried()) == (MOST_OF_OTHERS, True)


def test_the_owner_is_answered_beside_a_crowd_of_silent_lines(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from stash.web.server import _REQUESTS_AT_ONCE

    assert MOST_OF_OTHERS + 40 <= _REQUESTS_AT_ONCE


@pytest.mark.skipif(
    not Path("/proc/net/tcp").exists() or not hasattr(os, "getuid") or os.getuid() != 0,
    reason="only the keeper of a Linux system can ask as somebody else",
)
def test_who_opened_a_line_on_this_computer_is_known_and_only_the_owner_answered(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    nobody = 65534
    (listening,) = open_sockets(0)
    server = listening.getsockname()
    told, tell = os.pipe()
    other = os.fork()
    if other == 0:
        try:
            os.setuid(nobody)
            theirs = socket.socket()
            theirs.connect(server)
            os.write(tell, str(theirs.getsockname()[1]).encode())
            time.sleep(60)
        finally:
            os._exit(0)
    os.close(tell)  # should the other end, reading ends too
    try:
        with socket.create_connection(server) as own:
            theirs_at, mine_at = ("127.0.0.1", int(os.read(told, 16))), own.getsockname()
            assert owner_of(theirs_at, server) == nobody
            assert owner_of(mine_at, server) == os.getuid()
            assert owner_of(("127.0.0.1", 1), server) is None
            assert not line._is_mine(theirs_at, server)
            assert line._is_mine(mine_at, server)
    finally:
        os.kill(other, signal.SIGKILL)
        os.waitpid(other, 0)
        os.close(told)
        listening.close()


def test_a_line_of_another_user_is_closed_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    async def tried(owner: int | None) -> bool:
        monkeypatch.setattr(line, "owner_of", lambda client, server: owner)
        return lines(monkeypatch, judged)(OWNER)[1].open

    judged = line._is_mine
    monkeypatch.setattr(line, "owners_are_told", lambda: True)
    me = os.getuid() if hasattr(os, "getuid") else 0
    assert [asyncio.run(tried(owner)) for owner in (me, me + 1, None)] == [True, False, False]


@pytest.mark.skipif(not Path("/proc/net/tcp").exists(), reason="lines have owners on Linux only")
def test_a_line_whose_sender_is_gone_before_it_is_taken_is_nobodys() -> None:
    (listening,) = open_sockets(0)
    server = listening.getsockname()
    with socket.create_connection(server) as blind:
        theirs = blind.getsockname()
        blind.sendall(b"POST /scraps HTTP/1.1\r\n\r\n")
    # The system soon forgets whose it was and says user 0: the keeper of the computer.
    until = time.monotonic() + 60
    while owner_of(theirs, server) is not None and time.monotonic() < until:
        time.sleep(0.02)
    assert owner_of(theirs, server) is None
    assert not line._is_mine(theirs, server)
    listening.close()
