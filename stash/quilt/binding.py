"""Binding: how long, how wide to cut, how many strips, how much cloth."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from enum import StrEnum

from stash.errors import PlanError

__all__ = [
    "BiasPiece",
    "BindingFold",
    "bias_length_from_square",
    "bias_length_sewn",
    "bias_rectangle_depth",
    "bias_square_sewn",
    "bias_square_side",
    "cut_width",
    "single_bias_strips",
    "straight_strips",
    "yards_for",
]

_TINY = 1e-9  # so that an exact hit is not rounded up because of the last binary digit
SEAM_IN = 0.25
_SHORTEST_STRIP_IN = 12.0  # shorter ones make a binding of joins (judgement)


class BindingFold(StrEnum):
    """How the strip is folded over the edge."""

    DOUBLE = "double"
    SINGLE = "single"


@dataclass(frozen=True, slots=True)
class BiasPiece:
    """Bias strips cut one by one from a piece of cloth.

    Attributes
    ----------
    width_in, depth_in : float
        The piece: along the selvage-to-selvage edge, and the other way.
    strips_in : tuple of float
        Length of each strip that is needed, along its shorter edge, longest first.
    length_in : float
        Length when all are joined.
    """

    width_in: float
    depth_in: float
    strips_in: tuple[float, ...]
    length_in: float


def cut_width(
    finished_in: float,
    fold: BindingFold = BindingFold.DOUBLE,
    *,
    seam_in: float = SEAM_IN,
    thickness_in: float = 0.125,
) -> float:
    """Give the width to cut a binding strip, inches.

    Parameters
    ----------
    finished_in : float
        What shows on one side of the quilt, inches.
    fold : BindingFold
        Double: the strip is folded in half first. Single: one layer is turned over the edge,
        and the seam is as wide as the finished binding.
    seam_in : float
        Seam allowance of a double binding, inches.
    thickness_in : float
        What the quilt's thickness eats, inches; 1/8 to 1/4.

    References
    ----------
    Double: Marti Michell, Quilting for People Who Still Don't Have Time to Quilt, pp. 188-189.
    Single: American Patchwork & Quilting, How to Cut Binding.

    Examples
    --------
    >>> cut_width(0.5), cut_width(0.25, BindingFold.SINGLE)
    (2.625, 1.125)
    """
    _positive(finished_in, "The finished width of the binding")
    seams = 2 * seam_in if fold is BindingFold.DOUBLE else 0.0
    return 4 * finished_in + seams + thickness_in


def straight_strips(
    length_in: float, cut_in: float, *, usable_in: float = 40.0, diagonal_joins: bool = False
) -> int:
    """Count the strips from selvage to selvage that a binding needs.

    Parameters
    ----------
    length_in, cut_in : float
        Length wanted and width of a strip, inches.
    usable_in : float
        Usable width of the cloth, inches.
    diagonal_joins : bool
        Whether each join eats one strip width; the plain published rule leaves joins to the
        allowance in ``length_in``.

    Raises
    ------
    PlanError
        If a length is nothing, or the cloth is too narrow to gain anything by joining.
    """
    for value, name in (
        (length_in, "The length of the binding"),
        (cut_in, "The width of a binding strip"),
        (usable_in, "The usable width of the cloth"),
    ):
        _positive(value, name)
    lost_in = cut_in if diagonal_joins else 0.0
    if usable_in <= lost_in:
        raise PlanError(
            f"Strips {usable_in:g} in long and {cut_in:g} in wide gain nothing by joining on "
            "the slant. Use wider cloth or a narrower strip."
        )
    return max(1, math.ceil((length_in - lost_in) / (usable_in - lost_in) - _TINY))


def bias_square_side(length_in: float, cut_in: float, *, extra_in: float = 0.0) -> int:
    """Give the side of the square for continuous bias, whole inches.

    The strip is the square cut open, so their areas are equal: the side is the root of
    length x width, rounded up; ``extra_in`` (0, 2 or 3 in print) is added for the seams.
    """
    _positive(length_in, "The length of the binding")
    _positive(cut_in, "The width of a binding strip")
    return math.ceil(math.ceil(math.sqrt(length_in * cut_in) - _TINY) + extra_in - _TINY)


def bias_rectangle_depth(
    length_in: float, cut_in: float, *, usable_in: float = 42.0, side_in: int | None = None
) -> int:
    """Give the depth of a full-width rectangle of the same area as the bias square, inches."""
    _positive(usable_in, "The usable width of the cloth")
    side = bias_square_side(length_in, cut_in) if side_in is None else side_in
    return math.ceil(side**2 / usable_in - _TINY)


def bias_length_from_square(side_in: float, cut_in: float) -> float:
    """Give the length of continuous bias that a square yields, inches."""
    _positive(cut_in, "The width of a binding strip")
    return side_in**2 / cut_in


def bias_length_sewn(side_in: float, cut_in: float, *, seam_in: float = SEAM_IN) -> float:
    """Give what a square really yields as continuous bias, inches.

    Cut across and sewn along two sides it is a parallelogram as high as half the square's
    diagonal, and two allowances narrower; sewn to a tube it loses two more. Only whole strips
    count (computed).
    """
    _positive(cut_in, "The width of a binding strip")
    laps = math.floor(side_in / math.sqrt(2) / cut_in + _TINY)
    return max(0.0, laps * (side_in - 4 * seam_in) * math.sqrt(2))


def bias_square_sewn(length_in: float, cut_in: float, *, extra_in: float = 0.0) -> int:
    """Give the square whose continuous bias, all seams taken, is as long as wanted, whole inches.

    Never less than the printed square of the same area with what is added to it.
    """
    side_in = bias_square_side(length_in, cut_in, extra_in=extra_in)
    while bias_length_sewn(side_in, cut_in) < length_in:
        side_in += 1
    return side_in


def single_bias_strips(
    length_in: float, cut_in: float, *, usable_in: float = 40.0, seam_in: float = SEAM_IN
) -> BiasPiece:
    """Find the shallowest full-width piece whose bias strips, cut one by one, are long enough.

    Lines at 45 degrees, strip x root 2 apart along the edges, cut the piece up; a strip counts
    with its shorter edge if that is 12 in or more. Joined on the slant, each join takes twice
    seam x root 2 of the length.

    Raises
    ------
    PlanError
        If no piece as deep as the cloth is wide is enough.
    """
    _positive(length_in, "The length of the binding")
    _positive(cut_in, "The width of a binding strip")
    join_in = 2 * seam_in * math.sqrt(2)
    for eighths in range(8, int(usable_in * 8) + 1):
        depth_in = eighths / 8
        strips: list[float] = []
        for strip in sorted(_strip_lengths(usable_in, depth_in, cut_in), reverse=True):
            strips.append(strip)
            total_in = sum(strips) - join_in * (len(strips) - 1)
            if total_in >= length_in:
                return BiasPiece(usable_in, depth_in, tuple(strips), total_in)
    raise PlanError(
        f"Bias strips of one piece {usable_in:g} in wide do not reach {length_in:.0f} in. "
        "Cut the binding as continuous bias from a square."
    )


def _strip_lengths(width_in: float, depth_in: float, cut_in: float) -> tuple[float, ...]:
    step_in = cut_in * math.sqrt(2)
    lines = [step_in * k for k in range(math.floor((width_in + depth_in) / step_in) + 1)]
    chords = [math.sqrt(2) * min(at, depth_in, width_in, width_in + depth_in - at) for at in lines]
    strips = map(min, itertools.pairwise(chords))
    return tuple(strip for strip in strips if strip >= _SHORTEST_STRIP_IN)


def yards_for(inches: float, *, step: int = 8) -> float:
    """Round a length of cloth up to the next eighth of a yard.

    Examples
    --------
    >>> yards_for(17.5), yards_for(160)
    (0.5, 4.5)
    """
    return math.ceil(inches / 36 * step - _TINY) / step


def _positive(value: float, name: str) -> None:
    if not 0 < value < math.inf:
        raise PlanError(f"{name} must be more than nothing; {value:g} in was given.")
