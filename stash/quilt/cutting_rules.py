"""The printed rules of thumb for cutting with a rotary cutter, beside their exact values."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = [
    "CUT_RULES",
    "CutAllowance",
    "corner_triangle_square",
    "cut_before_washing",
    "diamonds_per_strip",
    "hexagons_per_strip",
    "pieces_per_stack",
    "side_triangle_square",
    "stitches_per_inch",
    "triangles_per_strip",
    "up_to_eighth",
]

_ROOT2, _ROOT3 = math.sqrt(2), math.sqrt(3)
_TINY = 1e-9


@dataclass(frozen=True, slots=True)
class CutAllowance:
    """What is added to a finished size to cut a piece with 1/4 in seams, inches.

    Attributes
    ----------
    measure : str
        Which finished measure it is added to.
    printed_in : float
        The rounded figure handbooks print.
    exact_per_seam : float
        The exact figure for a seam allowance of 1.
    """

    measure: str
    printed_in: float
    exact_per_seam: float

    def exact_in(self, seam_in: float = 0.25) -> float:
        """Give the exact addition for a seam allowance."""
        return self.exact_per_seam * seam_in


CUT_RULES = {
    "square": CutAllowance("side", 0.5, 2),
    "half-square triangle": CutAllowance("short side", 0.875, 2 + _ROOT2),
    "quarter-square triangle": CutAllowance("long side", 1.25, 2 + 2 * _ROOT2),
    "equilateral triangle": CutAllowance("height", 0.75, 3),
    "equilateral triangle side": CutAllowance("side", 0.875, 2 * _ROOT3),
    "60-degree diamond": CutAllowance("height between sides", 0.5, 2),
    "60-degree diamond side": CutAllowance("side", 0.625, 4 / _ROOT3),
    "45-degree diamond": CutAllowance("height between sides", 0.5, 2),
    "45-degree diamond side": CutAllowance("side", 0.75, 2 * _ROOT2),
    "hexagon": CutAllowance("height between flats", 0.5, 2),
    "hexagon side": CutAllowance("side", 0.375, 2 / _ROOT3),
}


def up_to_eighth(inches: float) -> float:
    """Round up to the next eighth of an inch, as rulers are marked."""
    return math.ceil(inches * 8 - _TINY) / 8


def side_triangle_square(block_in: float) -> float:
    """Give the square that, cut twice across, gives side triangles of an on-point setting."""
    return up_to_eighth(block_in * 1.414 + 1.25)


def corner_triangle_square(block_in: float) -> float:
    """Give the square that, cut once across, gives corner triangles of an on-point setting."""
    return up_to_eighth(block_in / 1.414 + 0.875)


def triangles_per_strip(strip_in: float, cut_height_in: float) -> int:
    """Count equilateral triangles, turned by halves, on a strip of that length."""
    side_in = 2 * cut_height_in / _ROOT3
    return max(0, math.floor(2 * strip_in / side_in + _TINY) - 1)


def diamonds_per_strip(strip_in: float, cut_width_in: float, *, angle_deg: float = 60.0) -> int:
    """Count diamonds on a strip as wide as they are between their sides."""
    angle = math.radians(angle_deg)
    slant_in, step_in = cut_width_in / math.tan(angle), cut_width_in / math.sin(angle)
    return max(0, math.floor((strip_in - slant_in) / step_in + _TINY))


def hexagons_per_strip(strip_in: float, cut_side_in: float) -> int:
    """Count hexagons point to point on a strip."""
    return max(0, math.floor(strip_in / (2 * cut_side_in) + _TINY))


def pieces_per_stack(fabrics: int, *, folds: int = 1) -> int:
    """Count the pieces one cut gives through fabrics that are folded and stacked.

    Examples
    --------
    >>> pieces_per_stack(3)
    6
    """
    return int(fabrics * 2**folds)


def cut_before_washing(size_in: float, shrink_share: float = 0.03) -> float:
    """Give the size to cut from unwashed cloth so that the washed piece is ``size_in``."""
    return size_in / (1 - shrink_share)


def stitches_per_inch(stitch_mm: float) -> float:
    """Turn a machine's stitch length in millimetres into stitches per inch."""
    return 25.4 / stitch_mm
