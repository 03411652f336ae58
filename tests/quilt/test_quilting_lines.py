"""Quilting lines: continuous, through the crossings, never longer than they must be."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import union_all
from shapely.geometry import LineString, MultiLineString, Point, Polygon, box

from stash.errors import PlanError
from stash.quilt.finishing import trim
from stash.quilt.pattern import make_pattern
from stash.quilt.quilting_lines import LineStyle, LineWish, quilting_guide, usual_style
from stash.quilt.seams import seams_of
from stash.quilt.setting import setting_named
from stash.shape.templates.template import make_template

SHAPES = [
    ("square", "straight"),
    ("rectangle", "staggered"),
    ("equilateral-triangle", None),
    ("diamond-45", "on point"),
    ("hexagon", None),
    ("tumbler", None),
    ("clamshell", None),
    ("apple-core", None),
]
ALONG_SEAMS = (LineStyle.ARCS, LineStyle.PEEL, LineStyle.ECHO, LineStyle.SEAMS)


def top_of(family, name=None, *, rows=3, across=4, size=None, straight=False):
    template = make_template(family, size or {"rectangle": "2x4"}.get(family, 4))
    pattern = make_pattern(
        template.finished_ring(), setting_named(family, name), rows, across, straight=straight
    )
    return pattern, seams_of(pattern, template.finished)


@pytest.mark.parametrize(("family", "name"), SHAPES)
@pytest.mark.parametrize("style", ALONG_SEAMS)
def test_no_run_is_broken(family, name, style):
    _, seams = top_of(family, name)
    for run in quilting_guide(seams, style).runs:
        longest = max(math.dist(run[k], run[k + 1]) for k in range(len(run) - 1))
        # the longest straight stitch is one seam or one side of an echo line
        assert longest <= 4 * math.sqrt(2) + 1e-6


@pytest.mark.parametrize(("family", "name"), SHAPES)
def test_arcs_on_both_sides_of_every_seam_are_one_pass(family, name):
    _, seams = top_of(family, name)
    guide = quilting_guide(seams, LineStyle.ARCS)
    assert guide.passes == 1
    arcs_in = guide.length_in - guide.edge_in
    assert arcs_in == pytest.approx(sum(one.length_in for one in guide.lines))
    sewn_in = sum(one.segment.length_in for one in seams.seams)
    # two arcs a seam: longer than the straight ways, and by little
    chords_in = sum(math.dist(one.segment.start, one.segment.end) for one in seams.seams)
    assert 2 * chords_in < arcs_in < 2 * 1.08 * sewn_in


@pytest.mark.parametrize(("family", "name"), SHAPES)
def test_arcs_pass_through_every_crossing(family, name):
    _, seams = top_of(family, name)
    guide = quilting_guide(seams, LineStyle.ARCS)
    line = LineString(guide.runs[0])
    assert guide.crossings
    assert max(line.distance(Point(crossing)) for crossing in guide.crossings) < 0.02


def test_arcs_lie_a_quarter_inch_inside_the_middle_of_a_long_seam():
    _, seams = top_of("square", rows=1, across=2, size=4)
    guide = quilting_guide(seams, LineStyle.ARCS)
    assert guide.edge_in == 0
    xs = [x for run in guide.runs for x, _ in run]
    assert (min(xs), max(xs)) == pytest.approx((3.75, 4.25))


@pytest.mark.parametrize(("family", "name"), SHAPES)
def test_arcs_stay_on_the_top(family, name):
    pattern, seams = top_of(family, name)
    run = quilting_guide(seams, LineStyle.ARCS).runs[0]
    whole = union_all([piece.buffer(1e-3) for piece in pattern.polygons])
    assert whole.buffer(0.01).covers(LineString(run))


@pytest.mark.parametrize(("family", "name"), SHAPES)
def test_echo_lines_keep_a_quarter_inch_from_every_seam_but_at_the_ways_between(family, name):
    pattern, seams = top_of(family, name)
    guide = quilting_guide(seams, LineStyle.ECHO)
    assert guide.passes == 1
    near_in = 0.0
    for run in guide.runs:
        for k in range(len(run) - 1):
            middle = Point((run[k][0] + run[k + 1][0]) / 2, (run[k][1] + run[k + 1][1]) / 2)
            apart = min(piece.exterior.distance(middle) for piece in pattern.polygons)
            if apart < 0.245:
                near_in += math.dist(run[k], run[k + 1])
    # only the short ways from crossings to the lines come nearer, and each is stitched twice
    # (1 %: the corners of neighbours are one point within a few thousandths)
    assert near_in <= 2 * guide.repeated_in * 1.01


def test_echo_lines_in_squares_are_as_long_as_arithmetic_says():
    _, seams = top_of("square", rows=2, across=2, size=3)
    guide = quilting_guide(seams, LineStyle.ECHO)
    # computed: 4 squares of side 2 1/2, and 4 ways of root 2 / 4 to the middle, there and back
    ways_in = 4 * 0.25 * math.sqrt(2)
    assert guide.length_in == pytest.approx(4 * 4 * 2.5 + 2 * ways_in, abs=0.01)
    assert guide.repeated_in == pytest.approx(ways_in, abs=0.01)


@pytest.mark.parametrize(("family", "name"), SHAPES)
def test_along_the_seams_nothing_is_stitched_twice(family, name):
    _, seams = top_of(family, name)
    guide = quilting_guide(seams, LineStyle.SEAMS)
    sewn_in = sum(one.segment.length_in for one in seams.seams)
    # arcs are stitched in chords
    assert guide.length_in - guide.edge_in == pytest.approx(sewn_in, rel=0.002)
    assert guide.repeated_in == 0


def test_along_the_seams_of_squares_every_line_runs_from_edge_to_edge_in_one_pass():
    _, seams = top_of("square", rows=3, across=4, size=4)
    guide = quilting_guide(seams, LineStyle.SEAMS)
    # computed: 2 seams of 16 in and 3 of 12; from line to line round three quarters of the edge
    assert sorted(round(one.length_in, 3) for one in guide.lines) == [12, 12, 12, 16, 16]
    assert guide.passes == 1
    assert 12 < guide.edge_in < 42
    spots = {(round(x), round(y)) for x, y in guide.crossings if 0 < x < 16 and 0 < y < 12}
    assert all(
        turn < 1
        for run in guide.runs
        for here, turn in turns_of(run)
        if (round(here[0]), round(here[1])) in spots
    )


def test_the_lines_of_one_row_are_joined_along_its_edge():
    _, seams = top_of("square", rows=1, across=4)
    guide = quilting_guide(seams, LineStyle.ARCS)
    assert (guide.passes, len(guide.lines)) == (1, 3)
    assert guide.edge_in == pytest.approx(2 * 4)  # computed: two pieces of 4 in between them


def test_a_top_of_one_piece_has_no_lines():
    _, seams = top_of("square", rows=1, across=1)
    with pytest.raises(PlanError, match="one piece"):
        quilting_guide(seams)


def test_an_echo_line_too_deep_for_its_piece_is_refused():
    _, seams = top_of("square", size=1)
    with pytest.raises(PlanError, match="smaller distance"):
        quilting_guide(seams, LineWish(LineStyle.ECHO, 0.6))


@pytest.mark.parametrize("family", ["apple-core", "clamshell"])
def test_petals_lie_evenly_about_the_straight_line_between_crossings(family):
    _, seams = top_of(family, size=4)
    runs = quilting_guide(seams, LineWish(LineStyle.PEEL, 0.25)).runs
    lines = MultiLineString([run for run in runs if len(run) > 1])
    for one in seams.seams:
        (x0, y0), (x1, y1) = one.segment.start, one.segment.end
        apart = math.dist(one.segment.start, one.segment.end)
        across = (-(y1 - y0) / apart, (x1 - x0) / apart)
        depth = min(0.25, apart / 8)
        for side in (depth, -depth):
            tip = ((x0 + x1) / 2 + side * across[0], (y0 + y1) / 2 + side * across[1])
            assert lines.distance(Point(tip)) < 0.002


def test_arcs_deeper_than_any_seam_takes_are_refused_with_the_most_that_fits():
    _, seams = top_of("square", size=4)
    # computed: an eighth of a seam of 4 in
    assert quilting_guide(seams, LineWish(depth_in=0.5)).runs
    with pytest.raises(PlanError, match=r"½ in or 1\.3 cm is the most"):
        quilting_guide(seams, LineWish(depth_in=0.6))
    _, small = top_of("square", size=1)
    assert quilting_guide(
        small, LineWish(depth_in=0.25)
    ).runs  # what is usual is taken in by short seams


@given(st.integers(1, 4), st.integers(2, 5), st.booleans())
@settings(max_examples=15, deadline=None)
def test_apple_cores_of_any_count_are_quilted_in_one_pass(rows, across, straight):
    _, seams = top_of("apple-core", rows=rows, across=across, straight=straight)
    guide = quilting_guide(seams)
    assert guide.passes == 1


@pytest.mark.parametrize(("family", "name"), SHAPES)
@pytest.mark.parametrize("style", [LineStyle.ECHO, LineStyle.SEAMS])
def test_lines_of_a_straight_edged_top_stay_inside_it(family, name, style):
    pattern, seams = top_of(family, name, straight=True)
    points = [point for run in quilting_guide(seams, style).runs for point in run]
    assert min(min(point) for point in points) > -0.01
    assert max(x for x, _ in points) < pattern.width_in + 0.01
    assert max(y for _, y in points) < pattern.length_in + 0.01


@pytest.mark.parametrize(("family", "name"), SHAPES)
def test_lines_go_straight_on_at_crossings_and_turn_back_only_at_the_edge(family, name):
    _, seams = top_of(family, name, rows=8, across=9)
    guide = quilting_guide(seams)
    rim = MultiLineString([[one.point_at(k / 20) for k in range(21)] for one in seams.border])
    inside = [
        turn
        for run in guide.runs
        for here, turn in turns_of(run)
        if min(math.dist(here, spot) for spot in guide.crossings) < 0.02
        and rim.distance(Point(here)) > 0.1
    ]
    assert sum(turn < 60 for turn in inside) >= 0.85 * len(inside) > 0
    assert max(inside) < 120


def turns_of(run):
    """Give every point of a run but its ends, and the turn there in degrees."""
    points = [one for k, one in enumerate(run) if k == 0 or math.dist(one, run[k - 1]) > 1e-6]
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        one = math.atan2(here[1] - before[1], here[0] - before[0])
        two = math.atan2(after[1] - here[1], after[0] - here[0])
        yield here, math.degrees(abs((two - one + math.pi) % (2 * math.pi) - math.pi))


def test_seams_that_meet_in_cusps_get_petals():
    assert usual_style(top_of("clamshell")[1]) is LineStyle.PEEL
    assert {usual_style(top_of(*one)[1]) for one in SHAPES if one[0] != "clamshell"} == {
        LineStyle.ARCS
    }


def test_straight_lines_lie_so_far_apart_from_edge_to_edge():
    _, seams = top_of("square", rows=3, across=4, size=4)
    guide = quilting_guide(seams, LineWish(LineStyle.STRAIGHT, apart_in=2.5))
    # computed: 12 in hold four lines 2 1/2 apart, the outer ones 2 1/4 from the edge
    assert sorted({round(one.start[1], 3) for one in guide.lines}) == [2.25, 4.75, 7.25, 9.75]
    assert [one.length_in for one in guide.lines] == pytest.approx([16] * 4)
    assert (guide.passes, guide.edge_in) == (1, pytest.approx(7.5))


def test_a_crosshatch_goes_both_ways_and_makes_squares():
    _, seams = top_of("square", rows=3, across=4, size=4)
    guide = quilting_guide(seams, LineWish(LineStyle.CROSSHATCH, apart_in=2))
    assert guide.passes == 1
    # computed: the area over the distance is the length of one set, the ends being what they are
    both_in = guide.length_in - guide.edge_in
    assert both_in == pytest.approx(2 * 12 * 16 / 2, rel=0.03)


@pytest.mark.parametrize("apart_in", [0.1, 9])
def test_lines_too_close_or_too_far_apart_are_refused_with_both_limits(apart_in):
    _, seams = top_of("square")
    with pytest.raises(PlanError, match=r"¼ in or 0\.6 cm at least and 8 in or 20\.3 cm"):
        quilting_guide(seams, LineWish(LineStyle.STRAIGHT, apart_in=apart_in))


@pytest.mark.parametrize("border_in", [0.0, 4.0])
@pytest.mark.parametrize("family", ["square", "apple-core", "tumbler"])
def test_a_vine_closes_on_itself_and_stays_in_the_border(family, border_in):
    pattern, seams = top_of(family, rows=5, across=6, size=4)
    guide = quilting_guide(seams, LineStyle.VINE, border_in=border_in)
    (run,) = guide.runs
    assert run[0] == run[-1]
    assert max(math.dist(a, b) for a, b in itertools.pairwise(run)) < 1.0
    top = union_all([piece.buffer(0.01) for piece in pattern.polygons])
    vine = LineString(run)
    if border_in:
        left, bottom, right, upper = trim(pattern.polygons)
        inner = box(left, bottom, right, upper)
        assert inner.buffer(border_in - 0.2, join_style="mitre").covers(vine)
        assert vine.distance(inner) > 0.2
    else:
        assert top.buffer(-0.2).covers(vine)
        assert vine.distance(top.centroid) > 4
    # it goes all the way round
    assert Polygon(run).buffer(0).convex_hull.contains(top.centroid)


def test_a_border_too_narrow_for_a_vine_is_told_with_what_takes_one():
    _, seams = top_of("square")
    with pytest.raises(PlanError, match=r"a border 1 in or 2\.5 cm wide takes one"):
        quilting_guide(seams, LineStyle.VINE, border_in=0.75)


@pytest.mark.parametrize("depth_in", [0.0, 0.01, 12.0])
@pytest.mark.parametrize("style", LineStyle)
def test_a_depth_that_cannot_be_sewn_is_refused(style, depth_in):
    _, seams = top_of("square")
    with pytest.raises(PlanError, match="is the least, and 1/4 in or 0"):
        quilting_guide(seams, LineWish(style, depth_in))
