"""How far apart two colours look: CIEDE2000 for near ones, HyAB for far ones."""

from __future__ import annotations

import math

import numpy as np
from colormath.color_diff_matrix import delta_e_cie2000
from numpy.typing import ArrayLike

from stash.colour.spaces import FloatArray

__all__ = ["colour_difference", "difference_table", "large_difference", "paired_difference"]


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


def large_difference(
    first: ArrayLike, second: ArrayLike, *, lightness_weight: float = 1.0
) -> FloatArray:
    """Say how far apart colours look that are far from alike: HyAB, in units of CIELAB.

    Parameters
    ----------
    first, second : float, shape (..., 3)
        CIELAB, white D65; they broadcast together.
    lightness_weight : float
        What a step of L* counts beside a step of a*, b*.

    Notes
    -----
    CIEDE2000 is made for small differences and draws strong colours together: an old gold of
    chroma 57 lies 13 from a sand of chroma 24. This grows with chroma as the eye does.

    References
    ----------
    abasi2020 in docs/sources.md.

    Examples
    --------
    >>> float(large_difference([50, 0, 0], [60, 3, 4]))
    15.0
    """
    apart = np.asarray(first) - np.asarray(second)
    plane = np.sqrt(apart[..., 1] ** 2 + apart[..., 2] ** 2)
    return np.asarray(lightness_weight * np.abs(apart[..., 0]) + plane)


def difference_table(
    rows: ArrayLike, columns: ArrayLike, *, lightness_weight: float = 1.0
) -> FloatArray:
    """Give CIEDE2000 between every row colour (n, 3) and column colour (m, 3), as (n, m)."""
    left = np.asarray(rows, dtype=np.float64).reshape(-1, 1, 3)
    right = np.asarray(columns, dtype=np.float64).reshape(1, -1, 3)
    return paired_difference(left, right, lightness_weight=lightness_weight)


def paired_difference(
    first: ArrayLike, second: ArrayLike, *, lightness_weight: float = 1.0
) -> FloatArray:
    """Give CIEDE2000 between the colours of two arrays (..., 3) that broadcast together.

    Notes
    -----
    The formula itself in NumPy: colormath takes one colour against many, which is slow for many
    short lists. Tested against colormath and against the published pairs.

    References
    ----------
    ISO/CIE 11664-6; Sharma, Wu, Dalal 2005, Color Research and Application 30(1), 21-30.
    """
    one, two = (np.asarray(colours) for colours in (first, second))
    if not one.dtype == two.dtype == np.float32:  # half the digits are plenty for a sweep
        one, two = one.astype(np.float64), two.astype(np.float64)
    b1, b2 = one[..., 2], two[..., 2]
    c_bar = (_length(one[..., 1], b1) + _length(two[..., 1], b2)) / 2
    g = 1.5 - 0.5 * _saturation(c_bar)
    a1, a2 = g * one[..., 1], g * two[..., 1]
    c1, c2 = _length(a1, b1), _length(a2, b2)
    h1, h2 = np.arctan2(b1, a1), np.arctan2(b2, a2)
    h1, h2 = h1 + _TURN * (h1 < 0), h2 + _TURN * (h2 < 0)
    turn = h2 - h1
    turn = turn + _TURN * ((turn < -np.pi).astype(turn.dtype) - (turn > np.pi))
    hue = np.where(c1 * c2 == 0, np.where(c1 == 0, h2, h1), h1 + turn / 2)
    hue = hue + _TURN * ((hue < 0).astype(hue.dtype) - (hue >= _TURN))
    lightness = ((one[..., 0] + two[..., 0]) / 2 - 50) ** 2
    c_bar = (c1 + c2) / 2
    t = _hue_weight(np.cos(hue), np.sin(hue))
    around_blue = ((hue - math.radians(275)) / math.radians(25)) ** 2
    r_t = -2 * _saturation(c_bar) * np.sin(math.radians(60) * np.exp(-around_blue))
    d_l = (two[..., 0] - one[..., 0]) / (
        lightness_weight * (1 + 0.015 * lightness / np.sqrt(20 + lightness))
    )
    d_c = (c2 - c1) / (1 + 0.045 * c_bar)
    d_h = 2 * np.sqrt(c1 * c2) * np.sin(turn / 2) / (1 + 0.015 * c_bar * t)
    squared = d_l * d_l + d_c * d_c + d_h * d_h + r_t * d_c * d_h
    return np.asarray(np.sqrt(np.maximum(squared, 0)))


_TURN = 2 * math.pi
_COS = {degrees: math.cos(math.radians(degrees)) for degrees in (6, 30, 63)}
_SIN = {degrees: math.sin(math.radians(degrees)) for degrees in (6, 30, 63)}


def _length(x: FloatArray, y: FloatArray) -> FloatArray:
    return np.asarray(np.sqrt(x * x + y * y))


def _hue_weight(c: FloatArray, s: FloatArray) -> FloatArray:
    """T of the standard, from cosine and sine of the mean hue by the multiple-angle rules."""
    c2, s2 = 2 * c * c - 1, 2 * s * c
    c3, s3 = c * (2 * c2 - 1), s * (2 * c2 + 1)
    c4, s4 = 2 * c2 * c2 - 1, 2 * s2 * c2
    return (
        1
        - 0.17 * (_COS[30] * c + _SIN[30] * s)
        + 0.24 * c2
        + 0.32 * (_COS[6] * c3 - _SIN[6] * s3)
        - 0.20 * (_COS[63] * c4 + _SIN[63] * s4)
    )


def _saturation(chroma: FloatArray) -> FloatArray:
    """Root of C^7 / (C^7 + 25^7); powers by products, which is ten times quicker."""
    squared = chroma * chroma / 625.0
    seventh = squared * squared * squared * (chroma / 25.0)
    return np.asarray(np.sqrt(seventh / (seventh + 1)))
