"""Carries out what a cutting sheet says of strips, at the widths it prints, with shapely alone.

    python -m tests.benchmarks.strip_sentences --seed 77 --draws 5000

Every draw is a shape of a random size on cloth of a random width, told in inches and in cm: two
instructions. Squares, rectangles and diamonds, whose cross-cuts are parallel, are simulated in
`tests/quilt/test_cutting.py`.
"""

from __future__ import annotations

import argparse
import itertools
import json

import numpy as np
from shapely.geometry import Polygon, box

from stash.quilt.cutting import RULER_STEPS, strip_plan
from stash.quilt.strip_nesting import template_strips
from stash.shape.nesting.straight_cuts import up_to_mark
from stash.shape.templates.template import Template, make_template, template_of_file

FAMILIES = (
    "tumbler", "equilateral-triangle", "half-square-triangle", "quarter-square-triangle", "wedge",
    "hexagon", "apple-core", "clamshell", "half-hexagon",
)  # fmt: skip
LAP_SQ_IN = 1e-4  # less than a thread


def drawn(rng: np.random.Generator) -> Template:
    """Draw a shape of a size nobody chose."""
    family, side = str(rng.choice(FAMILIES)), float(rng.uniform(1, 6))
    if family == "half-hexagon":
        high = side * 0.866
        corners = [[0, 0], [2 * side, 0], [1.5 * side, high], [side / 2, high]]
        return template_of_file(json.dumps({"cut": corners}).encode(), ".json")
    if family in ("tumbler", "wedge") and rng.random() < 0.5:
        return make_template(family, f"{side:.3f}x{side * rng.uniform(1, 2.5):.3f}")
    return make_template(family, side)


def faults(template: Template, usable_in: float, unit: str) -> list[str]:
    """Say what of the instruction cannot be done, or is done with too many strips."""
    found = []
    most: dict[float, int] = {}
    for strip in template_strips(template, usable_in=usable_in):
        width_in = up_to_mark(strip.width_in, RULER_STEPS[unit])
        cloth = box(0, 0, usable_in, width_in).buffer(1e-6)
        pieces = [Polygon(ring) for ring in strip.rings(template)]
        key = round(strip.width_in, 6)
        most[key] = max(most.get(key, 0), strip.pieces)
        if not all(cloth.covers(piece) for piece in pieces):
            found.append("a piece runs off the strip")
        if any(a.intersection(b).area > LAP_SQ_IN for a, b in itertools.pairwise(pieces)):
            found.append("pieces overlap")
    plan = strip_plan(template, usable_in=usable_in)
    if plan is not None:
        told = plan.pieces_at_marks(RULER_STEPS[unit], usable_in=usable_in)
        there = most.get(round(plan.width_in, 6), told)
        found += ["more told than come off"] if told > there else []
        found += ["more strips told than needed"] if told < there else []
    return found


def main() -> None:
    """Count the instructions that fail."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--seed", type=int, default=77)
    asked.add_argument("--draws", type=int, default=5000)
    given = asked.parse_args()
    rng = np.random.default_rng(given.seed)
    bad: dict[str, int] = {}
    for _ in range(given.draws):
        template, usable_in = drawn(rng), float(rng.uniform(18, 44))
        for unit in ("in", "cm"):
            for fault in faults(template, usable_in, unit):
                bad[fault] = bad.get(fault, 0) + 1
    print(f"{2 * given.draws} instructions, faults: {bad or 'none'}")


if __name__ == "__main__":
    main()
