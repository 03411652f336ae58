"""The dominant colours of a cloth and their shares, by k-means in CIELAB."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from sklearn.cluster import KMeans

from stash.colour.appearance import ColourShare
from stash.colour.cloth_sample import Calibrate, Cloth, Pixels, close_look, spread_pixels, taken
from stash.colour.difference import difference_table, large_difference
from stash.colour.mixtures import mixture_distances
from stash.colour.spaces import (
    FloatArray,
    chroma_of,
    lab_of_linear,
    linear_of_lab,
    linear_of_srgb,
    srgb_of_linear,
)

__all__ = ["ColourCells", "cells_of", "dominant_colours", "reads_as"]

_BITS = 4  # low bits of a channel that one cell takes together: 16 levels
_CLUSTERS = 10
# Share of the pixels, those with the steepest gradient, that is left out: they mix two inks.
_EDGE_SHARE = 0.7
_DRAWN_IN = 3  # rounds in which a centre moves to where its pixels are densest
_CORE_LAB = 5.0  # radius that counts as dense; the shading of cloth spreads an ink about so far
_ONE_SPOT_LAB = 0.01  # colours this near are one; k-means cannot part them
_SAME_COLOUR_DE00 = 8.0
_LEAST_SHARE = 0.03
_MOST_COLOURS = 6
# A coral thread that makes the cloth is kept where nothing on it is like it, nor mixes to it at
# the edges of figures: share, C*ab, HyAB from every other and from their mixtures. Judgement.
_LEAST_ACCENT, _ACCENT_CHROMA, _ACCENT_APART, _NO_MIXTURE = 0.008, 30.0, 35.0, 20.0
_LINEAR = linear_of_srgb(np.arange(256) / 255)


@dataclass(frozen=True)
class ColourCells:
    """The cloth's pixels gathered in small cells of sRGB: mean colour and share of each.

    Attributes
    ----------
    lab : float64, shape (n, 3)
        Calibrated CIELAB of each cell's mean in linear light.
    share : float64, shape (n,)
        Share of the cloth's area.
    inner_share : float64, shape (n,)
        Share of the pixels that lie inside a colour, off the edges between inks.
    """

    lab: FloatArray
    share: FloatArray
    inner_share: FloatArray


def cells_of(cloth: Cloth, calibrate: Calibrate, *, seed: int = 0) -> ColourCells:
    """Gather pixels of nearly one colour, so that only their means need calibrating."""
    rng = np.random.default_rng(seed)
    spread = spread_pixels(cloth, rng)
    close, mask = close_look(cloth, rng)
    inner = taken(close, _inner_places(close, mask))
    # One array a channel: NumPy runs through those several times faster than through pixels.
    channels = cv2.split(np.concatenate([spread, inner])[None])
    side = 256 >> _BITS
    cell = np.zeros(len(spread) + len(inner), dtype=np.intp)
    for channel in channels:
        cell = cell * side + (channel[0] >> _BITS)
    spread_count = np.bincount(cell[: len(spread)], minlength=side**3)
    inner_count = np.bincount(cell[len(spread) :], minlength=side**3)
    count = spread_count + inner_count
    used = np.flatnonzero(count)
    sums = [np.bincount(cell, cv2.LUT(channel[0], _LINEAR).ravel())[used] for channel in channels]
    mean = np.stack(sums, axis=1) / count[used, None]
    share = spread_count[used] / len(spread)
    inner_share = inner_count[used] / len(inner)
    return ColourCells(calibrate(srgb_of_linear(mean)), share, inner_share)


def _inner_places(srgb: Pixels, mask: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Flat places of the pixels off the edges between inks: of the least slope.

    Luma and its two colour differences, the steeper of across and down, in whole numbers: as good
    as the gradient in CIELAB (docs/measurements.md, "Dominant colours") in a third of the time.
    """
    steepness = np.zeros(mask.shape, np.int16)
    for channel in cv2.split(cv2.cvtColor(srgb, cv2.COLOR_RGB2YCrCb)):
        across, down = cv2.spatialGradient(channel)  # 3 x 3 Sobel
        steepness += np.maximum(np.abs(across), np.abs(down))
    steep = steepness.take(np.flatnonzero(mask)[::3])
    up_to = np.cumsum(np.bincount(steep))
    limit = int(np.searchsorted(up_to, (1 - _EDGE_SHARE) * up_to[-1]))
    return np.flatnonzero(mask & (steepness <= limit))


def reads_as(cells: ColourCells) -> FloatArray:
    """Give what the cloth looks like from across the room: its mean in linear light, CIELAB."""
    return lab_of_linear(cells.share @ linear_of_lab(cells.lab))


def dominant_colours(cells: ColourCells, *, seed: int = 0) -> tuple[ColourShare, ...]:
    """Find up to six colours and the share of the area each covers, largest first.

    Parameters
    ----------
    cells : ColourCells
        The cloth.
    seed : int
        Start of k-means' random numbers; the same seed gives the same answer.

    Notes
    -----
    k-means with ten clusters in CIELAB on the pixels off the edges; each centre is drawn to
    where its pixels are densest, since what mixed pixels are left pull it away; then clusters
    within 8 CIEDE2000 are joined and those under 3 % go to their nearest. Figures in
    docs/measurements.md, "Dominant colours".
    """
    used = np.flatnonzero(cells.inner_share > 0)
    labs, weight = cells.lab[used], cells.inner_share[used]
    first = _first_centres(labs, weight, _CLUSTERS)
    k = len(first)
    means = KMeans(n_clusters=k, init=first, n_init=1, random_state=seed)
    means.fit(labs, sample_weight=weight)
    centres = _drawn_in(cells, np.asarray(means.cluster_centers_, dtype=np.float64))
    nearest = _squared(cells.lab, centres).argmin(axis=1)
    share = np.bincount(nearest, cells.share, minlength=k).astype(np.float64)
    centres, share = _merged(centres[share > 0], share[share > 0])
    order = np.lexsort((centres[:, 0], -share))
    return tuple(
        ColourShare((float(lab[0]), float(lab[1]), float(lab[2])), float(part))
        for lab, part in zip(centres[order], share[order] / share.sum(), strict=True)
    )


def _first_centres(labs: FloatArray, weight: FloatArray, most: int) -> FloatArray:
    """Begin with the heaviest cell, then each time the one that is heavy and far from all chosen.

    This is the rule of k-means++ with its random draw replaced by the most likely choice: as
    good here as the best of three draws, in a tenth of the time, and the same every time.
    """
    chosen = [int(weight.argmax())]
    squared = np.full(len(labs), np.inf)
    while len(chosen) < most:
        squared = np.minimum(squared, ((labs - labs[chosen[-1]]) ** 2).sum(axis=1))
        if squared.max() <= _ONE_SPOT_LAB**2:
            break
        chosen.append(int((weight * squared).argmax()))
    return labs[chosen]


def _drawn_in(cells: ColourCells, centres: FloatArray) -> FloatArray:
    """Move each centre to the weighted mean of its own cells, near ones weighing most."""
    for _ in range(_DRAWN_IN):
        squared = _squared(cells.lab, centres)
        own = np.arange(len(centres)) == squared.argmin(axis=1)[:, None]
        weight = own * cells.inner_share[:, None] * np.exp(-squared / (2 * _CORE_LAB**2))
        total = weight.sum(axis=0)
        some = total > 0
        centres = centres.copy()
        centres[some] = (weight.T @ cells.lab)[some] / total[some, None]
    return centres


def _squared(labs: FloatArray, centres: FloatArray) -> FloatArray:
    apart: FloatArray = ((labs[:, None] - centres[None]) ** 2).sum(axis=2)
    return apart


def _merged(centres: FloatArray, share: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Join what is one colour to the eye, then what is too small or too many."""
    centres, share = centres.copy(), share.copy()
    table = difference_table(centres, centres)
    np.fill_diagonal(table, np.inf)
    while len(share) > 1:
        one, other = divmod(int(table.argmin()), len(share))
        if table[one, other] >= _SAME_COLOUR_DE00:
            small = np.where(_accents(centres, share), np.inf, share)
            one = int((share if len(share) > _MOST_COLOURS else small).argmin())
            if small[one] >= _LEAST_SHARE and len(share) <= _MOST_COLOURS:
                break
            other = int(table[one].argmin())
        if share[other] > share[one]:
            one, other = other, one
        if share[other] >= _LEAST_SHARE:  # else the larger one stays where it is
            both = share[one] * centres[one] + share[other] * centres[other]
            centres[one] = both / (share[one] + share[other])
            table[one] = table[:, one] = difference_table(centres[one], centres)
            table[one, one] = np.inf
        share[one] += share[other]
        keep = np.arange(len(share)) != other
        centres, share, table = centres[keep], share[keep], table[keep][:, keep]
    return centres, share


def _accents(centres: FloatArray, share: FloatArray) -> NDArray[np.bool_]:
    """Which colours are strong, and far from every other on the cloth and what they mix to."""
    apart = large_difference(centres[:, None], centres[None])
    np.fill_diagonal(apart, np.inf)
    far = apart.min(axis=1) >= _ACCENT_APART
    strong = chroma_of(centres) >= _ACCENT_CHROMA
    found = np.asarray(far & strong & (share >= _LEAST_ACCENT))
    if found.any():
        found &= mixture_distances(centres[None], share[None])[0].min(axis=0) >= _NO_MIXTURE
    return found
