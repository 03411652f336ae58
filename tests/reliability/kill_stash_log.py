"""Kills the real ``stash log`` at random moments, runs it again, and counts what was lost.

Run as ``python tests/reliability/kill_stash_log.py --kills 10``; prints one JSON line and ends
with 1 if anything acknowledged was lost or the last run does not complete the stash.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from stash.demo.laying import Leftover
from stash.demo.scene import SceneSpec, render_scene
from stash.wiring import open_store

ROOT = Path(__file__).resolve().parents[2]
FABRICS = ("deep water", "pilot stripe", "harbour chambray")
LOGGED = re.compile(r"^(\S+\.jpg): (?:already )?logged", re.MULTILINE)


@dataclass
class Tally:
    """What was seen over all kills."""

    kills: int = 0
    acknowledged: int = 0
    unkilled_s: float = 0.0
    faults: list[str] = field(default_factory=list)


def _stash(*words: object, home: Path) -> subprocess.Popen[str]:
    environment = {
        **os.environ, "PYTHONPATH": str(ROOT), "STASH_HOME": str(home), "OMP_NUM_THREADS": "1",
    }  # fmt: skip
    return subprocess.Popen(
        [sys.executable, "-m", "stash", *map(str, words)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
    )


def make_photos(folder: Path, count: int) -> list[Path]:
    """Render small photos of a few scraps each."""
    paths = []
    for seed in range(count):
        leftovers = tuple(Leftover(fabric, "square", 3.0) for fabric in FABRICS)
        scene = render_scene(
            SceneSpec(leftovers, size_px=(1200, 900), board_in=(14.0, 10.5)), seed=seed
        )
        path = folder / f"table-{seed}.jpg"
        path.write_bytes(scene.jpeg())
        paths.append(path)
    return paths


def _begin(home: Path) -> None:
    card = _stash("card", "add", "desk", "--kind", "chart24", "--pitch", "0.55", home=home)
    _, problem = card.communicate()
    if card.returncode:
        raise RuntimeError(problem)


def _kill_once(
    home: Path, photos: Sequence[Path], wait_s: float, said: set[str], tally: Tally
) -> None:
    process = _stash("log", *photos, home=home)
    time.sleep(wait_s)
    process.kill()
    out, _ = process.communicate()
    said.update(LOGGED.findall(out))
    tally.kills += 1
    store = open_store(home)
    there = {photo.file_name for photo in store.photos()}
    tally.faults += [f"{name} was acknowledged and is lost" for name in said - there]
    tally.faults += [f.text for f in store.check() if f.kind != "orphan"]
    store.database.close()


def kill_many(kills: int, *, seed: int, photo_count: int = 3, runs_a_home: int = 4) -> Tally:
    """Kill so many times; every home is then completed by a run that is left alone."""
    rng, tally = random.Random(seed), Tally()
    with tempfile.TemporaryDirectory(prefix="stash-kills-") as place:
        photos = make_photos(Path(place), photo_count)
        whole = Path(place) / "whole"
        _begin(whole)
        started = time.monotonic()
        expected = _complete(whole, photos, tally)
        tally.unkilled_s = round(time.monotonic() - started, 1)
        while tally.kills < kills:
            home = Path(place) / f"home {tally.kills}"
            _begin(home)
            said: set[str] = set()
            for _ in range(min(runs_a_home, kills - tally.kills)):
                _kill_once(home, photos, rng.uniform(0, tally.unkilled_s), said, tally)
            tally.acknowledged += len(said)
            held = _complete(home, photos, tally)
            if held != expected:
                unlike = [
                    one[0] for one, other in zip(held, expected, strict=False) if one != other
                ]
                tally.faults.append(
                    f"{len(held)} scraps, {len(expected)} in a stash never killed; unlike: {unlike}"
                )
    return tally


def _complete(home: Path, photos: Sequence[Path], tally: Tally) -> list[tuple[object, ...]]:
    """Log until done and give what the stash then holds, in the order of the photos."""
    process = _stash("log", *photos, home=home)
    out, problem = process.communicate()
    if process.returncode:
        tally.faults.append(f"the last run ends with {process.returncode}: {out} {problem}")
    store = open_store(home)
    tally.faults += [f"after mending: {f.text}" for f in store.check(mend=True)]
    names = {photo.sha256: photo.file_name for photo in store.photos()}
    held = sorted(
        (names[scrap.photo or ""], scrap.outline.points, scrap.appearance.reads_as)
        for scrap in store.scraps()
    )
    store.database.close()
    return list(held)


def main() -> None:
    """Run from the command line."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--kills", type=int, default=10)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    tally = kill_many(given.kills, seed=given.seed)
    print(json.dumps({**vars(tally), "faults": tally.faults[:20]}))
    raise SystemExit(1 if tally.faults else 0)


if __name__ == "__main__":
    main()
