"""What strips and lengths of cloth make of a binding, a border and a backing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from stash.quilt.binding import SEAM_IN

__all__ = [
    "LEAST_STRIP_IN",
    "ClothUse",
    "Lengths",
    "Panel",
    "border_length",
    "joined_length",
    "panels_of",
    "strips_to_reach",
]

LEAST_STRIP_IN = 12.0  # a binding of shorter strips is all joins (judgement)
_TINY = 1e-6


class ClothUse(StrEnum):
    """What cloth is wanted for besides the pieces."""

    BINDING = "binding"
    BORDER = "border"
    BACKING = "backing"


@dataclass(frozen=True, slots=True)
class Lengths:
    """A rectangle of cloth of a scrap, inches."""

    scrap: int
    long_in: float
    wide_in: float


@dataclass(frozen=True, slots=True)
class Panel:
    """Cloth of one width, joined end to end, that reaches from edge to edge of a back.

    Attributes
    ----------
    scraps : tuple of int
        Where its lengths are from, in order.
    wide_in, long_in : float
        Inches, seams taken.
    """

    scraps: tuple[int, ...]
    wide_in: float
    long_in: float


def joined_length(lengths_in: Sequence[float], join_in: float) -> float:
    """Give what strips make when they are joined; each join eats so much, inches."""
    return max(0.0, sum(lengths_in) - join_in * max(0, len(lengths_in) - 1))


def strips_to_reach(lengths_in: Sequence[float], wanted_in: float, join_in: float) -> int:
    """Give how many strips, taken in order, make the length; all of them where they do not.

    Examples
    --------
    >>> strips_to_reach([40, 40, 40], 79, 0.5), strips_to_reach([40, 40], 90, 0.5)
    (2, 2)
    """
    for count in range(1, len(lengths_in) + 1):
        if joined_length(lengths_in[:count], join_in) >= wanted_in - _TINY:
            return count
    return len(lengths_in)


def border_length(width_in: float, length_in: float, border_in: float) -> float:
    """Give the strips a border takes in all, inches: two sides, then top and bottom across them.

    Each has a seam allowance at both ends (arithmetic).

    Examples
    --------
    >>> border_length(40, 60, 4)
    218.0
    """
    return 2 * length_in + 2 * (width_in + 2 * border_in) + 8 * SEAM_IN


def panels_of(
    cloths: Sequence[Lengths], back_in: tuple[float, float], seam_in: float
) -> tuple[tuple[Panel, ...], bool]:
    """Lay a back of these cloths in panels, and say whether they cover it.

    Panels run down the back or across it, with cloth lying lengthwise or crosswise in them; of
    the four ways the one that covers, with the fewest cuts of cloth, then the least cloth. Where
    none covers it, the one that covers most.
    """
    tried = []
    for across, down in (back_in, (back_in[1], back_in[0])):
        for turned in (False, True):
            laid = [
                (one.wide_in, one.long_in, one.scrap)
                if turned
                else (one.long_in, one.wide_in, one.scrap)
                for one in cloths
            ]
            panels = _panels(laid, down, across, seam_in)
            wide = joined_length([panel.wide_in for panel in panels], 2 * seam_in)
            used = sum(panel.wide_in * panel.long_in for panel in panels)
            cuts = sum(len(panel.scraps) for panel in panels)
            covers = wide >= across - _TINY
            tried.append(((not covers, cuts if covers else -wide / across, used), panels, covers))
    _, panels, covers = min(tried, key=lambda one: one[0])
    return panels, covers


def _panels(
    laid: Sequence[tuple[float, float, int]], down_in: float, across_in: float, seam_in: float
) -> tuple[Panel, ...]:
    """Fill a back panel by panel, the widest cloth first; what is left over makes none."""
    panels: list[Panel] = []
    column: list[tuple[float, float, int]] = []
    for long_in, wide_in, scrap in sorted(laid, key=lambda one: (-one[1], -one[0], one[2])):
        column.append((long_in, wide_in, scrap))
        reach = joined_length([one[0] for one in column], 2 * seam_in)
        if reach < down_in - _TINY:
            continue
        width = min(one[1] for one in column)
        scraps = tuple(one[2] for one in column)
        # Cloth much longer than the back gives several panels side by side.
        times = math.floor(long_in / down_in + _TINY) if len(column) == 1 else 1
        column = []
        for _ in range(times):
            panels.append(Panel(scraps, width, down_in))
            if joined_length([one.wide_in for one in panels], 2 * seam_in) >= across_in - _TINY:
                return tuple(panels)
    return tuple(panels)
