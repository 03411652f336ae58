"""Where each part of an imprint lies in its row of numbers."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "BANDS",
    "DIRECTIONS",
    "FINE_RINGS",
    "INKS",
    "LENGTH",
    "OCTAVES",
    "PART",
    "QUANTILES",
    "RECIPE",
    "RINGS",
    "TURNS",
    "WIDTHS_IN",
    "Floats",
]

Floats: TypeAlias = NDArray[np.float32]

RECIPE = 2  # goes up when an imprint is made otherwise, so that older ones are made anew

# Widths of the smoothed copies, inches, half an octave apart; a band is what two that follow
# differ in.
WIDTHS_IN = tuple(0.02 * 2 ** (step / 2) for step in range(11))
BANDS = len(WIDTHS_IN) - 1
OCTAVES = BANDS // 2
RINGS = 10  # of the spectrum, half an octave each
FINE_RINGS = 25  # a fifth of an octave each
INKS = 6  # colours told apart at most
TURNS = 3  # waves round a ring: 2, 4 and 6
DIRECTIONS, QUANTILES = 8, 7

_LENGTHS = {
    "mean": 3,  # CIELAB
    "light": BANDS,  # contrast in each band, log of Lab units: of L*,
    "red-green": BANDS,
    "yellow-blue": BANDS,
    "links": 4 * OCTAVES,  # how L*, a* and b* go together in each octave
    "whole": 3,  # contrast of the whole
    "lean": 3,  # to which side the rarer colours lie
    "spread": DIRECTIONS * QUANTILES,  # of the colours about their mean
    "peaks": OCTAVES,  # few strong figures or many weak ones
    "turns": TURNS * RINGS,  # lines one way, two ways, three ways
    "light rings": RINGS,  # what of the power lies in which ring
    "colour rings": RINGS,
    "fine rings": FINE_RINGS,
    "area": 1,  # square inches in view
    "inks": 4 * INKS,  # CIELAB and share of each, largest first
}


def _slices() -> dict[str, slice]:
    ends = np.cumsum(list(_LENGTHS.values())).tolist()
    return {
        name: slice(end - length, end)
        for (name, length), end in zip(_LENGTHS.items(), ends, strict=True)
    }


PART = _slices()
LENGTH = sum(_LENGTHS.values())
