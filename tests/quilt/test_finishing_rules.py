"""Binding, backing and bed sizes against printed values; the source stands beside each."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stash.errors import PlanError
from stash.quilt.backing import backing_for, batting_for
from stash.quilt.bed_sizes import MATTRESSES, QUILT_SIZES, nearest_quilt_size, quilt_for_bed
from stash.quilt.binding import (
    BindingFold,
    bias_length_from_square,
    bias_rectangle_depth,
    bias_square_side,
    cut_width,
    single_bias_strips,
    straight_strips,
    yards_for,
)
from stash.quilt.edges import arc_length, arc_radius, scalloped_length


@pytest.mark.parametrize(
    ("finished_in", "fold", "cut_in"),
    [
        (0.5, BindingFold.DOUBLE, 2.625),  # Marti Michell, pp. 188-189
        (0.25, BindingFold.DOUBLE, 1.625),  # the same rule
        (0.25, BindingFold.SINGLE, 1.125),  # American Patchwork & Quilting, How to Cut Binding
    ],
)
def test_a_binding_strip_is_cut_as_wide_as_printed(finished_in, fold, cut_in):
    assert cut_width(finished_in, fold) == cut_in


@pytest.mark.parametrize(
    ("length_in", "cut_in", "side_in"),
    [
        (55, 2.5, 12),  # Geta's studio blog, Continuous bias binding formulas, 2018
        (250, 2, 23),  # soft-furnishing FAQ on continuous piping
        (230, 2, 22),  # computed: root of 460 is 21.4
        (135, 2.5, 19),  # American Patchwork & Quilting, magic bias binding, 2020
    ],
)
def test_a_bias_square_is_as_large_as_printed(length_in, cut_in, side_in):
    assert bias_square_side(length_in, cut_in) == side_in


def test_three_inches_more_for_seaming_make_the_printed_22_inch_square():
    # American Patchwork & Quilting, magic bias binding, 2020
    assert bias_square_side(135, 2.5, extra_in=3) == 22


def test_an_18_inch_bias_square_is_an_8_inch_deep_piece_of_42_inch_cloth():
    # Geta's studio blog: 324 square inches over 42
    assert bias_rectangle_depth(324 / 2.5, 2.5, usable_in=42) == 8


def test_a_20_inch_square_gives_200_inches_of_2_inch_bias():
    # soft-furnishing FAQ: area over strip
    assert bias_length_from_square(20, 2) == 200


@given(st.floats(1, 2000), st.floats(0.5, 4))
def test_a_bias_square_always_holds_the_length_asked_for(length_in, cut_in):
    side_in = bias_square_side(length_in, cut_in)
    assert bias_length_from_square(side_in, cut_in) >= length_in - 1e-6
    assert (side_in - 1) ** 2 / cut_in < length_in  # and one inch less would not


@pytest.mark.parametrize(
    ("width_in", "length_in", "binding_in", "strips", "yards"),
    [
        (60, 72, 274, 7, 0.5),  # rule of Christa Watson, Quilty Math: perimeter + 10, 40 usable
        (90, 108, 406, 11, 0.875),  # the same rule
    ],
)
def test_straight_binding_comes_out_as_the_printed_rule(
    width_in, length_in, binding_in, strips, yards
):
    assert 2 * (width_in + length_in) + 10 == binding_in
    assert straight_strips(binding_in, 2.5) == strips
    assert yards_for(strips * 2.5) == yards


def test_diagonal_joins_cost_the_60_by_72_quilt_an_eighth_strip():
    # computed: 7 x 40 - 6 x 2.5 = 265 < 274 <= 8 x 40 - 7 x 2.5 = 302.5
    assert straight_strips(274, 2.5, diagonal_joins=True) == 8


@given(st.floats(1, 3000), st.floats(1, 4), st.floats(20, 60))
def test_diagonally_joined_strips_reach_and_one_fewer_does_not(length_in, cut_in, usable_in):
    n = straight_strips(length_in, cut_in, usable_in=usable_in, diagonal_joins=True)
    assert n * usable_in - (n - 1) * cut_in >= length_in - 1e-6
    assert n == 1 or (n - 1) * usable_in - (n - 2) * cut_in < length_in


def test_full_bias_strips_are_root_2_longer_than_their_piece_is_deep():
    piece = single_bias_strips(258, 2)
    # computed: full strips run from long edge to long edge at 45 degrees
    assert max(piece.strips_in) == pytest.approx(piece.depth_in * math.sqrt(2))
    # computed: a strip takes 2 root 2 = 2.83 in of the edge
    full = sum(strip > max(piece.strips_in) - 1e-6 for strip in piece.strips_in)
    assert full <= (40 - piece.depth_in) / (2 * math.sqrt(2))


@given(st.floats(20, 600))
def test_a_bias_piece_has_room_for_its_strips(length_in):
    piece = single_bias_strips(length_in, 2)
    assert sum(piece.strips_in) * 2 <= piece.width_in * piece.depth_in + 1e-6
    assert piece.length_in >= length_in
    # and one strip fewer would be too short
    fewer = piece.strips_in[:-1]
    assert sum(fewer) - 0.5 * math.sqrt(2) * max(0, len(fewer) - 1) < length_in


def test_bias_that_no_single_piece_gives_is_told_with_the_way_out():
    with pytest.raises(PlanError, match="continuous bias from a square"):
        single_bias_strips(5000, 2)


@pytest.mark.parametrize("bad", [0, -3, math.inf, math.nan])
def test_a_binding_of_no_length_is_refused(bad):
    with pytest.raises(PlanError):
        straight_strips(bad, 2.5)
    with pytest.raises(PlanError):
        bias_square_side(bad, 2.5)


@pytest.mark.parametrize(
    ("chord_in", "depth_in", "arc_in"),
    [  # computed: R = c2/8h + h/2, arc = 2 R asin(c/2R); the last is half a circle, pi c/2
        (6, 1.5, 6.9547),
        (12, 3, 13.9094),
        (10, 2, 11.0347),
        (8, 4, 12.5664),
    ],
)
def test_an_arc_is_as_long_as_its_chord_and_depth_say(chord_in, depth_in, arc_in):
    assert arc_length(chord_in, depth_in) == pytest.approx(arc_in, abs=0.001)


@pytest.mark.parametrize(("chord_in", "depth_in", "radius_in"), [(6, 1.5, 3.75), (12, 3, 7.5)])
def test_the_radius_of_an_arc_follows_from_chord_and_depth(chord_in, depth_in, radius_in):
    assert arc_radius(chord_in, depth_in) == pytest.approx(radius_in)


@given(st.floats(0.5, 40), st.floats(0.01, 0.5))
def test_an_arc_is_longer_than_its_chord_and_shorter_than_the_way_round(chord_in, share):
    arc_in = arc_length(chord_in, share * chord_in)
    assert chord_in < arc_in < chord_in + 2 * share * chord_in


def test_an_arc_deeper_than_half_its_chord_is_refused():
    with pytest.raises(PlanError, match="at most half"):
        arc_length(6, 3.1)


def test_twenty_scallops_of_12_inches_need_258_inches_of_binding():
    # Bessie Pearl, How to Measure Bias Binding for your Scalloped Quilt: + 18, 8 yards
    assert scalloped_length(20, 12) == 258
    assert yards_for(258, step=1) == 8


@pytest.mark.parametrize(
    ("width_in", "length_in", "inches", "yards", "panels"),
    [  # computed with 4 in over each side (American Patchwork & Quilting, Feb 2020, p. 102)
        (60, 72, 160, 4.5, 2),
        (68, 86, 188, 5.25, 2),
        (90, 108, 294, 8.25, 3),
        (40, 52, 96, 2.75, 2),
    ],
)
def test_backing_comes_out_in_the_better_direction(width_in, length_in, inches, yards, panels):
    back = backing_for(width_in, length_in)
    assert (back.inches, back.yards, back.panels) == (inches, yards, panels)


def test_wide_backing_needs_no_seam():
    assert backing_for(60, 72, usable_in=108).direction == "one piece"


@given(st.floats(5, 150), st.floats(5, 150), st.floats(30, 110))
def test_joined_backing_panels_cover_the_top(width_in, length_in, usable_in):
    back = backing_for(width_in, length_in, usable_in=usable_in)
    across_in = back.panels * usable_in - (back.panels - 1)
    sides = sorted((across_in, back.panel_in))
    if back.direction == "crosswise":
        assert across_in >= back.length_in - 1e-6
        assert back.panel_in >= back.width_in
    elif back.direction == "upright":
        assert across_in >= back.width_in - 1e-6
        assert back.panel_in >= back.length_in
    else:
        assert sides[1] >= max(back.width_in, back.length_in) - 1e-6


def test_batting_is_8_inches_more_than_the_top():
    # survey in a shop, Quilts and Treasures, 5 Batting Facts: 4 to 12, most 6 to 8
    batting = batting_for(60, 72)
    assert (batting.width_in, batting.length_in) == (68, 80)


@pytest.mark.parametrize(
    ("name", "width_in", "length_in"),
    [  # Better Sleep Council; reference.com, Mattress Sizes; Dover's Mattress. Makers differ: 1 in
        ("crib", 27, 52),
        ("twin", 38, 75),
        ("full", 53, 75),
        ("queen", 60, 80),
        ("king", 76, 80),
        ("california king", 72, 84),
    ],
)
def test_mattresses_are_as_printed(name, width_in, length_in):
    bed = next(bed for bed in MATTRESSES if bed.name == name)
    assert bed.width_in == pytest.approx(width_in, abs=1)
    assert bed.length_in == pytest.approx(length_in, abs=1)


def test_a_crib_quilt_is_larger_than_the_inside_of_a_crib_by_law():
    # 16 CFR 1219 (JJR Laboratory's page): 28 +- 5/8 x 52 3/8 +- 5/8 inside
    crib = next(size for size in QUILT_SIZES if size.name == "crib")
    assert crib.width_in > 28.625
    assert crib.length_in > 53


@pytest.mark.parametrize(
    ("name", "width_in", "length_in"),
    [  # Christa Watson, Quilty Math; lap: Cia's Palette
        ("crib", 40, 55),
        ("lap", 50, 65),
        ("twin", 65, 88),
        ("queen", 86, 95),
        ("king", 105, 95),
    ],
)
def test_quilts_have_their_printed_sizes(name, width_in, length_in):
    assert nearest_quilt_size(width_in, length_in).name == name


def test_a_twin_with_a_12_inch_drop_is_63_by_87():
    # Cia's Palette, Standard mattress sizes
    assert quilt_for_bed(39, 75, drop_in=12) == (63, 87)


def test_a_mattress_without_width_is_refused():
    with pytest.raises(PlanError):
        quilt_for_bed(0, 75, drop_in=12)
