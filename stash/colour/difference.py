"""How far apart two colours look: CIEDE2000, through colormath's matrix form."""

from __future__ import annotations

import numpy as np
from colormath.color_diff_matrix import delta_e_cie2000
from numpy.typing import ArrayLike

from stash.colour.spaces import FloatArray

__all__ = ["colour_difference", "difference_table"]


def colour_difference(
    first: ArrayLike, second: ArrayLike, *, lightness_weight: float = 1.0
) -> FloatArray:
    """Say how far apart colours look, in CIEDE2000 units.

    Parameters
    ----------
    first : float64, shape (3,)
        CIELAB, white D65, 2 degree observer; L from 0 to 100.
    second : float64, shape (n, 3)
        The same space, one colour a row.
    lightness_weight : float
        The parametric factor kL; 2 counts a tint half (textile practice, from memory).

    Returns
    -------
    float64, shape (n,)
        0 for equal colours, never negative.

    Raises
    ------
    ValueError
        If a last axis is not 3 long; the message gives the shape found.

    References
    ----------
    ISO/CIE 11664-6; Sharma, Wu, Dalal 2005, Color Research and Application 30(1), table 1.

    Examples
    --------
    >>> float(colour_difference([50, 2.6772, -79.7751], [[50, 0, -82.7485]])[0].round(4))
    2.0425
    """
    one = np.asarray(first, dtype=np.float64)
    many = np.asarray(second, dtype=np.float64)
    if one.shape != (3,) or many.ndim != 2 or many.shape[1] != 3:
        raise ValueError(f"colours must be (3,) and (n, 3), got {one.shape} and {many.shape}")
    difference = delta_e_cie2000(one, many, Kl=lightness_weight)
    return np.nan_to_num(np.asarray(difference, dtype=np.float64))


def difference_table(
    rows: ArrayLike, columns: ArrayLike, *, lightness_weight: float = 1.0
) -> FloatArray:
    """Give CIEDE2000 between every row colour (n, 3) and column colour (m, 3), as (n, m)."""
    left = np.asarray(rows, dtype=np.float64).reshape(-1, 3)
    right = np.asarray(columns, dtype=np.float64).reshape(-1, 3)
    if not len(left):
        return np.zeros((0, len(right)))
    return np.stack(
        [colour_difference(one, right, lightness_weight=lightness_weight) for one in left]
    )
