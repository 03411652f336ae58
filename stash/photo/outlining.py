"""A scrap's outline in inches, with an error that says how far off it may be."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from stash.colour.spaces import FloatArray
from stash.photo.edge_profile import Edge, find_edge
from stash.photo.plane import Plane
from stash.photo.segmentation import Region, Segmentation
from stash.photo.straightening import straighten
from stash.shape.outline import Outline, outline_of

__all__ = ["MeasuredOutline", "outline_region"]

_SIMPLIFY_SHARE = 0.3  # of the error: simplifying must not show
_EDGE_PX = 1.0  # an edge's corners are known to about this, in pixels of the photo
_FAINT_STEP = 6.0  # CIELAB; a fainter edge may be lost in the backing's own texture ...
_FAINT_IN = 0.12  # ... and by this much where all of it is so faint
_LEAST_HOLE_SQ_IN = 0.1


@dataclass(frozen=True)
class MeasuredOutline:
    """An outline and the colour step across its edge (CIELAB units, median)."""

    outline: Outline
    edge_step: float


def outline_region(
    pixels_srgb: NDArray[np.uint8], region: Region, found: Segmentation, plane: Plane
) -> MeasuredOutline | None:
    """Measure the outline of one region; None if its edge turns out to enclose no cloth.

    Parameters
    ----------
    pixels_srgb : uint8, shape (height, width, 3)
        The photo.
    region : Region
        One scrap of ``found``.
    found : Segmentation
        What the photo shows.
    plane : Plane
        Pixels to inches.
    """
    middle = plane.to_inches(region.rings_px[0].mean(axis=0, keepdims=True))
    px_per_in = plane.px_per_in(middle[0])
    rings, scatters, edges = list[FloatArray](), list[float](), list[Edge]()
    for index, ring in enumerate(region.rings_px):
        edge = find_edge(
            pixels_srgb,
            ring,
            px_per_in=px_per_in,
            backing=found.backing,
            backing_scale=found.scale,
            hole=index > 0,
        )
        straight = straighten(plane.to_inches(edge.points_px))
        rings.append(straight.points)
        scatters.append(straight.scatter_in)
        edges.append(edge)
    shape = _sound(rings)
    if shape is None:
        return None
    error_in = _error(shape, plane, px_per_in, scatters[0], edges[0])
    slim = shape.simplify(_SIMPLIFY_SHARE * error_in)
    holes = [ring.coords for ring in slim.interiors if Polygon(ring).area > _LEAST_HOLE_SQ_IN]
    outline = outline_of(slim.exterior.coords, holes, error_in=error_in)
    return MeasuredOutline(outline, float(np.median(edges[0].step)))


def _sound(rings: list[FloatArray]) -> Polygon | None:
    """Make one valid polygon of the rings; of one that crosses itself the largest part."""
    outer = Polygon(rings[0]).buffer(0) if len(rings[0]) > 2 else Polygon()
    if isinstance(outer, MultiPolygon):
        outer = max(outer.geoms, key=lambda part: part.area)
    shape = Polygon(outer.exterior) if not outer.is_empty else outer
    for ring in rings[1:]:
        if len(ring) > 2:
            shape = shape.difference(Polygon(ring).buffer(0))
    if isinstance(shape, MultiPolygon):
        shape = max(shape.geoms, key=lambda part: part.area)
    return shape if isinstance(shape, Polygon) and shape.area > 0 else None


def _error(shape: Polygon, plane: Plane, px_per_in: float, scatter_in: float, edge: Edge) -> float:
    """Add up what the card's plane, the pixels and the cloth's edge leave open."""
    rim = np.asarray(shape.exterior.segmentize(0.5).coords)
    placed = float(plane.error_in(rim).max())
    faint = float(np.mean(edge.step < _FAINT_STEP))
    seen = (_EDGE_PX + 0.2 * edge.soft_px) / px_per_in + 2 * scatter_in + _FAINT_IN * faint
    return float(np.hypot(placed, seen))
