"""Take a scrap's outline from a picture in which a person painted it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stash.colour.spaces import FloatArray
from stash.drawing.photo_view import to_inches
from stash.errors import MeasureError
from stash.photo.files.reading import read_photo
from stash.photo.outlines.mask_outline import PaintedOutline, painted_outline
from stash.scrap import Picture, Scrap
from stash.shape.plane.outline import Outline, outline_of
from stash.usecases.ports import Store

__all__ = ["outline_by_mask"]


def outline_by_mask(store: Store, scrap: Scrap, data: bytes, *, name: str) -> Outline:
    """Give the painted outline, inches in the card's frame, as sure as the one before at best.

    The picture is as large as the scrap's own picture, or as the upright photo it is from.

    Raises
    ------
    UnreadablePhotoError
        If the file is no picture.
    MeasureError
        If it shows no single scrap, or is as large as neither.
    """
    painted = painted_outline(data, name=name)
    rings = _on_the_table(store, scrap, painted, name)
    outline = outline_of(rings[0], rings[1:])
    pixel_in = float(np.sqrt(outline.area_sq_in / _area_px(painted)))
    return replace(outline, error_in=max(scrap.outline.error_in, pixel_in))


def _on_the_table(
    store: Store, scrap: Scrap, painted: PaintedOutline, name: str
) -> tuple[FloatArray, ...]:
    picture = scrap.picture
    if picture is not None and painted.size_px == _size_px(store, picture.sha256):
        return tuple(_by_picture(picture, ring) for ring in painted.rings_px)
    photo = None if scrap.photo is None else store.photo(scrap.photo)
    view = None if photo is None else photo.view
    if photo is not None and view is not None and painted.size_px == _size_px(store, photo.sha256):
        return tuple(to_inches(view, ring) for ring in painted.rings_px)
    wide, tall = painted.size_px
    raise MeasureError(
        f"{name} is {wide} x {tall} pixels; it must be as large as the scrap's own picture or as "
        "the photo the scrap is from. Paint over a copy of one of them."
    )


def _size_px(store: Store, sha256: str) -> tuple[int, int]:
    height, width, _ = read_photo(store.picture(sha256), name="picture").pixels.shape
    return width, height


def _by_picture(picture: Picture, ring: FloatArray) -> FloatArray:
    return np.asarray(
        (ring + 0.5) / picture.px_per_in * [1, -1] + [picture.left_in, picture.top_in]
    )


def _area_px(painted: PaintedOutline) -> float:
    x, y = painted.rings_px[0].T
    return abs(float(x @ np.roll(y, 1) - y @ np.roll(x, 1))) / 2
