"""How truly `stash log` tells the grain, and what it goes by, at any turn of card and cloth.

usage: python -m tests.benchmarks.grain_by_turn [--first SEED] [--photos N] [--unkind]

Each photo shows a stripe or plaid, a print with a selvage, one without, plain or mottled cloth.
The truth is where the renderer laid the cloth. What is told must be true of what it is said to go
by: the lines of a stripe, the selvage, or the longest straight edge of what was laid down (an edge
within a fifteenth as long counts as well); a selvage told where there is none is off by 90 degrees.
"""

from __future__ import annotations

import argparse
import itertools
import json
import math
import subprocess
import sys
import tempfile
from collections import Counter, defaultdict
from pathlib import Path

import numpy as np
from shapely.geometry import Polygon

from stash.demo.fabrics import FABRICS
from stash.demo.laying import Leftover
from stash.demo.scene import RenderedScene, SceneSpec, render_scene
from stash.demo.selvages import SELVAGES
from stash.demo.truth import ScrapTruth
from tests.benchmarks.lines_by_turn import LINED, off_deg

BY_KIND = {
    kind: sorted(name for name, one in FABRICS.items() if one.kind.value == kind)
    for kind in ("print", "plain", "tone-on-tone")
}
BACKINGS = ["grey flannel", "white flannel", "dark board", "blue sheet", "pink blanket"]
WITH_SELVAGE = ["rectangle", "chopped", "ell", "triangle"]  # whose lower side is an edge
NEARLY_AS_LONG = 14 / 15


def scene(seed: int, unkind: bool = False) -> RenderedScene:
    """Photograph four scraps; turn, slant, light and backing follow the seed.

    The second has a selvage as a printer leaves it; unkindly half of the others have one too, and
    of any look: pinholes, fringe, dyed with the cloth, printed to raggedly, bare.
    """
    rng = np.random.default_rng([18, seed])
    hows = np.random.default_rng([19, seed])
    names = [
        rng.choice(LINED),
        *rng.choice(BY_KIND["print"], 2, replace=False),
        rng.choice(BY_KIND[str(rng.choice(["plain", "tone-on-tone"]))]),
    ]
    kinds = rng.choice(["crumb", "ell", "triangle", "strip", "chopped", "rectangle"], 4)
    kinds[1] = rng.choice(WITH_SELVAGE)
    leftovers = []
    for number, name in enumerate(names):
        size_in, frayed = float(rng.uniform(3.5, 6.5)), bool(rng.random() < 0.3)
        wide_in = float(rng.uniform(0.25, 0.6)) if number == 1 else 0.0
        how = "lettered"
        if unkind:
            how = str(hows.choice(SELVAGES))
            if number != 1 and hows.random() < 0.5:
                wide_in, kinds[number] = float(hows.uniform(0.25, 0.6)), hows.choice(WITH_SELVAGE)
        leftovers.append(
            Leftover(
                str(name),
                str(kinds[number]),
                size_in,
                frayed=frayed,
                selvage_in=wide_in,
                selvage=how,
            )
        )
    spec = SceneSpec(
        tuple(leftovers),
        backing=str(rng.choice(BACKINGS)),
        light=str(rng.choice(["daylight", "evening lamp"])),
        tilt_deg=float(rng.uniform(0, 25)),
        card_turn_deg=float(rng.uniform(-180, 180)),
        size_px=(2400, 1800),
    )
    return render_scene(spec, seed=seed)


def right_ways(true: ScrapTruth, told_by: str) -> list[float]:
    """Give the directions that are right for what is said to tell the grain; none if it is not."""
    if told_by == "print":
        return [] if true.lines_deg is None else [true.lines_deg]
    if told_by == "selvage":
        return [true.thread_deg] if true.selvage else []
    ring = [*true.points, true.points[0]]
    edges = [(math.dist(a, b), a, b) for a, b in itertools.pairwise(ring)]
    longest = max(edges)[0]
    return [
        math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) % 180
        for length, a, b in edges
        if length >= NEARLY_AS_LONG * longest
    ]


def logged(seeds: range, unkind: bool) -> list[tuple[str, ScrapTruth, dict]]:
    """Render, log through the command, and pair what was said with the truth."""
    with tempfile.TemporaryDirectory() as folder:
        home, run = str(Path(folder) / "stash"), [sys.executable, "-m", "stash"]
        card = ["card", "add", "chart", "--kind", "chart24", "--pitch", "0.55", "--home", home]
        subprocess.run([*run, *card], check=True, capture_output=True)
        truths = {}
        for seed in seeds:
            rendered = scene(seed, unkind)
            path = Path(folder) / f"{seed}.jpg"
            path.write_bytes(rendered.jpeg())
            truths[path.name] = rendered.truth
        told = subprocess.run(
            [*run, "log", *(str(Path(folder) / name) for name in truths), "--home", home, "--json"],
            capture_output=True,
            text=True,
            check=False,
        )
    found = []
    for photo in json.loads(told.stdout)["photos"]:
        for true in truths[Path(photo["file"]).name].scraps:
            said = max(
                photo.get("scraps", []),
                key=lambda one: Polygon(one["outline_in"]).intersection(true.polygon).area,
                default=None,
            )
            if said is None or not Polygon(said["outline_in"]).intersects(true.polygon):
                print(photo["file"], true.fabric, true.leftover, "not found", photo.get("reason"))
                continue
            found.append((Path(photo["file"]).name, true, said))
    return found


def main() -> None:
    """Render, log and compare."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--first", type=int, default=0)
    given.add_argument("--photos", type=int, default=20)
    given.add_argument("--unkind", action="store_true", help="selvages of every look")
    asked = given.parse_args()
    off: dict[str, list[float]] = defaultdict(list)
    there: dict[str, list[str]] = defaultdict(list)
    for name, true, said in logged(range(asked.first, asked.first + asked.photos), asked.unkind):
        told_by = said["grain_from"]
        best = "print" if true.lines_deg is not None else "selvage" if true.selvage else "edge"
        there[best].append(told_by)
        every = 90.0 if true.print_kind.value == "plaid" and told_by == "print" else 180.0
        ways = right_ways(true, told_by)
        off[told_by].append(
            min((off_deg(said["grain_deg"], one, every) for one in ways), default=90)
        )
        if off[told_by][-1] > 3:
            print(name, true.fabric, true.leftover, said["kind"], "by", told_by, "not", best,
                  round(off[told_by][-1], 1), "outline to", said["outline_error_in"])  # fmt: skip
    for told_by, values in off.items():
        p50, p95 = np.percentile(values, [50, 95])
        print(
            f"told by {told_by}: {len(values)}, off by {p50:.2f} / {p95:.2f} degrees, "
            f"{sum(value <= 3 for value in values)} within 3"
        )
    for best, told in there.items():
        print(f"has {best}: {len(told)}, told by {dict(Counter(told))}")


if __name__ == "__main__":
    main()
