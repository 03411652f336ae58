"""The curve a quilter wants before choosing a template: fabrics against finished size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

from PIL import Image, ImageDraw

from stash.drawing.lettering import letter
from stash.units import format_inches

__all__ = ["CurvePoint", "draw_size_curve"]

_WIDTH_PX, _HEIGHT_PX, _MARGIN_PX = 1600, 900, 110
_PAPER, _INK, _SOFT = "#fbfaf7", "#22282e", "#8b9197"
_SURE, _MAYBE = "#2d6a72", "#c9b68e"


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """A finished size, inches; fabrics that belong and fit; borderline ones on top."""

    size_in: float
    belong: int
    borderline: int


def draw_size_curve(
    points: Sequence[CurvePoint], *, title: str, asked_in: float | None, unit: str = "in"
) -> bytes:
    """Draw the curve as a PNG; bars because a size either admits a fabric or does not.

    Parameters
    ----------
    points : sequence of CurvePoint
        By growing size.
    title : str
        What the curve is of.
    asked_in : float or None
        A size to mark.
    unit : str
        Sizes are written in ``in`` or ``cm``.
    """
    image = Image.new("RGB", (_WIDTH_PX, _HEIGHT_PX), _PAPER)
    draw = ImageDraw.Draw(image)
    letter(draw, (_MARGIN_PX, 36), title, size_px=34, fill=_INK)
    most = max([1, *(point.belong + point.borderline for point in points)])
    _draw_axis(draw, most)
    step = (_WIDTH_PX - 2 * _MARGIN_PX) / max(1, len(points))
    for index, point in enumerate(points):
        left = _MARGIN_PX + index * step
        _draw_bar(draw, (left + 0.12 * step, left + 0.88 * step), point, most)
        if len(points) <= 24 or index % (len(points) // 16) == 0:
            said = format_inches(point.size_in, unit=unit).removesuffix(" cm")
            _centred(draw, left + step / 2, _floor_px() + 12, said)
        if asked_in is not None and abs(point.size_in - asked_in) < 1e-6:
            draw.line([(left + step / 2, 110), (left + step / 2, _floor_px())], fill=_INK, width=2)
            _centred(draw, left + step / 2, 84, "asked")
    _draw_legend(draw)
    out = BytesIO()
    image.save(out, "PNG", optimize=True)
    return out.getvalue()


def _floor_px() -> int:
    return _HEIGHT_PX - _MARGIN_PX - 20


def _top_px(count: float, most: int) -> float:
    return _floor_px() - (count / most) * (_floor_px() - 130)


def _draw_axis(draw: ImageDraw.ImageDraw, most: int) -> None:
    step = max(1, round(most / 5))
    for count in range(0, most + 1, step):
        y = _top_px(count, most)
        draw.line([(_MARGIN_PX, y), (_WIDTH_PX - _MARGIN_PX, y)], fill="#e4e1d9", width=1)
        letter(draw, (_MARGIN_PX - 18, y - 14), str(count), size_px=22, fill=_SOFT, align="right")


def _draw_bar(
    draw: ImageDraw.ImageDraw, span: tuple[float, float], point: CurvePoint, most: int
) -> None:
    middle = _top_px(point.belong, most)
    top = _top_px(point.belong + point.borderline, most)
    if point.belong:
        draw.rectangle([span[0], middle, span[1], _floor_px()], fill=_SURE)
    if point.borderline:
        draw.rectangle([span[0], top, span[1], middle - 1], fill=_MAYBE, outline=_SURE)


def _centred(draw: ImageDraw.ImageDraw, x: float, y: float, text: str) -> None:
    letter(draw, (x, y), text, size_px=22, fill=_INK, align="middle")


def _draw_legend(draw: ImageDraw.ImageDraw) -> None:
    y = _HEIGHT_PX - 54
    draw.rectangle([_MARGIN_PX, y, _MARGIN_PX + 24, y + 24], fill=_SURE)
    letter(draw, (_MARGIN_PX + 34, y), "fabrics that belong", size_px=22, fill=_INK)
    draw.rectangle([_MARGIN_PX + 300, y, _MARGIN_PX + 324, y + 24], fill=_MAYBE, outline=_SURE)
    letter(draw, (_MARGIN_PX + 334, y), "look twice", size_px=22, fill=_INK)
    end = (_WIDTH_PX - _MARGIN_PX, y)
    letter(draw, end, "finished size, inches", size_px=22, fill=_SOFT, align="right")
