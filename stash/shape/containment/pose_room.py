"""How much room poses of a piece have on their scraps, and how it grows as they move."""

from __future__ import annotations

import numpy as np

from stash.shape.containment.field import Field
from stash.shape.containment.probe import Probe
from stash.shape.plane.border import FloatArray, IndexArray, signed_distance, with_edge, with_slope

__all__ = ["clearance_of", "corner_room", "nearest_corners", "push_clear", "with_slopes"]

_SEEN_IN = 0.06  # corners farther than this beyond the piece's reach say nothing
_PAIRS_AT_ONCE = 400_000  # of pose and corner; some 200 bytes each
_PATIENCE = 3  # pushes without gain after which a pose is left


def clearance_of(
    area: Field, probe: Probe, scrap: IndexArray, poses: FloatArray, *, coarse: bool = False
) -> FloatArray:
    """Give the clearance of poses (m, 3), all corners or only the few coarse points."""
    chosen = probe.coarse[0] if coarse else np.arange(probe.depths.shape[1])
    inside = signed_distance(area.border, scrap, probe.placed(poses, scrap, chosen))
    value = (inside - probe.depth(scrap)[:, chosen]).min(axis=1)
    if not coarse:
        value = np.minimum(value, corner_room(area, probe, scrap, poses)[0])
    return np.asarray(value)


def corner_room(
    area: Field,
    probe: Probe,
    scrap: IndexArray,
    poses: FloatArray,
    sway: FloatArray | None = None,
) -> tuple[FloatArray, FloatArray]:
    """Give how far the scrap's inward corners keep from the piece; inf where they are far.

    The second bounds all turns near the poses; sway is how far a point one inch off moves.
    """
    parts = [
        _corner_room(area, probe, scrap[part], poses[part], None if sway is None else sway[part])
        for part in _few_at_once(area, scrap)
    ]
    room, bound = (np.concatenate([part[turn] for part in parts]) for turn in (0, 1))
    return room, bound


def _few_at_once(area: Field, scrap: IndexArray) -> list[slice]:
    """Part the poses so that their pairs with the scrap's corners stay few in memory."""
    pairs = np.cumsum(area.reflex_first[scrap + 1] - area.reflex_first[scrap])
    starts = np.flatnonzero(np.diff(pairs // _PAIRS_AT_ONCE, prepend=0))
    ends = [*starts[starts > 0].tolist(), len(scrap)]
    return [slice(start, end) for start, end in zip([0, *ends], ends, strict=False)]


def _corner_room(
    area: Field, probe: Probe, scrap: IndexArray, poses: FloatArray, sway: FloatArray | None
) -> tuple[FloatArray, FloatArray]:
    room, bound = np.full((2, len(poses)), np.inf)
    row, corners = _near_corners(area, probe, scrap, poses)
    if len(row):
        beyond = probe.outside(poses[row], scrap[row], corners[:, None, :])[:, 0]
        starts = np.flatnonzero(np.diff(row, prepend=-1))
        room[row[starts]] = np.minimum.reduceat(beyond, starts)
        if sway is not None:
            off = corners - poses[row, :2]
            arm = np.minimum(np.hypot(off[:, 0], off[:, 1]), probe.reach(scrap[row]))
            bound[row[starts]] = np.minimum.reduceat(beyond + sway[row] * arm, starts)
    return room, bound


def nearest_corners(
    area: Field, probe: Probe, scrap: IndexArray, poses: FloatArray, most: int
) -> tuple[FloatArray, FloatArray, IndexArray, FloatArray]:
    """Give the scrap's inward corners nearest to pieces, at most so many of each.

    Returns
    -------
    (m, k, 2), (m, k, 2), (m, k) and (m, k)
        Where they lie, the same as seen from the piece, the piece's nearest edges, and the
        distances from it; inf where there are fewer.
    """
    row, corners = _near_corners(area, probe, scrap, poses)
    seen = probe.seen_from(poses[row], corners[:, None, :])
    depth, edge = with_edge(probe.edge, probe.number(scrap[row]), seen)
    order = np.lexsort((-depth[:, 0], row))
    rank = np.arange(len(row)) - np.searchsorted(row, row)
    order, row, rank = order[rank < most], row[rank < most], rank[rank < most]
    shape = (len(poses), int(rank.max(initial=-1)) + 1)
    placed, local = np.zeros((2, *shape, 2))
    number = np.repeat(probe.edge.first[probe.number(scrap)][:, None], shape[1], axis=1)
    beyond = np.full(shape, np.inf)
    placed[row, rank], local[row, rank] = corners[order], seen[order, 0]
    number[row, rank], beyond[row, rank] = edge[order, 0], -depth[order, 0]
    return placed, local, number, beyond


def _near_corners(
    area: Field, probe: Probe, scrap: IndexArray, poses: FloatArray
) -> tuple[IndexArray, FloatArray]:
    """Pair poses with the corners that could matter: the pose's number, the corner."""
    rows, corners = [], []
    for part in _few_at_once(area, scrap):
        row, near = _near_corners_of(area, probe, scrap[part], poses[part])
        rows.append(row + part.start)
        corners.append(near)
    return np.concatenate(rows), np.concatenate(corners)


def _near_corners_of(
    area: Field, probe: Probe, scrap: IndexArray, poses: FloatArray
) -> tuple[IndexArray, FloatArray]:
    first = area.reflex_first[scrap]
    counts = area.reflex_first[scrap + 1] - first
    ends = np.cumsum(counts)
    row = np.repeat(np.arange(len(scrap)), counts)
    number = np.arange(len(row)) + np.repeat(first - ends + counts, counts)
    off = area.reflex.take(number, axis=0) - poses[:, :2].take(row, axis=0)
    off *= off
    reach = probe.reach(scrap) + area.need[scrap] + _SEEN_IN
    near = np.flatnonzero(off[:, 0] + off[:, 1] < (reach * reach).take(row))
    return row[near], area.reflex[number[near]]


def with_slopes(
    area: Field,
    probe: Probe,
    scrap: IndexArray,
    poses: FloatArray,
    chosen: IndexArray | None = None,
) -> tuple[FloatArray, FloatArray]:
    """Give the room of the points of the poses, and how it grows with x, y and turn.

    The scrap's inward corners near a piece follow as further columns; inf where there is none.
    """
    placed = probe.placed(poses, scrap, chosen)
    inside, slope = with_slope(area.border, scrap, placed)
    arm = placed - poses[:, None, :2]
    row, corners = _near_corners(area, probe, scrap, poses)
    points = placed.shape[1]
    number = np.arange(len(row)) - np.searchsorted(row, row)
    width = points + int(number.max(initial=-1)) + 1
    value = np.full((len(poses), width), np.inf)
    slopes = np.zeros((len(poses), width, 3))
    depth = probe.depth(scrap)
    value[:, :points] = inside - (depth if chosen is None else depth[:, chosen])
    slopes[:, :points, :2] = slope
    slopes[:, :points, 2] = slope[:, :, 1] * arm[:, :, 0] - slope[:, :, 0] * arm[:, :, 1]
    if len(row):
        beyond, their = probe.outside_with_slope(poses[row], scrap[row], corners[:, None, :])
        value[row, points + number] = beyond[:, 0]
        slopes[row, points + number] = their[:, 0]
    return value, slopes


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
    low, high = area.windows[window, 1], area.windows[window, 2]
    full = high - low >= 2 * np.pi - 1e-9
    poses = poses.copy()
    poses[:, 2] = np.where(full, poses[:, 2], np.clip(poses[:, 2], low, high))
    best, best_value = poses.copy(), np.full(len(poses), -np.inf)
    scrap = area.owner(window)
    per_turn = np.column_stack([np.ones((len(poses), 2)), probe.reach(scrap)])
    damping = 1e-3 * per_turn[:, :, None] ** 2 * np.eye(3)
    limit = 0.6 * probe.radius(scrap)[:, None] / per_turn
    left = np.arange(len(poses))
    idle = np.zeros(len(poses), dtype=np.intp)
    here = poses
    for _ in range(steps):
        value, slope = with_slopes(area, probe, scrap[left], here, probe.pushed)
        least = value.min(axis=1)
        better = least > best_value[left] + 1e-6
        idle[left] = np.where(better, 0, idle[left] + 1)
        best[left[better]], best_value[left[better]] = here[better], least[better]
        going = (least < aim[left]) & (idle[left] < _PATIENCE)
        left, here, value, slope = left[going], here[going], value[going], slope[going]
        if not len(left):
            break
        short = np.maximum(aim[left, None] - value, 0.0)
        pull = slope * (short > 0)[:, :, None]
        square = pull.transpose(0, 2, 1) @ pull + damping[left]
        step = np.linalg.solve(square, pull.transpose(0, 2, 1) @ short[:, :, None])[:, :, 0]
        here = here + np.clip(step, -limit[left], limit[left])
        turns = np.clip(here[:, 2], low[left], high[left])
        here[:, 2] = np.where(full[left], here[:, 2], turns)
    return best, best_value
