"""An invented stash for the Tidewater charm quilt: plain leftovers with drawn swatches."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.colour.spaces import srgb_of_lab
from stash.scrap import Scrap
from stash.shape.plane.outline import Outline, outline_of
from stash.usecases.ports import ScrapToLog, Store
from stash.wiring import open_store

PX_PER_IN = 40.0
# Lightness, a, b of the middle of each family, its spread in lightness, its share of the stash.
FAMILIES = {
    "navy": ((29, 3, -27), 10, 0.42),
    "teal": ((47, -22, -9), 12, 0.32),
    "sand": ((78, 3, 17), 6, 0.2),
    "coral": ((62, 40, 30), 4, 0.06),
}


def tidewater(home: Path, fabrics: int, *, seed: int = 1, twice: int = 0) -> Store:
    """Fill a stash; the first ``twice`` fabrics have a second scrap."""
    store = open_store(home)
    rng = np.random.default_rng(seed)
    names, chances = list(FAMILIES), [share for _, _, share in FAMILIES.values()]
    for number in range(fabrics):
        # The rare coral comes first, so that small stashes have some too.
        name = names[-1] if number in (0, 1) else str(rng.choice(names, p=chances))
        scrap = store.add_scrap(_leftover(name, rng), why="measured with a ruler")
        if number < twice:
            again = _leftover(name, rng, fabric=scrap.fabric, like=scrap)
            store.add_scrap(again, why="measured with a ruler")
    return store


def _leftover(
    name: str, rng: np.random.Generator, *, fabric: int | None = None, like: Scrap | None = None
) -> ScrapToLog:
    (lightness, a, b), spread, _ = FAMILIES[name]
    middle = (
        float(np.clip(lightness + rng.normal(0, spread), 12, 92)),
        float(a + rng.normal(0, 3)),
        float(b + rng.normal(0, 3)),
    )
    kind = list(PrintKind)[int(rng.integers(4))]
    look = like.appearance if like else _look(middle, kind)
    outline = leftover_outline(rng)
    return ScrapToLog(
        outline,
        look,
        picture_jpeg=_swatch(outline, look, rng),
        px_per_in=PX_PER_IN,
        left_in=outline.bounds[0],
        top_in=outline.bounds[3],
        fabric=fabric,
        place=f"bin {'ABC'[int(rng.integers(3))]}",
        washed=True,
    )


def leftover_outline(rng: np.random.Generator) -> Outline:
    """A leftover with a straight side or two, 5 to 12 inches long, measured to 0.03 in."""
    width, height = rng.uniform(5.2, 12), rng.uniform(5.2, 9)
    corners = [(0, 0), (width, 0), (width, height), (0, height)]
    moved = [
        (float(x + rng.uniform(-0.1, 0.1)), float(y + rng.uniform(-0.1, 0.1))) for x, y in corners
    ]
    if rng.random() < 0.4:  # a corner cut off
        moved[2:3] = [(width, height * 0.55), (width * 0.55, height)]
    return outline_of(moved, error_in=0.03)


def _look(lab: tuple[float, float, float], kind: PrintKind) -> Appearance:
    paler = (min(96.0, lab[0] + 8), lab[1] * 0.9, lab[2] * 0.9)
    stripes = kind is PrintKind.STRIPE
    return Appearance(
        lab,
        (ColourShare(lab, 0.8), ColourShare(paler, 0.2)),
        kind,
        value_contrast=8.0,
        mean_chroma=float(np.hypot(lab[1], lab[2])),
        direction_deg=90.0 if stripes else None,
        repeat_in=0.5 if stripes else None,
        repeat_sure=stripes,
    )


def _swatch(outline: Outline, look: Appearance, rng: np.random.Generator) -> bytes:
    left, bottom, right, top = outline.bounds
    size = (round((right - left) * PX_PER_IN), round((top - bottom) * PX_PER_IN))
    ground, figure = (_rgb(share.lab) for share in look.colours)
    image = Image.new("RGB", size, ground)
    draw = ImageDraw.Draw(image)
    step = int(rng.integers(9, 26))
    if look.kind is PrintKind.STRIPE:
        for x in range(0, size[0], step):
            draw.line([(x, 0), (x, size[1])], fill=figure, width=step // 3)
    elif look.kind is PrintKind.PRINT:
        for x in range(0, size[0], step):
            for y in range(0, size[1], step):
                at = (x + int(rng.integers(step)), y + int(rng.integers(step)))
                draw.ellipse([*at, at[0] + step // 3, at[1] + step // 3], fill=figure)
    elif look.kind is PrintKind.TONE:
        for x in range(0, size[0], 8):
            for y in range(0, size[1], 8):
                draw.point((x, y), fill=figure)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=90)
    return out.getvalue()


def _rgb(lab: tuple[float, float, float]) -> tuple[int, int, int]:
    red, green, blue = (round(float(v) * 255) for v in srgb_of_lab(np.array(lab)))
    return (red, green, blue)
