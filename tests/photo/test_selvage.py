"""A selvage is a band of one colour, as straight as the edge it lies along."""

import numpy as np
import pytest

from stash.photo.selvage import selvage_deg
from stash.shape.outline import Outline, outline_of

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


def askew(deg: float, error_in: float) -> Outline:
    """The scrap, the lower end of its right side seen too far out, as beside a shadow."""
    off = 4 * np.tan(np.radians(deg))
    return outline_of([(0, 0), (5 + off, 0), (5, 4), (0, 4)], error_in=error_in)


def banded() -> np.ndarray:
    """Cloth with a selvage along the right side, backing of its colour beyond."""
    cloth = np.pad(printed(), ((0, 0), (0, PX_PER_IN), (0, 0)), constant_values=225)
    cloth[:, 5 * PX_PER_IN - 32 : 5 * PX_PER_IN] = (228, 222, 205)
    return cloth


def test_where_the_edge_is_unsure_the_end_of_the_print_tells_the_direction() -> None:
    found = selvage_deg(banded(), askew(4, error_in=0.3), to_pixels)
    assert found == pytest.approx(90, abs=1)


def test_a_border_askew_to_a_sure_edge_is_no_selvage() -> None:
    assert selvage_deg(banded(), askew(4, error_in=0.02), to_pixels) is None


def test_shadow_between_the_outline_and_the_cloth_is_passed_over() -> None:
    cloth = banded()
    cloth[:, 5 * PX_PER_IN :] = (90, 90, 95)
    wide = outline_of([(0, 0), (5.2, 0), (5.2, 4), (0, 4)], error_in=0.25)
    assert selvage_deg(cloth, wide, to_pixels) == pytest.approx(90, abs=1)
