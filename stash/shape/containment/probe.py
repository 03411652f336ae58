"""A template as the search sees it: points that must stay inside, and how deep they sit."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from stash.shape.plane.border import (
    Borders,
    FloatArray,
    IndexArray,
    borders_of,
    signed_distance,
    with_slope,
)
from stash.shape.plane.outline import Ring

__all__ = ["Probe", "probe_of"]

_POLES = 4  # inner points beside the centre
_COARSE_POINTS = 14
_FIRST_POINTS = 7


@dataclass(frozen=True)
class Probe:
    """Points of a template about the centre of its largest inscribed circle.

    One template for all scraps, or one for each scrap: then all have the same number of points.

    Attributes
    ----------
    centres : float64, shape (n, 2)
        Those centres in the templates' own frames; n is 1 or the number of scraps.
    points, depths : float64, shape (n, j, 2) and (n, j)
        Every corner (depth 0) and some inner points with their depth below the edge; the first
        is the centre.
    coarse : two of int, shape (k,)
        The few of them that bound a wide range of poses, the most telling first.
    rest : int, shape (r,)
        The others.
    between : (int, float64), shape (e,)
        The points along the edges: the corner each lies after, and how far along.
    edge : Borders
        The templates' own borders.
    reaches : float64, shape (n,)
        Distance of the farthest corner, inches.
    areas : float64, shape (n,)
        Area of the cut shapes, square inches.
    """

    centres: FloatArray
    points: FloatArray
    depths: FloatArray
    coarse: tuple[IndexArray, IndexArray]
    rest: IndexArray
    between: tuple[IndexArray, FloatArray]
    edge: Borders
    reaches: FloatArray
    areas: FloatArray

    @property
    def pushed(self) -> IndexArray:
        """The corners: with the scrap's own they tell the clearance of a pose."""
        poles = int((self.depths[0] > 0).sum())
        return np.arange(poles, self.depths.shape[1] - len(self.between[0]))

    @property
    def rim(self) -> IndexArray:
        """The points on the border, without the corners that point inwards."""
        coarse = np.concatenate(self.coarse)
        return np.concatenate([coarse[(self.depths[:, coarse] == 0).all(axis=0)], self.rest])

    @property
    def centre(self) -> tuple[float, float]:
        """The centre of the only template."""
        return float(self.centres[0, 0]), float(self.centres[0, 1])

    @property
    def inner_radius_in(self) -> float:
        """Radius of the inscribed circle of the only template."""
        return float(self.depths[0, 0])

    @property
    def reach_in(self) -> float:
        """Distance of the farthest corner of the only template."""
        return float(self.reaches[0])

    def number(self, scrap: IndexArray) -> IndexArray:
        """Give the template that belongs to each scrap."""
        return scrap if len(self.depths) > 1 else np.zeros(len(scrap), dtype=np.intp)

    def radius(self, scrap: IndexArray) -> FloatArray:
        """Give the radius of the inscribed circle for each scrap."""
        return np.asarray(self.depths[self.number(scrap), 0])

    def reach(self, scrap: IndexArray) -> FloatArray:
        """Give the distance of the farthest corner for each scrap."""
        return np.asarray(self.reaches[self.number(scrap)])

    def depth(self, scrap: IndexArray) -> FloatArray:
        """Give the depths of the points for each scrap, shape (m or 1, j)."""
        return self.depths[scrap] if len(self.depths) > 1 else self.depths

    def local(self, scrap: IndexArray, chosen: IndexArray | None = None) -> FloatArray:
        """Give some of the points in the template's own frame, shape (m or 1, j, 2)."""
        points = self.points if chosen is None else self.points[:, chosen]
        return points[scrap] if len(points) > 1 else points

    def placed(
        self, poses: FloatArray, scrap: IndexArray, chosen: IndexArray | None = None
    ) -> FloatArray:
        """Move the points by poses (m, x y turn): shape (m, j, 2)."""
        cos, sin = np.cos(poses[:, 2, None]), np.sin(poses[:, 2, None])
        points = self.local(scrap, chosen)
        x, y = points[:, :, 0], points[:, :, 1]
        placed = np.empty((len(poses), points.shape[1], 2))
        placed[:, :, 0] = x * cos - y * sin + poses[:, 0, None]
        placed[:, :, 1] = x * sin + y * cos + poses[:, 1, None]
        return placed

    def seen_from(self, poses: FloatArray, points: FloatArray) -> FloatArray:
        """Give scrap points (m, v, 2) in the template's frame."""
        cos, sin = np.cos(poses[:, 2, None]), np.sin(poses[:, 2, None])
        x = points[:, :, 0] - poses[:, 0, None]
        y = points[:, :, 1] - poses[:, 1, None]
        return np.stack([x * cos + y * sin, y * cos - x * sin], axis=2)

    def outside(self, poses: FloatArray, scrap: IndexArray, points: FloatArray) -> FloatArray:
        """Give how far scrap points (m, v, 2) lie outside the placed template."""
        seen = self.seen_from(poses, points)
        return -signed_distance(self.edge, self.number(scrap), seen)

    def outside_with_slope(
        self, poses: FloatArray, scrap: IndexArray, points: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Give that distance and its growth per pose coordinate, shape (m, v, 3)."""
        seen = self.seen_from(poses, points)
        depth, slope = with_slope(self.edge, self.number(scrap), seen)
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
    corner, share = _edge_shares(corners)
    middles = corners[corner] + (np.roll(corners, -1, axis=0) - corners)[corner] * share[:, None]
    poles, depths = _poles(edge, corners)
    points = np.concatenate([poles, corners, middles])
    depth = np.concatenate([depths, np.zeros(len(corners) + len(middles))])
    coarse = _coarse(points, len(poles))
    return Probe(
        centres=np.array([centre]),
        points=points[None],
        depths=depth[None],
        coarse=(coarse[:_FIRST_POINTS], coarse[_FIRST_POINTS:]),
        rest=_outward(points, len(poles), len(corners), coarse),
        between=(corner, share),
        edge=edge,
        reaches=np.array([np.hypot(*corners.T).max()]),
        areas=np.array([shape.area]),
    )


def _edge_shares(corners: FloatArray) -> tuple[IndexArray, FloatArray]:
    """Choose points along the edges: the corner each lies after, and how far along."""
    length = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    counts = np.maximum(1, (12 * length / length.sum() + 1e-6).astype(np.intp))
    corner = np.repeat(np.arange(len(corners)), counts - 1)
    number = np.concatenate([np.arange(1, count) for count in counts.tolist()])
    return corner, number / counts[corner]


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


def _outward(points: FloatArray, poles: int, corners: int, coarse: IndexArray) -> IndexArray:
    """Number the other points, but no corners that point inwards.

    The border of a scrap never comes nearest there: a straight edge meets the corners beside first.
    """
    ring = points[poles : poles + corners]
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    inwards = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0] < 0
    left_out = np.concatenate([coarse, poles + np.flatnonzero(inwards)])
    return np.setdiff1d(np.arange(len(points)), left_out)


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
