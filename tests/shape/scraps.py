"""Invented scraps for tests: offcuts of every kind, from a seed."""

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon, box

from stash.shape.outline import outline_of

__all__ = ["around_piece", "offcut", "offcuts"]


def offcuts(count, seed, **sizes):
    random = np.random.default_rng(seed)
    return [offcut(random, **sizes) for _ in range(count)]


def offcut(random, *, least_in=3.0, most_in=11.0, error_in=None):
    """A strip, a corner, an L, a blob or a rest with bites taken out, turned and hand-cut."""
    width, height = random.uniform(least_in, most_in, 2)
    kind = random.integers(5)
    if kind == 0:
        shape = box(0, 0, width, height)
    elif kind == 1:
        shape = Polygon([(0, 0), (width, 0), (random.uniform(0, width), height)])
    elif kind == 2:
        shape = box(0, 0, width, height).difference(
            box(width * random.uniform(0.3, 0.7), height * random.uniform(0.3, 0.7), width, height)
        )
    elif kind == 3:
        turn = np.sort(random.uniform(0, 2 * np.pi, int(random.integers(9, 40))))
        reach = random.uniform(0.55, 1.0, len(turn)) / 2
        shape = Polygon(
            np.column_stack([np.cos(turn) * reach * width, np.sin(turn) * reach * height])
        )
    else:
        shape = box(0, 0, width, height)
        for _ in range(int(random.integers(1, 4))):
            at = random.uniform(0, 1, 2) * (width, height)
            shape = shape.difference(
                shapely.Point(at).buffer(random.uniform(0.3, 1.5), quad_segs=4)
            )
    shape = affinity.rotate(_largest_part(shape.buffer(0)), random.uniform(0, 360))
    rough = _largest_part(shape.segmentize(1.0))
    error = random.choice([0.02, 0.05, 0.1]) if error_in is None else error_in
    return _outline(rough, random, error)


def around_piece(random, ring, slack_in, *, error_in=0.05):
    """A scrap that holds the piece with exactly so much room all round, plus idle lobes."""
    piece = affinity.rotate(Polygon(ring), random.uniform(0, 360), origin=(0, 0))
    piece = affinity.translate(piece, *random.uniform(-3, 3, 2))
    shape = piece.buffer(error_in + slack_in, join_style="mitre", mitre_limit=3)
    for _ in range(int(random.integers(0, 3))):
        at = shape.exterior.interpolate(random.uniform(0, shape.exterior.length))
        shape = shape.union(at.buffer(random.uniform(0.2, 0.6), quad_segs=3))
    return outline_of(_largest_part(shape).exterior.coords, error_in=error_in)


def _largest_part(shape):
    if isinstance(shape, MultiPolygon):
        return max(shape.geoms, key=lambda part: part.area)
    return shape


def _outline(shape, random, error):
    points = np.asarray(shape.exterior.coords)[:-1]
    for roughness in (0.02, 0.005, 0.0):
        moved = points + random.normal(0, roughness, points.shape)
        holes = [ring.coords for ring in shape.interiors]
        if Polygon(moved, holes).is_valid:
            break
    return outline_of(moved, holes, error_in=float(error))
