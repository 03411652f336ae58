"""Kills a logging process at random moments and counts what was lost.

Run as ``python tests/reliability/kill_while_logging.py --kills 1000``; prints one JSON line and
ends with 1 if anything acknowledged was lost, half logged, damaged or left lying about.
"""

from __future__ import annotations

import argparse
import functools
import json
import os
import random
import shutil
import signal
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

from stash.usecases.ports import PhotoToLog
from stash.wiring import open_store
from tests.storage.made_records import made_photo

CHECKED = 5  # every so many kills the stash is looked over whole
PHOTOS = 20  # logged in one process, were it not killed


@dataclass
class Tally:
    """What was seen over all kills."""

    kills: int = 0
    finished_first: int = 0
    acknowledged: int = 0
    logged_unsaid: int = 0
    faults: list[str] = field(default_factory=list)


@functools.cache
def _photo(seed: int) -> PhotoToLog:
    return made_photo(seed)


def start_logging(home: Path, first: int) -> tuple[int, int]:
    """Fork a process that logs photos and names each once it is kept; give its id and its pipe."""
    photos = [(seed, _photo(seed)) for seed in range(first, first + PHOTOS)]
    reading, writing = os.pipe()
    child = os.fork()
    if child:
        os.close(writing)
        return child, reading
    try:
        store = open_store(home)
        for seed, photo in photos:
            store.log_photo(photo)
            os.write(writing, b"%d\n" % seed)
    finally:
        os._exit(0)


def kill_once(home: Path, rng: random.Random, first: int, tally: Tally, longest_s: float) -> None:
    """Log, kill at a random moment after a random photo, and hold the stash against what was said.

    Waiting for a photo, not for a time alone, hits the middle however busy the machine is.
    """
    child, reading = start_logging(home, first)
    with os.fdopen(reading) as pipe:
        heard = [pipe.readline() for _ in range(rng.randrange(PHOTOS))]
        time.sleep(rng.uniform(0.0, longest_s))
        os.kill(child, signal.SIGKILL)
        said = [int(line) for line in [*heard, *pipe] if line.strip()]
    os.waitpid(child, 0)
    tally.kills += 1
    tally.finished_first += len(said) == PHOTOS
    tally.acknowledged += len(said)
    _judge(home, first, said, tally)


def _judge(home: Path, first: int, said: list[int], tally: Tally) -> None:
    store = open_store(home)
    logged = {photo.sha256 for photo in store.photos()}
    by_photo: dict[str | None, int] = {}
    for scrap in store.scraps():
        by_photo[scrap.photo] = by_photo.get(scrap.photo, 0) + 1
    for seed in range(first, first + PHOTOS):
        photo = _photo(seed)
        there = photo.sha256 in logged
        if seed in said and not there:
            tally.faults.append(f"photo {seed} was acknowledged and is lost")
        if there and by_photo.get(photo.sha256, 0) != len(photo.scraps):
            tally.faults.append(f"photo {seed} is half logged")
        tally.logged_unsaid += there and seed not in said
    if tally.kills % CHECKED == 0:  # damage of the kills between is still there by then
        tally.faults += [f.text for f in store.check() if f.kind != "orphan"]
    store.database.close()


def settle(home: Path, tally: Tally, *, first: int, count: int) -> None:
    """Mend, log everything again, and demand a stash without a speck."""
    store = open_store(home)
    tally.faults += [f"after mending: {f.text}" for f in store.check(mend=True)]
    for seed in range(first, first + count):
        store.log_photo(_photo(seed))
    tally.faults += [f"after the second run: {f.text}" for f in store.check(mend=True)]
    if len(store.photos()) != count:
        tally.faults.append(f"{len(store.photos())} photos after the second run, not {count}")
    store.database.close()


def kill_many(kills: int, *, seed: int, longest_s: float, same_home: int = 10) -> Tally:
    """Kill so many times, a fresh folder after every ``same_home`` kills."""
    rng = random.Random(seed)
    tally = Tally()
    while tally.kills < kills:
        home = Path(tempfile.mkdtemp(prefix="stash-kills-"))
        try:
            runs = min(same_home, kills - tally.kills)
            for run in range(runs):
                kill_once(home / "stash", rng, run * PHOTOS, tally, longest_s)
            settle(home / "stash", tally, first=0, count=runs * PHOTOS)
        finally:
            shutil.rmtree(home)
    return tally


def main() -> None:
    """Run from the command line."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--kills", type=int, default=50)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--longest", type=float, default=0.05, help="seconds after that photo")
    given = options.parse_args()
    tally = kill_many(given.kills, seed=given.seed, longest_s=given.longest)
    print(json.dumps({**vars(tally), "faults": tally.faults[:20]}))
    raise SystemExit(1 if tally.faults else 0)


if __name__ == "__main__":
    main()
