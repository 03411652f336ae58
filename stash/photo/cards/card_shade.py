"""A hard shadow over a part of a card: which squares lie in it, and how much light is left there.

The edge of a shadow parts the squares by a straight line, about. On one side all have the same
share of the other side's light, so that with this share taken off the colours fit their reference
again. Without a shadow no line and no share makes them fit much better.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray, linear_of_srgb, srgb_of_linear
from stash.photo.cards.patch_misfit import misfits

__all__ = ["CardShade", "shade_across"]

_ANGLES = np.radians(np.arange(1.3, 180, 5.0))
_LEAST_SQUARES = 3  # fewer are left aside as odd ones by whoever reads the card
_SHARES = (0.22, 0.34, 0.5, 0.7)
_FINER = (0.86, 0.93, 1.0, 1.07, 1.15)
_KEPT = 22  # squares that are to fit; the shadow's edge runs through some
# What the best shadow leaves of the misfit: 0.42 at most on 16 charts that a shadow was laid over
# by halves, 0.70 at least on 34 real and 16 rendered ones without; and what is no misfit, encoded.
_TELLING, _FITS = 0.5, 0.03
_BRIGHTEST = 1.3  # encoded


@dataclass(frozen=True, eq=False)
class CardShade:
    """A shadow over a part of a card.

    Attributes
    ----------
    light : float64, shape (n, 3)
        Light on each square, a channel, 1 where the shadow does not lie.
    misfit : float
        Root mean square that is left on the squares that fit best, encoded, 0..1.
    left_over : float64, shape (n,)
        Largest channel error of each square.
    """

    light: FloatArray
    misfit: float
    left_over: FloatArray

    @property
    def shaded(self) -> NDArray[np.bool_]:
        """Which squares lie in it, (n,)."""
        return np.asarray(self.light.mean(axis=1) < 1, dtype=np.bool_)


def shade_across(
    srgb: FloatArray, reference: FloatArray, places: FloatArray | NDArray[np.intp]
) -> CardShade | None:
    """Find the shadow that lies over a part of a card; None where none does.

    Parameters
    ----------
    srgb, reference : float64, shape (n, 3)
        Encoded colours as photographed and as they should be, 0..1.
    places : shape (n, 2)
        Where the squares lie on the card, in any unit.
    """
    kept = _KEPT * len(srgb) // 24
    plain = float(_fitted(srgb, np.ones((1, *srgb.shape)), reference, kept)[0][0])
    if plain < _FITS:
        return None
    sides = _sides(tuple(map(tuple, np.asarray(places, dtype=np.float64).tolist())))
    shares = np.array(_SHARES)[:, None, None]
    light = (1 - (1 - shares) * sides).reshape(-1, len(srgb), 1).repeat(3, axis=2)
    left, _ = _fitted(srgb, light, reference, kept)
    best = light[int(np.argmin(left))]
    if not left.min() < min(_FITS, _TELLING * plain):
        return None
    best = _finer(srgb, best, reference, kept)
    left, over = _fitted(srgb, best[None], reference, kept)
    return CardShade(best, float(left[0]), over[0])


def _finer(srgb: FloatArray, light: FloatArray, reference: FloatArray, kept: int) -> FloatArray:
    """Fit the light in the shadow anew, a channel: the sky's is bluer than the lamp's."""
    for channel in (0, 1, 2, 0, 1, 2):
        tried = np.repeat(light[None], len(_FINER), axis=0)
        tried[..., channel] *= np.where(light[:, channel] < 1, np.array(_FINER)[:, None], 1.0)
        light = tried[int(np.argmin(_fitted(srgb, tried, reference, kept)[0]))]
    return light


def _fitted(
    srgb: FloatArray, light: FloatArray, reference: FloatArray, kept: int
) -> tuple[FloatArray, FloatArray]:
    """Give what is left for each trial of light (m, n, 3), in all and square by square."""
    lit = np.minimum(srgb_of_linear(linear_of_srgb(srgb) / light), _BRIGHTEST)
    aims = np.broadcast_to(reference, lit.shape)
    return misfits(lit, aims, np.ones(lit.shape[:2]), kept)


@cache
def _sides(places: tuple[tuple[float, float], ...]) -> NDArray[np.bool_]:
    """Give every way (m, n) a straight line parts the squares, some on either side."""
    at = np.array(places)
    found: set[tuple[bool, ...]] = set()
    for angle in _ANGLES:
        along = at @ np.array([np.cos(angle), np.sin(angle)])
        steps = np.unique(along)
        for middle in (steps[1:] + steps[:-1]) / 2:
            side = along > middle
            if _LEAST_SQUARES <= side.sum() <= len(side) - _LEAST_SQUARES:
                found |= {tuple(side.tolist()), tuple((~side).tolist())}
    return np.array(sorted(found), dtype=np.bool_)
