"""Scraps laid out side by side for the search of places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stash.shape.plane.border import Borders, FloatArray, IndexArray, borders_of
from stash.shape.plane.outline import Outline

__all__ = ["Field", "field_of", "field_of_cloth"]

_LEAST_TURN = 1e-7  # sine; a corner this straight is part of its edges


@dataclass(frozen=True)
class Field:
    """Scraps laid out for the search, each about the middle of its own bounds.

    Attributes
    ----------
    border : Borders
        The scraps' borders.
    reflex : float64, shape (v, 2)
        Corners that point into the cloth, scrap by scrap.
    reflex_first : int, shape (s + 1,)
        Where those of each scrap begin.
    need : float64, shape (s,)
        Clearance needed, inches.
    half_size : float64, shape (s, 2)
        Half the width and height.
    middle : float64, shape (s, 2)
        Where the middle lies in the scrap's own frame.
    windows : float64, shape (w, 3)
        Scrap number, lowest and highest turn in radians.
    """

    border: Borders
    reflex: FloatArray
    reflex_first: IndexArray
    need: FloatArray
    half_size: FloatArray
    middle: FloatArray
    windows: FloatArray

    def owner(self, window: IndexArray) -> IndexArray:
        """Give the scrap that each of these windows belongs to."""
        return np.asarray(self.windows[window, 0], dtype=np.intp)


def field_of(
    outlines: Sequence[Outline], windows_deg: Sequence[Sequence[tuple[float, float]]]
) -> Field:
    """Lay out scraps with the turns allowed on each."""
    rings = [[np.array(ring) for ring in (one.points, *one.holes)] for one in outlines]
    low = np.array([of_one[0].min(axis=0) for of_one in rings])
    high = np.array([of_one[0].max(axis=0) for of_one in rings])
    turns = [
        (k, np.radians(least), np.radians(most))
        for k, of_one in enumerate(windows_deg)
        for least, most in of_one
    ]
    need = np.array([outline.error_in for outline in outlines])
    return _laid_out(rings, low, high, need, np.array(turns))


def field_of_cloth(
    rings: Sequence[FloatArray], windows_deg: Sequence[tuple[float, float]]
) -> Field:
    """Lay out one piece of sure cloth, whose border counts as it is, perhaps in several parts.

    Rings may run either way; they must not cross.
    """
    whole = np.concatenate(rings)
    turns = np.array([(0, np.radians(low), np.radians(high)) for low, high in windows_deg])
    low, high = whole.min(axis=0), whole.max(axis=0)
    return _laid_out([_facing(rings)], low[None], high[None], np.zeros(1), turns)


def _laid_out(
    rings: list[list[FloatArray]],
    low: FloatArray,
    high: FloatArray,
    need: FloatArray,
    windows: FloatArray,
) -> Field:
    middle = (low + high) / 2
    border = borders_of([[ring - middle[k] for ring in of_one] for k, of_one in enumerate(rings)])
    return Field(border, *_reflex(border), need, (high - low) / 2, middle, windows)


def _reflex(border: Borders) -> tuple[FloatArray, IndexArray]:
    """Collect the corners that point into the cloth, and where those of each scrap begin."""
    shapes = len(border.forms)
    owner = np.repeat(np.arange(shapes), np.diff(border.first))
    inwards = border.turns < -_LEAST_TURN
    counts = np.bincount(owner[inwards], minlength=shapes)
    return border.starts[inwards], np.concatenate([[0], np.cumsum(counts)]).astype(np.intp)


def _facing(rings: Sequence[FloatArray]) -> list[FloatArray]:
    """Turn rings so that the cloth lies on their left: outer ones ccw, holes clockwise."""
    made = []
    for k, ring in enumerate(rings):
        depth = sum(_holds(other, ring[0]) for n, other in enumerate(rings) if n != k)
        x, y = ring[:, 0], ring[:, 1]
        turned = (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() > 0
        made.append(ring if turned == (depth % 2 == 0) else ring[::-1])
    return made


def _holds(ring: FloatArray, point: FloatArray) -> bool:
    y0, y1 = ring[:, 1], np.roll(ring[:, 1], -1)
    crosses = (y0 <= point[1]) != (y1 <= point[1])
    x0, x1 = ring[crosses, 0], np.roll(ring[:, 0], -1)[crosses]
    share = (point[1] - y0[crosses]) / (y1 - y0)[crosses]
    return bool((x0 + share * (x1 - x0) > point[0]).sum() % 2)
