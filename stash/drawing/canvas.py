"""A sheet of flat shapes, pictures and lettering, written as PNG or as SVG."""

from __future__ import annotations

import base64
import io
from dataclasses import dataclass, field
from html import escape
from typing import Literal

from PIL import Image, ImageDraw

from stash.drawing.lettering import letter, letter_width

__all__ = ["INK", "PALE_INK", "RULE", "Canvas", "png_of", "svg_of"]

INK, PALE_INK, RULE, PAPER = "#22262b", "#5c646d", "#c9ced3", "#ffffff"
_FRAME = "#8b9299"
_FONT = "Open Sans, Segoe UI, Helvetica, Arial, sans-serif"
Align = Literal["left", "middle", "right"]


@dataclass(frozen=True, slots=True)
class _Rect:
    x: float
    y: float
    width: float
    height: float
    fill: str
    stroke: str


@dataclass(frozen=True, slots=True)
class _Line:
    points: tuple[float, float, float, float]
    fill: str


@dataclass(frozen=True, slots=True)
class _Text:
    x: float
    y: float
    text: str
    size: float
    fill: str
    align: Align


@dataclass(frozen=True, slots=True)
class _Picture:
    x: float
    y: float
    width: float
    height: float
    image: Image.Image


@dataclass
class Canvas:
    """A white sheet; units are pixels of a screen, y grows downwards."""

    width: float
    height: float
    shapes: list[_Rect | _Line | _Text | _Picture] = field(default_factory=list)

    def rect(self, x: float, y: float, width: float, height: float, *, fill: str) -> None:
        """Fill a rectangle."""
        self.shapes.append(_Rect(x, y, width, height, fill, ""))

    def frame(self, x: float, y: float, width: float, height: float) -> None:
        """Draw a thin frame, so that a pale colour ends somewhere on white paper."""
        self.shapes.append(_Rect(x, y, width, height, "", _FRAME))

    def line(self, x0: float, y0: float, x1: float, y1: float, *, fill: str = RULE) -> None:
        """Draw a thin line."""
        self.shapes.append(_Line((x0, y0, x1, y1), fill))

    def picture(self, x: float, y: float, width: float, height: float, image: Image.Image) -> None:
        """Lay a picture into a rectangle."""
        self.shapes.append(_Picture(x, y, width, height, image))

    def text(
        self,
        at: tuple[float, float],
        text: str,
        *,
        size: float,
        fill: str = INK,
        align: Align = "left",
        width: float | None = None,
    ) -> None:
        """Write a line; ``at`` is its top. What is longer than ``width`` ends in three dots."""
        shown = text if width is None else _shortened(text, size, width)
        self.shapes.append(_Text(*at, shown, size, fill, align))


def _shortened(text: str, size: float, width: float) -> str:
    if letter_width(text, round(size)) <= width:
        return text
    while text and letter_width(text + "...", round(size)) > width:
        text = text[:-1]
    return text.rstrip() + "..."


def png_of(canvas: Canvas, *, scale: float = 2.0) -> bytes:
    """Write the sheet as PNG, ``scale`` pixels to the unit (2 prints well)."""
    size = (round(canvas.width * scale), round(canvas.height * scale))
    image = Image.new("RGB", size, PAPER)
    draw = ImageDraw.Draw(image)
    for shape in canvas.shapes:
        _paint(image, draw, shape, scale)
    out = io.BytesIO()
    image.save(out, "PNG", compress_level=1, dpi=(96 * scale, 96 * scale))
    return out.getvalue()


def _paint(
    image: Image.Image,
    draw: ImageDraw.ImageDraw,
    shape: _Rect | _Line | _Text | _Picture,
    scale: float,
) -> None:
    if isinstance(shape, _Rect):
        corners = [round(v * scale) for v in (shape.x, shape.y)]
        far = [round(v * scale) - 1 for v in (shape.x + shape.width, shape.y + shape.height)]
        if far[0] >= corners[0] and far[1] >= corners[1]:
            box = (corners[0], corners[1], far[0], far[1])
            draw.rectangle(box, fill=shape.fill or None, outline=shape.stroke or None)
    elif isinstance(shape, _Line):
        draw.line([v * scale for v in shape.points], fill=shape.fill, width=round(1.2 * scale))
    elif isinstance(shape, _Text):
        at = (shape.x * scale, shape.y * scale)
        size_px = round(shape.size * scale)
        letter(draw, at, shape.text, size_px=size_px, fill=shape.fill, align=shape.align)
    else:
        size = (max(1, round(shape.width * scale)), max(1, round(shape.height * scale)))
        fitted = shape.image
        if fitted.size != size:
            fitted = fitted.resize(size, Image.Resampling.LANCZOS, reducing_gap=2.0)
        image.paste(fitted, (round(shape.x * scale), round(shape.y * scale)))


def svg_of(canvas: Canvas) -> bytes:
    """Write the sheet as SVG; pictures lie inside it as JPEG."""
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{canvas.width:g}" '
        f'height="{canvas.height:g}" viewBox="0 0 {canvas.width:g} {canvas.height:g}" '
        f'font-family="{_FONT}">',
        f'<rect width="100%" height="100%" fill="{PAPER}"/>',
        *(_element(shape) for shape in canvas.shapes),
        "</svg>",
    ]
    return "\n".join(lines).encode()


def _element(shape: _Rect | _Line | _Text | _Picture) -> str:
    if isinstance(shape, _Line):
        x0, y0, x1, y1 = shape.points
        return f'<path d="M{x0:g} {y0:g}L{x1:g} {y1:g}" stroke="{shape.fill}" stroke-width="1.2"/>'
    if isinstance(shape, _Text):
        anchor = {"left": "start", "middle": "middle", "right": "end"}[shape.align]
        return (
            f'<text x="{shape.x:g}" y="{shape.y + 0.93 * shape.size:g}" '
            f'font-size="{shape.size:g}" fill="{shape.fill}" text-anchor="{anchor}">'
            f"{escape(shape.text)}</text>"
        )
    box = f'x="{shape.x:g}" y="{shape.y:g}" width="{shape.width:g}" height="{shape.height:g}"'
    if isinstance(shape, _Rect):
        stroke = f' stroke="{shape.stroke}" stroke-width="1"' if shape.stroke else ""
        return f'<rect {box} fill="{shape.fill or "none"}"{stroke}/>'
    out = io.BytesIO()
    shape.image.save(out, "JPEG", quality=88)
    data = base64.b64encode(out.getvalue()).decode()
    return f'<image {box} preserveAspectRatio="none" href="data:image/jpeg;base64,{data}"/>'
