"""A card tells in which coding of a file its colours were made."""

import numpy as np
import pytest

from stash.colour.spaces import linear_of_srgb, srgb_of_linear
from stash.photo.cards.card import FoundCard, chart24
from stash.photo.files.colour_profile import OwnColours
from stash.photo.files.reading import Photo
from stash.photo.light.coding import calibrate_photo

CARD = chart24("made", 0.55)
# sRGB to Display P3, linear light; CSS Color Module Level 4, section 10.
TO_P3 = np.array([[0.8225, 0.1774, 0.0], [0.0332, 0.9669, 0.0], [0.0171, 0.0724, 0.9108]])
PIXELS = np.full((4, 4, 3), (250, 20, 30), np.uint8)


def vivid(coded: np.ndarray) -> np.ndarray:
    """Bend encoded colours as phones do, and cut them at the ends of the range."""
    grey = (coded @ [0.2126, 0.7152, 0.0722])[:, None]
    return np.clip(grey + (coded - grey) * 1.4, 0, 1)


def in_p3(srgb: np.ndarray) -> np.ndarray:
    return srgb_of_linear(np.clip(linear_of_srgb(srgb) @ TO_P3.T, 0, 1))


def card_of(coded: np.ndarray) -> FoundCard:
    clipped = (coded >= 251 / 255).any(axis=1)
    return FoundCard(CARD, np.eye(3), np.zeros((4, 2)), coded, ~clipped, np.zeros(24), clipped)


SEEN = srgb_of_linear(0.85 * CARD.patch_linear)
MADE_WIDE, CUT_FIRST = vivid(in_p3(SEEN)), in_p3(vivid(SEEN))


@pytest.mark.parametrize(("coded", "kept"), [(MADE_WIDE, True), (CUT_FIRST, False)])
def test_a_photo_is_read_in_the_coding_its_colours_were_cut_in(coded, kept):
    photo = Photo(PIXELS, "made", own=OwnColours(space="p3"))
    pixels, calibration = calibrate_photo(photo, card_of(coded))
    assert np.array_equal(pixels, photo.pixels if kept else photo.pixels_srgb)
    assert np.array_equal(calibration.found.patch_srgb, coded) == kept


def test_a_photo_in_srgb_is_left_as_it_is():
    photo = Photo(PIXELS, "made")
    found = card_of(vivid(SEEN))
    pixels, calibration = calibrate_photo(photo, found)
    assert pixels is photo.pixels and calibration.found is found


def test_squares_that_srgb_cuts_off_are_known_to_be_cut():
    photo = Photo(PIXELS, "made", own=OwnColours(space="p3"))
    found = card_of(in_p3(vivid(vivid(SEEN))))
    assert not found.clipped.any()
    _, calibration = calibrate_photo(photo, found)
    yellow = 15  # its red ends first
    assert calibration.found.clipped[yellow] and not calibration.found.usable[yellow]
