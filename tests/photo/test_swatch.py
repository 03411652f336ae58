"""Pictures of scraps show the colours the calibration gives."""

import cv2
import numpy as np
import pytest

from stash.colour.spaces import linear_of_srgb, srgb_of_linear
from stash.photo.swatch import colour_table, cut_swatch
from stash.shape.plane.outline import Outline


class SeenFromAbove:
    """A table photographed straight from above, its origin in the photo's lower left corner."""

    def __init__(self, scale: float, high_in: float) -> None:
        self.scale, self.high_in = scale, high_in

    def px_per_in(self, _at_in) -> float:
        return self.scale

    def to_pixels(self, inches: np.ndarray) -> np.ndarray:
        return (inches * [1, -1] + [0, self.high_in]) * self.scale - 0.5


def lut_of(change, size: int = 17) -> np.ndarray:
    """Tabulate a change of colour (n, 3) -> (n, 3), indexed blue, green, red."""
    steps = np.linspace(0, 1, size)
    blue, green, red = np.meshgrid(steps, steps, steps, indexing="ij")
    return change(np.stack([red, green, blue], axis=-1)).astype(np.float32)


def every_colour(count: int = 20_000) -> np.ndarray:
    return np.random.default_rng(3).integers(0, 256, (1, count, 3), dtype=np.uint8)


def test_a_table_that_changes_nothing_leaves_every_colour_within_a_level():
    pixels = every_colour()
    true = colour_table(lut_of(lambda rgb: rgb)).applied_bgr(pixels)[..., ::-1]
    # Rounding of an entry, half a level, and of the cell's place, half a level.
    assert np.abs(true.astype(int) - pixels).max() <= 1


def test_a_table_gives_the_calibration_s_colours_within_three_levels():
    turn = np.array([[1.2, -0.15, 0.0], [-0.05, 0.9, 0.05], [0.02, -0.1, 1.1]])

    def change(rgb):
        return srgb_of_linear(np.clip(linear_of_srgb(rgb) @ turn, 0.0, 1.0))

    pixels = every_colour()
    true = colour_table(lut_of(change, 33)).applied_bgr(pixels)[..., ::-1].astype(float)
    wanted = 255 * change(pixels / 255.0)
    off = np.abs(true - wanted)
    # A cell is four levels wide and followed at slope one: two levels from its middle at a slope
    # of two, and the gaps of the coarse table on top.  No shift of the whole picture.
    assert np.quantile(off, 0.99) <= 3
    assert np.abs((true - wanted).mean(axis=(0, 1))).max() < 0.5


@pytest.mark.parametrize("scale", [60.0, 120.0, 300.0])
def test_a_swatch_lies_where_it_says_at_any_scale(scale):
    side = round(6 * scale)
    photo = np.full((side, side, 3), 90, np.uint8)
    low, high, upper = (round(inches * scale) for inches in (1.5, 4.5, 1.0))
    photo[upper:high, low:high] = (200, 60, 40)
    left, right, top = low / scale, high / scale, 6 - upper / scale
    corners = ((left, 6 - right), (right, 6 - right), (right, top), (left, top))
    unchanged = colour_table(lut_of(lambda rgb: rgb))
    swatch = cut_swatch(photo, Outline(corners), SeenFromAbove(scale, side / scale), unchanged)
    picture = cv2.imdecode(np.frombuffer(swatch.jpeg, np.uint8), cv2.IMREAD_COLOR)
    red = np.flatnonzero(picture[picture.shape[0] // 2, :, 2] > 145)
    # A pixel of the photo or of the picture is as near as an edge can be told.
    near = 1.5 / min(scale, swatch.px_per_in)
    assert swatch.left_in + red[0] / swatch.px_per_in == pytest.approx(left, abs=near)
    assert swatch.left_in + (red[-1] + 1) / swatch.px_per_in == pytest.approx(right, abs=near)
    rows = np.flatnonzero(picture[:, picture.shape[1] // 2, 2] > 145)
    assert swatch.top_in - rows[0] / swatch.px_per_in == pytest.approx(top, abs=near)
    middle = picture[picture.shape[0] // 2, picture.shape[1] // 2].astype(float)
    assert middle == pytest.approx([40, 60, 200], abs=6)
