"""Colour spaces against colour-science (a reference library) and by round trips."""

import colour
import numpy as np
import pytest
from colormath.color_conversions import convert_color
from colormath.color_objects import LabColor, sRGBColor
from hypothesis import given
from hypothesis import strategies as st

from stash.colour.spaces import (
    even_hues,
    hex_of_lab,
    lab_of_hex,
    lab_of_linear,
    lab_of_srgb,
    linear_of_lab,
    srgb_of_lab,
)
from stash.errors import PaletteError

UNIT = st.floats(0, 1)


def test_lab_agrees_with_colour_science():
    # colour-science 0.4, sRGB -> XYZ -> Lab with the same white; tolerance: the white's decimals.
    srgb = np.random.default_rng(1).random((500, 3))
    xyz = colour.sRGB_to_XYZ(srgb)
    reference = colour.XYZ_to_Lab(
        xyz, colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    )
    assert np.abs(lab_of_srgb(srgb) - reference).max() < 0.05


def test_even_hues_are_those_of_oklab_as_another_library_has_it():
    srgb = np.random.default_rng(2).random((500, 3))
    oklab = colour.XYZ_to_Oklab(colour.sRGB_to_XYZ(srgb))
    apart = even_hues(lab_of_srgb(srgb)) - np.arctan2(oklab[:, 2], oklab[:, 1])
    coloured = np.hypot(oklab[:, 1], oklab[:, 2]) > 0.03
    assert np.abs(np.sin(apart[coloured])).max() < 0.01


@given(st.tuples(UNIT, UNIT, UNIT))
def test_srgb_survives_the_way_to_lab_and_back(rgb):
    assert srgb_of_lab(lab_of_srgb(np.array(rgb))) == pytest.approx(np.array(rgb), abs=1e-6)


@given(st.tuples(st.floats(-0.1, 1.3), UNIT, UNIT))
def test_linear_light_survives_the_way_to_lab_and_back(rgb):
    assert linear_of_lab(lab_of_linear(np.array(rgb))) == pytest.approx(np.array(rgb), abs=1e-6)


@given(st.integers(0, 0xFFFFFF))
def test_a_hex_colour_survives_the_way_to_lab_and_back(number):
    text = f"#{number:06x}"
    assert hex_of_lab(lab_of_hex(text)) == text


@given(st.integers(0, 0xFFFFFF))
def test_a_hex_colour_has_the_lab_that_colormath_gives_it(number):
    rgb = sRGBColor.new_from_rgb_hex(f"{number:06x}")
    lab = convert_color(rgb, LabColor, target_illuminant="d65")
    # colormath rounds its matrices to four decimals, hence the tolerance.
    assert lab_of_hex(f"#{number:06x}") == pytest.approx(lab.get_value_tuple(), abs=0.05)


@pytest.mark.parametrize("text", ["", "#12345", "blue", "#12345g"])
def test_what_is_no_hex_colour_is_refused_in_words(text):
    with pytest.raises(PaletteError, match="six digits"):
        lab_of_hex(text)
