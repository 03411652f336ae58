"""Branch and bound over position and turn, on many scraps at once.

The clearance of a pose is the largest distance by which the whole piece stays inside the scrap's
border. Moving a pose by at most some distance changes it by at most that distance, so the value
at the middle of a range of poses bounds the range; ranges that cannot reach the clearance needed
are dropped, the others are split. In between, good poses are pushed clear of the border by
damped least squares. A yes rests on a pose found (checked exactly elsewhere), a no on the bound.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from stash.shape.border import FloatArray, IndexArray, signed_distance
from stash.shape.field import Field
from stash.shape.pose_room import corner_room, push_clear
from stash.shape.probe import Probe

__all__ = ["Found", "search"]

_ROUNDING_IN = 5e-5  # single precision at table size, with room
_NEAR_IN = 0.003  # ranges that could gain less than this over the need are given up
_AIM_IN = 4e-4  # how much more than the need a pushed pose aims at
_SQRT2 = 1.4143
_POLISHED = 2  # poses pushed per scrap and round
_FINE = 0.25  # ranges this small beside the inscribed circle are bounded by every point


@dataclass
class Found:
    """What is known of each scrap: best pose, its clearance, and the bound on all others."""

    pose: FloatArray
    value: FloatArray
    bound: FloatArray
    settled: np.ndarray[tuple[int], np.dtype[np.bool_]]


@dataclass
class _Cells:
    """Ranges of poses still open: middle pose, half widths, window and bound."""

    window: IndexArray
    pose: FloatArray
    half: FloatArray
    turn: FloatArray
    bound: FloatArray
    value: FloatArray = field(default_factory=lambda: np.empty(0))

    def take(self, chosen: IndexArray | np.ndarray[tuple[int], np.dtype[np.bool_]]) -> _Cells:
        return _Cells(
            self.window[chosen],
            self.pose[chosen],
            self.half[chosen],
            self.turn[chosen],
            self.bound[chosen],
            self.value[chosen],
        )

    def joined(self, other: _Cells) -> _Cells:
        return _Cells(
            np.concatenate([self.window, other.window]),
            np.concatenate([self.pose, other.pose]),
            np.concatenate([self.half, other.half]),
            np.concatenate([self.turn, other.turn]),
            np.concatenate([self.bound, other.bound]),
            np.concatenate([self.value, other.value]),
        )


def search(area: Field, probe: Probe, *, evaluations: int, at_once: int) -> Found:
    """Look for a pose with the clearance needed on every scrap.

    Parameters
    ----------
    area, probe : Field, Probe
        The scraps and the template.
    evaluations : int
        Ranges looked at per scrap before it is left undecided.
    at_once : int
        Ranges split per scrap and round.
    """
    scraps = len(area.need)
    found = Found(
        np.zeros((scraps, 3)),
        np.full(scraps, -np.inf),
        np.full(scraps, -np.inf),
        np.zeros(scraps, dtype=bool),
    )
    spent = np.zeros(scraps)
    cells = _root(area, probe, found)
    while len(cells.bound):
        owner = area.owner(cells.window)
        order = np.lexsort((-cells.bound, owner))
        owner = owner[order]
        first = np.searchsorted(owner, owner, side="left")
        chosen = np.arange(len(owner)) - first < at_once
        rest = cells.take(order[~chosen])
        children = _split(cells.take(order[chosen]), probe)
        np.add.at(spent, area.owner(children.window), 1)
        children = _bounded(area, probe, children, found)
        _improve(area, probe, children, found)
        cells = _open(area, rest.joined(children), found)
        owner = area.owner(cells.window)
        over = spent[owner] > evaluations
        np.maximum.at(found.bound, owner[over], cells.bound[over])
        cells = cells.take(~over)
    np.maximum(found.bound, found.value, out=found.bound)
    return found


def _open(area: Field, cells: _Cells, found: Found) -> _Cells:
    owner = area.owner(cells.window)
    hopeless = cells.bound < area.need[owner] + _NEAR_IN
    np.maximum.at(
        found.bound,
        owner[hopeless | found.settled[owner]],
        cells.bound[hopeless | found.settled[owner]],
    )
    return cells.take(~(hopeless | found.settled[owner]))


def _root(area: Field, probe: Probe, found: Found) -> _Cells:
    """Cover every scrap with blocks; keep those whose middle could hold the inscribed circle."""
    radius = probe.inner_radius_in
    half = np.maximum(radius / 2, area.half_size.max(axis=1) / 16)
    owner, spots = _blocks(area.half_size, half)
    halves = half[owner]
    for _ in range(2):
        room = signed_distance(area.border, owner, spots[:, None, :])[:, 0] - radius
        bound = room + _SQRT2 * halves + _ROUNDING_IN
        kept = bound >= area.need[owner] + _NEAR_IN
        np.maximum.at(found.bound, owner[~kept], bound[~kept])
        owner, spots, halves, bound = owner[kept], spots[kept], halves[kept], bound[kept]
        if _ == 0:
            owner, spots, halves = _quartered(owner, spots, halves)
    return _with_turns(area, probe, owner, spots, halves, bound)


def _blocks(half_size: FloatArray, half: FloatArray) -> tuple[IndexArray, FloatArray]:
    owners, spots = [], []
    for k, (size, step) in enumerate(zip(half_size, half, strict=True)):
        axes = [
            (np.arange(n) - (n - 1) / 2) * 2 * step
            for n in (max(1, int(np.ceil(one / step))) for one in size)
        ]
        grid = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 2)
        spots.append(grid)
        owners.append(np.full(len(grid), k, dtype=np.intp))
    return np.concatenate(owners), np.concatenate(spots)


def _quartered(
    owner: IndexArray, spots: FloatArray, halves: FloatArray
) -> tuple[IndexArray, FloatArray, FloatArray]:
    corners = np.array([(-0.5, -0.5), (-0.5, 0.5), (0.5, -0.5), (0.5, 0.5)])
    spread = spots[:, None, :] + corners[None] * halves[:, None, None]
    return np.repeat(owner, 4), spread.reshape(-1, 2), np.repeat(halves / 2, 4)


def _with_turns(
    area: Field,
    probe: Probe,
    owner: IndexArray,
    spots: FloatArray,
    halves: FloatArray,
    bound: FloatArray,
) -> _Cells:
    # every kept block with every window of its scrap, then every turn of that window
    of_window = area.windows[:, 0].astype(np.intp)
    first = np.searchsorted(of_window, owner)
    windows = np.searchsorted(of_window, owner, side="right") - first
    block = np.repeat(np.arange(len(owner)), windows)
    window = first[block] + _counted(windows)
    low, high = area.windows[window, 1], area.windows[window, 2]
    half = halves[block]
    count = np.maximum(1, np.ceil((high - low) * probe.reach_in / (3 * half))).astype(np.intp)
    turn = (high - low) / (2 * count)
    every = np.repeat(np.arange(len(block)), count)
    turns = low[every] + turn[every] * (2 * _counted(count) + 1)
    return _Cells(
        window[every],
        np.column_stack([spots[block[every]], turns]),
        half[every],
        turn[every],
        bound[block[every]],
        np.full(len(every), np.inf),
    )


def _counted(sizes: IndexArray) -> IndexArray:
    """Give 0, 1, ... size - 1 for each size in turn."""
    ends = np.cumsum(sizes)
    return np.arange(int(sizes.sum())) - np.repeat(ends - sizes, sizes)


def _split(cells: _Cells, probe: Probe) -> _Cells:
    """Halve the turn where it matters more, else quarter the square."""
    by_turn = cells.turn * probe.reach_in > _SQRT2 * cells.half
    turned, moved = cells.take(by_turn), cells.take(~by_turn)
    two, four = (
        np.array([-0.5, 0.5]),
        np.array([(-0.5, -0.5), (-0.5, 0.5), (0.5, -0.5), (0.5, 0.5)]),
    )
    pose = np.repeat(turned.pose, 2, axis=0)
    pose[:, 2] += (turned.turn[:, None] * two).ravel()
    spread = np.repeat(moved.pose, 4, axis=0)
    spread[:, :2] += (moved.half[:, None, None] * four).reshape(-1, 2)

    def both(name: str, turn_by: float = 1.0, move_by: float = 1.0) -> FloatArray:
        return np.concatenate(
            [
                np.repeat(getattr(turned, name), 2) * turn_by,
                np.repeat(getattr(moved, name), 4) * move_by,
            ]
        )

    return _Cells(
        np.concatenate([np.repeat(turned.window, 2), np.repeat(moved.window, 4)]),
        np.concatenate([pose, spread]),
        both("half", 1.0, 0.5),
        both("turn", 0.5, 1.0),
        both("bound"),
        np.full(2 * len(turned.bound) + 4 * len(moved.bound), np.inf),
    )


def _bounded(area: Field, probe: Probe, cells: _Cells, found: Found) -> _Cells:
    """Value and bound of each range from its middle; ranges that cannot reach the need go."""
    for chosen in probe.coarse:
        cells = _bounded_by(area, probe, cells, found, chosen)
    cells = _bounded_by_corners(area, probe, cells, found)
    fine = cells.half + cells.turn * probe.reach_in < _FINE * probe.inner_radius_in
    if not fine.any() or len(probe.rest) == 0:
        return cells
    return cells.take(~fine).joined(_bounded_by(area, probe, cells.take(fine), found, probe.rest))


def _bounded_by(
    area: Field, probe: Probe, cells: _Cells, found: Found, chosen: IndexArray
) -> _Cells:
    scrap = area.owner(cells.window)
    points, depths = probe.points[chosen], probe.depths[chosen]
    inside = signed_distance(area.border, scrap, probe.placed(cells.pose, points)) - depths
    sway = 2 * np.sin(np.minimum(cells.turn, np.pi) / 2)
    moved = _SQRT2 * cells.half
    arm = np.hypot(points[:, 0], points[:, 1])
    bound = (inside + sway[:, None] * arm).min(axis=1) + moved
    cells.value = np.minimum(cells.value, inside.min(axis=1))
    cells.bound = np.minimum(cells.bound, bound + _ROUNDING_IN)
    return _open(area, cells, found)


def _bounded_by_corners(area: Field, probe: Probe, cells: _Cells, found: Found) -> _Cells:
    """Bound ranges by the scrap's own corners that point into the cloth."""
    if not area.reflex.shape[1] or not len(cells.bound):
        return cells
    scrap = area.owner(cells.window)
    beyond = corner_room(area, probe, scrap, cells.pose)
    sway = 2 * np.sin(np.minimum(cells.turn, np.pi) / 2)
    bound = beyond + _SQRT2 * cells.half + sway * probe.reach_in
    cells.value = np.minimum(cells.value, beyond)
    cells.bound = np.minimum(cells.bound, bound + _ROUNDING_IN)
    return _open(area, cells, found)


def _improve(area: Field, probe: Probe, cells: _Cells, found: Found) -> None:
    """Push the most promising middles clear and note what was reached."""
    owner = area.owner(cells.window)
    order = np.lexsort((-cells.value, owner))
    owner = owner[order]
    rank = np.arange(len(owner)) - np.searchsorted(owner, owner, side="left")
    reach = 1.3 * cells.half + 0.7 * cells.turn * probe.reach_in
    promising = cells.value + reach >= area.need[area.owner(cells.window)]
    chosen = order[(rank < _POLISHED) & promising[order]]
    if not len(chosen):
        return
    starts = cells.take(chosen)
    scrap = area.owner(starts.window)
    aim = area.need[scrap] + _AIM_IN
    pose, value = push_clear(area, probe, starts.window, starts.pose, aim=aim, steps=7)
    order = np.argsort(value, kind="stable")
    better = order[value[order] > found.value[scrap[order]]]
    found.value[scrap[better]] = value[better]  # the greatest comes last and stays
    found.pose[scrap[better]] = pose[better]
    found.settled |= found.value >= area.need + _ROUNDING_IN
