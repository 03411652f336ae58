"""How long it takes to ask of a new scrap whether its cloth is here already, of 10,000."""

from __future__ import annotations

import numpy as np
import pytest

from stash.colour.imprint.comparing import apart
from stash.colour.imprint.layout import LENGTH
from stash.colour.imprint.taking import imprint_of

FABRICS = 10_000


@pytest.fixture(scope="module")
def cloth() -> tuple[np.ndarray, np.ndarray]:
    """A picture as large as the stash keeps them, 4 in wide, all of it cloth."""
    rng = np.random.default_rng(1)
    pixels = rng.integers(0, 255, (512, 512, 3), dtype=np.uint8)
    return pixels, np.ones((512, 512), dtype=bool)


def test_taking_an_imprint(benchmark, cloth) -> None:
    pixels, mask = cloth
    assert benchmark(imprint_of, pixels, mask, 128.0).shape == (LENGTH,)


def test_comparing_an_imprint_with_ten_thousand(benchmark, cloth) -> None:
    rng = np.random.default_rng(2)
    others = rng.normal(0, 1, (FABRICS, LENGTH)).astype(np.float32)
    one = imprint_of(*cloth, 128.0)
    assert benchmark(apart, one, others).shape == (FABRICS,)
