"""A real page for tests: the command in a process of its own, and raw talk with it."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import httpx

from tests.running import REPO

_TOKEN = re.compile(r'name="token" value="([0-9a-f]+)"')


@dataclass
class Served:
    """A page that runs, and a browser's memory of its cookie."""

    address: str
    join: str | None
    process: subprocess.Popen[str]
    client: httpx.Client = field(init=False)

    def __post_init__(self) -> None:
        self.client = httpx.Client(base_url=self.address, timeout=120)

    @property
    def port(self) -> int:
        port = urlsplit(self.address).port
        assert port is not None
        return port

    @property
    def host(self) -> str:
        return f"127.0.0.1:{self.port}"

    def token(self, path: str = "/pair") -> str:
        """Load a page and take the token its forms carry."""
        found = _TOKEN.search(self.client.get(path).text)
        assert found is not None
        return found[1]

    def post(self, path: str, **fields: str) -> httpx.Response:
        """Send a form as our own pages do."""
        return self.client.post(path, data={"token": self.token(), **fields})

    def raw(self, request: bytes, *, wait_s: float = 60) -> bytes:
        """Send bytes as they are and give all that comes back until the line is closed."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=wait_s) as line:
            line.sendall(request)
            return read_all(line)

    def status(self, request: bytes) -> int:
        """Send bytes as they are and give the status of the answer."""
        return int(self.raw(request).split(b" ", 2)[1])

    def memory_kb(self) -> int:
        """Give the most memory the process ever held."""
        text = Path(f"/proc/{self.process.pid}/status").read_text()
        return int(re.findall(r"VmHWM:\s+(\d+) kB", text)[0])

    def kill(self) -> None:
        """End it without a word, as a power cut does."""
        self.client.close()
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        if self.process.stdout is not None:
            self.process.stdout.close()


def read_all(line: socket.socket) -> bytes:
    """Read until the other side closes."""
    parts = []
    try:
        while part := line.recv(65536):
            parts.append(part)
    except ConnectionResetError:
        pass
    return b"".join(parts)


def start(home: Path, *options: str, port: int = 0) -> Served:
    """Run ``stash web`` on a stash and wait until it answers."""
    command = [sys.executable, "-m", "stash", "web", "--home", str(home), "--port", str(port)]
    process = subprocess.Popen(
        [*command, "--no-browser", "--json", *options],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={
            **os.environ,
            "OMP_NUM_THREADS": "1",
            "PYTHONPATH": str(REPO),
            "STASH_SETTINGS": str(home.with_name(f"{home.name}-settings.toml")),
        },
    )
    assert process.stdout is not None
    text = ""
    for line in process.stdout:
        text += line
        if line.startswith("}"):
            break
    said = json.loads(text)
    served = Served(said["address"], said["join"], process)
    until = time.monotonic() + 120
    while time.monotonic() < until:
        try:
            served.client.get("/static/icon.svg")
            return served
        except httpx.TransportError:
            time.sleep(0.05)
    raise AssertionError("the page did not answer")


@contextmanager
def serving(home: Path, *options: str, port: int = 0) -> Iterator[Served]:
    """Run ``stash web`` for the length of a test."""
    served = start(home, *options, port=port)
    try:
        yield served
    finally:
        served.client.close()
        served.process.terminate()
        served.process.wait(timeout=120)
        if served.process.stdout is not None:
            served.process.stdout.close()
