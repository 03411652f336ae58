"""A swatch snipped from a scrap's picture: cloth only, what lies round it left out."""

from __future__ import annotations

import math
from io import BytesIO

import numpy as np
import shapely
from PIL import Image, ImageDraw

from stash.scrap import Picture
from stash.shape.plane.outline import Outline, Ring

__all__ = ["cloth_of", "snip", "square_of", "widest_square_in"]

_PAPER = "#fbfaf7"
_SQUARE_PX = 320
_TURNED_PX = 60  # half a side of the copy that is turned to find out
_TURN_STEP_DEG = 2
_LINED = 1.6  # times the usual difference of rows that tells a figure has a direction (judgement)
_REACH = 0.92  # of the largest circle in the scrap: its square's corners may stand out a little


def cloth_of(jpeg: bytes, picture: Picture, outline: Outline) -> tuple[Image.Image, Image.Image]:
    """Give a scrap's picture, and a mask of it that is 255 on the cloth and 0 elsewhere."""
    image = Image.open(BytesIO(jpeg)).convert("RGB")
    cloth = Image.new("L", image.size, 0)
    draw = ImageDraw.Draw(cloth)
    draw.polygon(_on_picture(picture, outline.points), fill=255)
    for hole in outline.holes:
        draw.polygon(_on_picture(picture, hole), fill=0)
    return image, cloth


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
    image, cloth = cloth_of(jpeg, picture, outline)
    sheet = Image.new("RGB", image.size, _PAPER)
    sheet.paste(image, mask=cloth)
    ((x, y),) = _on_picture(picture, ((middle_x, middle_y),))
    half = max(4.0, reach * picture.px_per_in)
    box = (math.floor(x - half), math.floor(y - half), math.ceil(x + half), math.ceil(y + half))
    out = BytesIO()
    sheet.crop(box).save(out, "JPEG", quality=90)
    return out.getvalue()


def widest_square_in(outline: Outline) -> float:
    """Give the side of the largest plain square that ``square_of`` cuts at any turn, inches."""
    circle = shapely.maximum_inscribed_circle(outline.polygon, tolerance=0.05)
    return float(circle.length) * 2**0.5


def square_of(jpeg: bytes, picture: Picture, outline: Outline, side_in: float) -> bytes:
    """Cut a square of cloth of a given side, its figure turned level; JPEG.

    Squares of one side show several scraps at one scale, and level figures are compared more
    easily. Which way up a figure stands is not told from its picture.
    """
    circle = shapely.maximum_inscribed_circle(outline.polygon, tolerance=0.05)
    image, cloth = cloth_of(jpeg, picture, outline)
    (middle,) = _on_picture(picture, (circle.coords[0],))
    sheet = Image.new("RGB", image.size, _PAPER)
    sheet.paste(image, mask=cloth)
    half = side_in * picture.px_per_in / 2
    turn_deg = _level_turn_deg(image.convert("L"), middle, circle.length * picture.px_per_in)
    turned = sheet.rotate(turn_deg, Image.Resampling.BICUBIC, center=middle, fillcolor=_PAPER)
    x, y = middle
    box = (round(x - half), round(y - half), round(x + half), round(y + half))
    out = BytesIO()
    turned.crop(box).resize((_SQUARE_PX,) * 2, Image.Resampling.BICUBIC).save(
        out, "JPEG", quality=90
    )
    return out.getvalue()


def _level_turn_deg(grey: Image.Image, middle: tuple[float, float], reach_px: float) -> float:
    """Say how far to turn a picture so that its figure runs level and upright; 0 without rows.

    Of all turns, the one at which rows and columns differ most in their means; the stronger lines
    then stand upright, so that two pieces of one stripe or plaid come out alike.
    """
    x, y = middle
    reach = max(6, round(reach_px))
    patch = grey.crop((round(x) - reach, round(y) - reach, round(x) + reach, round(y) + reach))
    patch = patch.resize((2 * _TURNED_PX,) * 2, Image.Resampling.BILINEAR)
    within = slice(round(_TURNED_PX * (1 - 0.5**0.5)), round(_TURNED_PX * (1 + 0.5**0.5)))
    spreads = []
    for turn_deg in range(0, 90, _TURN_STEP_DEG):
        turned = np.asarray(patch.rotate(turn_deg, Image.Resampling.BILINEAR), dtype=np.float64)
        light = turned[within, within]
        spreads.append((light.mean(axis=0).var(), light.mean(axis=1).var()))
    upright, level = np.array(spreads).T
    both = upright + level
    best = int(np.argmax(both))
    if both[best] < _LINED * np.median(both):
        return 0.0
    turn = best * _TURN_STEP_DEG
    return float(turn if upright[best] >= level[best] else turn + 90)


def _on_picture(picture: Picture, ring: Ring) -> list[tuple[float, float]]:
    return [
        ((x - picture.left_in) * picture.px_per_in, (picture.top_in - y) * picture.px_per_in)
        for x, y in ring
    ]
