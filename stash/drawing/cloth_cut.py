"""A swatch snipped from a scrap's picture: cloth only, what lies round it left out."""

from __future__ import annotations

import math
from io import BytesIO

import shapely
from PIL import Image, ImageDraw

from stash.scrap import Picture
from stash.shape.outline import Outline, Ring

__all__ = ["snip"]

_PAPER = "#fbfaf7"
_REACH = 0.92  # of the largest circle in the scrap: its square's corners may stand out a little


def snip(jpeg: bytes, picture: Picture, outline: Outline) -> bytes:
    """Cut the largest plain square of cloth out of a scrap's picture; JPEG.

    Parameters
    ----------
    jpeg : bytes
        The scrap's picture, as its record describes it.
    picture : Picture
        Scale and place of the picture in the card's frame.
    outline : Outline
        The scrap, inches in the card's frame.
    """
    circle = shapely.maximum_inscribed_circle(outline.polygon, tolerance=0.05)
    (middle_x, middle_y), reach = circle.coords[0], circle.length * _REACH
    image = Image.open(BytesIO(jpeg)).convert("RGB")
    cloth = Image.new("L", image.size, 0)
    draw = ImageDraw.Draw(cloth)
    draw.polygon(_on_picture(picture, outline.points), fill=255)
    for hole in outline.holes:
        draw.polygon(_on_picture(picture, hole), fill=0)
    sheet = Image.new("RGB", image.size, _PAPER)
    sheet.paste(image, mask=cloth)
    ((x, y),) = _on_picture(picture, ((middle_x, middle_y),))
    half = max(4.0, reach * picture.px_per_in)
    box = (math.floor(x - half), math.floor(y - half), math.ceil(x + half), math.ceil(y + half))
    out = BytesIO()
    sheet.crop(box).save(out, "JPEG", quality=90)
    return out.getvalue()


def _on_picture(picture: Picture, ring: Ring) -> list[tuple[float, float]]:
    return [
        ((x - picture.left_in) * picture.px_per_in, (y - picture.top_in) * picture.px_per_in)
        for x, y in ring
    ]
