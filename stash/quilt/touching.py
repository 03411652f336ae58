"""Which pieces may lie side by side: never one fabric twice, look-alikes better apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.difference import difference_table
from stash.colour.spaces import FloatArray
from stash.quilt.one_cloth import ALL_DECIDED, Undecided

__all__ = ["LOOK_ALIKE_DE00", "Touching", "make_touching"]

# Two fabrics less than this apart melt into one patch from across the room (judgement).
LOOK_ALIKE_DE00 = 12.0
# From here on a contrast is as strong as any; and what contrast counts beside melting. Both found
# on two quilts of made colours (seeds 5 and 6), judged on others: tests.benchmarks.layout_contest.
_STRONG_DE00, _SEEN_WEIGHT = 45.0, 0.23
_AT_ONCE = 64  # rows of pieces compared at a time
_SAME_FABRIC = 25.0  # outweighs any number of look-alikes a piece can touch


@dataclass(frozen=True)
class Touching:
    """Neighbours of each cell, and how unwelcome each pair of pieces is side by side.

    Attributes
    ----------
    beside : intp, shape (n, most)
        Neighbouring cells; filled up with n.
    unwelcome : float32, shape (n + 1, n + 1)
        For pieces; the last row and column stand for no piece. Likeness of colour, 0..1, and what
        one fabric beside itself costs.
    maybe : bool, shape (n + 1, n + 1)
        Pairs of pieces whose fabrics may be one cloth.
    """

    beside: NDArray[np.intp]
    unwelcome: NDArray[np.float32]
    maybe: NDArray[np.bool_]

    def costs(
        self, piece_at: NDArray[np.intp], cells: NDArray[np.intp] | None = None
    ) -> FloatArray:
        """Give what its neighbours cost each cell, or each of some cells."""
        beside = self.beside if cells is None else self.beside[cells]
        mine = piece_at if cells is None else piece_at[cells]
        around = np.append(piece_at, len(piece_at))[beside]
        return np.asarray(self.unwelcome[mine[:, None], around].sum(axis=1, dtype=np.float64))

    def likeness(self, piece_at: NDArray[np.intp]) -> float:
        """Give the mean likeness of neighbours: 0 all far apart, 1 all the same."""
        n = len(piece_at)
        around = np.append(piece_at, n)[self.beside]
        pairs = max(1, int((around < n).sum()))
        cost = self.unwelcome[piece_at[:, None], around].astype(np.float64)
        return float(np.where(cost >= _SAME_FABRIC, cost - _SAME_FABRIC, cost).sum() / pairs)

    def same_fabric_pairs(self, piece_at: NDArray[np.intp], fabrics: Sequence[int]) -> int:
        """Count neighbouring cells that hold one fabric twice."""
        fabric_at = np.append(np.asarray(fabrics)[piece_at], -1)
        around = fabric_at[self.beside]
        return int((around == fabric_at[:-1, None]).sum()) // 2

    def undecided_pairs(self, piece_at: NDArray[np.intp]) -> int:
        """Count neighbouring cells whose fabrics may be one cloth."""
        around = np.append(piece_at, len(piece_at))[self.beside]
        return int(self.maybe[piece_at[:, None], around].sum()) // 2


def _likeness(apart_de00: FloatArray) -> FloatArray:
    """Give 1 for the same colour, falling steeply while two melt into one, then slowly.

    Without the slow part pieces that can be told apart are as welcome beside each other as the
    strongest contrast, and families lie in clumps.
    """
    melting = np.clip(1 - apart_de00 / LOOK_ALIKE_DE00, 0, 1) ** 2
    seen = np.clip(1 - apart_de00 / _STRONG_DE00, 0, 1)
    return np.asarray((1 - _SEEN_WEIGHT) * melting + _SEEN_WEIGHT * seen)


def make_touching(
    pairs: Sequence[tuple[int, int]],
    labs: FloatArray,
    fabrics: Sequence[int],
    undecided: Undecided = ALL_DECIDED,
) -> Touching:
    """Prepare the rule of neighbours.

    Parameters
    ----------
    pairs : sequence of (int, int)
        Cells that share an edge.
    labs : float64, shape (n, 3)
        Reads-as colour of every piece, CIELAB, white D65.
    fabrics : sequence of int
        Fabric of every piece.
    undecided : Undecided
        Fabrics that may be one cloth; they are kept apart like one.
    """
    n = len(labs)
    lists: list[list[int]] = [[] for _ in range(n)]
    for first, second in pairs:
        lists[first].append(second)
        lists[second].append(first)
    most = max((len(one) for one in lists), default=0)
    beside = np.full((n, max(1, most)), n, dtype=np.intp)
    for cell, one in enumerate(lists):
        beside[cell, : len(one)] = one
    unwelcome = np.zeros((n + 1, n + 1), dtype=np.float32)
    number = np.asarray(fabrics)
    maybe = np.zeros((n + 1, n + 1), dtype=bool)
    for pair in undecided.among(fabrics).pairs:
        here, there = (np.flatnonzero(np.asarray(fabrics) == fabric) for fabric in pair)
        maybe[np.ix_(here, there)] = maybe[np.ix_(there, here)] = True
    for start in range(0, n, _AT_ONCE):
        rows = slice(start, min(n, start + _AT_ONCE))
        likeness = _likeness(difference_table(labs[rows], labs))
        same = number[rows, None] == number[None, :]
        unwelcome[rows, :n] = likeness + _SAME_FABRIC * (same | maybe[rows, :n])
    for start in range(0, n, _AT_ONCE):  # the same from either side, to the last digit
        rows = slice(start, min(n, start + _AT_ONCE))
        both = np.maximum(unwelcome[rows, :n], unwelcome[:n, rows].T)
        unwelcome[rows, :n] = both
        unwelcome[:n, rows] = both.T
    return Touching(beside, unwelcome, maybe)
