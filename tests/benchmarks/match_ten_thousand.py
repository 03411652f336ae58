"""Time `match` over ten thousand logged scraps: python -m tests.benchmarks.match_ten_thousand.

Builds a stash in a temporary folder (fabrics of up to four colours) with stored sizes and counts
drawn at random, so that the geometry, which is timed elsewhere, stays out of it; then times the
question in process with the stash open, and as a command of its own. Prints one line of JSON.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.colour.palette_words import palette_of_words
from stash.scrap import CardReport
from stash.shape.plane.outline import Outline, outline_of
from stash.shape.templates.template import make_template
from stash.usecases.matching.match_palette import MatchRequest, match
from stash.usecases.pieces.piece_counts import CutRule, count_key
from stash.usecases.ports import Document, PhotoToLog, ScrapToLog, SizeKey, Store
from stash.wiring import open_store

REPO = Path(__file__).resolve().parents[2]
WORDS = "blues and teals mostly, sand, a touch of coral; no pinks, no purples"


def leftover(rng: np.random.Generator) -> Outline:
    """Give a convex scrap, two to nine inches across."""
    corners = int(rng.integers(4, 10))
    turns = np.sort(rng.uniform(0, 2 * np.pi, corners))
    while np.max(np.diff([*turns, turns[0] + 2 * np.pi])) > 2.6:
        turns = np.sort(rng.uniform(0, 2 * np.pi, corners))
    reach = rng.uniform(1.0, 4.5, 2)
    ring = np.column_stack([reach[0] * np.cos(turns), reach[1] * np.sin(turns)])
    return outline_of(ring, error_in=0.03)


def looks(rng: np.random.Generator) -> Appearance:
    """Give the looks of a fabric with one to four colours."""
    count = int(rng.integers(1, 5))
    shares = np.sort(rng.dirichlet(np.ones(count)))[::-1]
    colours = tuple(
        ColourShare((rng.uniform(15, 95), rng.uniform(-50, 50), rng.uniform(-50, 50)), float(share))
        for share in shares
    )
    return Appearance(colours[0].lab, colours, PrintKind.PRINT, 20.0, 30.0, error_de00=1.5)


def build(home: Path, count: int) -> None:
    """Log that many scraps, fifty a photo."""
    rng = np.random.default_rng(5)
    store = open_store(home)
    palette = palette_of_words("tide", WORDS)
    store.keep_document(Document("palette", "tide", palette.to_dict()), why="benchmark")
    for photo in range(count // 50):
        data = b"\xff\xd8\xff\xe0" + photo.to_bytes(4, "big")
        scraps = tuple(ScrapToLog(leftover(rng), looks(rng), washed=True) for _ in range(50))
        sha = hashlib.sha256(data).hexdigest()
        report = CardReport("chart24", 1.5, 3.0)
        store.log_photo(PhotoToLog(sha, f"{photo}.jpg", data, ".jpg", report, (), scraps))


def keep_made_up_sizes(store: Store, request: MatchRequest) -> None:
    """Store a largest size and a count for every scrap, as logging would have."""
    rng = np.random.default_rng(6)
    rule, template = request.rule.word(), request.template
    numbers = [scrap.number for scrap in store.scraps()]
    sizes = dict(zip(numbers, rng.uniform(0, 5, len(numbers)).tolist(), strict=True))
    store.keep_largest_sizes(SizeKey(template.family, rule), sizes)
    counts = {number: float(size >= template.size_in) * 2 for number, size in sizes.items()}
    store.keep_largest_sizes(count_key(template, request.rule), counts)


def of_limit(request: MatchRequest, number: int) -> MatchRequest:
    """Ask with a palette that differs a little, so that no verdict is remembered."""
    limits = request.palette.thresholds.changed({"wild_from": 0.76 + number / 100})
    return replace(request, palette=replace(request.palette, thresholds=limits))


def main(count: int) -> None:
    """Build, ask once, then time."""
    with tempfile.TemporaryDirectory() as place:
        home = Path(place, "stash")
        build(home, count)
        store = open_store(home)
        request = MatchRequest(
            palette_of_words("tide", WORDS), make_template("square", "2"), CutRule()
        )
        keep_made_up_sizes(store, request)
        shutil.rmtree(home / "kept_answers", ignore_errors=True)
        first = _timed(lambda: match(store, request))
        others = [of_limit(request, number) for number in range(5)]
        other = min(_timed(partial(match, store, one)) for one in others)
        again = min(_timed(lambda: match(store, request)) for _ in range(5))
        shutil.rmtree(home / "kept_answers", ignore_errors=True)
        words = ["match", "--palette", "tide", "--template", "square", "--size", "2", "--json"]
        cold = _timed(lambda: _command(home, words))
        command = min(_timed(lambda: _command(home, words)) for _ in range(5))
        bare = min(_timed(_bare) for _ in range(5))
        print(
            json.dumps(
                {
                    "scraps": count,
                    "first_question_ms": round(1000 * first),
                    "palette_not_asked_before_ms": round(1000 * other, 1),
                    "palette_asked_before_ms": round(1000 * again, 1),
                    "first_command_s": round(cold, 2),
                    "as_a_command_s": round(command, 2),
                    "python_with_typer_and_numpy_s": round(bare, 2),
                }
            )
        )


def _timed(work) -> float:
    start = time.process_time() + os.times().children_user
    work()
    return time.process_time() + os.times().children_user - start


def _bare() -> None:
    subprocess.run([sys.executable, "-c", "import typer, numpy"], check=True)


def _command(home: Path, words: list[str]) -> None:
    subprocess.run(
        [sys.executable, "-m", "stash", *words, "--home", str(home)],
        check=True,
        stdout=subprocess.DEVNULL,
        cwd=REPO,
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
