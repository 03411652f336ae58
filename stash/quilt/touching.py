"""Which pieces may lie side by side: never one fabric twice, look-alikes better apart."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.difference import paired_difference
from stash.colour.spaces import FloatArray
from stash.quilt.one_cloth import ALL_DECIDED, Undecided

__all__ = ["LOOK_ALIKE_DE00", "Seams", "Touching", "judge_seams", "make_touching"]

# Two fabrics less than this apart melt into one patch from across the room (judgement).
LOOK_ALIKE_DE00 = 12.0
# From here on a contrast is as strong as any; what contrast counts beside melting; and what a seam
# within one family costs beside that. All found on four quilts of made colours (seeds 15 to 18) and
# judged on others: tests.benchmarks.layout_contest.
_STRONG_DE00, _SEEN_WEIGHT, _SAME_FAMILY = 100.0, 0.85, 0.6
_AT_ONCE = 64  # rows of pieces compared at a time
_SAME_FABRIC = 25.0  # outweighs any number of look-alikes a piece can touch


@dataclass(frozen=True)
class Seams:
    """What the seams of a layout come to.

    Attributes
    ----------
    cost : float
        Likeness and what one fabric or family beside itself costs, summed over the seams.
    likeness : float
        How far neighbours melt into one: 0 no two are alike, 1 all the same.
    same_fabric, undecided : int
        Seams of one fabric with itself, and of fabrics that may be one cloth.
    """

    cost: float
    likeness: float
    same_fabric: int
    undecided: int


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
    """

    beside: NDArray[np.intp]
    unwelcome: NDArray[np.float32]

    def costs(
        self, piece_at: NDArray[np.intp], cells: NDArray[np.intp] | None = None
    ) -> FloatArray:
        """Give what its neighbours cost each cell, or each of some cells."""
        beside = self.beside if cells is None else self.beside[cells]
        mine = piece_at if cells is None else piece_at[cells]
        around = np.append(piece_at, len(piece_at))[beside]
        return np.asarray(self.unwelcome[mine[:, None], around].sum(axis=1, dtype=np.float64))


def _melting(apart_de00: FloatArray) -> FloatArray:
    """Give 1 for the same colour, 0 from where two no longer melt into one."""
    return np.asarray(np.clip(1 - apart_de00 / LOOK_ALIKE_DE00, 0, 1) ** 2)


def _likeness(apart_de00: FloatArray) -> FloatArray:
    """Give 1 for the same colour, falling steeply while two melt into one, then slowly.

    Without the slow part pieces that can be told apart are as welcome beside each other as the
    strongest contrast, and families lie in clumps.
    """
    melting = _melting(apart_de00)
    seen = np.clip(1 - apart_de00 / _STRONG_DE00, 0, 1)
    return np.asarray((1 - _SEEN_WEIGHT) * melting + _SEEN_WEIGHT * seen)


def make_touching(
    pairs: Sequence[tuple[int, int]],
    labs: FloatArray,
    fabrics: Sequence[int],
    undecided: Undecided = ALL_DECIDED,
    *,
    families: Sequence[str] = (),
    moving: NDArray[np.intp] | None = None,
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
    families : sequence of str, optional
        Colour family of every piece; an empty one is no family.
    moving : intp, optional
        Pieces that may change their cells, where not all may: what others cost beside each other
        is left at nought.
    """
    n = len(labs)
    lists: list[list[int]] = [[] for _ in range(n)]
    for first, second in pairs:
        lists[first].append(second)
        lists[second].append(first)
    most = max((len(one) for one in lists), default=0)
    beside = np.full((n, max(1, most)), n, dtype=np.intp)
    for cell, mates in enumerate(lists):
        beside[cell, : len(mates)] = mates
    unwelcome = np.zeros((n + 1, n + 1), dtype=np.float32)
    number = np.asarray(fabrics)
    maybe, akin = _maybe_one(undecided, fabrics), _of_one_family(families)
    seen = np.asarray(labs, dtype=np.float32)  # half the digits are plenty
    every = np.arange(n)
    moving = every if moving is None else moving
    for start in range(0, len(moving), _AT_ONCE):
        rows = moving[start : start + _AT_ONCE]
        likeness = _likeness(paired_difference(seen[rows, None], seen[None]))
        same = (number[rows, None] == number[None, :]) | maybe(rows[:, None], every[None])
        likeness = likeness + _SAME_FAMILY * akin(rows[:, None], every[None])
        both = np.maximum(likeness + _SAME_FABRIC * same, unwelcome[:n, rows].T)
        both[:, rows] = np.maximum(both[:, rows], both[:, rows].T)  # the same from either side
        unwelcome[rows, :n] = both
        unwelcome[:n, rows] = both.T
    return Touching(beside, unwelcome)


def judge_seams(
    pairs: Sequence[tuple[int, int]],
    labs: FloatArray,
    fabrics: Sequence[int],
    undecided: Undecided,
    piece_at: NDArray[np.intp],
    *,
    families: Sequence[str] = (),
) -> Seams:
    """Measure the seams of a layout; see `make_touching`."""
    one, other = piece_at[np.asarray(pairs, dtype=np.intp).reshape(-1, 2)].T
    if not len(one):
        return Seams(0.0, 0.0, 0, 0)
    seen, number = np.asarray(labs, dtype=np.float32), np.asarray(fabrics)
    here, there = seen[one], seen[other]
    apart = paired_difference(np.stack([here, there]), np.stack([there, here]))
    same, maybe = number[one] == number[other], _maybe_one(undecided, fabrics)(one, other)
    cost = _likeness(apart).max(axis=0) + _SAME_FAMILY * _of_one_family(families)(one, other)
    cost = (cost + _SAME_FABRIC * (same | maybe)).astype(np.float32)
    melting = float(_melting(apart[0]).mean(dtype=np.float64))
    return Seams(float(cost.sum(dtype=np.float64)), melting, int(same.sum()), int(maybe.sum()))


def _of_one_family(
    families: Sequence[str],
) -> Callable[[NDArray[np.intp], NDArray[np.intp]], NDArray[np.bool_]]:
    """Give what says of pairs of pieces whether they are of one colour family."""
    names, family = np.unique(np.asarray(families, dtype=str), return_inverse=True)
    named = names != ""

    def akin(first: NDArray[np.intp], second: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Say which pairs of pieces are of one named family."""
        if len(names) < 2:
            return np.zeros(np.broadcast_shapes(first.shape, second.shape), dtype=bool)
        return np.asarray((family[first] == family[second]) & named[family[first]])

    return akin


def _maybe_one(
    undecided: Undecided, fabrics: Sequence[int]
) -> Callable[[NDArray[np.intp], NDArray[np.intp]], NDArray[np.bool_]]:
    """Give what says of pairs of pieces whether their fabrics may be one cloth."""
    kinds, kind = np.unique(np.asarray(fabrics), return_inverse=True)
    asked = [sorted(pair) for pair in undecided.among(fabrics).pairs]
    one, other = np.searchsorted(kinds, np.array(asked, dtype=np.int64).reshape(-1, 2)).T
    keys = np.concatenate([one * len(kinds) + other, other * len(kinds) + one])

    def maybe(first: NDArray[np.intp], second: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Say which pairs of pieces may be one cloth."""
        if not len(keys):
            return np.zeros(np.broadcast_shapes(first.shape, second.shape), dtype=bool)
        return np.isin(kind[first] * len(kinds) + kind[second], keys)

    return maybe
