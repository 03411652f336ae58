"""The spectrum of a cloth by rings: how large its figures are, and whether they lie in lines.

Turning the cloth turns its spectrum; how much lies in a ring, and how unevenly round it, stays.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.imprint.layout import FINE_RINGS, RINGS, TURNS, Floats
from stash.colour.spaces import FloatArray

__all__ = ["Rings", "rings_of"]

_SIDE_PX = 320  # of the square looked at; a larger cloth is looked at in its middle
_FIRST_PER_IN = 0.6  # waves to the inch where the first ring begins
_PER_OCTAVE, _FINE_PER_OCTAVE = 2, 5
_RIM_IN = 0.15  # over which a cloth's edge fades, which would be a wave of its own


@dataclass(frozen=True, slots=True)
class Rings:
    """What lies in the rings of the spectrum.

    Attributes
    ----------
    turns : shape (TURNS * RINGS,)
        How unevenly the power of each ring lies round it: by halves, quarters, sixths; 0..1.
    light, colour : shape (RINGS,)
        Square roots of the shares of the power, of L* and of a*, b*.
    fine : shape (FINE_RINGS,)
        The same of all together, in narrower rings.
    """

    turns: FloatArray
    light: FloatArray
    colour: FloatArray
    fine: FloatArray


def rings_of(about_mean: Floats, cloth: Floats, px_per_in: float) -> Rings:
    """Look at the spectrum of Lab about its mean (h, w, 3) where there is cloth (h, w)."""
    window = cv2.GaussianBlur(cloth, (0, 0), _RIM_IN * px_per_in) * cloth
    square = _middle(about_mean * window[..., None])
    light, *colours = (_power(square[..., channel]) for channel in range(3))
    colour = colours[0] + colours[1]
    ring, fine, waves = _grid(px_per_in)
    inside = np.flatnonzero(ring < RINGS)
    held = np.bincount(ring[inside], light[inside], RINGS)
    turns = [
        np.hypot(
            np.bincount(ring[inside], (light * wave.real)[inside], RINGS),
            np.bincount(ring[inside], (light * wave.imag)[inside], RINGS),
        )
        / (held + light.sum() * 1e-3 + 1e-9)
        for wave in waves
    ]
    return Rings(
        np.concatenate(turns),
        _shares(light, ring, RINGS),
        _shares(colour, ring, RINGS),
        _shares(light + colour, fine, FINE_RINGS),
    )


def _middle(picture: Floats) -> Floats:
    """Cut or fill up to the square, its middle kept."""
    height, width = picture.shape[:2]
    top, left = max(0, (height - _SIDE_PX) // 2), max(0, (width - _SIDE_PX) // 2)
    part = picture[top : top + _SIDE_PX, left : left + _SIDE_PX]
    square = np.zeros((_SIDE_PX, _SIDE_PX, 3), np.float32)
    square[: part.shape[0], : part.shape[1]] = part
    return square


def _power(channel: Floats) -> FloatArray:
    import scipy.fft  # who keeps a photo that others measured needs none of it

    waves = scipy.fft.rfft2(channel)
    return np.asarray((waves.real**2 + waves.imag**2).ravel(), dtype=np.float64)


def _shares(power: FloatArray, ring: NDArray[np.intp], rings: int) -> FloatArray:
    held = np.bincount(ring, power, rings + 1)[:rings]
    return np.asarray(np.sqrt(held / (held.sum() + 1e-9)))


@cache
def _grid(
    px_per_in: float,
) -> tuple[NDArray[np.intp], NDArray[np.intp], tuple[NDArray[np.complex64], ...]]:
    """Give each wave's ring and fine ring, the last for those outside, and its turns."""
    down = np.fft.fftfreq(_SIDE_PX)[:, None] * px_per_in
    across = np.fft.rfftfreq(_SIDE_PX)[None] * px_per_in
    octaves = np.log2(np.maximum(np.hypot(down, across), 1e-6) / _FIRST_PER_IN).ravel()
    turned = np.exp(1j * np.arctan2(down, across)).astype(np.complex64).ravel()

    def ring(per_octave: int, most: int) -> NDArray[np.intp]:
        """Give each frequency the ring it lies in; what lies outside gets the number ``most``."""
        place = np.floor(octaves * per_octave).astype(np.intp)
        return np.where((place >= 0) & (place < most), place, most)

    return (
        ring(_PER_OCTAVE, RINGS),
        ring(_FINE_PER_OCTAVE, FINE_RINGS),
        tuple(turned ** (2 * (turn + 1)) for turn in range(TURNS)),
    )
