"""How truly `stash log` tells the direction of stripes and plaids, and the grain, at any turn.

usage: python -m tests.benchmarks.lines_by_turn [--first SEED] [--photos N]

Scenes come from stash.demo.scene: cards turned by -180 to 180 degrees, phones held up to 25 degrees
off. The truth is where the renderer laid the cloth.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from collections import defaultdict
from pathlib import Path

import numpy as np
from shapely.geometry import Polygon

from stash.demo.fabrics import FABRICS
from stash.demo.laying import Leftover
from stash.demo.scene import RenderedScene, SceneSpec, render_scene

LINED = sorted(name for name, one in FABRICS.items() if one.kind.value in ("stripe", "plaid"))
KINDS = ("crumb", "ell", "triangle", "strip")


def scene(seed: int) -> RenderedScene:
    """Photograph four lined scraps; turn and slant follow the seed."""
    rng = np.random.default_rng([17, seed])
    chosen = rng.choice(LINED, 4, replace=False)
    leftovers = tuple(
        Leftover(str(name), str(kind), float(rng.uniform(3.5, 6.5)))
        for name, kind in zip(chosen, rng.choice(KINDS, 4), strict=True)
    )
    spec = SceneSpec(
        leftovers,
        backing=str(rng.choice(["grey flannel", "white flannel"])),
        tilt_deg=float(rng.uniform(0, 25)),
        card_turn_deg=float(rng.uniform(-180, 180)),
        size_px=(2400, 1800),
    )
    return render_scene(spec, seed=seed)


def off_deg(said: float, true: float, every: float = 180.0) -> float:
    """Give how far a direction is off one that comes again after so many degrees."""
    return abs((said - true + every / 2) % every - every / 2)


def main() -> None:
    """Render, log and compare."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--first", type=int, default=0)
    given.add_argument("--photos", type=int, default=20)
    asked = given.parse_args()
    seeds = range(asked.first, asked.first + asked.photos)
    with tempfile.TemporaryDirectory() as folder:
        home, run = str(Path(folder) / "stash"), [sys.executable, "-m", "stash"]
        card = ["card", "add", "chart", "--kind", "chart24", "--pitch", "0.55", "--home", home]
        subprocess.run([*run, *card], check=True, capture_output=True)
        truths = {}
        for seed in seeds:
            rendered = scene(seed)
            path = Path(folder) / f"{seed}.jpg"
            path.write_bytes(rendered.jpeg())
            truths[path.name] = rendered.truth
        told = subprocess.run(
            [*run, "log", *(str(Path(folder) / name) for name in truths), "--home", home, "--json"],
            capture_output=True,
            text=True,
            check=False,
        )
    off = defaultdict(list)
    untold = 0
    for photo in json.loads(told.stdout)["photos"]:
        for true in truths[Path(photo["file"]).name].scraps:
            said = max(
                photo.get("scraps", []),
                key=lambda one: Polygon(one["outline_in"]).intersection(true.polygon).area,
                default=None,
            )
            if said is None or said["direction_deg"] is None:
                untold += 1
                print(photo["file"], true.fabric, true.leftover, "called", said and said["kind"])
                continue
            every = 90.0 if true.print_kind.value == "plaid" else 180.0
            kind = true.print_kind.value
            off[kind].append(off_deg(said["direction_deg"], true.lines_deg, every))
            if off[kind][-1] > 3:
                print(photo["file"], true.fabric, true.leftover, said["kind"], off[kind][-1])
    for kind, values in off.items():
        p50, p95 = np.percentile(values, [50, 95])
        most = max(values)
        within = float(np.mean([value <= 3 for value in values]))
        print(f"{kind}: {len(values)} told, off by {p50:.2f} / {p95:.2f}, most {most:.2f} degrees,")
        print(f"  {within:.1%} within 3")
    print(f"called neither stripe nor plaid, or not found: {untold}")


if __name__ == "__main__":
    main()
