"""A scrap's outline in inches, with an error that says how far off it may be."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry import MultiPolygon, Polygon

from stash.colour.spaces import FloatArray
from stash.photo.inches.plane import Plane
from stash.photo.outlines.edge_profile import Ring, RingEdge, find_edge
from stash.photo.outlines.placing import placed_in
from stash.photo.outlines.straightening import Blemishes, straighten
from stash.photo.outlines.unsure_edge import Doubts, doubts, seen_points
from stash.photo.table.segmentation import Region, Segmentation
from stash.photo.table.thin_parts import trimmed
from stash.shape.plane.outline import Outline, outline_of

__all__ = ["MeasuredOutline", "moved", "outline_region"]

_SIMPLIFY_SHARE, _SIMPLIFY_IN = 0.2, 0.008  # of the error, and at most: it must not show
_EDGE_IN = 0.008  # cloth's edge is no sharper, nor a corner truer, in simulated 12-megapixel photos
_FAINT_STEP = 6.0  # CIELAB; a fainter edge may be lost in the backing's own texture ...
_FAINT_IN = 0.1  # ... and by this much where all of it is so faint
_BLUR_PX = 0.5  # comes on top of all: the worst place of many is met, not the usual one
_SEAM_IN = 0.1  # where other cloth and no backing lies beyond the edge
_CROOKED = 0.03  # share of an outline off long straight sides from which on it counts as crooked
_THREAD_IN = 0.06  # beside a thread's core its own edge may be taken for the cloth's
_THREAD_SQ_IN = 0.004  # a quarter inch of one; shorter fringe needs no word
_LEAST_HOLE_SQ_IN = 0.1
_FINE_PX_PER_IN = 160.0  # from here on small notches and tips are told from blemishes


@dataclass(frozen=True, slots=True)
class _Worth:
    """How much of each doubt counts; fitted so that 95 in 100 lie within (quantile regression).

    Rendered scenes of every kind at 90 and 180 pixels an inch; see ``docs/measurements.md``.
    """

    off: float
    weak: float
    unseen: float
    thin: float


# A side of hundreds of points and a corner where two meet hardly feel a few of them that are off.
_STRAIGHT = _Worth(off=0.0, weak=0.5, unseen=0.5, thin=0.2)
_STRAIGHT_EXACT = _Worth(off=0.0, weak=0.0, unseen=0.5, thin=0.2)
_CROOKED_WORTH = _Worth(off=1.3, weak=0.7, unseen=1.2, thin=0.3)


@dataclass(frozen=True)
class MeasuredOutline:
    """An outline.

    Attributes
    ----------
    outline : Outline
        In inches, with an error that holds all there is.
    edge_step : float
        Colour step across its edge, CIELAB units, median.
    seen_in : float
        How far the edge may lie off where it was seen; the plane's error comes on top.
    blur_in : float
        What the pixels add to both.
    threads : bool
        Whether threads or pins were left off it.
    """

    outline: Outline
    edge_step: float
    seen_in: float
    blur_in: float
    threads: bool = False


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
    blemishes = _blemishes(px_per_in) if region.exact else Blemishes()
    unlike = region.exact and not found.like_shade(region)
    rings, edges = list[FloatArray](), list[RingEdge]()
    for index, ring in enumerate(region.rings_px):
        edge = find_edge(
            pixels_srgb,
            Ring(ring, hole=index > 0, exact=region.exact, unlike=unlike),
            px_per_in=px_per_in,
            backing=found.backing,
            backing_scale=found.scale,
        )
        edge = _hidden_by(region.threads_px, edge, reach_px=_THREAD_IN * px_per_in)
        points = plane.to_inches(edge.points_px)
        rings.append(straighten(points[seen_points(points, edge.step)], blemishes))
        edges.append(edge)
    shape = _sound(rings)
    if shape is None:
        return None
    whole, shape = shape, trimmed(shape)
    doubt = doubts(shape, plane.to_inches(edges[0].points_px), edges[0].step)
    seen_in = _seen(doubt, edges[0].step, exact=region.exact)
    seen_in += _SEAM_IN if region.seam else 0.0
    blur_in = _BLUR_PX / px_per_in
    corners = np.asarray(shape.exterior.coords)[:-1]
    error_in = math.hypot(placed_in(corners, plane), seen_in) + blur_in
    slim = shape.simplify(min(_SIMPLIFY_SHARE * error_in, _SIMPLIFY_IN))
    holes = [ring.coords for ring in slim.interiors if Polygon(ring).area > _LEAST_HOLE_SQ_IN]
    outline = outline_of(slim.exterior.coords, holes, error_in=error_in)
    return MeasuredOutline(
        outline,
        float(np.median(edges[0].step)),
        seen_in,
        blur_in,
        threads=len(region.threads_px) > 0 or whole.area - shape.area > _THREAD_SQ_IN,
    )


def _hidden_by(threads_px: FloatArray, edge: RingEdge, *, reach_px: float) -> RingEdge:
    """Take the edge for unseen where threads and pins lie over it."""
    if not len(threads_px):
        return edge
    away_px = np.asarray(cKDTree(threads_px).query(edge.points_px)[0])
    return replace(edge, step=np.where(away_px < reach_px, 0.0, edge.step))


def _blemishes(px_per_in: float) -> Blemishes:
    """What may hide a straight edge where every notch is seen, as far as the pixels go."""
    usual, coarse = Blemishes(), max(1.0, _FINE_PX_PER_IN / px_per_in)
    return Blemishes(
        area_sq_in=min(usual.area_sq_in, 0.003 * coarse**2),
        end_in=min(usual.end_in, 0.045 * coarse),
        astray_in=min(usual.astray_in, 0.02 * coarse),
    )


def moved(measured: MeasuredOutline, old: Plane, new: Plane) -> MeasuredOutline:
    """Lay an outline that was measured on one plane down on another."""
    rings = (measured.outline.points, *measured.outline.holes)
    shape = _sound([new.to_inches(old.to_pixels(np.array(ring))) for ring in rings])
    if shape is None:
        return measured
    outer = np.asarray(shape.exterior.coords)[:-1]
    error_in = math.hypot(placed_in(outer, new), measured.seen_in) + measured.blur_in
    holes = [ring.coords for ring in shape.interiors]
    return replace(measured, outline=outline_of(outer, holes, error_in=error_in))


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


def _seen(doubt: Doubts, step: FloatArray, *, exact: bool) -> float:
    """Add up what the pixels and the cloth's edge leave open."""
    crooked = min(1.0, doubt.crooked / _CROOKED)
    straight = _doubted(doubt, _STRAIGHT_EXACT if exact else _STRAIGHT)
    faint = _FAINT_IN * float(np.mean(step < _FAINT_STEP))
    return _EDGE_IN + (1 - crooked) * straight + crooked * _doubted(doubt, _CROOKED_WORTH) + faint


def _doubted(doubt: Doubts, worth: _Worth) -> float:
    return (
        worth.off * doubt.off_in
        + worth.weak * doubt.weak_in
        + worth.unseen * doubt.unseen_in
        + worth.thin * doubt.thin_in
    )
