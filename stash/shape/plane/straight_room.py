"""How large a straight rectangle a cloth still holds, on a grid: to rank, not to promise."""

from __future__ import annotations

import math

import numpy as np
import shapely.affinity
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

__all__ = ["straight_room"]

_CELLS = 48  # along the longer side


def straight_room(cloth: Polygon | MultiPolygon, along_deg: float) -> float:
    """Give the area of the largest rectangle of grid cells with a side along a line, square inches.

    The grid has 48 cells along the longer side of the cloth; every corner of a cell and its middle
    lie in the cloth. Stacked heights row by row, the largest block under them by a stack of rising
    columns (the largest rectangle in a histogram).
    """
    if cloth.is_empty:
        return 0.0
    turned = shapely.affinity.rotate(cloth, -along_deg, origin=(0, 0))
    left, low, right, high = turned.bounds
    cell = max(right - left, high - low) / _CELLS
    wide, tall = (max(1, math.floor(side / cell + 1e-6)) for side in (right - left, high - low))
    shapely.prepare(turned)
    inset = 1e-3 * cell
    x = left + inset + np.arange(wide + 1) * ((right - left - 2 * inset) / wide)
    y = low + inset + np.arange(tall + 1) * ((high - low - 2 * inset) / tall)
    corner = shapely.intersects_xy(turned, *np.meshgrid(x, y))
    middle = shapely.intersects_xy(turned, *np.meshgrid((x[1:] + x[:-1]) / 2, (y[1:] + y[:-1]) / 2))
    full = corner[1:, 1:] & corner[1:, :-1] & corner[:-1, 1:] & corner[:-1, :-1] & middle
    return _most_cells(full) * float((x[1] - x[0]) * (y[1] - y[0]))


def _most_cells(full: NDArray[np.bool_]) -> int:
    """Count the cells of the largest block that is full."""
    heights = np.zeros(full.shape[1], dtype=np.intp)
    most = 0
    for row in full:
        heights = np.where(row, heights + 1, 0)
        rising: list[tuple[int, int]] = []
        for at, height in enumerate([*heights.tolist(), 0]):
            start = at
            while rising and rising[-1][1] >= height:
                start, tall = rising.pop()
                most = max(most, tall * (at - start))
            rising.append((start, height))
    return most
