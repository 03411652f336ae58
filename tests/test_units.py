"""Lengths as quilters write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stash.errors import UnitError
from stash.units import format_inches, parse_length


def test_an_inch_is_exactly_25_4_millimetres():
    # International yard and pound agreement, 1959.
    assert parse_length("25.4 mm") == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(
    ("written", "inches"),
    [("4.5", 4.5), ("4 1/2", 4.5), ("4-1/2", 4.5), ("4½", 4.5), ("¾", 0.75), ("1/4 yd", 9.0),
     ("11.43cm", 4.5), ('5"', 5.0), (".5", 0.5)],
)  # fmt: skip
def test_a_length_is_read_as_a_quilter_writes_it(written, inches):
    assert parse_length(written) == pytest.approx(inches)


@pytest.mark.parametrize("written", ["", "x", "-1", "1/0", "4.5 1/2", "nan", "1e5", "4 in in"])
def test_what_is_no_length_is_refused_in_words(written):
    with pytest.raises(UnitError):
        parse_length(written)


@given(st.integers(0, 800))
def test_eighths_survive_writing_and_reading(eighths):
    assert parse_length(format_inches(eighths / 8)) == eighths / 8
