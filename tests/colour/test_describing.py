"""What a scrap looks like, on pictures made with known content."""

import cv2
import numpy as np
import pytest

from stash.colour.appearance import PrintKind
from stash.colour.describing import ClothSample, describe
from stash.colour.difference import colour_difference
from stash.colour.spaces import (
    lab_of_hex,
    lab_of_linear,
    lab_of_srgb,
    linear_of_lab,
    srgb_of_linear,
)
from stash.demo.fabrics import FABRICS, weave

NAVY, WHITE, SAND = "#1f3f7a", "#f7f7f7", "#d9c7a3"


def rgb(code):
    return np.array([int(code[i : i + 2], 16) for i in (1, 3, 5)], dtype=np.uint8)


def sample(pixels, mask=None, **rest):
    mask = np.ones(pixels.shape[:2], bool) if mask is None else mask
    return ClothSample(pixels, mask, lab_of_srgb, px_per_in=50.0, **rest)


def striped(angle_deg, period_px=24.0, size=300, one=NAVY, other=WHITE):
    y, x = np.mgrid[:size, :size].astype(float)
    turn = np.radians(angle_deg)
    across = -np.sin(turn) * x - np.cos(turn) * y
    return np.where(((across / period_px) % 1 < 0.5)[..., None], rgb(one), rgb(other))


def test_half_navy_half_white_reads_as_their_mean_in_light():
    found = describe(sample(striped(0.0)))
    labs = np.array([lab_of_hex(NAVY), lab_of_hex(WHITE)])
    expected = lab_of_linear(linear_of_lab(labs).mean(axis=0))
    # 300 px hold 12.5 repeats: up to half a repeat of one colour too many, 2 % of the area.
    assert colour_difference(expected, [found.reads_as])[0] < 1.0


def test_the_two_inks_of_a_stripe_are_found_with_their_shares():
    found = describe(sample(striped(30.0)))
    assert len(found.colours) == 2
    inks = sorted(found.colours, key=lambda c: c.lab[0])
    for ink, code in zip(inks, (NAVY, WHITE), strict=True):
        assert colour_difference(lab_of_hex(code), [ink.lab])[0] < 0.5
        assert ink.share == pytest.approx(0.5, abs=0.03)


@pytest.mark.parametrize("angle_deg", [0, 10, 45, 77, 90, 135, 170])
def test_a_stripe_is_called_so_and_its_lines_run_as_drawn(angle_deg):
    found = describe(sample(striped(angle_deg)))
    assert found.kind is PrintKind.STRIPE
    off = (found.direction_deg - angle_deg + 90) % 180 - 90
    assert abs(off) <= 1.5


def slanting(pixels, slope=0.06):
    """The picture as a tilted camera sees it: one side nearer by a share of the distance."""
    height, width = pixels.shape[:2]
    nearer = np.array([[1.0, 0, 0], [0, 1.0, 0], [slope / width, slope / height, 1.0]])
    seen = cv2.warpPerspective(pixels, nearer, (width, height), flags=cv2.INTER_LINEAR)
    return seen[: int(height * 0.88), : int(width * 0.88)].copy()


@pytest.mark.parametrize("angle_deg", [1.5, 31.6, 62.0])
def test_a_fine_stripe_seen_slanting_is_a_stripe(angle_deg):
    assert describe(sample(slanting(striped(angle_deg, 14.0, 400)))).kind is PrintKind.STRIPE


@pytest.mark.parametrize("angle_deg", [1.5, 31.6, 62.0])
def test_a_fine_check_seen_slanting_is_a_plaid(angle_deg):
    warp, weft = (striped(angle_deg + turn, 16.0, 400).astype(float) for turn in (0.0, 90.0))
    check = ((warp + weft) / 2).astype(np.uint8)
    assert describe(sample(slanting(check))).kind is PrintKind.PLAID


def test_the_direction_is_told_in_the_frame_of_the_card():
    turn = np.radians(30)
    # The card's x axis runs 30 degrees clockwise of the picture's; the picture's y runs down.
    x_axis, y_axis = (np.cos(turn), np.sin(turn)), (np.sin(turn), -np.cos(turn))
    found = describe(sample(striped(20.0), to_inches=lambda px: px @ np.array([x_axis, y_axis]).T))
    assert abs(found.direction_deg - 50) <= 1.5


@pytest.mark.parametrize("period_px", [12.0, 24.0, 40.0])
def test_the_repeat_of_a_stripe_is_measured(period_px):
    found = describe(sample(striped(25.0, period_px)))
    assert found.repeat_sure
    assert found.repeat_in == pytest.approx(period_px / 50.0, rel=0.06)


def test_one_colour_is_plain():
    noise = np.random.default_rng(0).integers(-2, 3, (200, 200, 3))
    found = describe(sample((rgb(SAND) + noise).astype(np.uint8)))
    assert found.kind is PrintKind.PLAIN
    assert len(found.colours) == 1


def test_a_check_is_a_plaid():
    y, x = np.mgrid[:300, :300]
    level = ((x // 25) % 2 + (y // 25) % 2) / 2
    pixels = (rgb(NAVY) * (1 - level[..., None]) + rgb(WHITE) * level[..., None]).astype(np.uint8)
    assert describe(sample(pixels)).kind is PrintKind.PLAID


@pytest.mark.parametrize("radius_px", [4, 6, 8])
def test_dots_in_rows_are_a_print_and_no_plaid(radius_px):
    # Dots wider than two thirds of their repeat leave only bars between them: a plaid to us.
    y, x = np.mgrid[:300, :300]
    dot = np.hypot(x % 25 - 12, y % 25 - 12) <= radius_px
    pixels = np.where(dot[..., None], rgb(WHITE), rgb(NAVY))
    assert describe(sample(pixels)).kind is PrintKind.PRINT


@pytest.mark.parametrize("width_px", [3, 5])
def test_thin_lines_both_ways_are_a_plaid(width_px):
    y, x = np.mgrid[:300, :300]
    line = (x % 25 < width_px) | (y % 25 < width_px)
    threads = np.random.default_rng(3).normal(0, 12, (300, 300, 1))
    pixels = np.clip(np.where(line[..., None], rgb(NAVY), rgb(SAND)) + threads, 0, 255)
    assert describe(sample(pixels.astype(np.uint8))).kind is PrintKind.PLAID


def test_a_stripe_woven_in_twill_is_a_stripe():
    y, x = np.mgrid[:300, :300]
    ridges = np.where((x + y) % 8 < 4, 1.0, 0.45)[..., None]
    assert describe(sample((striped(0.0) * ridges).astype(np.uint8))).kind is PrintKind.STRIPE


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_strong_threads_of_one_colour_are_plain_cloth(seed):
    rough = np.random.default_rng(seed).normal(size=(300, 300))
    threads = cv2.GaussianBlur(rough, (0, 0), sigmaX=4.0, sigmaY=1.5)
    pixels = np.clip(rgb(SAND) * (1 + 0.055 * threads / threads.std())[..., None], 0, 255)
    assert describe(sample(pixels.astype(np.uint8))).kind is PrintKind.PLAIN


def test_the_backing_around_the_scrap_does_not_count():
    pixels = np.full((200, 300, 3), 128, np.uint8)
    pixels[50:150, 80:220] = rgb(NAVY)
    mask = np.zeros((200, 300), bool)
    mask[50:150, 80:220] = True
    found = describe(sample(pixels, mask))
    assert colour_difference(lab_of_hex(NAVY), [found.reads_as])[0] < 0.3


@pytest.mark.parametrize("size", [(1, 1), (1, 40), (3, 3), (8, 200), (700, 5)])
def test_a_sliver_of_cloth_is_still_described(size):
    found = describe(sample(np.full((*size, 3), 90, np.uint8)))
    assert found.kind is PrintKind.PLAIN
    assert sum(c.share for c in found.colours) == pytest.approx(1)


def test_the_same_pixels_give_the_same_answer():
    pixels = np.random.default_rng(3).integers(0, 256, (120, 90, 3), dtype=np.uint8)
    assert describe(sample(pixels)) == describe(sample(pixels))


def test_an_empty_mask_is_a_mistake_of_the_caller():
    with pytest.raises(ValueError, match="empty"):
        sample(np.zeros((4, 4, 3), np.uint8), np.zeros((4, 4), bool))


def test_mottled_cloth_of_one_dye_is_tone_on_tone_and_a_slubby_weave_plain():
    cloud = np.tile(weave(FABRICS["storm cloud"]), (2, 2, 1))[::2, ::2]
    assert kind_seen(cloud) is PrintKind.TONE
    rng = np.random.default_rng(4)
    threads = rng.normal(size=(400, 400, 1)) * 0.03
    assert kind_seen(np.full((400, 400, 3), 0.2) * (1 + threads)) is PrintKind.PLAIN


def test_a_check_whose_lines_do_not_cross_at_right_angles_in_the_photo_is_a_plaid():
    # Held 25 degrees off, a phone sees squares on their tips as rhombs.
    y, x = np.mgrid[0:400, 0:400]
    across, down = (x + y / np.cos(np.radians(25)), x - y / np.cos(np.radians(25)))
    share = ((across % 56 < 28) + (down % 56 < 28).astype(float)) / 2
    cloth = 0.75 + share[..., None] * (np.array([0.05, 0.1, 0.3]) - 0.75)
    assert kind_seen(cloth) is PrintKind.PLAID


def kind_seen(linear):
    """The kind told of cloth given in linear light, 100 pixels an inch."""
    pixels = (srgb_of_linear(linear.clip(0, 1)) * 255).astype(np.uint8)
    mask = np.ones(pixels.shape[:2], dtype=bool)
    return describe(ClothSample(pixels, mask, lab_of_srgb, 100.0)).kind
