"""Selvages as bolts have them: lettered, pinholed, fringed, dyed through, or printed over."""

from __future__ import annotations

import zlib

import cv2
import numpy as np
from shapely import affinity
from shapely.geometry import LineString, Polygon

from stash.colour.spaces import FloatArray
from stash.demo.fabrics import TILE_PX_PER_IN, Float32Array

__all__ = ["REPEAT_IN", "SELVAGES", "band_of", "band_tile", "fringe_of"]

SELVAGES = ("lettered", "pinholed", "fringed", "toned", "ragged", "bare")
REPEAT_IN = 3.0
_UNDYED = np.array([0.84, 0.81, 0.73], dtype=np.float32)
_STEP_IN = 0.05


def band_of(shape: Polygon, turn_deg: float, wide_in: float, how: str) -> Polygon:
    """Give the selvage along a laid shape's lower side, board inches; empty where there is none.

    Parameters
    ----------
    shape : Polygon
        The scrap as it lies, board inches, turned by ``turn_deg``.
    wide_in : float
        Width of the selvage.
    how : str
        One of ``SELVAGES``: a ragged one ends where the print happened to reach.
    """
    origin = shape.centroid
    flat = affinity.rotate(shape, -turn_deg, origin=origin)
    left, low, right, _ = flat.bounds
    along = np.arange(left, right + _STEP_IN, _STEP_IN)
    ends = np.full(len(along), low + wide_in)
    if how == "ragged":
        ends += _wander(len(along), zlib.crc32(np.float64(flat.area).tobytes()))
    inner = zip(along[::-1], ends[::-1], strict=True)
    band = Polygon([(left, low), (right, low), *inner])
    seen = affinity.rotate(band, turn_deg, origin=origin).intersection(shape)
    parts = [one for one in getattr(seen, "geoms", [seen]) if isinstance(one, Polygon)]
    return max(parts, key=lambda one: one.area, default=Polygon())


def _wander(count: int, seed: int) -> FloatArray:
    """Give how far a print reaches into the selvage or ends before it, inches; at most 1/16."""
    noise = np.random.default_rng(seed).normal(size=count + 8)
    slow = np.convolve(noise, np.full(9, 1 / 9), mode="valid") * 3
    return np.asarray(np.clip(slow * 0.03, -1 / 16, 1 / 16), dtype=np.float64)


def band_tile(inks: Float32Array, wide_in: float, how: str) -> Float32Array:
    """Paint a selvage (h, w, 3) of linear reflectance, its outer side first."""
    rng = np.random.default_rng(zlib.crc32(inks.tobytes()))
    undyed = _UNDYED * np.float32(rng.uniform(0.75, 1.0))
    ground = undyed
    if how == "toned":  # dyed with the cloth, denser: darker or lighter by a few steps
        ground = np.clip(inks[0] * np.float32(rng.choice([0.62, 0.75, 1.3, 1.5])), 0, 0.95)
    high, wide = round(wide_in * TILE_PX_PER_IN), round(REPEAT_IN * TILE_PX_PER_IN)
    tile = np.broadcast_to(ground, (high, wide, 3)).copy()
    tile *= 1 + 0.04 * rng.standard_normal((high, wide, 1)).astype(np.float32)
    if how in ("pinholed", "toned", "ragged"):
        _prick(tile, rng)
    if how in ("lettered", "ragged", "fringed"):
        _letter(tile, inks, rng)
    return np.asarray(tile, dtype=np.float32)


def _letter(tile: Float32Array, inks: Float32Array, rng: np.random.Generator) -> None:
    """A spot of each ink, then a row of letter-like marks."""
    high, wide = tile.shape[:2]
    row = high // 2
    for number, ink in enumerate(inks):
        colour = [float(one) for one in ink]
        cv2.circle(tile, ((number + 1) * high, row), max(2, high // 5), colour, -1)
    for x in range(len(inks) * high + 2 * high, wide - high, max(4, high // 4)):
        tall = int(rng.integers(high // 8, high // 4 + 1))
        cv2.rectangle(tile, (x, row - tall), (x + high // 10, row + tall), (0.08, 0.08, 0.09), -1)


def _prick(tile: Float32Array, rng: np.random.Generator) -> None:
    """A row of holes where the pins of the finishing frame held the cloth: dark, rims raised."""
    high, wide = tile.shape[:2]
    row = round(high * rng.uniform(0.3, 0.6))
    for x in range(12, wide, round(0.12 * TILE_PX_PER_IN)):
        at = (x + int(rng.integers(-3, 4)), row + int(rng.integers(-3, 4)))
        cv2.circle(tile, at, 4, [float(one) * 1.1 for one in tile[0, 0]], -1)
        cv2.circle(tile, at, 2, (0.05, 0.05, 0.05), -1)


def fringe_of(shape: Polygon, turn_deg: float, rng: np.random.Generator) -> list[FloatArray]:
    """Give the ends of cut weft that stick out of a fringed selvage, (2, 2) each, board inches."""
    origin = shape.centroid
    flat = affinity.rotate(shape, -turn_deg, origin=origin)
    left, low, right, _ = flat.bounds
    ends = []
    for x in np.arange(left, right, 0.035):
        lean = rng.normal(scale=0.03)
        end = LineString([(x, low), (x + lean, low - rng.uniform(0.06, 0.22))])
        if flat.distance(end) < 1e-6:
            ends.append(np.asarray(affinity.rotate(end, turn_deg, origin=origin).coords))
    return ends
