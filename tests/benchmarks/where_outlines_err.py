"""How much of outline errors comes of the plane and how much of finding edges, kind by kind.

usage: python -m tests.benchmarks.where_outlines_err [--seeds N] [--first N] [--wide PX] [KIND ...]

The plane's part is what it does to the true outline, seen by the true camera; the rest is what is
left of the measured outline when the true camera lays it down. Scenes as in ``scraps_by_kind``.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import LinearRing

from stash.colour.spaces import FloatArray
from stash.demo.lens import MadeLens
from stash.demo.scene import SceneSpec, render_scene
from stash.errors import PhotoError
from stash.photo.cards.card import chart24
from stash.photo.files.reading import read_photo
from stash.photo.measuring import measure_photo
from stash.photo.outlines.placing import placed_in
from tests.benchmarks.scraps_by_kind import kinds
from tests.photo.scoring import match_scraps


@dataclass(frozen=True)
class Parts:
    """Of one outline, inches: how far it is off, by the plane, by its edge; and as stated."""

    whole: float
    plane: float
    edge: float
    stated: float
    stated_plane: float


def parts_of(spec: SceneSpec, seed: int) -> Iterator[Parts]:
    """Render, measure and take the errors apart."""
    scene = render_scene(spec, seed=seed)
    try:
        photo = measure_photo(read_photo(scene.jpeg(), name="scene"), [chart24("chart", 0.55)])
    except PhotoError:
        return
    camera = MadeLens(scene.truth.image_from_card, spec.size_px, scene.truth.k1)
    outlines = [scrap.outline for scrap in photo.scraps]
    for match in match_scraps(scene.truth, outlines)[0]:
        if match.index is None:
            continue
        ours, true = (
            np.asarray(LinearRing(points).segmentize(0.1).coords)
            for points in (outlines[match.index].points, match.truth.points)
        )
        yield Parts(
            match.edge_in,
            _apart(photo.plane.to_inches(camera.to_pixels(true)), true),
            _apart(camera.to_board(photo.plane.to_pixels(ours)), true),
            match.stated_in,
            placed_in(np.array(outlines[match.index].points), photo.plane),
        )


def _apart(first: FloatArray, second: FloatArray) -> float:
    return float(shapely.hausdorff_distance(LinearRing(first), LinearRing(second)))


def line(kind: str, parts: list[Parts]) -> str:
    """Write one row of the table."""
    table = np.array([(p.whole, p.plane, p.edge, p.stated, p.stated_plane) for p in parts])
    whole, plane, _, stated, stated_plane = table.T
    cells = [
        " / ".join(f"{value:.3f}" for value in np.percentile(column, [50, 95]))
        for column in table.T[:3]
    ]
    for true, said in ((whole, stated), (plane, stated_plane)):
        held, times = 100 * np.mean(true <= said), np.median(said) / np.median(true)
        cells.append(f"{np.median(said):.3f}, {held:.0f} %, {times:.1f}")
    return f"| {kind} | {len(parts)} | {' | '.join(cells)} |"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--first", type=int, default=700)
    parser.add_argument("--wide", type=int, default=1600)
    parser.add_argument("kind", nargs="*")
    asked = parser.parse_args()
    print("| photo | scraps | off in | by the plane | by the edge | stated | stated of the plane |")
    print("|---|---|---|---|---|---|---|")
    every = list[Parts]()
    for index, kind in enumerate(kinds(np.random.default_rng(0))):
        if asked.kind and kind not in asked.kind:
            continue
        parts = list[Parts]()
        for seed in range(asked.first, asked.first + asked.seeds):
            spec = kinds(np.random.default_rng([seed, index]))[kind]
            size_px = (asked.wide, asked.wide * 3 // 4)
            parts += parts_of(replace(spec, size_px=size_px), seed)
        if parts:
            print(line(kind, parts), flush=True)
        every += parts
    print(line("all", every))


if __name__ == "__main__":
    main()
