"""Small decision trees added up: the decision whether two cloths are one, as plain numbers."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from io import BytesIO
from pkgutil import get_data

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray

__all__ = ["Trees", "same_cloth_trees"]


@dataclass(frozen=True, slots=True)
class Trees:
    """Trees of one depth at most, laid one after the other.

    Attributes
    ----------
    column : intp, shape (nodes,)
        Which number a node asks about; a leaf goes to itself whatever it reads.
    limit : float32, shape (nodes,)
        Up to this it goes on to the first of its two nodes, else to the second.
    nodes : intp, shape (nodes, 2)
    value : float32, shape (nodes,)
        What a leaf adds; 0 on the way.
    roots : intp, shape (trees,)
    depth : int
        Steps from a root to the furthest leaf.
    base : float
        What the sum begins with.
    columns : tuple of str
        Names of the numbers, as ``differences`` gives them.
    asked_from : float
        The least sum of a pair that somebody should look at.
    """

    column: NDArray[np.intp]
    limit: NDArray[np.float32]
    nodes: NDArray[np.intp]
    value: NDArray[np.float32]
    roots: NDArray[np.intp]
    depth: int
    base: float
    columns: tuple[str, ...]
    asked_from: float

    def sums(self, table: NDArray[np.float32]) -> FloatArray:
        """Give the log odds for rows (n, columns) of numbers, shape (n,)."""
        flat, pairs = table.ravel(), self.nodes.ravel()
        starts = np.arange(len(table))[:, None] * table.shape[1]
        at = np.broadcast_to(self.roots, (len(table), len(self.roots)))
        for _ in range(self.depth):  # flat places: taking by two indices costs twice as much
            second = flat.take(starts + self.column.take(at)) > self.limit.take(at)
            at = pairs.take(2 * at + second)
        return np.asarray(self.base + self.value[at].sum(axis=1, dtype=np.float64))


@cache
def same_cloth_trees() -> Trees:
    """Give the trees that were fitted.

    Notes
    -----
    Gradient boosting of scikit-learn, each difference bound to speak against one cloth the more the
    greater it is. ``python -m tests.benchmarks.cloth_twins --fit FILE`` made the numbers, on one
    half of the cloths of that benchmark.
    """
    kept = np.load(BytesIO(get_data("stash.colour.imprint", "same_cloth.npz") or b""))
    return Trees(
        kept["column"].astype(np.intp),
        kept["limit"],
        kept["nodes"].astype(np.intp),
        kept["value"],
        kept["roots"].astype(np.intp),
        int(kept["depth"]),
        float(kept["base"]),
        tuple(kept["columns"].tolist()),
        float(kept["asked_from"]),
    )
