"""Figures on allotments and layouts, printed as the tables of docs/measurements.md.

Run: python -m tests.benchmarks.quilt_figures [RANDOM_LAYOUTS]
"""

from __future__ import annotations

import sys
import time

import numpy as np

from stash.quilt.allocation import allot
from stash.quilt.layout import Cells, PieceColours, arrange, judge_layout
from stash.quilt.pattern import make_pattern
from stash.quilt.possible import largest_count
from stash.quilt.setting import setting_named
from stash.quilt.smallest_changes import smallest_changes
from stash.quilt.supply import Share, Supply, Wish
from tests.quilt.shapes import FINISHED

FAMILIES = ("navy", "teal", "sand", "coral")
CHANCES = (0.42, 0.33, 0.2, 0.05)
CENTRES = np.array([(29, 3, -27), (47, -22, -9), (78, 3, 17), (62, 40, 30)])
SHARES = (
    Share("amount", "navy", 0.3, 0.55),
    Share("amount", "teal", 0.2, 0.45),
    Share("amount", "coral", 0.02, 0.09),
)


def pieces_of(count: int, fabrics: int, seed: int) -> PieceColours:
    """Invent the colours of a scrappy quilt."""
    rng = np.random.default_rng(seed)
    family = rng.choice(4, size=fabrics, p=CHANCES)
    labs = CENTRES[family] + rng.normal(0, 1, (fabrics, 3)) * (11, 3, 3)
    fabric = np.arange(count) % fabrics
    low, high = np.quantile(labs[fabric, 0], (1 / 3, 2 / 3))
    value = np.where(labs[:, 0] < low, "dark", np.where(labs[:, 0] < high, "medium", "light"))
    return PieceColours(
        labs[fabric],
        fabric.tolist(),
        {"family": [FAMILIES[family[f]] for f in fabric], "value": value[fabric].tolist()},
    )


def layouts(randoms: int) -> None:
    """Compare laid-out quilts with the best of many random ones."""
    print("| quilt | time, s | evenness | best random | likeness | random mean | same fabric |")
    print("|---|---|---|---|---|---|---|")
    for family, rows, across, fabrics in (
        ("tumbler", 24, 25, 600), ("tumbler", 13, 12, 156), ("tumbler", 13, 12, 52),
        ("hexagon", 25, 24, 600),
    ):  # fmt: skip
        pattern = make_pattern(FINISHED[family], setting_named(family), rows, across)
        cells = Cells(pattern.centres_in, pattern.neighbours)
        pieces = pieces_of(len(pattern.places), fabrics, 3)
        began = time.process_time()
        laid = arrange(cells, pieces, seed=0)
        seconds = time.process_time() - began
        scores, alike = chance(cells, pieces, randoms)
        print(
            f"| {family} {rows} x {across}, {fabrics} fabrics | {seconds:.1f} | "
            f"{laid.evenness.score:.3f} | {max(scores):.3f} | {laid.likeness:.4f} | "
            f"{alike:.4f} | {laid.same_fabric_pairs} |",
            flush=True,
        )


def chance(cells: Cells, pieces: PieceColours, randoms: int) -> tuple[list[float], float]:
    """Score random layouts; also the mean likeness of neighbours over a hundred of them."""
    from stash.quilt.layout import _Measure

    measure = _Measure(cells, pieces)
    rng = np.random.default_rng(0)
    count = len(pieces.fabrics)
    scores = [measure.spread.judge(rng.permutation(count)).score for _ in range(randoms)]
    some = [judge_layout(cells, pieces, rng.permutation(count)).likeness for _ in range(20)]
    return scores, float(np.mean(some))


def allotments() -> None:
    """Time the solver on invented stashes of a thousand scraps."""
    print("| stash | wish | time, s | gap | answer |")
    print("|---|---|---|---|---|")
    for fabrics, most, limit, wanted in (
        (900, 1, 1, 500), (900, 6, 1, 600), (400, 6, 3, 600), (400, 12, None, 600),
        (300, 6, 2, 600),
    ):  # fmt: skip
        stash = stash_of(1000, fabrics, most)
        wish = Wish(wanted, limit, SHARES)
        began = time.process_time()
        found = allot(stash, wish)
        if found:
            gap, answer = f"{found.gap:.5f}", f"{len(found.takes)} scraps"
        else:
            kinds = ", ".join(f"{c.kind} {dict(c.amounts)}" for c in smallest_changes(stash, wish))
            gap, answer = "proven", f"cannot; {kinds}; most {largest_count(stash, wish)}"
        print(
            f"| 1000 scraps of {fabrics} fabrics, 1 to {most} pieces | {wanted} pieces, limit "
            f"{limit} | {time.process_time() - began:.2f} | {gap} | {answer} |",
            flush=True,
        )


def stash_of(scraps: int, fabrics: int, most: int) -> list[Supply]:
    """Invent a stash; area grows with the pieces a scrap gives."""
    rng = np.random.default_rng(1)
    family = rng.choice(4, size=fabrics, p=CHANCES)
    found = []
    for number in range(scraps):
        fabric, pieces = int(rng.integers(fabrics)), int(rng.integers(1, most + 1))
        area = float(20 * pieces * rng.uniform(1.1, 2))
        name = FAMILIES[family[fabric]]
        found.append(Supply(number, fabric, pieces, area, (50, 0, 0), amount=name))
    return found


if __name__ == "__main__":
    allotments()
    layouts(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
