"""What one colour is called: the nearest of the ISCC-NBS colour names."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pkgutil import get_data

import numpy as np

from stash.colour.difference import difference_table
from stash.colour.spaces import FloatArray, Lab, lab_of_hex

__all__ = ["colour_name", "colour_names", "named_centroids"]


def colour_name(lab: Lab) -> str:
    """Give the ISCC-NBS name whose centroid is nearest by CIEDE2000.

    References
    ----------
    kelly1976 in docs/sources.md; 267 names, of which the nearest centroid is taken and not the
    block of Munsell colours that holds the colour.

    Examples
    --------
    >>> colour_name((20.0, 12.0, -28.0))
    'deep purplish blue'
    """
    return colour_names([lab])[0]


def colour_names(labs: Sequence[Lab]) -> list[str]:
    """Name many colours at once, each as ``colour_name`` does."""
    if not len(labs):
        return []
    names, centroids = named_centroids()
    different, which = np.unique(np.asarray(labs, dtype=np.float64), axis=0, return_inverse=True)
    nearest = np.argmin(difference_table(different, centroids), axis=1)
    return [names[index] for index in nearest[which.ravel()].tolist()]


@cache
def named_centroids() -> tuple[tuple[str, ...], FloatArray]:
    """Give the names and their centroids, CIELAB, white D65, shape (267, 3)."""
    table = (get_data("stash.colour", "iscc_nbs.csv") or b"").decode()
    rows = [line.split(",") for line in table.splitlines()[1:]]
    return tuple(name for name, _ in rows), np.array([lab_of_hex(code) for _, code in rows])
