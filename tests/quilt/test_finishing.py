"""What a finished top needs, on rectangles and on the true edges of set shapes."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from stash.errors import PlanError
from stash.quilt.binding import BindingFold
from stash.quilt.finishing import Edge, FinishingWish, StripGrain, finish, trim
from stash.quilt.finishing_words import finishing_words
from stash.quilt.pattern import make_pattern
from stash.quilt.seams import seams_of
from stash.quilt.setting import setting_named
from stash.quilt.thread import quilting_thread, thread_for
from stash.shape.templates.template import make_template


def top_of(family, size, rows, across, *, name=None, straight=False):
    template = make_template(family, size)
    setting = setting_named(family, name)
    pattern = make_pattern(template.finished_ring(), setting, rows, across, straight=straight)
    return pattern, seams_of(pattern, template.finished)


def test_a_60_by_72_quilt_needs_what_the_printed_rules_say():
    # binding: Christa Watson, Quilty Math; backing: Am. Patchwork & Quilting, Feb 2020
    answer = finish(Edge.straight(60, 72))
    assert answer.binding.length_in == 274
    assert answer.binding.strips == 7
    assert answer.binding.yards == 0.5
    assert (answer.backing.inches, answer.backing.yards) == (160, 4.5)
    assert (answer.batting.width_in, answer.batting.length_in) == (68, 80)
    assert answer.trimmed is None


def test_a_very_large_quilt_gets_12_inches_for_its_corners():
    # World Wide Quilting Page, 2003
    assert finish(Edge.straight(105, 95)).binding.extra_in == 12


def test_a_curved_edge_gets_narrow_bias_that_is_not_stretched():
    # common practice, no source: single bias strips cut 2 in wide, begun at 45 degrees
    answer = finish(Edge(40, 50, 220, curved=True))
    assert answer.binding.grain is StripGrain.BIAS
    assert answer.binding.cut_in == 2
    assert answer.binding.extra_in == 18  # Bessie Pearl
    assert answer.binding.single is not None
    assert answer.binding.single.length_in >= 238
    assert any("45-degree" in note and "not stretch" in note for note in answer.binding.notes)


def test_straight_strips_on_a_curve_are_warned_of():
    answer = finish(Edge(40, 50, 220, curved=True), FinishingWish(grain=StripGrain.STRAIGHT))
    assert answer.binding.strips == 6  # computed: 238 over 40
    assert "bias" in answer.binding.notes[0]


def test_the_cut_width_follows_from_the_width_wanted():
    wish = FinishingWish(finished_in=0.25, fold=BindingFold.SINGLE)
    assert finish(Edge.straight(30, 30), wish).binding.cut_in == 1.125


def test_an_edge_without_length_is_refused():
    with pytest.raises(PlanError):
        finish(Edge.straight(0, 20))


def test_the_edge_of_an_apple_core_top_is_as_long_as_its_arcs():
    # computed: 4 rows of 5 show 18 sides, each a quarter circle of radius 2: pi r / 2
    _, seams = top_of("apple-core", 4, 4, 5)
    assert seams.edge_in == pytest.approx(18 * math.pi, rel=1e-6)
    assert seams.curved_edge


def test_the_edge_of_a_clamshell_row_is_one_dome_and_two_hollows_a_shell():
    # computed: one full scallop is pi r, and so are its two quarter hollows
    _, seams = top_of("clamshell", 4, 1, 6)
    assert seams.edge_in == pytest.approx(6 * 2 * math.pi * 2, rel=1e-6)


CASES = [
    ("square", 3, None),
    ("square", 3, "staggered"),
    ("rectangle", "2x4", "straight"),
    ("half-square-triangle", 4, "alternating"),
    ("quarter-square-triangle", 4, "squares"),
    ("equilateral-triangle", 3, None),
    ("diamond-60", 3, "on point"),
    ("diamond-45", 3, "zigzag"),
    ("hexagon", 1.5, None),
    ("tumbler", 4, None),
    ("clamshell", 4, None),
    ("apple-core", 4, None),
    ("wedge", "3x5", "interlocking"),
]


@pytest.mark.parametrize(("family", "size", "name"), CASES)
def test_every_seam_joins_two_neighbours_and_every_edge_is_seam_or_border(family, size, name):
    pattern, seams = top_of(family, size, 3, 8, name=name)
    assert len(seams.seams) == len(pattern.neighbours)
    around_in = sum(segment.length_in for path in seams.paths for segment in path)
    sewn_in = sum(seam.segment.length_in for seam in seams.seams)
    # each seam lies on two pieces, the border on one
    assert 2 * sewn_in + seams.edge_in == pytest.approx(around_in, rel=1e-4)


@pytest.mark.parametrize(("family", "size", "name"), CASES)
def test_the_edge_is_as_long_as_the_outline_of_all_pieces_together(family, size, name):
    pattern, seams = top_of(family, size, 3, 8, name=name)
    whole = shapely.union_all([one.buffer(1e-3, join_style="mitre") for one in pattern.polygons])
    # flattened arcs are a little short; the seam of 0.001 in is closed by the buffer
    assert seams.edge_in == pytest.approx(whole.length, rel=0.004)


@pytest.mark.parametrize(("family", "size", "name"), CASES)
def test_a_straight_edged_top_has_a_rectangle_for_its_edge(family, size, name):
    pattern, seams = top_of(family, size, 3, 8, name=name, straight=True)
    assert seams.edge_in == pytest.approx(2 * (pattern.width_in + pattern.length_in))
    assert not seams.curved_edge
    assert len(seams.seams) == len(pattern.neighbours)


def test_trimming_an_apple_core_top_loses_the_bulges_and_the_hollows():
    pattern, seams = top_of("apple-core", 4, 4, 6)
    edge = Edge(pattern.width_in, pattern.length_in, seams.edge_in, curved=True)
    trimmed = finish(edge, pieces=pattern.polygons).trimmed
    # computed: a bulge and a hollow of r (1 - 1/root 2) = 0.586 on each of two sides
    lost_in = 4 * 2 * (1 - math.sqrt(0.5))
    assert trimmed.lost_width_in == pytest.approx(lost_in, abs=0.02)
    assert trimmed.lost_length_in == pytest.approx(lost_in, abs=0.02)
    assert trimmed.binding.grain is StripGrain.STRAIGHT
    total = sum(piece.area for piece in pattern.polygons)
    assert trimmed.lost_sq_in == pytest.approx(
        total - trimmed.width_in * trimmed.length_in, abs=0.05
    )


@pytest.mark.parametrize(("family", "size", "name"), CASES)
def test_a_trimmed_top_is_whole_cloth(family, size, name):
    pattern, _ = top_of(family, size, 4, 8, name=name)
    left, bottom, right, top = trim(pattern.polygons)
    whole = shapely.union_all([one.buffer(1e-3, join_style="mitre") for one in pattern.polygons])
    inside = box(left, bottom, right, top).buffer(-0.006)
    assert inside.area > 0
    assert whole.covers(inside)


@given(st.floats(5, 120), st.floats(5, 120))
@settings(max_examples=60)
def test_trimming_a_rectangle_loses_nothing(width_in, length_in):
    left, bottom, right, top = trim([box(0, 0, width_in, length_in)])
    assert (left, bottom, right, top) == pytest.approx((0, 0, width_in, length_in), abs=0.01)


@pytest.mark.parametrize(
    ("family", "size", "corners"),
    [
        ("square", 3, 0),
        # computed: two rows of 4 hexagons dip 3 times at the top, 3 times at the bottom, and
        # once on each side where the rows are shifted
        ("hexagon", 2, 8),
        # computed: the edge of apple cores bulges in and out without an inner corner but at
        # the corners of the top
        ("apple-core", 4, 0),
    ],
)
def test_inner_corners_are_counted(family, size, corners):
    _, seams = top_of(family, size, 2, 4)
    assert seams.inner_corners == corners


def test_a_bias_square_gives_what_is_promised_after_its_seams():
    answer = finish(Edge.straight(60, 72), FinishingWish(grain=StripGrain.BIAS))
    side_in, cut_in = answer.binding.square_in, answer.binding.cut_in
    # computed: whole strips of the parallelogram, less two allowances at each of two seams
    laps = int(side_in / 2**0.5 / cut_in)
    assert answer.binding.square_gives_in == pytest.approx(laps * (side_in - 1) * 2**0.5)
    assert answer.binding.square_gives_in >= answer.binding.length_in


def test_cloth_that_will_shrink_is_bought_longer_and_is_narrower():
    # computed: 162 x 216 cm and 10 cm all round is 182 x 236; two panels, 2 x 236 = 472 cm
    wish = FinishingWish(backing_over_in=10 / 2.54)
    plain = finish(Edge.straight(162 / 2.54, 216 / 2.54), wish).backing
    assert plain.inches * 2.54 == pytest.approx(472)
    shrunk = finish(
        Edge.straight(162 / 2.54, 216 / 2.54),
        FinishingWish(backing_over_in=10 / 2.54, shrink_share=0.03),
    ).backing
    assert shrunk.inches == pytest.approx(plain.inches / 0.97)
    assert shrunk.panels == 2  # computed: 182 cm still come out of 2 x 98.6 less one seam


@pytest.mark.parametrize("grain", StripGrain)
def test_binding_that_will_shrink_is_bought_longer_too(grain):
    edge = Edge.straight(60, 72)
    plain = finish(edge, FinishingWish(grain=grain)).binding
    shrunk = finish(edge, FinishingWish(grain=grain, shrink_share=0.03)).binding
    assert shrunk.length_in == plain.length_in
    # what is left of the cloth bought, once washed, is what the strips are cut from
    cut_of_in = shrunk.strips * shrunk.cut_in if shrunk.strips else plain.inches
    assert shrunk.inches * 0.97 == pytest.approx(cut_of_in)


def test_what_trimming_loses_is_told_in_the_unit_asked_for():
    pattern, seams = top_of("apple-core", 4, 4, 6)
    edge = Edge(pattern.width_in, pattern.length_in, seams.edge_in, curved=True)
    answer = finish(edge, pieces=pattern.polygons)
    for unit, other in (("in", "cm"), ("cm", " in")):
        [[line]] = [
            lines for head, lines in finishing_words(answer, unit=unit) if head == "Trimmed"
        ]
        assert other not in line
    assert f"{answer.trimmed.width_in * 2.54:.1f}" in line


def test_quilting_takes_thread_bobbins_and_minutes_by_its_stitches():
    taken = quilting_thread(3937.008)  # 100 m
    # computed: 40,000 stitches of 2.5 mm; each takes twice 2.5 + 2.5 mm, and a tenth to spare
    assert taken.thread_m == pytest.approx(440, abs=0.1)
    assert taken.bobbins == 5  # 220 m below, 50 m on each
    assert taken.minutes == pytest.approx(100, abs=0.1)


def test_thread_comes_to_two_and_a_half_times_the_seams():
    # the ratio printed for a lockstitch, from memory; and a tenth to spare
    assert thread_for(1000).piecing_m == pytest.approx(25.4 * 2.5 * 1.1, rel=0.01)
    with pytest.raises(PlanError):
        thread_for(1000, stitch_mm=0)
