"""What leftovers keep: ``python -m tests.benchmarks.leftovers SEED CASES OTHERS``.

``... leftovers on 40 18`` cuts one piece, a quarter and half of what a plain rectangle of so many
inches holds instead.

Random offcuts and eight shapes; some pieces of what each holds are cut and recorded, and the
leftovers laid out afresh. Beside it what could have been kept: the most of the layout before
cutting less the pieces cut, of ours, of the first pieces of the full layout, and of as many
further random choices of that layout's pieces as the third number says.
"""

import sys
import time

import numpy as np

from stash.quilt.keeping import TableRule, lay_to_keep
from stash.quilt.remainder import LEAST_IN, remainders
from stash.shape.nesting.filling import fill
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template
from stash.shape.templates.turning import Turning
from tests.shape.scraps import offcut

_SHAPES = (
    ("apple-core", 2),
    ("square", 2.5),
    ("tumbler", 3),
    ("diamond-60", 2),
    ("hexagon", 1.5),
    ("clamshell", 3),
    ("rectangle", "2 x 3.5"),
    ("half-square-triangle", 3),
)


def _kept(outline, template, laid):
    rings = [one.ring(template) for one in laid]
    left = remainders(outline, rings, least_in=LEAST_IN)
    return sum(fill(part, template, turning=Turning.free()).pieces for part in left)


def main(seed, cases, others):
    random = np.random.default_rng(seed)
    could = ours = plain = 0
    spent = 0.0
    for number in range(cases):
        template = make_template(*_SHAPES[number % len(_SHAPES)])
        outline = offcut(random, least_in=6, most_in=13)
        full = fill(outline, template, turning=Turning.free()).placements
        if len(full) < 2:
            continue
        count = int(random.integers(1, max(2, len(full) * 2 // 3)))
        began = time.process_time()
        laid = lay_to_keep(outline, TableRule(template, Turning.free()), count)
        spent += time.process_time() - began
        mine, first = _kept(outline, template, laid), _kept(outline, template, full[:count])
        tried = [
            _kept(outline, template, [full[k] for k in random.permutation(len(full))[:count]])
            for _ in range(others)
        ]
        could += max(len(full) - count, mine, first, *tried, 0)
        ours, plain = ours + mine, plain + first
        print(template.family, len(full), "cut", count, "kept", mine, "plainly", first, flush=True)
    print(f"could keep {could}, kept {ours} ({ours / could:.1%}), the first ones {plain}")
    print(f"{spent / cases:.2f} s each")


def on_rectangle(wide, high):
    outline = outline_of([(0, 0), (wide, 0), (wide, high), (0, high)], error_in=0.05)
    could = ours = 0
    for shape in _SHAPES:
        template = make_template(*shape)
        holds = fill(outline, template, turning=Turning.free()).pieces
        for share in (0, 0.25, 0.5):
            count = max(1, int(holds * share))
            laid = lay_to_keep(outline, TableRule(template, Turning.free()), count)
            mine = _kept(outline, template, laid)
            could, ours = could + max(holds - count, mine), ours + mine
            print(template.family, holds, "cut", count, "kept", mine, flush=True)
    print(f"could keep {could}, kept {ours} ({ours / could:.1%})")


if __name__ == "__main__" and sys.argv[1:2] == ["on"]:
    on_rectangle(*(float(one) for one in sys.argv[2:4]))
elif __name__ == "__main__":
    main(*(int(one) for one in (*sys.argv[1:4], *(501, 40, 0)[len(sys.argv) - 1 :])))
