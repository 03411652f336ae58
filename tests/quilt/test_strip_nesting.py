"""Pieces of a strip, laid out with shapely: all inside it, none on another."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from stash.quilt.strip_nesting import pieces_by_strips, template_strips
from stash.shape.templates.template import families, make_template, template_of_file
from tests.benchmarks.strip_sentences import drawn, faults

HALF_HEXAGON = b'{"cut": [[0, 0], [4, 0], [3, 1.732], [1, 1.732]]}'


def shapes():
    return [
        *(make_template(family, size) for family in families() for size in (1.7, 3)),
        template_of_file(HALF_HEXAGON, ".json"),
    ]


@pytest.mark.parametrize("template", shapes(), ids=lambda one: one.name)
def test_the_pieces_told_come_off_the_strip_told(template):
    for strip in template_strips(template, usable_in=40):
        pieces = [Polygon(ring) for ring in strip.rings(template)]
        cloth = box(0, 0, 40, strip.width_in).buffer(1e-6)
        assert len(pieces) == strip.pieces > 0
        assert all(cloth.covers(piece) for piece in pieces)
        whole = unary_union([piece.buffer(-1e-5) for piece in pieces])
        assert whole.area == pytest.approx(sum(one.area for one in pieces), rel=1e-3)


@pytest.mark.parametrize(
    ("family", "size", "usable_in", "pieces"),
    [
        # computed from the printed strip rules (Linda Clements): floor(2 W / side) - 1
        ("equilateral-triangle", 3, 40, 17),
        ("equilateral-triangle", 3, 42, 18),
        # computed: whole squares of the cut size
        ("square", 2, 40, 16),
        # computed: floor((W - h / tan 60) / (h / sin 60)) for a cut width of 2 1/2 and of 3
        ("diamond-60", 2.3094, 40, 13),
        ("diamond-60", 2.8868, 40, 11),
    ],
)
def test_as_many_pieces_as_printed_for_straight_shapes(family, size, usable_in, pieces):
    strips = template_strips(make_template(family, size), usable_in=usable_in)
    assert max(strip.pieces for strip in strips if strip.turn_deg == 0) == pieces


def test_tumblers_by_halves_save_cloth():
    tumbler = make_template("tumbler", 3)
    best = template_strips(tumbler)[0]
    assert best.by_halves
    assert best.pieces * Polygon(tumbler.cut).area > 0.9 * 40 * best.width_in


def test_yardage_is_counted_by_strips_as_wide_as_the_ruler_marks_them():
    # half hexagon 1.732 high: 1 3/4 in strips, 20 of 36 in; the longer sides meet every second
    # one turned, so each takes 3 in and the first and last a slope of half an inch each: arithmetic
    template = template_of_file(HALF_HEXAGON, ".json")
    per_strip = (40 - 1) // 3
    assert pieces_by_strips(template, 40, 36, ruler_step=16) == 20 * per_strip
    assert pieces_by_strips(template, 40, 34.9, ruler_step=16) == 19 * per_strip


def test_cloth_narrower_than_a_strip_gives_no_piece():
    assert pieces_by_strips(make_template("square", 4), 4, 4, ruler_step=16) == 0


def test_what_is_said_of_strips_can_be_done_with_no_strip_too_many():
    # Ten thousand of them: python -m tests.benchmarks.strip_sentences
    rng = np.random.default_rng(5)
    for _ in range(20):
        template, usable_in = drawn(rng), float(rng.uniform(18, 44))
        for unit in ("in", "cm"):
            assert faults(template, usable_in, unit) == []
