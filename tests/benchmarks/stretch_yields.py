"""Yields on plain rectangles beside the best known: ``python -m tests.benchmarks.stretch_yields``.

The first number is the effort, the second the first case.

The best known come from a feasibility study with two other engines (an overlap minimiser of its own
and spyrrow 0.9, eight seconds each) or from printed tables; the bound is the area alone.
"""

import json
import sys
import time

from stash.shape.nesting.filling import Effort, fill
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template, template_of_file
from stash.shape.templates.turning import Turning

__all__ = ["CASES"]

_TUMBLER = json.dumps({"cut": [[-1.75, 0], [1.75, 0], [1.25, 4], [-1.25, 4]]}).encode()
_TRIANGLE = make_template("half-square-triangle", 3.875 - 0.853553)
# The study's area bounds, 9 and 39, are those of the clamshell that tiles, 4 1/2 in across: cut
# with a seam allowance for 4 in finished it is larger and does not.
_CLAMSHELL = make_template("clamshell", 4.5, seam_allowance_in=0)
CASES = [
    ("5 in square", make_template("square", 4.5), 18, 22, 12),
    ("5 in square", make_template("square", 4.5), 42, 5, 8),
    ("2.5 x 4.5", make_template("rectangle", "2x4"), 10, 10, 8),
    ("2.5 x 4.5", make_template("rectangle", "2x4"), 18, 22, 35),
    ("hexagon side 1.2887", make_template("hexagon", 1), 10, 10, 18),
    ("tumbler 3.5/2.5 x 4", template_of_file(_TUMBLER, ".json"), 10, 10, 6),
    ("five 2.5 in squares", make_template("square", 2), 6.78, 6.78, 5),
    ("60-degree diamond 3", make_template("diamond-60", 3 - 0.57735), 18, 22, 41),
    ("half-square triangle 3.875", _TRIANGLE, 18, 22, 43),
    ("clamshell 4.5, no seam", _CLAMSHELL, 10, 10, 6),
    ("clamshell 4.5, no seam", _CLAMSHELL, 18, 22, 30),
    ("apple core 4", make_template("apple-core", 4), 18, 22, 26),
    ("clamshell 4", make_template("clamshell", 4), 18, 22, 26),
    ("apple core 3", make_template("apple-core", 3), 10, 10, 10),
    ("clamshell 3", make_template("clamshell", 3), 10, 10, 10),
    ("60-degree diamond 2", make_template("diamond-60", 2), 10, 10, 14),
]


def main():
    steps, first = (int(one) for one in (*sys.argv[1:3], *(36, 0)[len(sys.argv) - 1 :]))
    effort = Effort(steps)
    for name, template, width, height, known in CASES[first:]:
        scrap = outline_of([(0, 0), (width, 0), (width, height), (0, height)])
        began = time.process_time()
        layout = fill(scrap, template, turning=Turning.free(), effort=effort)
        spent = time.process_time() - began
        print(
            f"| {name} | {width} x {height} | {layout.pieces} | {known} | {layout.upper_bound} |"
            f" {spent:.1f} s |",
            flush=True,
        )


if __name__ == "__main__":
    main()
