"""Stacks, checked from outside: every layer, turned and moved as told, holds every cut."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Polygon

from stash.errors import PlanError
from stash.quilt.stacks import StackPlan, ToStack, stacks_of
from stash.shape.containment.piece_fit import Placement
from stash.shape.nesting.filling import Effort, fill
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template
from stash.shape.templates.turning import Turning
from tests.shape.scraps import offcuts

TEMPLATE = make_template("tumbler", 2)


def laid_offcuts(count: int, seed: int) -> list[ToStack]:
    made = []
    for number, outline in enumerate(offcuts(count, seed), start=1):
        layout = fill(outline, TEMPLATE, turning=Turning.free(), effort=Effort(steps=0))
        if layout.pieces:
            rings = tuple(one.ring(TEMPLATE) for one in layout.placements)
            made.append(ToStack(number, outline, rings))
    return made


def counted(plan: StackPlan) -> dict[int, list[int]]:
    cut: dict[int, list[int]] = {}
    for stack in plan.stacks:
        for layer in stack.layers:
            cut.setdefault(layer.scrap, []).extend(layer.pieces)
    for scrap, piece in plan.alone:
        cut.setdefault(scrap, []).append(piece)
    return {scrap: sorted(pieces) for scrap, pieces in cut.items()}


@pytest.mark.parametrize("layers", [2, 6])
def test_every_layer_holds_every_cut_and_no_scrap_alone_is_a_stack(layers: int) -> None:
    scraps = laid_offcuts(40, seed=31)
    cloth = {one.number: one.outline for one in scraps}
    plan = stacks_of(scraps, TEMPLATE.cut, layers=layers)
    assert plan.stacks
    for stack in plan.stacks:
        assert 2 <= len(stack.layers) <= layers
        assert len({layer.scrap for layer in stack.layers}) == len(stack.layers)
        for layer in stack.layers:
            sure = Polygon(cloth[layer.scrap].points).buffer(-cloth[layer.scrap].error_in)
            turned = affinity.rotate(sure, layer.turn_deg, origin=(0, 0))
            lying = affinity.translate(turned, *layer.move_in).buffer(2e-3)
            assert all(lying.covers(Polygon(ring)) for ring in stack.cuts)
    assert counted(plan) == {one.number: list(range(len(one.pieces))) for one in scraps}


def test_no_plan_needs_fewer_passes() -> None:
    scraps = laid_offcuts(40, seed=32)
    counts = [len(one.pieces) for one in scraps]
    plan = stacks_of(scraps, TEMPLATE.cut, layers=6)
    assert plan.passes == max(*counts, math.ceil(sum(counts) / 6))
    assert plan.pieces == sum(counts)


def test_fat_quarters_with_the_same_layout_are_cut_without_restacking() -> None:
    random = np.random.default_rng(4)
    square = make_template("square", 4.5)
    spots = [Placement(2.6 + 5 * i, 2.6 + 5 * k, 0) for i in range(4) for k in range(3)]
    scraps = []
    for number in range(1, 4):
        turn, dx, dy = random.uniform(-180, 180, 3)
        outline = Polygon([(0, 0), (22, 0), (22, 18), (0, 18)])
        shapes = [outline, *(Polygon(one.ring(square)) for one in spots)]
        moved = [
            affinity.translate(affinity.rotate(one, turn, origin=(0, 0)), dx, dy) for one in shapes
        ]
        rings = [tuple(one.exterior.coords[:-1]) for one in moved]
        scraps.append(ToStack(number, outline_of(rings[0], error_in=0.05), tuple(rings[1:])))
    (stack,) = stacks_of(scraps, square.cut, layers=3).stacks
    assert len(stack.cuts) == 12
    assert stack.pieces == 36


def test_the_smallest_on_top_is_said_only_where_its_edge_is_seen() -> None:
    ring = ((1.0, 1.0), (2.0, 1.0), (2.0, 2.0), (1.0, 2.0))

    def box(number: int, width: float, height: float) -> ToStack:
        return ToStack(
            number, outline_of([(0, 0), (width, 0), (width, height), (0, height)]), (ring,)
        )

    (seen,) = stacks_of([box(1, 9, 9), box(2, 4, 4)], ring, layers=6).stacks
    assert [layer.scrap for layer in seen.layers] == [1, 2]
    assert seen.smallest_on_top
    (hidden,) = stacks_of([box(1, 9, 3), box(2, 4, 4)], ring, layers=6).stacks
    assert not hidden.smallest_on_top


def test_a_stack_without_layers_is_refused() -> None:
    with pytest.raises(PlanError):
        stacks_of([], TEMPLATE.cut, layers=0)
