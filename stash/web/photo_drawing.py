"""Outlines laid over the photo they were measured on, corrections included."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stash.colour.spaces import FloatArray
from stash.scrap import PhotoView, Scrap

__all__ = ["OutlineOnPhoto", "outlines_on_photo", "pixels_of"]

_STEPS = 8
_MOST_STEP_IN = 0.5  # long edges bend with the lens; this close together they do not show it


@dataclass(frozen=True, slots=True)
class OutlineOnPhoto:
    """A scrap's border as an SVG path in the photo's pixels, and where its number goes."""

    number: int
    path: str
    x: float
    y: float


def pixels_of(view: PhotoView, inches: FloatArray) -> FloatArray:
    """Give the photo's pixels of points (n, 2) on the table, inches in the card's frame."""
    homography = np.array(view.image_from_inches).reshape(3, 3)
    flat = np.column_stack([inches, np.ones(len(inches))]) @ homography.T
    straight = flat[:, :2] / flat[:, 2:]
    middle = np.array(view.middle_px)
    away = (straight - middle) / view.radius_px
    far = np.hypot(away[:, 0], away[:, 1])
    near = far.copy()
    # The view tells how the lens is straightened; Newton's method goes the other way.
    for _ in range(_STEPS):
        near -= (near + view.radial * near**3 - far) / (1 + 3 * view.radial * near**2)
    share = np.divide(near, far, out=np.ones_like(far), where=far > 1e-12)
    return np.asarray(middle + view.radius_px * away * share[:, None], dtype=np.float64)


def outlines_on_photo(view: PhotoView, scraps: Sequence[Scrap]) -> list[OutlineOnPhoto]:
    """Give every scrap's border on its photo."""
    return [_drawn(view, scrap) for scrap in scraps]


def _drawn(view: PhotoView, scrap: Scrap) -> OutlineOnPhoto:
    polygon = scrap.outline.polygon.segmentize(_MOST_STEP_IN)
    rings = [polygon.exterior, *polygon.interiors]
    paths = [pixels_of(view, np.array(ring.coords)[:-1]) for ring in rings]
    middle = polygon.representative_point()
    ((x, y),) = pixels_of(view, np.array([[middle.x, middle.y]]))
    path = " ".join("M" + "L".join(f"{px:.1f} {py:.1f}" for px, py in ring) + "Z" for ring in paths)
    return OutlineOnPhoto(scrap.number, path, round(float(x), 1), round(float(y), 1))
