"""How often one tap inside a scrap that measuring missed gives a good outline.

usage: python -m tests.benchmarks.tap_to_find [--first SEED] [--count N]

Scenes of stash.demo.scene on twelve grounds, easy and hard; every scrap is taken for missed and
tapped once, as far inside as there is room. Good is an outline whose area is within 5 % and which
strays from the true edge by 1/8 in at most. Two ways are told apart: the whole answer of the page,
which takes what measuring the photo finds at that spot where it finds something, and the cloth told
from what lies round the spot alone. Seeds 3300, 3400, 3500 to 3502 and 3600 have been looked at.
"""

from __future__ import annotations

import argparse
from collections import Counter

import numpy as np
import shapely
from shapely.geometry import Polygon

from stash.demo.scene import render_scene
from stash.drawing.photo_view import to_inches, to_pixels
from stash.errors import PhotoError
from stash.photo.cards.card import chart24
from stash.photo.files.reading import read_photo
from stash.photo.measuring import measure_photo
from stash.photo.outlines.faint_edge import straight_sides
from stash.photo.table.round_spot import ring_round
from stash.usecases.photos.add_photo import view_of
from tests.benchmarks.scraps_by_kind import kinds

GROUNDS = (
    "grey flannel", "white flannel", "coloured sheet", "wood table", "cutting mat",
    "flowered tablecloth", "white on white", "dark on dark",
    "checked tablecloth", "creased", "frayed", "hard shadows",
)  # fmt: skip
AREA_SHARE, EDGE_IN = 0.05, 0.125


def good(found: Polygon | None, truth: Polygon) -> bool:
    """Whether an outline is one to cut by."""
    if found is None or not found.is_valid:
        return False
    off = abs(found.area - truth.area) / truth.area
    stray = shapely.hausdorff_distance(found, truth, 0.02)
    return bool(off <= AREA_SHARE and stray <= EDGE_IN)


def tried(ground: str, seed: int, tally: Counter[tuple[str, str]]) -> None:
    """Render one photo and tap every scrap on it."""
    spec = kinds(np.random.default_rng(seed))[ground]
    scene = render_scene(spec, seed=seed)
    upright = read_photo(scene.jpeg(), name="scene")
    try:
        measured = measure_photo(upright, [chart24("chart", 0.55)])
    except PhotoError as problem:
        print(f"{ground}, seed {seed}: {problem}")
        return
    view = view_of(measured)
    for scrap in scene.truth.scraps:
        truth = Polygon(scrap.points)
        inside = shapely.maximum_inscribed_circle(truth).coords[0]
        x, y = (float(one) for one in to_pixels(view, np.array([inside]))[0])
        there = [
            straight_sides(one.outline).polygon
            for one in measured.scraps
            if one.outline.polygon.contains(shapely.Point(inside))
        ]
        ring = ring_round(upright.pixels, (x, y), px_per_in=measured.plane.px_per_in(inside))
        alone = Polygon(to_inches(view, np.array(ring.corners_px))) if ring else None
        tally[ground, "taps"] += 1
        tally[ground, "page"] += good(there[0] if there else alone, truth)
        tally[ground, "alone"] += good(alone, truth)


def main() -> None:
    """Print one line for each ground, then all."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--first", type=int, default=3300)
    asked.add_argument("--count", type=int, default=1, help="photos of each ground")
    said = asked.parse_args()
    tally: Counter[tuple[str, str]] = Counter()
    for ground in GROUNDS:
        for seed in range(said.first, said.first + said.count):
            tried(ground, seed, tally)
        told = (tally[ground, key] for key in ("taps", "page", "alone"))
        print(
            "{:22} {:3} taps, {:3} good, {:3} by the spot alone".format(ground, *told), flush=True
        )
    total = {key: sum(tally[one, key] for one in GROUNDS) for key in ("taps", "page", "alone")}
    print("{taps} taps, {page} good, {alone} by the spot alone".format(**total))


if __name__ == "__main__":
    main()
