"""Two cloths of many colours in one outline: told by which colours lie where, parted at the seam.

Where the borders of two scraps cross, their common outline turns inwards. A chord between two
such corners has one cloth on either side if the scraps overlap: then what colours lie about a
place, and how much of each, differs from side to side and hardly within a side. The same outline
of one print shows the same mixture on both sides.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from stash.colour.spaces import FloatArray
from stash.photo.table.backing_model import Float32Array, Mask
from stash.photo.table.mask_sizes import disc, outer_border

__all__ = ["parted_at_seam"]

_WORK_PX_PER_IN = 30.0  # a mixture of colours needs no finer picture
_CORNER_ARM_IN, _CORNER_DEEP_IN = 0.3, 0.06  # how far an inward corner lies behind its arms' ends
_CORNERS, _APART_IN = 8, 0.25
_LEAST_CHORD_IN, _GRAZES_IN = 0.06, 0.08  # shortest; how far it may run outside the border
_INNER = np.linspace(0.03, 0.97, 50)  # of its length
_PAST = 2  # pixels that a cut runs on past its corners, which stand inside the border
_LEAST_SQ_IN, _LEAST_CELLS = 0.5, 12
_COLOURS, _SOFT = 8, 6.0  # how many are told apart, and how softly, CIELAB
_AROUND_IN, _CLOSE_IN = 0.15, 0.08  # spread of the neighbourhood: to compare sides, to part them
_CELL_IN, _RIM_IN, _SEAM_IN = 0.1, 0.08, 0.15
# Of 150 pairs of real cloths 148 lay further apart, of as many single ones in their outlines none.
_DIFFERENT, _TIMES_SPREAD = 0.3, 2.6
_WORTH_A_LOOK = 1.0  # on a chord that the true seam may leave
_LOOSE_IN = 0.12  # how far its ends may lie off the chord's
_STEEP = 3  # pixels the seam may climb a pixel along its chord
_EDGE_WEIGHT, _BEND_WEIGHT = 0.03, 0.15


@dataclass(frozen=True, eq=False)
class _Cloth:
    """The colours of a region: which each pixel is like, and ``shares`` of them about it.

    Both are of shape (k, height, width); ``cells`` are the places compared.
    """

    mask: Mask
    lab: Float32Array
    kinds: Float32Array
    shares: Float32Array
    cells: Mask
    step: float


@dataclass(frozen=True, eq=False)
class _Corner:
    """An inward corner and the ends of its two arms, x and y in pixels."""

    at: FloatArray
    arms: tuple[FloatArray, FloatArray]


@dataclass(frozen=True, eq=False)
class _Halves:
    """A region cut along a chord; ``first`` lies to the left of it, seen from its start."""

    start: FloatArray
    end: FloatArray
    first: Mask
    second: Mask


def parted_at_seam(mask: Mask, lab: Float32Array, step: float) -> list[Mask] | None:
    """Part a region where one cloth ends and another begins; None if it shows one cloth.

    Parameters
    ----------
    mask : bool, shape (height, width)
        The region in its box.
    lab : float32, shape (height, width, 3)
        CIELAB of the same box.
    step : float
        Pixels an inch.
    """
    factor = max(1, round(step / _WORK_PX_PER_IN))
    size = (mask.shape[1] // factor, mask.shape[0] // factor)
    small = cv2.resize(mask.astype(np.float32), size, interpolation=cv2.INTER_AREA) > 0.5
    corners = _inward_corners(small, step / factor)
    if not corners:
        return None
    colours = np.asarray(cv2.resize(lab, size, interpolation=cv2.INTER_AREA), dtype=np.float32)
    cloth = _cloth(small, colours, step / factor)
    tried = [(_differ(cloth, cut), cut) for cut in _chords(small, corners, step / factor)]
    if not tried:
        return None
    differ, cut = max(tried, key=lambda one: one[0])
    if differ < _WORTH_A_LOOK:
        return None
    cut = _along_the_seam(cloth, cut)
    if _differ(cloth, cut) < _TIMES_SPREAD:
        return None
    first = _enlarged(cut, mask.shape)
    return [mask & first, mask & ~first]


def _inward_corners(mask: Mask, step: float) -> list[_Corner]:
    """Find where the outer border lies behind the ends of both its arms, the deepest first."""
    border = outer_border(mask).astype(np.float64)
    if not len(border):
        return []
    ring = gaussian_filter1d(border, 0.02 * step, axis=0, mode="wrap")
    arm = round(_CORNER_ARM_IN * step)
    if len(ring) < 4 * arm:
        return []
    before, after = np.roll(ring, arm, axis=0), np.roll(ring, -arm, axis=0)
    way, here = after - before, ring - before
    long = np.maximum(np.hypot(*way.T), 1e-9)
    x, y = ring.T
    turn = np.sign(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    deep = turn * (here[:, 1] * way[:, 0] - here[:, 0] * way[:, 1]) / long
    chosen: list[int] = []
    for index in np.argsort(-deep).tolist():
        if deep[index] < _CORNER_DEEP_IN * step or len(chosen) == _CORNERS:
            break
        along = [min(abs(index - one), len(ring) - abs(index - one)) for one in chosen]
        if min(along, default=len(ring)) > _APART_IN * step:
            chosen.append(index)
    return [_Corner(ring[one], (before[one], after[one])) for one in chosen]


def _cloth(mask: Mask, lab: Float32Array, step: float) -> _Cloth:
    rows = np.nonzero(mask)
    some = slice(None, None, max(1, len(rows[0]) // 3000))
    seen = np.ascontiguousarray(lab[rows][some], dtype=np.float32)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 15, 0.5)
    cv2.setRNGSeed(1)
    _, _, centres = cv2.kmeans(seen, _COLOURS, np.zeros(0), stop, 1, cv2.KMEANS_PP_CENTERS)
    # Squared distances, less the square of the pixel's own colour: only differences count.
    off = np.square(centres).sum(axis=1)[:, None, None] - 2 * np.tensordot(centres, lab, (1, 2))
    kinds = np.exp((off.min(axis=0) - off) / (2 * _SOFT**2))
    kinds *= mask / kinds.sum(axis=0)
    inside = cv2.erode(mask.astype(np.uint8), disc(_RIM_IN * step)) > 0
    every = max(1, round(_CELL_IN * step))
    cells = np.zeros_like(mask)
    cells[::every, ::every] = inside[::every, ::every]
    return _Cloth(mask, lab, kinds, _blurred(kinds, mask, _AROUND_IN * step), cells, step)


def _blurred(kinds: Float32Array, mask: Mask, sigma: float) -> Float32Array:
    share = np.maximum(cv2.GaussianBlur(mask.astype(np.float32), (0, 0), sigma), 1e-3)
    return np.stack([cv2.GaussianBlur(kind, (0, 0), sigma) / share for kind in kinds])


def _chords(mask: Mask, corners: list[_Corner], step: float) -> Iterator[_Halves]:
    """Cut the region between inward corners that see each other, and where borders would run on.

    One of the two borders that meet at a corner goes on under or over the other cloth; where the
    other end is no corner, as with a flush edge, its straight way on is the chord.
    """
    wide = cv2.dilate(mask.astype(np.uint8), disc(_GRAZES_IN * step)) > 0
    pairs = [(one.at, other.at) for one, other in combinations(corners, 2)]
    pairs += [(one.at, _way_on(mask, one.at, arm)) for one in corners for arm in one.arms]
    for start, end in pairs:
        if np.hypot(*(end - start)) < _LEAST_CHORD_IN * step:
            continue
        columns, rows = np.round(start + (end - start) * _INNER[:, None]).astype(int).T
        halves = _cut(mask, start, end) if wide[rows, columns].all() else None
        if halves is not None and min(halves.first.sum(), halves.second.sum()) > (
            _LEAST_SQ_IN * step**2
        ):
            yield halves


def _way_on(mask: Mask, corner: FloatArray, arm: FloatArray) -> FloatArray:
    """Give where the line from an arm's end through its corner leaves the region."""
    way = (corner - arm) / max(1e-9, float(np.hypot(*(corner - arm))))
    places = corner + np.arange(_PAST + 1, max(mask.shape))[:, None] * way
    columns, rows = np.round(places).astype(int).T
    height, width = mask.shape
    inside = (columns >= 0) & (columns < width) & (rows >= 0) & (rows < height)
    inside[inside] = mask[rows[inside], columns[inside]]
    return np.asarray(corner if inside.all() else places[int(np.argmin(inside))])


def _cut(mask: Mask, start: FloatArray, end: FloatArray) -> _Halves | None:
    cut: NDArray[np.uint8] = mask.astype(np.uint8)
    way = (end - start) / np.hypot(*(end - start))
    ends = [np.round(at).astype(int).tolist() for at in (start - _PAST * way, end + _PAST * way)]
    cv2.line(cut, ends[0], ends[1], 0, 2)
    labels = np.pad(cv2.connectedComponents(cut, connectivity=4)[1], 4)
    middles = start + (end - start) * np.linspace(0.2, 0.8, 13)[:, None] + 4
    sides = []
    for away in (way[::-1] * [1, -1], way[::-1] * [-1, 1]):
        columns, rows = np.round(middles + 3 * away).astype(int).T
        sides.append(int(np.bincount(labels[rows, columns], minlength=2)[1:].argmax()) + 1)
    if sides[0] == sides[1]:
        return None
    inner = labels[4:-4, 4:-4]
    return _Halves(start, end, inner == sides[0], inner == sides[1])


def _differ(cloth: _Cloth, cut: _Halves) -> float:
    """How many times the sides' own spread their mixtures of colours lie apart; 0 if too like.

    Square roots of shares, so that straight distances are Hellinger's.
    """
    away = disc(_SEAM_IN * cloth.step)
    near = [cv2.dilate(half.astype(np.uint8), away) > 0 for half in _sides(cut)]
    gap = ~(near[0] & near[1])
    sides = [np.sqrt(cloth.shares[:, cloth.cells & half & gap]).T for half in _sides(cut)]
    if min(len(side) for side in sides) < _LEAST_CELLS:
        return 0.0
    between = sides[0].mean(axis=0) - sides[1].mean(axis=0)
    apart = float(np.linalg.norm(between))
    if apart < _DIFFERENT:
        return 0.0
    spread = sum(float((side @ (between / apart)).std()) for side in sides)
    return apart / (spread + 0.02)


def _sides(cut: _Halves) -> tuple[Mask, Mask]:
    return cut.first, cut.second


def _along_the_seam(cloth: _Cloth, cut: _Halves) -> _Halves:
    """Move the cut from its chord to where the mixture changes.

    The seam is a height over the chord at every pixel along it: the one with the least sum of
    misplaced pixels, bends, and places without a step in colour (dynamic programming).
    """
    way = cut.end - cut.start
    long = float(np.hypot(*way))
    way = way / long
    left = np.array([way[1], -way[0]])
    high = round(max(0.5 * cloth.step, long))
    along, up = np.arange(round(long) + 1), np.arange(-high, high + 1)
    at = cut.start + along[None, :, None] * way + up[:, None, None] * left
    x, y = (np.ascontiguousarray(at[..., axis], dtype=np.float32) for axis in (0, 1))
    second = cv2.remap(_second_like(cloth, cut), x, y, cv2.INTER_LINEAR)
    edge = cv2.remap(_steps(cloth), x, y, cv2.INTER_LINEAR)
    # Above the seam all is of the first side: what looks like the second costs, and the reverse.
    above = np.cumsum(second[::-1], axis=0)[::-1]
    below = np.cumsum(second, axis=0) - second
    cost = above - below - _EDGE_WEIGHT * edge
    seam = up[_cheapest(cost, high, round(_LOOSE_IN * cloth.step))]
    rows, columns = np.nonzero(cut.first | cut.second)
    off = np.stack([columns, rows], axis=1) - cut.start
    place, height = off @ way, off @ left
    beside = (place >= 0) & (place <= long) & (np.abs(height) <= high)
    first = cut.first.copy()
    above_seam = height > np.interp(place, along, seam)
    first[rows, columns] = np.where(beside, above_seam, first[rows, columns])
    return _Halves(cut.start, cut.end, first, (cut.first | cut.second) & ~first)


def _second_like(cloth: _Cloth, cut: _Halves) -> Float32Array:
    """How much more likely each pixel's surroundings are on the second side, 0 off the cloth."""
    means = [cloth.shares[:, cloth.cells & half].mean(axis=1) + 0.02 for half in _sides(cut)]
    near = _blurred(cloth.kinds, cloth.mask, _CLOSE_IN * cloth.step)
    more = np.tensordot(np.log(means[1] / means[0]), near, 1)
    return np.asarray(np.where(cloth.mask, more, 0), dtype=np.float32)


def _steps(cloth: _Cloth) -> Float32Array:
    """Colour steps, CIELAB a pixel."""
    slopes = [cv2.Sobel(cloth.lab, cv2.CV_32F, *order) for order in ((1, 0), (0, 1))]
    return np.asarray(np.sqrt(sum(np.square(one).sum(axis=2) for one in slopes)) / 8, np.float32)


def _cheapest(cost: Float32Array, start: int, loose: int) -> NDArray[np.intp]:
    """Give the cheapest path's row in every column, from and to about row ``start``."""
    height, width = cost.shape
    ends = np.abs(np.arange(height) - start)
    ends = np.where(ends <= loose, _BEND_WEIGHT * ends, np.inf)
    total = ends.copy()
    came = np.zeros((width, height), dtype=np.intp)
    moves = np.arange(-_STEEP, _STEEP + 1)
    rows = np.arange(height)
    for column in range(1, width):
        padded = np.pad(total, _STEEP, constant_values=np.inf)
        options = np.stack([padded[_STEEP + m : _STEEP + m + height] for m in moves])
        options += _BEND_WEIGHT * np.abs(moves)[:, None]
        best = options.argmin(axis=0)
        came[column] = rows + moves[best]
        total = options[best, rows] + cost[:, column]
    path = [int((total + ends).argmin())]
    for column in range(width - 1, 0, -1):
        path.append(int(came[column][path[-1]]))
    return np.array(path[::-1])


def _enlarged(cut: _Halves, shape: tuple[int, ...]) -> Mask:
    """Which pixels of the full box lie nearer to the first side."""
    away = [cv2.distanceTransform((~half).astype(np.uint8), cv2.DIST_L2, 3) for half in _sides(cut)]
    nearer = cv2.resize(away[1] - away[0], (shape[1], shape[0]), interpolation=cv2.INTER_LINEAR)
    return np.asarray(nearer > 0, dtype=bool)
