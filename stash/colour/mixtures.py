"""How near a colour of a cloth lies to what two others of it mix to, as in a gingham."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stash.colour.difference import large_difference
from stash.colour.spaces import FloatArray, chroma_of, lab_of_linear, linear_of_lab

__all__ = ["mid_tones", "mixture_distances", "pairs_of_colours"]

_PARTS = np.array([0.25, 0.5, 0.75])
# A colour farther than this (CIELAB) from a mixture is no mid tone, whatever a palette allows.
# Judgement; it also spares most of the differences.
_NEAR_AB = 30.0
_THREADS_MIX_WITHIN = 24.0  # HyAB from the mixture of two threads; judgement
_SHARES_SURE_TO = 1.3  # times; judgement


def pairs_of_colours(count: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Give every two of so many colours, as the places of the first and of the second."""
    return np.triu_indices(count, k=1)


def mixture_distances(lab: FloatArray, share: FloatArray) -> NDArray[np.float32]:
    """Say how far each colour is from a mixture in linear light of two others of its cloth.

    Parameters
    ----------
    lab : float64, shape (n, k, 3)
        Colours of n cloths, CIELAB, white D65.
    share : float64, shape (n, k)
        Their shares; 0 where there is no colour.

    Returns
    -------
    float32, shape (n, pairs, k)
        HyAB to the nearest of three mixtures of each of ``pairs_of_colours``; infinite where
        a colour is missing, is itself one of the two, or lies far off.
    """
    one, other = pairs_of_colours(lab.shape[1])
    distances = np.full((len(lab), len(one), lab.shape[1]), np.inf, dtype=np.float32)
    present = share > 0
    row, pair = np.nonzero(present[:, one] & present[:, other])
    linear = linear_of_lab(lab)
    first, second = linear[row, one[pair]], linear[row, other[pair]]
    for part in _PARTS:
        mix = lab_of_linear(first * part + second * (1 - part))
        apart = lab[row] - mix[:, None]
        near = present[row] & (np.einsum("ijk,ijk->ij", apart, apart) < _NEAR_AB**2)
        near[np.arange(len(row)), one[pair]] = near[np.arange(len(row)), other[pair]] = False
        which, colour = np.nonzero(near)
        found = large_difference(lab[row[which], colour], mix[which]).astype(np.float32)
        place = row[which], pair[which], colour
        distances[place] = np.minimum(distances[place], found)
    return distances


def mid_tones(mixed: NDArray[np.float32], lab: FloatArray, share: FloatArray) -> NDArray[np.bool_]:
    """Tell the tones of woven cloth that no thread is of but two of them mix to.

    Parameters
    ----------
    mixed : float32, shape (n, pairs, k)
        As ``mixture_distances`` gives it.
    lab, share : float64, shape (n, k, 3) and (n, k)
        Colours of n cloths, CIELAB, white D65, and their shares.

    Returns
    -------
    bool, shape (n, k)

    Notes
    -----
    Light that mixes is never stronger in colour than the stronger of the two. And where threads
    that make parts p and q of warp and weft cross, they cover p p and q q, and mixed 2 p q: no
    more than twice the root of what the two cover by themselves.
    """
    chroma = chroma_of(lab)
    one, other = pairs_of_colours(lab.shape[1])
    weaker = chroma[:, None] <= np.maximum(chroma[:, one], chroma[:, other])[..., None]
    crossing = 2 * np.sqrt(share[:, one] * share[:, other]) * _SHARES_SURE_TO
    covered = share[:, None] <= crossing[..., None]
    return np.asarray(((mixed < _THREADS_MIX_WITHIN) & weaker & covered).any(axis=1))
