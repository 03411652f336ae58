"""What the backing looks like: its light across the photo, its colours, its texture.

The backing is what runs round the picture's border. Its colours are modelled as they vary
there: a smooth field of light, then one cloud of colour for plain backings or a few for
patterned ones. Fine detail tells where cloth begins; averages over a tenth of an inch tell
cloth of nearly the backing's colour apart by its mean and its texture.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["FINE_LIMIT", "BackingModel", "Float32Array", "Mask", "model_backing"]

Float32Array: TypeAlias = NDArray[np.float32]
Mask: TypeAlias = NDArray[np.bool_]

# Least spread taken for real, L* and a*, b*: 8-bit coding and JPEG alone give about half.
_FLOOR = np.array([0.9, 0.7, 0.7])
_COARSE_FLOOR = np.array([0.45, 0.35, 0.35, 0.16])
FINE_LIMIT = 4.2  # spreads of the backing beyond which a pixel stands out by itself
_CALM_FINE, _CALM_COARSE = 2.8, 1.6  # 99th percentile of a backing that is as modelled
_SECTORS = 24
_PLAIN_SPREAD = 4.0  # a backing that varies less than this is one cloud of colour
_CLOUDS = 6
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
    residual : float32, shape (height, width, 3)
        CIELAB (of the photo as it is) minus the backing's at that place.
    expected : float32, shape (height, width, 3)
        CIELAB of the backing at that place.
    tints : float32, shape (k, 3)
        What to add to ``expected`` for each colour of the backing; one row if it is plain.
    spread : float
        How widely the widest of those colours scatters, CIELAB units.
    """

    fine: Float32Array
    coarse: Float32Array
    residual: Float32Array
    expected: Float32Array
    tints: Float32Array
    spread: float

    @cached_property
    def light_left(self) -> Float32Array:
        """Light left (its cube root) where the backing may be seen; -1 where the hue is not its.

        In CIELAB less light scales L* + 16, a* and b* alike, by its cube root.
        """
        lightness = self.expected[..., 0] + 16
        dimmer = (self.residual[..., 0] + lightness) / lightness
        shaded = self.expected[..., 1:] * dimmer[..., None]
        off_hue = np.abs(self.expected[..., 1:] + self.residual[..., 1:] - shaded).max(axis=2)
        return np.where(off_hue < 3.5, dimmer, np.float32(-1)).astype(np.float32)

    @property
    def shadow(self) -> Mask:
        """Where the backing may be seen in shadow: its own hue, only darker."""
        return np.asarray((self.light_left > 0.68) & (self.light_left < 0.97), dtype=bool)

    @property
    def plain(self) -> bool:
        """Whether the backing has one colour."""
        return len(self.tints) == 1


def model_backing(lab: Float32Array, sure: Mask, *, px_per_in: float) -> BackingModel:
    """Model the backing from pixels that are surely backing, or most of which are.

    Parameters
    ----------
    lab : float32, shape (height, width, 3)
        CIELAB of the work image, uncalibrated.
    sure : bool, shape (height, width)
        Where to learn; what fills less than half of the photo's sectors may be something else.
    px_per_in : float
        Scale of the work image.
    """
    expected = _light_field(lab, sure)
    residual = lab - expected
    rows = _some(sure)
    sectors = _sectors(rows, sure.shape)
    clouds = _clouds(residual[rows], sectors)
    fine = np.sqrt(np.min([_squared(residual, *cloud) for cloud in clouds], axis=0))
    fine /= _unrest(fine[rows], sectors, _CALM_FINE)
    features = _coarse_features(residual, fine < FINE_LIMIT, px_per_in)
    middle, spread = _one_cloud(features[rows], _COARSE_FLOOR)
    coarse = np.sqrt(_squared(features, middle, spread))
    coarse /= _unrest(coarse[rows], sectors, _CALM_COARSE)
    tints = np.array([middle for middle, _ in clouds], dtype=np.float32)
    widest = max(float(np.sqrt(np.trace(cloud))) for _, cloud in clouds)
    return BackingModel(fine, coarse, residual, expected, tints, widest)


def _sectors(
    rows: tuple[NDArray[np.intp], NDArray[np.intp]], shape: tuple[int, ...]
) -> NDArray[np.intp]:
    """Number the sector of the photo, seen from its middle, that each pixel lies in."""
    y, x = rows[0] / shape[0] - 0.5, rows[1] / shape[1] - 0.5
    turn = np.arctan2(y, x) / (2 * np.pi) + 0.5
    return np.minimum((turn * _SECTORS).astype(np.intp), _SECTORS - 1)


def _unrest(distances: Float32Array, sectors: NDArray[np.intp], calm: float) -> np.float32:
    """How much wilder the backing is than its model: its own 99th percentile, in most sectors."""
    tops = [
        np.percentile(distances[sectors == sector], 99)
        for sector in range(_SECTORS)
        if (sectors == sector).sum() > 20
    ]
    return np.float32(max(1.0, float(np.median(tops)) / calm)) if tops else np.float32(1)


def _some(mask: Mask) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Give an even choice of the mask's pixels."""
    rows, columns = np.nonzero(mask)
    step = max(1, len(rows) // _SAMPLES)
    return rows[::step], columns[::step]


def _light_field(lab: Float32Array, sure: Mask) -> Float32Array:
    """Fit a quadratic surface a channel, leaving out what does not belong (Tukey's biweight)."""
    height, width = sure.shape
    rows, columns = _some(sure)
    terms = _terms(columns / width - 0.5, rows / height - 0.5)
    values = lab[rows, columns].astype(np.float64)
    start = np.median(values, axis=0)
    away = np.abs(values - start).sum(axis=1)
    limit = 2.5 * np.median(away) + 4
    weights = np.clip(1 - (away / limit) ** 2, 0, None) ** 2
    for _ in range(6):
        scaled = terms * weights[:, None]
        ridge = np.diag([0, 1, 1, 1, 1, 1]) * 1e-3 * weights.sum()
        surface = np.linalg.solve(scaled.T @ terms + ridge, scaled.T @ values)
        away = np.abs(values - terms @ surface).sum(axis=1)
        limit = 4.5 * np.median(away[weights > 0]) + 1.5
        weights = np.clip(1 - (away / limit) ** 2, 0, None) ** 2
    y, x = np.mgrid[-0.5 : 0.5 : height * 1j, -0.5 : 0.5 : width * 1j].astype(np.float32)
    field = _terms(x.ravel(), y.ravel()) @ surface.astype(np.float32)
    return np.asarray(field.reshape(height, width, 3), dtype=np.float32)


def _terms(x: NDArray[np.floating], y: NDArray[np.floating]) -> NDArray[np.floating]:
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)


def _clouds(
    residuals: Float32Array, sectors: NDArray[np.intp]
) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """One cloud of colour for a plain backing, several for a patterned one.

    A cloud belongs to the backing when it is met in most sectors; a scrap that the border cuts
    is met in few.
    """
    middle, spread = _one_cloud(residuals, _FLOOR)
    strange = _squared(residuals[None], middle, spread)[0] > FINE_LIMIT**2
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


def _one_cloud(
    values: Float32Array, floor: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Middle and covariance of the bulk: what lies beyond 3.5 robust spreads is left out."""
    kept = values.astype(np.float64)
    for _ in range(3):
        middle = np.median(kept, axis=0)
        spread = 1.4826 * np.median(np.abs(kept - middle), axis=0) + floor
        near = (np.abs(kept - middle) < 3.5 * spread).all(axis=1)
        kept = kept[near]
    spread = np.cov(kept.T) if len(kept) > 8 else np.zeros((len(floor), len(floor)))
    return middle, spread + np.diag(floor**2)


def _squared(
    values: Float32Array, middle: NDArray[np.float64], spread: NDArray[np.float64]
) -> Float32Array:
    """Squared Mahalanobis distance of every pixel."""
    whiten = np.linalg.cholesky(np.linalg.inv(spread)).T.astype(np.float32)
    shift = -(whiten @ middle.astype(np.float32))
    white = cv2.transform(values, np.c_[whiten, shift])
    return np.asarray(np.einsum("yxc,yxc->yx", white, white), dtype=np.float32)


def _coarse_features(residual: Float32Array, weak: Mask, px_per_in: float) -> Float32Array:
    """Mean colour of a tenth of an inch around, and the logarithm of its fine contrast.

    Only pixels that do not stand out by themselves count, so that a thread or the edge of a
    dark scrap does not colour its neighbourhood.
    """
    height, width = weak.shape
    sigma = max(1.0, 0.035 * px_per_in)
    weak_px = cv2.erode(weak.astype(np.uint8), np.ones((3, 3), np.uint8)).astype(np.float32)
    lightness = residual[..., 0] * weak_px
    around = cv2.blur(np.dstack([lightness, weak_px]), (5, 5))
    detail = lightness - around[..., 0] / np.maximum(around[..., 1], 0.04) * weak_px
    half = (width // 2, height // 2)
    stack = np.dstack([residual * weak_px[..., None], detail * detail])
    blurred = cv2.resize(stack, half, interpolation=cv2.INTER_AREA)
    blurred = cv2.GaussianBlur(blurred, (0, 0), sigma)
    share = cv2.resize(weak_px, half, interpolation=cv2.INTER_AREA)
    share = cv2.GaussianBlur(share, (0, 0), sigma)
    enough = share > 0.08
    blurred = blurred / np.maximum(share, 0.08)[..., None]
    blurred[..., 3] = 0.5 * np.log(blurred[..., 3] + 0.05)
    blurred[~enough] = np.median(blurred[enough], axis=0) if enough.any() else 0
    return np.asarray(cv2.resize(blurred, (width, height)), dtype=np.float32)
