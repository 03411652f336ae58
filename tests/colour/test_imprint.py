"""An imprint holds still for another photo of the cloth, and moves for another cloth."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from stash.colour.appearance import PrintKind
from stash.colour.imprint import LENGTH, apart, imprint_of
from stash.colour.spaces import srgb_of_linear
from stash.demo.fabrics import FABRICS, TILE_PX_PER_IN, weave

NAMES = sorted(FABRICS)
SIDE_IN = 3.0


def photographed(
    name: str, *, seed: int, scale: float = 1.0, px_per_in: float = 80.0
) -> tuple[np.ndarray, np.ndarray]:
    """A piece of an invented cloth: turned, cut anywhere, lit 3 % off, blurred; and its mask."""
    rng = np.random.default_rng(seed)
    tile = weave(FABRICS[name])
    side = round(SIDE_IN * px_per_in)
    per = TILE_PX_PER_IN / px_per_in / scale
    angle = rng.uniform(0, 2 * np.pi)
    y, x = np.mgrid[0:side, 0:side].astype(np.float64)
    across = (np.cos(angle) * x - np.sin(angle) * y) * per + rng.uniform(0, 999)
    down = (np.sin(angle) * x + np.cos(angle) * y) * per + rng.uniform(0, 999)
    soft = cv2.blur(np.concatenate([tile] * 3, axis=1), (max(1, round(per)),) * 2)
    soft = soft[:, len(tile) : 2 * len(tile)]
    picked = soft[down.astype(int) % len(tile), across.astype(int) % len(tile)]
    lit = picked * rng.uniform(0.97, 1.03, 3)
    light = cv2.GaussianBlur(srgb_of_linear(lit.clip(0, 1)) * 255, (0, 0), rng.uniform(0.5, 1.2))
    noisy = light + rng.normal(0, 1.5, light.shape)
    mask = np.zeros((side, side), dtype=bool)
    mask[rng.integers(1, 40) :, rng.integers(1, 40) :] = True
    return noisy.clip(0, 255).astype(np.uint8), mask


def imprint(name: str, *, seed: int, scale: float = 1.0, px_per_in: float = 80.0) -> np.ndarray:
    pixels, mask = photographed(name, seed=seed, scale=scale, px_per_in=px_per_in)
    return imprint_of(pixels, mask, px_per_in)


def test_cloth_finds_its_other_photo_first_and_within_the_limit_nineteen_times_in_twenty() -> None:
    ones = np.array([imprint(name, seed=2 * at) for at, name in enumerate(NAMES)])
    others = np.array(
        [imprint(name, seed=2 * at + 1, px_per_in=110.0) for at, name in enumerate(NAMES)]
    )
    table = np.array([apart(one, others) for one in ones])
    assert np.mean(np.diag(table) <= 1.0) >= 0.95
    assert np.mean(table.argmin(axis=1) == np.arange(len(NAMES))) >= 0.95


def test_a_stripe_or_plaid_twice_as_large_is_another_cloth() -> None:
    lined = [name for name in NAMES if FABRICS[name].kind in (PrintKind.STRIPE, PrintKind.PLAID)]
    for at, name in enumerate(lined[:6]):
        one = imprint(name, seed=at)
        larger = imprint(name, seed=at + 50, scale=2.0)
        assert apart(one, larger)[0] > 1.0, name


def test_what_lies_round_the_cloth_does_not_matter() -> None:
    pixels, mask = photographed(NAMES[0], seed=1)
    other = pixels.copy()
    other[~mask] = (255, 0, 255)
    assert apart(imprint_of(pixels, mask, 80.0), imprint_of(other, mask, 80.0))[0] < 0.02


def test_a_difference_is_the_same_both_ways_and_none_from_itself() -> None:
    one, other = imprint(NAMES[0], seed=1), imprint(NAMES[1], seed=2)
    assert one.shape == (LENGTH,)
    assert apart(one, one)[0] == 0.0
    assert apart(one, other)[0] == pytest.approx(apart(other, one)[0])


def test_an_empty_mask_is_refused() -> None:
    with pytest.raises(ValueError, match="mask"):
        imprint_of(np.zeros((9, 9, 3), np.uint8), np.zeros((9, 9), bool), 80.0)
