"""Order and pressing of seams, checked on every shape and setting.

Rules of sewing here are common practice, no source, unless said otherwise.
"""

from __future__ import annotations

import math
from collections import defaultdict

import pytest

from stash.quilt.pattern import make_pattern
from stash.quilt.seams import labels_of, seams_of
from stash.quilt.setting import setting_named, settings_of
from stash.quilt.sewing_order_and_pressing import Joint, Way, row_width, sewing_plan
from stash.shape.templates.template import families, make_template

SIZES = {"rectangle": "2x4", "wedge": "3x5"}
SETTINGS = [(family, one.name) for family in families() for one in settings_of(family)]


def plan_of(family, name=None, *, rows=4, across=None, straight=False):
    template = make_template(family, SIZES.get(family, 4))
    setting = setting_named(family, name)
    across = across or (5 if setting.group == 1 else 4 * setting.group)
    rows = 1 if setting.name == "ring" else rows
    pattern = make_pattern(template.finished_ring(), setting, rows, across, straight=straight)
    return sewing_plan(pattern, seams_of(pattern, template.finished))


@pytest.mark.parametrize(("family", "name"), SETTINGS)
@pytest.mark.parametrize("straight", [False, True])
def test_every_piece_is_sewn_in_exactly_one_row(family, name, straight):
    plan = plan_of(family, name, straight=straight)
    pieces = [piece for row in plan.rows for piece in row]
    assert sorted(pieces) == list(range(len(plan.pattern.places)))


@pytest.mark.parametrize(("family", "name"), SETTINGS)
def test_every_seam_is_sewn_once_and_lies_on_one_of_its_pieces_or_open(family, name):
    plan = plan_of(family, name)
    assert len(plan.seams) == len(plan.map.seams)
    for one in plan.seams:
        pair = {one.seam.first, one.seam.second}
        assert one.press_to is None or one.press_to in pair
        assert one.on_top is None or one.on_top in pair


@pytest.mark.parametrize(("family", "name"), SETTINGS)
def test_the_hollow_piece_lies_on_top_and_the_seam_is_pressed_to_the_bulging_one(family, name):
    for one in plan_of(family, name).seams:
        if one.seam.bulging is None:
            assert one.on_top is None
        else:
            assert {one.on_top, one.press_to} == {one.seam.first, one.seam.second}
            assert one.press_to == one.seam.bulging


def nesting(plan):
    """For each crossing of a row seam: the sides the upper and the lower seam are pressed to."""
    ends, owners = [], []
    for one in plan.seams:
        if one.joint is Joint.ROW:
            for end in (one.seam.segment.start, one.seam.segment.end):
                ends.append(end)
                owners.append(one)
    meeting = defaultdict(list)
    for label, one in zip(labels_of(ends), owners, strict=True):
        meeting[label].append(one)
    order = {piece: at for row in plan.rows for at, piece in enumerate(row)}
    for seams in meeting.values():
        rows = {plan.row_of[one.seam.first] for one in seams}
        if len(seams) == 2 and len(rows) == 2:
            yield [
                one.press_to == max(one.seam.first, one.seam.second, key=order.__getitem__)
                for one in seams
            ]


@pytest.mark.parametrize(
    ("family", "name"),
    [
        ("square", "straight"),
        ("rectangle", "straight"),
        ("tumbler", None),
        ("wedge", "interlocking"),
        ("diamond-60", "on point"),
        ("diamond-60", "zigzag"),
        ("diamond-45", "on point"),
        ("apple-core", None),
    ],
)
def test_where_four_meet_the_upper_and_the_lower_seam_nest(family, name):
    sides = list(nesting(plan_of(family, name)))
    assert len(sides) >= 8
    assert all(upper != lower for upper, lower in sides)


def test_rows_alternate_right_and_left():
    plan = plan_of("square")
    assert [plan.press_of_row(row) for row in range(4)] == ["right", "left", "right", "left"]
    assert plan.pressing_of_row(1) == "pressed to the left"


def test_rows_without_a_seam_of_their_own_are_not_pressed():
    first_diamond = plan_of("diamond-60", "on point", rows=3)
    assert len(first_diamond.rows[0]) == 1
    assert first_diamond.pressing_of_row(0) == ""
    shells = plan_of("clamshell")  # clamshells of a row meet in a point only
    assert {shells.pressing_of_row(row) for row in range(len(shells.rows))} == {""}


def test_long_seams_between_squares_are_pressed_open_because_four_meet():
    plan = plan_of("square")
    between = [one for one in plan.seams if one.joint is Joint.BETWEEN]
    assert between
    assert all(one.press_to is None and any(one.opened) for one in between)


def test_bricks_meet_by_threes_so_their_rows_are_pressed_to_one_side():
    plan = plan_of("rectangle", "staggered")
    between = [one for one in plan.seams if one.joint is Joint.BETWEEN]
    assert all(one.press_to is not None and not any(one.opened) for one in between)
    assert plan.way is Way.STRAIGHT


def test_an_apple_core_row_is_pressed_by_the_curve_and_joined_arc_by_arc():
    plan = plan_of("apple-core")
    assert plan.way is Way.CURVED
    assert plan.press_of_row(0) == "bulging piece"
    assert plan.pressing_of_row(0) == "pressed towards the bulging piece"
    between = [one for one in plan.seams if one.joint is Joint.BETWEEN]
    # from the left, so that the row seam is sewn in one direction
    for one in between:
        ends = (one.seam.segment.start, one.seam.segment.end)
        assert ends[one.from_end][0] < ends[1 - one.from_end][0]


@pytest.mark.parametrize("family", ["apple-core", "clamshell"])
def test_curved_seams_meet_without_easing(family):
    # common practice, no source: both arcs share one radius on the seam line
    plan = plan_of(family)
    for one in plan.seams:
        first, second = plan.map.paths[one.seam.first], plan.map.paths[one.seam.second]
        radii = {round(arc.radius_in, 9) for path in (first, second) for arc in path}
        assert radii == {2.0}
        # and the edge of the other piece runs along it on its whole length
        middle = one.seam.segment.point_at(0.5)
        assert min(
            abs(math.dist(arc.centre, middle) - arc.radius_in) for arc in second
        ) == pytest.approx(0, abs=0.003)


def test_hexagons_are_set_in_with_seams_that_stop_short_where_three_meet():
    plan = plan_of("hexagon")
    assert plan.way is Way.SET_IN
    inner = [one for one in plan.seams if one.joint is Joint.BETWEEN]
    assert sum(one.partial for one in inner) == len(inner)
    assert not any(all(one.opened) for one in plan.seams)


def test_clamshells_are_sewn_from_the_middle_of_the_dome():
    plan = plan_of("clamshell")
    assert plan.way is Way.SHELLS
    centres = plan.pattern.centres_in
    for one in plan.seams:
        ends = (one.seam.segment.start, one.seam.segment.end)
        assert ends[one.from_end][0] == pytest.approx(centres[one.seam.bulging][0], abs=0.01)


def test_diamonds_on_point_are_sewn_in_diagonal_rows_with_straight_seams():
    plan = plan_of("diamond-60", "on point")
    assert plan.diagonal
    assert plan.way is Way.STRAIGHT
    assert not any(one.partial for one in plan.seams)


def test_half_square_triangles_become_squares_first():
    plan = plan_of("half-square-triangle", "straight")
    units = [one for one in plan.seams if one.joint is Joint.UNIT]
    assert len(units) == 16  # computed: 4 rows of 4 squares, one seam each


def test_four_triangles_of_a_square_are_pressed_round_it():
    plan = plan_of("quarter-square-triangle", "squares")
    units = [one for one in plan.seams if one.joint is Joint.UNIT]
    assert len(units) == 4 * 16
    for square in range(16):
        pressed = [one.press_to for one in units if one.seam.first // 4 == square]
        assert sorted(pressed) == [4 * square + k for k in range(4)]


def test_three_strips_of_1_5_measure_3_5_when_sewn():
    # Melody Crust, Precision Piecing, 2015
    assert row_width(1.5, 3) == 3.5


@pytest.mark.parametrize(("family", "name"), SETTINGS)
def test_a_seam_that_stops_short_does_so_only_where_another_seam_comes_in(family, name):
    plan = plan_of(family, name)
    meeting = {crossing.point: len(crossing.pieces) for crossing in plan.map.crossings}
    points = list(meeting)
    for one in plan.seams:
        for stop, end in zip(
            one.stops, (one.seam.segment.start, one.seam.segment.end), strict=True
        ):
            if stop:
                near = min(points, key=lambda point, end=end: math.dist(point, end))
                assert meeting[near] >= 3
