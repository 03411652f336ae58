"""Take a cloth's imprint: numbers that stay the same in another photo of it.

An imprint holds still when the cloth is turned, cut from another part of the print, blurred, or
its colours are read a little off.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from stash.colour.imprint.inks import inks_of
from stash.colour.imprint.layout import DIRECTIONS, PART, WIDTHS_IN, Floats
from stash.colour.imprint.picture import PX_PER_IN, at_common_scale, smoothed
from stash.colour.imprint.rings import rings_of
from stash.colour.spaces import FloatArray

__all__ = ["imprint_of"]

_BAND_NOISE, _NOISE = 0.25, 0.5  # Lab units: less contrast than this is noise
_LEAN_NOISE, _PEAK_NOISE = 0.4, 0.3
_LOOKED_AT = 20_000  # pixels of a smoothed copy that are counted
_QUANTILES = np.array([0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.98])


def imprint_of(pixels_srgb: NDArray[np.uint8], mask: NDArray[np.bool_], px_per_in: float) -> Floats:
    """Take a cloth's imprint.

    Parameters
    ----------
    pixels_srgb : uint8, shape (h, w, 3)
        A picture of it in true colours.
    mask : bool, shape (h, w)
        True on the cloth.
    px_per_in : float
        Scale of the picture.

    Returns
    -------
    float32, shape (LENGTH,)
        Its parts are those of ``layout.PART``.

    Raises
    ------
    ValueError
        If the mask is empty or of another shape.

    Notes
    -----
    Bands are differences of Gaussians that leave out what is not cloth: both the picture and the
    mask are smoothed, and one is divided by the other.
    """
    if mask.shape != pixels_srgb.shape[:2] or not mask.any():
        raise ValueError(f"the mask is empty or {mask.shape}, pixels are {pixels_srgb.shape}")
    lab, cloth = at_common_scale(pixels_srgb, mask, px_per_in)
    on = cloth > 0
    mean = lab[on].mean(axis=0)
    about_mean = (lab - mean) * cloth[..., None]
    smooth = [smoothed(about_mean, cloth, width * PX_PER_IN) for width in WIDTHS_IN]
    places = _some(np.flatnonzero(on))
    colours = [_channels(one, places) for one in smooth]
    rings = rings_of(smooth[0], cloth, PX_PER_IN)
    light, red_green, yellow_blue = _band_contrasts(colours)
    parts = {
        "mean": mean,
        "light": light,
        "red-green": red_green,
        "yellow-blue": yellow_blue,
        "links": _links(colours),
        "whole": np.log(colours[1].std(axis=1) + _NOISE),
        "lean": _lean(colours[1]),
        "spread": _quantiles(_directions() @ colours[1]).ravel(),
        "peaks": _peaks(colours),
        "turns": rings.turns,
        "light rings": rings.light,
        "colour rings": rings.colour,
        "fine rings": rings.fine,
        "area": np.array([on.sum() / PX_PER_IN**2]),
        "inks": inks_of(smooth[0], on, mean),
    }
    return np.concatenate([parts[name] for name in PART]).astype(np.float32)


def _some(places: NDArray[np.intp]) -> NDArray[np.intp]:
    """Choose enough of many places by chance, which is always the same; a step would beat."""
    if len(places) <= _LOOKED_AT:
        return places
    return places[np.sort(np.random.default_rng(0).integers(0, len(places), _LOOKED_AT))]


def _channels(picture: Floats, places: NDArray[np.intp]) -> Floats:
    """Give L*, a* and b* at some places, shape (3, n): sums along a row are the quick ones."""
    return np.ascontiguousarray(picture.reshape(-1, 3).take(places, axis=0).T)


def _quantiles(rows: Floats) -> FloatArray:
    """Give the quantiles of each row (linear between values), shape (rows, QUANTILES).

    Sorting a row of single precision is ten times as quick as looking for its quantiles.
    """
    ordered = np.sort(rows, axis=1)
    place = _QUANTILES * (rows.shape[1] - 1)
    below = place.astype(np.intp)
    above = np.minimum(below + 1, rows.shape[1] - 1)
    return np.asarray(ordered[:, below] + (place - below) * (ordered[:, above] - ordered[:, below]))


def _band_contrasts(colours: list[Floats]) -> FloatArray:
    """Give the contrast of L*, a* and b* in each band, natural log, shape (3, bands)."""
    spreads = [(one - wider).std(axis=1) for one, wider in pairwise(colours)]
    return np.asarray(np.log(np.array(spreads) + _BAND_NOISE).T, dtype=np.float64)


def _links(colours: list[Floats]) -> FloatArray:
    """Say how the channels go together in each octave: whether the light figures are the red ones.

    Signed square roots of covariances, so that all are Lab units.
    """
    found = []
    for one, wider in zip(colours[:-2:2], colours[2::2], strict=True):
        across = np.cov(one - wider, bias=True)
        found += [across[0, 1], across[0, 2], across[1, 2], across[1, 1] - across[2, 2]]
    values = np.array(found)
    return np.asarray(np.sign(values) * np.sqrt(np.abs(values)))


def _lean(values: Floats) -> FloatArray:
    """Whether the rarer colours lie above or below the mean, per channel (cube root of skew)."""
    cubes = (values * values * values).mean(axis=1, dtype=np.float64)
    return np.asarray(np.cbrt(cubes) / (values.std(axis=1) + _LEAN_NOISE))


def _peaks(colours: list[Floats]) -> FloatArray:
    """Say whether lightness has few strong figures or many weak ones: log kurtosis."""
    found = []
    for one, wider in zip(colours[:-1:2], colours[1::2], strict=False):
        band = one[0] - wider[0]
        squares = np.square(band / (band.std() + _PEAK_NOISE))
        found.append(float(np.vdot(squares, squares)) / len(band))
    return np.asarray(np.log(np.array(found) + 0.5))


@cache
def _directions() -> Floats:
    """Directions of Lab spread evenly over half a sphere (a spiral), shape (DIRECTIONS, 3)."""
    place = np.arange(DIRECTIONS) + 0.5
    up = 1 - place / DIRECTIONS
    turn = place * np.pi * (1 + 5**0.5)
    flat = np.sqrt(1 - up**2)
    return np.stack([up, flat * np.cos(turn), flat * np.sin(turn)], axis=1).astype(np.float32)
