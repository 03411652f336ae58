"""Run the command line in a process of its own whose libraries are read already.

Reading them takes most of a command's time, and the tests run a thousand commands. A server reads
all of ``stash`` once and forks for each command; the child gets its own words, environment, folder
and files and ends as any process does. What starting itself must do is tested on cold processes.
"""

from __future__ import annotations

import atexit
import contextlib
import gc
import importlib
import io
import json
import os
import pkgutil
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryFile
from typing import IO, Any

REPO = Path(__file__).resolve().parents[1]
_MOST = 1 << 20  # bytes of one request


class Server:
    """A process that forks for each command; one command at a time."""

    def __init__(self) -> None:
        self._ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        with theirs:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "tests.loaded", str(theirs.fileno())],
                cwd=REPO,
                env={**os.environ, "PYTHONPATH": str(REPO)},
                pass_fds=[theirs.fileno()],
                stdin=subprocess.DEVNULL,
            )
        self._busy = threading.Lock()
        atexit.register(self.close)

    def free(self) -> bool:
        """Take the server, unless another thread has it."""
        return self._busy.acquire(blocking=False)

    def run(
        self, words: Sequence[str], env: Mapping[str, str], cwd: str, files: Sequence[IO[bytes]],
        timeout: float,
    ) -> int:  # fmt: skip
        """Run one command over three files; give its exit code and let the server go."""
        try:
            request = json.dumps({"words": list(words), "env": dict(env), "cwd": cwd})
            socket.send_fds(self._ours, [request.encode()], [file.fileno() for file in files])
            child = int(self._ours.recv(64))
            self._ours.settimeout(timeout)
            try:
                return os.waitstatus_to_exitcode(int(self._ours.recv(64)))
            except TimeoutError:
                os.kill(child, signal.SIGKILL)
                self._ours.settimeout(None)
                self._ours.recv(64)
                raise subprocess.TimeoutExpired(list(words), timeout) from None
            finally:
                self._ours.settimeout(None)
        finally:
            self._busy.release()

    def close(self) -> None:
        """Let the server end."""
        self._ours.close()
        self.process.wait(10)


_servers: dict[int, Server] = {}


def _server() -> Server:
    """Give the server of this very process: a fork of it must not share one."""
    if os.getpid() not in _servers:
        _servers[os.getpid()] = Server()
    return _servers[os.getpid()]


def can_run(environment: Mapping[str, str], options: Mapping[str, Any]) -> bool:
    """Say whether a command needs nothing that only a cold start gives."""
    told_at_start = any(name.startswith(("PYTHON", "LC_", "LANG")) for name in environment)
    return (
        sys.platform.startswith("linux")
        and not told_at_start
        and not set(options) - {"cwd", "input"}
    )


def run_loaded(
    words: Sequence[str], env: Mapping[str, str], cwd: str | Path | None = None,
    text: str | None = None, timeout: float = 600,
) -> subprocess.CompletedProcess[str] | None:  # fmt: skip
    """Run ``stash`` with these words; None when another thread runs one just now."""
    server = _server()
    if not server.free():
        return None
    with TemporaryFile() as given, TemporaryFile() as out, TemporaryFile() as err:
        given.write((text or "").encode())
        given.seek(0)
        code = server.run(words, env, os.fspath(cwd or Path.cwd()), [given, out, err], timeout)
        said = []
        for file in (out, err):
            file.seek(0)
            said.append(file.read().decode().replace("\r\n", "\n"))
    return subprocess.CompletedProcess(list(words), code, *said)


def _serve(place: int) -> dict[str, Any]:
    """Fork for each request; the child comes back from here with what it is to run."""
    with socket.socket(fileno=place) as theirs:
        while True:
            asked, files, _, _ = socket.recv_fds(theirs, _MOST, 3)
            if not asked:
                raise SystemExit(0)
            child = os.fork()
            if child == 0:
                for number, file in enumerate(files):
                    os.dup2(file, number)
                    os.close(file)
                order: dict[str, Any] = json.loads(asked)
                return order
            for file in files:
                os.close(file)
            theirs.send(str(child).encode())
            _, status = os.waitpid(child, 0)
            theirs.send(str(status).encode())


def read_all() -> None:
    """Read all modules, and what a command reads only when it runs."""
    for module in pkgutil.walk_packages([str(REPO / "stash")], "stash."):
        with contextlib.suppress(ImportError):  # parts that want something more
            importlib.import_module(module.name)
    from stash.__main__ import main

    sys.argv = ["stash", "scraps", "--home", os.devnull]
    with contextlib.redirect_stderr(io.StringIO()), contextlib.suppress(SystemExit):
        main()


def _main() -> None:
    place = int(sys.argv[1])
    read_all()
    gc.collect()
    gc.freeze()  # else every child writes to, and so copies, what it shares
    order = _serve(place)
    os.environ.clear()
    os.environ.update(order["env"])
    os.chdir(order["cwd"])
    sys.argv = ["stash", *order["words"]]
    from stash.__main__ import main

    main()


if __name__ == "__main__":
    _main()
