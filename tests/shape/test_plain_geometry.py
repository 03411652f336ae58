"""Curves, turns, borders, strips and drawings: by formulas, by shapely, and by hand."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon

from stash.errors import MeasureError, TemplateError
from stash.shape.containment.piece_fit import Placement
from stash.shape.nesting.convex_gaps import best_edges, gaps_beyond
from stash.shape.nesting.layout import Layout, is_sound
from stash.shape.nesting.straight_cuts import edge_directions, strip_cuts, up_to_mark
from stash.shape.plane.border import borders_of, signed_distance, with_edge, with_slope
from stash.shape.plane.outline import outline_of
from stash.shape.plane.strips import largest_rectangle, strips_along
from stash.shape.templates.curve import (
    Arc,
    Line,
    arc_steps,
    at_quarters,
    flattened,
    moved,
    offset,
    path_length,
)
from stash.shape.templates.own_shape import read_own_shape
from stash.shape.templates.template import make_template
from stash.shape.templates.turning import Turning

FEW = settings(max_examples=25, deadline=None)
SQUARE = tuple(
    Line(one, other) for one, other in pairwise([(0, 0), (4, 0), (4, 4), (0, 4), (0, 0)])
)
RADII, TURNS = st.floats(0.2, 20), st.floats(-360, 360)


def circle(radius_in: float, parts: int = 4) -> tuple[Arc, ...]:
    return tuple(Arc((1, 2), radius_in, 360 / parts * k, 360 / parts) for k in range(parts))


# Lines and arcs.


def test_a_line_runs_from_end_to_end_in_one_direction() -> None:
    line = Line((1, 1), (4, 5))
    assert line.length_in == 5
    assert line.point_at(0.5) == (2.5, 3.0)
    assert line.direction_at(0.3) == pytest.approx((0.6, 0.8))


@FEW
@given(RADII, TURNS, st.one_of(st.floats(5, 350), st.floats(-350, -5)), st.floats(0.01, 0.99))
def test_an_arc_is_as_long_as_its_angle_and_goes_where_its_direction_says(
    radius, start_deg, sweep_deg, share
) -> None:
    arc = Arc((2, -1), radius, start_deg, sweep_deg)
    assert arc.length_in == pytest.approx(radius * abs(sweep_deg) * math.pi / 180)
    assert math.dist(arc.centre, arc.point_at(share)) == pytest.approx(radius)
    step = 1e-4
    (x0, y0), (x1, y1) = arc.point_at(share - step), arc.point_at(share + step)
    run = math.hypot(x1 - x0, y1 - y0)
    assert arc.direction_at(share) == pytest.approx(((x1 - x0) / run, (y1 - y0) / run), abs=1e-3)
    assert (arc.start, arc.end) == (arc.point_at(0.0), arc.point_at(1.0))


def test_a_path_is_as_long_as_its_parts_wherever_it_lies() -> None:
    assert path_length(circle(3.0)) == pytest.approx(6 * math.pi)
    there = moved((*SQUARE, Arc((0, 0), 1, 0, 90)), 2, -3)
    assert path_length(there) == pytest.approx(16 + math.pi / 2)
    assert there[0] == Line((2, -3), (6, -3))
    assert there[-1].centre == (2, -3)


# Flattened and widened.


@settings(max_examples=8, deadline=None)
@given(RADII, st.sampled_from([0.0005, 0.01]))
def test_a_flattened_circle_holds_the_true_one_or_lies_within_it(radius, error_in) -> None:
    true = Point(1, 2).buffer(radius, quad_segs=500)
    outer = Polygon(flattened(at_quarters(circle(radius)), error_in=error_in, outside=True))
    inner = Polygon(flattened(circle(radius), error_in=error_in, outside=False))
    assert outer.area >= math.pi * radius**2 >= inner.area
    assert outer.buffer(1e-9).covers(true)
    assert outer.exterior.hausdorff_distance(true.exterior) <= error_in + 1e-4
    for x, y in inner.exterior.coords:
        assert math.dist((x, y), (1, 2)) == pytest.approx(radius)
    sagitta = radius - min(
        LineString(pair).distance(Point(1, 2)) for pair in pairwise(inner.exterior.coords)
    )
    assert sagitta <= error_in + 1e-9


def test_arcs_are_parted_where_they_face_along_the_axes() -> None:
    (arc,) = at_quarters((Arc((0, 0), 2, 10, 60),))
    assert (arc.start_deg, arc.sweep_deg) == (10, 60)
    parts = at_quarters((Arc((0, 0), 2, 10, 180),))
    assert [(one.start_deg, one.sweep_deg) for one in parts] == [(10, 80), (90, 90), (180, 10)]
    assert [one.start_deg for one in at_quarters((Arc((0, 0), 2, 0, 180),))] == [0, 90]
    hollow = Arc((0, 0), 2, 190, -180)
    assert at_quarters((hollow,)) == (hollow,)


def test_an_arc_gets_as_many_edges_as_its_error_asks_or_more() -> None:
    quarter = Arc((0, 0), 1.0, 0, 90)
    (count,) = arc_steps((quarter,), error_in=0.001)
    # Tangents overshoot by r (1 / cos(step / 2) - 1), here not more than a thousandth.
    assert 1 / math.cos(math.radians(90 / count / 2)) - 1 <= 0.001
    assert 1 / math.cos(math.radians(90 / (count - 1) / 2)) - 1 > 0.001
    assert arc_steps((quarter, SQUARE[0]), error_in=10, per_quarter=7) == (7, 0)
    assert arc_steps((Arc((0, 0), 1, 0, 45),), error_in=10, per_quarter=7) == (4,)
    assert arc_steps((quarter,), error_in=10) == (2,)


def test_each_side_moves_out_by_its_own_allowance() -> None:
    wide = offset(SQUARE, (0.25, 0.5, 1.0, 0.0))
    assert [one.start for one in wide] == [(0, -0.25), (4.5, -0.25), (4.5, 5), (0, 5)]
    round_ = offset(circle(3.0), (0.5,) * 4)
    assert {one.radius_in for one in round_} == {3.5}
    assert path_length(round_) == pytest.approx(7 * math.pi)


def test_a_dome_on_a_line_keeps_its_allowance_all_round() -> None:
    # A half disc of radius 2: the base moves down by 1/4 and runs on to the wider dome.
    half = (Line((-2, 0), (2, 0)), Arc((0, 0), 2, 0, 180))
    wide = Polygon(flattened(offset(half, (0.25, 0.25)), error_in=1e-4, outside=False))
    reach = math.sqrt(2.25**2 - 0.25**2)
    assert wide.bounds == pytest.approx((-2.25, -0.25, 2.25, 2.25), abs=1e-3)
    assert Point(reach - 0.01, -0.249).within(wide) and not Point(reach + 0.01, -0.249).within(wide)
    tight = (Line((0, 0), (2, 0)), Arc((1, 0), 0.2, 0, -180))
    with pytest.raises(ValueError, match="hollow arc"):
        offset(tight, (0.25, 0.25))


# Turns.


def test_a_grain_leaves_windows_about_each_of_its_steps() -> None:
    turning = Turning.grain(10, 5)
    assert turning.windows_deg == ((5, 15), (95, 105), (185, 195), (275, 285))
    for angle, fits in ((5, True), (15, True), (4.9, False), (15.1, False), (-170, True),
                        (365, True), (280, True), (50, False)):  # fmt: skip
        assert turning.allows(angle) is fits
    assert not turning.is_free and Turning.free().is_free and Turning.free().allows(123)
    assert turning.within(180) == ((5.0, 15.0), (95.0, 105.0))
    assert turning.within(90) == ((5.0, 15.0),)
    assert turning.within(10) == ((0.0, 10.0),)
    assert Turning.free().within(60) == ((0.0, 60.0),)
    one_way = Turning.grain(350, 5, steps=(0,))
    assert one_way.allows(355) and one_way.allows(345) and not one_way.allows(170)
    assert Turning.grain(0, 180).is_free
    assert turning.rule == Turning.grain(77, 5).rule != Turning.grain(10, 6).rule != one_way.rule


@pytest.mark.parametrize(
    ("grain", "tolerance", "steps"),
    [(0, -1, (0,)), (0, 181, (0,)), (math.inf, 5, (0,)), (math.nan, 5, (0,)), (0, 5, ())],
)
def test_a_grain_that_makes_no_sense_is_refused(grain, tolerance, steps) -> None:
    with pytest.raises(MeasureError):
        Turning.grain(grain, tolerance, steps)


# Outlines.


def test_an_outline_tells_its_longest_edge_its_least_box_and_what_is_sure() -> None:
    one = outline_of([(0, 0), (6, 0), (6, 2), (0, 2)], error_in=0.25)
    assert one.longest_edge_deg() == 0
    turned = affinity.rotate(one.polygon, 30, origin=(0, 0))
    again = outline_of(list(turned.exterior.coords)[:-1], error_in=0.25)
    assert again.longest_edge_deg() == pytest.approx(30)
    assert again.least_box_in() == pytest.approx((2, 6))
    assert again.sure().area == pytest.approx(5.5 * 1.5)
    assert again.area_sq_in == pytest.approx(12)
    assert one.bounds == (0, 0, 6, 2)
    upright = outline_of([(0, 0), (2, 0), (2, 6), (0, 6)])
    assert upright.longest_edge_deg() == pytest.approx(90)


@pytest.mark.parametrize(
    ("points", "more", "told"),
    [
        ([(0, 0), (1, 1)], {}, "three corners"),
        ([(0, 0), (1, 1), (1, 1)], {}, "has 2"),
        ([(0, 0), (2, 2), (2, 0), (0, 2)], {}, "crosses or touches itself"),
        ([(0, 0), (1, 1), (2, 2)], {}, "touches itself|no cloth"),
        ([(0, 0), (math.nan, 1), (2, 2)], {}, "no length"),
        ([(0, 0), (2e6, 1), (2, 2)], {}, "no length"),
        ([(0, 0), (4, 0), (0, 4)], {"error_in": -0.1}, "makes no sense"),
        ([(0, 0), (4, 0), (0, 4)], {"error_in": math.inf}, "makes no sense"),
        ([(0, 0), (4, 0), (0, 4)], {"holes": [[(3, 3), (4, 3), (4, 4)]]}, "hole"),
    ],
)
def test_what_is_no_outline_is_told(points, more, told) -> None:
    with pytest.raises(MeasureError, match=told):
        outline_of(points, **more)


# Distances to a border, against shapely.

ELL = [(0, 0), (5, 0), (5, 1.5), (1.5, 1.5), (1.5, 4), (0, 4)]
HOLE = [(0.4, 0.4), (0.4, 1.0), (1.0, 1.0), (1.0, 0.4)]


@FEW
@given(st.floats(-2, 7), st.floats(-2, 6))
def test_a_point_lies_as_deep_in_a_shape_as_shapely_says(x, y) -> None:
    shape = Polygon(ELL, [HOLE])
    borders = borders_of([[[(9, 9), (10, 9), (10, 10)]], [ELL, HOLE]])
    points = np.array([[[x, y]]])
    (found,) = signed_distance(borders, np.array([1]), points).ravel()
    away = shape.boundary.distance(Point(x, y))
    assert abs(found) == pytest.approx(away, abs=1e-5)
    if away > 1e-4:
        assert (found > 0) == shape.contains(Point(x, y))
    value, edge = with_edge(borders, np.array([1]), points)
    assert value.ravel()[0] == found
    assert 3 <= edge.ravel()[0] < 3 + len(ELL) + len(HOLE)
    value, slope = with_slope(borders, np.array([1]), points)
    assert np.hypot(*slope.ravel()) == pytest.approx(1, abs=1e-6) or away < 1e-6
    # Against the slope, as far as the distance says, lies the border.
    foot = np.array([x, y]) - found * slope.ravel()
    assert shape.boundary.distance(Point(foot)) < 1e-4


@FEW
@given(st.floats(-3, 3), st.floats(-3, 3), st.floats(0, 6.2), st.floats(0, 6.2))
def test_convex_pieces_are_apart_where_an_edge_keeps_the_other_beyond(x, y, turn, other) -> None:
    corners = np.array([(-1, -0.5), (1, -0.5), (0.6, 0.5), (-0.6, 0.5)])

    def laid(pose: tuple[float, float, float]) -> Polygon:
        turned = affinity.rotate(Polygon(corners), pose[2], origin=(0, 0), use_radians=True)
        return affinity.translate(turned, pose[0], pose[1])

    one, two = np.array([[0.2, -0.1, turn]]), np.array([[x, y, other]])
    (edge, mine), (_, theirs) = best_edges(corners, one, two), best_edges(corners, two, one)
    apart = laid(tuple(one[0])).distance(laid(tuple(two[0])))
    best = max(mine[0], theirs[0])
    assert (best > 1e-9) == (apart > 0) or abs(best) < 1e-6
    assert best <= apart + 1e-9
    gaps = gaps_beyond(corners, edge, one, two)
    assert gaps.value.min() == pytest.approx(mine[0], abs=1e-9)
    step = 1e-6
    for axis in range(3):
        for poses, growth in ((one, gaps.by_one), (two, gaps.by_other)):
            shifted = poses.copy()
            shifted[0, axis] += step
            again = gaps_beyond(
                corners, edge, shifted if poses is one else one, shifted if poses is two else two
            )
            measured = (again.value - gaps.value) / step
            assert measured == pytest.approx(growth[:, :, axis], abs=1e-4)


# Layouts and strips.


@pytest.mark.parametrize(
    ("placements", "sound"),
    [
        ([], True),
        ([(1.25, 1.25)], True),
        ([(1.25, 1.25), (3.75, 1.25)], True),  # flush
        ([(1.25, 1.25), (3.74, 1.25)], False),
        ([(1.24, 1.25)], False),
        ([(1.25, 1.25), (3.75, 3.75), (1.26, 1.25)], False),
    ],
)
def test_a_layout_is_sound_where_pieces_lie_in_the_cloth_and_not_on_each_other(
    placements, sound
) -> None:
    cloth = Polygon([(0, 0), (5, 0), (5, 5), (0, 5)])
    laid = [Placement(x, y, 0) for x, y in placements]
    assert is_sound(cloth, make_template("square", 2), laid) is sound
    assert Layout(tuple(laid), 4).pieces == len(laid)


@pytest.mark.parametrize("turn_deg", [0, 30, 90])
def test_strips_lie_side_by_side_along_their_line(turn_deg) -> None:
    ring = affinity.rotate(Polygon([(0, 0), (10, 0), (10, 4), (0, 4)]), turn_deg, origin=(0, 0))
    outline = outline_of(list(ring.exterior.coords)[:-1])
    strips = strips_along(outline, 1.5, turn_deg)
    assert [(one.length_in, one.width_in) for one in strips] == [pytest.approx((10, 1.5))] * 2
    areas = [Polygon(one.ring) for one in strips]
    assert areas[0].intersection(areas[1]).area < 1e-6
    for one in areas:
        assert ring.buffer(1e-5).covers(one) and one.area == pytest.approx(15, abs=1e-3)
    assert len(strips_along(outline, 2.0, turn_deg)) == 2
    across = strips_along(outline, 2.0, turn_deg + 90)
    assert [one.length_in for one in across] == [pytest.approx(4, abs=1e-3)] * 5
    assert strips_along(outline, 1.5, turn_deg, least_in=10.5) == ()
    for slant in (1, -1):  # ends of 45 degrees take the strip's width of its length
        slanted = strips_along(outline, 1.5, turn_deg, slant=slant)
        assert [one.length_in for one in slanted] == [pytest.approx(8.5, abs=0.01)] * 2
        for one in slanted:
            assert ring.buffer(1e-5).covers(Polygon(one.ring))
            assert Polygon(one.ring).area == pytest.approx(8.5 * 1.5, abs=0.02)


def test_what_is_within_the_error_is_left_and_nothing_gives_no_strip() -> None:
    outline = outline_of([(0, 0), (10, 0), (10, 4), (0, 4)], error_in=0.25)
    (one,) = strips_along(outline, 3.5, 0)
    assert (one.length_in, one.width_in) == pytest.approx((9.5, 3.5))
    found = largest_rectangle(outline, 0)
    assert (found.length_in, found.width_in) == pytest.approx((9.5, 3.5), abs=1e-3)
    small = outline_of([(0, 0), (0.4, 0), (0.4, 4), (0, 4)], error_in=0.25)
    assert strips_along(small, 1.0, 0) == () and largest_rectangle(small, 0) is None


def test_the_largest_rectangle_in_a_right_triangle_is_half_of_it() -> None:
    found = largest_rectangle(outline_of([(0, 0), (8, 0), (0, 6)]), 0)
    area = found.length_in * found.width_in
    assert 0.97 * 12 <= area <= 12 + 1e-6  # half of 24, from middle to middle of the legs
    assert Polygon([(0, 0), (8, 0), (0, 6)]).buffer(1e-5).covers(Polygon(found.ring))


def test_straight_cuts_give_strips_and_pieces_of_one_another() -> None:
    outline = outline_of([(0, 0), (9, 0), (9, 9.2), (0, 9.2)])
    template = make_template("square", 4)  # 4 1/2 in as cut
    cuts = strip_cuts(outline, template, turning=Turning.free())
    assert len(cuts.placements) == sum(one.pieces for one in cuts.strips) == 4
    assert [one.width_in for one in cuts.strips] == [pytest.approx(4.5)] * 2
    assert cuts.cross_cut_deg == 90
    assert is_sound(outline.polygon, template, cuts.placements)
    rulered = strip_cuts(outline, template, turning=Turning.free(), ruler_step=8)
    assert all(one.width_in * 8 == pytest.approx(round(one.width_in * 8)) for one in rulered.strips)
    diamond = make_template("diamond-60", 2)
    cut = strip_cuts(outline, diamond, turning=Turning.free())
    assert cut.cross_cut_deg == pytest.approx(60)
    assert is_sound(outline.polygon, diamond, cut.placements)
    assert strip_cuts(outline, make_template("hexagon", 2), turning=Turning.free()) is None
    askew = strip_cuts(outline, template, turning=Turning.grain(45, 1))
    assert len(askew.placements) < 4
    assert all((one.direction_deg - 45) % 90 == pytest.approx(0, abs=1.01) or
               (one.direction_deg - 45) % 90 == pytest.approx(90, abs=1.01)
               for one in askew.strips)  # fmt: skip


def test_directions_are_those_along_which_most_of_the_border_runs() -> None:
    ring = np.array([(0, 0), (6, 0), (6, 2), (0, 2)], dtype=float)
    assert edge_directions([ring]) == [0, 90]
    assert edge_directions([ring[:, ::-1].copy()]) == [90, 0]
    assert len(edge_directions([np.array([(math.cos(k), math.sin(k)) for k in range(6)])], 3)) == 3


def test_a_width_is_told_up_to_the_rulers_next_mark() -> None:
    assert up_to_mark(2.5, 8) == 2.5
    assert up_to_mark(2.501, 8) == 2.625
    assert up_to_mark(2.6, 4) == 2.75


# Drawings.


def svg(path: str, more: str = "") -> bytes:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {more}><path d="{path}"/></svg>'.encode()


@pytest.mark.parametrize(
    ("path", "area_sq_in"),
    [
        ("M0 0 H192 V96 H0 Z", 2.0),
        ("m96 96 h96 v96 h-96 z", 1.0),
        ("M0,0 L96,0 96,96 Z", 0.5),
        ("M0 0 l96 0 0 96 z", 0.5),
        # A parabola's segment is two thirds of base times height: 2 in and 1 in.
        ("M0 0 Q96 192 192 0 Z", 4 / 3),
        ("M0 0 q96 192 192 0 z", 4 / 3),
        # With handles straight up a cubic is y = 3 t (1 - t), dx = 6 t (1 - t) dt: 3/5.
        ("M0 0 C0 96 96 96 96 0 Z", 0.6),
        ("M0 0 c0 96 96 96 96 0 z", 0.6),
        # The second half reflects the first's handle.
        ("M0 0 C0 96 96 96 96 0 S192 -96 192 0 L192 192 L0 192 Z", 4.0),
        ("M0 0 Q48 96 96 0 T192 0 L192 192 L0 192 Z", 4.0),
        # Half discs of 1 in radius.
        ("M0 0 A96 96 0 0 1 192 0 Z", math.pi / 2),
        ("M0 0 a96 96 0 0 0 192 0 z", math.pi / 2),
        # Three quarters of a disc by the large arc, closed by its chord: 3/4 pi + 1/2.
        ("M96 0 A96 96 0 1 1 0 -96 Z", 0.75 * math.pi + 0.5),
        ("M96 0 A96 96 0 0 0 0 -96 Z", math.pi / 4 - 0.5),
        # An ellipse's half: pi a b / 2, a = 1, b = 1/2.
        ("M0 0 A96 48 0 0 1 192 0 Z", math.pi / 4),
    ],
)
def test_a_path_encloses_what_its_formula_says(path, area_sq_in) -> None:
    shape = read_own_shape(svg(path), ".SVG")
    found = Polygon(shape.ring)
    assert found.area == pytest.approx(area_sq_in, abs=0.006)
    assert found.area >= area_sq_in - 1e-9 or shape.error_in == 0


@pytest.mark.parametrize(
    ("more", "side_in"),
    [
        ("", 1.0), ('width="2in" viewBox="0 0 96 96"', 2.0),
        ('width="96" viewBox="0,0,96,96"', 1.0),
        ('width="50.8mm" viewBox="0 0 48 48"', 4.0), ('width="72pt" viewBox="0 0 96 96"', 1.0),
        ('width="5.08cm" viewBox="0 0 96 96"', 2.0), ('width="100%" viewBox="0 0 10 10"', 1.0),
        ('width="6pc" viewBox="0 0 96 96"', 1.0), ('width="2in" viewBox="0 0 0 96"', 1.0),
    ],
)  # fmt: skip
def test_a_drawing_is_as_large_as_its_width_and_box_say(more, side_in) -> None:
    shape = read_own_shape(svg("M0 0 H96 V96 H0 Z", more), "svg")
    assert np.ptp(np.array(shape.ring), axis=0) == pytest.approx([side_in, side_in])
    # y points up: the drawing's first corner is the uppermost.
    assert max(y for _, y in shape.ring) == pytest.approx(0) and shape.error_in == 0


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (svg("M0 0 H96 V96"), "not closed"),
        (svg("M0 0 H96 V96 Z M1 1"), "goes on after"),
        (svg("M0 0 H96 V96 M3 3 L9 9 Z"), "jumps"),
        (svg("M0 0 L96 96 L96 0 L0 96 Z"), "not one plain outline"),
        (svg("M0 0 H9e9 V96 Z"), "no length"),
        (svg("M0 0 H.1 V.1 Z"), "next to no cloth"),
        (b"<svg><path d='M0 0'/><rect/></svg>", "2 shapes, 1 of them paths"),
        (b"<svg><g transform='scale(2)'><path d='M0 0'/></g></svg>", "transform"),
        (b"<svg", "not an SVG"),
        (b"<!DOCTYPE x [<!ENTITY a 'b'>]><svg/>", "entities"),
    ],
)
def test_what_is_no_drawing_of_one_shape_is_told(data, told) -> None:
    with pytest.raises(TemplateError, match=told):
        read_own_shape(data, ".svg")


def test_corners_in_a_file_are_taken_as_they_stand_counter_clockwise() -> None:
    shape = read_own_shape(b'{"cut": [[0, 0], [0, 2], [3, 2], [3, 0], [0, 0]]}', "json")
    assert Polygon(shape.ring).exterior.is_ccw and set(shape.ring) == {
        (0, 0),
        (0, 2),
        (3, 2),
        (3, 0),
    }
    for data, told in ((b"[]", "form"), (b'{"cut": [[0, 0], [1, 1]]}', "three corners"),
                       (b'{"cut": [[0, 0], [501, 0], [0, 1]]}', "no length")):  # fmt: skip
        with pytest.raises(TemplateError, match=told):
            read_own_shape(data, ".json")
    with pytest.raises(TemplateError, match=r"\.json or \.svg"):
        read_own_shape(b"", ".pdf")
