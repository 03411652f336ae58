"""The families people sort colours into, and light, medium or dark."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stash.colour.munsell import MunsellColours, munsell_of_lab
from stash.colour.spaces import FloatArray, Lab, chroma_of

__all__ = [
    "FAMILIES",
    "NEUTRALS",
    "FamilyColumns",
    "FamilyName",
    "bits_of",
    "families_of",
    "family_of",
    "value_limits",
    "value_word",
    "value_words",
]

FAMILIES = (
    "white", "grey", "black", "cream", "tan", "brown", "pink", "red",
    "orange", "gold", "yellow", "olive", "green", "teal", "blue", "purple",
)  # fmt: skip
NEUTRALS = ("white", "grey", "black", "cream", "tan")
_NUMBER = {family: number for number, family in enumerate(FAMILIES)}

_BORDER_STEPS = 1.5  # of the 100 steps of hue: within this both names apply (judgement)
_BORDER_CHROMA = 0.25  # the same for the edge of grey, cream and brown (judgement)
_BORDER_VALUE = 0.3
_LIGHT_FROM, _DARK_BELOW = 70.0, 40.0  # L*; usual in the trade, no source
_FEWEST_RELATIVE, _IMAGINED = 2, 5.0  # fabrics; the second is judgement
# L* from the mean of the darkest third of a set to that of its lightest, two thirds of its range
# were it even: below the first a set is of one value, at 35 half relative. Judgement.
_SPAN_NONE, _SPAN_FULL = 20.0, 50.0
_CHROMA_PER_STEP = 5.0  # one Munsell chroma step is about 5 of C*ab


@dataclass(frozen=True, slots=True)
class FamilyName:
    """The family of a colour, and the neighbour's name if it lies near their border."""

    family: str
    alternative: str | None = None


@dataclass(frozen=True, slots=True)
class FamilyColumns:
    """Families of many colours.

    Attributes
    ----------
    first : int8, shape (n,)
        Index into ``FAMILIES``.
    near : uint16, shape (n,)
        One bit per family whose name applies: the first, and neighbours across a near border.
    possible : uint16, shape (n,)
        The same, for any colour within the stated colour error.
    """

    first: NDArray[np.int8]
    near: NDArray[np.uint16]
    possible: NDArray[np.uint16]


def bits_of(families: Iterable[str]) -> int:
    """Give the bits of some families, as in ``FamilyColumns``."""
    return sum(1 << _NUMBER[family] for family in set(families))


def family_of(lab: Lab) -> FamilyName:
    """Name the family of one colour (CIELAB, white D65).

    Examples
    --------
    >>> family_of((30.0, 5.0, -30.0)).family
    'blue'
    """
    columns = families_of([lab])
    first = int(columns.first[0])
    others = int(columns.near[0]) & ~(1 << first)
    alternative = FAMILIES[others.bit_length() - 1] if others else None
    return FamilyName(FAMILIES[first], alternative)


def families_of(lab: ArrayLike, error_de00: ArrayLike = 0.0) -> FamilyColumns:
    """Name the families of many colours.

    Parameters
    ----------
    lab : float64, shape (n, 3)
        CIELAB, white D65.
    error_de00 : float or float64 of shape (n,)
        How far each colour may be off, CIEDE2000; widens ``possible`` only.

    Notes
    -----
    The borders are a judgement on the Munsell circle; their agreement with a survey of colour
    names is in docs/measurements.md, "Families".
    """
    colours = np.asarray(lab, dtype=np.float64).reshape(-1, 3)
    munsell = munsell_of_lab(colours)
    first = _first_family(munsell.hue, munsell.chroma, munsell.value)
    near = _around(munsell, _BORDER_STEPS, _BORDER_CHROMA, _BORDER_VALUE)
    error = np.broadcast_to(np.asarray(error_de00, dtype=np.float64), first.shape)
    possible = near | _around(munsell, *_steps_of_error(chroma_of(colours), error))
    return FamilyColumns(first, near, possible)


def _steps_of_error(
    chroma_ab: FloatArray, error_de00: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Turn a CIEDE2000 error into steps of hue, chroma and value (weights of CIEDE2000)."""
    hue_ab = error_de00 * (1 + 0.015 * chroma_ab)
    hue = np.degrees(np.arctan2(hue_ab, np.maximum(chroma_ab, 1e-6))) / 3.6
    return hue, error_de00 * (1 + 0.045 * chroma_ab) / _CHROMA_PER_STEP, error_de00 / 10


def _around(
    munsell: MunsellColours,
    hue_steps: FloatArray | float,
    chroma_steps: FloatArray | float,
    value_steps: FloatArray | float,
) -> NDArray[np.uint16]:
    """Bits of the families met one step to each side of every colour."""
    hue, chroma, value = munsell.hue, munsell.chroma, munsell.value
    bits = np.zeros(hue.shape, dtype=np.uint16)
    for sign in (-1.0, 0.0, 1.0):
        for moved in (
            _first_family((hue + sign * hue_steps) % 100, chroma, value),
            _first_family(hue, np.maximum(chroma + sign * chroma_steps, 0.0), value),
            _first_family(hue, chroma, value + sign * value_steps),
        ):
            bits |= np.uint16(1) << moved.astype(np.uint16)
    return bits


def _first_family(hue: FloatArray, chroma: FloatArray, value: FloatArray) -> NDArray[np.int8]:
    """Apply the rules of the families; the first that holds wins."""
    pale_warm = (hue >= 10) & (hue < 30) & (value >= 5.8)
    cool = (hue >= 50) & (hue < 90)
    # A bluish or pinkish white is still white, a slate still grey; a yellowish white is cream.
    greyest = np.where(cool & (value < 6.5), 2.1, np.where(value >= 8.5, 1.8, 1.5))
    greyest = np.where(pale_warm, 0.8, greyest)
    neutral = (chroma < greyest) | ((value < 1.8) & (chroma < 3))
    sandiest = np.where(hue < 16, 3.0, np.where(hue < 19, 4.2, np.where(hue < 26.5, 6.5, 5.0)))
    warm = pale_warm & (chroma < sandiest)
    reddish = (hue >= 97) | (hue < 10)
    # Towards red a deep one is still called pink: raspberry is, violet red is not.
    pink = (hue >= 91) & (value >= np.interp(hue, (94.0, 97.0), (5.2, 4.5)))
    pink |= (hue < 10) & (value >= np.where(hue < 3, 5.8, 6.2))
    orange_like = (hue >= 10) & (hue < 22)
    yellow_like = (hue >= 22) & (hue < 33)
    # A light blue leans further to green than a dark one before people call it teal.
    teal_to = np.interp(value, (7.0, 8.0), (66.0, 60.0))
    rules = [
        (neutral & (value >= 8.5), "white"),
        (neutral & (value < 2.5), "black"),
        (neutral, "grey"),
        (warm & (value >= 8.6), "cream"),
        (warm, "tan"),
        (pink, "pink"),
        (reddish & (hue >= 6) & (hue < 10) & (chroma < 5), "brown"),
        # A dark red with hardly any red in it: plum brown, cocoa.
        (reddish & (value < 5) & (chroma < 2.5), "brown"),
        (reddish, "red"),
        (orange_like & (hue < 12) & (value < 4.2) & (chroma >= 9), "red"),
        (orange_like & (value < 5.8) & (chroma < np.where(value < 5, 10.0, 8.2)), "brown"),
        (orange_like & (value < 4.2), "brown"),
        ((hue >= 22) & (hue < 25) & (value < 5.2) & (chroma < 8.5), "brown"),
        ((hue >= 10) & (hue < 18), "orange"),
        (orange_like, "gold"),
        ((hue >= 22) & (hue < 25.3) & ((value >= 5.5) | (chroma >= 8)), "gold"),
        (yellow_like & (value >= 6.5), "yellow"),
        (yellow_like, "olive"),
        ((hue >= 33) & (hue < 48.5), "green"),
        ((hue >= 48.5) & (hue < teal_to), "teal"),
        ((hue >= 48.5) & (hue < 79.5), "blue"),
    ]
    numbers = [np.int8(_NUMBER[family]) for _, family in rules]
    chosen = np.select([rule for rule, _ in rules], numbers, default=_NUMBER["purple"])
    return chosen.astype(np.int8)


def value_limits(among: ArrayLike | None = None) -> tuple[float, float]:
    """Give the L* below which a fabric is dark and from which it is light, as in ``value_word``.

    Notes
    -----
    The span of a set lies between the mean of its darkest third and the mean of its lightest; were
    values spread evenly, a quarter of that beyond each would mark the thirds. So one fabric more
    moves a limit by no more than its part of a third, and a few fabrics move it little: they count
    beside as many imagined ones that the usual limits fit.
    """
    values = np.sort(np.asarray([] if among is None else among, dtype=np.float64).ravel())
    if len(values) < _FEWEST_RELATIVE:
        return _DARK_BELOW, _LIGHT_FROM
    low, high = _mean_of_first_third(values), _mean_of_first_third(values[::-1])
    real = np.clip((high - low - _SPAN_NONE) / (_SPAN_FULL - _SPAN_NONE), 0.0, 1.0)
    relative = real * len(values) / (len(values) + _IMAGINED)
    quarter = (high - low) / 4
    return (
        float(_DARK_BELOW + relative * (low + quarter - _DARK_BELOW)),
        float(_LIGHT_FROM + relative * (high - quarter - _LIGHT_FROM)),
    )


def _mean_of_first_third(values: FloatArray) -> float:
    """Give the mean of the first third of some numbers, the last of them in part."""
    third = len(values) / 3
    return float(values @ np.clip(third - np.arange(len(values)), 0.0, 1.0) / third)


def value_word(lightness: float, among: ArrayLike | None = None) -> str:
    """Call a lightness light, medium or dark.

    Parameters
    ----------
    lightness : float
        L* of what the fabric reads as.
    among : float64, shape (n,), optional
        L* of the set it is looked at with. In a quilt value is relative to the neighbours where
        their values really span: the words go over from those of a fabric by itself to the
        thirds of the set, from a span of 20 to one of 50, and the more so the more fabrics.

    Examples
    --------
    >>> value_word(75), value_word(55), value_word(20)
    ('light', 'medium', 'dark')
    >>> value_word(60, among=[10, 12, 20, 30, 55, 60])
    'light'
    """
    dark, light = value_limits(among)
    if lightness >= light:
        return "light"
    return "dark" if lightness < dark else "medium"


def value_words(lightness: ArrayLike) -> list[str]:
    """Call each lightness of a set light, medium or dark, relative to the set: ``value_word``."""
    values = np.asarray(lightness, dtype=np.float64).ravel()
    dark, light = value_limits(values)
    return ["light" if at >= light else "dark" if at < dark else "medium" for at in values.tolist()]
