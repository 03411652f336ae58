"""The table under the phone: what is laid down covers, casts shadows, frays and creases."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon

from stash.colour.spaces import FloatArray
from stash.demo.backing import lay_backing
from stash.demo.fabrics import Float32Array
from stash.demo.lens import MadeLens

__all__ = ["Shadow", "Table"]

_FINE = 4  # samples a pixel, each way, for the share of a pixel that a shape covers
_Box = tuple[slice, slice]


@dataclass(frozen=True, slots=True)
class Shadow:
    """A shadow's throw and softness in inches, and how much light it takes away."""

    throw_in: float
    soft_in: float
    strength: float


class Table:
    """Linear reflectance and shade of everything seen, pixel by pixel; things cover in turn."""

    def __init__(
        self, lens: MadeLens, backing: str, shadow: Shadow, *, rng: np.random.Generator
    ) -> None:
        self.lens, self._shadow, self._rng = lens, shadow, rng
        self._x_in, self._y_in = lens.board_maps()
        width, height = lens.size_px
        middle = lens.to_board(np.array([[width / 2, height / 2], [width / 2 + 1, height / 2]]))
        self.px_per_in = 1 / float(np.linalg.norm(middle[1] - middle[0]))
        tile, side_in = lay_backing(backing, rng=rng)
        turn = float(rng.uniform(-6, 6))
        everything = (slice(0, height), slice(0, width))
        self.colour = self._sample(tile, (side_in, side_in), np.zeros(2), turn, everything)
        self.shade = np.ones((height, width), dtype=np.float32)
        angle = rng.uniform(0, 2 * np.pi)
        self._from = np.array([np.cos(angle), np.sin(angle)])

    def fold(self, count: int, rng: np.random.Generator) -> None:
        """Let soft folds run across what is seen so far: light on one side, dark on the other."""
        for _ in range(count):
            angle = rng.uniform(0, np.pi)
            along = self._x_in * np.float32(np.cos(angle)) + self._y_in * np.float32(np.sin(angle))
            away = (along - rng.uniform(along.min(), along.max())) / rng.uniform(0.15, 0.45)
            # 0.43 is the most that x exp(-x^2) reaches
            depth = rng.uniform(0.04, 0.11) / 0.43
            self.shade *= (1 + depth * away * np.exp(-(away**2))).astype(np.float32)

    def shine(self, share: float, rng: np.random.Generator) -> None:
        """Mirror a lamp in what is seen so far, near the middle, a few inches wide."""
        height, width = self.shade.shape
        column, row = (rng.uniform(0.35, 0.65, 2) * [width, height]).astype(int)
        off_x = self._x_in - self._x_in[row, column]
        off_y = self._y_in - self._y_in[row, column]
        spot = np.exp(-(off_x**2 + off_y**2) / (2 * rng.uniform(1.0, 1.6) ** 2))
        self.colour += np.float32(share) * spot[..., None].astype(np.float32)

    def cover(
        self,
        shape: Polygon,
        tile: Float32Array,
        *,
        side_in: tuple[float, float],
        origin: FloatArray,
        turn_deg: float,
        creased: bool = False,
    ) -> None:
        """Lay a shape of cloth (board inches) down; its tile starts at ``origin``, turned."""
        box = self._box(shape, spare_in=0.6)
        if box is None:
            return
        share = self._coverage(shape, box)
        self._cast(share, box)
        texture = self._sample(tile, side_in, origin, turn_deg, box)
        self.colour[box] += share[..., None] * (texture - self.colour[box])
        shade = self._creases(box) if creased else np.float32(1)
        self.shade[box] += share * (shade - self.shade[box])

    def tint(
        self,
        shape: Polygon,
        tile: Float32Array,
        *,
        side_in: tuple[float, float],
        origin: FloatArray,
        turn_deg: float,
    ) -> None:
        """Colour a part of what lies there already, as ``cover`` does, but without a shadow."""
        box = self._box(shape, spare_in=0.1)
        if box is None:
            return
        share = self._coverage(shape, box)
        texture = self._sample(tile, side_in, origin, turn_deg, box)
        self.colour[box] += share[..., None] * (texture - self.colour[box])

    def paint(self, shape: Polygon, ink: tuple[float, float, float]) -> None:
        """Lay something of one linear reflectance down."""
        tile = np.array(ink, dtype=np.float32).reshape(1, 1, 3)
        self.cover(shape, tile, side_in=(1.0, 1.0), origin=np.zeros(2), turn_deg=0.0)

    def fray(self, shape: Polygon, inks: Float32Array) -> None:
        """Let short threads of the cloth stick out of its edges."""
        rim = shape.exterior
        for _ in range(round(rim.length * 5)):
            along = self._rng.uniform(0, rim.length)
            start = np.asarray(rim.interpolate(along).coords[0])
            way = self._rng.normal(size=2)
            end = start + way / np.linalg.norm(way) * self._rng.uniform(0.03, 0.16)
            ink = inks[int(self._rng.integers(len(inks)))]
            self._draw_thread(np.stack([start, end]), ink, 0.012)

    def fringe(self, ends: Sequence[FloatArray], ink: Float32Array) -> None:
        """Draw loose ends of thread, each from where it leaves the cloth, board inches."""
        for end in ends:
            self._draw_thread(end, ink, 0.014)

    def strew(self, *, threads: int, pins: int) -> None:
        """Let threads and pins lie about, on cloth or backing alike."""
        width, height = self.lens.size_px
        for _ in range(threads):
            start = self.lens.to_board(self._rng.uniform(0.1, 0.9, 2) * [width, height])[0]
            steps = self._rng.normal(size=2) + self._rng.normal(scale=0.5, size=(12, 2))
            path = start + np.cumsum(steps * 0.09, axis=0)
            ink = self._rng.uniform(0.02, 0.7, 3).astype(np.float32)
            self._draw_thread(path, ink, 0.016)
        for _ in range(pins):
            start = self.lens.to_board(self._rng.uniform(0.1, 0.9, 2) * [width, height])[0]
            angle = self._rng.uniform(0, 2 * np.pi)
            end = start + 1.25 * np.array([np.cos(angle), np.sin(angle)])
            self._draw_thread(np.stack([start, end]), np.full(3, 0.6, np.float32), 0.022)
            head = shapely.Point(end).buffer(0.07)
            ink = np.array([0.6, 0.05, 0.06], dtype=np.float32)
            self.cover(head, ink.reshape(1, 1, 3), side_in=(1.0, 1.0), origin=end, turn_deg=0.0)

    def shade_by_arm(self) -> None:
        """Darken a broad band from one side, with an edge as soft as a window gives."""
        height, width = self.shade.shape
        y, x = np.mgrid[0 : 1 : height * 1j, 0 : 1 : width * 1j].astype(np.float32)
        angle = self._rng.uniform(0, 2 * np.pi)
        along = (x - 0.5) * np.cos(angle) + (y - 0.5) * np.sin(angle)
        edge_in = 0.15
        soft = edge_in * self.px_per_in / width
        share = 0.5 + 0.5 * np.tanh((along - 0.15) / (2 * soft))
        self.shade *= (1 - 0.35 * share).astype(np.float32)

    def lit(self, unevenness: float) -> Float32Array:
        """Give the light that reaches the camera: brighter on one side, darker in the corners."""
        height, width = self.shade.shape
        y, x = np.mgrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j].astype(np.float32)
        angle = self._rng.uniform(0, 2 * np.pi)
        slope = (x * np.cos(angle) + y * np.sin(angle)) * (unevenness / 2)
        falloff = 1 + slope - 0.04 * (x * x + y * y)
        return np.asarray(self.colour * (self.shade * falloff)[..., None], dtype=np.float32)

    def _box(self, shape: Polygon, *, spare_in: float) -> _Box | None:
        rim = np.asarray(shape.buffer(spare_in).exterior.coords)
        pixels = self.lens.to_pixels(rim)
        width, height = self.lens.size_px
        low = np.maximum(np.floor(pixels.min(axis=0)), 0).astype(int)
        high = np.minimum(np.ceil(pixels.max(axis=0)) + 1, [width, height]).astype(int)
        if (high <= low).any():
            return None
        return slice(low[1], high[1]), slice(low[0], high[0])

    def _coverage(self, shape: Polygon, box: _Box) -> Float32Array:
        """Share of each pixel of the box that the shape covers, 0..1."""
        corner = np.array([box[1].start, box[0].start])
        rings = []
        for ring in (shape.exterior, *shape.interiors):
            dense = np.asarray(LineString(ring.coords).segmentize(0.1).coords)
            fine = (self.lens.to_pixels(dense) - corner + 0.5) * _FINE - 0.5
            rings.append(np.round(fine * 16).astype(np.int32))
        height, width = box[0].stop - box[0].start, box[1].stop - box[1].start
        far = 16 * _FINE * (max(height, width) + 1)
        everything = np.array([[-16, -16], [far, -16], [far, far], [-16, far]], dtype=np.int32)
        # All that a border touches is filled; filled from outside as well, the mean is right.
        shares = []
        for filled in (rings, [everything, *rings]):
            mask = np.zeros((height * _FINE, width * _FINE), dtype=np.uint8)
            cv2.fillPoly(mask, filled, 255, shift=4)
            small = cv2.resize(mask, (width, height), interpolation=cv2.INTER_AREA)
            shares.append(small.astype(np.float32) / 255)
        return np.asarray((1 + shares[0] - shares[1]) / 2, dtype=np.float32)

    def _sample(
        self,
        tile: Float32Array,
        side_in: tuple[float, float],
        origin: FloatArray,
        turn_deg: float,
        box: _Box,
    ) -> Float32Array:
        """Look the tile's colours up; it repeats every ``side_in`` and is turned about origin."""
        goal_px = [max(1, round(side * self.px_per_in)) for side in side_in]
        if goal_px[0] < tile.shape[1]:
            small = cv2.resize(tile, (goal_px[0], goal_px[1]), interpolation=cv2.INTER_AREA)
            tile = np.asarray(small, dtype=np.float32).reshape(goal_px[1], goal_px[0], 3)
        turn = np.deg2rad(turn_deg)
        x, y = self._x_in[box] - np.float32(origin[0]), self._y_in[box] - np.float32(origin[1])
        cos, sin = np.float32(np.cos(turn)), np.float32(np.sin(turn))
        across = (x * cos + y * sin) * np.float32(tile.shape[1] / side_in[0])
        down = (y * cos - x * sin) * np.float32(tile.shape[0] / side_in[1])
        found = cv2.remap(
            tile, across - 0.5, down - 0.5, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP
        )
        return np.asarray(found, dtype=np.float32)

    def _cast(self, share: Float32Array, box: _Box) -> None:
        shadow = self._shadow
        if shadow.strength == 0:
            return
        shift = self._from * shadow.throw_in * self.px_per_in
        move = np.array([[1, 0, shift[0]], [0, 1, shift[1]]])
        height, width = share.shape
        dark = cv2.warpAffine(share, move, (width, height))
        dark = cv2.GaussianBlur(dark, (0, 0), max(0.4, shadow.soft_in * self.px_per_in))
        self.shade[box] *= 1 - shadow.strength * dark

    def _creases(self, box: _Box) -> Float32Array:
        """Light and dark sides of two or three folds."""
        x, y = self._x_in[box], self._y_in[box]
        shade = np.ones_like(x)
        for _ in range(int(self._rng.integers(2, 4))):
            angle = self._rng.uniform(0, np.pi)
            offset = self._rng.uniform(0.2, 0.8)
            along = x * np.cos(angle) + y * np.sin(angle)
            away = along - (along.min() + offset * (along.max() - along.min()))
            shade += 0.14 * np.tanh(away / 0.03) * np.exp(-((away / 0.12) ** 2))
        return np.asarray(shade, dtype=np.float32)

    def _draw_thread(self, path: FloatArray, ink: NDArray[np.float32], width_in: float) -> None:
        line = LineString(path).buffer(width_in / 2)
        if isinstance(line, Polygon):
            self.cover(line, ink.reshape(1, 1, 3), side_in=(1.0, 1.0), origin=path[0], turn_deg=0.0)
