"""Where pieces start from before they are pushed apart: lattices, the best layout, scatter."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

import numpy as np

from stash.shape.containment.piece_fit import Placement
from stash.shape.containment.pose_room import push_clear
from stash.shape.nesting.cutting_table import CuttingTable
from stash.shape.nesting.pushing import Crowd
from stash.shape.plane.border import FloatArray, IndexArray, signed_distance

__all__ = ["Starts"]

_KINDS = ("fall", "best", "scatter")  # of a repeat, the best layout moved, poses far apart
_POOL = 120
_FEW = 9  # up to so many pieces a layout may be opened from its middle
_SCATTERED = 20  # up to so many pieces may all start from scattered poses, as hexagons must


class Starts:
    """Makes starts for one piece more than the best layout, from a pool of single poses."""

    def __init__(
        self, table: CuttingTable, lattices: Sequence[FloatArray], random: np.random.Generator
    ) -> None:
        self.table, self.lattices, self.random = table, lattices, random
        self.falls_used = 0

    def crowd(self, best: tuple[Placement, ...], tried: int) -> Crowd:
        """Give the starts that come after so many tried since the best was found."""
        count = len(best) + 1
        made = []
        for kind in _kinds(count):
            if kind == "fall" and self.lattices:
                made.append(self._from_lattice(count))
            elif kind != "scatter" and best:
                made.append(self._from_best(count, best))
            else:
                made.append(self._scattered(count, np.empty((0, 3))))
        if tried == 0 and 1 < count <= _FEW and self.table.turning.is_free:
            made.append(self._about_a_middle(best))
        poses = np.stack(made)
        low, high = self.limits(poses[:, :, 2])
        return Crowd(poses, low, high)

    def _from_lattice(self, count: int) -> FloatArray:
        """Take the falls one after another, best first; moved a little from the second time on."""
        fall = self.lattices[self.falls_used % len(self.lattices)][:count]
        if self.falls_used >= len(self.lattices):
            fall = fall + self._jitter(fall, 0.2)
        self.falls_used += 1
        return self._scattered(count, fall)

    def _jitter(self, poses: FloatArray, share: float) -> FloatArray:
        """Move every pose by about a share of the inscribed circle's radius."""
        jitter = self.random.normal(0, share * self.table.probe.inner_radius_in, poses.shape)
        jitter[:, 2] /= self.table.probe.reach_in
        return jitter

    def _from_best(self, count: int, best: tuple[Placement, ...]) -> FloatArray:
        poses = self.table.poses_of(best)
        drop = int(self.random.integers(0, min(3, len(poses)) + 1))
        if drop and len(poses) > drop:
            poses = np.delete(poses, self._neighbours(poses, drop), axis=0)
        return self._scattered(count, poses + self._jitter(poses, 0.05))

    def _about_a_middle(self, best: tuple[Placement, ...]) -> FloatArray:
        """Open the best layout from its middle for one piece more, turned half a period."""
        poses = self.table.poses_of(best)
        middle = poses.mean(axis=0)
        half_period = math.radians(self.table.template.rotation_period_deg) / 2
        opened = poses.copy()
        opened[:, :2] += 0.3 * (poses - middle)[:, :2]
        turned = [middle[0], middle[1], poses[0, 2] + half_period]
        return np.concatenate([opened, [turned]])

    def _neighbours(self, poses: FloatArray, count: int) -> IndexArray:
        middle = poses[int(self.random.integers(len(poses)))]
        return np.argsort(np.hypot(*(poses[:, :2] - middle[:2]).T), kind="stable")[:count]

    def _scattered(self, count: int, start: FloatArray) -> FloatArray:
        """Add poses of the pool that lie far from those there are, until there are enough."""
        chosen = [start]
        need = count - len(start)
        if len(start) == 0 and need > 0:
            chosen.append(self.pool[int(self.random.integers(len(self.pool)))][None])
            need -= 1
        placed = np.concatenate(chosen)
        apart = self.pool[:, None, :2] - placed[None, :, :2]
        far = np.min(np.hypot(apart[..., 0], apart[..., 1]), axis=1)
        for _ in range(need):
            weight = np.cumsum(np.minimum(far, 2 * self.table.probe.reach_in) ** 4 + 1e-12)
            pick = int(np.searchsorted(weight, self.random.random() * weight[-1]))
            chosen.append(self.pool[pick][None])
            far = np.minimum(far, np.hypot(*(self.pool[:, :2] - self.pool[pick, :2]).T))
        return np.concatenate(chosen)

    def limits(self, turns: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Give each piece the window of turns it starts in, moved by whole periods."""
        low = np.empty_like(turns)
        high = np.empty_like(turns)
        period = math.radians(self.table.template.rotation_period_deg)
        best = np.full(turns.shape, np.inf)
        for _, first, last in self.table.area.windows:
            middle = (first + last) / 2
            shift = np.round((turns - middle) / period) * period
            off = np.abs(turns - middle - shift)
            closer = off < best
            best = np.where(closer, off, best)
            low = np.where(closer, first + shift, low)
            high = np.where(closer, last + shift, high)
        if self.table.turning.is_free:
            low, high = np.full_like(turns, -np.inf), np.full_like(turns, np.inf)
        return low, high

    @cached_property
    def pool(self) -> FloatArray:
        """Give many different single poses that lie nearly inside."""
        area, probe = self.table.area, self.table.probe
        half = area.half_size[0]
        spots = self.random.uniform(-1, 1, (6 * _POOL, 2)) * half
        zero = np.zeros(len(spots), dtype=np.intp)
        depth = signed_distance(area.border, zero, spots[:, None, :])[:, 0]
        spots = spots[np.argsort(-np.minimum(depth, probe.inner_radius_in), kind="stable")]
        spots = spots[:_POOL]
        window = self.random.integers(0, len(self.table.windows), len(spots))
        low, high = area.windows[window, 1], area.windows[window, 2]
        turns = low + self.random.random(len(low)) * (high - low)
        poses = np.column_stack([spots, turns])
        aim = np.full(len(poses), 2e-4)
        pushed, room = push_clear(area, probe, window, poses, aim=aim, steps=8)
        kept = room > -0.15 * probe.inner_radius_in
        if not kept.any():
            kept = room >= np.sort(room)[-8:].min()
        return np.asarray(pushed[kept])


def _kinds(count: int) -> tuple[str, ...]:
    """Give the kinds of the starts pushed together."""
    if count <= _FEW:
        return 4 * _KINDS
    return 6 * _KINDS[:2] + (4 * _KINDS[2:] if count <= _SCATTERED else ())
