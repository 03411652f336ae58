"""How far apart two colours look: CIEDE2000, through colormath's matrix form."""

from __future__ import annotations

import numpy as np
from colormath.color_diff_matrix import delta_e_cie2000
from numpy.typing import ArrayLike

from stash.colour.spaces import FloatArray

__all__ = ["colour_difference", "difference_table", "paired_difference"]


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


def paired_difference(
    first: ArrayLike, second: ArrayLike, *, lightness_weight: float = 1.0
) -> FloatArray:
    """Give CIEDE2000 between the colours of two lists of equal length, row by row (n, 3).

    Notes
    -----
    The formula itself in NumPy, for long lists: colormath takes one colour against many. Tested
    against colormath and against the published pairs.

    References
    ----------
    ISO/CIE 11664-6; Sharma, Wu, Dalal 2005, Color Research and Application 30(1), 21-30.
    """
    one = np.asarray(first, dtype=np.float64)
    two = np.asarray(second, dtype=np.float64)
    c_bar7 = ((np.hypot(one[..., 1], one[..., 2]) + np.hypot(two[..., 1], two[..., 2])) / 2) ** 7
    g = 1.5 - 0.5 * np.sqrt(c_bar7 / (c_bar7 + 25.0**7))
    a1, a2 = g * one[..., 1], g * two[..., 1]
    c1, c2 = np.hypot(a1, one[..., 2]), np.hypot(a2, two[..., 2])
    h1 = np.arctan2(one[..., 2], a1) % (2 * np.pi)
    h2 = np.arctan2(two[..., 2], a2) % (2 * np.pi)
    turn = h2 - h1
    turn = np.where(turn > np.pi, turn - 2 * np.pi, np.where(turn < -np.pi, turn + 2 * np.pi, turn))
    grey = c1 * c2 == 0
    hue = np.where(grey, np.where(c1 == 0, h2, h1), h1 + turn / 2)
    lightness = (one[..., 0] + two[..., 0]) / 2 - 50
    c_bar = (c1 + c2) / 2
    t = (
        1
        - 0.17 * np.cos(hue - np.radians(30))
        + 0.24 * np.cos(2 * hue)
        + 0.32 * np.cos(3 * hue + np.radians(6))
        - 0.20 * np.cos(4 * hue - np.radians(63))
    )
    around_blue = ((np.degrees(hue) % 360 - 275) / 25) ** 2
    r_c = 2 * np.sqrt(c_bar**7 / (c_bar**7 + 25.0**7))
    r_t = -np.sin(np.radians(60) * np.exp(-around_blue)) * r_c
    d_l = (two[..., 0] - one[..., 0]) / (
        lightness_weight * (1 + 0.015 * lightness**2 / np.sqrt(20 + lightness**2))
    )
    d_c = (c2 - c1) / (1 + 0.045 * c_bar)
    d_h = 2 * np.sqrt(c1 * c2) * np.sin(turn / 2) / (1 + 0.015 * c_bar * t)
    squared = d_l**2 + d_c**2 + d_h**2 + r_t * d_c * d_h
    return np.asarray(np.sqrt(np.maximum(squared, 0.0)), dtype=np.float64)
