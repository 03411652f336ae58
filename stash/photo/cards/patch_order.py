"""Which way round a card lies: the order of patches whose colours fit the reference best."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray, srgb_of_linear
from stash.photo.cards.card import CHART24_LINEAR
from stash.photo.cards.card_shade import shade_across
from stash.photo.cards.patch_edges import project
from stash.photo.cards.patch_lattice import Lattice
from stash.photo.cards.patch_misfit import KEPT, affine_errors, misfits
from stash.photo.files.reading import PixelsU8

__all__ = [
    "SURE_MISFIT",
    "PartialOrder",
    "PatchOrder",
    "best_order",
    "blocks",
    "partial_order",
]

_COLUMNS, _ROWS = 6, 4
_GRID = np.array([(column, row) for row in range(_ROWS) for column in range(_COLUMNS)])
_CORNERS = 0.42 * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)])  # of a square, in its distance
_REFERENCE = srgb_of_linear(CHART24_LINEAR)
_PART = 8  # squares a part of a card needs; four numbers a channel are fitted to them
_OTHER_INKS, _BY_FAR, _PART_BY_FAR = 0.09, 2.0, 11
_TOP = 251  # of 255
_BURNT_SQUARES = 13
_CHART_SPREAD = 0.15  # encoded; a burnt-out chart still shows colours far apart, a print seldom
# What a chart leaves; in good light 0.01 to 0.03 encoded. Where much is in glare or covered, half
# the squares still fit: in 300 orders at random 12 squares leave 0.068 at least.
SURE_MISFIT, _SURE_PATCHES = 0.05, 17
_MOST_SHADED = 80  # readings tried for a shadow; patchwork without a card gives hundreds
_LIKELY_SHADED = 8  # of these, those of which half the squares, in one light, fit best
_FEW, _FEW_MISFIT, _FEW_PATCHES = 12, 0.05, 13
AGREES = 0.10  # encoded sRGB, 0..1: a patch this close to its fitted colour is taken as seen


@dataclass(frozen=True, eq=False)
class PatchOrder:
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
    sure : bool
        Whether it is a chart in its usual order, though some of its squares may not be free.
    """

    image_from_grid: FloatArray
    misfit: float
    agreeing: int
    outside: int
    reversed_: bool
    sure: bool = True

    @property
    def middle_px(self) -> FloatArray:
        """The chart's middle, (2,)."""
        middle: FloatArray = project(self.image_from_grid, np.array([(2.5, 1.5)]))[0]
        return middle

    @property
    def size_px(self) -> float:
        """How long the chart is, from its first column to its last."""
        ends = project(self.image_from_grid, np.array([(0.0, 1.5), (5.0, 1.5)]))
        return float(np.hypot(*(ends[1] - ends[0])))


@dataclass(frozen=True, slots=True)
class PartialOrder:
    """The squares of a lattice read as a part of a 24-patch chart.

    Attributes
    ----------
    seen, burnt_out : int
        Squares of the lattice, and how many of them are at the top of the range; ``burnt_out``
        is 0 unless that is most of them.
    misfit, next_misfit : float
        Root mean square of what an affine colour fit leaves on all of them, 0..1, and the least
        of any other reading.
    cut_off : bool
        Whether most of the squares that are not seen do not lie wholly in the photo.
    glare : bool
        Whether a lamp lies over the squares that are not seen.
    """

    seen: int
    burnt_out: int
    misfit: float
    cut_off: bool = False
    glare: bool = False
    next_misfit: float = math.inf

    @property
    def sure(self) -> bool:
        """Whether it is surely a chart's part; other inks fit worse, but best in their order."""
        fits = self.misfit < SURE_MISFIT
        by_far = self.misfit < _OTHER_INKS and self.next_misfit > _BY_FAR * self.misfit
        return fits or (by_far and self.seen >= _PART_BY_FAR)


def partial_order(lattice: Lattice, small: PixelsU8) -> PartialOrder | None:
    """Read the squares that are seen, and only those, as a part of a chart."""
    count = len(lattice.places)
    maps = _windows(lattice, all_inside=True)
    if count < _PART or not len(maps):
        return None
    seen = blocks(small, np.rint(lattice.centres_px).astype(int))
    spots = np.column_stack([lattice.places, np.ones(count)]) @ np.linalg.inv(maps).swapaxes(1, 2)
    column, row = np.rint(spots[..., :2]).astype(int).transpose(2, 0, 1)
    aims = _REFERENCE[row * _COLUMNS + column]
    errors = affine_errors(np.broadcast_to(seen, aims.shape), aims, np.ones(aims.shape[:2]))
    misfits = np.sqrt(np.mean(errors**2, axis=(1, 2)) / max(1 - 4 / count, 0.1))
    best = int(np.argmin(misfits))
    burnt = int((seen.max(axis=1) * 255 >= _TOP).sum())
    loud = float(seen.std(axis=0).max()) > _CHART_SPREAD
    mostly = burnt if loud and count >= _BURNT_SQUARES and burnt > 0.4 * count else 0
    image_from_grid = lattice.image_from_places @ maps[best]
    cut = _outside(image_from_grid, small) > (24 - count) / 2
    spots_seen = (row * _COLUMNS + column)[best]
    glare = not cut and _in_glare(image_from_grid, spots_seen, seen, small)
    others = float(np.delete(misfits, best).min(initial=math.inf))
    return PartialOrder(count, mostly, float(misfits[best]), cut, glare, others)


def _in_glare(
    image_from_grid: FloatArray, spots_seen: NDArray[np.int64], seen: FloatArray, small: PixelsU8
) -> bool:
    """Whether a lamp lies over the squares not seen: it burns some out and darkens none."""
    unseen = np.delete(np.arange(len(_GRID)), spots_seen)
    if not len(unseen):
        return False
    at = np.rint(project(image_from_grid, _GRID[unseen].astype(np.float64))).astype(int)
    there = blocks(small, at)
    ones = np.ones((len(_GRID), 1))
    features = np.hstack([_REFERENCE, ones])
    fit, *_ = np.linalg.lstsq(features[spots_seen], seen, rcond=None)
    darker = np.clip(features[unseen] @ fit, 0, 1) - there
    burnt = there.min(axis=1) * 255 >= _TOP
    return bool(burnt.any() and darker.max() < AGREES)


def _outside(image_from_grid: FloatArray, small: PixelsU8) -> int:
    """Count the squares of a card that do not lie wholly in the photo."""
    at = project(image_from_grid, (_GRID[:, None] + _CORNERS).reshape(-1, 2))
    height, width = small.shape[:2]
    inside = ((at >= 0) & (at <= [width - 1, height - 1])).all(axis=1)
    return int((~inside.reshape(len(_GRID), -1).all(axis=1)).sum())


def best_order(lattice: Lattice, small: PixelsU8) -> PatchOrder | None:
    """Try every window, turn and mirror of a lattice; gives the reading with the least misfit."""
    maps = _windows(lattice)
    if not len(maps):
        return None
    transforms = lattice.image_from_places @ maps
    points = np.column_stack([_GRID, np.ones(len(_GRID))]) @ transforms.swapaxes(1, 2)
    before = np.all(points[..., 2] * points[:, :1, 2] > 0, axis=1)
    transforms, points = transforms[before], points[before]
    spots = np.rint(points[..., :2] / points[..., 2:]).astype(int)
    height, width = small.shape[:2]
    inside = np.all((spots >= 1) & (spots < [width - 1, height - 1]), axis=2)
    enough = inside.sum(axis=1) >= KEPT
    if not enough.any():
        return None
    transforms, spots, inside = transforms[enough], spots[enough], inside[enough]
    seen = blocks(small, spots)
    best, misfit, agreeing = _likeliest(seen, inside, KEPT)
    sure = misfit < SURE_MISFIT and agreeing >= _SURE_PATCHES
    if not sure:
        few = _likeliest(seen, inside, _FEW)
        if few[1] < _FEW_MISFIT and few[2] >= _FEW_PATCHES:
            sure, (best, misfit, agreeing) = True, few
    if not sure and (shaded := _in_a_shadow(seen, inside)) is not None:
        sure, (best, misfit, agreeing) = True, shaded
    transform = transforms[best]
    corner = transform @ np.array([2.5, 1.5, 1.0])
    return PatchOrder(
        transform,
        misfit,
        agreeing,
        int((~inside[best]).sum()),
        bool(np.linalg.det(transform) / corner[2] ** 3 < 0),
        sure,
    )


def _likeliest(seen: FloatArray, inside: NDArray[np.bool_], kept: int) -> tuple[int, float, int]:
    """Give the reading that leaves least on its best squares, what it leaves, how many agree."""
    aims = np.broadcast_to(_REFERENCE, seen.shape)
    misfit, left = misfits(seen, aims, inside.astype(np.float64), kept)
    best = int(np.argmin(misfit))
    return best, float(misfit[best]), int(((left[best] < AGREES) & inside[best]).sum())


def _in_a_shadow(seen: FloatArray, inside: NDArray[np.bool_]) -> tuple[int, float, int] | None:
    """Read a card over which the edge of a shadow runs; as `_likeliest`, None if it is none."""
    if seen.shape[1] != len(_GRID) or seen.std(axis=1).max() < _CHART_SPREAD:
        return None
    whole = np.flatnonzero(inside.all(axis=1))
    if len(whole) > _MOST_SHADED:
        return None
    aims = np.broadcast_to(_REFERENCE, seen[whole].shape)
    half, _ = misfits(seen[whole], aims, np.ones(aims.shape[:2]), _FEW)
    found = None
    for index in whole[np.argsort(half)[:_LIKELY_SHADED]].tolist():
        shade = shade_across(seen[index], _REFERENCE, _GRID)
        if shade is not None and (found is None or shade.misfit < found[1]):
            found = (index, shade.misfit, int((shade.left_over < AGREES).sum()))
    return found if found is not None and found[2] >= _SURE_PATCHES else None


def _windows(lattice: Lattice, *, all_inside: bool = False) -> FloatArray:
    """Give maps (m, 3, 3) from chart column, row to lattice places.

    Unless ``all_inside``, a card's first or last row may be unseen, and one row more may look
    like it.
    """
    least, most = lattice.places.min(axis=0), lattice.places.max(axis=0)
    slack = 0 if all_inside else 1
    maps = [
        turn
        for swapped in (False, True)
        for size in [(_ROWS, _COLUMNS) if swapped else (_COLUMNS, _ROWS)]
        for left in range(most[0] - size[0] + 1 - slack, least[0] + 1 + slack)
        for top in range(most[1] - size[1] + 1 - slack, least[1] + 1 + slack)
        for turn in _turns(left, top, swapped=swapped)
    ]
    if not all_inside and not maps:
        maps = _wide_windows(least, most)
    return np.array(maps, dtype=np.float64).reshape(-1, 3, 3)


def _wide_windows(least: np.ndarray, most: np.ndarray) -> list[FloatArray]:
    """Give the windows inside a lattice that is larger than a card."""
    return [
        turn
        for swapped in (False, True)
        for size in [(_ROWS, _COLUMNS) if swapped else (_COLUMNS, _ROWS)]
        for left in range(least[0], most[0] - size[0] + 2)
        for top in range(least[1], most[1] - size[1] + 2)
        for turn in _turns(left, top, swapped=swapped)
    ]


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


def blocks(small: PixelsU8, spots: np.ndarray) -> FloatArray:
    """Give the mean of 3 x 3 pixels at spots (..., 2), 0..1."""
    height, width = small.shape[:2]
    columns = np.clip(spots[..., 0], 1, width - 2)
    rows = np.clip(spots[..., 1], 1, height - 2)
    total = np.zeros((*spots.shape[:-1], 3))
    for down in (-1, 0, 1):
        for across in (-1, 0, 1):
            total += small[rows + down, columns + across]
    return total / (9 * 255)
