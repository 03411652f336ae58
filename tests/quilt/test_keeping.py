"""Pieces lie so that what is left is worth most: counted on the leftovers as recorded."""

from __future__ import annotations

import pytest
import shapely
from shapely.geometry import Polygon

from stash.quilt.keeping import TableRule, lay_to_keep
from stash.quilt.remainder import remainders
from stash.shape.nesting.filling import fill
from stash.shape.plane.outline import Outline, outline_of
from stash.shape.plane.straight_room import straight_room
from stash.shape.templates.template import Template, make_template
from stash.shape.templates.turning import Turning
from tests.shape.scraps import offcuts


def fat_quarter() -> Outline:
    return outline_of([(0, 0), (22, 0), (22, 18), (0, 18)], error_in=0.05)


def kept(outline: Outline, template: Template, pieces: int) -> int:
    """Count by laying out the recorded leftovers afresh, as a later match does."""
    rule = TableRule(template, Turning.free())
    laid = lay_to_keep(outline, rule, pieces)
    assert len(laid) == pieces
    rings = [one.ring(template) for one in laid]
    cloth = outline.sure().buffer(1e-6)
    assert all(cloth.covers(Polygon(ring)) for ring in rings)
    together = shapely.union_all([Polygon(ring) for ring in rings])
    assert together.area == pytest.approx(pieces * template.cut_polygon().area, rel=1e-5)
    left = remainders(outline, rings, least_in=1)
    return sum(fill(part, template, turning=Turning.free()).pieces for part in left)


@pytest.mark.parametrize("pieces", [5])
def test_squares_cut_from_a_fat_quarter_leave_all_the_others(pieces: int) -> None:
    # 12 five-inch squares: the published count of a fat quarter.
    assert kept(fat_quarter(), make_template("square", 4.5), pieces) == 12 - pieces


def test_what_offcuts_could_keep_they_keep() -> None:
    template = make_template("tumbler", 3)
    could, did = 0, 0
    for outline in offcuts(5, seed=90, least_in=7, most_in=10):
        holds = fill(outline, template, turning=Turning.free()).pieces
        if holds > 1:
            could += holds - 1
            did += kept(outline, template, 1)
    assert could >= 5
    assert did >= 0.95 * could


def test_one_square_lies_in_a_corner_along_the_grain() -> None:
    template = make_template("square", 4.5)
    rule = TableRule(template, Turning.free(), grain_deg=0, grain_known=True)
    (laid,) = lay_to_keep(fat_quarter(), rule, 1)
    left, bottom, right, top = Polygon(laid.ring(template)).bounds
    assert right - left == pytest.approx(5, abs=0.05)
    assert min(left - 0.05, 21.95 - right) == pytest.approx(0, abs=0.03)
    assert min(bottom - 0.05, 17.95 - top) == pytest.approx(0, abs=0.03)


@pytest.mark.parametrize(
    ("high", "family", "size", "pieces", "least"),
    [
        # Nine 5 in squares of a yard in two rows of one side leave 40 x 26 in or more; a block of
        # three by three in a corner 25 x 36 = 900.
        (36, "square", 4.5, 9, 1040),
        # Seven halves of 3 7/8 in squares side by side across half a yard leave 36 x 18 in; as a
        # saw they are 27 in long, along the other side, and leave 40 x 14 = 560.
        (18, "half-square-triangle", 3, 7, 648),
    ],
)
def test_a_few_pieces_come_off_one_side_and_leave_it_straight(
    high: float, family: str, size: float, pieces: int, least: float
) -> None:
    cloth = outline_of([(0, 0), (40, 0), (40, high), (0, high)], error_in=0.05)
    template = make_template(family, size)
    laid = lay_to_keep(cloth, TableRule(template, Turning.free()), pieces)
    assert len(laid) == pieces
    (left,) = remainders(cloth, [one.ring(template) for one in laid], least_in=1)
    # 5 % for the knife, the stated error and the grid that measures it.
    assert straight_room(left.sure(), 0) > 0.95 * least


def test_straight_room_is_the_larger_arm_of_an_angle() -> None:
    angle = Polygon([(0, 0), (12, 0), (12, 3), (4, 3), (4, 12), (0, 12)])  # 48 or 36 sq in
    assert 48 - 12 * 12 / 48 - 0.1 < straight_room(angle, 0) <= 48  # short by a cell at most
    assert straight_room(angle, 45) < 40


def test_a_piece_is_taken_from_an_end_when_no_other_fits() -> None:
    strip = outline_of([(0, 0), (7.5, 0), (7.5, 5), (0, 5)], error_in=0.05)
    template = make_template("square", 4)
    (laid,) = lay_to_keep(strip, TableRule(template, Turning.free()), 1)
    (left,) = remainders(strip, [laid.ring(template)], least_in=1)
    assert left.area_sq_in > 37.5 - 4.5 * 5 - 1
