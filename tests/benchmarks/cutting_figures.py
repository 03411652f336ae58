"""Stacks and strips carried out: ``python -m tests.benchmarks.cutting_figures STACKS STRIPS SEED``.

Stacks of random offcuts and six shapes, every layer turned and moved as told and held against
every cut with shapely. Strip orders on random rectangles, carried out at the widths they tell.
"""

import sys

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon

from stash.quilt.cutting import RULER_STEP, fewest_strips, strip_orders
from stash.quilt.stacks import ToStack, stacks_of
from stash.shape.nesting.filling import Effort, fill
from stash.shape.nesting.straight_cuts import strip_cuts
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template
from stash.shape.templates.turning import Turning
from tests.quilt.strip_simulator import faults_of
from tests.shape.scraps import offcuts

_SHAPES = ("tumbler", "apple-core", "square", "hexagon", "clamshell", "half-square-triangle")
_STRAIGHT = ("square", "rectangle", "diamond-60", "diamond-45")


def _stacks(wanted, seed):
    made = layers = bad = passes = pieces = 0
    while made < wanted:
        seed += 1
        template = make_template(_SHAPES[seed % len(_SHAPES)], 2)
        scraps = []
        for number, outline in enumerate(offcuts(40, seed), start=1):
            laid = fill(outline, template, turning=Turning.free(), effort=Effort(steps=0))
            if laid.placements:
                rings = tuple(one.ring(template) for one in laid.placements)
                scraps.append(ToStack(number, outline, rings))
        plan = stacks_of(scraps, template.cut, layers=6)
        passes, pieces = passes + plan.passes, pieces + plan.pieces
        cloth = {one.number: one.outline for one in scraps}
        for stack in plan.stacks:
            made += 1
            alone = len(stack.layers) < 2
            for layer in stack.layers:
                layers += 1
                outline = cloth[layer.scrap]
                shape = outline.polygon.buffer(-outline.error_in, quad_segs=64)
                lying = affinity.rotate(shape, layer.turn_deg, origin=(0, 0))
                lying = affinity.translate(lying, *layer.move_in).buffer(1e-4)
                held = all(lying.covers(Polygon(ring)) for ring in stack.cuts)
                bad += alone or not held
    print(f"{made} stacks of {layers} layers: {bad} bad; {passes} passes for {pieces} pieces")


def _strips(wanted, seed):
    random = np.random.default_rng(seed)
    made = bad = more = 0
    while made < wanted:
        wide, high = random.uniform(6, 24, 2)
        outline = outline_of([(0, 0), (wide, 0), (wide, high), (0, high)], error_in=0.05)
        template = make_template(str(random.choice(_STRAIGHT)), float(random.uniform(1, 4)))
        cuts = strip_cuts(outline, template, turning=Turning.free(), ruler_step=RULER_STEP)
        if not cuts.placements:
            continue
        count = int(random.integers(1, len(cuts.placements) + 1))
        few = fewest_strips(cuts, count)
        orders = strip_orders(template, few)
        made += sum(order.strips * (1 + order.pieces) for order in orders)
        bad += len(faults_of(outline, template, few, orders))
        more += sum(sorted(strip.pieces for strip in few.strips)[1:]) >= count
    print(f"{made} strips and cross-cuts: {bad} impossible, {more} layouts with more than needed")


if __name__ == "__main__":
    usual = (1000, 10_000, 70)
    stacks, strips, first = (int(one) for one in (*sys.argv[1:4], *usual[len(sys.argv) - 1 :]))
    _stacks(stacks, first)
    _strips(strips, first)
