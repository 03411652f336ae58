"""The whole quilt as it will hang: each piece cut from its real swatch."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import cos, radians, sin

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFilter

from stash.colour.spaces import Lab, srgb_of_lab
from stash.quilt.pattern import Pattern, Place
from stash.quilt.plan import CropPlace, Quilt, QuiltPiece

__all__ = ["PictureOf", "hung", "quilt_image"]

PictureOf = Callable[[str], bytes]

_WALL = (238, 235, 229)
_NO_CLOTH = (214, 210, 202)  # of a piece nothing is chosen for
_LONG_SIDE_PX = 2000
_SMOOTH = 3  # sub-pixels each way at the edges of a piece
_SEAM_SHADE = 0.22  # how much the ditch of a seam darkens the cloth
_SOFT_SHADOW = 0.28


@dataclass(frozen=True)
class _Sheet:
    """Quilt inches to pixels of the picture, y down."""

    px_per_in: float
    length_in: float

    def px(self, x: float, y: float) -> tuple[float, float]:
        """Give the pixel of a point of the quilt, inches; rows of pixels run downwards."""
        return (x * self.px_per_in, (self.length_in - y) * self.px_per_in)


def quilt_image(
    quilt: Quilt,
    pattern: Pattern,
    picture_of: PictureOf | None = None,
    *,
    long_side_px: int = _LONG_SIDE_PX,
) -> Image.Image:
    """Draw the finished top.

    Parameters
    ----------
    quilt : Quilt
        With its pieces; without a layout they lie in the order they were allotted, and without
        pieces the places stay empty.
    pattern : Pattern
        Its shapes.
    picture_of : callable, optional
        Gives the bytes of a scrap's picture by its name; without it, or where a piece has no
        picture, its reads-as colour is drawn.
    long_side_px : int
        Pixels along the longer side.

    Returns
    -------
    PIL image, mode RGBA
        Transparent outside the quilt.
    """
    width_in, length_in = pattern.size_in
    sheet = _Sheet(long_side_px / max(width_in, length_in), length_in)
    size = (round(width_in * sheet.px_per_in), round(length_in * sheet.px_per_in))
    top = Image.new("RGB", size, _WALL)
    cover = Image.new("L", size, 0)
    seams = Image.new("L", size, 0)
    swatches = _Swatches(picture_of, sheet.px_per_in)
    for number, place in enumerate(pattern.places):
        piece = _piece_at(quilt, number)
        box, mask = _mask(place, sheet, size)
        cloth = swatches.cloth(piece, place, sheet, box)
        top.paste(cloth, box[:2], mask)
        # Masks of neighbours add up to full cover along their seam.
        cover.paste(ImageChops.add(cover.crop(box), mask), box[:2])
        points = [sheet.px(x, y) for x, y in place.outline]
        line = max(1, round(sheet.px_per_in / 14))
        ImageDraw.Draw(seams).line([*points, points[0]], fill=255, width=line)
    shaded = _sewn(top, seams, sheet.px_per_in)
    shaded.putalpha(cover.point(lambda value: min(255, value * 2) if value < 250 else 255))
    return shaded


def _piece_at(quilt: Quilt, number: int) -> QuiltPiece | None:
    order: Sequence[int] = quilt.piece_at or range(len(quilt.pieces))
    return quilt.pieces[order[number]] if number < len(order) else None


def _mask(
    place: Place, sheet: _Sheet, size: tuple[int, int]
) -> tuple[tuple[int, int, int, int], Image.Image]:
    points = [sheet.px(x, y) for x, y in place.outline]
    left = max(0, int(min(x for x, _ in points)))
    upper = max(0, int(min(y for _, y in points)))
    right = min(size[0], int(max(x for x, _ in points)) + 1)
    lower = min(size[1], int(max(y for _, y in points)) + 1)
    large = Image.new("L", ((right - left) * _SMOOTH, (lower - upper) * _SMOOTH), 0)
    moved = [((x - left) * _SMOOTH, (y - upper) * _SMOOTH) for x, y in points]
    ImageDraw.Draw(large).polygon(moved, fill=255)
    mask = large.resize((right - left, lower - upper), Image.Resampling.BOX)
    # A pixel shared by two pieces must not let the wall through: grow the later piece over it.
    return (left, upper, right, lower), mask.filter(ImageFilter.MaxFilter(3))


class _Swatches:
    """Cloth for the pieces: pictures are opened once and made small before they are turned."""

    def __init__(self, picture_of: PictureOf | None, px_per_in: float) -> None:
        self.picture_of, self.px_per_in = picture_of, px_per_in
        self.opened: dict[str, tuple[Image.Image, float]] = {}

    def cloth(
        self,
        piece: QuiltPiece | None,
        place: Place,
        sheet: _Sheet,
        box: tuple[int, int, int, int],
    ) -> Image.Image:
        """Draw a piece's cloth into its box of the sheet, left, upper, right, lower in pixels."""
        size = (box[2] - box[0], box[3] - box[1])
        if piece is None or piece.to_find:
            return Image.new("RGB", size, _NO_CLOTH)
        plain = Image.new("RGB", size, _rgb(piece.lab))
        crop = piece.crop
        if crop is None or not crop.picture or self.picture_of is None:
            return plain
        opened = self._opened(crop)
        if opened is None:
            return plain
        image, shrink = opened
        affine = _from_box_to_picture(crop, place, sheet, box, shrink)
        cloth = image.transform(size, Image.Transform.AFFINE, affine, Image.Resampling.BICUBIC)
        plain.paste(cloth.convert("RGB"), mask=cloth.getchannel("A"))
        return plain

    def _opened(self, crop: CropPlace) -> tuple[Image.Image, float] | None:
        known = self.opened.get(crop.picture)
        if known is None:
            data = self.picture_of(crop.picture) if self.picture_of else b""
            if not data:
                return None
            image = Image.open(io.BytesIO(data)).convert("RGBA")
            factor = max(1, int(crop.px_per_in * crop.growth / self.px_per_in))
            known = (image.reduce(factor), 1.0 / factor)
            self.opened[crop.picture] = known
        return known


def _from_box_to_picture(
    crop: CropPlace, place: Place, sheet: _Sheet, box: tuple[int, int, int, int], shrink: float
) -> tuple[float, float, float, float, float, float]:
    """Give the six numbers that carry a pixel of the box to a pixel of the swatch.

    Box pixel -> quilt inches -> template inches (turned back) -> scrap inches (turned and grown
    as the piece is cut) -> picture pixels.
    """
    turn = radians(crop.angle_deg - place.turn_deg)
    scale = crop.growth / sheet.px_per_in
    along, aside = cos(turn) * scale, sin(turn) * scale
    # Scrap inches of the box's upper left pixel corner.
    dx = box[0] / sheet.px_per_in - place.x
    dy = sheet.length_in - box[1] / sheet.px_per_in - place.y
    x = crop.x + crop.growth * (cos(turn) * dx - sin(turn) * dy)
    y = crop.y + crop.growth * (sin(turn) * dx + cos(turn) * dy)
    px = crop.px_per_in * shrink
    # One pixel right is +along in x and +aside in y; one pixel down is the quilt's -y.
    return (
        along * px, aside * px, (x - crop.left_in) * px,
        -aside * px, along * px, (crop.top_in - y) * px,
    )  # fmt: skip


def _rgb(lab: Lab) -> tuple[int, int, int]:
    red, green, blue = (round(float(v) * 255) for v in srgb_of_lab(np.array(lab)))
    return (red, green, blue)


def _sewn(top: Image.Image, seams: Image.Image, px_per_in: float) -> Image.Image:
    """Let the seams lie in a soft ditch, as they do once pressed and quilted."""
    soft = seams.filter(ImageFilter.GaussianBlur(max(0.6, px_per_in / 22)))
    shade = soft.point(lambda value: int(value * _SEAM_SHADE))
    dark = Image.new("RGB", top.size, (30, 28, 26))
    return Image.composite(dark, top, shade).convert("RGBA")


def hung(quilt: Image.Image) -> Image.Image:
    """Hang the quilt on the wall, with the shadow it throws."""
    margin = round(max(quilt.size) * 0.06)
    size = (quilt.width + 2 * margin, quilt.height + 2 * margin)
    wall = Image.new("RGB", size, _WALL)
    shadow = Image.new("L", size, 0)
    drop = max(2, margin // 9)
    shadow.paste(quilt.getchannel("A"), (margin + drop // 2, margin + drop))
    shadow = shadow.filter(ImageFilter.GaussianBlur(drop)).point(
        lambda value: int(value * _SOFT_SHADOW)
    )
    wall.paste((40, 36, 30), mask=shadow)
    wall.paste(quilt, (margin, margin), quilt)
    return wall
