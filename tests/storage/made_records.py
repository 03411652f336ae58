"""Invented photos and scraps, measured by nobody, for tests of the storage."""

from __future__ import annotations

import hashlib
import math
import random
from io import BytesIO

from PIL import Image

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.scrap import CardReport, PhotoView
from stash.shape.plane.outline import outline_of
from stash.usecases.ports import PhotoToLog, ScrapToLog

__all__ = ["made_appearance", "made_photo", "made_scrap"]

# The head of a JPEG; of photos the storage never looks inside.
_HEAD = b"\xff\xd8\xff\xe0"


def _smallest_jpeg() -> bytes:
    file = BytesIO()
    Image.new("RGB", (8, 8), "teal").save(file, "JPEG")
    return file.getvalue()


# A whole picture; what follows its end no reader looks at.
_PICTURE = _smallest_jpeg()


def made_appearance(rng: random.Random) -> Appearance:
    """Six colours, every field filled with something that does not round."""
    colours = tuple(
        ColourShare((rng.uniform(5, 95), rng.uniform(-60, 60), rng.uniform(-60, 60)), 1 / 6)
        for _ in range(6)
    )
    return Appearance(
        reads_as=colours[0].lab,
        colours=colours,
        kind=rng.choice(list(PrintKind)),
        value_contrast=rng.uniform(0, 50),
        mean_chroma=rng.uniform(0, 60),
        direction_deg=rng.choice([None, rng.uniform(0, 180)]),
        repeat_in=rng.choice([None, rng.uniform(0.2, 3)]),
        repeat_sure=rng.random() < 0.5,
        error_de00=rng.uniform(0.5, 4),
        absolute=rng.random() < 0.5,
    )


def made_scrap(rng: random.Random, *, corners: int = 40, picture: bool = True) -> ScrapToLog:
    """A star-shaped scrap with a hole."""
    ring = []
    for corner in range(corners):
        angle = corner * 2 * math.pi / corners
        reach = rng.uniform(3, 5)
        ring.append((reach * math.cos(angle) + 7.1, reach * math.sin(angle) - 3.3))
    hole = [(7.1, -3.3), (7.4, -3.3), (7.1, -3.0)]
    return ScrapToLog(
        outline=outline_of(ring, [hole], error_in=rng.uniform(0.01, 0.1)),
        appearance=made_appearance(rng),
        picture_jpeg=_PICTURE + rng.randbytes(2000) if picture else b"",
        px_per_in=80.0 if picture else 0.0,
        left_in=rng.uniform(-9, 9) if picture else 0.0,
        top_in=rng.uniform(-9, 9) if picture else 0.0,
        place=rng.choice(["", "bin 4", "Körbchen"]),
        washed=rng.random() < 0.5,
    )


def made_photo(seed: int, *, scraps: int = 3, size: int = 20_000) -> PhotoToLog:
    """A photo of some scraps; the same seed is the same photo."""
    rng = random.Random(seed)
    data = _HEAD + rng.randbytes(size)
    return PhotoToLog(
        sha256=hashlib.sha256(data).hexdigest(),
        file_name=f"table {seed}.jpg",
        data=data,
        suffix=".JPG",
        card=CardReport("chart24", rng.uniform(1, 3), rng.uniform(3, 6), absolute=True),
        warnings=("the left edge lies in shade",) if seed % 2 else (),
        scraps=tuple(made_scrap(rng) for _ in range(scraps)),
        view=PhotoView(
            tuple(rng.uniform(-9, 9) for _ in range(9)), (2015.5, 1511.5), 2016.0, rng.random()
        ),
    )
