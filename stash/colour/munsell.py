"""Munsell hue, chroma and value of a colour, by look-up among the renotation's chips."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from io import BytesIO
from pkgutil import get_data

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stash.colour.spaces import FloatArray

__all__ = ["MunsellColours", "munsell_of_lab"]

_NEIGHBOURS = 6
_AT_ONCE = 50  # colours measured together: 0.9 MB, which stay near the processor
_AMONG = 10  # single precision picks so many, double precision orders them
_TURN = 2 * np.pi / 100  # the Munsell hue circle has 100 steps


@dataclass(frozen=True, slots=True)
class MunsellColours:
    """Columns of hue (0..100; 5 is 5R, 25 is 5Y, 75 is 5PB), chroma and value (0..10)."""

    hue: FloatArray
    chroma: FloatArray
    value: FloatArray


def munsell_of_lab(lab: ArrayLike) -> MunsellColours:
    """Give the Munsell notation of CIELAB colours.

    Parameters
    ----------
    lab : float64, shape (n, 3)
        CIELAB, white D65.

    Returns
    -------
    MunsellColours
        One entry a row. Grey colours have a hue too, but it means nothing below chroma 1.

    Notes
    -----
    Mean of the six nearest chips, weighted by the inverse square of the distance; hue and chroma
    are averaged as a point of the plane.

    References
    ----------
    Newhall, Nickerson, Judd 1943, Journal of the Optical Society of America 33, 385;
    value by ASTM D1535; chips moved from illuminant C to D65 (Bradford).

    Examples
    --------
    >>> found = munsell_of_lab([[51.0, 26.2, 12.8]])  # the chip 5R 5/6
    >>> round(float(found.hue[0])), round(float(found.chroma[0])), round(float(found.value[0]))
    (5, 6, 5)
    """
    colours = np.asarray(lab, dtype=np.float64).reshape(-1, 3)
    distance, index = _nearest(colours)
    weight = 1 / np.maximum(distance, 1e-6) ** 2
    weight /= weight.sum(axis=1, keepdims=True)
    x, y, value = np.einsum("nk,nkc->cn", weight, _chips()[1][index])
    return MunsellColours((np.arctan2(y, x) / _TURN) % 100, np.hypot(x, y), value)


def _nearest(colours: FloatArray) -> tuple[FloatArray, NDArray[np.intp]]:
    """Give distances and numbers of the nearest chips, (n, 6), nearest first."""
    chips = _chips()[0]
    found = np.empty((len(colours), _NEIGHBOURS), dtype=np.intp)
    apart = np.empty((len(colours), _NEIGHBOURS))
    coarse = chips.astype(np.float32)
    coarse = np.ascontiguousarray(np.column_stack([-2 * coarse, (coarse**2).sum(axis=1)]).T)
    room = np.empty((_AT_ONCE, len(chips)), dtype=np.float32)
    for start in range(0, len(colours), _AT_ONCE):
        some = colours[start : start + _AT_ONCE]
        padded = np.column_stack([some, np.ones(len(some))]).astype(np.float32)
        squares = np.matmul(padded, coarse, out=room[: len(some)])  # but for the colours' own
        near = np.empty((len(some), _AMONG), dtype=np.intp)
        for nth in range(_AMONG):  # ten times the least is quicker than a partition
            near[:, nth] = squares.argmin(axis=1)
            squares[np.arange(len(some)), near[:, nth]] = np.inf
        squares = ((chips[near] - some[:, None]) ** 2).sum(axis=2)
        order = np.argsort(squares, axis=1)[:, :_NEIGHBOURS]
        found[start : start + _AT_ONCE] = np.take_along_axis(near, order, axis=1)
        apart[start : start + _AT_ONCE] = np.sqrt(np.take_along_axis(squares, order, axis=1))
    return apart, found


@cache
def _chips() -> tuple[FloatArray, FloatArray]:
    """CIELAB of the chips, and their places in the plane of hue and chroma with the value."""
    table = np.load(BytesIO(get_data("stash.colour", "munsell.npy") or b"")) / 100
    hue, chroma, value = table[:, 3] * _TURN, table[:, 4], table[:, 5]
    plane = np.column_stack([chroma * np.cos(hue), chroma * np.sin(hue), value])
    return np.ascontiguousarray(table[:, :3]), plane
