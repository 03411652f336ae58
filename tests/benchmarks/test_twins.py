"""How long it takes to ask of a new scrap whether its cloth is here already, of 10,000.

The 10,000 are imprints of invented cloth, each with its colours and contrasts moved as other dyes
would, so that a new cloth has as many near ones as in a stash, not none as among random numbers.
"""

from __future__ import annotations

import numpy as np
import pytest

from stash.colour.imprint.comparing import ROUGH_LIMIT, apart
from stash.colour.imprint.differences import rough_difference
from stash.colour.imprint.layout import INKS, LENGTH, PART
from stash.colour.imprint.taking import imprint_of
from tests.colour.test_imprint import NAMES, imprint

FABRICS = 10_000


@pytest.fixture(scope="module")
def cloth() -> tuple[np.ndarray, np.ndarray]:
    """A picture as large as the stash keeps them, 4 in wide, all of it cloth."""
    rng = np.random.default_rng(1)
    pixels = rng.integers(0, 255, (512, 512, 3), dtype=np.uint8)
    return pixels, np.ones((512, 512), dtype=bool)


@pytest.fixture(scope="module")
def stash_of_cloth() -> np.ndarray:
    """Imprints of 10,000 cloths: every invented one in many other dyes."""
    rng = np.random.default_rng(2)
    ones = np.array([imprint(name, seed=at) for at, name in enumerate(NAMES)])
    many = ones[rng.integers(0, len(ones), FABRICS)].copy()
    dye = rng.normal(0, (14, 12, 12), (FABRICS, 3)).astype(np.float32)
    many[:, PART["mean"]] += dye
    many[:, PART["inks"]].reshape(FABRICS, INKS, 4)[..., :3] += dye[:, None]
    for name in ("light", "red-green", "yellow-blue"):
        many[:, PART[name]] += rng.normal(0, 0.25, (FABRICS, 1)).astype(np.float32)
    return many


def test_taking_an_imprint(benchmark, cloth) -> None:
    pixels, mask = cloth
    assert benchmark(imprint_of, pixels, mask, 128.0).shape == (LENGTH,)


def test_comparing_an_imprint_with_ten_thousand(benchmark, stash_of_cloth) -> None:
    one = imprint(NAMES[len(NAMES) // 2], seed=99)
    near = int((rough_difference(one, stash_of_cloth) <= ROUGH_LIMIT).sum())
    benchmark.extra_info["compared closely"] = near
    assert near >= 200
    assert benchmark(apart, one, stash_of_cloth).shape == (FABRICS,)
