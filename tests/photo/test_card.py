"""Reference cards as records, and their published values."""

import colour
import numpy as np
import pytest

from stash.colour.spaces import D65_WHITE, lab_of_linear
from stash.errors import CalibrationError
from stash.photo.cards.card import CHART24_LINEAR, CHART24_NAMES, card_of, chart24
from stash.photo.cards.chart_values import read_values


def test_the_reference_colours_are_the_average_measured_reflectances_under_d65():
    # Source: colour-science 0.4, dataset of averaged 24-patch chart spectra; CIE D65, CIE 1931.
    spectra = colour.SDS_COLOURCHECKERS["BabelColor Average"]
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    light = colour.SDS_ILLUMINANTS["D65"]
    waves = np.arange(380, 731, 10)
    seen_by_eye = cmfs[waves] * light[waves][:, None]
    reflectances = np.array([spectrum[waves] for spectrum in spectra.values()])
    xyz = reflectances @ seen_by_eye / seen_by_eye[:, 1].sum()
    # Linear sRGB by the inverse of the matrix of IEC 61966-2-1 in colour-science.
    linear = xyz @ colour.RGB_COLOURSPACES["sRGB"].matrix_XYZ_to_RGB.T
    # Tolerance: four-decimal matrix of the standard, and 10 nm sums cut at 730 nm.
    assert np.abs(linear - CHART24_LINEAR).max() < 0.006


def test_the_chart_has_24_named_patches_six_in_a_row():
    card = chart24("a", 2.0)
    assert len(set(CHART24_NAMES)) == len(card.patch_centres_in) == 24
    assert card.patch_centres_in[5] - card.patch_centres_in[0] == pytest.approx([10, 0])
    assert card.patch_centres_in[18] - card.patch_centres_in[0] == pytest.approx([0, -6])
    assert card.patch_centres_in.mean(axis=0) == pytest.approx([0, 0])


def test_a_card_survives_being_written_down():
    card = chart24("pocket", 0.55)
    again = card_of("pocket", card.to_body())
    assert np.allclose(again.patch_linear, card.patch_linear)
    assert np.allclose(again.patch_centres_in, card.patch_centres_in)
    assert (again.kind, again.absolute, again.neutrals) == (card.kind, True, card.neutrals)


def test_a_card_of_an_unknown_kind_is_told_in_words():
    with pytest.raises(CalibrationError, match="wheel"):
        card_of("wheel", {"kind": "wheel"})


@pytest.mark.parametrize("values", ["before-2014", "after-2014"])
def test_published_values_of_either_formulation_are_those_of_the_library(values):
    """Source: colour-science; Bradford from its white to D65. Tolerance: two decimals of CIELAB."""
    when = "Before" if values.startswith("before") else "After"
    (key,) = [
        name for name in colour.CCS_COLOURCHECKERS if name.endswith(f"24 - {when} November 2014")
    ]
    chart = colour.CCS_COLOURCHECKERS[key]
    adapt = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        colour.xy_to_XYZ(chart.illuminant), D65_WHITE, transform="Bradford"
    )
    xyz = np.array([colour.xyY_to_XYZ(one) for one in chart.data.values()]) @ adapt.T
    lab = colour.XYZ_to_Lab(xyz, colour.XYZ_to_xy(D65_WHITE))
    ours = lab_of_linear(chart24("a", 1.0, values=values).patch_linear)
    assert ours == pytest.approx(lab, abs=0.006)


def test_a_file_of_values_under_d50_is_brought_to_d65():
    """A perfect grey stays grey; a saturated blue moves as the library moves it."""
    rows = ["100 0 0", "50 0 0", "29.78 12.5 -49.2"] + ["40 10 10"] * 21
    ours = lab_of_linear(read_values("\n".join(rows)))
    assert ours[:2] == pytest.approx(np.array([[100, 0, 0], [50, 0, 0]]), abs=0.02)
    d50 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
    xyz = colour.Lab_to_XYZ([29.78, 12.5, -49.2], d50)
    moved = colour.adaptation.chromatic_adaptation_VonKries(
        xyz, colour.xy_to_XYZ(d50), D65_WHITE, transform="Bradford"
    )
    assert ours[2] == pytest.approx(colour.XYZ_to_Lab(moved, colour.XYZ_to_xy(D65_WHITE)), abs=0.05)


def test_a_measured_chart_survives_being_written_down():
    own = chart24("mine", 1.0, values="own", patch_linear=CHART24_LINEAR * 0.9, absolute=False)
    again = card_of("mine", own.to_body())
    assert np.allclose(again.patch_linear, own.patch_linear, atol=1e-6)
    assert (again.values, again.absolute) == ("own", False)
