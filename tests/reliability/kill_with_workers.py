"""Kills ``stash log`` while its workers measure, and looks for what it leaves behind.

Run as ``python -m tests.reliability.kill_with_workers --kills 500``; prints one JSON line and ends
with 1 if two seconds after a kill one of its processes is left, if shared memory or a temporary
file is, or if an acknowledged photo is lost. The command is forked from a process that has read the
libraries, its workers start as always. Every process is known by a word in its environment, however
it came about and whoever is its parent by then.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import random
import re
import shutil
import signal
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

from stash.demo.laying import Leftover
from stash.demo.scene import SceneSpec, render_scene
from stash.wiring import open_store
from tests import loaded
from tests.running import run_stash

SHARED_MEMORY = Path("/dev/shm")
NOT_OURS = "PostgreSQL."  # a database server that runs beside it
LOGGED = re.compile(r"^(\S+\.jpg): (?:already )?logged", re.MULTILINE)
SIGNALS = (*[signal.SIGKILL] * 5, signal.SIGTERM, signal.SIGINT, signal.SIGHUP)
SOON = 0.3  # of the kills fall into the first part, while workers are only starting
PHOTOS = 4


@dataclass
class Tally:
    """What was seen over all kills."""

    kills: int = 0
    by_signal: dict[str, int] = field(default_factory=dict)
    with_workers: int = 0
    done_before: int = 0
    acknowledged: int = 0
    longest_left_s: float = 0.0
    unkilled_s: float = 0.0
    faults: list[str] = field(default_factory=list)


def make_photos(folder: Path) -> list[Path]:
    """Render small photos, one scrap each."""
    paths = []
    for seed in range(PHOTOS):
        scene = render_scene(
            SceneSpec(
                (Leftover("deep water", "square", 3.0),), size_px=(800, 600), board_in=(12.0, 9.0)
            ),
            seed=seed,
        )
        path = folder / f"table-{seed}.jpg"
        path.write_bytes(scene.jpeg())
        paths.append(path)
    return paths


def _begin(home: Path) -> None:
    done = run_stash("card", "add", "desk", "--kind", "chart24", "--pitch", "0.55", home=home)
    if done.returncode:
        raise RuntimeError(done.stderr)


def _start(photos: list[Path], home: Path, token: str, out: Path, own: Path) -> int:
    """Fork a ``stash log`` and give its process."""
    child = os.fork()
    if child:
        return child
    with contextlib.suppress(BaseException):
        os.setsid()
        for number in signal.SIGINT, signal.SIGTERM, signal.SIGHUP:
            signal.signal(
                number, signal.default_int_handler if number == signal.SIGINT else signal.SIG_DFL
            )
        os.environ |= {
            "STASH_HOME": str(home), "STASH_SETTINGS": os.devnull, "STASH_TOKEN": token,
            "TMPDIR": str(own), "OMP_NUM_THREADS": "1",
        }  # fmt: skip
        said = os.open(out, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(said, 1)
        os.dup2(said, 2)
        sys.stdout = open(1, "w", closefd=False)  # noqa: SIM115
        sys.stderr = open(2, "w", closefd=False)  # noqa: SIM115
        sys.argv = ["stash", "log", *map(str, photos)]
        from stash.__main__ import main

        try:
            main()
        except SystemExit as end:
            sys.stdout.flush()
            os._exit(end.code if isinstance(end.code, int) else 1)
        sys.stdout.flush()
        os._exit(0)
    os._exit(70)


def alive_with(token: str) -> list[int]:
    """Give the living processes that carry a word in their environment."""
    word, found = f"STASH_TOKEN={token}".encode(), []
    for place in Path("/proc").iterdir():
        if place.name.isdigit():
            with contextlib.suppress(OSError):
                if word in (place / "environ").read_bytes().split(b"\0"):
                    found.append(int(place.name))
    return found


def _shared() -> set[str]:
    names = {path.name for path in SHARED_MEMORY.iterdir()} if SHARED_MEMORY.is_dir() else set()
    return {name for name in names if not name.startswith(NOT_OURS)}


class Killing:
    """One folder of photos, and stashes that are logged into and killed."""

    def __init__(self, place: Path, *, seed: int, patience_s: float) -> None:
        self.place, self.rng, self.patience_s = place, random.Random(seed), patience_s
        self.tally = Tally()
        self.own = place / "temporary"
        self.own.mkdir()
        self.photos = make_photos(place)

    def measure(self) -> None:
        """Log once without a kill, to know how long it takes."""
        home = self.place / "whole"
        _begin(home)
        started = time.monotonic()
        child = _start(self.photos, home, "whole", self.place / "out", self.own)
        _, status = os.waitpid(child, 0)
        self.tally.unkilled_s = round(time.monotonic() - started, 2)
        if status or len(LOGGED.findall((self.place / "out").read_text())) != PHOTOS:
            raise RuntimeError((self.place / "out").read_text())

    def once(self, home: Path) -> None:
        """Kill at a random moment; count what is left and what was said."""
        tally, token = self.tally, f"{os.getpid()}-{self.tally.kills}"
        shared_before = _shared()
        out = self.place / "out"
        child = _start(self.photos, home, token, out, self.own)
        longest = tally.unkilled_s * (SOON if self.rng.random() < SOON else 1.0)
        time.sleep(self.rng.uniform(0.0, longest))
        workers = len(set(alive_with(token)) - {child})
        number = self.rng.choice(SIGNALS)
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, number)
        killed = time.monotonic()
        ended = False  # after a signal that can be heard it tidies up first
        while True:
            ended = ended or os.waitpid(child, os.WNOHANG)[0] == child
            left = alive_with(token) + ([] if ended else [child])
            if not left or time.monotonic() - killed > self.patience_s:
                break
            time.sleep(0.01)
        tally.longest_left_s = max(tally.longest_left_s, round(time.monotonic() - killed, 3))
        tally.kills += 1
        tally.by_signal[number.name] = tally.by_signal.get(number.name, 0) + 1
        tally.with_workers += workers > 0
        if left:
            tally.faults.append(f"kill {tally.kills}, {number.name}: {len(left)} processes left")
            for one in left:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(one, signal.SIGKILL)
        if not ended:
            os.waitpid(child, 0)
        if extra := _shared() - shared_before:
            tally.faults.append(f"kill {tally.kills}: shared memory {sorted(extra)}")
        if extra := {path.name for path in self.own.iterdir()}:
            tally.faults.append(f"kill {tally.kills}: temporary files {sorted(extra)}")
        self._judge(home, set(LOGGED.findall(out.read_text())))

    def _judge(self, home: Path, said: set[str]) -> None:
        store = open_store(home)
        there = {photo.file_name for photo in store.photos()}
        store.database.close()
        self.tally.acknowledged += len(said)
        self.tally.done_before += len(said) == PHOTOS
        self.tally.faults += [f"{name} was acknowledged and is lost" for name in said - there]


def kill_many(kills: int, *, seed: int, patience_s: float = 2.0) -> Tally:
    """Kill so many times, each in a stash of its own; every tenth is looked over whole."""
    with tempfile.TemporaryDirectory(prefix="stash-kills-") as place:
        killing = Killing(Path(place), seed=seed, patience_s=patience_s)
        killing.measure()
        fresh = Path(place) / "fresh"
        _begin(fresh)
        for turn in range(kills):
            home = Path(place) / f"home {turn}"
            shutil.copytree(fresh, home)
            killing.once(home)
            if turn % 10 == 0:
                store = open_store(home)
                found = [one.text for one in store.check() if one.kind != "orphan"]
                killing.tally.faults += found
                store.database.close()
            shutil.rmtree(home)
        return killing.tally


def main() -> None:
    """Run from the command line."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--kills", type=int, default=10)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    loaded.read_all()
    tally = kill_many(given.kills, seed=given.seed)
    print(json.dumps({**vars(tally), "faults": tally.faults[:20]}))
    raise SystemExit(1 if tally.faults else 0)


if __name__ == "__main__":
    main()
