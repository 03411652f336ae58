"""Measuring a chart of unknown inks: beside a known one, or as a reference of its own."""

import cv2
import numpy as np
import pytest

from stash.colour.difference import paired_difference
from stash.colour.spaces import lab_of_linear, linear_of_lab, linear_of_srgb, srgb_of_linear
from stash.errors import CardNotFoundError
from stash.photo.cards.card import CHART24_LINEAR, chart24
from stash.photo.cards.card_finding import find_card
from stash.photo.light.calibration import calibrate
from stash.photo.light.learning import learn_alone, learn_beside
from tests.photo.made_chart import PITCH_IN, Camera, photo_of

INKS = np.clip(
    np.maximum(CHART24_LINEAR, 0) * np.random.default_rng(3).uniform(0.75, 1.3, (24, 3)), 0, 0.95
)
INKS[18:] = CHART24_LINEAR[18:] * 0.93
SMALL = Camera(width=700, height=560, px_per_in=55, at_in=(0, 0), turn_deg=4)


def lamp(photo: np.ndarray, gains: tuple[float, float, float]) -> np.ndarray:
    return np.rint(255 * srgb_of_linear(linear_of_srgb(photo / 255) * gains)).astype(np.uint8)


@pytest.fixture(scope="module")
def both() -> np.ndarray:
    """Lay the usual chart left of the one of other inks, which is smaller."""
    usual = photo_of(SMALL)
    other = cv2.resize(photo_of(SMALL, patches=INKS), None, fx=0.8, fy=0.8)
    room = np.full((usual.shape[0] - other.shape[0], other.shape[1], 3), usual[0, 0], np.uint8)
    return np.hstack([usual, np.vstack([other, room])])


def test_a_chart_is_measured_by_the_known_one_beside_it(both):
    known, chart = chart24("usual", PITCH_IN), chart24("mine", 0.8 * PITCH_IN)
    learnt = learn_beside(lamp(both, (0.95, 0.85, 0.7)), chart, known)
    off = paired_difference(lab_of_linear(INKS), learnt.lab)
    assert np.median(off) < 1
    assert off.max() < 4  # strong inks beyond the known chart's own


def test_one_chart_alone_is_not_measured_beside_another():
    with pytest.raises(CardNotFoundError, match="only one chart"):
        learn_beside(photo_of(SMALL), chart24("mine", 0.4), chart24("usual", PITCH_IN))


def test_colours_agree_between_photos_by_a_chart_that_is_its_own_reference():
    """Two lamps: read with the learnt chart the same cloth is the same, to within 1 CIEDE2000."""
    photo = photo_of(SMALL, patches=INKS)
    shape = chart24("mine", PITCH_IN)
    lab = learn_alone(photo, shape).lab
    own = chart24("mine", PITCH_IN, values="own", patch_linear=linear_of_lab(lab), absolute=False)
    cloth = np.array([[0.4, 0.2, 0.15], [0.1, 0.2, 0.35], [0.3, 0.35, 0.1]])
    labs = []
    for gains in ((1.0, 1.0, 1.0), (0.95, 0.8, 0.6)):
        calibration = calibrate(find_card(lamp(photo, gains), [own]))
        assert not calibration.absolute
        assert "own reference" in calibration.warnings[-1]
        labs.append(calibration.lab_of(srgb_of_linear(cloth * 0.9 * gains)))
    assert paired_difference(labs[0], labs[1]).max() < 1
