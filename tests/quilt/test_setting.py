"""Every setting tiles the plane: no gap, no overlap, every seam shared by exactly two pieces."""

from __future__ import annotations

from collections import Counter
from math import pi, sqrt

import pytest
import shapely
from shapely.affinity import rotate

from stash.errors import SettingError
from stash.quilt.pattern import Pattern, counts_for_size, make_pattern
from stash.quilt.setting import Setting, setting_named, settings_of
from tests.quilt.shapes import FINISHED, Ring

ALL = [setting for family in FINISHED for setting in settings_of(family)]
ROWS = [setting for setting in ALL if setting.name != "ring"]


def label(setting: Setting) -> str:
    return f"{setting.family} {setting.name}"


def top(setting: Setting, rows: int = 5, across: int = 8, *, straight: bool = False) -> Pattern:
    return make_pattern(FINISHED[setting.family], setting, rows, across, straight=straight)


def seams(ring: Ring) -> list[frozenset[tuple[float, float]]]:
    """Edges by their two ends, rounded to a thousandth: the same seam has the same ends."""
    ends = [(round(x, 3) + 0.0, round(y, 3) + 0.0) for x, y in ring]
    return [frozenset(pair) for pair in zip(ends, [*ends[1:], ends[0]], strict=True)]


@pytest.mark.parametrize("straight", [False, True])
@pytest.mark.parametrize("setting", ROWS, ids=label)
def test_pieces_cover_the_top_once(setting: Setting, straight: bool) -> None:
    pattern = top(setting, straight=straight)
    whole = shapely.union_all([shape.buffer(1e-7) for shape in pattern.polygons])
    assert whole.geom_type == "Polygon"
    assert sum(shapely.Polygon(hole).area for hole in whole.interiors) < 1e-4
    area = sum(shape.area for shape in pattern.polygons)
    assert area == pytest.approx(whole.area, rel=1e-5)  # buffers of 1e-7 along the edge


@pytest.mark.parametrize("setting", [one for one in ROWS if one.window], ids=label)
def test_a_straight_edge_makes_a_full_rectangle(setting: Setting) -> None:
    pattern = top(setting, straight=True)
    area = sum(shape.area for shape in pattern.polygons)
    box = pattern.width_in * pattern.length_in
    # Clamshells end on domes flattened every 3.75 degrees: 0.07 % of each half circle.
    assert area == pytest.approx(box, rel=1e-3 if setting.family == "clamshell" else 1e-9)


@pytest.mark.parametrize("setting", ROWS, ids=label)
def test_pieces_without_a_straight_edge_are_all_whole(setting: Setting) -> None:
    pattern = top(setting)
    assert len(pattern.places) == 5 * 8
    one = shapely.Polygon(FINISHED[setting.family]).area
    assert all(shape.area == pytest.approx(one) for shape in pattern.polygons)


@pytest.mark.parametrize("setting", [one for one in ROWS if one.meets], ids=label)
def test_every_inner_seam_is_a_whole_edge_of_exactly_two_pieces(setting: Setting) -> None:
    pattern = top(setting, rows=6, across=8)
    owners = Counter(seam for place in pattern.places for seam in seams(place.outline))
    assert set(owners.values()) == {1, 2}
    border = shapely.union_all([shape.buffer(1e-6) for shape in pattern.polygons]).boundary
    for seam, count in owners.items():
        middle = shapely.Point(*(sum(axis) / 2 for axis in zip(*seam, strict=True)))
        on_border = border.distance(middle) < 1e-3
        assert on_border == (count == 1)


@pytest.mark.parametrize(
    ("family", "name", "most"),
    [
        ("square", "straight", 4), ("square", "staggered", 6), ("hexagon", "staggered", 6),
        ("half-square-triangle", "straight", 3), ("equilateral-triangle", "interlocking", 3),
        ("diamond-60", "on point", 4), ("tumbler", "interlocking", 4),
        ("clamshell", "staggered", 4), ("apple-core", "alternating", 4),
    ],
)  # fmt: skip
def test_an_inner_piece_has_as_many_neighbours_as_seams(family: str, name: str, most: int) -> None:
    pattern = top(setting_named(family, name))
    touching = Counter(piece for pair in pattern.neighbours for piece in pair)
    assert max(touching.values()) == most


@pytest.mark.parametrize("setting", ROWS, ids=label)
def test_a_place_turns_the_template_onto_its_piece(setting: Setting) -> None:
    pattern = top(setting)
    for place, shape in zip(pattern.places, pattern.polygons, strict=True):
        turned = rotate(shapely.Polygon(FINISHED[setting.family]), place.turn_deg, origin=(0, 0))
        moved = shapely.affinity.translate(turned, place.x, place.y)
        assert moved.symmetric_difference(shape).area < 1e-9


def test_a_print_never_needs_to_be_turned_over() -> None:
    # The right side of the cloth stays up: the area of every piece keeps its sign.
    for setting in ALL:
        for place in make_pattern(FINISHED[setting.family], setting, 1, 4).places:
            signed = shapely.LinearRing(place.outline).is_ccw
            assert signed == shapely.LinearRing(FINISHED[setting.family]).is_ccw


@pytest.mark.parametrize(
    ("family", "straight", "width", "length"),
    [
        ("square", False, 8 * 3, 5 * 3),
        ("tumbler", False, 7 * 3.4 + 4, 5 * 4),  # pitch (4 + 2.8) / 2, the last piece 4 wide
        ("tumbler", True, 8 * 3.4 - 0.6, 5 * 4),  # (4 - 2.8) / 2 trimmed off one side's zigzag
        ("hexagon", False, 8.5 * 2 * sqrt(3), 3 * 4 + 8 * 0.5),  # 4 steps of 1.5 sides and a piece
        ("hexagon", True, 8 * 2 * sqrt(3), 4 * 3 + 2),
        ("clamshell", False, 8.5 * 4, 6 * 2),  # rows step r = 2, the last one 2r high
        ("apple-core", False, 7 * 2 * sqrt(2) + 4, 4 * 2 * sqrt(2) + 4),
        ("equilateral-triangle", True, 9 * 2, 5 * 2 * sqrt(3)),
        ("quarter-square-triangle", False, 2 * 4, 5 * 4),  # four triangles make a square of 4 in
        ("half-square-triangle", False, 4 * 3, 5 * 3),
    ],
)
def test_finished_size_follows_from_the_pitch(
    family: str, straight: bool, width: float, length: float
) -> None:
    pattern = top(setting_named(family), straight=straight)
    assert pattern.width_in == pytest.approx(width)
    assert pattern.length_in == pytest.approx(length)


def test_4_inch_clamshells_across_44_inches_give_11_by_23_rows() -> None:
    # S67 of docs/sources.md: 253 clamshells of 4 in cover a top 44 in wide in 23 rows.
    setting = setting_named("clamshell")
    pattern = make_pattern(FINISHED["clamshell"], setting, 23, 11)
    assert len(pattern.places) == 253
    assert counts_for_size(FINISHED["clamshell"], setting, 44, 48, straight=True) == (23, 11)


@pytest.mark.parametrize("setting", [one for one in ROWS if one.window], ids=label)
def test_counts_for_a_size_are_the_fewest_that_reach_it(setting: Setting) -> None:
    finished = FINISHED[setting.family]
    rows, across = counts_for_size(finished, setting, 50, 65, straight=True)
    reached = make_pattern(finished, setting, rows, across, straight=True)
    assert reached.width_in >= 50 - 1e-6 and reached.length_in >= 65 - 1e-6
    fewer = make_pattern(finished, setting, rows - 1, across, straight=True)
    assert fewer.length_in < 65
    if across > setting.group:
        narrow = make_pattern(finished, setting, rows, across - setting.group, straight=True)
        assert narrow.width_in < 50


def test_twenty_wedges_of_18_degrees_close_a_ring() -> None:
    ring = make_pattern(FINISHED["wedge"], setting_named("wedge", "ring"), 1, 20)
    whole = shapely.union_all([shape.buffer(1e-7) for shape in ring.polygons])
    assert len(whole.interiors) == 1
    assert sum(shape.area for shape in ring.polygons) == pytest.approx(whole.area, rel=1e-5)
    assert len(ring.neighbours) == 20


@pytest.mark.parametrize(("rows", "across"), [(2, 20), (1, 21)])
def test_a_ring_has_one_row_and_no_more_than_a_full_turn(rows: int, across: int) -> None:
    with pytest.raises(SettingError, match="ring"):
        make_pattern(FINISHED["wedge"], setting_named("wedge", "ring"), rows, across)


def test_area_of_a_curved_top_is_pieces_times_2_r_squared() -> None:
    # Computed geometry: clamshell and apple core both have an area of 2 r^2; flattened to
    # 3.75 degrees the two bulging and two hollow arcs cancel exactly.
    for family in ("clamshell", "apple-core"):
        pattern = top(setting_named(family))
        assert sum(shape.area for shape in pattern.polygons) == pytest.approx(40 * 2 * 2**2)
        assert pattern.polygons[0].length < 2 * pi * 2


@pytest.mark.parametrize(("rows", "across"), [(0, 3), (3, 0), (-1, 4)])
def test_a_quilt_of_nothing_is_refused(rows: int, across: int) -> None:
    with pytest.raises(SettingError, match="at least one row"):
        make_pattern(FINISHED["square"], setting_named("square"), rows, across)


def test_half_square_triangles_come_in_pairs() -> None:
    with pytest.raises(SettingError, match="Take 8 across"):
        make_pattern(FINISHED["half-square-triangle"], setting_named("half-square-triangle"), 3, 7)


def test_an_unknown_setting_or_shape_names_those_there_are() -> None:
    with pytest.raises(SettingError, match="interlocking"):
        setting_named("tumbler", "herringbone")
    with pytest.raises(SettingError, match="clamshell"):
        settings_of("cat")


@pytest.mark.parametrize("family", ["square", "tumbler", "hexagon", "half-square-triangle"])
def test_pieces_of_the_rim_are_those_with_a_side_nothing_is_sewn_to(family):
    pattern = make_pattern(FINISHED[family], setting_named(family), 6, 6)
    seams = Counter(cell for pair in pattern.neighbours for cell in pair)
    most = max(seams.values())
    assert pattern.rim == tuple(n for n in range(len(pattern.places)) if seams[n] < most)
