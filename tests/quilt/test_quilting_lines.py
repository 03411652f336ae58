"""Quilting lines: continuous, through the crossings, never longer than they must be."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import union_all
from shapely.geometry import LineString, MultiLineString, Point

from stash.errors import PlanError
from stash.quilt.pattern import make_pattern
from stash.quilt.quilting_lines import LineStyle, quilting_guide
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


def top_of(family, name=None, *, rows=3, across=4, size=None, straight=False):
    template = make_template(family, size or {"rectangle": "2x4"}.get(family, 4))
    pattern = make_pattern(
        template.finished_ring(), setting_named(family, name), rows, across, straight=straight
    )
    return pattern, seams_of(pattern, template.finished)


@pytest.mark.parametrize(("family", "name"), SHAPES)
@pytest.mark.parametrize("style", LineStyle)
def test_no_run_is_broken(family, name, style):
    _, seams = top_of(family, name)
    for run in quilting_guide(seams, style).runs:
        longest = max(math.dist(run[k], run[k + 1]) for k in range(len(run) - 1))
        # the longest straight stitch is one seam or one side of an echo line
        assert longest <= 4 * math.sqrt(2) + 1e-6


@pytest.mark.parametrize(("family", "name"), SHAPES)
def test_arcs_on_both_sides_of_every_seam_are_one_closed_line(family, name):
    _, seams = top_of(family, name)
    guide = quilting_guide(seams, LineStyle.ARCS)
    assert guide.passes == 1
    run = guide.runs[0]
    assert math.dist(run[0], run[-1]) < 0.03
    sewn_in = sum(one.segment.length_in for one in seams.seams)
    # two arcs a seam: longer than the straight ways, and by little
    chords_in = sum(math.dist(one.segment.start, one.segment.end) for one in seams.seams)
    assert 2 * chords_in < guide.length_in < 2 * 1.08 * sewn_in


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
    assert guide.length_in == pytest.approx(sewn_in, rel=0.002)  # arcs are stitched in chords
    assert guide.repeated_in == 0


def test_along_the_seams_of_squares_two_odd_points_cost_one_start():
    _, seams = top_of("square", rows=3, across=4)
    # computed: 2 long seams and 3 short ones end on the border twice each: 10 odd points
    assert quilting_guide(seams, LineStyle.SEAMS).passes == 5


def test_a_row_has_a_start_for_each_seam():
    _, seams = top_of("square", rows=1, across=4)
    assert quilting_guide(seams, LineStyle.ARCS).passes == 3


def test_a_top_of_one_piece_has_no_lines():
    _, seams = top_of("square", rows=1, across=1)
    with pytest.raises(PlanError, match="one piece"):
        quilting_guide(seams)


def test_an_echo_line_too_deep_for_its_piece_is_refused():
    _, seams = top_of("square", size=1)
    with pytest.raises(PlanError, match="smaller distance"):
        quilting_guide(seams, LineStyle.ECHO, depth_in=0.6)


@pytest.mark.parametrize("family", ["apple-core", "clamshell"])
def test_petals_lie_evenly_about_the_straight_line_between_crossings(family):
    _, seams = top_of(family, size=4)
    runs = quilting_guide(seams, LineStyle.PEEL, depth_in=0.25).runs
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
    assert quilting_guide(seams, depth_in=0.5).runs
    with pytest.raises(PlanError, match=r"½ in or 1\.3 cm is the most"):
        quilting_guide(seams, depth_in=0.6)
    _, small = top_of("square", size=1)
    assert quilting_guide(small, depth_in=0.25).runs  # what is usual is taken in by short seams


@given(st.integers(1, 4), st.integers(2, 5), st.booleans())
@settings(max_examples=15, deadline=None)
def test_apple_cores_of_any_count_are_quilted_in_one_pass_or_one_a_seam(rows, across, straight):
    _, seams = top_of("apple-core", rows=rows, across=across, straight=straight)
    guide = quilting_guide(seams)
    assert guide.passes == (1 if rows > 1 else across - 1)


@pytest.mark.parametrize(("family", "name"), SHAPES)
@pytest.mark.parametrize("style", [LineStyle.ECHO, LineStyle.SEAMS])
def test_lines_of_a_straight_edged_top_stay_inside_it(family, name, style):
    pattern, seams = top_of(family, name, straight=True)
    points = [point for run in quilting_guide(seams, style).runs for point in run]
    assert min(min(point) for point in points) > -0.01
    assert max(x for x, _ in points) < pattern.width_in + 0.01
    assert max(y for _, y in points) < pattern.length_in + 0.01


@pytest.mark.parametrize(("family", "size"), [("apple-core", 4), ("square", 3), ("hexagon", 1.5)])
def test_lines_go_straight_on_and_turn_back_only_at_the_border(family, size):
    template = make_template(family, size)
    pattern = make_pattern(template.finished_ring(), setting_named(family, None), 8, 9)
    seams = seams_of(pattern, template.finished)
    guide = quilting_guide(seams, LineStyle.ARCS)
    spots = {(round(x, 2), round(y, 2)) for x, y in guide.crossings}
    rim = [segment.start for segment in seams.border]
    turns = []
    for run in guide.runs:
        for before, here, after in zip(run, run[1:], run[2:], strict=False):
            if (round(here[0], 2), round(here[1], 2)) in spots:
                one = math.atan2(here[1] - before[1], here[0] - before[0])
                two = math.atan2(after[1] - here[1], after[0] - here[0])
                turn = abs((two - one + math.pi) % (2 * math.pi) - math.pi)
                at_rim = min(math.dist(here, point) for point in rim) < 0.02
                turns.append((math.degrees(turn), at_rim))
    assert sum(turn < 60 for turn, _ in turns) >= 0.85 * len(turns)
    assert all(at_rim for turn, at_rim in turns if turn > 120)
