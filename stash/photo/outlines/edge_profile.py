"""Where exactly cloth ends: brightness along short lines across the edge, in the full photo.

Each line runs from inside the scrap to the backing. The edge is where the colour steps most
while all beyond looks like backing, in full light or in shadow; a step inside a print has print
on both sides, the rim of a shadow has backing on both sides.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, median_filter

from stash.colour.spaces import FloatArray, linear_of_srgb
from stash.photo.table.backing_model import BackingModel, Float32Array, Planes, lab_of_levels

__all__ = ["Ring", "RingEdge", "find_edge"]

_REACH_IN = 0.13  # how far each side of the mask's border the edge is looked for
_SURE_REACH_IN = 0.06  # the same where no shadow can have widened the mask
_EXACT_REACH_PX = 7.0  # the same where the mask follows every notch
_SPACING_IN = 0.025
_LINEAR = linear_of_srgb(np.arange(256) / 255).astype(np.float32)
_CLEAR_STEP = (2.0, 14.0)  # CIELAB steps between which an edge counts as faint to clear
_RIM_LOSES = 0.8
_DIM = (0.66, 1.03)  # cube root of the light left in a shadow, least and most


@dataclass(frozen=True)
class Ring:
    """A ring near the edge of cloth.

    Attributes
    ----------
    points_px : float64, shape (n, 2)
        In either direction.
    hole : bool
        Whether the cloth is outside the ring.
    exact : bool
        Whether the ring follows every notch and tip; then the edge keeps close to it.
    unlike : bool
        Whether the cloth never looks like the backing, not even in shadow.
    """

    points_px: FloatArray
    hole: bool = False
    exact: bool = False
    unlike: bool = False


@dataclass(frozen=True)
class RingEdge:
    """The edge of one ring, pixel positions in order.

    Attributes
    ----------
    points_px : float64, shape (n, 2)
        Sub-pixel positions.
    step : float64, shape (n,)
        Colour step across the edge there, CIELAB units.
    """

    points_px: FloatArray
    step: FloatArray


@dataclass(frozen=True)
class _Lines:
    """Lines across the edge: n lines of t samples from outside (first) to inside (last)."""

    start: FloatArray
    way: FloatArray
    seen_srgb: NDArray[np.uint8]

    def lab(self) -> Planes:
        """L*, a* and b* (n, t) of the samples."""
        planes = cv2.split(lab_of_levels(self.seen_srgb))
        return tuple(np.asarray(plane, dtype=np.float32) for plane in planes)


def find_edge(
    pixels_srgb: NDArray[np.uint8],
    ring: Ring,
    *,
    px_per_in: float,
    backing: BackingModel,
    backing_scale: float,
) -> RingEdge:
    """Find the edge near a ring.

    Parameters
    ----------
    pixels_srgb : uint8, shape (height, width, 3)
        The photo.
    ring : Ring
        The ring.
    px_per_in : float
        Scale of the photo there.
    backing : BackingModel
        What is expected beyond the edge.
    backing_scale : float
        Pixels of the backing's work image a pixel of the photo.
    """
    spacing = max(2.0, _SPACING_IN * px_per_in)
    spacing = max(2.5, spacing / 2) if ring.exact else spacing
    ring_px, reach = ring.points_px, max(5, round(_REACH_IN * px_per_in))
    close_in = min(_SURE_REACH_IN, _EXACT_REACH_PX / px_per_in) if ring.exact else _SURE_REACH_IN
    for sigma, look, sure_in, apart in (
        (2.5, reach, close_in, max(2.0, _SPACING_IN * px_per_in)),
        (1.5, max(4, reach // 2), close_in / 3, spacing),
    ):
        middle, way = _across(ring_px, apart, sigma)
        way = -way if ring.hole else way
        lines = _sample(pixels_srgb, middle, way, look)
        expected = _expected(backing, middle * backing_scale)
        sure = _sure_of_mask(backing, middle, way, px_per_in, backing_scale)
        kept = (sure, sure_in)
        at, step = _choose(lines, expected, kept, px_per_in=px_per_in, unlike=ring.unlike)
        ring_px = middle + (at - look)[:, None] * way
    offset = _half_way(lines, at)
    points = lines.start + (at + offset)[:, None] * way
    return RingEdge(points, step)


def _across(ring_px: FloatArray, spacing_px: float, sigma: float) -> tuple[FloatArray, FloatArray]:
    """Give evenly spaced points of the ring and the unit directions that lead inwards."""
    closed = np.vstack([ring_px, ring_px[:1]])
    along = np.r_[0, np.cumsum(np.hypot(*np.diff(closed, axis=0).T))]
    count = max(12, round(along[-1] / spacing_px))
    at = np.arange(count) * along[-1] / count
    points = np.stack([np.interp(at, along, closed[:, axis]) for axis in (0, 1)], axis=1)
    smooth = gaussian_filter1d(points, sigma / 2, axis=0, mode="wrap")
    tangent = np.roll(smooth, -1, axis=0) - np.roll(smooth, 1, axis=0)
    tangent = gaussian_filter1d(tangent, sigma / 2, axis=0, mode="wrap")
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-9)[:, None]
    inwards = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1)
    if _area(points) < 0:
        inwards = -inwards
    return smooth, inwards


def _area(ring: FloatArray) -> float:
    x, y = ring.T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2)


def _sample(pixels: NDArray[np.uint8], middle: FloatArray, way: FloatArray, look: int) -> _Lines:
    steps = np.arange(-look, look + 1)
    x, y = (at[:, None] + steps * move[:, None] for at, move in zip(middle.T, way.T, strict=True))
    start = np.stack([x[:, 0], y[:, 0]], axis=1)
    ends = np.vstack([start, np.stack([x[:, -1], y[:, -1]], axis=1)])
    low = np.maximum(np.floor(ends.min(axis=0)).astype(int) - 1, 0)
    high = np.ceil(ends.max(axis=0)).astype(int) + 3
    crop = pixels[low[1] : high[1], low[0] : high[0]]
    local_x, local_y = (x - low[0]).astype(np.float32), (y - low[1]).astype(np.float32)
    seen = cv2.remap(crop, local_x, local_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return _Lines(start, way, np.asarray(seen, dtype=np.uint8))


def _expected(backing: BackingModel, at: FloatArray) -> Float32Array:
    """The backing's colours (n, k, 3) near points of the work image."""
    height, width = backing.fine.shape
    column = np.clip(np.round(at[:, 0]).astype(int), 0, width - 1)
    row = np.clip(np.round(at[:, 1]).astype(int), 0, height - 1)
    near = np.stack([plane[row, column] for plane in backing.expected], axis=-1)
    near = near[:, None, :] + backing.tints[None]
    return np.asarray(near, dtype=np.float32)


def _sure_of_mask(
    backing: BackingModel, middle: FloatArray, way: FloatArray, px_per_in: float, scale: float
) -> NDArray[np.bool_]:
    """Where the mask ends at cloth, not at what may be a shadow of it on the backing."""
    shadow = backing.shadow
    height, width = shadow.shape
    shaded = np.zeros(len(middle), dtype=bool)
    for inside_in in (0.0, 0.03, 0.06):
        spot = np.round((middle + way * inside_in * px_per_in) * scale).astype(int)
        column, row = np.clip(spot[:, 0], 0, width - 1), np.clip(spot[:, 1], 0, height - 1)
        shaded |= shadow[row, column]
    return ~shaded


def _choose(
    lines: _Lines,
    expected: Float32Array,
    kept: tuple[NDArray[np.bool_], float],
    *,
    px_per_in: float,
    unlike: bool,
) -> tuple[NDArray[np.intp], FloatArray]:
    """Choose the sample on every line where cloth begins; also give the colour step there.

    ``kept`` says which lines stay how close to the ring, inches.
    """
    half = max(1, round(0.012 * px_per_in))
    lab = tuple(_smooth_along(plane, half) for plane in lines.lab())
    jump = _jump(lab, half + 1)
    backing = _backing_like(lab, expected)
    beyond = _beyond(backing)
    clear = np.clip(np.percentile(jump.max(axis=1), 70), *_CLEAR_STEP)
    score = np.minimum(jump / clear, 1.0) * (0.15 + np.roll(backing, half + 1, axis=1))
    if unlike:  # then what has backing on both sides is the rim of a shadow
        score *= 1 - _RIM_LOSES * np.roll(backing, -half - 1, axis=1)
    score += beyond
    score = cv2.blur(score, (1, 3), borderType=cv2.BORDER_REFLECT)
    edge = half + 1
    score[:, :edge], score[:, -edge:] = -9, -9
    inwards = (np.arange(score.shape[1]) - score.shape[1] // 2) / px_per_in
    score[np.ix_(kept[0], np.abs(inwards) > kept[1])] = -20
    at = _steepest_near(jump, _steady(score, half), half + 1)
    rows = np.arange(len(at))
    return at, np.asarray(jump[rows, at], dtype=np.float64)


def _smooth_along(plane: Float32Array, half: int) -> Float32Array:
    kernel = (2 * half + 1, 1)
    return np.asarray(cv2.blur(plane, kernel, borderType=cv2.BORDER_REPLICATE), dtype=np.float32)


def _jump(lab: Planes, reach: int) -> Float32Array:
    """Colour step at each sample, between those so many samples before and after it."""
    jump = np.zeros_like(lab[0])
    squares = [np.square(plane[:, 2 * reach :] - plane[:, : -2 * reach]) for plane in lab]
    jump[:, reach:-reach] = np.sqrt(squares[0] + squares[1] + squares[2])
    return jump


def _backing_like(lab: Planes, expected: Float32Array) -> Float32Array:
    """How much each sample looks like backing in light or shadow, 0..1."""
    black = np.float32(16)
    lightness = lab[0] + black
    off: Float32Array = np.full_like(lightness, np.inf)
    for tint in np.moveaxis(expected, 1, 0):
        lit = tint[:, 0, None] + black
        dim = np.clip(lightness / lit, *_DIM)
        squared = np.square(lightness - dim * lit)
        for plane, there in zip(lab[1:], tint.T[1:], strict=True):
            squared += np.square(plane - dim * there[:, None])
        off = np.minimum(off, squared)
    rim = np.median(off[:, : off.shape[1] // 4])  # what the backing itself is off by
    return np.asarray(np.exp(-off / (2 * (2.5**2 + 2 * rim))), dtype=np.float32)


def _beyond(backing: Float32Array) -> Float32Array:
    """Reward edges with only backing beyond, in so far as it can be told from this cloth."""
    quarter = backing.shape[1] // 4
    outside, inside = float(backing[:, :quarter].mean()), float(backing[:, -quarter:].mean())
    surplus = np.cumsum(backing - (outside + inside) / 2, axis=1)
    told_apart = max(0.0, outside - inside)
    return np.asarray(surplus * (2 * told_apart / backing.shape[1]), dtype=np.float32)


def _steady(score: Float32Array, half: int) -> NDArray[np.intp]:
    """Best sample of every line, near what its neighbours chose."""
    first = score.argmax(axis=1)
    calm = median_filter(first, size=9, mode="wrap")
    places = np.arange(score.shape[1], dtype=np.float32)
    away = np.abs(places - calm.astype(np.float32)[:, None])
    far = np.float32(9) * (away > 3 * half)
    return np.asarray((score - np.float32(0.02 / half) * away - far).argmax(axis=1))


def _steepest_near(jump: Float32Array, at: NDArray[np.intp], reach: int) -> NDArray[np.intp]:
    """Move to the steepest place close by; the score is flat on top of a clear edge."""
    away = np.abs(np.arange(jump.shape[1])[None, :] - at[:, None])
    return np.asarray(np.where(away <= reach, jump, -1).argmax(axis=1))


def _half_way(lines: _Lines, at: NDArray[np.intp]) -> FloatArray:
    """Offset in samples to the middle of the change in light.

    The middle is the centroid of the slope with the slope further out taken off: a shadow's
    gentle ramp then does not pull the edge outwards, as the half-way value would.
    """
    count, samples = lines.seen_srgb.shape[:2]
    span = min(6, (samples - 1) // 2)
    at = np.clip(at, span, samples - 1 - span)
    columns = at[:, None] + np.arange(-span, span + 1)[None, :]
    seen = lines.seen_srgb[np.arange(count)[:, None], columns]
    near = cv2.LUT(seen, _LINEAR).astype(np.float64)
    way = near[:, span + 2 :].mean(axis=1) - near[:, : span - 1].mean(axis=1)
    way /= np.maximum(np.sqrt((way**2).sum(axis=1)), 1e-9)[:, None]
    slope = np.diff((near @ way[:, :, None])[..., 0], axis=1)
    ends = np.maximum(0, np.minimum(slope[:, :2].mean(axis=1), slope[:, -2:].mean(axis=1)))
    steep = np.clip(slope - ends[:, None], 0, None)[:, span - 3 : span + 3]
    places = np.arange(-3, 3) + 0.5
    total = np.maximum(steep.sum(axis=1), 1e-9)
    return np.asarray((steep * places).sum(axis=1) / total)
