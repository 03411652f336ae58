"""Long thin pieces planted with a little room: ``python -m tests.benchmarks.thin_pieces 10000 7``.

Spears, half kites, wedges and strips, three to fourteen times as long as wide, each on a scrap
that is the piece 3 % larger (then 1 %) and its own error, joined by idle lobes or by other strips
of cloth with the notches between them. Every one that is not found is lost. Third number: how
many are asked together.
"""

import collections
import json
import sys
import time

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon

from stash.shape.containment.piece_fit import find_placements
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import template_of_file
from stash.shape.templates.turning import Turning
from tests.shape.containment import lies_inside

__all__ = ["scrap_around", "thin_ring"]


def thin_ring(random):
    """Give a long thin shape and what it is called."""
    long, wide = random.uniform(4, 14), random.uniform(0.8, 1.5)
    at, side = random.uniform(0.15, 0.85) * long, random.uniform(0.2, 0.8) * wide
    return {
        0: ("spear", [(0, 0), (at, -wide / 2), (long, 0), (at, wide / 2)]),
        1: ("half kite", [(0, 0), (long, 0), (at, wide)]),
        2: ("wedge", [(0, -wide / 2), (long, -side / 2), (long, side / 2), (0, wide / 2)]),
        3: ("strip", [(0, 0), (long, 0), (long, wide), (0, wide)]),
    }[int(random.integers(4))]


def scrap_around(random, ring, share):
    """Give a scrap that holds the piece with so much room, and idle cloth about it."""
    piece = Polygon(ring)
    error_in = float(random.choice([0.0, 0.03]))
    shape = affinity.scale(piece, 1 + share, 1 + share, origin=piece.centroid)
    shape = shape.buffer(error_in, join_style="mitre", mitre_limit=10)
    kind = int(random.integers(3))
    for _ in range(0 if kind == 0 else int(random.integers(1, 5))):
        at = shape.exterior.interpolate(random.uniform(0, shape.exterior.length))
        idle = at.buffer(random.uniform(0.2, 1.5), quad_segs=3)
        if kind == 2:
            half = random.uniform((0.15, 0.1), (4, 1))
            strip = affinity.rotate(shapely.box(*-half, *half), random.uniform(0, 360))
            idle = affinity.translate(strip, at.x, at.y)
        shape = shape.union(idle)
    shape = max(shapely.get_parts(shape), key=lambda part: part.area)
    shape = affinity.rotate(shape, random.uniform(0, 360), origin=(0, 0))
    return outline_of(
        shape.exterior.coords, [one.coords for one in shape.interiors], error_in=error_in
    )


def _lost(seed, share, count):
    random = np.random.default_rng(seed)
    name, ring = thin_ring(random)
    template = template_of_file(json.dumps({"cut": ring}).encode(), ".json")
    scraps = [scrap_around(random, template.cut, share) for _ in range(count)]
    answers = find_placements(scraps, template, turnings=[Turning.free()] * count)
    lost = [k for k, one in enumerate(answers) if one.fits != "yes"]
    wrong = [
        k
        for k, one in enumerate(answers)
        if one.placement and not lies_inside(one.placement.ring(template), scraps[k])
    ]
    return name, lost, wrong


def main(cases, seed, together):
    for share in (0.03, 0.01):
        lost, wrong, began = collections.Counter(), 0, time.process_time()
        for number in range(cases // together):
            name, missed, bad = _lost(seed * 100_000 + number, share, together)
            lost[name] += len(missed)
            wrong += len(bad)
            if missed:
                print("seed", seed * 100_000 + number, name, missed, flush=True)
        spent = time.process_time() - began
        print(
            f"{share:.0%} room: {cases} asked, lost {dict(lost)}, wrong yes {wrong}, {spent:.0f} s"
        )


if __name__ == "__main__":
    main(*(int(one) for one in (*sys.argv[1:4], *(10_000, 7, 50)[len(sys.argv) - 1 :])))
