"""Branch and bound over position and turn, on many scraps at once.

The clearance of a pose is the largest distance by which the whole piece stays inside the scrap's
border. Moving a pose by at most some distance changes it by at most that distance, so the value
at the middle of a range of poses bounds the range; ranges that cannot reach the clearance needed
are dropped, the others are split. In between, good poses are pushed clear of the border by
damped least squares. A yes rests on a pose found (checked exactly elsewhere), a no on the bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from stash.shape.border import (
    Borders,
    FloatArray,
    IndexArray,
    borders_of,
    signed_distance,
    with_slope,
)
from stash.shape.outline import Outline
from stash.shape.probe import Probe

__all__ = [
    "Field",
    "Found",
    "clearance_of",
    "field_of",
    "field_of_cloth",
    "push_clear",
    "search",
    "with_slopes",
]

_ROUNDING_IN = 5e-5  # single precision at table size, with room
_NEAR_IN = 0.003  # ranges that could gain less than this over the need are given up
_AIM_IN = 4e-4  # how much more than the need a pushed pose aims at
_SQRT2 = 1.4143
_POLISHED = 2  # poses pushed per scrap and round
_FINE = 0.25  # ranges this small beside the inscribed circle are bounded by every point
_FAR_IN = 1e3


@dataclass(frozen=True)
class Field:
    """Scraps laid out for the search, each about the middle of its own bounds.

    Attributes
    ----------
    border : Borders
        The scraps' borders.
    reflex : float64, shape (s, v, 2)
        Corners that point into the cloth, padded far away.
    need : float64, shape (s,)
        Clearance needed, inches.
    half_size : float64, shape (s, 2)
        Half the width and height.
    middle : float64, shape (s, 2)
        Where the middle lies in the scrap's own frame.
    windows : float64, shape (w, 3)
        Scrap number, lowest and highest turn in radians.
    """

    border: Borders
    reflex: FloatArray
    need: FloatArray
    half_size: FloatArray
    middle: FloatArray
    windows: FloatArray


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


def field_of(
    outlines: Sequence[Outline], windows_deg: Sequence[Sequence[tuple[float, float]]]
) -> Field:
    """Lay out scraps with the turns allowed on each."""
    boxes = np.array([outline.bounds for outline in outlines])
    middle = (boxes[:, :2] + boxes[:, 2:]) / 2
    rings = [
        [np.asarray(ring) - middle[k] for ring in (outline.points, *outline.holes)]
        for k, outline in enumerate(outlines)
    ]
    corners = [np.concatenate([_reflex(ring) for ring in of_one]) for of_one in rings]
    most = max(len(of_one) for of_one in corners)
    reflex = np.full((len(outlines), most, 2), _FAR_IN)
    for k, of_one in enumerate(corners):
        reflex[k, : len(of_one)] = of_one
    turns = [
        (k, np.radians(low), np.radians(high))
        for k, of_one in enumerate(windows_deg)
        for low, high in of_one
    ]
    return Field(
        borders_of(rings),
        reflex,
        np.array([outline.error_in for outline in outlines]),
        (boxes[:, 2:] - boxes[:, :2]) / 2,
        middle,
        np.array(turns),
    )


def field_of_cloth(
    rings: Sequence[FloatArray], windows_deg: Sequence[tuple[float, float]]
) -> Field:
    """Lay out one piece of sure cloth, whose border counts as it is, perhaps in several parts.

    Rings may run either way; they must not cross.
    """
    whole = np.concatenate(rings)
    middle = (whole.min(axis=0) + whole.max(axis=0)) / 2
    facing = [ring - middle for ring in _facing(rings)]
    corners = np.concatenate([_reflex(ring) for ring in facing])
    return Field(
        borders_of([facing]),
        corners[None],
        np.zeros(1),
        ((whole.max(axis=0) - whole.min(axis=0)) / 2)[None],
        middle[None],
        np.array([(0, np.radians(low), np.radians(high)) for low, high in windows_deg]),
    )


def _facing(rings: Sequence[FloatArray]) -> list[FloatArray]:
    """Turn rings so that the cloth lies on their left: outer ones ccw, holes clockwise."""
    made = []
    for k, ring in enumerate(rings):
        depth = sum(_holds(other, ring[0]) for n, other in enumerate(rings) if n != k)
        x, y = ring[:, 0], ring[:, 1]
        turned = (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() > 0
        made.append(ring if turned == (depth % 2 == 0) else ring[::-1])
    return made


def _holds(ring: FloatArray, point: FloatArray) -> bool:
    y0, y1 = ring[:, 1], np.roll(ring[:, 1], -1)
    crosses = (y0 <= point[1]) != (y1 <= point[1])
    x0, x1 = ring[crosses, 0], np.roll(ring[:, 0], -1)[crosses]
    share = (point[1] - y0[crosses]) / (y1 - y0)[crosses]
    return bool((x0 + share * (x1 - x0) > point[0]).sum() % 2)


def _reflex(ring: FloatArray) -> FloatArray:
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    return ring[before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0] < 0]


def clearance_of(
    area: Field, probe: Probe, scrap: IndexArray, poses: FloatArray, *, coarse: bool = False
) -> FloatArray:
    """Give the clearance of poses (m, 3), all corners or only the few coarse points."""
    points = probe.points[probe.coarse[0]] if coarse else probe.points
    depths = probe.depths[probe.coarse[0]] if coarse else probe.depths
    inside = signed_distance(area.border, scrap, probe.placed(poses, points))
    value = (inside - depths).min(axis=1)
    if area.reflex.shape[1] and not coarse:
        value = np.minimum(value, probe.outside(poses, area.reflex[scrap]).min(axis=1))
    return np.asarray(value)


def push_clear(
    area: Field,
    probe: Probe,
    window: IndexArray,
    poses: FloatArray,
    *,
    aim: FloatArray,
    steps: int = 10,
) -> tuple[FloatArray, FloatArray]:
    """Push poses towards a clearance by damped least squares.

    Returns
    -------
    (m, 3) and (m,)
        The best pose seen from each start, and its clearance.
    """
    scrap = area.windows[window, 0].astype(np.intp)
    low, high = area.windows[window, 1], area.windows[window, 2]
    best, best_value = poses.copy(), np.full(len(poses), -np.inf)
    damping = np.diag([1e-3, 1e-3, 1e-3 * probe.reach_in**2])
    limit = np.array([0.6, 0.6, 0.6 / probe.reach_in]) * probe.inner_radius_in
    for _ in range(steps):
        value, slope = with_slopes(area, probe, scrap, poses)
        least = value.min(axis=1)
        better = least > best_value
        best[better], best_value[better] = poses[better], least[better]
        short = np.maximum(aim[:, None] - value, 0.0)
        active = short > 0
        if not active.any():
            break
        pull = slope * active[:, :, None]
        square = pull.transpose(0, 2, 1) @ pull + damping
        step = np.linalg.solve(square, (pull * short[:, :, None]).sum(axis=1)[:, :, None])[:, :, 0]
        poses = poses + np.clip(step, -limit, limit)
        full = high - low >= 2 * np.pi - 1e-9
        poses[:, 2] = np.where(full, poses[:, 2], np.clip(poses[:, 2], low, high))
    return best, best_value


def with_slopes(
    area: Field, probe: Probe, scrap: IndexArray, poses: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Give the room of every point of the poses, and how it grows with x, y and turn."""
    placed = probe.placed(poses, probe.points)
    inside, slope = with_slope(area.border, scrap, placed)
    arm = placed - poses[:, None, :2]
    turn = slope[:, :, 1] * arm[:, :, 0] - slope[:, :, 0] * arm[:, :, 1]
    value = inside - probe.depths
    slopes = np.concatenate([slope, turn[:, :, None]], axis=2)
    if area.reflex.shape[1]:
        beyond, their = probe.outside_with_slope(poses, area.reflex[scrap])
        value = np.concatenate([value, beyond], axis=1)
        slopes = np.concatenate([slopes, their], axis=1)
    return value, slopes


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
        owner = area.windows[cells.window, 0].astype(np.intp)
        order = np.lexsort((-cells.bound, owner))
        owner = owner[order]
        first = np.searchsorted(owner, owner, side="left")
        chosen = np.arange(len(owner)) - first < at_once
        rest = cells.take(order[~chosen])
        children = _split(cells.take(order[chosen]), probe)
        np.add.at(spent, area.windows[children.window, 0].astype(np.intp), 1)
        children = _bounded(area, probe, children, found)
        _improve(area, probe, children, found)
        cells = _open(area, rest.joined(children), found)
        owner = area.windows[cells.window, 0].astype(np.intp)
        over = spent[owner] > evaluations
        np.maximum.at(found.bound, owner[over], cells.bound[over])
        cells = cells.take(~over)
    np.maximum(found.bound, found.value, out=found.bound)
    return found


def _open(area: Field, cells: _Cells, found: Found) -> _Cells:
    owner = area.windows[cells.window, 0].astype(np.intp)
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
    scrap = area.windows[cells.window, 0].astype(np.intp)
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
    scrap = area.windows[cells.window, 0].astype(np.intp)
    beyond = probe.outside(cells.pose, area.reflex[scrap]).min(axis=1)
    sway = 2 * np.sin(np.minimum(cells.turn, np.pi) / 2)
    bound = beyond + _SQRT2 * cells.half + sway * probe.reach_in
    cells.value = np.minimum(cells.value, beyond)
    cells.bound = np.minimum(cells.bound, bound + _ROUNDING_IN)
    return _open(area, cells, found)


def _improve(area: Field, probe: Probe, cells: _Cells, found: Found) -> None:
    """Push the most promising middles clear and note what was reached."""
    owner = area.windows[cells.window, 0].astype(np.intp)
    order = np.lexsort((-cells.value, owner))
    owner = owner[order]
    rank = np.arange(len(owner)) - np.searchsorted(owner, owner, side="left")
    reach = 1.3 * cells.half + 0.7 * cells.turn * probe.reach_in
    promising = cells.value + reach >= area.need[area.windows[cells.window, 0].astype(np.intp)]
    chosen = order[(rank < _POLISHED) & promising[order]]
    if not len(chosen):
        return
    starts = cells.take(chosen)
    scrap = area.windows[starts.window, 0].astype(np.intp)
    aim = area.need[scrap] + _AIM_IN
    pose, value = push_clear(area, probe, starts.window, starts.pose, aim=aim, steps=7)
    order = np.argsort(value, kind="stable")
    better = order[value[order] > found.value[scrap[order]]]
    found.value[scrap[better]] = value[better]  # the greatest comes last and stays
    found.pose[scrap[better]] = pose[better]
    found.settled |= found.value >= area.need + _ROUNDING_IN
