"""Reference cards as records, and their published values."""

import colour
import numpy as np
import pytest

from stash.errors import CalibrationError
from stash.photo.cards.card import CHART24_LINEAR, CHART24_NAMES, card_of, chart24


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
