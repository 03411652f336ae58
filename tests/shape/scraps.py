"""Invented scraps for tests: offcuts of every kind, from a seed."""

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon, box

from stash.shape.plane.outline import outline_of

__all__ = ["around_piece", "odd_offcut", "offcut", "offcuts", "own_shape_ring"]


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


def odd_offcut(random, *, error_in=None):
    """A sliver, a scrap full of holes, one whose holes touch its border, a slit one, or a spike."""
    error = float(random.choice([0.0, 0.02, 0.05]) if error_in is None else error_in)
    width, height = random.uniform(3, 9, 2)
    kind = random.integers(5)
    holes = []
    corners = [(0, 0), (width, 0), (width, height), (0, height)]
    if kind == 0:
        thin = random.uniform(1e-3, 2.5)
        corners = [(0, 0), (2 * width, random.uniform(-thin, thin)), (2 * width, thin), (0, thin)]
    elif kind == 1:
        holes = _holes_in(random, width, height, int(random.integers(1, 9)))
    elif kind == 2:  # each hole has a corner on the border, in the middle of an edge
        at, size = random.uniform(0.2, 0.7) * width, random.uniform(0.01, 1.0)
        holes = [[(at, 0), (at + size, 0.3 + size), (at - size / 2, 0.3 + size)]]
    elif kind == 3:
        at, wide = random.uniform(0.2, 0.8) * height, 10.0 ** random.uniform(-6, -0.5)
        end = random.uniform(0.1, 0.9) * width
        corners[2:2] = [(width, at), (end, at), (end, at + wide), (width, at + wide)]
    else:  # a corner given nearly twice, and a spike outwards or inwards
        at, out = random.uniform(0.3, 0.7) * width, random.choice([-1, 1]) * random.uniform(0.5, 2)
        corners[1:1] = [(at, 0), (at + 1e-7, 1e-8), (at + 1e-3, out), (at + 2e-3, 0)]
    turn = 0 if kind == 2 else random.uniform(0, 360)  # turned by rounding it would not touch
    shape = affinity.rotate(Polygon(corners, holes), turn, origin=(0, 0))
    return outline_of(
        shape.exterior.coords, [one.coords for one in shape.interiors], error_in=error
    )


def _holes_in(random, width, height, count):
    """Small blobs and long thin tears, apart from each other and from the border."""
    cloth, holes = box(0.05, 0.05, width - 0.05, height - 0.05), []
    for _ in range(count):
        hole = shapely.Point(random.uniform(0, 1, 2) * (width, height)).buffer(
            random.uniform(0.01, 0.5), quad_segs=2
        )
        hole = affinity.rotate(
            affinity.scale(hole, random.choice([1, 8]), 0.3), random.uniform(0, 360)
        )
        if cloth.contains(hole):
            cloth = cloth.difference(hole.buffer(0.01))
            holes.append(hole.exterior.coords[:-1])
    return holes


def own_shape_ring(random):
    """Corners of a shape like no other: a star, an L with unlike arms, or an arrow."""
    kind = random.integers(3)
    if kind == 0:
        turn = np.sort(random.uniform(0, 2 * np.pi, int(random.integers(5, 12))))
        turn += np.linspace(0, 1e-3, len(turn))
        reach = random.uniform(0.5, 2.2, len(turn))
        star = Polygon(np.column_stack([np.cos(turn) * reach, np.sin(turn) * reach]))
        if star.is_valid and star.buffer(-0.1).area > 0.05:
            return star.exterior.coords[:-1]
    if kind == 1:
        a, b, c, d = random.uniform((1.5, 1.5, 0.4, 0.4), (3.5, 3.5, 1.2, 1.2))
        return [(0, 0), (a, 0), (a, c), (d, c), (d, b), (0, b)]
    a, b, c = random.uniform((1.0, 0.3, 0.3), (3.0, 0.9, 0.9))
    return [(0, 0), (a, -b), (a * 0.6, 0.1), (a, c), (0.2, 0.5)]


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
