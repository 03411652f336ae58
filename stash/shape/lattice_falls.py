"""The densest repeats of a template laid over a scrap, each in its best turns and shifts."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from stash.shape.border import FloatArray, signed_distance
from stash.shape.cutting_table import CuttingTable
from stash.shape.lattice import dense_repeats, spread
from stash.shape.pose_room import clearance_of
from stash.shape.rows import rings_of
from stash.shape.straight_cuts import edge_directions
from stash.shape.turning import Turning

__all__ = ["falls", "lies_inside"]

_OFFSETS = 6  # shifts of a lattice along each of its vectors
_ROUNDING_IN = 1e-5


def falls(table: CuttingTable) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Give the best falls of the densest repeats: poses that lie nearly inside, and their room."""
    half_turns = 180 % table.template.rotation_period_deg > 1e-9 and _half_turn_allowed(
        table.turning
    )
    repeats = dense_repeats(table.template.cut, half_turns=half_turns)
    grid = np.arange(_OFFSETS) / _OFFSETS
    shares = np.stack(np.meshgrid(grid, grid), axis=-1).reshape(-1, 2)
    reach = table.area.half_size[0] + table.probe.reach_in
    for repeat in repeats:
        for direction in _row_directions(table, repeat.turn):
            laid = spread(repeat, direction, reach, shares)
            sizes = [len(fall) for fall in laid]
            every = table.about_inner_centre(np.concatenate(laid))
            room = _room(table, every)
            ends = np.cumsum(sizes)
            inside = lies_inside(room)
            counts = np.array(
                [inside[end - size : end].sum() for end, size in zip(ends, sizes, strict=True)]
            )
            for k in np.argsort(-counts, kind="stable")[:3]:
                part = slice(ends[k] - sizes[k], ends[k])
                near = room[part] > -table.probe.inner_radius_in
                yield every[part][near], room[part][near]


def lies_inside(room: FloatArray) -> NDArray[np.bool_]:
    """Say which poses lie in the cloth, up to rounding; a layout is checked exactly after."""
    return np.asarray(room >= -_ROUNDING_IN)


def _half_turn_allowed(turning: Turning) -> bool:
    middles = [(low + high) / 2 for low, high in turning.windows_deg]
    return turning.is_free or any(turning.allows(one + 180) for one in middles)


def _row_directions(table: CuttingTable, repeat_turn: float) -> list[float]:
    """Directions of rows so that pieces lie as allowed: along long edges, or by the grain."""
    along = [math.radians(one) for one in edge_directions(rings_of(table.sure), 5)]
    if table.turning.is_free:
        return along
    offered = [one + flip for one in along for flip in (0.0, math.pi)]
    for low, high in table.turning.windows_deg:
        offered.extend(math.radians(one) - repeat_turn for one in (low, (low + high) / 2, high))
    kept = [one for one in offered if table.allows(math.degrees(one + repeat_turn))]
    return list(dict.fromkeys(round(one % (2 * math.pi), 9) for one in kept))


def _room(table: CuttingTable, poses: FloatArray) -> FloatArray:
    room = np.full(len(poses), -np.inf)
    zero = np.zeros(len(poses), dtype=np.intp)
    centre = signed_distance(table.area.border, zero, poses[:, None, :2])[:, 0]
    close = centre > 0.2 * table.probe.inner_radius_in
    room[close] = clearance_of(table.area, table.probe, zero[close], poses[close])
    return room
