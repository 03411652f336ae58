"""The long search for a wrong answer: ``python -m tests.shape.campaign --cases 100000``.

Random scraps and shapes; every yes is checked by the independent containment test. Planted
pieces with known room must be found. With --odd the scraps are slivers, full of holes, slit or
spiked, and the shapes are own ones that may be turned over. Prints one line per slice; stops with
1 on a wrong yes.
"""

import argparse
import collections
import json
import sys
import time
from dataclasses import replace

import numpy as np

from stash.errors import MeasureError
from stash.shape.containment.piece_fit import find_placements
from stash.shape.templates.template import families, make_template, template_of_file
from stash.shape.templates.turning import Turning
from tests.shape.containment import lies_inside
from tests.shape.scraps import around_piece, odd_offcut, offcut, own_shape_ring

__all__ = ["odd_slice", "planted_slice", "random_slice"]

_SLICE = 500


def random_slice(count, seed):
    """Ask of random scraps; give the answers counted and the wrong yeses."""
    random = np.random.default_rng(seed)
    family = str(random.choice(families()))
    template = make_template(family, float(random.uniform(1.0, 5.0)))
    return _asked(template, [offcut(random) for _ in range(count)], random, seed)


def odd_slice(count, seed):
    """Ask of scraps of odd kinds whether an own shape fits; give the same."""
    random = np.random.default_rng(seed)
    template = replace(_own_shape(random), may_turn_over=bool(random.random() < 0.5))
    scraps, refused = [], 0
    for _ in range(count):
        try:
            scraps.append(odd_offcut(random))
        except MeasureError:
            refused += 1
    family, counted, wrong = _asked(template, scraps, random, seed)
    return family, counted + collections.Counter(refused=refused), wrong


def _own_shape(random):
    scale = random.uniform(0.7, 3.0)
    ring = [(scale * x, scale * y) for x, y in own_shape_ring(random)]
    return template_of_file(json.dumps({"cut": ring}).encode(), ".json")


def _asked(template, scraps, random, seed):
    count = len(scraps)
    turnings = [_turning(random) for _ in range(count)]
    answers = find_placements(scraps, template, turnings=turnings)
    counted = collections.Counter(answer.fits for answer in answers)
    wrong = []
    for number, answer in enumerate(answers):
        if answer.fits == "yes":
            inside = lies_inside(answer.placement.ring(template), scraps[number])
            turned = _turned_as_allowed(answer.placement.angle_deg, turnings[number], template)
            if not (inside and turned):
                wrong.append((template.family, seed, number))
    return template.family, counted, wrong


def _turning(random):
    if random.random() < 0.5:
        return Turning.free()
    steps = (0, 90, 180, 270) if random.random() < 0.6 else (0, 180)
    return Turning.grain(random.uniform(0, 360), random.uniform(0, 15), steps)


def _turned_as_allowed(angle, turning, template):
    """From the windows alone: some whole period away the turn lies in one of them."""
    period = template.rotation_period_deg
    turns = [angle + k * period for k in range(-8, 9)]
    return any(
        low - 1e-6 <= turn + 360 * lap <= high + 1e-6
        for low, high in turning.windows_deg
        for turn in turns
        for lap in (-2, -1, 0, 1, 2)
    )


def planted_slice(count, seed, slack_share, *, own=False):
    """Plant pieces with room of a share of the inscribed width; count those not found."""
    random = np.random.default_rng(seed)
    if own:
        template = _own_shape(random)
    else:
        template = make_template(str(random.choice(families())), float(random.uniform(1.5, 4.0)))
    width = 2 * template.cut_polygon().area / template.cut_polygon().length
    scraps = [around_piece(random, template.cut, slack_share * width) for _ in range(count)]
    answers = find_placements(scraps, template, turnings=[Turning.free()] * count)
    return template.family, collections.Counter(answer.fits for answer in answers)


def main():
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--cases", type=int, default=100_000)
    words.add_argument("--planted", type=int, default=3_600)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--odd", action="store_true")
    chosen = words.parse_args()
    ask = odd_slice if chosen.odd else random_slice
    total, wrong, began = collections.Counter(), [], time.process_time()
    for seed in range(chosen.seed, chosen.seed + chosen.cases // _SLICE):
        family, counted, bad = ask(_SLICE, seed)
        total.update(counted)
        wrong += bad
        each = (time.process_time() - began) / total.total() * 1000
        print(seed, family, dict(total), "wrong", len(wrong), f"{each:.2f} ms each", flush=True)
    for share in (0.01, 0.003):
        planted = collections.Counter()
        for seed in range(chosen.seed, chosen.seed + chosen.planted // 100):
            planted.update(planted_slice(100, seed, share, own=chosen.odd)[1])
        print("planted, room", share, dict(planted), flush=True)
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
