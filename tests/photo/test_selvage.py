"""A selvage is a band of one colour, as straight as the edge it lies along."""

from collections.abc import Callable

import numpy as np
import pytest

from stash.colour.appearance import PrintKind
from stash.colour.difference import colour_difference
from stash.demo.laying import Leftover
from stash.demo.scene import SceneSpec, render_scene
from stash.photo.cards.card import chart24
from stash.photo.files.reading import read_photo
from stash.photo.measuring import measure_photo
from stash.photo.selvage import Selvage, find_selvage
from stash.shape.plane.outline import Outline, outline_of

PX_PER_IN = 80
SCRAP = outline_of([(0, 0), (5, 0), (5, 4), (0, 4)], error_in=0.02)


def selvage_deg(pixels: np.ndarray, outline: Outline, view: Callable) -> float | None:
    found = find_selvage(pixels, outline, view)
    return found and found.deg


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


def test_the_band_that_is_no_cloth_to_describe_ends_where_the_print_begins() -> None:
    found = find_selvage(banded(), SCRAP, to_pixels)
    assert isinstance(found, Selvage)
    left, low, right, high = found.band.bounds
    assert left == pytest.approx(4.6, abs=0.12)  # 0.4 in wide; no thread of it is left
    assert left < 4.6
    assert (low, right, high) == (pytest.approx(0, abs=0.1), pytest.approx(5, abs=0.1),
                                  pytest.approx(4, abs=0.1))  # fmt: skip


def test_plain_cloth_with_a_selvage_is_plain_and_of_its_own_colour() -> None:
    laid = Leftover("night watch", "rectangle", 5.0, selvage_in=0.5, selvage="pinholed")
    scene = render_scene(SceneSpec((laid,), board_in=(9.0, 7.0), size_px=(1200, 900)), seed=2)
    measured = measure_photo(read_photo(scene.jpeg(), name="table"), [chart24("chart", 0.55)])
    (look,) = (scrap.appearance for scrap in measured.scraps)
    (true,) = scene.truth.scraps
    assert look.kind is PrintKind.PLAIN
    # 13 where the selvage is counted in; nobody sews it in
    assert float(colour_difference(look.reads_as, [true.reads_as])[0]) < look.error_de00
    assert look.selvage_deg == pytest.approx(true.thread_deg, abs=1)
