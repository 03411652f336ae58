"""Layouts against random ones and plain annealing, by a measure the search does not know.

Run: python -m tests.benchmarks.layout_contest [RANDOM_LAYOUTS]

The measure is three plain things a person sees: how far touching pieces are apart in CIEDE2000,
how often touching pieces are of one family beside chance, and how far accents lie from each other
beside the spacing they would have if spread evenly. The annealing swaps two pieces at random, as
long as the layout took, and is given the first two of the three as what it is to make good. Ends
with 1 where a layout does not stand above both.
"""

from __future__ import annotations

import math
import sys
import time
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.difference import difference_table
from stash.quilt.layout import Cells, PieceColours, arrange
from stash.quilt.pattern import make_pattern
from stash.quilt.setting import setting_named
from tests.benchmarks.quilt_figures import pieces_of
from tests.quilt.shapes import FINISHED

# Seeds and quilts that nothing was tried on before the benchmark was written.
QUILTS = (
    ("tumbler", 8, 9, 72, 201), ("tumbler", 12, 15, 180, 202), ("hexagon", 12, 15, 60, 203),
    ("tumbler", 24, 25, 600, 204),
)  # fmt: skip
ACCENT = "coral"


@dataclass(frozen=True)
class Looked:
    """What a person sees of a layout."""

    neighbours_de00: float
    clustering: float
    accents: float
    whole: float


class Eye:
    """The measure: independent of the search's own."""

    def __init__(self, cells: Cells, pieces: PieceColours) -> None:
        self.cells, self.pairs = cells, np.array(cells.pairs, dtype=np.intp)
        self.apart = difference_table(pieces.labs, pieces.labs)
        self.family = np.unique(pieces.classes["family"], return_inverse=True)[1]
        self.accent = np.array([name == ACCENT for name in pieces.classes["family"]])
        n = len(self.family)
        counts = np.bincount(self.family)
        self.chance = float((counts * (counts - 1)).sum() / (n * (n - 1)))
        self.mean_apart = float(self.apart.sum() / (n * (n - 1)))
        low, high = cells.centres_in.min(axis=0), cells.centres_in.max(axis=0)
        self.spacing = math.sqrt(float(np.prod(high - low)) / max(1, int(self.accent.sum())))

    def sees(self, piece_at: NDArray[np.intp]) -> Looked:
        """Measure a layout; the whole is higher for a better one, near 0 for chance."""
        one, other = piece_at[self.pairs[:, 0]], piece_at[self.pairs[:, 1]]
        apart = float(self.apart[one, other].mean())
        clustering = float((self.family[one] == self.family[other]).mean()) / self.chance
        spots = self.cells.centres_in[self.accent[piece_at]]
        accents = 1.0
        if len(spots) > 1:
            far = np.hypot(*(spots[:, None] - spots[None, :]).transpose(2, 0, 1))
            far[np.diag_indices(len(far))] = np.inf
            accents = float(far.min(axis=1).mean()) / self.spacing
        whole = (apart / self.mean_apart - 1) + (1 - clustering) + accents
        return Looked(apart, clustering, accents, whole)


def annealed(eye: Eye, seconds: float, seed: int) -> NDArray[np.intp]:
    """Swap two pieces at random and keep what is better, or by luck as it cools."""
    rng = np.random.default_rng(seed)
    n = len(eye.family)
    beside: list[list[int]] = [[] for _ in range(n)]
    for first, second in eye.pairs.tolist():
        beside[first].append(second)
        beside[second].append(first)
    near = [np.array(one, dtype=np.intp) for one in beside]
    same = (eye.family[:, None] == eye.family[None, :]) / eye.chance
    price = same - eye.apart / eye.mean_apart
    piece_at = rng.permutation(n)
    ends, began = time.process_time() + seconds, time.process_time()

    def cost(cell: int) -> float:
        return float(price[piece_at[cell], piece_at[near[cell]]].sum())

    while (now := time.process_time()) < ends:
        heat = 1.5 * (1 - (now - began) / seconds) ** 2 + 1e-3
        for one, other in rng.integers(0, n, (50, 2)).tolist():
            before = cost(one) + cost(other)
            piece_at[[one, other]] = piece_at[[other, one]]
            worse = cost(one) + cost(other) - before
            if worse > 0 and rng.random() > math.exp(-worse / heat):
                piece_at[[one, other]] = piece_at[[other, one]]
    return piece_at


def main(randoms: int) -> int:
    """Print a line for each quilt; 1 where one of them is not won."""
    lost = 0
    print("| quilt | s | laid: neighbours, clustering, accents, whole | annealed | best random |")
    print("|---|---|---|---|---|")
    for family, rows, across, fabrics, seed in QUILTS:
        pattern = make_pattern(FINISHED[family], setting_named(family), rows, across)
        cells = Cells(pattern.centres_in, pattern.neighbours)
        pieces = pieces_of(len(pattern.places), fabrics, seed)
        eye = Eye(cells, pieces)
        began = time.process_time()
        laid = np.array(arrange(cells, pieces, seed=seed).piece_at)
        seconds = time.process_time() - began
        ours, rival = eye.sees(laid), eye.sees(annealed(eye, seconds, seed))
        rng = np.random.default_rng(seed)
        luck = max((eye.sees(rng.permutation(len(laid))) for _ in range(randoms)),
                   key=lambda one: one.whole)  # fmt: skip
        told = [
            f"{one.neighbours_de00:.1f}, {one.clustering:.2f}, {one.accents:.2f}, {one.whole:.2f}"
            for one in (ours, rival, luck)
        ]
        print(f"| {len(laid)} {family} | {seconds:.1f} | " + " | ".join(told) + " |", flush=True)
        lost += ours.whole <= max(rival.whole, luck.whole)
    return int(lost > 0)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000))
