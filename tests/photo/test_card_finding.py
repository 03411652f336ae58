"""Finding the chart: every turn, tilt and size, and every reason why not."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest

from stash.colour.spaces import linear_of_srgb, srgb_of_linear
from stash.errors import (
    AnotherCardError,
    BlurredPhotoError,
    CardCoveredError,
    CardCutOffError,
    CardGlareError,
    CardNotFoundError,
    CardReversedError,
    OverexposedError,
    PhotoError,
    UnderexposedError,
)
from stash.photo.cards import patch_order
from stash.photo.cards.card import CHART24_LINEAR, chart24
from stash.photo.cards.card_finding import find_card
from stash.photo.cards.patch_edges import project
from stash.photo.cards.quality import check_found
from stash.photo.files.reading import read_photo
from tests.photo.made_chart import PITCH_IN, Camera, inches_of, photo_of
from tests.shared_data import shared

CARDS = [chart24("made", PITCH_IN)]


@cache
def plain_photo() -> np.ndarray:
    """Photograph the chart once for all tests that change the picture."""
    photo = photo_of()
    photo.setflags(write=False)
    return photo


def centre_errors_px(camera: Camera, photo: np.ndarray) -> np.ndarray:
    """Give how far found patch centres lie from their true places, pixels."""
    found = find_card(photo, CARDS)
    centres = project(found.image_from_card, found.card.patch_centres_in)
    off = inches_of(camera, centres) - found.card.patch_centres_in
    return np.hypot(*off.T) * camera.px_per_in


@pytest.mark.parametrize("turn_deg", [0, 37, 90, 180, 263])
def test_the_chart_is_found_however_it_is_turned(turn_deg):
    camera = Camera(turn_deg=turn_deg)
    # Tolerance: the made photo is drawn on half pixels, so its own borders are off by up to 0.25.
    assert centre_errors_px(camera, photo_of(camera)).max() < 0.15


@pytest.mark.parametrize("tilt_deg", [0, 20, 40])
def test_the_chart_is_found_however_the_camera_is_tilted(tilt_deg):
    camera = Camera(tilt_deg=tilt_deg, at_in=(1.0, 0.5))
    assert centre_errors_px(camera, photo_of(camera)).max() < 0.15


@pytest.mark.parametrize("px_per_in", [25, 45, 150, 220])
def test_the_chart_is_found_small_and_large(px_per_in):
    camera = Camera(px_per_in=px_per_in, at_in=(0.3, 0.1))
    # Tolerance as above.
    assert centre_errors_px(camera, photo_of(camera)).max() < 0.15


def test_a_small_chart_in_a_large_photo_is_found():
    camera = Camera(width=4000, height=3000, px_per_in=70, at_in=(12.0, -8.0))
    assert centre_errors_px(camera, photo_of(camera, finer=1)).max() < 0.3


def test_the_outline_of_the_whole_card_is_given_for_cutting_it_out():
    camera = Camera()
    found = find_card(photo_of(camera), CARDS)
    corners = inches_of(camera, found.corners_px)
    # The made frame ends 3.4 and 2.4 pitches from the centre; the cut is generous by 0.06.
    assert np.abs(corners) == pytest.approx(
        np.tile([3.4 * PITCH_IN, 2.4 * PITCH_IN], (4, 1)), abs=0.06
    )


def test_the_colours_read_are_those_photographed():
    found = find_card(photo_of(exposure=0.9), CARDS)
    expected = srgb_of_linear(np.maximum(found.card.patch_linear, 0) * 0.9)
    # Tolerance: one grey level of 8 bits plus noise of the median.
    assert np.abs(found.patch_srgb - expected).max() < 0.012
    assert found.usable.all()


def test_a_photo_without_a_card_is_refused():
    plain = np.full((900, 1200, 3), 120, np.uint8)
    with pytest.raises(CardNotFoundError, match="No card found"):
        find_card(plain, CARDS)


def test_noise_and_prints_are_not_taken_for_a_card(monkeypatch: pytest.MonkeyPatch):
    tried = []
    search = patch_order.shade_across
    monkeypatch.setattr(
        patch_order, "shade_across", lambda *given: tried.append(1) or search(*given)
    )
    rng = np.random.default_rng(3)
    checks = np.kron(rng.integers(0, 255, (30, 40, 3), dtype=np.uint8), np.ones((30, 30, 1)))
    for picture in (rng.integers(0, 255, (900, 1200, 3)), checks):
        with pytest.raises(PhotoError):
            find_card(picture.astype(np.uint8), CARDS)
    # Patchwork has thousands of readings; a shadow is looked for in the likeliest alone.
    assert len(tried) <= 200


def test_a_mirrored_card_is_called_mirrored():
    with pytest.raises(CardReversedError, match="mirror"):
        find_card(np.ascontiguousarray(photo_of()[:, ::-1]), CARDS)


def covered(share: float, side: str) -> np.ndarray:
    """Lay a plain scrap over a share of the card."""
    camera = Camera()
    photo = photo_of(camera)
    half = np.array([3.4, 2.4]) * PITCH_IN
    axis, sign = {"left": (0, -1), "right": (0, 1), "top": (1, -1), "bottom": (1, 1)}[side]
    low, high = -1.05 * half, 1.05 * half
    edge = sign * half[axis] * (1 - 2 * share)
    low[axis], high[axis] = (edge, high[axis]) if sign > 0 else (low[axis], edge)
    corners = [(low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1])]
    found = find_card(photo, CARDS)
    place = project(found.image_from_card, np.array(corners))
    return cv2.fillPoly(photo.copy(), [np.rint(place).astype(np.int32)], (70, 90, 150))


@pytest.mark.parametrize("side", ["left", "right", "top", "bottom"])
@pytest.mark.parametrize("share", [0.35, 0.5])
def test_a_card_half_hidden_is_called_covered(side, share):
    with pytest.raises(CardCoveredError, match="of its 24 squares"):
        find_card(covered(share, side), CARDS)


@pytest.mark.parametrize(
    "hidden",
    [(-1.6, 1.6, -3, 3), (-4, 4, -0.9, 0.9), (-4, 4, -1, 3)],
    ids=["middle", "strip", "most"],
)
def test_a_card_of_which_only_lines_show_is_called_covered(hidden):
    left, right, top, bottom = np.array(hidden) * PITCH_IN
    photo = photo_of()
    found = find_card(photo, CARDS)
    corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom)])
    place = np.rint(project(found.image_from_card, corners)).astype(np.int32)
    with pytest.raises(CardCoveredError, match="of its 24 squares"):
        find_card(cv2.fillPoly(photo, [place], (70, 90, 150)), CARDS)


@pytest.mark.parametrize("across_in", [7.6, 8.6])
def test_a_card_that_the_border_cuts_is_called_cut_off_and_not_covered(across_in):
    with pytest.raises(CardCutOffError, match="cut off by the edge") as refused:
        find_card(photo_of(Camera(at_in=(across_in, 1.5), turn_deg=10)), CARDS)
    assert refused.value.cause == "card cut off"


def test_of_two_cards_the_whole_one_is_used_and_not_the_nearer_that_the_border_cuts():
    near = photo_of(Camera(at_in=(7.6, 1.5), turn_deg=10))
    far = photo_of(Camera(px_per_in=50, at_in=(-4.5, 1.5)))
    photo = np.hstack([far[:, :600], near[:, 600:]])
    with pytest.raises(CardCutOffError):
        find_card(near, CARDS)
    assert find_card(photo, CARDS).corners_px[:, 0].max() < 600


def laid_over(photo: np.ndarray, box_in: tuple[float, ...], paint: np.ndarray) -> np.ndarray:
    """Let a box of the card's frame (left, right, top, bottom, in pitches) show other pixels."""
    left, right, top, bottom = np.array(box_in) * PITCH_IN
    corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom)])
    place = np.rint(project(find_card(plain_photo(), CARDS).image_from_card, corners))
    mask = cv2.fillPoly(np.zeros(photo.shape[:2], np.uint8), [place.astype(np.int32)], 1)
    return np.where(mask[..., None] > 0, paint, photo)


def test_three_squares_under_a_scrap_are_covered_whatever_its_colour():
    photo = plain_photo()
    for colour in [(70, 90, 150), (240, 238, 230), (15, 14, 16), (128, 128, 128)]:
        cloth = np.full_like(photo, colour)
        with pytest.raises(CardCoveredError, match="Something lies on") as refused:
            find_card(laid_over(photo, (-3.4, 0.4, -2.4, -1.0), cloth), CARDS)
        assert refused.value.cause == "card covered"


def test_a_lamp_mirrored_in_the_card_is_glare_and_nothing_lies_on_it():
    photo = plain_photo()
    centre = project(find_card(photo, CARDS).image_from_card, np.array([(-0.8, -0.3)]))[0]
    x, y = np.meshgrid(np.arange(photo.shape[1]), np.arange(photo.shape[0]))
    for reach_px in (25, 45):
        veil = 0.5 * np.exp(-(((x - centre[0]) ** 2 + (y - centre[1]) ** 2) / reach_px**2))
        light = linear_of_srgb(photo / 255) + veil[..., None]
        with pytest.raises(CardGlareError, match="mirrored in the reference card") as refused:
            find_card(np.rint(255 * srgb_of_linear(light)).astype(np.uint8), CARDS)
        assert refused.value.cause == "glare"


def test_a_lamp_that_hides_a_third_of_the_card_is_glare_and_white_cloth_there_is_not():
    """So much of the card is gone that its lattice is read in part only."""
    photo = plain_photo()
    to_px = find_card(photo, CARDS).image_from_card
    near, centre = project(to_px, np.array([(0.0, 0.0), (PITCH_IN, 0.0)]))
    x, y = np.meshgrid(np.arange(photo.shape[1]), np.arange(photo.shape[0]))
    away = ((x - centre[0]) ** 2 + (y - centre[1]) ** 2) / np.sum((centre - near) ** 2)
    light = np.clip(linear_of_srgb(photo / 255) + 1.5 * np.exp(-away / 2)[..., None], 0, 1)
    with pytest.raises(CardGlareError) as refused:
        find_card(np.rint(255 * srgb_of_linear(light)).astype(np.uint8), CARDS)
    assert refused.value.squares_seen < 17
    cloth = np.where(away[..., None] < 4, 238, photo).astype(np.uint8)
    with pytest.raises(CardCoveredError):
        find_card(cloth, CARDS)


def test_other_inks_are_not_taken_for_something_on_the_card():
    """Every ink off by a third of its light, and greys that are not: no square is hidden."""
    other = CHART24_LINEAR * np.random.default_rng(4).uniform(0.7, 1.4, CHART24_LINEAR.shape)
    found = find_card(photo_of(patches=other), CARDS)
    assert not found.hidden.any()
    assert not found.glaring.any()


def test_striped_cloth_on_the_card_is_no_lamp_mirrored_in_it():
    """Stripes of two greyish browns: the lighter has more of every colour, as glare has."""
    photo = plain_photo().copy()
    to_px = find_card(photo, CARDS).image_from_card
    corners = project(to_px, np.array([(-0.6, -0.65), (0.6, -0.65), (0.6, 0.6), (-0.6, 0.6)]))
    under = cv2.fillConvexPoly(
        np.zeros(photo.shape[:2], np.uint8), np.rint(corners).astype(np.int32), 1
    )
    x, y = np.meshgrid(np.arange(photo.shape[1]), np.arange(photo.shape[0]))
    stripes = np.where(((x + y) // 8 % 2 == 0)[..., None], (120, 60, 70), (200, 150, 150))
    with pytest.raises(CardCoveredError):
        find_card(np.where(under[..., None] > 0, stripes, photo).astype(np.uint8), CARDS)


def test_a_card_of_other_inks_cut_in_two_is_cut_off_and_not_covered():
    """Its half fits the usual colours badly, but no other reading half as well."""
    other = CHART24_LINEAR * np.random.default_rng(4).uniform(0.7, 1.4, CHART24_LINEAR.shape)
    photo = photo_of(Camera(turn_deg=0.0, tilt_deg=2.0), patches=other)
    middle_px = project(find_card(photo, CARDS).image_from_card, np.array([(0.0, 0.0)]))[0]
    with pytest.raises(CardCutOffError):
        find_card(np.ascontiguousarray(photo[:, : int(middle_px[0])]), CARDS)


def test_squares_that_the_border_cuts_are_not_called_covered():
    """Of a row cut along its middle, two squares cannot be read, and one beside it."""
    found = find_card(plain_photo(), CARDS)
    unread, cut = np.zeros(24, dtype=bool), np.zeros(24, dtype=bool)
    unread[[17, 18, 19]] = True
    with pytest.raises(CardCoveredError):
        check_found(replace(found, hidden=unread), cut=cut)
    cut[18:] = True
    with pytest.raises(CardCutOffError, match="18 of its 24"):
        check_found(replace(found, hidden=unread), cut=cut)


def test_a_card_in_another_order_is_called_another_card():
    shuffled = CHART24_LINEAR[np.random.default_rng(8).permutation(24)]
    with pytest.raises(AnotherCardError, match="another kind") as refused:
        find_card(photo_of(patches=shuffled), CARDS)
    assert refused.value.cause == "another card"


@pytest.mark.parametrize("stops", [-3.2, -5, -7])
def test_a_dark_photo_is_called_underexposed(stops):
    with pytest.raises(UnderexposedError, match="underexposed"):
        find_card(photo_of(exposure=0.9 * 2.0**stops), CARDS)


@pytest.mark.parametrize("stops", [1.3, 2, 3, 4])
def test_a_burnt_out_photo_is_called_overexposed(stops):
    with pytest.raises(OverexposedError, match="overexposed"):
        find_card(photo_of(exposure=0.9 * 2.0**stops), CARDS)


@pytest.mark.parametrize("blur_px", [4.5, 8, 20, 45])
def test_a_photo_out_of_focus_is_called_blurred(blur_px):
    with pytest.raises(BlurredPhotoError, match="blurred"):
        find_card(photo_of(blur_px=blur_px), CARDS)


def test_a_shaken_photo_is_called_blurred():
    for length_px in (19, 61, 121):
        with pytest.raises(BlurredPhotoError, match="blurred"):
            find_card(cv2.blur(photo_of(), (length_px, 1)), CARDS)


def test_cloth_of_one_direction_without_a_card_is_not_called_blurred():
    stripes = np.repeat(128 + 60 * np.sign(np.sin(np.arange(1200) / 20)), 3).reshape(1, 1200, 3)
    with pytest.raises(CardNotFoundError, match="No card found"):
        find_card(np.repeat(stripes, 900, axis=0).astype(np.uint8), CARDS)


@pytest.mark.parametrize("stops", [-2, -1, 0])
def test_exposure_within_range_is_no_fault(stops):
    assert find_card(photo_of(exposure=0.9 * 2.0**stops), CARDS).usable.all()


def test_every_whole_chart_of_the_real_photos_is_found_and_nothing_else():
    folder = shared("data/chart_photos")
    found, missed = [], []
    for path in sorted(folder.glob("*.jpg")):
        try:
            find_card(read_photo(path.read_bytes(), name=path.name).pixels_srgb, CARDS)
        except CardNotFoundError:
            missed.append(path.name)
        else:
            found.append(path.name)
    # By eye, as the list of right answers beside them says.
    right = json.loads(shared("data/real_photos/MANIFEST.json").read_text())
    without = [Path(name).name for name, one in right.items() if one["chart"] == "none"]
    assert missed == sorted(name for name in without if (folder / name).exists())
    assert len(found) >= 15


def test_light_of_any_colour_does_not_hide_the_chart():
    photo = linear_of_srgb(photo_of() / 255) * [1.0, 0.72, 0.4]
    tinted = np.rint(255 * srgb_of_linear(photo)).astype(np.uint8)
    assert find_card(tinted, CARDS).usable.all()
