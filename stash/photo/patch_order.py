"""Which way round a card lies: the order of patches whose colours fit the reference best."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from stash.colour.spaces import FloatArray, srgb_of_linear
from stash.photo.card import CHART24_LINEAR
from stash.photo.patch_lattice import Lattice
from stash.photo.reading import PixelsU8

__all__ = ["Order", "best_order", "colour_misfit"]

_COLUMNS, _ROWS = 6, 4
_GRID = np.array([(column, row) for row in range(_ROWS) for column in range(_COLUMNS)])
_REFERENCE = srgb_of_linear(CHART24_LINEAR)
_KEPT = 17  # patches the fit may choose; the others may be covered, in glare or burnt out
AGREES = 0.10  # encoded sRGB, 0..1: a patch this close to its fitted colour is taken as seen


@dataclass(frozen=True, eq=False)
class Order:
    """A reading of a lattice as a 24-patch chart.

    Attributes
    ----------
    image_from_grid : float64, shape (3, 3)
        From column 0..5, row 0..3 of the chart to pixels.
    misfit : float
        Root mean square of what an affine colour fit leaves on the best patches, 0..1.
    agreeing : int
        Patches whose colour fits.
    outside : int
        Patches that would lie outside the photo.
    reversed_ : bool
        Whether the chart would have to be seen in a mirror.
    """

    image_from_grid: FloatArray
    misfit: float
    agreeing: int
    outside: int
    reversed_: bool


def best_order(lattice: Lattice, small: PixelsU8) -> Order | None:
    """Try every window, turn and mirror of a lattice; gives the reading with the least misfit."""
    orders = [
        order
        for transform in _windows(lattice)
        if (order := _read(lattice, transform, small)) is not None
    ]
    return min(orders, key=lambda order: (order.misfit, -order.agreeing), default=None)


def colour_misfit(seen: FloatArray, reference: FloatArray) -> tuple[float, FloatArray]:
    """Fit encoded colours by an affine map, most patches first.

    Returns
    -------
    misfit : float
        Root mean square left on the patches kept.
    left : float64, shape (n,)
        Largest channel error of every patch.
    """
    features = np.column_stack([seen, np.ones(len(seen))])
    kept = np.arange(len(seen))
    left = np.zeros(len(seen))
    for _ in range(4):
        matrix = np.linalg.lstsq(features[kept], reference[kept], rcond=None)[0]
        errors = features @ matrix - reference
        left = np.abs(errors).max(axis=1)
        kept = np.argsort(left, kind="stable")[: min(_KEPT, len(seen))]
    return float(np.sqrt(np.mean(errors[kept] ** 2))), left


def _windows(lattice: Lattice) -> Iterator[FloatArray]:
    """Give maps (3, 3) from chart column, row to lattice places."""
    least, most = lattice.places.min(axis=0), lattice.places.max(axis=0)
    for swapped in (False, True):
        size = (_ROWS, _COLUMNS) if swapped else (_COLUMNS, _ROWS)
        for left in range(most[0] - size[0], least[0] + 2):
            for top in range(most[1] - size[1], least[1] + 2):
                yield from _turns(left, top, swapped=swapped)


def _turns(left: int, top: int, *, swapped: bool) -> Iterator[FloatArray]:
    for flip_column in (False, True):
        for flip_row in (False, True):
            column = (-1.0, _COLUMNS - 1.0) if flip_column else (1.0, 0.0)
            row = (-1.0, _ROWS - 1.0) if flip_row else (1.0, 0.0)
            if swapped:
                yield np.array(
                    [[0, row[0], left + row[1]], [column[0], 0, top + column[1]], [0, 0, 1.0]]
                )
            else:
                yield np.array(
                    [[column[0], 0, left + column[1]], [0, row[0], top + row[1]], [0, 0, 1.0]]
                )


def _read(lattice: Lattice, places_from_grid: FloatArray, small: PixelsU8) -> Order | None:
    image_from_grid = lattice.image_from_places @ places_from_grid
    points = np.column_stack([_GRID, np.ones(len(_GRID))]) @ image_from_grid.T
    if (points[:, 2] * points[0, 2] <= 0).any():
        return None
    centres = points[:, :2] / points[:, 2:]
    columns, rows = np.rint(centres).astype(int).T
    height, width = small.shape[:2]
    inside = (columns >= 1) & (rows >= 1) & (columns < width - 1) & (rows < height - 1)
    if inside.sum() < _KEPT - 5:
        return None
    blocks = [
        small[rows[inside] + down, columns[inside] + across]
        for down in (-1, 0, 1)
        for across in (-1, 0, 1)
    ]
    seen = np.mean(blocks, axis=0) / 255
    misfit, left = colour_misfit(seen, _REFERENCE[inside])
    corner = image_from_grid @ np.array([2.5, 1.5, 1.0])
    facing = np.linalg.det(image_from_grid) / corner[2] ** 3
    return Order(
        image_from_grid, misfit, int((left < AGREES).sum()), int((~inside).sum()), facing < 0
    )
