"""Templates against published cutting formulas and plain geometry."""

import json
import math

import pytest
from shapely import affinity
from shapely.geometry import Point, Polygon

from stash.errors import TemplateError
from stash.shape.templates.curve import path_length
from stash.shape.templates.template import families, make_template, template_of_file
from stash.usecases.pieces.manage_templates import template_of

SQRT2 = math.sqrt(2)


def spans(template):
    west, south, east, north = template.cut_polygon().bounds
    return east - west, north - south


@pytest.mark.parametrize(
    ("family", "size", "width", "height"),
    [
        ("square", 4.5, 5.0, 5.0),  # finished + 1/2: S10, S14
        ("rectangle", "2 x 4", 2.5, 4.5),  # finished + 1/2 each way: S9
        ("half-square-triangle", 3, 3 + 0.853553, 3 + 0.853553),  # + a (2 + sqrt 2): computed
        ("quarter-square-triangle", 3, 3 + 1.207107, (3 + 1.207107) / 2),  # + a (2 + 2 sqrt 2)
        ("equilateral-triangle", 3, 2 * 3.75 / math.sqrt(3), 3.75),  # strip + 3/4: S9
        ("hexagon", 1, 2.577350, 2.232051),  # side + 0.2887; flat sqrt 3 s + 1/2: S9
        ("clamshell", 4, 4.5, 4.5),  # box 2 r + 2 a: computed
    ],
)
def test_cut_sizes_follow_the_cutting_formulas(family, size, width, height):
    # 0.009: twice the stated flattening error; straight shapes are exact to rounding.
    template = make_template(family, size)
    tolerance = 2 * template.flattening_error_in + 1e-5
    assert spans(template) == (
        pytest.approx(width, abs=tolerance),
        pytest.approx(height, abs=tolerance),
    )


@pytest.mark.parametrize(
    ("family", "size", "measure", "printed_in"),
    [  # what handbooks say to add to the finished measure, seams of 1/4 in
        ("square", 3, "width", 0.5),  # Karen Combs 2002; North Hampshire Quilters
        ("half-square-triangle", 3, "width", 0.875),  # the same
        ("quarter-square-triangle", 3, "width", 1.25),  # the same
        ("quarter-square-triangle", 6, "width", 1.25),  # flying goose 3 x 6: Watson
        ("equilateral-triangle", 3, "height", 0.75),  # Linda Clements, The Quilter's Bible
        ("hexagon", 1, "height", 0.5),  # Linda Clements
    ],
)
def test_pieces_cut_by_the_printed_rules_are_never_too_small_and_hardly_too_large(
    family, size, measure, printed_in
):
    # Handbooks round the exact figure up to the next eighth.
    template = make_template(family, size)
    finished = Polygon([segment.start for segment in template.finished]).bounds
    at = 0 if measure == "width" else 1
    added_in = spans(template)[at] - (finished[at + 2] - finished[at])
    assert added_in <= printed_in + 1e-9
    assert printed_in - added_in < 0.125


@pytest.mark.parametrize(("family", "grows"), [("diamond-60", 0.577350), ("diamond-45", 0.707107)])
def test_diamond_sides_grow_by_twice_the_allowance_over_the_sine(family, grows):
    # side + 2 a / sin(angle): computed; S9 and S10 give the strip, finished height + 1/2
    side = make_template(family, 3).cut_path[0].length_in
    assert side == pytest.approx(3 + grows, abs=1e-5)


@pytest.mark.parametrize("size_in", [0.7, 3.3, 4.0, 9.0])
def test_the_flattened_clamshell_is_as_wide_as_the_true_one(size_in):
    width_in, _ = spans(make_template("clamshell", size_in))
    assert width_in == pytest.approx(size_in + 0.5, abs=1e-6)


@pytest.mark.parametrize("family", ["clamshell", "apple-core"])
def test_four_inch_curved_shapes_hold_eight_square_inches(family):
    # area 2 r^2 and outline 2 pi r, r = 2: computed geometry
    template = make_template(family, 4)
    assert path_length(template.finished) == pytest.approx(4 * math.pi)
    assert Polygon(template.finished_ring()).area == pytest.approx(8, abs=0.02)


def test_an_apple_core_is_as_long_as_its_size_and_waisted():
    # length 2 r, waist 2 r (sqrt 2 - 1): computed
    ring = Polygon(make_template("apple-core", 4).finished_ring())
    west, south, east, north = ring.bounds
    # 0.002: finished_ring flattens arcs within 0.001 in at either end
    assert east - west == pytest.approx(4, abs=0.002)
    assert north - south == pytest.approx(2 * SQRT2, abs=0.002)
    across = ring.intersection(Polygon([(-1e-4, -9), (1e-4, -9), (1e-4, 9), (-1e-4, 9)]))
    assert across.bounds[3] - across.bounds[1] == pytest.approx(4 * (SQRT2 - 1), abs=2e-3)


@pytest.mark.parametrize("family", families())
def test_the_cut_holds_the_finished_shape_with_its_allowance(family):
    template = make_template(family, 4)
    finished = Polygon(template.finished_ring())
    assert template.cut_polygon().buffer(1e-6).covers(finished.buffer(0.25 - 0.002))


@pytest.mark.parametrize("family", families())
def test_the_polygon_contains_every_point_of_the_true_cut(family):
    template = make_template(family, 4)
    shape = template.cut_polygon().buffer(1e-9)
    points = [seg.point_at(k / 40) for seg in template.cut_path for k in range(41)]
    outside = [point for point in points if not shape.covers(Polygon([point] * 3).centroid)]
    assert outside == []


@pytest.mark.parametrize("family", families())
def test_the_origin_is_the_centroid_of_the_cut(family):
    centroid = make_template(family, 4).cut_polygon().centroid
    assert (centroid.x, centroid.y) == (pytest.approx(0, abs=1e-9), pytest.approx(0, abs=1e-9))


@pytest.mark.parametrize("family", families())
def test_a_shape_repeats_after_its_period_and_not_before(family):
    template = make_template(family, 4)
    shape = template.cut_polygon()

    def differs(turn):
        turned = affinity.rotate(shape, turn, origin=(0, 0))
        return shape.symmetric_difference(turned).area / shape.area

    assert differs(template.rotation_period_deg) < 1e-3
    shorter = range(30, int(template.rotation_period_deg), 30)
    assert all(differs(turn) > 0.01 for turn in shorter)


@pytest.mark.parametrize("size", [0, -1, float("nan"), float("inf"), "0", "many", "", "2x3x4"])
def test_sizes_that_make_no_shape_are_refused(size):
    with pytest.raises(TemplateError):
        make_template("rectangle", size)


def test_an_unknown_shape_lists_the_known_ones():
    with pytest.raises(TemplateError, match="apple-core"):
        make_template("star", 3)


def test_a_core_too_small_for_its_seams_is_refused():
    with pytest.raises(TemplateError, match="too small"):
        make_template("apple-core", 0.4)


def test_a_list_of_corners_keeps_its_own_origin():
    data = json.dumps({"cut": [[1, 1], [1, 3], [4, 3], [4, 1]]}).encode()
    assert template_of_file(data, ".json").cut_polygon().bounds == (1, 1, 4, 3)


def svg(path, attributes='width="4in" viewBox="0 0 40 40"'):
    return f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{path}</svg>'.encode()


def test_a_drawing_is_read_in_inches_with_y_up():
    template = template_of_file(svg('<path d="M10 10 h20 v10 H10 z"/>'), ".svg")
    assert template.cut_polygon().bounds == pytest.approx((1, -2, 3, -1))


def test_a_drawn_circle_contains_the_true_circle():
    path = '<path d="M0 10 A10 10 0 0 1 20 10 A10 10 0 0 1 0 10 Z"/>'
    shape = template_of_file(svg(path), ".svg").cut_polygon()
    assert shape.covers(Point(1, -1).buffer(1 - 1e-9, quad_segs=200))
    assert shape.area == pytest.approx(math.pi, rel=0.003)


@pytest.mark.parametrize(
    ("data", "suffix", "says"),
    [
        (b"{}", ".json", "of the form"),
        (b"[1, 2]", ".json", "of the form"),
        (b'{"cut": [[0, 0], [1, 1]]}', ".json", "three corners"),
        (b'{"cut": [[0, 0], [1, 1], [1, 0], [0, 1]]}', ".json", "not one plain outline"),
        (b'{"cut": [[0, 0], [1, 0], [NaN, 1]]}', ".json", "no length"),
        (b"not a drawing", ".svg", "not an SVG"),
        (svg("<path d='M0 0 H9 V9'/>"), ".svg", "not closed"),
        (svg("<path d='M0 0 H9 V9 Z M1 1 H2 V2 Z'/>"), ".svg", "after it has closed"),
        (svg("<path d='M0 0 H9 V9 Z'/><path d='M0 0 H9 V9 Z'/>"), ".svg", "2 shapes"),
        (svg("<rect width='3' height='3'/>"), ".svg", "1 shapes, 0 of them paths"),
        (svg("<path d='M0 0 L 3'/>"), ".svg", "number is missing"),
        (svg("<path d='0 0 L 3 3'/>"), ".svg", "should start with M"),
        (svg("<path d='M0 0 K 3 3'/>"), ".svg", "no path command"),
        (svg("<g transform='scale(2)'><path d='M0 0 H9 V9 Z'/></g>"), ".svg", "transform"),
        (b"x", ".png", "ends in .json or .svg"),
    ],
)
def test_files_that_are_no_shape_say_what_is_wrong(data, suffix, says):
    with pytest.raises(TemplateError, match=says):
        template_of_file(data, suffix)


def test_each_edge_may_have_a_seam_allowance_of_its_own():
    template = make_template("rectangle", "2 x 5", seam_allowance_in=(0.25, 0.5, 0, 0.125))
    west, south, east, north = template.cut_polygon().bounds
    assert (east - west, north - south) == pytest.approx((2 + 0.5 + 0.125, 5 + 0.25))
    assert template.cut_polygon().area == pytest.approx(2.625 * 5.25)
    assert (template.rotation_period_deg, template.mirror_symmetric) == (360, False)
    assert template.seam_words() == "¼ in, ½ in, 0 in, ⅛ in"


def test_a_seam_allowance_left_out_on_one_edge_of_a_triangle_leaves_that_edge_where_it_is():
    even = make_template("half-square-triangle", 3)
    foot_raw = make_template("half-square-triangle", 3, seam_allowance_in=(0, 0.25, 0.25))

    # Short side of the cut: 3 7/8 in, and a quarter less where the foot is not sewn (geometry).
    def height(template):
        return template.cut_polygon().bounds[3] - template.cut_polygon().bounds[1]

    assert height(even) - height(foot_raw) == pytest.approx(0.25)


@pytest.mark.parametrize("family", families())
def test_one_allowance_for_each_edge_is_the_same_as_one_for_all(family):
    even = make_template(family, 3)
    listed = make_template(family, 3, seam_allowance_in=(0.25,) * len(even.finished))
    assert (listed.cut, listed.edge_allowances_in) == (even.cut, ())


def test_allowances_that_are_not_one_for_each_edge_are_told():
    with pytest.raises(TemplateError, match="A hexagon has 6 edges"):
        make_template("hexagon", 2, seam_allowance_in=(0.25, 0.25))


def test_a_shape_of_ones_own_keeps_its_seam_and_scales_with_its_size(tmp_path):
    file = tmp_path / "own.json"
    file.write_text('{"cut": [[0, 0], [4, 0], [4, 2], [0, 2]]}')
    plain = template_of(None, str(file), size=None, seam_allowance_in=0.5)
    assert plain.seam_allowance_in == 0.5
    large = template_of(None, str(file), size="6", seam_allowance_in=0.5)
    # computed: one and a half times the cut, the same half inch inside it
    assert large.cut_polygon().bounds == pytest.approx((0, 0, 6, 3))
    assert Polygon(large.finished_ring()).bounds == pytest.approx((0.5, 0.5, 5.5, 2.5))
