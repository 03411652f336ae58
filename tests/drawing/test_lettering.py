"""Lettering of pictures."""

import numpy as np
import pytest
from PIL import Image, ImageDraw

from stash.drawing.lettering import letter, letter_width


def inked(text: str, align: str = "left", at: float = 40) -> np.ndarray:
    image = Image.new("L", (400, 60), 255)
    letter(ImageDraw.Draw(image), (at, 10), text, size_px=24, fill="black", align=align)
    return np.flatnonzero((np.asarray(image) < 128).any(axis=0))


@pytest.mark.parametrize("text", ["4½", "⅞", "3 5/16 in", "5¼ × 9⅛"])
def test_lettering_stays_within_its_stated_width(text):
    columns = inked(text)
    assert columns.min() >= 38
    assert columns.max() <= 40 + letter_width(text, 24) + 2


def test_a_fraction_is_narrower_than_its_digits_in_full():
    assert letter_width("⅞", 24) < letter_width("7/ 8", 24)


def test_right_aligned_lettering_ends_where_it_is_told():
    assert abs(inked("4½", "right", at=300).max() - 300) <= 4
