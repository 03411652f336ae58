"""Where cells lie, which way seams and stripes go, bias by its lines: counted by hand."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, box

from stash.errors import PlanError
from stash.quilt.bed_sizes import MATTRESSES, QUILT_SIZES, nearest_quilt_size
from stash.quilt.binding import (
    BindingFold,
    bias_length_sewn,
    bias_rectangle_depth,
    bias_square_sewn,
    cut_width,
    single_bias_strips,
    straight_strips,
    yards_for,
)
from stash.quilt.layout import Cells, PieceColours, arrange, judge_layout, swap
from stash.quilt.pattern import Pattern, make_pattern
from stash.quilt.plan import CropPlace, QuiltPiece
from stash.quilt.seams import seams_of
from stash.quilt.setting import Frame, setting_named
from stash.quilt.sewing_order_and_pressing import Joint, sewing_plan
from stash.quilt.stripes import run_of, same_way_pairs, turn_stripes
from stash.shape.templates.template import make_template
from tests.quilt.test_layout import grid, scrappy

LAB = (50.0, 0.0, 0.0)


# Cells: frames are 4 in wide and 2 in high, rows count downwards from y = 0.


@pytest.mark.parametrize(
    ("family", "setting", "frame", "row", "number", "place"),
    [
        ("square", "straight", Frame(4, 2), 0, 0, (2, -1, 0)),
        ("square", "straight", Frame(4, 2), 1, 2, (10, -3, 0)),
        ("square", "staggered", Frame(4, 2), 0, 0, (2, -1, 0)),
        ("square", "staggered", Frame(4, 2), 1, 0, (4, -3, 0)),
        ("square", "staggered", Frame(4, 2), 2, 1, (6, -5, 0)),
        ("half-square-triangle", "straight", Frame(4, 4), 0, 0, (2, -2, 0)),
        ("half-square-triangle", "straight", Frame(4, 4), 1, 3, (6, -6, 180)),
        ("half-square-triangle", "alternating", Frame(4, 4), 0, 2, (6, -2, 90)),
        ("half-square-triangle", "alternating", Frame(4, 4), 1, 3, (6, -6, 180)),
        # Four quarters round the middle of a square of 4 in, each 2 in high on a side.
        ("quarter-square-triangle", "squares", Frame(4, 2), 0, 0, (2, -3, 0)),
        ("quarter-square-triangle", "squares", Frame(4, 2), 0, 1, (3, -2, 90)),
        ("quarter-square-triangle", "squares", Frame(4, 2), 0, 2, (2, -1, 180)),
        ("quarter-square-triangle", "squares", Frame(4, 2), 1, 5, (7, -6, 90)),
        # Tumblers step by the mean of both ends, every second one upside down.
        ("tumbler", "interlocking", Frame(4, 3, top=2), 0, 0, (2, -1.5, 0)),
        ("tumbler", "interlocking", Frame(4, 3, top=2), 1, 0, (2, -4.5, 180)),
        ("tumbler", "interlocking", Frame(4, 3, top=2), 1, 3, (11, -4.5, 0)),
        ("diamond-60", "on point", Frame(2, 4), 1, 0, (2, -4, 0)),
        ("clamshell", "staggered", Frame(4, 4), 2, 1, (6, -6, 0)),
        ("hexagon", "staggered", Frame(4, 4), 0, 0, (2, -2, 0)),
        ("hexagon", "staggered", Frame(4, 4), 3, 1, (8, -11, 0)),
        ("apple-core", "alternating", Frame(5, 4), 1, 2, (10, -6, 90)),
        ("apple-core", "alternating", Frame(5, 4), 0, 2, (10, -2, 0)),
        ("diamond-60", "zigzag", Frame(4, math.sqrt(3), lean=1), 0, 2, (8, -math.sqrt(3) / 2, 0)),
        ("diamond-60", "zigzag", Frame(4, math.sqrt(3), lean=1), 1, 0,
         (2, -1.5 * math.sqrt(3), 120)),
    ],
)  # fmt: skip
def test_a_cell_lies_where_its_setting_says(family, setting, frame, row, number, place) -> None:
    cell = setting_named(family, setting).place(frame, row, number)
    assert (cell.row, cell.number) == (row, number)
    assert (cell.x, cell.y, cell.turn_deg) == pytest.approx(place)


@pytest.mark.parametrize(
    ("family", "setting", "frame", "across", "edges"),
    [
        ("square", "straight", Frame(4, 2), 5, (0, -6, 20, 0)),
        ("half-square-triangle", "straight", Frame(4, 4), 6, (0, -12, 12, 0)),
        ("quarter-square-triangle", "squares", Frame(4, 2), 8, (0, -12, 8, 0)),
        ("equilateral-triangle", "interlocking", Frame(4, 3), 5, (0, -9, 12, 0)),
        ("tumbler", "interlocking", Frame(4, 3, top=2), 5, (1, -9, 15, 0)),
        ("clamshell", "staggered", Frame(4, 4), 5, (0, -8, 20, 0)),
        ("hexagon", "staggered", Frame(4, 4), 5, (0, -9, 20, -1)),
        ("diamond-60", "zigzag", Frame(4, 2, lean=1), 5, (1, -6, 15, 0)),
        ("apple-core", "alternating", Frame(5, 4), 5, (0.5, -11.5, 19.5, -0.5)),
    ],
)
def test_a_straight_edged_top_of_three_rows_has_these_edges(
    family, setting, frame, across, edges
) -> None:
    assert setting_named(family, setting).window(frame, 3, across) == pytest.approx(edges)


def test_wedges_of_18_degrees_stand_about_a_centre_the_first_at_twelve() -> None:
    # 1 1/2 in narrow and 8 in high: the narrow end lies 0.75 / tan 9 from the centre.
    half = math.radians(9)
    frame = Frame(1.5 + 16 * math.tan(half), 8, top=1.5)
    ring = setting_named("wedge", "ring")
    reach = 4 + 0.75 / math.tan(half)
    first, sixth = ring.place(frame, 0, 0), ring.place(frame, 0, 5)
    assert (first.x, first.y, first.turn_deg) == pytest.approx((0, reach, 180))
    assert (sixth.x, sixth.y, sixth.turn_deg) == pytest.approx((reach, 0, 90), abs=1e-9)


# Which way seams are pressed.


def plan_of(family: str, setting: str, size: str | float = 2):
    template = make_template(family, size)
    pattern = make_pattern(template.finished_ring(), setting_named(family, setting), 3, 4)
    return pattern, sewing_plan(pattern, seams_of(pattern, template.finished))


def test_between_rows_of_bricks_seams_are_pressed_to_the_lower_row() -> None:
    pattern, plan = plan_of("rectangle", "staggered", "2x4")
    between = [one for one in plan.seams if one.joint is Joint.BETWEEN]
    assert between
    for one in between:
        rows = [pattern.places[piece].row for piece in (one.seam.first, one.seam.second)]
        assert pattern.places[one.press_to].row == max(rows)


def test_within_a_row_seams_are_pressed_right_in_odd_rows_and_left_in_even_ones() -> None:
    pattern, plan = plan_of("square", "straight")
    for one in plan.seams:
        if one.joint is not Joint.ROW:
            continue
        left, right = sorted(
            (one.seam.first, one.seam.second), key=lambda piece: pattern.places[piece].number
        )
        row = pattern.places[left].row
        assert one.press_to == (right if row % 2 == 1 else left)
    assert [plan.press_of_row(row) for row in range(3)] == ["right", "left", "right"]


# Stripes.


def striped(deg: float | None, other: float | None = None, *, cut: bool = False) -> QuiltPiece:
    crop = CropPlace(0, 0, 0)
    piece = QuiltPiece(1, 1, LAB, "blue", "dark", kind="stripe", stripe_deg=deg, crop=crop, cut=cut)
    if other is None:
        return piece
    return replace(piece, other_crop=CropPlace(0, 0, 90), other_stripe_deg=other)


def row_of(count: int) -> Pattern:
    square = ((0, 0), (2, 0), (2, 2), (0, 2))
    return make_pattern(square, setting_named("square"), 1, count)


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [(0, 0, 1), (0, 29.9, 1), (0, 30, 0), (0, 90, 0), (0, 150, 0), (0, 150.1, 1), (10, 175, 1),
     (170, 195, 1), (None, 0, 0)],
)  # fmt: skip
def test_stripes_within_thirty_degrees_seem_to_run_on(one, other, same) -> None:
    pieces = (striped(one), striped(other))
    assert same_way_pairs(pieces, row_of(2), (0, 1)) == same


def test_only_stripes_run_and_a_turned_place_turns_them() -> None:
    assert run_of(striped(30), 180) == 30
    assert run_of(striped(100), 90) == 10
    assert run_of(replace(striped(30), kind="print"), 0) is None
    assert run_of(striped(None), 0) is None


def test_a_piece_that_can_be_cut_either_way_runs_across_its_neighbours() -> None:
    pattern = row_of(3)
    given = (striped(0), striped(0, 90), striped(0))
    turned = turn_stripes(given, pattern, (0, 1, 2))
    assert [one.stripe_deg for one in turned] == [0, 90, 0]
    assert (turned[1].crop, turned[1].other_crop) == (given[1].other_crop, given[1].crop)
    assert turned[1].other_stripe_deg == 0
    assert same_way_pairs(turned, pattern, (0, 1, 2)) == 0
    cut = (striped(0), striped(0, 90, cut=True), striped(0))
    assert turn_stripes(cut, pattern, (0, 1, 2)) == cut
    fixed = (striped(0), striped(0), striped(0))
    assert turn_stripes(fixed, pattern, (0, 1, 2)) == fixed
    # Where one neighbour lies each way turning gains nothing, and it stays.
    between = (striped(0), striped(0, 90), striped(90))
    assert turn_stripes(between, pattern, (0, 1, 2)) == between


# Binding and beds.


def strips_by_cutting(width_in: float, depth_in: float, cut_in: float) -> list[float]:
    """Cut a piece of cloth along every line at 45 degrees; each strip by its shorter edge."""
    cloth = box(0, 0, width_in, depth_in)
    step, at, edges = cut_in * math.sqrt(2), 0.0, []
    while at <= width_in + depth_in + 1e-9:
        line = LineString([(at, 0), (at - depth_in - 1, depth_in + 1)])
        edges.append(cloth.intersection(line).length)
        at += step
    return [min(pair) for pair in itertools.pairwise(edges) if min(pair) >= 12]


@pytest.mark.parametrize(("length_in", "cut_in"), [(60, 2.25), (200, 2.25), (274, 2.5), (330, 2)])
def test_bias_strips_one_by_one_come_from_the_shallowest_piece_that_gives_them(
    length_in: float, cut_in: float
) -> None:
    found = single_bias_strips(length_in, cut_in)
    join_in = 0.5 * math.sqrt(2)  # two quarter-inch seams on the slant

    def longest(depth_in: float) -> float:
        strips = sorted(strips_by_cutting(40, depth_in, cut_in), reverse=True)
        sums = [sum(strips[:k]) - join_in * (k - 1) for k in range(1, len(strips) + 1)]
        return max(sums, default=0.0)

    assert longest(found.depth_in) >= length_in - 1e-6
    assert longest(found.depth_in - 1 / 8) < length_in
    assert (found.width_in, found.depth_in * 8 % 1) == (40, 0)
    cut = sorted(strips_by_cutting(40, found.depth_in, cut_in), reverse=True)
    assert list(found.strips_in) == pytest.approx(cut[: len(found.strips_in)])
    told = sum(found.strips_in) - join_in * (len(found.strips_in) - 1)
    assert found.length_in == pytest.approx(told)
    # One strip fewer would be too short.
    assert told - found.strips_in[-1] + join_in < length_in


def test_binding_is_worked_out_as_by_hand() -> None:
    # Double: four times what shows, two seams, an eighth for the quilt; single without seams.
    assert cut_width(0.5) == 4 * 0.5 + 0.5 + 0.125
    assert cut_width(0.25, BindingFold.SINGLE) == 1.125
    assert cut_width(0.5, seam_in=0.375, thickness_in=0.25) == 3.0
    # 274 in of 40-in strips are 6.85 strips; joined on the slant each join takes 2 1/2 in.
    assert straight_strips(274, 2.5) == 7
    assert straight_strips(280, 2.5) == 7
    assert straight_strips(280, 2.5, diagonal_joins=True) == 8
    assert straight_strips(1, 2.5) == 1
    with pytest.raises(PlanError, match="gain nothing"):
        straight_strips(280, 2.5, usable_in=2.5, diagonal_joins=True)
    for wrong in ((0, 2.5, 40), (280, 0, 40), (280, 2.5, 0), (math.inf, 2.5, 40)):
        with pytest.raises(PlanError, match="more than nothing"):
            straight_strips(wrong[0], wrong[1], usable_in=wrong[2])
    # A square of 20 in cut 2 in wide: 20 / 1.414 / 2 = 7.07 laps of (20 - 1) x 1.414 in.
    assert bias_length_sewn(20, 2) == pytest.approx(7 * 19 * math.sqrt(2))
    assert bias_length_sewn(0.5, 2) == 0
    assert bias_rectangle_depth(200, 2, usable_in=42) == 10  # 20 x 20 over 42 is 9.5
    assert bias_rectangle_depth(200, 2, side_in=18) == 8
    side = bias_square_sewn(200, 2)
    assert bias_length_sewn(side, 2) >= 200 > bias_length_sewn(side - 1, 2) or side == 20
    assert [yards_for(inches) for inches in (36, 36.1, 4.5, 4.6)] == [1, 1.125, 0.125, 0.25]


def test_beds_and_quilts_have_their_printed_sizes() -> None:
    # Sources stand beside each in the table itself; these are the numbers they print.
    assert {one.name: (one.width_in, one.length_in) for one in QUILT_SIZES} == {
        "crib": (40, 55), "lap": (50, 65), "twin": (65, 88), "queen": (86, 95), "king": (105, 95),
    }  # fmt: skip
    assert {one.name: (one.width_in, one.length_in) for one in MATTRESSES} == {
        "crib": (27, 52), "twin": (38, 75), "full": (53, 75), "queen": (60, 80),
        "king": (76, 80), "california king": (72, 84),
    }  # fmt: skip
    assert nearest_quilt_size(58, 65).name == "lap"  # 8 in off, the twin 7 + 23
    assert nearest_quilt_size(50, 88).name == "twin"  # 15 off, the lap 23


# Layouts.


def test_no_swap_of_two_pieces_makes_a_finished_layout_better() -> None:
    for seed in (1, 2):
        cells, pieces = grid(4, 5), scrappy(20, 9, seed)
        laid = arrange(cells, pieces, seed=seed)
        for one, other in itertools.combinations(range(20), 2):
            changed = judge_layout(cells, pieces, swap(laid.piece_at, one, other))
            assert changed.cost >= laid.cost - 1e-9


def test_what_is_fixed_stays_and_two_that_are_free_lie_the_better_way() -> None:
    cells, pieces = grid(3, 4), scrappy(12, 7, 3)
    start = tuple(np.random.default_rng(5).permutation(12).tolist())
    laid = arrange(cells, pieces, seed=1, start=start, fixed=range(2, 12))
    assert laid.piece_at[2:] == start[2:]
    both = (start, swap(start, 0, 1))
    assert laid.cost == pytest.approx(min(judge_layout(cells, pieces, one).cost for one in both))
    alone = arrange(cells, pieces, seed=1, start=start, fixed=range(1, 12))
    assert alone.piece_at == start
    with pytest.raises(ValueError, match="cells"):
        arrange(cells, pieces, fixed=[1])
    with pytest.raises(ValueError, match="cells"):
        arrange(Cells(cells.centres_in[:-1], []), pieces)


def test_pairs_that_touch_are_counted() -> None:
    cells = grid(1, 4)
    pieces = PieceColours(np.array([LAB] * 4), [1, 1, 2, 2], {"family": list("aabb")})
    assert judge_layout(cells, pieces, (0, 1, 2, 3)).same_fabric_pairs == 2
    assert judge_layout(cells, pieces, (0, 2, 1, 3)).same_fabric_pairs == 0
    assert judge_layout(cells, pieces, (2, 0, 1, 3)).same_fabric_pairs == 1
    assert judge_layout(cells, pieces, (0, 1, 2, 3)).likeness == pytest.approx(1.0)
