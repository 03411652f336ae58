"""How far two convex pieces keep apart: the corners of one beyond an edge of the other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from stash.shape.containment.probe import Probe
from stash.shape.plane.border import FloatArray, IndexArray

__all__ = ["Gaps", "Hull", "best_edges", "gaps_beyond", "hull_of"]


@dataclass(frozen=True)
class Gaps:
    """Distances between the pieces of pairs, negative where they overlap, and their growth.

    Attributes
    ----------
    value : float64, shape (m, k)
        Distances, inches.
    by_one, by_other : float64, shape (m, k, 3)
        Growth with x, y and turn of the first and of the second piece.
    """

    value: FloatArray
    by_one: FloatArray
    by_other: FloatArray


@dataclass(frozen=True)
class Hull:
    """The convex hull of a template.

    Attributes
    ----------
    corners : float64, shape (c, 2)
        About the template's inner centre, counter-clockwise.
    is_whole : bool
        Whether the template is convex, so that the hull is all of it.
    """

    corners: FloatArray
    is_whole: bool


def hull_of(probe: Probe) -> Hull:
    """Give the hull of the only template."""
    shape = Polygon(probe.points[0, probe.pushed])
    hull = orient(shape.convex_hull)
    corners = np.asarray(hull.exterior.coords)[:-1]
    return Hull(corners, bool(hull.area - shape.area < 1e-9 * hull.area))


def best_edges(
    corners: FloatArray, mine: FloatArray, theirs: FloatArray
) -> tuple[IndexArray, FloatArray]:
    """Give the edge of my piece that keeps theirs farthest beyond it, and how far.

    Two convex pieces lie apart when and only when some edge of either keeps the other beyond it.

    Parameters
    ----------
    corners : float64, shape (c, 2)
        Of the template, counter-clockwise.
    mine, theirs : float64, shape (m, 3)
        Poses.
    """
    normals, offsets = _edges(corners)
    turn = theirs[:, 2] - mine[:, 2]
    cos, sin = np.cos(turn), np.sin(turn)
    # Least over their corners of the distance along each of my normals, in their frame.
    turned_x = normals[:, 0] * cos[:, None] + normals[:, 1] * sin[:, None]
    turned_y = normals[:, 1] * cos[:, None] - normals[:, 0] * sin[:, None]
    nearest = (turned_x[:, :, None] * corners[:, 0] + turned_y[:, :, None] * corners[:, 1]).min(
        axis=2
    )
    x, y = _seen_from(mine, theirs[:, 0], theirs[:, 1])
    beyond = nearest + x[:, None] * normals[:, 0] + y[:, None] * normals[:, 1] - offsets
    edge = beyond.argmax(axis=1)
    return edge, beyond[np.arange(len(edge)), edge]


def gaps_beyond(
    corners: FloatArray, edge: IndexArray, mine: FloatArray, theirs: FloatArray
) -> Gaps:
    """Give how far all corners of their piece lie beyond one edge of mine."""
    normals, offsets = _edges(corners)
    normal = _turned(normals[edge][:, None], mine)
    arm = _turned(corners[None], theirs)
    off = arm + (theirs[:, :2] - mine[:, :2])[:, None]
    value = (off * normal).sum(axis=2) - offsets[edge, None]
    by_theirs = np.empty((*value.shape, 3))
    by_theirs[:, :, :2] = normal
    by_theirs[:, :, 2] = normal[:, :, 1] * arm[:, :, 0] - normal[:, :, 0] * arm[:, :, 1]
    by_mine = -by_theirs
    by_mine[:, :, 2] = normal[:, :, 0] * off[:, :, 1] - normal[:, :, 1] * off[:, :, 0]
    return Gaps(value, by_mine, by_theirs)


def _edges(corners: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Give the outward normals of the edges and how far the edges lie along them."""
    along = np.roll(corners, -1, axis=0) - corners
    normals = np.column_stack([along[:, 1], -along[:, 0]]) / np.hypot(*along.T)[:, None]
    return normals, (normals * corners).sum(axis=1)


def _turned(points: FloatArray, poses: FloatArray) -> FloatArray:
    cos, sin = np.cos(poses[:, 2, None]), np.sin(poses[:, 2, None])
    x, y = points[:, :, 0], points[:, :, 1]
    return np.stack([x * cos - y * sin, x * sin + y * cos], axis=2)


def _seen_from(poses: FloatArray, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    cos, sin = np.cos(poses[:, 2]), np.sin(poses[:, 2])
    x, y = x - poses[:, 0], y - poses[:, 1]
    return x * cos + y * sin, y * cos - x * sin
