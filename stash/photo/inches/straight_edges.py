"""The lens, judged by straight edges: cut cloth, stripes, rulers and boards that look bent.

An edge cut along a ruler is straight; a lens bends its picture by an amount that depends on where
it lies. Every long edge votes for the radial term; edges that are bent themselves are outvoted,
and how well the votes agree tells how far they can be trusted.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray
from stash.photo.cards.patch_candidates import smaller_copy
from stash.photo.files.reading import PixelsU8
from stash.photo.inches.plane import RADIAL_SPREAD, Lens

__all__ = ["lens_of_edges"]

_COPY_PX = 500
_LEAST_LENGTH = 1 / 13  # of the long side of the photo
_MOST_EDGES = 32
_POINTS = 40
_TRIM = 0.05  # of an edge at either end: corners are no edge
_COARSE_PX, _FINE_PX = 16, 5
_CLEAR_STEP = 6.0  # grey levels
_LEAST_POINTS = 20
_OWN_BEND = 0.0005  # sagitta over length of a ruler-cut edge: 0.005 in over 10 in, no source
_OWN_BEND_WORTH = 1.5  # as many votes as that guess is worth against what the edges show
_LEAST_OWN_BEND = 0.0001


@dataclass(frozen=True, eq=False)
class _Votes:
    """What each edge says.

    ``radial`` would straighten it, ``noise`` is the standard error from finding the edge, and
    ``lever`` turns a change of the radial term into sagitta over length; all shape (n,).
    """

    radial: FloatArray
    noise: FloatArray
    lever: FloatArray


def lens_of_edges(pixels: PixelsU8, *, focal_35mm: float | None = None) -> Lens:
    """Estimate the radial term of the lens from straight edges anywhere in the photo.

    Parameters
    ----------
    pixels : uint8, shape (height, width, 3)
        The photo at full size.
    focal_35mm : float, optional
        Passed on.
    """
    ends = _segments(pixels)
    if not len(ends):
        return Lens(focal_35mm=focal_35mm)
    points, weight = _points_on(pixels, ends)
    height, width = pixels.shape[:2]
    middle, radius = np.array([(width - 1) / 2, (height - 1) / 2]), max(height, width) / 2
    radial, spread = _counted(_votes(points, weight, middle, radius))
    return Lens(radial, spread, focal_35mm)


def _segments(pixels: PixelsU8) -> FloatArray:
    """Find long line segments, the longest first: ends in pixels of the photo, (n, 2, 2)."""
    small, factor = smaller_copy(pixels, _COPY_PX)
    grey = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY)
    lines = cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD).detect(grey)[0]
    if lines is None:
        return np.zeros((0, 2, 2))
    ends = (np.asarray(lines, dtype=np.float64).reshape(-1, 2, 2) + 0.5) * factor - 0.5
    length = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    order = np.argsort(-length, kind="stable")[:_MOST_EDGES]
    long = order[length[order] >= _LEAST_LENGTH * max(pixels.shape[:2])]
    return np.asarray(ends[long], dtype=np.float64)


def _points_on(pixels: PixelsU8, ends: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Follow the edges to fractions of a pixel: points (n, p, 2) and their weights, 0 or 1."""
    along = np.linspace(_TRIM, 1 - _TRIM, _POINTS)
    chord = ends[:, 1] - ends[:, 0]
    path = ends[:, :1] + along[:, None] * chord[:, None]
    normal = np.stack([-chord[:, 1], chord[:, 0]], axis=1)
    normal /= np.hypot(normal[:, 0], normal[:, 1])[:, None]
    bend = np.zeros(path.shape[:2])
    for reach in (_COARSE_PX, _FINE_PX):
        centred = path + bend[..., None] * normal[:, None]
        found, weight = _step_places(pixels, centred, normal, reach)
        seen = bend + found
        bend, weight = _smooth(along, seen, weight)
    return path + seen[..., None] * normal[:, None], weight


def _step_places(
    pixels: PixelsU8, path: FloatArray, normal: FloatArray, reach: int
) -> tuple[FloatArray, FloatArray]:
    """Give where across each path the colour steps (n, p), and a weight of 1 where it is clear."""
    across = np.arange(-reach - 1, reach + 2, dtype=np.float64)
    where = path[:, :, None] + across[:, None] * normal[:, None, None]
    flat = where.reshape(-1, len(across), 2).astype(np.float32)
    seen = cv2.remap(
        pixels, flat[..., 0], flat[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    ).reshape(*where.shape[:3], 3)
    half = len(across) // 2
    far, near = seen[:, :, half + 1 :], seen[:, :, :half]
    step = far.mean(axis=(1, 2), dtype=np.float64) - near.mean(axis=(1, 2), dtype=np.float64)
    size = np.hypot.reduce(step, axis=1)
    direction = step / np.maximum(size, 1e-9)[:, None] ** 2
    profile = np.matmul(seen.astype(np.float64), direction[:, None, :, None])[..., 0]
    slope = np.maximum((profile[..., 2:] - profile[..., :-2]) / 2, 0)
    peak = np.argmax(slope, axis=-1)[..., None]
    weight = slope * (np.abs(np.arange(slope.shape[-1]) - peak) <= 3)
    total = weight.sum(axis=-1)
    place = (weight * across[1:-1]).sum(axis=-1) / np.maximum(total, 1e-9)
    clear = (total > 0.4) & (total < 1.8) & (size > _CLEAR_STEP)[:, None]
    return place, clear.astype(np.float64)


def _smooth(
    along: FloatArray, seen: FloatArray, weight: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Fit a parabola to each edge and weigh out what lies off it."""
    basis = np.stack([np.ones_like(along), along, along**2], axis=1)
    bend = np.zeros_like(seen)
    for _ in range(4):
        normal = np.einsum("np,pi,pj->nij", weight, basis, basis) + 1e-9 * np.eye(3)
        aim = np.einsum("np,pi,np->ni", weight, basis, seen)
        bend = np.linalg.solve(normal, aim[..., None])[..., 0] @ basis.T
        left = np.abs(seen - bend)
        usual = _medians(left, weight > 0)
        weight = weight * (left <= 2.5 * np.maximum(usual, 0.1)[:, None])
    return bend, weight


def _medians(values: FloatArray, kept: NDArray[np.bool_]) -> FloatArray:
    """Give the median of what is kept of each row (n, p); 0 where nothing is."""
    ordered = np.sort(np.where(kept, values, np.inf), axis=1)
    count = kept.sum(axis=1)
    rows = np.arange(len(values))
    middle = (ordered[rows, np.maximum(count - 1, 0) // 2] + ordered[rows, count // 2]) / 2
    return np.where(count > 0, middle, 0.0)


def _votes(points: FloatArray, weight: FloatArray, middle: FloatArray, radius: float) -> _Votes:
    """Ask each edge for the radial term that would straighten it."""
    said = [
        vote
        for edge, kept in zip(points, weight > 0, strict=True)
        if kept.sum() >= _LEAST_POINTS and (vote := _vote(edge[kept], middle, radius)) is not None
    ]
    table = np.array(said, dtype=np.float64).reshape(-1, 3)
    return _Votes(table[:, 0], table[:, 1], table[:, 2])


def _vote(
    points: FloatArray, middle: FloatArray, radius: float
) -> tuple[float, float, float] | None:
    chord = points[-1] - points[0]
    length = float(np.hypot(*chord))
    along = (points - points[0]) @ (chord / length)
    normal = np.array([-chord[1], chord[0]]) / length
    away = points - middle
    bent = (away * (np.sum(away**2, axis=1, keepdims=True) / radius**2)) @ normal
    line = np.column_stack([np.ones_like(along), along])
    pair = np.column_stack([points @ normal, bent])
    off, pull = (pair - line @ np.linalg.lstsq(line, pair, rcond=None)[0]).T
    power = float(pull @ pull)
    lever = float(np.ptp(pull)) / length
    if power < 1e-9:
        return None
    radial = -float(off @ pull) / power
    left = off + radial * pull
    freedom = max(len(points) / 3 - 3, 1)  # neighbouring points share their errors
    return radial, float(np.sqrt(left @ left / freedom / power)), lever


def _counted(votes: _Votes) -> tuple[float, float]:
    """Count votes with a prior for ordinary phones; far-off votes count little (Cauchy)."""
    radial, own = 0.0, _OWN_BEND
    certainty = 1 / RADIAL_SPREAD**2
    for _ in range(25):
        spread = np.hypot(votes.noise, own / np.maximum(votes.lever, 1e-12))
        weight = 1 / (spread**2 * (1 + ((votes.radial - radial) / (2 * spread)) ** 2))
        certainty = weight.sum() + 1 / RADIAL_SPREAD**2
        radial = float((weight * votes.radial).sum() / certainty)
        own = _own_bend(np.abs(votes.radial - radial) * votes.lever)
    return radial, float(1 / np.sqrt(certainty))


def _own_bend(bends: FloatArray) -> float:
    """Judge how bent the edges themselves are from how far their votes lie apart."""
    if not len(bends):
        return _OWN_BEND
    shown = 1.48 * float(np.median(bends))  # of a normal spread, robustly
    both = (_OWN_BEND_WORTH * _OWN_BEND**2 + len(bends) * shown**2) / (_OWN_BEND_WORTH + len(bends))
    return max(float(np.sqrt(both)), _LEAST_OWN_BEND)
