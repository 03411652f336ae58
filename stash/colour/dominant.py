"""The dominant colours of a cloth and their shares, by k-means in CIELAB."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from sklearn.cluster import KMeans

from stash.colour.appearance import ColourShare
from stash.colour.cloth_sample import Calibrate, SmallCloth
from stash.colour.difference import difference_table
from stash.colour.spaces import FloatArray, lab_of_linear, linear_of_lab, linear_of_srgb

__all__ = ["ColourCells", "cells_of", "dominant_colours", "inner_pixels", "reads_as"]

_BITS = 4  # levels of a channel in one cell: 16
_CLUSTERS = 8
_STARTS = 3
_EDGE_SHARE = 0.3  # of the pixels, those with the steepest gradient, mix two inks
_SAME_COLOUR_DE00 = 8.0
_LEAST_SHARE = 0.03
_MOST_COLOURS = 6
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


def cells_of(cloth: SmallCloth, calibrate: Calibrate) -> ColourCells:
    """Gather pixels of nearly one colour, so that only their means need calibrating."""
    pixels = cloth.srgb[cloth.mask]
    inner = inner_pixels(cloth)[cloth.mask]
    key = pixels.astype(np.int32) >> _BITS
    flat = (key[:, 0] << 16) | (key[:, 1] << 8) | key[:, 2]
    _, cell, count = np.unique(flat, return_inverse=True, return_counts=True)
    sums = [np.bincount(cell, _LINEAR[pixels[:, channel]]) for channel in range(3)]
    mean = np.stack(sums, axis=1) / count[:, None]
    inner_count = np.bincount(cell, inner, minlength=len(count))
    lab = calibrate(_srgb_unclipped(mean))
    return ColourCells(lab, count / count.sum(), inner_count / max(inner_count.sum(), 1.0))


def _srgb_unclipped(linear: FloatArray) -> FloatArray:
    low = np.maximum(linear, 0.0031308)
    return np.where(linear <= 0.0031308, linear * 12.92, 1.055 * low ** (1 / 2.4) - 0.055)


def inner_pixels(cloth: SmallCloth) -> NDArray[np.bool_]:
    """Mark the pixels off the edges between inks: all but the 30 % of steepest gradient."""
    lab = cv2.cvtColor(cloth.srgb, cv2.COLOR_RGB2LAB)
    across = cv2.Sobel(lab, cv2.CV_32F, 1, 0, ksize=3)
    down = cv2.Sobel(lab, cv2.CV_32F, 0, 1, ksize=3)
    steepness = np.einsum("hwc,hwc->hw", across, across) + np.einsum("hwc,hwc->hw", down, down)
    limit = np.quantile(steepness[cloth.mask], 1 - _EDGE_SHARE)
    return np.asarray(cloth.mask & (steepness <= limit), dtype=bool)


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
    k-means with eight clusters in CIELAB on the pixels off the edges, then clusters within
    8 CIEDE2000 are joined and those under 3 % go to their nearest. Figures in
    docs/measurements.md, "Dominant colours".
    """
    used = np.flatnonzero(cells.inner_share > 0)
    k = min(_CLUSTERS, len(used))
    means = KMeans(n_clusters=k, n_init=_STARTS, random_state=seed)
    means.fit(cells.lab[used], sample_weight=cells.inner_share[used])
    centres = np.asarray(means.cluster_centers_, dtype=np.float64)
    nearest = ((cells.lab[:, None] - centres[None]) ** 2).sum(axis=2).argmin(axis=1)
    share = np.bincount(nearest, cells.share, minlength=k).astype(np.float64)
    centres, share = _merged(centres[share > 0], share[share > 0])
    order = np.lexsort((centres[:, 0], -share))
    return tuple(
        ColourShare((float(lab[0]), float(lab[1]), float(lab[2])), float(part))
        for lab, part in zip(centres[order], share[order] / share.sum(), strict=True)
    )


def _merged(centres: FloatArray, share: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Join what is one colour to the eye, then what is too small or too many."""
    while len(share) > 1:
        table = difference_table(centres, centres)
        np.fill_diagonal(table, np.inf)
        one, other = divmod(int(table.argmin()), len(share))
        if table[one, other] >= _SAME_COLOUR_DE00:
            one = int(share.argmin())
            if share[one] >= _LEAST_SHARE and len(share) <= _MOST_COLOURS:
                break
            other = int(table[one].argmin())
        centres, share = _joined(centres, share, one, other)
    return centres, share


def _joined(
    centres: FloatArray, share: FloatArray, one: int, other: int
) -> tuple[FloatArray, FloatArray]:
    total = share[one] + share[other]
    centres, share = centres.copy(), share.copy()
    if min(share[one], share[other]) >= _LEAST_SHARE:
        centres[one] = (share[one] * centres[one] + share[other] * centres[other]) / total
    elif share[other] > share[one]:
        centres[one] = centres[other]
    share[one] = total
    return np.delete(centres, other, axis=0), np.delete(share, other)
