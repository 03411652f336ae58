"""Swatches snipped from a scrap's picture."""

from io import BytesIO

import numpy as np
from PIL import Image

from stash.drawing.cloth_cut import snip
from stash.scrap import Picture
from stash.shape.plane.outline import outline_of


def jpeg_of(pixels: np.ndarray) -> bytes:
    out = BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=95)
    return out.getvalue()


def test_a_snip_shows_cloth_and_no_backing():
    # A 6 x 4 in picture at 40 px an inch: green backing, a 3 x 3 in red scrap, 2 in from its
    # left and 1 in from its upper edge.
    pixels = np.zeros((160, 240, 3), np.uint8)
    pixels[:] = (40, 160, 60)
    pixels[40:160, 80:200] = (170, 40, 50)
    outline = outline_of([(12, 6), (15, 6), (15, 9), (12, 9)])
    cut = snip(jpeg_of(pixels), Picture("0" * 64, 40.0, 10.0, 10.0), outline)
    seen = np.asarray(Image.open(BytesIO(cut)), dtype=int)
    # Little chroma of the backing's green is left anywhere: JPEG's own error is under 25.
    assert (seen[..., 0] - seen[..., 1]).min() > 60
    assert abs(seen.shape[0] - 3 * 40) < 14


def test_a_hole_is_left_out_of_a_snip():
    pixels = np.full((120, 120, 3), (170, 40, 50), np.uint8)
    pixels[50:70, 50:70] = (40, 160, 60)
    hole = [(1.2, 1.2), (1.8, 1.2), (1.8, 1.8), (1.2, 1.8)]
    outline = outline_of([(0, 0), (3, 0), (3, 3), (0, 3)], [hole])
    seen = np.asarray(
        Image.open(BytesIO(snip(jpeg_of(pixels), Picture("0" * 64, 40.0, 0.0, 3.0), outline))),
        dtype=int,
    )
    assert (seen[..., 1] - seen[..., 0]).max() < 40
