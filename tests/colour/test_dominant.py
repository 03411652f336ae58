"""Dominant colours on prints made of known inks."""

import numpy as np
import pytest

from stash.colour.cloth_sample import ClothSample, close_look, cropped, spread_pixels
from stash.colour.difference import colour_difference, difference_table
from stash.colour.dominant import cells_of, dominant_colours, reads_as
from stash.colour.likeness import earth_mover
from stash.colour.spaces import lab_of_linear, lab_of_srgb, linear_of_lab, linear_of_srgb
from tests.benchmarks.dominant_quality import ours, prints_of, score

# Mixes the channels, bends the tone and adds cross terms, as the calibration of a photo does.
_MIX = np.array([[1.45, -0.35, -0.05], [-0.22, 1.4, -0.12], [0.02, -0.42, 1.5]])


def bent(srgb):
    linear = linear_of_srgb(srgb) ** 1.12 * np.array([1.1, 0.95, 1.25])
    cross = 0.08 * np.sqrt(np.maximum(linear * linear[:, [1, 2, 0]], 0))
    return lab_of_linear(linear @ _MIX.T + cross)


def sample(pixels, calibrate=lab_of_srgb):
    return ClothSample(pixels, np.ones(pixels.shape[:2], bool), calibrate, px_per_in=50.0)


def test_the_inks_of_made_prints_are_found():
    # Figures of the design, section 10, on a few small prints.
    found = score(prints_of(12, fine=True, seed=5, size=400), ours, None)
    assert found["dE00"] <= 1.5  # 1.1 over many prints; twelve are few
    assert found["right number %"] >= 80
    coarse = score(prints_of(3, fine=False, seed=6, size=400), ours, None)
    assert coarse["dE00"] <= 1.0
    assert coarse["missed %"] == 0


def test_reads_as_meets_the_mean_of_every_calibrated_pixel():
    for made in prints_of(2, fine=True, seed=8, size=300):
        cells = cells_of(cropped(sample(made.pixels_srgb, bent)), bent)
        cloth = made.pixels_srgb[2:-2, 2:-2]  # two pixels along the mask's edge are left out
        every = linear_of_lab(bent(cloth.reshape(-1, 3) / 255.0)).mean(axis=0)
        assert colour_difference(lab_of_linear(every), [reads_as(cells)])[0] < 0.3
        assert len(cells.share) < 4000  # colours to calibrate, of 90,000 pixels


def test_permuted_pixels_read_the_same():
    (made,) = prints_of(1, fine=False, seed=9, size=600)
    pixels = made.pixels_srgb.reshape(-1, 3)
    shuffled = np.random.default_rng(1).permutation(pixels).reshape(made.pixels_srgb.shape)
    one, other = (cells_of(cropped(sample(p)), lab_of_srgb) for p in (made.pixels_srgb, shuffled))
    # Noise: 40,000 pixels stand for all; one part in a hundred of the difference of two inks.
    assert colour_difference(reads_as(one), [reads_as(other)])[0] < 0.5


def test_permuted_pixels_keep_the_dominant_colours():
    # Three inks, no mixed edges: what is found may hang only on which pixels there are.
    inks = np.array([[30, 60, 120], [225, 215, 190], [180, 60, 50]], np.uint8)
    rng = np.random.default_rng(4)
    ordered = np.repeat(inks, [150_000, 120_000, 90_000], axis=0).reshape(600, 600, 3)
    shuffled = rng.permutation(ordered.reshape(-1, 3)).reshape(600, 600, 3)
    one, other = (
        dominant_colours(cells_of(cropped(sample(p)), lab_of_srgb)) for p in (ordered, shuffled)
    )
    assert len(one) == len(other) == 3
    for a, b in zip(one, other, strict=True):
        assert colour_difference(np.array(a.lab), [b.lab])[0] < 0.01  # pure inks stay pure
        # Drawing 40,000 of 360,000: standard error 0.24 points; two and a half of them.
        assert abs(a.share - b.share) < 0.006


@pytest.mark.parametrize("levels", [[0], [0, 155]])
def test_few_colours_are_no_trouble_when_the_camera_cannot_part_them(levels):
    # Many levels on the photo, one or two true colours.  Warnings are errors here.
    noise = np.random.default_rng(2).integers(0, 100, (120, 120, 3))
    field = np.array(levels)[np.arange(120) * len(levels) // 120][:, None, None]
    pixels = (field + noise).astype(np.uint8)

    def crushed(srgb):
        return lab_of_srgb(np.where(srgb > 0.5, 1.0, 0.0))

    cells = cells_of(cropped(sample(pixels)), crushed)
    assert len(cells.share) > 100
    found = dominant_colours(cells)
    assert len(found) == len(levels)
    assert sum(c.share for c in found) == pytest.approx(1)


def test_turning_the_cloth_keeps_its_colours():
    for made in prints_of(2, fine=False, seed=10, size=400):
        turned = np.ascontiguousarray(np.rot90(made.pixels_srgb))
        sets = [
            dominant_colours(cells_of(cropped(sample(p)), lab_of_srgb))
            for p in (made.pixels_srgb, turned)
        ]
        # Far below the noise floor of 5 between two crops of one fabric.
        assert earth_mover(*sets) < 1.5


def test_a_big_cloth_is_seen_in_tiles_and_a_small_one_whole():
    rng = np.random.default_rng(0)
    big = cropped(sample(np.zeros((1500, 1500, 3), np.uint8)))
    pixels, mask = close_look(big, rng)
    assert 150_000 < mask.sum() < 260_000
    assert pixels.shape[:2] == mask.shape
    small = cropped(sample(np.zeros((200, 300, 3), np.uint8)))
    assert close_look(small, rng)[0].shape == (200, 300, 3)
    assert len(spread_pixels(big, rng)) < 100_000


def test_two_colours_the_eye_takes_for_one_are_joined():
    one, other = np.array([90, 120, 160]), np.array([96, 126, 166])
    pixels = np.where((np.arange(200) % 40 < 20)[:, None, None], one, other)
    pixels = np.broadcast_to(pixels, (200, 200, 3)).astype(np.uint8)
    assert difference_table(lab_of_srgb(one[None] / 255), lab_of_srgb(other[None] / 255)) < 8
    assert len(dominant_colours(cells_of(cropped(sample(pixels)), lab_of_srgb))) == 1
