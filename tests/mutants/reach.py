"""Which tests reach which functions: a plugin of pytest, and the same in the processes it starts.

Every function of ours that is entered is written down once per test, at once, so that a process
that is killed has told it too.
"""

from __future__ import annotations

import os
import sys
import threading
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

NOTES = "STASH_REACH"
_ROOT = str(Path(__file__).resolve().parents[2])
_OURS = os.path.join(_ROOT, "stash") + os.sep  # noqa: PTH118 - runs for every call there is


class _Follower:
    def __init__(self, notes: str) -> None:
        self._notes = os.open(notes, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        self._seen: set[CodeType] = set()
        self._test = ""
        # Kept here: at the very end the module's own names are gone.
        self._root, self._ours = _ROOT, _OURS

    def begin(self, test: str) -> None:
        self._test, self._seen = test, set()

    def tell(self, line: str) -> None:
        os.write(self._notes, line.encode())

    def __call__(self, frame: FrameType, event: str, arg: Any) -> None:
        code = frame.f_code
        if code in self._seen:
            return
        self._seen.add(code)
        if code.co_filename.startswith(self._ours):
            module = code.co_filename[len(self._root) + 1 :]
            self.tell(f"{self._test}\t{module}\t{code.co_qualname.split('.<locals>')[0]}\n")


def follow() -> _Follower | None:
    """Begin to write down what is entered, if the environment says where."""
    notes = os.environ.get(NOTES)
    if not notes:
        return None
    follower = _Follower(notes)
    follower.begin(os.environ.get("PYTEST_CURRENT_TEST", ""))
    sys.settrace(follower)
    threading.settrace(follower)
    return follower


class Plugin:
    """Tell the follower which test runs; what a fixture needs counts for its whole file."""

    def __init__(self) -> None:
        self._follower = follow()
        self._began_s = _used_s()

    def pytest_runtest_logstart(self, nodeid: str, location: object) -> None:
        self._began_s = _used_s()
        if self._follower is not None:
            self._follower.begin(f"{nodeid} (setup)")
            sys.settrace(self._follower)

    def pytest_runtest_call(self, item: Any) -> None:
        if self._follower is not None:
            self._follower.begin(f"{item.nodeid} (call)")
            sys.settrace(self._follower)

    def pytest_runtest_logreport(self, report: Any) -> None:
        # By the processor: what others do on the machine makes no test longer.
        took_s, self._began_s = _used_s() - self._began_s, _used_s()
        if self._follower is not None:
            self._follower.tell(
                f"{report.nodeid}\ttook\t{report.when}\t{took_s:.4f}\t{report.outcome}\n"
            )


def _used_s() -> float:
    """Give the processor time of this process and of those it started that have ended."""
    used = os.times()
    return used.user + used.system + used.children_user + used.children_system


def pytest_configure(config: Any) -> None:
    config.pluginmanager.register(Plugin(), "reach-of-tests")
