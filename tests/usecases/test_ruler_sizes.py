"""Sizes said at the cutting table are read as the trade means them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stash.errors import MeasureError
from stash.usecases.ruler_sizes import rectangle_of, size_from_words


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("5 x 9", (5, 9)),
        ("5x9", (5, 9)),
        ("5 1/4 x 9½", (5.25, 9.5)),
        ('5 1/4" × 9"', (5.25, 9)),
        ("2.54 x 5.08 cm", (1, 2)),
        ("2.54cm x 2in", (1, 2)),
        # Yard fractions in inches: a yard is 36 in; the cloth is 40 in wide unless told.
        ("1/4 yd", (40, 9)),
        ("¼ yard", (40, 9)),
        ("1/8 yd", (40, 4.5)),
        ("1 1/2 yards", (40, 54)),
        ("0.5 m", (40, 50 / 2.54)),
        # Sizes of cuts: trade handbooks (see the module).
        ("fat quarter", (18, 22)),
        ("Fat Eighth", (9, 22)),
        ("five-inch square", (5, 5)),
        ("ten inch square", (10, 10)),
        ("10 in square", (10, 10)),
        ("2 1/2 in strip", (40, 2.5)),
        ("two and a half inch strip", (40, 2.5)),
        ("strip 2.5 in", (40, 2.5)),
    ],
)
def test_a_size_means_what_the_trade_means(words: str, expected: tuple[float, float]) -> None:
    size = size_from_words(words)
    assert (size.width_in, size.height_in) == pytest.approx(expected, abs=1e-12)


def test_the_width_of_the_cloth_can_be_told() -> None:
    assert size_from_words("1/2 yd", cloth_width_in=42).width_in == 42


def test_bare_numbers_are_centimetres_when_told() -> None:
    size = size_from_words("2.54 x 25.4", unit="cm")
    assert (size.width_in, size.height_in) == pytest.approx((1, 10))


@pytest.mark.parametrize(
    "words",
    ["", "blob", "5", "5 x", "x 5", "0 x 4", "-3 x 4", "fat", "nan x 3", "5 x 6 x 7", "1/0 yd"],
)
def test_what_is_no_size_is_told_with_what_is(words: str) -> None:
    with pytest.raises(MeasureError, match="fat quarter"):
        size_from_words(words)


@given(st.floats(0.1, 100), st.floats(0.1, 100))
def test_a_rectangle_has_the_area_of_its_sides(width: float, height: float) -> None:
    outline = rectangle_of(size_from_words(f"{width:.4f} x {height:.4f}"), middle=(3, -2))
    assert math.isclose(
        outline.area_sq_in, float(f"{width:.4f}") * float(f"{height:.4f}"), rel_tol=1e-6
    )
    assert outline.polygon.centroid.coords[0] == pytest.approx((3, -2), abs=1e-6)
