"""Buy what a short quilt asks for and plan it again: python -m tests.benchmarks.buying 1000.

Random stashes of one to forty fabrics with amounts and values, random plans too large for them;
what is to be bought is added in the cuts named, each a fabric of its own. Prints how many of the
plans can be made then, and how many could with one cut less.
"""

from __future__ import annotations

import json
import sys

import numpy as np

from stash.quilt.allocation import allot
from stash.quilt.possible import Choices
from stash.quilt.smallest_changes import CutOnSale, to_buy
from stash.quilt.supply import Share, Supply, Wish

GREY = (50.0, 0.0, 0.0)
PARTS, VALUES = ("navy", "teal", "sand", "coral"), ("dark", "medium", "light")


def cuts(rng: np.random.Generator) -> tuple[CutOnSale, ...]:
    """Give cuts that a piece of random size is cut from; small ones may give none."""
    side = float(rng.uniform(1.5, 9))
    sizes = {"5-inch square": (5, 5), "fat quarter": (18, 21), "yard": (40, 36)}
    return tuple(
        CutOnSale(name, int(wide // side) * int(high // side), float(wide * high))
        for name, (wide, high) in sizes.items()
    )


def supplies(rng: np.random.Generator) -> list[Supply]:
    """Give a stash of fabrics of one to twelve pieces."""
    return [
        Supply(
            number, number, int(rng.integers(1, 13)), float(rng.uniform(20, 400)), GREY,
            amount=str(rng.choice(PARTS)), value=str(rng.choice(VALUES)),
        )
        for number in range(int(rng.integers(1, 41)))
    ]  # fmt: skip


def wish(rng: np.random.Generator) -> Wish:
    """Give a plan with amounts and, half of the time, values."""
    least = rng.dirichlet(np.ones(len(PARTS))) * 0.6
    shares = [
        Share("amount", name, float(low), 1.0) for name, low in zip(PARTS, least, strict=True)
    ]
    if rng.random() < 0.5:
        low = rng.dirichlet(np.ones(len(VALUES))) * 0.5
        shares += [
            Share("value", name, float(at), 1.0) for name, at in zip(VALUES, low, strict=True)
        ]
    limit = [None, 1, 2, 5][int(rng.integers(4))]
    return Wish(int(rng.integers(40, 500)), limit, tuple(shares))


def main(cases: int) -> None:
    """Try the cases."""
    rng = np.random.default_rng(20)
    told = {"cases": 0, "nothing_to_buy": 0, "possible_then": 0, "possible_with_less": 0}
    while told["cases"] < cases:
        stash, asked, sold = supplies(rng), wish(rng), cuts(rng)
        if Choices(stash, asked).possible():
            continue
        told["cases"] += 1
        bought = [one for one in to_buy(Choices(stash, asked), sold) for _ in range(one.fabrics)]
        if not bought:
            told["nothing_to_buy"] += 1
            continue
        new = []
        for at, one in enumerate(bought):
            part, value = (*one.part.split(), "dark")[:2]
            area, pieces = one.cut.area_sq_in, one.cut.pieces or one.pieces_each
            new.append(Supply(900 + at, 900 + at, pieces, area, GREY, amount=part, value=value))
        told["possible_then"] += allot([*stash, *new], asked) is not None
        told["possible_with_less"] += allot([*stash, *new[1:]], asked) is not None
    print(json.dumps(told))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
