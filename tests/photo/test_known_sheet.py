"""Inches without a chart: a sheet of paper or a bank card of known size among the scraps."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from shapely.geometry import Polygon

from stash.errors import CardNotFoundError, CardsDisagreeError
from stash.photo.cards.known_sheet import SHEETS
from stash.photo.files.reading import Photo
from stash.photo.inches.table_plane import plane_by_sheet
from stash.photo.light.colours import WhiteBalanced
from stash.photo.measuring import measure_beside_sheet
from tests.photo.made_chart import Camera, table_of

PAPER, CARD, TABLE = (236, 234, 228), (40, 60, 90), (128, 104, 82)
BLUE, RED = (50, 70, 150), (180, 50, 60)
A4 = (29.7 / 2.54, 21.0 / 2.54)


def photo_of(camera: Camera, *things: tuple[tuple[float, ...], tuple[int, int, int]]) -> Photo:
    """Photograph rectangles (middle x, y, width, height, turn; inches) on a grained table."""
    rng = np.random.default_rng(2)
    fine = Camera(**{**camera.__dict__, "width": camera.width * 2, "height": camera.height * 2,
                     "px_per_in": camera.px_per_in * 2})  # fmt: skip
    x, y = table_of(fine)
    grain = cv2.GaussianBlur(rng.normal(0, 1, x.shape), (0, 0), sigmaX=40, sigmaY=1.5)
    pixels = np.array(TABLE, float) + 6 * (grain / grain.std())[..., None]
    for (left, top, wide, tall, turn), colour in things:
        cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
        along, across = cos * (x - left) + sin * (y - top), cos * (y - top) - sin * (x - left)
        pixels[(np.abs(along) < wide / 2) & (np.abs(across) < tall / 2)] = colour
    light = 1 - 0.12 * np.linspace(-1, 1, x.shape[1])[None, :, None]
    small = cv2.resize(pixels * light, (camera.width, camera.height), interpolation=cv2.INTER_AREA)
    noisy = cv2.GaussianBlur(small, (0, 0), 0.7) + rng.normal(0, 2.5, small.shape)
    return Photo(np.clip(noisy, 0, 255).astype(np.uint8), "made")


CAMERAS = [
    Camera(1600, 1200, 62.0, tilt_deg=4.0, turn_deg=8.0, at_in=(-4.0, 1.0)),
    Camera(1600, 1200, 58.0, tilt_deg=17.0, turn_deg=-24.0, at_in=(-3.0, 2.0), focal_sides=0.8),
    Camera(1200, 1600, 55.0, tilt_deg=11.0, turn_deg=80.0, at_in=(2.0, -2.0), focal_sides=1.4),
]


@pytest.mark.parametrize("camera", CAMERAS)
def test_a_scrap_beside_a_sheet_of_a4_is_measured_within_what_is_stated(camera: Camera) -> None:
    scrap = (8.5, 1.0, 4.0, 3.0, 30.0)
    photo = photo_of(camera, ((0, 0, *A4, 0), PAPER), (scrap, BLUE))
    measured = measure_beside_sheet(photo, SHEETS["a4"])
    assert not measured.card.absolute and measured.card.error_de00 >= 10
    (one,) = measured.scraps
    truth = Polygon([(-2, -1.5), (2, -1.5), (2, 1.5), (-2, 1.5)])
    assert abs(one.outline.polygon.area / truth.area - 1) < 0.02
    box = np.array(one.outline.polygon.minimum_rotated_rectangle.exterior.coords)
    short, long = sorted(np.hypot(*np.diff(box[:3], axis=0).T))
    assert abs(short - 3) < 2 * one.outline.error_in and abs(long - 4) < 2 * one.outline.error_in


@pytest.mark.parametrize("camera", CAMERAS)
def test_a_sheet_of_a4_by_a_bank_card_is_within_what_is_stated(camera: Camera) -> None:
    near = (8.0, 1.0, 8.56 / 2.54, 5.398 / 2.54, 20.0)
    photo = photo_of(camera, ((0, 0, *A4, 0), PAPER), (near, CARD))
    found, plane = plane_by_sheet(photo, SHEETS["bank-card"])
    sheet, _ = plane_by_sheet(photo, SHEETS["a4"])
    long, short, *_ = np.hypot(*np.diff(plane.to_inches(sheet.corners_px), axis=0).T)
    stated = float(plane.error_in(plane.to_inches(sheet.corners_px)).max())
    assert abs(long - A4[0]) < 2 * stated and abs(short - A4[1]) < 2 * stated
    assert stated < 1.0
    assert found.sheet.kind == "bank-card"


def test_by_paper_a_strong_colour_is_told_to_be_less_sure_than_a_grey() -> None:
    """A phone that made colours vivid moved strong ones by up to 20 CIEDE2000 and greys by 9."""
    colours = WhiteBalanced.by_paper(np.array([0.9, 0.9, 0.9]), 15.0)
    grey, red = (
        colours.sure_to(np.array(lab), np.zeros(2)) for lab in ((50.0, 1, 0), (50.0, 60, 30))
    )
    assert grey >= 9 and red >= 19.2
    assert grey < 0.6 * red


def test_the_size_of_paper_is_not_guessed() -> None:
    photo = photo_of(CAMERAS[0], ((0, 0, *A4, 0), PAPER))
    assert plane_by_sheet(photo, SHEETS["a4"])[0].sheet.kind == "a4"
    with pytest.raises(CardNotFoundError, match="letter"):
        plane_by_sheet(photo, SHEETS["letter"])


def test_two_things_of_one_shape_are_told() -> None:
    size = (8.56 / 2.54, 5.398 / 2.54)
    photo = photo_of(CAMERAS[0], ((0, 0, *size, 0), CARD), ((6, 2, *size, 30), RED))
    with pytest.raises(CardsDisagreeError, match="bank card"):
        plane_by_sheet(photo, SHEETS["bank-card"])
