"""Cloth from a picture of the cloth alone, on cloth drawn here with known colours and repeat."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from stash.colour.appearance import PrintKind
from stash.colour.difference import colour_difference
from stash.colour.spaces import lab_of_srgb
from stash.errors import MeasureError
from stash.photo.cloth_picture import pictured_cloth
from stash.photo.files.reading import Photo, read_photo

NAVY, CREAM = (31, 63, 122), (244, 241, 234)


def striped(width_px: int, height_px: int, *, repeat_px: float, lines_deg: float) -> Photo:
    """Draw navy and cream stripes of equal width; lines counter-clockwise from x, y up."""
    y, x = np.mgrid[:height_px, :width_px]
    turn = np.radians(lines_deg)
    across = -np.sin(turn) * x - np.cos(turn) * y
    pixels = np.where((across / repeat_px % 1 < 0.5)[..., None], NAVY, CREAM).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "PNG")
    return read_photo(out.getvalue(), name="stripes.png")


def test_a_stripe_has_its_colours_its_direction_and_its_repeat():
    photo = striped(500, 400, repeat_px=25, lines_deg=30)
    looks = pictured_cloth(photo, (9, 9), px_per_in=50).appearance
    assert (looks.kind, looks.error_de00, looks.absolute) == (PrintKind.STRIPE, 1.5, True)
    assert looks.direction_deg == pytest.approx(30, abs=2)
    assert looks.repeat_in == pytest.approx(0.5, abs=0.02)
    drawn = lab_of_srgb(np.array([NAVY, CREAM]) / 255)
    for one in looks.colours:
        assert one.share == pytest.approx(0.5, abs=0.05)
        assert min(colour_difference(np.array(one.lab), drawn)) < 1


def test_without_a_scale_no_repeat_is_claimed():
    looks = pictured_cloth(striped(500, 400, repeat_px=25, lines_deg=30), (9, 9)).appearance
    assert looks.kind is PrintKind.STRIPE
    assert (looks.repeat_in, looks.repeat_sure) == (None, False)


@pytest.mark.parametrize("size_in", [(4, 3), (18, 22), (40, 2.5)])
def test_the_scrap_s_picture_is_as_large_as_the_scrap_and_to_scale(size_in):
    # Upright stripes, half an inch to the repeat; the picture shows 10 x 8 in of the cloth.
    cloth = pictured_cloth(striped(500, 400, repeat_px=25, lines_deg=90), size_in, px_per_in=50)
    shown = np.asarray(Image.open(io.BytesIO(cloth.picture_jpeg)).convert("L")).astype(float)
    assert shown.shape[::-1] == pytest.approx([side * cloth.px_per_in for side in size_in], abs=1)
    line = shown.mean(axis=0) - shown.mean()
    repeats = int(np.abs(np.fft.rfft(line)).argmax())
    assert repeats == pytest.approx(size_in[0] / 0.5, rel=0.07)
    assert np.ptp(line) > 50  # still navy and cream, no grey of a picture laid wrongly


@pytest.mark.parametrize("px_per_in", [0, -50, 1e6, float("nan")])
def test_a_scale_that_no_picture_of_cloth_has_is_refused(px_per_in):
    with pytest.raises(MeasureError, match="pixels to the inch"):
        pictured_cloth(striped(80, 80, repeat_px=25, lines_deg=0), (9, 9), px_per_in=px_per_in)
