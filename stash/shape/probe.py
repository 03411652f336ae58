"""A template as the search sees it: points that must stay inside, and how deep they sit."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from stash.shape.border import (
    Borders,
    FloatArray,
    IndexArray,
    borders_of,
    signed_distance,
    with_slope,
)
from stash.shape.outline import Ring

__all__ = ["Probe", "probe_of"]

_POLES = 4  # inner points beside the centre
_COARSE_POINTS = 14
_FIRST_POINTS = 7


@dataclass(frozen=True)
class Probe:
    """Points of a template about the centre of its largest inscribed circle.

    Attributes
    ----------
    centre : (x, y)
        That centre in the template's own frame.
    points, depths : float64, shape (j, 2) and (j,)
        Every corner (depth 0) and some inner points with their depth below the edge.
    coarse : two of int, shape (k,)
        The few of them that bound a wide range of poses, the most telling first.
    rest : int, shape (r,)
        The others.
    edge : Borders
        The template's own border.
    inner_radius_in, reach_in : float
        Radius of the inscribed circle, and distance of the farthest corner.
    area_sq_in : float
        Area of the cut shape.
    """

    centre: tuple[float, float]
    points: FloatArray
    depths: FloatArray
    coarse: tuple[IndexArray, IndexArray]
    rest: IndexArray
    edge: Borders
    inner_radius_in: float
    reach_in: float
    area_sq_in: float

    def placed(self, poses: FloatArray, points: FloatArray) -> FloatArray:
        """Move points (j, 2) by poses (m, x y turn): shape (m, j, 2)."""
        cos, sin = np.cos(poses[:, 2, None]), np.sin(poses[:, 2, None])
        x, y = points[None, :, 0], points[None, :, 1]
        return np.stack(
            [x * cos - y * sin + poses[:, 0, None], x * sin + y * cos + poses[:, 1, None]], axis=2
        )

    def seen_from(self, poses: FloatArray, points: FloatArray) -> FloatArray:
        """Give scrap points (m, v, 2) in the template's frame."""
        cos, sin = np.cos(poses[:, 2, None]), np.sin(poses[:, 2, None])
        x = points[:, :, 0] - poses[:, 0, None]
        y = points[:, :, 1] - poses[:, 1, None]
        return np.stack([x * cos + y * sin, y * cos - x * sin], axis=2)

    def outside(self, poses: FloatArray, points: FloatArray) -> FloatArray:
        """Give how far scrap points (m, v, 2) lie outside the placed template."""
        seen = self.seen_from(poses, points)
        return -signed_distance(self.edge, np.zeros(len(poses), dtype=np.intp), seen)

    def outside_with_slope(
        self, poses: FloatArray, points: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Give that distance and its growth per pose coordinate, shape (m, v, 3)."""
        seen = self.seen_from(poses, points)
        depth, slope = with_slope(self.edge, np.zeros(len(poses), dtype=np.intp), seen)
        cos, sin = np.cos(poses[:, 2, None]), np.sin(poses[:, 2, None])
        gx, gy = slope[:, :, 0], slope[:, :, 1]
        turn = gx * -seen[:, :, 1] + gy * seen[:, :, 0]
        return -depth, np.stack([gx * cos - gy * sin, gx * sin + gy * cos, turn], axis=2)


@lru_cache(maxsize=256)
def probe_of(cut: Ring) -> Probe:
    """Prepare a cut shape for the search."""
    shape = shapely.Polygon(cut)
    span = max(shape.bounds[2] - shape.bounds[0], shape.bounds[3] - shape.bounds[1])
    circle = shapely.maximum_inscribed_circle(shape, tolerance=span * 1e-4)
    centre = circle.coords[0]
    ring = tuple((x - centre[0], y - centre[1]) for x, y in cut)
    edge = borders_of([(ring,)])
    corners = np.asarray(ring)
    middles = _edge_points(corners)
    poles, depths = _poles(edge, corners)
    points = np.concatenate([poles, corners, middles])
    depth = np.concatenate([depths, np.zeros(len(corners) + len(middles))])
    coarse = _coarse(points, len(poles))
    return Probe(
        centre=(float(centre[0]), float(centre[1])),
        points=points,
        depths=depth,
        coarse=(coarse[:_FIRST_POINTS], coarse[_FIRST_POINTS:]),
        rest=np.setdiff1d(np.arange(len(points)), coarse),
        edge=edge,
        inner_radius_in=float(depths[0]),
        reach_in=float(np.hypot(*corners.T).max()),
        area_sq_in=float(shape.area),
    )


def _edge_points(corners: FloatArray) -> FloatArray:
    after = np.roll(corners, -1, axis=0)
    length = np.hypot(*(after - corners).T)
    spacing = length.sum() / 12
    parts = [
        start + (end - start) * share
        for start, end, along in zip(corners, after, length, strict=True)
        for share in np.arange(1, int(along / spacing)) / max(1, int(along / spacing))
    ]
    return np.array(parts).reshape(-1, 2)


def _poles(edge: Borders, corners: FloatArray) -> tuple[FloatArray, FloatArray]:
    low, high = corners.min(axis=0), corners.max(axis=0)
    axes = [np.linspace(a, b, 25)[1:-1] for a, b in zip(low, high, strict=True)]
    grid = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 2)
    grid = np.concatenate([np.zeros((1, 2)), grid])
    depth = signed_distance(edge, np.zeros(1, dtype=np.intp), grid[None])[0] - 1e-6
    chosen = [0]
    for _ in range(_POLES):
        far = np.min([np.hypot(*(grid - grid[k]).T) - 0.7 * depth[k] for k in chosen], axis=0)
        score = np.where((far > 0) & (depth > 0.25 * depth[0]), depth, -1.0)
        best = int(np.argmax(score))
        if score[best] <= 0:
            break
        chosen.append(best)
    return grid[chosen], depth[chosen]


def _coarse(points: FloatArray, poles: int) -> IndexArray:
    """Choose the poles and border points that lie far from each other, farthest first."""
    reach = np.hypot(*points.T)
    chosen = [int(np.argmax(reach))]
    far = np.hypot(*(points - points[chosen[0]]).T)
    far[:poles] = 0.0
    while len(chosen) < _COARSE_POINTS and far.max() > 1e-6:
        best = int(np.argmax(far * (0.5 + reach)))
        chosen.append(best)
        far = np.minimum(far, np.hypot(*(points - points[best]).T))
        far[chosen] = 0.0
    return np.array([0, *chosen, *range(1, poles)], dtype=np.intp)
