"""How many pieces a cloth can hold at most: by its area, and by where their middles can lie."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from stash.shape.containment.probe import probe_of
from stash.shape.templates.template import Template

__all__ = ["most_pieces"]

_FEW = 6  # for more pieces than this the middles rarely say more than the area
_SLACK_IN = 0.004  # shrinking a cloth rounds its inward corners off by chords


def most_pieces(sure: Polygon | MultiPolygon, template: Template) -> int:
    """Give a count that no layout on the sure cloth exceeds."""
    parts: list[Polygon] = shapely.get_parts(sure).tolist()
    return sum(_most_in(part, template) for part in parts)


def _most_in(cloth: Polygon, template: Template) -> int:
    pieces = float(cloth.area / Polygon(template.cut).area)
    by_area = math.floor(pieces + 1e-6)
    if not 1 < by_area <= _FEW:
        return by_area
    # The inscribed circles of pieces that do not overlap do not overlap either.
    radius = probe_of(template.cut).inner_radius_in
    return min(by_area, _most_apart(cloth.buffer(_SLACK_IN - radius), 2 * radius - 1e-6))


def _most_apart(region: BaseGeometry, apart_in: float) -> int:
    """Bound how many points of a region lie so far from each other: halve it until each has one."""
    if region.is_empty:
        return 0
    corners = shapely.get_coordinates(region.convex_hull)
    off = corners[:, None] - corners
    if float(np.hypot(off[..., 0], off[..., 1]).max()) < apart_in:
        return 1
    x0, y0, x1, y1 = region.bounds
    if x1 - x0 >= y1 - y0:
        middle = (x0 + x1) / 2
        halves = (x0, y0, middle, y1), (middle, y0, x1, y1)
    else:
        middle = (y0 + y1) / 2
        halves = (x0, y0, x1, middle), (x0, middle, x1, y1)
    return sum(_most_apart(shapely.clip_by_rect(region, *half), apart_in) for half in halves)
