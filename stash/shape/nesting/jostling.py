"""Pieces put, one after the other, where they overlap the others least, until none does.

Places are the spots of a fine grid and a few turns. How much two pieces overlap at every offset is
worked out once, so that the cost of every place for a piece is a sum of shifted tables. Pairs that
keep overlapping weigh more from round to round, which drives a crowd out of where it is stuck:
guided local search (C. Voudouris and E. Tsang, 1999) as used for cutting and packing by
J. Egeblad, B. Nielsen and A. Odgaard (2007). What comes near is pushed apart exactly by others.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from stash.shape.nesting.cutting_table import CuttingTable
from stash.shape.nesting.rows import rings_of
from stash.shape.nesting.straight_cuts import edge_directions
from stash.shape.plane.border import FloatArray, IndexArray, SingleArray, signed_distance

__all__ = ["Jostle"]

_OF_RADIUS = 1 / 9  # step of the grid, as a share of the inscribed circle's radius
_OF_REACH = 1 / 24  # and at least this share of the farthest corner's distance
_MOST_SPOTS = 40_000
_TURN_DEG = 15.0
_MOST_TURNS = 12
_STANDS_OUT = 0.3  # steps a piece may stand out of the cloth or lie on another for rounding
_NEARLY = 0.14  # of the radius, a piece: so little overlap may be pushed away
_BETTER = 0.95  # of the least overlap yet, what is worth pushing apart
_FEW = 16  # pieces that begin as they were laid for half of the moves
_HEAVIER, _LIGHTER = 0.8, 0.95


class Jostle:
    """A scrap's grid of places for a template, and what pieces there have in common."""

    def __init__(self, table: CuttingTable, random: np.random.Generator) -> None:
        self.table, self.random = table, random
        probe, half = table.probe, table.area.half_size[0]
        room = math.sqrt(float(np.prod(2 * half)) / _MOST_SPOTS)
        self.step_in = max(
            probe.inner_radius_in * _OF_RADIUS, probe.reach_in * _OF_REACH, float(room)
        )
        self.arm = math.ceil(probe.reach_in / self.step_in)
        self.cut = np.array(table.template.cut) - probe.centre
        self.size = (2 * half / self.step_in).astype(np.intp) + 1
        turns = _turns(table)
        shut = [self._shut(turn) for turn in turns]
        open_turns = [k for k, one in enumerate(shut) if not one.all()]
        self.turns = np.array([turns[k] for k in open_turns])
        self.never = np.array([shut[k] for k in open_turns]) * np.float32(1e9)
        self.common = self._common()

    def crowds(self, count: int, laid: FloatArray, moves: int) -> Iterator[FloatArray]:
        """Give crowds of so many poses that nearly lie apart, each with less overlap than before.

        Parameters
        ----------
        count : int
            Pieces.
        laid : float64, shape (k, 3)
            Poses a few pieces begin with, k at most the count, for half of the moves; otherwise
            all begin anywhere: what is dense is far from a lattice.
        moves : int
            Pieces moved in all.
        """
        if not len(self.turns):
            return
        if count <= _FEW:
            spots = self._anywhere(count)
            spots[: len(laid)] = self._on_grid(laid)
            moves //= 2
            yield from _Crowd(self, spots).settling(moves)
        yield from _Crowd(self, self._anywhere(count)).settling(moves)

    def poses(self, spots: IndexArray) -> FloatArray:
        """Turn spots (turn, x, y) of the grid into poses."""
        xy = (spots[:, 1:] - (self.size - 1) / 2) * self.step_in
        return np.column_stack([xy, self.turns[spots[:, 0]]])

    def _on_grid(self, poses: FloatArray) -> IndexArray:
        """Give the nearest turn and spot of each pose."""
        period = math.radians(self.table.template.rotation_period_deg)
        off = np.abs((poses[:, 2, None] - self.turns + period / 2) % period - period / 2)
        xy = np.round(poses[:, :2] / self.step_in + (self.size - 1) / 2).astype(np.intp)
        return np.column_stack([off.argmin(axis=1), np.clip(xy, 0, self.size - 1)])

    def _anywhere(self, count: int) -> IndexArray:
        every = np.argwhere(self.never == 0)
        return every[self.random.integers(len(every), size=count)]

    def _shut(self, turn: float) -> NDArray[np.bool_]:
        """Say of every spot whether the piece, so turned, would stand out of the cloth there."""
        arm = self.arm + 1
        ticks = [
            (np.arange(-arm, n + arm + 1) - (n - 1) / 2) * self.step_in for n in self.size.tolist()
        ]
        depth = self._depths(ticks)
        nx, ny = self.size.tolist()
        least = np.full((nx, ny), np.inf, dtype=np.float32)
        ring = Polygon(_turned(self.cut, turn)).exterior.segmentize(1.5 * self.step_in)
        for x, y in (shapely.get_coordinates(ring)[:-1] / self.step_in).tolist():
            i, j = math.floor(x), math.floor(y)
            u, v = np.float32(x - i), np.float32(y - j)
            part = depth[arm + i : arm + i + nx + 1, arm + j : arm + j + ny + 1]
            along = part[:-1] * (1 - u) + part[1:] * u
            np.minimum(least, along[:, :-1] * (1 - v) + along[:, 1:] * v, out=least)
        return least < -_STANDS_OUT * self.step_in

    def _depths(self, ticks: list[FloatArray]) -> SingleArray:
        """Give how deep in the cloth every spot lies, beyond the grid too."""
        if not hasattr(self, "_depth"):
            points = np.stack(np.meshgrid(*ticks, indexing="ij"), axis=-1).reshape(-1, 1, 2)
            zero = np.zeros(len(points), dtype=np.intp)
            depth = signed_distance(self.table.area.border, zero, points)[:, 0]
            self._depth = depth.reshape(len(ticks[0]), len(ticks[1])).astype(np.float32)
        return self._depth

    def _common(self) -> SingleArray:
        """Give the root of the area two pieces share, by their turns and the offset between."""
        drawn = np.array([self._drawn(turn) for turn in self.turns.tolist()], dtype=np.float64)
        side = 4 * self.arm + 1
        # Convolution as a product of spectra; scipy.signal takes a second to load.
        fixed_waves = np.fft.rfft2(drawn, (side, side))
        moved_waves = np.fft.rfft2(drawn[:, ::-1, ::-1], (side, side))
        common = np.zeros((len(drawn), len(drawn), side, side), dtype=np.float32)
        least = _STANDS_OUT * self.step_in**2
        for j, fixed in enumerate(fixed_waves):
            for i, moved in enumerate(moved_waves):
                area = np.fft.irfft2(fixed * moved, (side, side)) * self.step_in**2
                common[j, i] = np.where(area > least / 2, np.sqrt(np.maximum(area, 0.0)), 0.0)
        return common

    def _drawn(self, turn: float) -> SingleArray:
        """Draw the turned piece: the share of each cell that it covers."""
        ticks = np.arange(-self.arm, self.arm + 1) * self.step_in
        shape = Polygon(_turned(self.cut, turn))
        shapely.prepare(shape)
        x, y = np.meshgrid(ticks, ticks, indexing="ij")
        quarter = self.step_in / 4
        corners = [(a, b) for a in (-quarter, quarter) for b in (-quarter, quarter)]
        hits = [shapely.contains_xy(shape, x + a, y + b) for a, b in corners]
        return np.asarray(np.mean(hits, axis=0), dtype=np.float32)


class _Crowd:
    """Pieces on the grid that move one after the other."""

    def __init__(self, grid: Jostle, spots: IndexArray) -> None:
        self.grid, self.spots = grid, spots
        self.weight = np.ones((len(spots), len(spots)), dtype=np.float32)
        margin = 2 * grid.arm
        nx, ny = (grid.size + 2 * margin).tolist()
        self.cost = np.zeros((len(grid.turns), nx, ny), dtype=np.float32)

    def settling(self, moves: int) -> Iterator[FloatArray]:
        """Move pieces, and give every crowd that overlaps less than any before and only a little.

        One that lies apart by the grid but was not taken is stirred and goes on.
        """
        enough = _NEARLY * self.grid.table.probe.inner_radius_in * len(self.spots)
        least = math.inf
        while moves > 0:
            moves -= self._round() + 1
            shared = self._shared(np.arange(len(self.spots)))
            total = float(shared.sum()) / 2
            if total < _BETTER * least:
                least = total
                if total <= enough:
                    yield self.grid.poses(self.spots)
            if total == 0:
                least = math.inf
                self.spots[int(self.grid.random.integers(len(self.spots)))] = self.grid._anywhere(1)
            worst = max(float(shared.max()), 1e-9)
            grown = self.weight * (1.2 + _HEAVIER * shared / worst)
            self.weight = np.where(shared > 0, grown, np.maximum(1, self.weight * _LIGHTER))

    def _round(self) -> int:
        """Move every piece that lies on another; say how many."""
        moved = 0
        for number in self.grid.random.permutation(len(self.spots)).tolist():
            if self._shared(np.array([number])).any():
                self.spots[number] = self._best_spot(number)
                moved += 1
        return moved

    def _shared(self, some: IndexArray) -> SingleArray:
        """Give what each of some pieces shares with every piece, shape (k, n)."""
        margin = 2 * self.grid.arm
        off = self.spots[some, None, 1:] - self.spots[None, :, 1:] + margin
        near = ((off >= 0) & (off <= 2 * margin)).all(axis=2)
        off = np.clip(off, 0, 2 * margin)
        mine, theirs = self.spots[some, None, 0], self.spots[None, :, 0]
        shared = self.grid.common[theirs, mine, off[..., 0], off[..., 1]] * near
        shared[np.arange(len(some)), some] = 0
        return np.asarray(shared)

    def _best_spot(self, number: int) -> IndexArray:
        """Give the place where a piece costs least; any of those as good."""
        grid = self.grid
        margin = 2 * grid.arm
        side = 2 * margin + 1
        self.cost[:] = 0
        weights = self.weight[number].tolist()
        for other, (turn, x, y) in enumerate(self.spots.tolist()):
            if other != number:
                common, weight = grid.common[turn], weights[other]
                self.cost[:, x : x + side, y : y + side] += (
                    common if weight == 1 else common * np.float32(weight)
                )
        offered = self.cost[:, margin:-margin, margin:-margin] + grid.never
        best = np.flatnonzero(offered.ravel() <= offered.min() + 1e-6)
        chosen = best[int(grid.random.integers(len(best)))]
        return np.array(np.unravel_index(chosen, offered.shape), dtype=np.intp)


def _turned(shape: FloatArray, turn: float) -> FloatArray:
    cos, sin = math.cos(turn), math.sin(turn)
    return np.asarray(shape @ np.array([[cos, sin], [-sin, cos]]))


def _turns(table: CuttingTable) -> list[float]:
    """Give the turns tried, radians: even ones off the longest edge, or some of each window."""
    period = table.template.rotation_period_deg
    if table.turning.is_free:
        count = 8 if period > 180 else max(4, round(period / _TURN_DEG))
        first = edge_directions(rings_of(table.sure), 1)[0]
        return [math.radians(first + k * period / count) for k in range(count)]
    each = max(1, _MOST_TURNS // len(table.windows))
    turns: list[float] = []
    for low, high in table.windows:
        count = min(each, math.ceil((high - low) / _TURN_DEG) + 1) if high - low > 1 else 1
        turns.extend(np.linspace(low, high, count) if count > 1 else [(low + high) / 2])
    return [math.radians(one) for one in turns]
