"""Straight strips of one width, and the largest rectangle, along a line on a scrap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from stash.shape.plane.outline import Outline, Point, Ring

__all__ = ["Strip", "largest_rectangle", "strips_along"]

_OFFSETS = 8  # places of the first cut that are tried within one strip's width
_LEVELS = 14  # heights between which a rectangle is looked for, besides those of the corners
_SAFE_IN = 1e-6


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip to cut.

    Attributes
    ----------
    ring : Ring
        Its corners in the scrap's inches: from its start along one side, back along the other.
    length_in, width_in : float
        Along the shorter edge, and across.
    """

    ring: Ring
    length_in: float
    width_in: float


def strips_along(
    outline: Outline, width_in: float, along_deg: float, *, slant: int = 0, least_in: float = 0.0
) -> tuple[Strip, ...]:
    """Cut a scrap into strips side by side along a line, the longest first.

    Parameters
    ----------
    outline : Outline
        The scrap, at the size it is cut at; what lies within its error of the border is left.
    width_in : float
        Width of a strip, inches.
    along_deg : float
        The line, degrees counter-clockwise from x.
    slant : int
        0 for square ends; 1 or -1 for ends of 45 degrees, leaning forward or back.
    least_in : float
        Shorter strips are left out, inches.
    """
    level = _levelled(outline.sure(), along_deg, slant)
    if level.is_empty:
        return ()
    _, low, _, high = level.bounds
    count = int((high - low) / width_in + _SAFE_IN)
    best: list[tuple[float, float, float]] = []
    spare = high - low - count * width_in
    for first in np.linspace(0.0, spare, 2 if spare < width_in / 50 else _OFFSETS):
        starts = low + first + width_in * np.arange(count)
        found = [
            (left, right, float(start))
            for start in starts
            for left, right in _clear(level, float(start), width_in)
            if right - left >= max(least_in, _SAFE_IN)
        ]
        if sum(b - a for a, b, _ in found) > sum(b - a for a, b, _ in best) + _SAFE_IN:
            best = found
    strips = [_strip(one, width_in, along_deg, slant) for one in best]
    return tuple(sorted(strips, key=lambda strip: -strip.length_in))


def largest_rectangle(outline: Outline, along_deg: float) -> Strip | None:
    """Find the largest rectangle with a side along a line; exact where corners bound it."""
    level = _levelled(outline.sure(), along_deg, 0)
    if level.is_empty:
        return None
    _, low, _, high = level.bounds
    heights = np.unique(np.round(_heights(level, low, high), 6))
    best: tuple[float, float, float, float] | None = None
    for at, bottom in enumerate(heights):
        for top in heights[at + 1 :]:
            for left, right in _clear(level, float(bottom), float(top - bottom)):
                area = (right - left) * float(top - bottom)
                if best is None or area > best[0]:
                    best = (area, left, right, float(bottom))
                    width_in = float(top - bottom)
    if best is None:
        return None
    return _strip((best[1], best[2], best[3]), width_in, along_deg, 0)


def _heights(level: BaseGeometry, low: float, high: float) -> NDArray[np.float64]:
    corners = shapely.get_coordinates(level.simplify(0.05))[:, 1]
    if len(corners) > _LEVELS:
        corners = np.quantile(corners, np.linspace(0, 1, _LEVELS))
    return np.concatenate([corners, np.linspace(low, high, _LEVELS)])


def _levelled(shape: BaseGeometry, along_deg: float, slant: int) -> BaseGeometry:
    """Turn a shape until the line lies level, and lean it so that slanted ends stand upright."""
    turned = affinity.rotate(shape, -along_deg, origin=(0, 0))
    return affinity.affine_transform(turned, [1, -slant, 0, 1, 0, 0]) if slant else turned


def _clear(level: BaseGeometry, bottom: float, width_in: float) -> list[tuple[float, float]]:
    """Give the stretches in which a level band is cloth over its whole width."""
    left, _, right, _ = level.bounds
    inside = (bottom + _SAFE_IN, bottom + width_in - _SAFE_IN)
    gaps = box(left - 1, inside[0], right + 1, inside[1]).difference(level)
    taken = sorted(shapely.bounds(part)[[0, 2]].tolist() for part in shapely.get_parts(gaps))
    clear, at = [], left - 1
    for start, end in taken:
        if start > at + _SAFE_IN:
            clear.append((at, start))
        at = max(at, end)
    return clear


def _strip(found: Sequence[float], width_in: float, along_deg: float, slant: int) -> Strip:
    left, right, bottom = found
    top = bottom + width_in
    level: tuple[Point, ...] = ((left, bottom), (right, bottom), (right, top), (left, top))
    leaned = Polygon([(x + slant * y, y) for x, y in level])
    ring = affinity.rotate(leaned, along_deg, origin=(0, 0)).exterior.coords[:4]
    return Strip(tuple((float(x), float(y)) for x, y in ring), right - left, width_in)
