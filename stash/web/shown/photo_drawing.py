"""Outlines laid over the photo they were measured on, corrections included."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stash.drawing.photo_view import to_pixels
from stash.scrap import PhotoView, Scrap

__all__ = ["OutlineOnPhoto", "outlines_on_photo"]

_MOST_STEP_IN = 0.5  # long edges bend with the lens; this close together they do not show it


@dataclass(frozen=True, slots=True)
class OutlineOnPhoto:
    """A scrap's border as an SVG path in the photo's pixels, and where its number goes."""

    number: int
    path: str
    x: float
    y: float


def outlines_on_photo(view: PhotoView, scraps: Sequence[Scrap]) -> list[OutlineOnPhoto]:
    """Give every scrap's border on its photo."""
    return [_drawn(view, scrap) for scrap in scraps]


def _drawn(view: PhotoView, scrap: Scrap) -> OutlineOnPhoto:
    polygon = scrap.outline.polygon.segmentize(_MOST_STEP_IN)
    rings = [polygon.exterior, *polygon.interiors]
    paths = [to_pixels(view, np.array(ring.coords)[:-1]) for ring in rings]
    middle = polygon.representative_point()
    ((x, y),) = to_pixels(view, np.array([[middle.x, middle.y]]))
    path = " ".join("M" + "L".join(f"{px:.1f} {py:.1f}" for px, py in ring) + "Z" for ring in paths)
    return OutlineOnPhoto(scrap.number, path, round(float(x), 1), round(float(y), 1))
