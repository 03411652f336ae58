"""One piece on one scrap: never a wrong yes, hardly ever a wrong no."""

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from stash.errors import MeasureError
from stash.shape.containment.crossing import Crossings
from stash.shape.containment.field import field_of
from stash.shape.containment.piece_fit import find_placement, find_placements
from stash.shape.containment.pose_room import clearance_of, corner_room
from stash.shape.containment.probe import probe_of
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template, template_of_file
from stash.shape.templates.turning import Turning
from tests.benchmarks.thin_pieces import scrap_around, thin_ring
from tests.shape.campaign import odd_slice, planted_slice, random_slice
from tests.shape.containment import lies_inside
from tests.shape.scraps import offcuts
from tests.shared_data import shared

FREE = Turning.free()


def rectangle(width, height, *, error_in=0.0, holes=()):
    corners = [(0, 0), (width, 0), (width, height), (0, height)]
    return outline_of(corners, holes, error_in=error_in)


def fits(outline, family, size, turning=FREE):
    return find_placement(outline, make_template(family, size), turning=turning).fits


def test_a_five_inch_square_is_cut_from_a_five_inch_charm():
    # finished 4 1/2 + 2 x 1/4 = 5, flush all round: arithmetic
    assert fits(rectangle(5, 5), "square", 4.5) == "yes"


def test_a_turned_charm_still_gives_its_square():
    turned = make_template("square", 4.5).cut
    cos, sin = np.cos(0.7), np.sin(0.7)
    ring = [(x * cos - y * sin + 3, x * sin + y * cos - 2) for x, y in turned]
    assert fits(outline_of(ring), "square", 4.5) == "yes"


def test_a_scrap_one_thread_short_yields_no_piece():
    # a thread of quilting cotton is about 1/64 in: common practice, no source
    assert fits(rectangle(5, 5 - 1 / 64), "square", 4.5) == "no"


def test_the_outline_error_is_kept_on_both_sides():
    # 5 + 2 x 0.05 = 5.1: arithmetic
    assert fits(rectangle(5.11, 5.11, error_in=0.05), "square", 4.5) == "yes"
    assert fits(rectangle(5.09, 5.09, error_in=0.05), "square", 4.5) == "no"


def test_a_diagonal_place_is_found():
    # 7 x 2 lies in a right triangle with legs 9.9 beside the hypotenuse: height of the
    # corner over the line x + y = 9.9 is 7.0; at depth 2 the width left is 14 - 4 = 10 > 7.
    triangle = outline_of([(0, 0), (9.9, 0), (0, 9.9)])
    assert fits(triangle, "rectangle", "1.5 x 6.5") == "yes"


def test_a_stain_in_the_middle_takes_the_place_away():
    stain = [[(2.4, 2.4), (2.6, 2.4), (2.6, 2.6), (2.4, 2.6)]]
    assert fits(rectangle(5.2, 5.2), "square", 4.5) == "yes"
    assert fits(rectangle(5.2, 5.2, holes=stain), "square", 4.5) == "no"


def test_the_grain_rule_turns_a_yes_into_a_no():
    # A 5 x 3 piece on a 6 x 3.4 scrap turns at most a few degrees: sin 10 x 5 + 3 cos 10 > 3.4
    scrap = rectangle(6, 3.4)
    assert fits(scrap, "rectangle", "4.5 x 2.5", Turning.grain(0, 2, (0, 180))) == "yes"
    assert fits(scrap, "rectangle", "4.5 x 2.5", Turning.grain(45, 2)) == "no"
    assert fits(scrap, "rectangle", "4.5 x 2.5", Turning.grain(90, 2, (0, 180))) == "no"
    assert fits(scrap, "rectangle", "4.5 x 2.5", Turning.grain(90, 2)) == "yes"


def test_a_one_way_print_keeps_a_shape_upright():
    # A tumbler lies in its own trapezoid upright only: the half turn swaps wide and narrow.
    template = make_template("tumbler", 4)
    scrap = outline_of([(x * 1.02, y * 1.02) for x, y in template.cut])
    assert find_placement(scrap, template, turning=Turning.grain(0, 3, (0,))).fits == "yes"
    assert find_placement(scrap, template, turning=Turning.grain(0, 3, (180,))).fits == "no"


def test_turning_over_is_an_exception():
    # An L that only fits its mirror image's scrap.
    corners = [(0, 0), (3, 0), (3, 1), (1, 1), (1, 4), (0, 4)]
    data = json.dumps({"cut": corners}).encode()
    template = template_of_file(data, ".json")
    mirrored = outline_of([(-x * 1.02, y * 1.02) for x, y in corners])
    assert find_placement(mirrored, template, turning=FREE).fits == "no"
    allowed = find_placement(mirrored, replace(template, may_turn_over=True), turning=FREE)
    assert allowed.fits == "yes"
    assert allowed.placement.turned_over
    assert lies_inside(allowed.placement.ring(template), mirrored)


@pytest.mark.parametrize("seed", range(40, 46))
def test_every_yes_passes_an_independent_containment_test(seed):
    # A slice of the campaign of 100,000; tests/shape/campaign.py runs the rest.
    _, counted, wrong = random_slice(40, seed)
    assert counted["yes"] > 0
    assert wrong == []


@pytest.mark.parametrize("seed", range(200, 203))
def test_odd_scraps_give_own_shapes_no_wrong_yes(seed):
    # Slivers, holes, holes that touch the border, slits and spikes.
    _, counted, wrong = odd_slice(30, seed)
    assert counted["yes"] + counted["no"] >= 25
    assert wrong == []


@pytest.mark.parametrize("seed", range(3))
def test_pieces_planted_with_one_percent_room_are_found(seed):
    family, counted = planted_slice(25, seed, 0.01)
    assert counted == {"yes": 25}, family


def test_many_scraps_at_once_agree_with_one_by_one():
    scraps = offcuts(25, 3)
    template = make_template("hexagon", 1.5)
    together = find_placements(scraps, template, turnings=[FREE] * 25)
    alone = [find_placement(scrap, template, turning=FREE) for scrap in scraps]
    assert [one.fits for one in together] == [one.fits for one in alone]


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(st.floats(-9, 9), st.floats(-9, 9)), min_size=3, max_size=12),
    st.floats(0, 0.3),
)
@example([(8.0, 1.0), (-2.0, -2.0), (-1.0, -3e-178), (0.0, 0.0), (-2.0, 0.0)], 0.0)
@example([(0.0, 2.0), (1.0, -2.0), (-2.0, -3e-178), (0.0, 0.0), (-2.0, 0.0)], 0.0)
def test_any_ring_gives_a_clear_error_or_a_safe_answer(points, error_in):
    try:
        outline = outline_of(points, error_in=error_in)
    except MeasureError:
        return
    template = make_template("half-square-triangle", 1.5)
    answer = find_placement(outline, template, turning=FREE)
    if answer.fits == "yes":
        assert lies_inside(answer.placement.ring(template), outline)


def test_thousands_of_corners_are_answered():
    turn = np.linspace(0, 2 * np.pi, 4000, endpoint=False)
    reach = 4 + 0.02 * np.sin(turn * 97)
    scrap = outline_of(np.column_stack([np.cos(turn) * reach, np.sin(turn) * reach]))
    # The largest square in a circle of radius 3.98 has a side of 5.63: arithmetic.
    assert fits(scrap, "square", 5.0) == "yes"
    assert fits(scrap, "square", 5.3) == "no"


def test_a_sliver_holds_nothing():
    assert fits(rectangle(40, 0.01), "square", 1) == "no"


@pytest.mark.parametrize("rule", ["free", "grain"])
@pytest.mark.parametrize(
    "name", ["square_5", "rect_2.5x4.5", "hst_leg_3.875", "hexagon_side_1.2887"]
)
def test_certified_cases_agree(name, rule):
    data = json.loads(shared("data/fit_cases.json").read_text())
    shape = json.dumps({"cut": data["templates"][name]["vertices"]}).encode()
    template = template_of_file(shape, ".json")
    for case in data["cases"][::4]:
        known = case["answers"][name]
        outline = outline_of(case["outer"], case["holes"], error_in=case["uncertainty_in"])
        turning = (
            FREE if rule == "free" else Turning.grain(case["grain_deg"], case["grain_tol_deg"])
        )
        answer = find_placement(outline, template, turning=turning)
        room = known[f"clearance_{rule}"][0]
        if known[f"fits_{rule}"] == "no":
            assert answer.fits != "yes", case["id"]
        elif known[f"fits_{rule}"] == "yes" and room - outline.error_in >= 0.01:
            assert answer.fits == "yes", case["id"]


def test_no_turn_nearby_gives_a_corner_more_room_than_its_bound():
    random = np.random.default_rng(4)
    scraps = offcuts(40, 4)
    area = field_of(scraps, [((0.0, 360.0),)] * len(scraps))
    probe = probe_of(make_template("clamshell", 4.0).cut)
    scrap = np.repeat(np.arange(len(scraps)), 25)
    poses = random.uniform((-3, -3, 0), (3, 3, 6), (len(scrap), 3))
    turn = random.uniform(0.01, 0.4, len(scrap))
    _, bound = corner_room(area, probe, scrap, poses, 2 * np.sin(turn / 2))
    seen = np.isfinite(bound)
    assert seen.sum() > 100
    for share in (-1.0, -0.4, 0.5, 1.0):
        turned = poses + np.column_stack([0 * turn, 0 * turn, share * turn])
        room, _ = corner_room(area, probe, scrap, turned)
        assert (room[seen] <= bound[seen] + 1e-5).all()


def test_what_runs_through_a_piece_between_all_measured_points_is_seen():
    template = template_of_file(b'{"cut": [[0, 0], [5, -0.5], [10, 0], [5, 0.5]]}', ".json")
    slit = box(3.3, 0.1, 3.305, 9)
    outline = outline_of(box(0, 0, 12, 4).difference(slit).exterior.coords)
    area, probe = field_of([outline], [((0.0, 360.0),)]), probe_of(template.cut)
    zero, pose = np.zeros(1, dtype=np.intp), np.zeros((1, 3))
    crossings = Crossings(area.border, probe.edge)
    assert clearance_of(area, probe, zero, pose)[0] > 0
    room, arm = crossings.depth(zero, zero, pose)
    assert room[0] == pytest.approx(-0.0025, abs=1e-4)  # the middle of a slit 0.005 in wide
    assert arm[0] == pytest.approx(6 - 3.3025, abs=0.3)
    beside = np.array([[0.0, 0.0, np.pi / 2]])
    assert crossings.depth(zero, zero, beside)[0][0] < 0  # ten inches do not stand in four


def test_a_long_wedge_is_found_among_many_crossing_strips_of_cloth():
    # planted with 3 % room; the one of 10,000 that a shorter search left open
    random = np.random.default_rng(900900144)
    _, ring = thin_ring(random)
    template = template_of_file(json.dumps({"cut": ring}).encode(), ".json")
    scraps = [scrap_around(random, template.cut, 0.03) for _ in range(25)]
    answer = find_placement(scraps[24], template, turning=Turning.free())
    assert answer.fits == "yes"
    assert lies_inside(answer.placement.ring(template), scraps[24])
