"""Workers that measure photos: none outlives its starter, none takes others along."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from stash.usecases.photos import measuring_crew
from stash.usecases.photos.log_batch import _why_lost
from stash.usecases.photos.measuring_crew import Lost, crew_results
from tests.running import REPO, run_stash

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills processes")
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(REPO)}
ENVIRONMENT.pop("STASH_TRACE", None)


# What the workers of these tests are asked to do; a worker finds them by this module's name.


def double(number: int) -> int:
    return 2 * number


def die(marker: str, times: int) -> str:
    """End this process without a word, so many times."""
    with Path(marker).open("a") as file:
        file.write("x")
    if Path(marker).stat().st_size <= times:
        os.kill(os.getpid(), signal.SIGKILL)
    return "at last"


def swallow() -> int:
    return len(bytes(8_000_000_000))


def stumble() -> None:
    raise ValueError("nobody thought of this")


def sleep_on() -> None:
    time.sleep(600)


def test_results_come_in_order_and_what_fails_takes_nobody_along(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("STASH_TRACE", raising=False)
    once, always = str(tmp_path / "once"), str(tmp_path / "always")
    jobs = [
        (double, (1,)), (die, (once, 1)), None, (swallow, ()), (die, (always, 9)), (stumble, ()),
        (double, (4,)),
    ]  # fmt: skip
    assert list(crew_results(jobs, workers=2)) == [
        2, "at last", None, Lost("too large", ""), Lost("died"),
        Lost("failed", "ValueError: nobody thought of this"), 8,
    ]  # fmt: skip
    assert Path(always).read_text() == "xx"  # once with the others, once alone


def test_a_job_that_takes_too_long_is_ended_and_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(measuring_crew, "_LONGEST_S", 1.0)
    started = time.monotonic()
    (first,) = crew_results([(sleep_on, ())], workers=1)
    assert first == Lost("too long")
    assert time.monotonic() - started < 300


def _below(parent: int) -> list[int]:
    """Give the processes that a process has started, and those they have."""
    found = []
    for place in Path("/proc").iterdir():
        if place.name.isdigit():
            with contextlib.suppress(OSError):
                fields = (place / "stat").read_text().rsplit(")", 1)[1].split()
                if int(fields[1]) == parent and fields[0] != "Z":
                    found += [int(place.name), *_below(int(place.name))]
    return found


STARTER = """
import signal
signal.signal(signal.SIGINT, signal.default_int_handler)  # even where the tests run without it
from tests.reliability.test_workers import sleep_on
from stash.usecases.photos.measuring_crew import crew_results
list(crew_results([(sleep_on, ())], workers=1))
"""


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are counted in /proc")
@pytest.mark.parametrize("with_what", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
def test_no_worker_outlives_its_starter(with_what: signal.Signals) -> None:
    starter = subprocess.Popen(
        [sys.executable, "-c", STARTER], env=ENVIRONMENT, stderr=subprocess.DEVNULL
    )
    give_up = time.monotonic() + 200
    while not (workers := _below(starter.pid)) and time.monotonic() < give_up:
        time.sleep(0.05)
    assert len(workers) == 1
    starter.send_signal(with_what)
    starter.wait(timeout=200)
    give_up = time.monotonic() + 200  # at once, but the machine may be busy
    while any(_lives(one) for one in workers) and time.monotonic() < give_up:
        time.sleep(0.05)
    assert [one for one in workers if _lives(one)] == []


def _lives(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def test_a_photo_whose_worker_dies_is_told_and_the_batch_goes_on(tmp_path: Path) -> None:
    for name in ("a.jpg", "b.jpg"):
        (tmp_path / name).write_bytes(b"no photo at all")
    home = tmp_path / "stash"
    card = run_stash("card", "add", "desk", "--kind", "chart24", "--pitch", "0.55", home=home)
    assert card.returncode == 0
    done = run_stash("log", tmp_path, home=home)
    assert done.returncode == 1
    assert done.stdout.startswith("a.jpg: not logged. ")
    assert "b.jpg: not logged. " in done.stdout
    assert _why_lost(tmp_path / "a.jpg", Lost("died")) == (
        "a.jpg was not measured: measuring it ended without a word, twice; the system may be short "
        "of memory. Photograph the scraps again, or make it smaller."
    )
