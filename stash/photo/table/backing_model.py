"""What the backing looks like: its light across the photo, its colours, its texture.

The backing is what runs round the picture's border. Its colours are modelled as they vary
there: a smooth field of light, then one cloud of colour for plain backings or a few for
patterned ones. Fine detail tells where cloth begins; averages over a tenth of an inch tell
cloth of nearly the backing's colour apart by its mean and its texture.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeAlias

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray

__all__ = [
    "FINE_LIMIT",
    "BackingModel",
    "Float32Array",
    "Mask",
    "halved",
    "lab_of_levels",
    "model_backing",
]

Float32Array: TypeAlias = NDArray[np.float32]
Mask: TypeAlias = NDArray[np.bool_]
# One array a channel: adding up over channels is then many times faster than in pixels of three.
Planes: TypeAlias = tuple[Float32Array, ...]
Rows: TypeAlias = tuple[NDArray[np.intp], NDArray[np.intp]]  # row and column of some pixels

# Least spread taken for real, L* and a*, b*: 8-bit coding and JPEG alone give about half.
_FLOOR = np.array([0.9, 0.7, 0.7])
_COARSE_FLOOR = np.array([0.45, 0.35, 0.35, 0.16])
FINE_LIMIT = 4.2  # spreads of the backing beyond which a pixel stands out by itself
_CALM_FINE, _CALM_COARSE = 2.8, 1.6  # 99th percentile of a backing that is as modelled
_SECTORS = 24
_PLAIN_SPREAD = 4.0  # a backing that varies less than this is one cloud of colour
_CLOUDS = 6
_NEAR = 6.0  # CIELAB units: the texture of one colour of a patterned backing
_SAMPLES = 4000


@dataclass(frozen=True)
class BackingModel:
    """How unlike the backing every pixel of the work image is.

    Attributes
    ----------
    fine : float32, shape (height, width)
        Distance of the pixel's own colour from the backing's, in spreads of the backing.
    coarse : float32, shape (height, width)
        The same for the mean colour and texture of a tenth of an inch around.
    residual : three of float32, shape (height, width)
        L*, a* and b* (of the photo as it is) minus the backing's at that place.
    expected : three of float32, shape (height, width)
        L*, a* and b* of the backing at that place.
    tints : float32, shape (k, 3)
        What to add to ``expected`` for each colour of the backing; one row if it is plain.
    spread : float
        How widely the widest of those colours scatters, CIELAB units.
    """

    fine: Float32Array
    coarse: Float32Array
    residual: Planes
    expected: Planes
    tints: Float32Array
    spread: float

    @cached_property
    def light_left(self) -> Float32Array:
        """Light left (its cube root) where the backing may be seen; -1 where the hue is not its.

        In CIELAB less light scales L* + 16, a* and b* alike, by its cube root.
        """
        lightness = self.expected[0] + np.float32(16)
        dimmer = (self.residual[0] + lightness) / lightness
        off_a, off_b = (
            np.abs(there + away - there * dimmer)
            for there, away in zip(self.expected[1:], self.residual[1:], strict=True)
        )
        known = np.maximum(off_a, off_b) < 3.5
        return np.where(known, dimmer, np.float32(-1))

    @cached_property
    def shadow(self) -> Mask:
        """Where the backing may be seen in shadow: its own hue, only darker."""
        return np.asarray((self.light_left > 0.68) & (self.light_left < 0.97), dtype=bool)

    @property
    def main_colour(self) -> Mask:
        """Where the backing's commonest colour is seen, as its light falls there."""
        planes = [plane[::4, ::4] for plane in self.residual]
        near = [_near(planes, tint).mean() for tint in self.tints]
        return _near(self.residual, self.tints[int(np.argmax(near))])

    @property
    def plain(self) -> bool:
        """Whether the backing has one colour."""
        return len(self.tints) == 1


def lab_of_levels(pixels_srgb: NDArray[np.uint8]) -> Float32Array:
    """Give CIELAB, white D65, uncalibrated, of a picture (height, width, 3) of sRGB levels."""
    scaled = np.divide(pixels_srgb, np.float32(255), dtype=np.float32)
    return _float32(cv2.cvtColor(scaled, cv2.COLOR_RGB2LAB))


def model_backing(lab: Planes, sure: Mask, *, px_per_in: float) -> BackingModel:
    """Model the backing from pixels that are surely backing, or most of which are.

    Parameters
    ----------
    lab : three of float32, shape (height, width)
        L*, a* and b* of the work image, uncalibrated.
    sure : bool, shape (height, width)
        Where to learn; what fills less than half of the photo's sectors may be something else.
    px_per_in : float
        Scale of the work image.
    """
    rows = _some(sure)
    field = _light_field(_at(lab, rows), rows, sure.shape)
    residual = tuple(
        _float32(cv2.subtract(plane, there)) for plane, there in zip(lab, field, strict=True)
    )
    sectors = _sectors(rows, sure.shape)
    clouds = _clouds(_at(residual, rows), sectors)
    fine = _distance(residual, clouds)
    fine /= _unrest(fine[rows], sectors, _CALM_FINE)
    features = _coarse_features(residual, fine < FINE_LIMIT, px_per_in)
    halved = tuple(
        np.minimum(at // 2, side // 2 - 1) for at, side in zip(rows, sure.shape, strict=True)
    )
    around = _distance(features, [_one_cloud(_at(features, halved), _COARSE_FLOOR)])
    coarse = np.asarray(cv2.resize(around, sure.shape[::-1]), dtype=np.float32)
    coarse /= _unrest(coarse[rows], sectors, _CALM_COARSE)
    tints = np.array([middle for middle, _ in clouds], dtype=np.float32)
    widest = max(float(np.sqrt(np.trace(cloud))) for _, cloud in clouds)
    return BackingModel(fine, coarse, residual, field, tints, widest)


def _near(planes: Sequence[Float32Array], tint: Float32Array) -> Mask:
    off = [np.abs(plane - part) for plane, part in zip(planes, tint, strict=True)]
    return np.asarray(np.maximum.reduce(off) < _NEAR, dtype=bool)


def _float32(picture: NDArray[Any]) -> Float32Array:
    return np.asarray(picture, dtype=np.float32)


def _at(planes: Planes, rows: tuple[NDArray[np.intp], ...]) -> Float32Array:
    return np.stack([plane[rows] for plane in planes], axis=-1)


def _sectors(rows: Rows, shape: tuple[int, ...]) -> NDArray[np.intp]:
    """Number the sector of the photo, seen from its middle, that each pixel lies in."""
    y, x = rows[0] / shape[0] - 0.5, rows[1] / shape[1] - 0.5
    turn = np.arctan2(y, x) / (2 * np.pi) + 0.5
    return np.minimum((turn * _SECTORS).astype(np.intp), _SECTORS - 1)


def _unrest(distances: Float32Array, sectors: NDArray[np.intp], calm: float) -> np.float32:
    """How much wilder the backing is than its model: its own 99th percentile, in most sectors."""
    order = np.lexsort((distances, sectors))
    parts = np.split(distances[order], np.searchsorted(sectors[order], np.arange(1, _SECTORS)))
    tops = [part[int(0.99 * (len(part) - 1))] for part in parts if len(part) > 20]
    return np.float32(max(1.0, float(np.median(tops)) / calm)) if tops else np.float32(1)


def _some(mask: Mask) -> Rows:
    """Give an even choice of the mask's pixels."""
    inside = np.flatnonzero(mask)
    rows, columns = np.divmod(inside[:: max(1, len(inside) // _SAMPLES)], mask.shape[1])
    return rows, columns


def _light_field(lab: Float32Array, rows: Rows, shape: tuple[int, ...]) -> Planes:
    """Fit a quadratic surface a channel, leaving out what does not belong (Tukey's biweight).

    ``lab`` is the colour (n, 3) at ``rows`` of a picture of that shape.
    """
    height, width = shape
    terms = _terms(rows[1] / width - 0.5, rows[0] / height - 0.5)
    values = lab.astype(np.float64)
    away = np.abs(values - _middle(values)).sum(axis=1)
    limit = 2.5 * _middle(away) + 4
    weights = np.clip(1 - (away / limit) ** 2, 0, None) ** 2
    for _ in range(6):
        scaled = terms * weights[:, None]
        ridge = np.diag([0, 1, 1, 1, 1, 1]) * 1e-3 * weights.sum()
        surface = np.linalg.solve(scaled.T @ terms + ridge, scaled.T @ values)
        away = np.abs(values - terms @ surface).sum(axis=1)
        limit = 4.5 * _middle(away[weights > 0]) + 1.5
        weights = np.clip(1 - (away / limit) ** 2, 0, None) ** 2
    x, y = np.linspace(-0.5, 0.5, width), np.linspace(-0.5, 0.5, height)
    return tuple(_surface(weights_of, x, y) for weights_of in surface.T)


def _surface(weights: FloatArray, x: FloatArray, y: FloatArray) -> Float32Array:
    """Lay out 1, x, y, x^2, xy, y^2 with their weights over the whole picture."""
    level, by_x, by_y, by_xx, by_xy, by_yy = weights
    rows = np.stack([np.ones_like(y), by_xy * y, by_y * y + by_yy * y * y], axis=1)
    columns = np.stack([level + by_x * x + by_xx * x * x, x, np.ones_like(x)])
    return _float32(rows.astype(np.float32) @ columns.astype(np.float32))


def _terms(x: NDArray[np.floating], y: NDArray[np.floating]) -> NDArray[np.floating]:
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)


def _clouds(
    residuals: Float32Array, sectors: NDArray[np.intp]
) -> list[tuple[FloatArray, FloatArray]]:
    """One cloud of colour for a plain backing, several for a patterned one.

    A cloud belongs to the backing when it is met in most sectors; a scrap that the border cuts
    is met in few.
    """
    middle, spread = _one_cloud(residuals, _FLOOR)
    strange = _squared(residuals, middle, spread) > FINE_LIMIT**2
    often = [np.mean(strange[sectors == sector]) > 0.01 for sector in np.unique(sectors)]
    if np.sqrt(np.trace(spread)) < _PLAIN_SPREAD and np.mean(often) < 0.6:
        return [(middle, spread)]
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 20, 0.5)
    cv2.setRNGSeed(1)
    _, labels, _ = cv2.kmeans(residuals, _CLOUDS, np.zeros(0), stop, 1, cv2.KMEANS_PP_CENTERS)
    clouds = []
    for cloud in range(_CLOUDS):
        members = labels.ravel() == cloud
        if len(np.unique(sectors[members])) >= 0.5 * _SECTORS:
            clouds.append(_one_cloud(residuals[members], 2 * _FLOOR))
    return clouds or [(middle, spread)]


def _one_cloud(values: Float32Array, floor: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Middle and covariance of the bulk: what lies beyond 3.5 robust spreads is left out."""
    kept = values.astype(np.float64)
    for _ in range(3):
        middle = _middle(kept)
        spread = 1.4826 * _middle(np.abs(kept - middle)) + floor
        near = (np.abs(kept - middle) < 3.5 * spread).all(axis=1)
        kept = kept[near]
    spread = np.cov(kept.T) if len(kept) > 8 else np.zeros((len(floor), len(floor)))
    return middle, spread + np.diag(floor**2)


def _middle(values: NDArray[np.floating]) -> NDArray[Any]:
    """Give the median along the first axis, of an even number the upper one; quicker than NumPy."""
    return np.asarray(np.partition(values.T, len(values) // 2)[..., len(values) // 2])


def _squared(values: Float32Array, middle: FloatArray, spread: FloatArray) -> Float32Array:
    """Squared Mahalanobis distance of colours (n, c)."""
    whiten = np.linalg.cholesky(np.linalg.inv(spread)).T
    white = (values - middle) @ whiten.T
    return np.asarray((white**2).sum(axis=1), dtype=np.float32)


def _distance(planes: Planes, clouds: Sequence[tuple[FloatArray, FloatArray]]) -> Float32Array:
    """Mahalanobis distance of every pixel from the nearest cloud."""
    nearest = _squared_everywhere(planes, *clouds[0])
    for cloud in clouds[1:]:
        nearest = np.minimum(nearest, _squared_everywhere(planes, *cloud), out=nearest)
    return np.asarray(cv2.sqrt(nearest), dtype=np.float32)


def _squared_everywhere(planes: Planes, middle: FloatArray, spread: FloatArray) -> Float32Array:
    """``_squared`` for whole pictures."""
    whiten = np.linalg.cholesky(np.linalg.inv(spread)).T  # upper triangle
    shift = -(whiten @ middle)
    squared = np.zeros_like(planes[0])
    last = len(planes) - 1
    for row in range(last + 1):
        by_last = float(whiten[row, last]) if row < last else 0.0
        own = float(whiten[row, row])
        white = cv2.addWeighted(planes[row], own, planes[last], by_last, float(shift[row]))
        for column in range(row + 1, last):
            white = cv2.scaleAdd(planes[column], float(whiten[row, column]), white)
        cv2.accumulateSquare(white, squared)
    return squared


def _coarse_features(residual: Planes, weak: Mask, px_per_in: float) -> Planes:
    """Mean colour of a tenth of an inch around, and the logarithm of its fine contrast; halved.

    Only pixels that do not stand out by themselves count, so that a thread or the edge of a
    dark scrap does not colour its neighbourhood.
    """
    weak_px = cv2.erode(weak.astype(np.uint8), np.ones((3, 3), np.uint8)).astype(np.float32)
    lightness = _float32(cv2.multiply(residual[0], weak_px))
    seen = np.maximum(cv2.blur(weak_px, (5, 5)), np.float32(0.04))
    around = cv2.multiply(cv2.divide(cv2.blur(lightness, (5, 5)), seen), weak_px)
    contrast = _float32(cv2.pow(cv2.subtract(lightness, around), 2))
    sigma = max(1.0, 0.035 * px_per_in)
    share = _smooth_half(weak_px, sigma)
    enough = np.maximum(share, np.float32(0.08))
    # One plane at a time: memory fresh from the system costs more than the sums done in it.
    sums = [_smooth_half(lightness, sigma)]
    sums += [_smooth_half(_float32(cv2.multiply(plane, weak_px)), sigma) for plane in residual[1:]]
    sums.append(_smooth_half(contrast, sigma))
    features = [_float32(cv2.divide(plane, enough)) for plane in sums]
    features[3] = np.float32(0.5) * cv2.log(features[3] + np.float32(0.05))
    few = share <= 0.08
    if few.any():
        others = np.flatnonzero(~few)[::7]
        for plane in features:
            plane[few] = _middle(plane.take(others)) if len(others) else 0
    return tuple(features)


def _smooth_half(plane: Float32Array, sigma: float) -> Float32Array:
    return _float32(cv2.GaussianBlur(halved(plane), (0, 0), sigma))


def halved(plane: Float32Array) -> Float32Array:
    """Average every two by two pixels; an odd last row or column is shared out."""
    height, width = plane.shape
    size = (width // 2, height // 2)
    return _float32(cv2.resize(plane, size, interpolation=cv2.INTER_AREA))
