"""Leftovers of a cut scrap: by hand, and as areas that must add up."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from stash.quilt.remainder import KNIFE_ERROR_IN, lies_on, remainders
from stash.shape.plane.outline import outline_of


def box(left: float, bottom: float, width: float, height: float) -> tuple[tuple[float, float], ...]:
    right, top = left + width, bottom + height
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def test_a_square_off_the_end_leaves_the_other_end() -> None:
    scrap = outline_of(box(0, 0, 10, 5), error_in=0.1)
    (left,) = remainders(scrap, [box(0, 0, 5, 5)], least_in=1)
    assert left.area_sq_in == pytest.approx(25)
    assert left.error_in == 0.1


@pytest.mark.parametrize("error_in", [0.0, 0.03, 0.2])
def test_only_the_new_border_is_as_unsure_as_the_knife(error_in: float) -> None:
    scrap = outline_of(box(0, 0, 10, 5), error_in=error_in)
    (left,) = remainders(scrap, [box(0, 0, 5, 5)], least_in=1)
    x0, y0, x1, y1 = left.sure().bounds
    assert (y0, x1, y1) == pytest.approx((error_in, 10 - error_in, 5 - error_in))
    assert x0 == pytest.approx(5 + max(error_in, KNIFE_ERROR_IN))


def test_a_sharp_tip_of_wide_cloth_stays() -> None:
    wedge = outline_of([(0, 0), (12, 0), (6, 6)], error_in=0.1)
    (left,) = remainders(wedge, [((5, 0), (7, 0), (7, 2), (5, 2))], least_in=1)
    assert left.area_sq_in == pytest.approx(36 - 4, abs=0.1)


def test_a_square_out_of_the_middle_leaves_two_scraps_largest_first() -> None:
    parts = remainders(outline_of(box(0, 0, 12, 5), error_in=0.1), [box(3, 0, 5, 5)], least_in=1)
    assert [round(part.area_sq_in, 6) for part in parts] == [20, 15]


def test_a_tongue_narrower_than_an_inch_is_thrown_away() -> None:
    scrap = outline_of(box(0, 0, 5.6, 5), error_in=0.1)
    assert remainders(scrap, [box(0, 0, 5, 5)], least_in=1) == ()
    (kept,) = remainders(scrap, [box(0, 0, 5, 5)], least_in=0.5)
    assert kept.area_sq_in == pytest.approx(3)


def test_a_hole_is_left_where_the_piece_came_from_the_inside() -> None:
    (left,) = remainders(outline_of(box(0, 0, 12, 12), error_in=0.1), [box(3, 3, 5, 5)], least_in=1)
    assert len(left.holes) == 1
    assert left.area_sq_in == pytest.approx(144 - 25)


@settings(deadline=None)
@given(st.floats(6, 20), st.floats(6, 20), st.floats(0, 1), st.floats(0, 1), st.floats(2, 6))
def test_nothing_is_left_that_was_not_there_or_was_cut_away(
    width: float, height: float, across: float, up: float, side: float
) -> None:
    scrap = outline_of(box(0, 0, width, height))
    piece = box(across * (width - side), up * (height - side), side, side)
    parts = remainders(scrap, [piece], least_in=1)
    for part in parts:
        assert scrap.polygon.buffer(0.02).covers(part.polygon)
        # Simplifying moves a border by 0.005 in at the most.
        assert part.polygon.intersection(Polygon(piece)).area < 0.01 * part.polygon.length
    assert sum(part.area_sq_in for part in parts) <= width * height - side * side + 0.1


def test_a_piece_that_stands_out_does_not_lie_on_the_scrap() -> None:
    scrap = outline_of(box(0, 0, 8, 5))
    assert lies_on(scrap, [box(0, 0, 5, 5)])
    assert not lies_on(scrap, [box(3.2, 0, 5, 5)])
