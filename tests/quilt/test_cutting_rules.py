"""Rules for the rotary cutter against printed values; the source stands beside each."""

from __future__ import annotations

import pytest

from stash.quilt.cutting_rules import (
    CUT_RULES,
    corner_triangle_square,
    cut_before_washing,
    diamonds_per_strip,
    hexagons_per_strip,
    pieces_per_stack,
    side_triangle_square,
    stitches_per_inch,
    triangles_per_strip,
    up_to_eighth,
)


@pytest.mark.parametrize(
    ("shape", "printed_in", "exact_in"),
    [
        ("square", 0.5, 0.5),  # Karen Combs 2002; North Hampshire Quilters
        ("half-square triangle", 0.875, 0.853553),  # the same; exact: a (2 + root 2)
        ("quarter-square triangle", 1.25, 1.207107),  # the same; exact: a (2 + 2 root 2)
        ("equilateral triangle", 0.75, 0.75),  # Linda Clements, The Quilter's Bible
        ("equilateral triangle side", 0.875, 0.866025),  # computed: 2 root 3 a
        ("60-degree diamond", 0.5, 0.5),  # Linda Clements
        ("45-degree diamond", 0.5, 0.5),  # Linda Clements
        ("60-degree diamond side", 0.625, 0.57735),  # computed: 2a / sin 60
        ("45-degree diamond side", 0.75, 0.707107),  # computed: 2a / sin 45
        ("hexagon", 0.5, 0.5),  # Linda Clements
        ("hexagon side", 0.375, 0.288675),  # computed: 2a / root 3
    ],
)
def test_what_is_added_to_cut_a_shape_is_as_printed(shape, printed_in, exact_in):
    rule = CUT_RULES[shape]
    assert rule.printed_in == printed_in
    assert rule.exact_in() == pytest.approx(exact_in, abs=1e-6)


def test_no_printed_rule_cuts_a_piece_too_small():
    assert all(rule.printed_in >= rule.exact_in() - 1e-12 for rule in CUT_RULES.values())


@pytest.mark.parametrize(
    ("shape", "finished_in", "oversize_in", "cut_in"),
    [
        ("half-square triangle", 3, 0, 3.875),  # Watson; Granny Maud's Girl 2018
        ("half-square triangle", 3, 0.25, 4.125),  # North Hampshire Quilters
        ("quarter-square triangle", 3, 0, 4.25),  # North Hampshire Quilters
        ("quarter-square triangle", 3, 0.25, 4.5),  # North Hampshire Quilters
        ("quarter-square triangle", 6, 0, 7.25),  # flying goose 3 x 6: Watson
    ],
)
def test_worked_squares_for_triangles_are_as_printed(shape, finished_in, oversize_in, cut_in):
    assert finished_in + CUT_RULES[shape].printed_in + oversize_in == cut_in


@pytest.mark.parametrize(
    ("block_in", "side_in", "corner_in"),
    [  # Christa Watson, Quilty Math
        (3, 5.5, 3),
        (4, 7, 3.75),
        (6, 9.75, 5.125),
        (9, 14, 7.25),
        (12, 18.25, 9.375),
    ],
)
def test_on_point_triangles_are_cut_from_the_printed_squares(block_in, side_in, corner_in):
    assert side_triangle_square(block_in) == side_in
    assert corner_triangle_square(block_in) == corner_in


@pytest.mark.parametrize(("strip_in", "count"), [(40, 17), (42, 18)])
def test_triangles_of_3_75_per_strip(strip_in, count):
    # computed: floor(2 W / side) - 1
    assert triangles_per_strip(strip_in, 3.75) == count


@pytest.mark.parametrize(("cut_in", "count"), [(3, 11), (2.5, 13)])
def test_60_degree_diamonds_per_40_inch_strip(cut_in, count):
    # computed: floor((W - h / tan 60) / (h / sin 60))
    assert diamonds_per_strip(40, cut_in) == count


@pytest.mark.parametrize(("strip_in", "count"), [(40, 15), (42, 16)])
def test_one_inch_hexagons_per_strip(strip_in, count):
    # computed: the cut side of a 1 in hexagon is 1.2887
    assert hexagons_per_strip(strip_in, 1 + CUT_RULES["hexagon side"].exact_in()) == count


def test_three_fabrics_folded_once_give_six_pieces_a_cut():
    # common practice, no source
    assert pieces_per_stack(3) == 6
    assert pieces_per_stack(1, folds=0) == 1


def test_a_5_inch_square_is_cut_5_155_before_washing():
    # computed: five inches over one less three hundredths
    assert cut_before_washing(5) == pytest.approx(5.155, abs=0.001)


@pytest.mark.parametrize(("stitch_mm", "per_inch"), [(2.0, 12.7), (2.5, 10.16)])
def test_stitch_lengths_in_stitches_per_inch(stitch_mm, per_inch):
    # cre8tivequilter 2008; computed 25.4 / mm
    assert stitches_per_inch(stitch_mm) == pytest.approx(per_inch, abs=0.05)


def test_an_exact_eighth_is_not_rounded_up():
    assert up_to_eighth(4.125) == 4.125
    assert up_to_eighth(4.126) == 4.25
