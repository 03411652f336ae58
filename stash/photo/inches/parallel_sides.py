"""What sides cut parallel tell of the table: seen through a wrong plane they run together.

A small card says little of how the table slants away from it; the strips, squares and ells that a
ruler leaves do. Cloth that lies askew is no square any more, but its sides are still parallel. Only
scraps most of whose border is parallel sides have a say, and how well all of them agree tells what
that is worth.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from stash.colour.spaces import FloatArray
from stash.shape.plane.outline import Outline

__all__ = ["ParallelSides", "angles_off", "own_spread", "parallel_sides"]

_LEAST_SIDE_IN = 0.7
_WINDOW_DEG = 2.0  # a plane from the card alone turns sides by less than this
_LEAST_SHARE = 0.6  # of a border, that parallel sides make up
_END_IN = 0.003  # how truly the end of a side is found
_CUT_DEG = 0.15  # a 64th of an inch in 6: how parallel a ruler cuts, common practice, no source ...
_CUT_WORTH = 1.5  # ... and as many sides as that guess is worth against what the sides show
_LEAST_CUT_DEG = 0.03


@dataclass(frozen=True, eq=False)
class ParallelSides:
    """Long sides of scraps that were cut along a ruler, in families of parallel ones.

    Attributes
    ----------
    ends_px : float64, shape (n, 2, 2)
        Both ends of every side in the photo.
    family : int, shape (n,)
        Which family of parallel sides it belongs to, from 0.
    noise : float64, shape (n,)
        How truly the direction was found, radians.
    """

    ends_px: FloatArray
    family: np.ndarray
    noise: FloatArray

    def __len__(self) -> int:
        return len(self.family)


def parallel_sides(
    outlines: Iterable[Outline], to_pixels: Callable[[FloatArray], FloatArray]
) -> ParallelSides:
    """Choose the sides that can be trusted to be parallel, from outlines in inches."""
    families = [family for outline in outlines for family in _parallel(np.array(outline.points))]
    if not families:
        return ParallelSides(np.zeros((0, 2, 2)), np.zeros(0, dtype=np.intp), np.zeros(0))
    ends = np.concatenate(families)
    number = np.repeat(np.arange(len(families)), [len(family) for family in families])
    ends_px = to_pixels(ends.reshape(-1, 2)).reshape(-1, 2, 2)
    return ParallelSides(ends_px, number, _END_IN * np.sqrt(2) / _lengths(ends))


def _parallel(ring: FloatArray) -> list[FloatArray]:
    """Families of parallel sides, each (n, 2, 2), of a ring most of which they make up."""
    sides = np.stack([ring, np.roll(ring, -1, axis=0)], axis=1)
    length = np.hypot(*(sides[:, 1] - sides[:, 0]).T)
    border, long = length.sum(), length >= _LEAST_SIDE_IN
    sides, length = sides[long], length[long]
    turn = _turn(sides)
    close = np.abs(_wrapped(turn[:, None] - turn)) < np.deg2rad(_WINDOW_DEG)
    free = np.ones(len(sides), dtype=bool)
    families = list[FloatArray]()
    while (close & free).any():
        best = int(np.argmax((close & free) @ length))
        members = close[best] & free
        free &= ~members
        if members.sum() > 1:
            families.append(sides[members])
        if not members.any():
            break
    covered = sum(float(_lengths(family).sum()) for family in families)
    return families if covered >= _LEAST_SHARE * border else []


def _lengths(sides: FloatArray) -> FloatArray:
    return np.asarray(np.hypot(*(sides[:, 1] - sides[:, 0]).T))


def _turn(sides: FloatArray) -> FloatArray:
    way = sides[:, 1] - sides[:, 0]
    return np.arctan2(way[:, 1], way[:, 0])


def _wrapped(angle: FloatArray) -> FloatArray:
    """Bring angles to within a quarter of a turn of 0: which way along a side counts nothing."""
    return np.asarray(angle - np.pi * np.round(angle / np.pi))


def angles_off(ends_in: FloatArray, family: np.ndarray, weight: FloatArray) -> FloatArray:
    """Angle (n,) of every side from the direction of its family, radians.

    Parameters
    ----------
    ends_in : float64, shape (n, 2, 2)
        Ends of the sides on the table.
    family : int, shape (n,)
        As in ``ParallelSides``.
    weight : float64, shape (n,)
        What each counts when that direction is found.
    """
    turn = _turn(ends_in)
    count = int(family.max()) + 1
    cosine = np.bincount(family, weight * np.cos(2 * turn), count)
    sine = np.bincount(family, weight * np.sin(2 * turn), count)
    return _wrapped(turn - (np.arctan2(sine, cosine) / 2)[family])


def own_spread(off: FloatArray, weight: FloatArray, sides: ParallelSides) -> float:
    """Judge how parallel these scraps were cut, radians, from angles off their families."""
    guess = np.deg2rad(_CUT_DEG) ** 2
    shown = float(weight @ off**2)
    free = float(weight.sum()) * (1 - (sides.family.max() + 1) / len(sides))
    both = (_CUT_WORTH * guess + shown) / (_CUT_WORTH + free)
    return max(float(np.sqrt(both)), float(np.deg2rad(_LEAST_CUT_DEG)))
