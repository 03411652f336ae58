"""Strips, against printed values and arithmetic."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.affinity import rotate, translate

from stash.quilt.cutting import (
    RULER_STEP,
    cross_cut_width,
    fewest_strips,
    strip_orders,
    strip_plan,
    strip_widths,
    strip_words,
)
from stash.shape.nesting.straight_cuts import strip_cuts
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template
from stash.shape.templates.turning import Turning
from tests.quilt.strip_simulator import faults_of


def test_an_apple_core_cut_4_1_4_long_comes_off_strips_4_1_4_wide():
    # common practice, no source
    template = make_template("apple-core", 3.75)
    assert strip_widths(template).across_in == pytest.approx(4.25)


def test_a_clamshell_strip_is_as_wide_as_its_cut_box():
    # computed: 2r + 2a
    widths = strip_widths(make_template("clamshell", 4))
    assert (widths.across_in, widths.along_in) == pytest.approx((4.5, 4.5), abs=0.01)


@pytest.mark.parametrize(
    ("family", "size", "usable_in", "width_in", "count"),
    [
        # computed from the printed strip rules (Linda Clements): floor(2 W / side) - 1
        ("equilateral-triangle", 3, 40, 3.75, 17),
        ("equilateral-triangle", 3, 42, 3.75, 18),
        # computed: one-inch hexagons, floor(W / 2.5774)
        ("hexagon", 1, 40, 2.2321, 15),
        ("hexagon", 1, 42, 2.2321, 16),
        # computed: floor((W - h / tan 60) / (h / sin 60)), cut widths 3 and 2 1/2
        ("diamond-60", 2.5 / math.sin(math.radians(60)), 40, 3, 11),
        ("diamond-60", 2 / math.sin(math.radians(60)), 40, 2.5, 13),
        # computed: whole squares of the cut size along the strip
        ("square", 2, 40, 2.5, 16),
        ("square", 4, 42, 4.5, 9),
        # computed: two half-square triangles of 3 7/8 (exactly 3.8536) to the square, 10 squares
        ("half-square-triangle", 3, 40, 3.8536, 20),
    ],
)
def test_a_strip_gives_as_many_pieces_as_printed(family, size, usable_in, width_in, count):
    plan = strip_plan(make_template(family, size), usable_in=usable_in)
    assert plan.width_in == pytest.approx(width_in, abs=1e-4)
    assert plan.per_strip == count


@pytest.mark.parametrize(("family", "angle_deg"), [("diamond-60", 60), ("diamond-45", 45)])
def test_diamonds_are_cut_again_at_the_width_of_their_strip(family, angle_deg):
    # Linda Clements, The Quilter's Bible
    plan = strip_plan(make_template(family, 3))
    assert plan.cross_cut_in == pytest.approx(plan.width_in)
    assert plan.angle_deg == pytest.approx(angle_deg)


@pytest.mark.parametrize("family", ["tumbler", "wedge", "equilateral-triangle", "square"])
@given(st.floats(1.5, 6))
def test_pieces_of_a_strip_lie_side_by_side_without_overlap(family, size_in):
    template = make_template(family, size_in)
    plan = strip_plan(template)
    shape = template.cut_polygon()
    left, bottom, right, top = shape.bounds
    turned = rotate(shape, 180, origin=((left + right) / 2, (bottom + top) / 2))
    area = plan.per_strip * shape.area
    assert area <= 40 * plan.width_in + 1e-6
    # one more would not fit: the strip that is left is shorter than one pitch and its slants
    assert 40 - area / plan.width_in < 2 * (right - left)
    pitch = shape.area / plan.width_in
    second = translate(turned if plan.by_halves else shape, pitch)
    assert shape.intersection(second).area < 1e-6


@pytest.mark.parametrize("ruler_step", [16, 25.4])
@pytest.mark.parametrize("family", ["square", "diamond-45", "diamond-60"])
def test_strips_cut_at_the_rulers_marks_give_what_is_told(family: str, ruler_step: float) -> None:
    for hundredths in range(100, 400, 7):
        plan = strip_plan(make_template(family, hundredths / 100))
        assert plan is not None
        assert plan.cross_cut_in is not None
        # Cut off one after another: each takes its width along the strip, the first its slant too.
        angle = math.radians(plan.angle_deg)
        wide_in = math.ceil(plan.width_in * ruler_step - 1e-6) / ruler_step
        apart_in = math.ceil(plan.cross_cut_in * ruler_step - 1e-6) / ruler_step
        knife_in, count = wide_in / math.tan(angle), 0
        while knife_in + apart_in / math.sin(angle) <= 40 + 1e-6:
            knife_in, count = knife_in + apart_in / math.sin(angle), count + 1
        assert plan.pieces_at_marks(ruler_step) == count <= plan.per_strip


def test_curved_shapes_have_no_straight_strip_plan():
    assert strip_plan(make_template("clamshell", 4)) is None


def test_straight_cuts_are_said_with_strip_and_cross_cut():
    template = make_template("rectangle", "2x4")
    outline = outline_of([(0, 0), (9.2, 0), (9.2, 5.1), (0, 5.1)])
    cuts = strip_cuts(outline, template, turning=Turning.free())
    words = strip_words(template, cuts)
    # computed: 9 x 5 holds four 2 1/2 x 4 1/2: two strips of 2 1/2, cut 4 1/2 apart
    assert words == ("2 strips 2½ in wide, then 2 each, cut 4½ apart",)


def test_a_triangle_has_no_parallel_cross_cuts():
    assert cross_cut_width(make_template("equilateral-triangle", 3), 3.75, 60) is None


def test_a_strip_is_never_told_narrower_than_its_piece():
    template = make_template("diamond-60", 2.02)
    outline = outline_of([(0, 0), (12, 0), (12, 3), (0, 3)])
    words = strip_words(template, strip_cuts(outline, template, turning=Turning.free()))[0]
    # computed: 2.02 sin 60 + 1/2 = 2.2494, which is 2 4/16 rounded up to a sixteenth
    assert "2¼ in wide" in words
    template = make_template("square", 2.02)
    words = strip_words(template, strip_cuts(outline, template, turning=Turning.free()))[0]
    assert "2 9/16 in wide" in words


@pytest.mark.parametrize("family", ["square", "rectangle", "diamond-60", "diamond-45"])
def test_strip_orders_can_be_carried_out_at_the_widths_they_tell(family):
    random = np.random.default_rng(50)
    for _ in range(12):
        wide, high = random.uniform(8, 22, 2)
        outline = outline_of([(0, 0), (wide, 0), (wide, high), (0, high)], error_in=0.05)
        template = make_template(family, float(random.uniform(1, 3)))
        cuts = strip_cuts(outline, template, turning=Turning.free(), ruler_step=RULER_STEP)
        if not cuts.placements:
            continue
        wanted = int(random.integers(1, len(cuts.placements) + 1))
        few = fewest_strips(cuts, wanted)
        assert faults_of(outline, template, few, strip_orders(template, few)) == []
        pieces = sorted(strip.pieces for strip in few.strips)
        assert sum(pieces) >= wanted > sum(pieces[1:])


def test_four_strips_of_3_1_8_are_not_told_where_only_three_lie():
    # computed: 12.4 in hold three strips of 3 1/8, though four of 3.098 would go in
    outline = outline_of([(0, 0), (20, 0), (20, 12.4), (0, 12.4)])
    template = make_template("diamond-60", 3)
    cuts = strip_cuts(outline, template, turning=Turning.free(), ruler_step=RULER_STEP)
    assert sum(order.strips * order.width_in for order in strip_orders(template, cuts)) <= 20
    assert faults_of(outline, template, cuts, strip_orders(template, cuts)) == []
