"""Where the labels of a picture go: on what they name, or beside it where they would hide it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeAlias

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from stash.colour.spaces import FloatArray

__all__ = ["label_places"]

Pair: TypeAlias = tuple[float, float]

_HIDES_FROM = 0.4  # a label over a larger share of its scrap would hide what it names
_NEARLY_WIDEST = 0.85
_GAP_PX, _EDGE_PX = 8.0, 4.0


def label_places(
    rings_px: Sequence[FloatArray], sizes_px: Sequence[Pair], picture_px: Pair
) -> list[Pair]:
    """Choose the top left corner of every label, pixels.

    Parameters
    ----------
    rings_px : sequence of float, shape (n, 2)
        What is named: outlines on the picture.
    sizes_px : sequence of (width, height)
        The label of each.
    picture_px : (width, height)
        Labels stay within it.

    Notes
    -----
    A label lies where its outline is wide, as near the middle as that goes. One that would hide
    its outline goes to the side of it where it covers least of the others and of the labels there.
    """
    shapes = [shapely.make_valid(Polygon(ring).simplify(1.0)) for ring in rings_px]
    places = [
        _within(_middle(shape, size), size, picture_px)
        for shape, size in zip(shapes, sizes_px, strict=True)
    ]
    labels = [_box(*each) for each in zip(places, sizes_px, strict=True)]
    hiding = [
        label.intersection(shape).area > _HIDES_FROM * shape.area
        for label, shape in zip(labels, shapes, strict=True)
    ]
    taken = shapely.union_all(
        [*shapes, *(label for label, hides in zip(labels, hiding, strict=True) if not hides)]
    )
    for index in (number for number, hides in enumerate(hiding) if hides):
        size = sizes_px[index]
        sides = [_within(at, size, picture_px) for at in _sides(shapes[index], size)]
        covered = [_box(at, size).intersection(taken).area for at in sides]
        places[index] = sides[covered.index(min(covered))]
        taken = taken.union(_box(places[index], size))
    return places


def _middle(shape: BaseGeometry, size: Pair) -> Pair:
    """Centre the label as near the middle of the outline as its wide part goes."""
    widest = shapely.maximum_inscribed_circle(shape, tolerance=2.0)
    wide = shape.buffer(-_NEARLY_WIDEST * widest.length)
    spots = wide if not wide.is_empty else shapely.Point(widest.coords[0])
    x, y = shapely.shortest_line(spots, shape.centroid).coords[0]
    return float(x) - size[0] / 2, float(y) - size[1] / 2


def _sides(shape: BaseGeometry, size: Pair) -> Iterator[Pair]:
    """To the right, to the left, below and above."""
    left, top, right, bottom = shape.bounds
    x, y = (left + right - size[0]) / 2, (top + bottom - size[1]) / 2
    yield right + _GAP_PX, y
    yield left - _GAP_PX - size[0], y
    yield x, bottom + _GAP_PX
    yield x, top - _GAP_PX - size[1]


def _within(at: Pair, size: Pair, picture_px: Pair) -> Pair:
    x, y = (
        min(max(_EDGE_PX, near), side - length - _EDGE_PX)
        for near, length, side in zip(at, size, picture_px, strict=True)
    )
    return x, y


def _box(at: Pair, size: Pair) -> BaseGeometry:
    return shapely.box(at[0], at[1], at[0] + size[0], at[1] + size[1])
