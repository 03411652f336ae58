"""A selvage is a band of one colour, as straight as the edge it lies along."""

import numpy as np
import pytest

from stash.photo.selvage import selvage_deg
from stash.shape.outline import outline_of

PX_PER_IN = 80
SCRAP = outline_of([(0, 0), (5, 0), (5, 4), (0, 4)], error_in=0.02)


def printed(seed: int = 3) -> np.ndarray:
    """Dots on dark cloth, 5 by 4 inches."""
    rng = np.random.default_rng(seed)
    rows, columns = np.mgrid[0 : 4 * PX_PER_IN, 0 : 5 * PX_PER_IN]
    cloth = np.full((*rows.shape, 3), (40, 60, 110), dtype=np.uint8)
    for x, y in rng.uniform(0, 5 * PX_PER_IN, (250, 2)):
        cloth[np.hypot(columns - x, rows - y) < 7] = (220, 120, 90)
    return cloth


def to_pixels(inches: np.ndarray) -> np.ndarray:
    """The scrap fills the picture; y up in inches, down in pixels."""
    return np.column_stack([inches[:, 0], 4 - inches[:, 1]]) * PX_PER_IN - 0.5


def test_a_pale_lettered_band_is_the_selvage() -> None:
    cloth = printed()
    band = slice(5 * PX_PER_IN - 32, None)  # along the right side, 0.4 inches wide
    cloth[:, band] = (228, 222, 205)
    for row in range(20, 300, 14):
        cloth[row : row + 5, -20:-12] = (30, 30, 30)
    assert selvage_deg(cloth, SCRAP, to_pixels) == pytest.approx(90)


@pytest.mark.parametrize("what", ["print", "plain", "half and half", "wavy border"])
def test_other_cloth_has_none(what: str) -> None:
    cloth = printed()
    if what == "plain":
        cloth[:] = (40, 60, 110)
    if what == "half and half":  # as wide as no selvage is
        cloth[:, 2 * PX_PER_IN :] = (228, 222, 205)
    if what == "wavy border":
        for row in range(len(cloth)):
            cloth[row, round(5 * PX_PER_IN - 32 + 16 * np.sin(row / 25)) :] = (228, 222, 205)
    assert selvage_deg(cloth, SCRAP, to_pixels) is None
