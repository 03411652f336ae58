"""Inches from pixels: exact on made photos, honest about its error."""

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stash.photo.cards.card import chart24
from stash.photo.cards.card_finding import find_card
from stash.photo.files.reading import Photo
from stash.photo.inches.plane import Lens, fit_plane
from stash.photo.inches.straight_edges import lens_of_edges
from stash.photo.inches.table_plane import plane_of_photo
from tests.photo.made_chart import PITCH_IN, Camera, inches_of, photo_of

CARDS = [chart24("made", PITCH_IN)]
CORNERS = np.array([[60, 60], [1140, 60], [1140, 840], [60, 840], [600, 450]], dtype=float)
_MM_PER_LONG_SIDE = 34.6


@pytest.mark.parametrize("radial", [-0.01, 0.0, 0.008])
@pytest.mark.parametrize("tilt_deg", [0, 12, 25])
def test_inches_are_right_over_the_whole_table_when_the_lens_is_known(radial, tilt_deg):
    camera = Camera(radial=radial, tilt_deg=tilt_deg)
    photo = photo_of(camera)
    lens = Lens(radial, 1e-4, camera.focal_sides * _MM_PER_LONG_SIDE)
    plane = fit_plane(find_card(photo, CARDS), photo.shape[:2], lens=lens)
    off = np.hypot(*(plane.to_inches(CORNERS) - inches_of(camera, CORNERS)).T)
    # Tolerance: a sixth of a quilter's eighth of an inch, 12 inches away from a 3 inch chart whose
    # borders are drawn on half pixels (0.007 in).
    assert off.max() < 0.02


@pytest.mark.parametrize("turn_deg", [10, 100, 190, 280])
@pytest.mark.parametrize("radial", [-0.006, 0.0, 0.004])
def test_the_stated_error_holds_with_nothing_known_of_the_lens(turn_deg, radial):
    camera = Camera(turn_deg=turn_deg, radial=radial)
    photo = photo_of(camera)
    plane = fit_plane(find_card(photo, CARDS), photo.shape[:2])
    true = inches_of(camera, CORNERS)
    off = np.hypot(*(plane.to_inches(CORNERS) - true).T)
    assert (off <= plane.error_in(true)).all()


def test_the_error_grows_away_from_the_card():
    photo = photo_of()
    plane = fit_plane(find_card(photo, CARDS), photo.shape[:2])
    error = plane.error_in(np.array([[0.0, 0.0], [3.0, 0.0], [8.0, 0.0], [14.0, 0.0]]))
    assert (np.diff(error) > 0).all()


@settings(max_examples=25, deadline=None)
@given(st.floats(-12, 12), st.floats(-9, 9))
def test_pixels_and_inches_turn_into_each_other(plane_for_pairs, x, y):
    there = np.array([[x, y]])
    again = plane_for_pairs.to_inches(plane_for_pairs.to_pixels(there))
    assert again[0] == pytest.approx(there[0], abs=1e-7)


@pytest.fixture(scope="module")
def plane_for_pairs():
    photo = photo_of(Camera(radial=0.01))
    return fit_plane(find_card(photo, CARDS), photo.shape[:2], lens=Lens(0.01, 1e-4))


def test_the_scale_is_pixels_per_inch():
    camera = Camera(tilt_deg=0, at_in=(0.0, 0.0))
    photo = photo_of(camera)
    plane = fit_plane(find_card(photo, CARDS), photo.shape[:2])
    assert plane.px_per_in(np.zeros(2)) == pytest.approx(camera.px_per_in, rel=0.001)


def with_ruled_lines(camera: Camera, photo: np.ndarray) -> np.ndarray:
    """Lay straight dark strips on the table, as ruler-cut scraps would lie."""
    columns, rows = np.meshgrid(np.arange(camera.width), np.arange(camera.height))
    px = np.column_stack([columns.ravel(), rows.ravel()]).astype(float)
    x, y = inches_of(camera, px).T.reshape(2, camera.height, camera.width)
    far = np.hypot(x, y) > 3.2
    strips = ((np.abs(x + 6) < 1) | (np.abs(y + 4) < 0.8) | (np.abs(x - y - 6) < 0.7)) & far
    soft = cv2.GaussianBlur(strips.astype(np.float32), (0, 0), 0.8)[..., None]
    return np.rint(photo * (1 - soft) + np.array([60, 70, 120]) * soft).astype(np.uint8)


@pytest.mark.parametrize("radial", [-0.012, 0.0, 0.012])
def test_the_lens_is_read_off_straight_edges(radial):
    camera = Camera(radial=radial, at_in=(1.0, 1.0))
    photo = with_ruled_lines(camera, photo_of(camera))
    lens = lens_of_edges(photo)
    # The stated standard error is honest and better than the prior of 0.006.
    assert abs(lens.radial - radial) < 3 * lens.radial_spread
    assert lens.radial_spread < 0.005


def test_straight_edges_make_the_table_truer():
    camera = Camera(radial=0.012, at_in=(1.0, 1.0))
    pixels = with_ruled_lines(camera, photo_of(camera))
    found = find_card(pixels, CARDS)
    true = inches_of(camera, CORNERS)
    without = fit_plane(found, pixels.shape[:2])
    with_edges = plane_of_photo(Photo(pixels, ""), found)
    error = [np.hypot(*(p.to_inches(CORNERS) - true).T).mean() for p in (without, with_edges)]
    assert error[1] < 0.7 * error[0]
