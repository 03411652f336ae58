"""The whole promise through the commands: 25 rendered photos, a review, a charm quilt of 49 cloths.

usage: python -m tests.benchmarks.charm_from_photos [--photos N] [--seed N]

144 scraps of 79 invented cloths (colourways of the demo's designs, their means 12 Lab units apart
or more) are photographed beside a card, turned anyhow, cut to any shape, and logged by `stash log`.
The review answers as the truth says, one command a round; taps are those of the page: one a group,
and one for each tick taken away first. Takes some minutes;
nothing was fitted on these photos. Names are those told before anything is joined.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from itertools import combinations
from pathlib import Path
from unittest import mock

import numpy as np
from shapely.geometry import Polygon

from stash.demo import scene
from stash.demo.fabrics import InventedFabric
from stash.demo.laying import Leftover
from stash.demo.scene import RenderedScene, SceneSpec, render_scene
from tests.usecases.test_charm_is_charm import cloths

PIECES = (7, 7)
SHAPES = ("square", "rectangle", "chopped", "ell", "bite")


def book() -> dict[str, InventedFabric]:
    """The cloths, each under a name of its own; the weave follows the design's name."""
    return {f"{number} {one.name}": one for number, one in enumerate(cloths())}


def scenes(photos: int, seed: int) -> list[RenderedScene]:
    """Photograph every cloth once, and some drawn at random again, until each photo is full."""
    rng = np.random.default_rng(seed)
    known = book()
    scraps = round(144 * photos / 25)
    names = rng.permutation(list(known))[: round(79 * photos / 25)]
    order = rng.permutation([*names, *rng.choice(names, scraps - len(names))])
    found = []
    with mock.patch.object(scene, "FABRICS", known):
        for number, part in enumerate(np.array_split(order, photos)):
            leftovers = tuple(
                Leftover(str(name), str(rng.choice(SHAPES)), float(rng.uniform(3.4, 4.6)))
                for name in part
            )
            spec = SceneSpec(
                leftovers,
                backing=str(rng.choice(["grey flannel", "white flannel", "dark board"])),
                light=str(rng.choice(["daylight", "overcast", "kitchen led", "evening lamp"])),
                tilt_deg=float(rng.uniform(0, 12)),
                card_turn_deg=float(rng.uniform(-180, 180)),
                size_px=(2800, 2100),
            )
            found.append(render_scene(spec, seed=seed * 1000 + number))
    return found


class Stash:
    """The commands, asked one after the other."""

    def __init__(self, home: Path) -> None:
        self.home = home

    def __call__(self, *words: str) -> dict:
        asked = [sys.executable, "-m", "stash", *words, "--home", str(self.home), "--json"]
        done = subprocess.run(asked, capture_output=True, text=True, check=False)
        if not done.stdout:
            raise SystemExit(f"stash {' '.join(words)}: {done.stderr}")
        return json.loads(done.stdout)


def truth_of(answer: dict, rendered: dict[str, RenderedScene]) -> dict[int, str]:
    """Give the true cloth of every scrap that was logged."""
    truth = {}
    for photo in answer["photos"]:
        if photo["status"] != "logged":
            print(Path(photo["file"]).name, photo["status"], photo.get("reason", ""))
        for said in photo.get("scraps", []):
            shape = Polygon(said["outline_in"])
            there = rendered[Path(photo["file"]).name].truth.scraps
            truth[said["scrap"]] = max(
                there, key=lambda one: one.polygon.intersection(shape).area
            ).fabric
    return truth


def answers_to(groups: list[dict], truth: dict[int, str]) -> tuple[list[str], int]:
    """Answer each group as the truth says: words of one command, and taps on the page.

    On the page each cloth of a mixed group takes a tap and one for each tick taken away, and what
    is left a last tap for “All different”.
    """
    words: list[str] = []
    taps = 0
    for group in groups:
        of_cloth: dict[str, list[int]] = {}
        for number in group["scraps"]:
            of_cloth.setdefault(truth[number], []).append(number)
        for numbers in of_cloth.values():
            if len(numbers) > 1:
                words += ["--same", ",".join(map(str, numbers))]
                taps += 1 + len(group["scraps"]) - len(numbers)
        if len(of_cloth) > 1:
            words += ["--different", ",".join(str(one[0]) for one in of_cloth.values())]
            taps += 1
    return words, taps


def main() -> None:
    """Render, log, review, allot, and compare with the truth."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--photos", type=int, default=25)
    given.add_argument("--seed", type=int, default=5)
    asked = given.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        stash = Stash(Path(folder) / "stash")
        stash("card", "add", "chart", "--kind", "chart24", "--pitch", "0.55")
        rendered = {}
        for number, one in enumerate(scenes(asked.photos, asked.seed)):
            path = Path(folder) / f"{number:02}.jpg"
            path.write_bytes(one.jpeg())
            rendered[path.name] = one
        truth = truth_of(stash("log", *(str(Path(folder) / name) for name in rendered)), rendered)
        true = {(a, b) for a, b in combinations(sorted(truth), 2) if truth[a] == truth[b]}
        print(f"{len(truth)} scraps of {len(set(truth.values()))} cloths, {len(true)} true pairs")
        told = {one["scrap"]: one["name_told"] for one in stash("scraps")["scraps"]}
        alike = sum(told[a] == told[b] for a, b in true)
        first_word = sum(told[a].split()[0] == told[b].split()[0] for a, b in true)
        print(
            f"of the true pairs, apart in two photos, {alike / len(true):.1%} are called the same, "
            f"{first_word / len(true):.1%} by the same first word"
        )
        for a, b in sorted(true):
            if told[a] != told[b]:
                print(f"  {truth[a]}: “{told[a]}”, “{told[b]}”")
        rows, across = (str(one) for one in PIECES)
        plan = ("--template", "square", "--size", "2", "--rows", rows, "--across", across)
        stash("quilt", "make", "raffle", *plan, "--charm")
        first = stash("twins")
        waiting = [one for one in first["groups"] if one["state"] == "open"]
        pairs = {pair for one in waiting for pair in combinations(sorted(one["scraps"]), 2)}
        print(
            f"asked {len(pairs & true) / len(true):.1%} of the true pairs, "
            f"{len(pairs) / len(true):.2f} pairs for each; before the review {first['fabrics']}"
        )
        commands = taps = 0
        began = time.monotonic()
        while waiting and commands < 6:
            words, more = answers_to(waiting, truth)
            waiting = [one for one in stash("twins", *words)["groups"] if one["state"] == "open"]
            commands, taps = commands + 1, taps + more
        print(
            f"review: {commands} commands, {time.monotonic() - began:.0f} s, or {taps} taps; "
            f"{len(waiting)} groups left; after it {stash('twins')['fabrics']}"
        )
        allotted = stash("quilt", "allot", "raffle")
        used = [truth[one["scrap"]] for one in allotted["scraps"] for _ in one["numbers"]]
        print(f"the quilt holds {len(used)} pieces of {len(set(used))} cloths")


if __name__ == "__main__":
    main()
