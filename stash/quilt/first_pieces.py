"""Which pieces of a full layout are cut first, and how the leftovers of a choice compare."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from numpy import float64
from numpy.typing import NDArray

from stash.shape.containment.piece_fit import Placement
from stash.shape.plane.outline import Outline

__all__ = ["Choice", "Sweep", "promising"]


@dataclass(frozen=True)
class Choice:
    """Some pieces to cut, and what is known of the leftovers."""

    placements: tuple[Placement, ...]
    left: tuple[Outline, ...]
    promised: int
    straight_sq_in: float
    border_in: float

    def rank(self) -> tuple[float, ...]:
        """Order by pieces promised, then as equals are; the most is best."""
        return (self.promised, *self.looks())

    def looks(self) -> tuple[float, ...]:
        """Order those that keep as many: the largest rectangle first, then a short border."""
        return (round(self.straight_sq_in, 1), -self.border_in)


@dataclass(frozen=True)
class Sweep:
    """An order of the pieces from the border inwards, and where the border lies.

    Attributes
    ----------
    order : float64, shape (n,)
        The least is first.
    side : int
        Along the border pieces move to the left seen from inside (1), or to the right (-1).
    turn : float
        Direction of the border, radians, where it is not a corner.
    corner : (float, float) or None
        Inches.
    """

    order: NDArray[float64]
    side: int
    turn: float = 0.0
    corner: tuple[float, float] | None = None

    def away(self, x: float, y: float) -> float:
        """Give the direction of the border from a place, radians."""
        if self.corner is None:
            return self.turn
        return math.atan2(self.corner[1] - y, self.corner[0] - x)


def promising(choices: Sequence[Choice], most: int) -> list[Choice]:
    """Give different choices that promise most, and as many again that leave most straight."""
    straight = sorted(choices, key=Choice.looks, reverse=True)
    found: dict[int, Choice] = {}
    for pair in zip(straight, choices, strict=True):
        for one in pair:
            if len(found) < most:
                found.setdefault(id(one), one)
    return list(found.values())
