"""Say how unlike two cloths look, by their imprints."""

from __future__ import annotations

import numpy as np

from stash.colour.imprint.differences import differences, rough_difference
from stash.colour.imprint.layout import Floats
from stash.colour.imprint.trees import same_cloth_trees
from stash.colour.spaces import FloatArray

__all__ = ["ROUGH_LIMIT", "apart"]

# Beyond, two cloths are not compared closely; hardly a true pair of the fitted half lies there.
ROUGH_LIMIT = 2.6
_PER_LOG_ODDS = 0.2  # by how much two are further apart for each unit of log odds


def apart(imprint: Floats, others: Floats) -> FloatArray:
    """Say how unlike other cloths look: up to 1 they may be the same, and somebody should look.

    Parameters
    ----------
    imprint : float32, shape (LENGTH,)
        One cloth.
    others : float32, shape (n, LENGTH)
        Those it is compared with.

    Returns
    -------
    float64, shape (n,)
        0 for imprints that are surely of one cloth, never negative; infinite for those that look
        so little alike that they are not compared closely.

    Notes
    -----
    A rough look at all, then the trees on those that are near: their log odds that the two are one
    cloth, counted down from the odds from which a pair is asked about.
    """
    table = np.atleast_2d(others)
    found = np.full(len(table), np.inf)
    near = np.flatnonzero(rough_difference(imprint, table) <= ROUGH_LIMIT)
    if len(near):
        trees = same_cloth_trees()
        columns = differences(imprint, table[near])
        numbers = np.stack([columns[name] for name in trees.columns], axis=1).astype(np.float32)
        odds = trees.sums(numbers)
        found[near] = np.maximum(0.0, 1 + (trees.asked_from - odds) * _PER_LOG_ODDS)
    return found
