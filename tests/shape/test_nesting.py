"""Yields: published tables exactly, every layout checked."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stash.shape.containment.probe import probe_of
from stash.shape.nesting.convex_gaps import best_edges, hull_of
from stash.shape.nesting.filling import Effort, fill
from stash.shape.nesting.lattice import dense_repeats
from stash.shape.nesting.straight_cuts import strip_cuts
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template, template_of_file
from stash.shape.templates.turning import Turning
from tests.invariants import assert_layout_holds
from tests.shape.scraps import offcut
from tests.shared_data import shared

FREE = Turning.free()
ON_GRAIN = Turning.grain(0, 0)
QUICK = Effort(0)
CUTS = (2, 2.5, 3, 3.5, 4, 4.5, 5, 5.5, 6, 6.5)


def rectangle(width, height, **more):
    return outline_of([(0, 0), (width, 0), (width, height), (0, height)], **more)


def squares(width, height, cut, turning=ON_GRAIN, effort=QUICK):
    template = make_template("square", cut, seam_allowance_in=0)
    scrap = rectangle(width, height)
    layout = fill(scrap, template, turning=turning, effort=effort)
    assert_layout_holds(scrap, template, layout, turning)
    return layout.pieces


@pytest.mark.parametrize(
    ("width", "height", "pieces"),
    [
        # Piecefull Living 2011 (S1), Marcia Hohn 2002 (S2): fat quarter 18 x 22
        (18, 22, (99, 56, 42, 30, 20, 16, 12, 12, 9, 6)),
        # web table of squares per yard (S4)
        (36, 42, (378, 224, 168, 120, 90, 72, 56, 42, 42, 30)),
        # fat eighth 9 x 21 (size: S5), floor(9 / n) * floor(21 / n): computed
        (9, 21, (40, 24, 21, 12, 10, 8, 4, 3, 3, 3)),
    ],
)
def test_squares_on_the_grain_come_out_as_in_the_tables(width, height, pieces):
    assert tuple(squares(width, height, cut) for cut in CUTS) == pieces


def test_every_yield_of_the_shared_tables_comes_out():
    facts = json.loads(shared("reference/trade-facts.json").read_text())["values"]
    told = []
    for fact in facts:
        size = re.search(r"sq_([\d_]+)$", fact["id"])
        piece = re.search(r"(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)", fact["assumption"])
        if fact["id"].startswith("yield.") and size and piece:
            cut = float(size[1].replace("_", "."))
            got = squares(float(piece[1]), float(piece[2]), cut)
            told.append((fact["id"], fact["value"], got))
    assert len(told) >= 60
    assert [one for one in told if one[1] != one[2]] == []


@pytest.mark.parametrize(
    ("size", "width", "height", "pieces"),
    [
        ("2.5 x 4.5", 10, 10, 8),  # 8 x 11.25 of 100 sq in; two rows of four: arithmetic
        # one row of seven at 4.5 and seven rows of four at 2.5: 4.5 + 7 x 2.5 = 22; 35 = area bound
        ("2.5 x 4.5", 18, 22, 35),
    ],
)
def test_rows_of_both_heights_mix(size, width, height, pieces):
    template = make_template("rectangle", size, seam_allowance_in=0)
    scrap = rectangle(width, height)
    layout = fill(scrap, template, turning=FREE, effort=QUICK)
    assert_layout_holds(scrap, template, layout, FREE)
    assert layout.pieces == pieces == layout.upper_bound


@pytest.mark.parametrize(
    ("family", "size", "strip", "length", "pieces"),
    [
        # floor(2 W / side) - 1, side = 2 h / sqrt 3, cut height 3 3/4: computed
        ("equilateral-triangle", 3.0, 3.75, 40, 17),
        ("equilateral-triangle", 3.0, 3.75, 42, 18),
        # floor(W / (2 x cut side)), finished side 1: computed
        ("hexagon", 1.0, 2.2321, 40, 15),
        ("hexagon", 1.0, 2.2321, 42, 16),
    ],
)
def test_strips_give_as_many_as_the_formulas_say(family, size, strip, length, pieces):
    template = make_template(family, size)
    scrap = rectangle(length, strip)
    layout = fill(scrap, template, turning=FREE, effort=QUICK)
    assert_layout_holds(scrap, template, layout, FREE)
    assert layout.pieces == pieces


def test_five_squares_share_a_box_only_at_45_degrees():
    # side of the smallest square for five unit squares: 2 + 1 / sqrt 2 (Goebel 1979, from memory)
    template = make_template("square", 2.5, seam_allowance_in=0)
    scrap = rectangle(6.78, 6.78)
    layout = fill(scrap, template, turning=FREE, effort=Effort(200))
    assert_layout_holds(scrap, template, layout, FREE)
    assert layout.pieces == 5


def test_a_ten_inch_square_gives_ten_clamshells_that_no_lattice_gives():
    # best known of a feasibility study with two other engines, cut for 3 in finished
    template = make_template("clamshell", 3)
    scrap = rectangle(10, 10)
    layout = fill(scrap, template, turning=FREE)
    assert_layout_holds(scrap, template, layout, FREE)
    assert layout.pieces >= 10


def test_a_ten_inch_square_gives_eighteen_hexagons():
    # best known of a feasibility study with two other engines; a plain lattice gives 15
    template = make_template("hexagon", 1.0)
    scrap = rectangle(10, 10)
    layout = fill(scrap, template, turning=FREE, effort=Effort(96))
    assert_layout_holds(scrap, template, layout, FREE)
    assert layout.pieces >= 18


@pytest.mark.parametrize(("width", "area_alone", "most"), [(4.2, 2, 1), (4.6, 2, 2)])
def test_two_need_room_for_two_middles(width, area_alone, most):
    # Hexagons with sides of 1.2887 in: 2.2321 across flats, so middles lie at least so far apart;
    # in a scrap 2.3 in high they lie within width - 2.2321 of each other: plain geometry.
    hexagon = make_template("hexagon", 1)
    scrap = rectangle(width, 2.3)
    assert int(width * 2.3 / hexagon.cut_polygon().area) == area_alone
    layout = fill(scrap, hexagon, turning=FREE, effort=QUICK)
    assert_layout_holds(scrap, hexagon, layout, FREE)
    assert layout.upper_bound == most


@pytest.mark.parametrize("cut", [2.1, 2.5])
def test_convex_pieces_apart_by_no_edge_are_told_to_overlap(cut):
    # Two squares crossed at 45 degrees, no corner of either inside the other's middle: they overlap
    # by half a diagonal and a side less their distance: plain geometry.
    hull = hull_of(probe_of(make_template("square", cut, seam_allowance_in=0).cut))
    mine, theirs = np.zeros((1, 3)), np.array([[1.5, 0.0, np.pi / 4]])
    _, gap = best_edges(hull.corners, mine, theirs)
    assert hull.is_whole
    assert gap[0] == pytest.approx(1.5 - cut / 2 - cut / np.sqrt(2))


@pytest.mark.parametrize(
    ("corners", "density"),
    [
        (3, 1.0),  # triangles with every second one upside down tile
        (5, (5 - np.sqrt(5)) / 3),  # pentagons in double rows: Kuperberg 1990, from memory
        (6, 1.0),
    ],
)
def test_the_densest_repeat_of_a_regular_shape_is_found(corners, density):
    turns = np.arange(corners) * 2 * np.pi / corners
    cut = tuple(zip(np.cos(turns).tolist(), np.sin(turns).tolist(), strict=True))
    period = 2 * np.pi / corners
    densest = dense_repeats(cut, period=period, second_turns=(np.pi,))[0]
    assert densest.density == pytest.approx(density, abs=5e-4)


def test_the_same_effort_gives_the_same_layout():
    scrap = offcut(np.random.default_rng(4), least_in=4, most_in=6)
    template = make_template("hexagon", 1)
    one, two = (fill(scrap, template, turning=FREE, effort=Effort(12)) for _ in range(2))
    assert one == two


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(["square", "tumbler", "diamond-60", "apple-core"]))
def test_layouts_hold_on_any_scrap(seed, family):
    random = np.random.default_rng(seed)
    scrap = offcut(random, most_in=6)
    template = make_template(family, float(random.uniform(1.2, 3)))
    turning = FREE if seed % 2 else Turning.grain(random.uniform(0, 360), 5)
    layout = fill(scrap, template, turning=turning, effort=Effort(12))
    assert_layout_holds(scrap, template, layout, turning)


def test_a_scrap_in_two_parts_after_its_error_fills_both():
    # Two 3 x 3 squares joined by a neck 0.1 wide vanish into two parts at an error of 0.1.
    points = [
        (0, 0), (3, 0), (3, 1.45), (5, 1.45), (5, 0), (8, 0), (8, 3), (5, 3),
        (5, 1.55), (3, 1.55), (3, 3), (0, 3),
    ]  # fmt: skip
    scrap = outline_of(points, error_in=0.1)
    template = make_template("square", 2.0)
    layout = fill(scrap, template, turning=FREE, effort=Effort(24))
    assert_layout_holds(scrap, template, layout, FREE)
    assert layout.pieces == 2


def test_strips_name_their_widths():
    # 18 x 22, 5 in squares: three strips of four or four strips of three: arithmetic
    cuts = strip_cuts(rectangle(18, 22), make_template("square", 4.5), turning=FREE)
    assert len(cuts.placements) == 12
    assert {strip.width_in for strip in cuts.strips} == {5.0}
    assert sum(strip.pieces for strip in cuts.strips) == 12


def test_diamond_strips_are_cut_across_at_sixty_degrees():
    # strip = cut height; floor((W - h / tan 60) / (h / sin 60)) = 13 from 40 at 2 1/2: computed
    template = make_template("diamond-60", 2 / np.sin(np.pi / 3))
    cuts = strip_cuts(rectangle(40, 2.5), template, turning=FREE)
    assert len(cuts.placements) == 13
    assert cuts.cross_cut_deg == pytest.approx(60)


def test_curved_shapes_have_no_strips():
    cuts = strip_cuts(rectangle(10, 10), make_template("clamshell", 4), turning=FREE)
    assert cuts is None


@pytest.mark.parametrize("cut_in", [2.0, 2.5, 4.5])
@pytest.mark.parametrize("share", [2.712, 2.75])
def test_five_squares_go_round_a_turned_one(cut_in, share):
    # Five unit squares fit a square of side 2 + 1/sqrt 2 = 2.7071, the middle one at 45 degrees:
    # plain geometry; rows alone give four up to side 3.
    side = cut_in * share
    scrap = outline_of([(0, 0), (side, 0), (side, side), (0, side)])
    square = make_template("square", cut_in - 0.5)
    assert fill(scrap, square, turning=Turning.free()).pieces == 5


def test_two_sided_cloth_gives_a_piece_in_each_hand():
    # Two L's, one the mirror image of the other, each with 2 % to spare, joined by a thin neck.
    corners = [(0, 0), (3, 0), (3, 1), (1, 1), (1, 4), (0, 4)]
    template = template_of_file(json.dumps({"cut": corners}).encode(), ".json")
    larger = [(x * 1.02, y * 1.02) for x, y in corners]
    apart = [(-x - 1, y) for x, y in larger]
    scrap = outline_of([*larger, (0, 0.3), (-1, 0.3), *reversed(apart[1:]), (-1, 0), (0, 0)])
    for may_turn_over, sides in ((False, [False]), (True, [False, True])):
        asked = replace(template, may_turn_over=may_turn_over)
        layout = fill(scrap, asked, turning=FREE, effort=QUICK)
        assert_layout_holds(scrap, asked, layout, FREE)
        assert sorted(one.turned_over for one in layout.placements) == sides


def test_yardage_gives_its_hundreds_of_pieces_in_rows_whatever_the_effort():
    yards = outline_of([(0, 0), (40, 0), (40, 72), (0, 72)])
    hexagon = make_template("hexagon", 1)
    quick = fill(yards, hexagon, turning=Turning.free(), effort=Effort(0))
    assert fill(yards, hexagon, turning=Turning.free(), effort=Effort(24)) == quick
    # Arithmetic: sides of 1.289 in cut; 36 rows 1.933 in apart, 17 hexagons of 2.232 in to a row
    assert quick.pieces >= 36 * 17
