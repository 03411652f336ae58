"""Backing panels and batting for a quilt top."""

from __future__ import annotations

import math
from dataclasses import dataclass

from stash.errors import PlanError
from stash.quilt.binding import yards_for

__all__ = ["Backing", "Batting", "backing_for", "batting_for"]

_TINY = 1e-9


@dataclass(frozen=True, slots=True)
class Backing:
    """Cloth for the back.

    Attributes
    ----------
    width_in, length_in : float
        Size of the back once its panels are joined and it reaches over the top all round.
    panels : int
        Lengths of cloth side by side.
    direction : str
        ``upright`` (seams run down the quilt), ``crosswise`` or ``one piece``.
    panel_in : float
        Length of each panel, inches.
    inches, yards : float
        Cloth to buy; yards up to the next eighth.
    """

    width_in: float
    length_in: float
    panels: int
    direction: str
    panel_in: float
    inches: float
    yards: float


@dataclass(frozen=True, slots=True)
class Batting:
    """The size to cut the batting, inches."""

    width_in: float
    length_in: float


def backing_for(
    width_in: float,
    length_in: float,
    *,
    over_in: float = 4.0,
    usable_in: float = 40.0,
    seam_in: float = 0.5,
    shrink_share: float = 0.0,
) -> Backing:
    """Choose the direction of the backing's panels that needs less cloth.

    Parameters
    ----------
    width_in, length_in : float
        The quilt top, inches.
    over_in : float
        How far the backing reaches over the top on each side, inches.
    usable_in : float
        Usable width of the backing cloth, inches, selvages off.
    seam_in : float
        Seam allowance of the backing's own seams, inches.
    shrink_share : float
        What each length loses in the wash before it is cut.

    Raises
    ------
    PlanError
        If a size is nothing, or the cloth is no wider than its seams.
    """
    if not (0 < width_in < math.inf and 0 < length_in < math.inf and over_in >= 0):
        raise PlanError(
            f"A backing for a top of {width_in:g} x {length_in:g} in makes no sense; "
            "give the size of the quilt."
        )
    if usable_in <= 2 * seam_in:
        raise PlanError(
            f"Cloth {usable_in:g} in wide is all seam; give the usable width of the backing."
        )
    across, down = width_in + 2 * over_in, length_in + 2 * over_in
    choices = [
        _panels(across, down, "upright", usable_in=usable_in, seam_in=seam_in),
        _panels(down, across, "crosswise", usable_in=usable_in, seam_in=seam_in),
    ]
    panels, panel_in, direction = min(choices, key=lambda choice: choice[0] * choice[1])
    inches = panels * panel_in / (1 - shrink_share)
    return Backing(across, down, panels, direction, panel_in, inches, yards_for(inches))


def batting_for(width_in: float, length_in: float, *, over_in: float = 8.0) -> Batting:
    """Give the batting's size; ``over_in`` is added to the whole width and length."""
    return Batting(width_in + over_in, length_in + over_in)


def _panels(
    side_in: float, other_in: float, direction: str, *, usable_in: float, seam_in: float
) -> tuple[int, float, str]:
    lost_in = 2 * seam_in
    count = max(1, math.ceil((side_in - lost_in) / (usable_in - lost_in) - _TINY))
    return count, other_in, "one piece" if count == 1 else direction
