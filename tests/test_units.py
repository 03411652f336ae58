"""Lengths as quilters write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stash.errors import UnitError
from stash.units import format_inches, parse_length, round_down


def test_an_inch_is_exactly_25_4_millimetres():
    # International yard and pound agreement, 1959.
    assert parse_length("25.4 mm") == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(
    ("written", "inches"),
    [("4.5", 4.5), ("4 1/2", 4.5), ("4-1/2", 4.5), ("4½", 4.5), ("¾", 0.75), ("1/4 yd", 9.0),
     ("11.43cm", 4.5), ('5"', 5.0), (".5", 0.5), ("15/16", 0.9375),
     ("11/16 in", 0.6875), ("2 13/16", 2.8125)],
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


@given(st.floats(0.01, 60), st.sampled_from([8, 16]))
def test_a_length_rounded_down_is_never_overstated(inches: float, step: int) -> None:
    shown = parse_length(format_inches(round_down(inches, step=step), step=step))
    # A millionth of an inch is forgiven, for lengths that are meant to lie on the step.
    assert inches - 1 / step < shown <= inches + 1e-6
