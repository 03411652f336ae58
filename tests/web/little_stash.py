"""A stash with invented scraps in it, for pages to show; colours and shapes come from a seed."""

from __future__ import annotations

import hashlib
import io
import math
import random

from PIL import Image, ImageDraw

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.colour.spaces import lab_of_hex
from stash.scrap import CardReport
from stash.shape.plane.outline import Outline, Point, outline_of
from stash.usecases.ports import PhotoToLog, ScrapToLog, Store

PX_PER_IN = 40
GROUNDS = (
    "#1f3f7a", "#2f8f8f", "#d9c29c", "#e2725b", "#27405c", "#7fb2b8", "#f1e8d6", "#143a3d",
    "#8c5a3c", "#c9d4dd", "#5b7fa6", "#b9472f", "#3f5d3a", "#e8c35a", "#6b4a7d", "#d98aa4",
    "#20242b", "#9aa3a8", "#0f6d78", "#efe3c0",
)  # fmt: skip
FIGURES = ("#f4efe2", "#d9c29c", "#7fb2b8", "#1f3f7a", "#e2725b", "#ffffff")


def fill_stash(store: Store, count: int, *, seed: int = 7) -> None:
    """Log one invented photo with that many scraps."""
    rng = random.Random(seed)
    data = b"an invented photo %d %d" % (seed, count)
    store.log_photo(
        PhotoToLog(
            sha256=hashlib.sha256(data).hexdigest(),
            file_name="invented.jpg",
            data=data,
            suffix=".jpg",
            card=CardReport("chart24", 1.1, 2.9),
            warnings=(),
            scraps=tuple(_scrap(rng, index) for index in range(count)),
        )
    )


def _scrap(rng: random.Random, index: int) -> ScrapToLog:
    outline = _outline(rng)
    ground, figure = GROUNDS[index % len(GROUNDS)], rng.choice(FIGURES)
    kind = rng.choice(list(PrintKind))
    share = 1.0 if kind is PrintKind.PLAIN else rng.uniform(0.6, 0.9)
    colours = [ColourShare(lab_of_hex(ground), share)]
    if share < 1:
        colours.append(ColourShare(lab_of_hex(figure), 1 - share))
    least_x, _, _, most_y = outline.bounds
    return ScrapToLog(
        outline=outline,
        appearance=Appearance(lab_of_hex(ground), tuple(colours), kind, error_de00=1.2),
        picture_jpeg=_picture(rng, outline, (ground, figure), kind),
        px_per_in=PX_PER_IN,
        left_in=least_x - 0.25,
        top_in=most_y + 0.25,
        place=rng.choice(("", "Blue tin", "Window shelf", "Drawer 3")),
    )


def _outline(rng: random.Random) -> Outline:
    wide, high = rng.uniform(3, 10), rng.uniform(3, 9)
    turn = rng.uniform(-0.3, 0.3)
    corners: list[Point] = [(0, 0), (wide, rng.uniform(0, 0.6)), (wide * 0.94, high), (0.2, high)]
    if rng.random() < 0.4:
        corners.insert(2, (wide * 0.6, high * 0.5))
    return outline_of(
        [
            (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn))
            for x, y in corners
        ],
        error_in=0.04,
    )


def _picture(
    rng: random.Random, outline: Outline, colours: tuple[str, str], kind: PrintKind
) -> bytes:
    least_x, least_y, most_x, most_y = outline.bounds
    wide = round((most_x - least_x + 0.5) * PX_PER_IN)
    high = round((most_y - least_y + 0.5) * PX_PER_IN)
    cloth = Image.new("RGB", (wide, high), colours[0])
    draw = ImageDraw.Draw(cloth)
    if kind in (PrintKind.STRIPE, PrintKind.PLAID):
        for x in range(0, wide, 26):
            draw.rectangle([x, 0, x + 6, high], fill=colours[1])
    if kind is PrintKind.PLAID:
        for y in range(0, high, 26):
            draw.rectangle([0, y, wide, y + 6], fill=colours[1])
    if kind in (PrintKind.PRINT, PrintKind.TONE):
        for _ in range(wide * high // 700):
            x, y, r = rng.uniform(0, wide), rng.uniform(0, high), rng.uniform(2, 6)
            draw.ellipse([x - r, y - r, x + r, y + r], fill=colours[1])
    mask = Image.new("L", (wide, high), 0)
    left, top = least_x - 0.25, most_y + 0.25
    ring = [((x - left) * PX_PER_IN, (top - y) * PX_PER_IN) for x, y in outline.points]
    ImageDraw.Draw(mask).polygon(ring, fill=255)
    whole = Image.new("RGB", (wide, high), "#e9e6df")
    whole.paste(cloth, mask=mask)
    out = io.BytesIO()
    whole.save(out, "JPEG", quality=88)
    return out.getvalue()
