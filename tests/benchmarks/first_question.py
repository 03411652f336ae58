"""Time the first question about a piece: python -m tests.benchmarks.first_question 1000.

Logs that many scraps into a temporary folder, measured outlines turned and scaled at random where
the shared data holds some, else leftovers of our own; nothing but what logging leaves is stored.
Then asks `match` and `enough` for the first time, in processor seconds, each in a fresh process.
Prints one line of JSON.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from stash.colour.palette_words import palette_of_words
from stash.scrap import CardReport
from stash.shape.plane.outline import Outline, outline_of
from stash.usecases.ports import Document, PhotoToLog, ScrapToLog
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt
from stash.wiring import open_store
from tests.benchmarks.match_ten_thousand import WORDS, leftover, looks

REPO = Path(__file__).resolve().parents[2]
_CASES = Path(os.environ.get("STASH_SHARED", REPO.parent / "shared"), "data", "fit_cases.json")


def outlines(count: int, rng: np.random.Generator) -> list[Outline]:
    """Give measured outlines, each turned and scaled, or leftovers where there are none."""
    if not _CASES.exists():
        return [leftover(rng) for _ in range(count)]
    cases = json.loads(_CASES.read_text(encoding="utf-8"))["cases"]
    found = []
    for number in range(count):
        case = cases[number % len(cases)]
        turn, size = rng.uniform(0, 2 * np.pi), rng.uniform(0.6, 1.4)
        by = size * np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        rings = [(np.array(ring) @ by.T).tolist() for ring in (case["outer"], *case["holes"])]
        found.append(outline_of(rings[0], rings[1:], error_in=case["uncertainty_in"]))
    return found


def build(home: Path, count: int) -> None:
    """Log the scraps, fifty a photo, and plan two quilts."""
    rng = np.random.default_rng(5)
    store = open_store(home)
    palette = palette_of_words("tide", WORDS)
    store.keep_document(Document("palette", "tide", palette.to_dict()), why="benchmark")
    everything = outlines(count, rng)
    for photo in range(0, count, 50):
        data = b"\xff\xd8\xff\xe0" + photo.to_bytes(4, "big")
        scraps = tuple(
            ScrapToLog(one, looks(rng), washed=True) for one in everything[photo : photo + 50]
        )
        sha = hashlib.sha256(data).hexdigest()
        report = CardReport("chart24", 1.5, 3.0)
        store.log_photo(PhotoToLog(sha, f"{photo}.jpg", data, ".jpg", report, (), scraps))
    for name, charm in (("charm", True), ("scrappy", False)):
        asked = QuiltRequest(name, "square", "2", rows=10, across=8, charm=charm)
        make_quilt(store, asked)


def asked(home: Path, words: list[str]) -> float:
    """Ask in a process of its own; give its processor seconds."""
    before = os.times()
    subprocess.run(
        [sys.executable, "-m", "stash", *words, "--home", str(home), "--json"],
        check=True,
        stdout=subprocess.DEVNULL,
        cwd=REPO,
    )
    after = os.times()
    return (
        after.children_user
        + after.children_system
        - (before.children_user + before.children_system)
    )


def main(count: int) -> None:
    """Build and ask."""
    with tempfile.TemporaryDirectory() as place:
        home = Path(place, "stash")
        build(home, count)
        told: dict[str, float | int] = {"scraps": count}
        match = ["match", "--palette", "tide", "--template"]
        for name, words in (
            ("match_tumbler_first_s", [*match, "tumbler", "--size", "4"]),
            ("match_tumbler_again_s", [*match, "tumbler", "--size", "4"]),
            ("match_tumbler_other_size_s", [*match, "tumbler", "--size", "3"]),
            ("enough_charm_first_s", ["quilt", "enough", "charm"]),
            ("enough_scrappy_s", ["quilt", "enough", "scrappy"]),
        ):
            told[name] = round(asked(home, words), 2)
        print(json.dumps(told))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
