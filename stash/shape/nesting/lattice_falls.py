"""The densest repeats of a template laid over a scrap, each in its best turns and shifts."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from stash.shape.containment.pose_room import clearance_of
from stash.shape.nesting.cutting_table import CuttingTable
from stash.shape.nesting.lattice import Repeat, dense_repeats, spread
from stash.shape.nesting.rows import rings_of
from stash.shape.nesting.straight_cuts import edge_directions
from stash.shape.plane.border import FloatArray, IndexArray, signed_distance
from stash.shape.templates.turning import Turning

__all__ = ["best_falls", "lies_inside"]

_ALONG, _UP = 8, 6  # even shifts of a lattice along each of its vectors
_FLUSH_WITH = 2  # edges of the scrap that rows are laid flush with
_STRAIGHT = 1e-4  # an edge climbs no more than this share of its length along the rows
_OF_EACH = 2  # falls kept of each repeat and direction
_DIRECTIONS = 5
_NEAR = 0.2  # of the inscribed circle's radius: so far inside, a centre belongs to a near pose
_ROUNDING_IN = 1e-5
_QUARTER, _HALF = math.pi / 2, math.pi


def best_falls(table: CuttingTable) -> list[tuple[FloatArray, FloatArray]]:
    """Give the best falls of the densest repeats, most pieces first.

    Each with the poses that lie inside or nearly, the one with most room first, and their room.
    """
    period = math.radians(table.template.rotation_period_deg)
    repeats = dense_repeats(table.template.cut, period=period, second_turns=_second_turns(table))
    kept: list[tuple[FloatArray, FloatArray]] = []
    for repeat in repeats:
        for direction in _row_directions(table, repeat):
            kept.extend(_best_shifts(table, repeat, direction))
    ranks = [_rank(room) for _, room in kept]
    order = sorted(range(len(kept)), key=lambda k: ranks[k], reverse=True)
    return [kept[k] for k in order]


def _best_shifts(
    table: CuttingTable, repeat: Repeat, direction: float
) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Try all shifts of a repeat; give the poses and rooms of the best."""
    shares = _shares(table, repeat, direction)
    reach = table.area.half_size[0] + table.probe.reach_in
    poses, shift = spread(repeat, direction, reach, shares)
    poses = table.about_inner_centre(poses)
    zero = np.zeros(len(poses), dtype=np.intp)
    depth = signed_distance(table.area.border, zero, poses[:, None, :2])[:, 0]
    maybe = np.flatnonzero(lies_inside(depth - table.probe.inner_radius_in))
    maybe = maybe[lies_inside(_room(table, poses[maybe], coarse=True))]
    inside = maybe[lies_inside(_room(table, poses[maybe]))]
    counts = np.bincount(shift[inside], minlength=len(shares))
    for best in np.argsort(-counts, kind="stable")[:_OF_EACH]:
        near = np.flatnonzero((shift == best) & (depth > _NEAR * table.probe.inner_radius_in))
        room = _room(table, poses[near])
        order = np.argsort(-room, kind="stable")
        yield poses[near][order], room[order]


def _shares(table: CuttingTable, repeat: Repeat, direction: float) -> FloatArray:
    """Give shifts as shares of the repeat's vectors: even ones, and rows flush with an edge."""
    along = np.arange(_ALONG) / _ALONG
    up = np.arange(_UP) / _UP
    pieces = [(repeat.turn, 0.0)]
    if repeat.second is not None:
        pieces.append((repeat.turn + repeat.second[2], repeat.second[1]))
    cut = np.array(table.template.cut)
    ends: list[float] = []
    for turn, lift in pieces:
        heights = cut @ np.array([math.sin(turn), math.cos(turn)]) + lift
        ends.extend((float(heights.min()), float(heights.max())))
    wanted = _edge_levels(table, direction)[:, None] - np.array(ends)
    flush = np.unique(np.round(wanted.ravel() / repeat.up[1] % 1, 9))
    return np.stack(np.meshgrid(along, np.concatenate([up, flush])), axis=-1).reshape(-1, 2)


def _edge_levels(table: CuttingTable, direction: float) -> FloatArray:
    """Give how far across the rows, from the middle, the longest edges along them lie."""
    rings = [ring - table.area.middle[0] for ring in rings_of(table.sure)]
    start = np.concatenate(rings)
    step = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings]) - start
    across = np.array([-math.sin(direction), math.cos(direction)])
    length = np.hypot(*step.T)
    level = np.abs(step @ across) <= _STRAIGHT * length
    longest = np.argsort(-length[level], kind="stable")[:_FLUSH_WITH]
    return np.asarray(((start + step / 2) @ across)[level][longest])


def _rank(room: FloatArray) -> tuple[int, float]:
    """Rank a fall by its pieces, then by how nearly one more lies inside."""
    count = int(lies_inside(room).sum())
    return count, float(room[count]) if count < len(room) else -math.inf


def _room(table: CuttingTable, poses: FloatArray, *, coarse: bool = False) -> FloatArray:
    zero: IndexArray = np.zeros(len(poses), dtype=np.intp)
    return clearance_of(table.area, table.probe, zero, poses, coarse=coarse)


def lies_inside(room: FloatArray) -> NDArray[np.bool_]:
    """Say which poses lie in the cloth, up to rounding; a layout is checked exactly after."""
    return np.asarray(room >= -_ROUNDING_IN)


def _second_turns(table: CuttingTable) -> tuple[float, ...]:
    """Give the turns of a second piece that change its look and that the cloth allows."""
    period = table.template.rotation_period_deg
    offered = [turn for turn in (_HALF, _QUARTER) if math.degrees(turn) % period > 1e-9]
    return tuple(turn for turn in offered if _both_allowed(table.turning, math.degrees(turn)))


def _both_allowed(turning: Turning, apart_deg: float) -> bool:
    middles = [(low + high) / 2 for low, high in turning.windows_deg]
    return turning.is_free or any(turning.allows(one + apart_deg) for one in middles)


def _row_directions(table: CuttingTable, repeat: Repeat) -> list[float]:
    """Directions of rows so that pieces lie as allowed: along long edges, or by the grain."""
    along = [math.radians(one) for one in edge_directions(rings_of(table.sure), _DIRECTIONS)]
    lies_both_ways = table.template.rotation_period_deg <= 180 or repeat.second is not None
    if table.turning.is_free and lies_both_ways:
        return along
    offered = [one + flip for one in along for flip in (0.0, math.pi)]
    if table.turning.is_free:
        return offered
    for low, high in table.turning.windows_deg:
        offered.extend(math.radians(one) - repeat.turn for one in (low, (low + high) / 2, high))
    kept = [one for one in offered if table.allows(math.degrees(one + repeat.turn))]
    return list(dict.fromkeys(round(one % (2 * math.pi), 9) for one in kept))
