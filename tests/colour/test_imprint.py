"""An imprint holds still for another photo of the cloth, and moves for another cloth."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from stash.colour.appearance import PrintKind
from stash.colour.imprint.comparing import apart
from stash.colour.imprint.differences import SETTINGS
from stash.colour.imprint.inks import ink_differences
from stash.colour.imprint.layout import INKS, LENGTH, PART
from stash.colour.imprint.taking import imprint_of
from stash.colour.imprint.trees import same_cloth_trees
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


def test_of_twelve_stripes_and_plaids_eleven_are_other_cloth_at_twice_the_scale() -> None:
    lined = [name for name in NAMES if FABRICS[name].kind in (PrintKind.STRIPE, PrintKind.PLAID)]
    assert len(lined) == 12
    asked = [
        name
        for at, name in enumerate(lined)
        if apart(imprint(name, seed=at), imprint(name, seed=at + 50, scale=2.0))[0] <= 1.0
    ]
    assert len(asked) <= 1, asked


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


def test_a_speck_of_cloth_has_an_imprint_of_numbers() -> None:
    mask = np.zeros((9, 9), bool)
    mask[4, 4] = True
    speck = imprint_of(np.full((9, 9, 3), 120, np.uint8), mask, 48.0)
    assert np.isfinite(speck).all()
    assert apart(speck, speck)[0] == 0.0


def two_inks(ground_share: float) -> np.ndarray:
    """A cream cloth with a navy bar over the rest of it."""
    pixels = np.full((160, 160, 3), (240, 232, 214), np.uint8)
    pixels[:, round(160 * ground_share) :] = (30, 44, 96)
    return imprint_of(pixels, np.ones((160, 160), bool), 48.0)[PART["inks"]]


def test_two_pieces_of_one_large_print_have_the_same_inks_however_much_figure_is_in_view() -> None:
    some, more = two_inks(0.85).reshape(INKS, 4), two_inks(0.6).reshape(INKS, 4)
    assert (some[:, 3] > 0).sum() == (more[:, 3] > 0).sum() == 2
    # Three columns of rim on either side and eight where the two mix are of no ink: of 146 columns
    # 129 are ground, and 89.
    assert some[:2, 3] == pytest.approx([129 / 146, 17 / 146], abs=0.02)
    assert more[:2, 3] == pytest.approx([89 / 146, 57 / 146], abs=0.02)
    found = ink_differences(some.ravel(), more.reshape(1, -1)).columns
    assert found["ground"][0] < 1
    assert found["inks, greater"][0] < 1
    assert found["inks without echo"][0] == 0


def test_less_alike_in_any_way_never_makes_two_cloths_more_alike() -> None:
    trees = same_cloth_trees()
    rng = np.random.default_rng(4)
    pairs = rng.uniform(0, 3, (60, len(trees.columns))).astype(np.float32)
    before = trees.sums(pairs)
    moved = 0.0
    for place, name in enumerate(trees.columns):
        further = pairs.copy()
        further[:, place] += rng.uniform(0.1, 20, len(pairs)).astype(np.float32)
        change = trees.sums(further) - before
        if name not in SETTINGS:
            assert change.max() <= 1e-5, name
            moved = min(moved, float(change.min()))
    assert moved < -1
