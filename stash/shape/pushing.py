"""Pushing pieces apart and into the cloth until none overlaps: damped least squares."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stash.shape.border import FloatArray, IndexArray
from stash.shape.field import Field
from stash.shape.pose_room import with_slopes
from stash.shape.probe import Probe

__all__ = ["Crowd", "push_apart"]

_AIM_IN = 2e-4  # room aimed at; single precision needs a tenth of it
_DONE_IN = 3e-5
_DAMPING = 1e-3
_HALVED_AT = (14, 29)  # rounds after which the worse half of the starts is given up


@dataclass
class Crowd:
    """Several starts of the same number of pieces on one scrap.

    Attributes
    ----------
    poses : float64, shape (starts, pieces, 3)
        Where the pieces' inner centres lie, and their turns in radians.
    low, high : float64, shape (starts, pieces)
        The turns each piece may take.
    """

    poses: FloatArray
    low: FloatArray
    high: FloatArray


@dataclass(frozen=True)
class _Pull:
    """Normal equations of the pieces' wants, per start."""

    matrix: FloatArray
    vector: FloatArray
    worst: FloatArray
    want: FloatArray

    def add(self, start: IndexArray, one: IndexArray, other: IndexArray, block: FloatArray) -> None:
        np.add.at(self.matrix, (start, one, other), block)


def push_apart(
    area: Field, probe: Probe, crowd: Crowd, *, rounds: int = 90
) -> tuple[FloatArray, FloatArray]:
    """Push until every piece keeps clear of the border and of the others, or rounds run out.

    Starts that lag behind are given up, so that the promising ones get most of the rounds.

    Returns
    -------
    (starts, pieces, 3) and (starts,)
        The poses, and the least room of each start: positive where nothing overlaps.
    """
    starts, pieces, _ = crowd.poses.shape
    poses = crowd.poses.copy()
    limit = np.array([0.5, 0.5, 0.5 / probe.reach_in]) * probe.inner_radius_in
    full = crowd.high - crowd.low >= 2 * np.pi - 1e-9
    best, best_worst = poses.copy(), np.full(starts, -np.inf)
    open_ = np.arange(starts)
    damping = np.tile([_DAMPING, _DAMPING, _DAMPING * probe.reach_in**2], pieces)
    for number in range(rounds):
        pull = _pulled(area, probe, poses[open_])
        better = pull.worst > best_worst[open_]
        best[open_[better]] = poses[open_[better]]
        best_worst[open_[better]] = pull.worst[better]
        going = pull.worst < _DONE_IN
        if not going.any():
            break
        if number in _HALVED_AT:
            going &= pull.want <= np.median(pull.want[going])
        open_ = open_[going]
        blocks = pull.matrix[going].transpose(0, 1, 3, 2, 4)
        square = blocks.reshape(len(open_), 3 * pieces, 3 * pieces)
        square[:, np.arange(3 * pieces), np.arange(3 * pieces)] += damping
        step = np.linalg.solve(square, pull.vector[going].reshape(len(open_), 3 * pieces, 1))
        moved = poses[open_] + np.clip(step.reshape(len(open_), pieces, 3), -limit, limit)
        turns = np.clip(moved[:, :, 2], crowd.low[open_], crowd.high[open_])
        moved[:, :, 2] = np.where(full[open_], moved[:, :, 2], turns)
        poses[open_] = moved
    return best, best_worst


def _pulled(area: Field, probe: Probe, poses: FloatArray) -> _Pull:
    starts, pieces, _ = poses.shape
    pull = _Pull(
        np.zeros((starts, pieces, pieces, 3, 3)),
        np.zeros((starts, pieces, 3)),
        np.full(starts, np.inf),
        np.zeros(starts),
    )
    flat = poses.reshape(-1, 3)
    owner = np.repeat(np.arange(starts), pieces)
    number = np.tile(np.arange(pieces), starts)
    value, slope = with_slopes(area, probe, np.zeros(len(flat), dtype=np.intp), flat)
    np.minimum.at(pull.worst, owner, value.min(axis=1))
    short = np.maximum(_AIM_IN - value, 0.0)
    np.add.at(pull.want, owner, (short**2).sum(axis=1))
    weighted = slope * (short > 0)[:, :, None]
    pull.add(owner, number, number, weighted.transpose(0, 2, 1) @ weighted)
    pull.vector[owner, number] += (weighted * short[:, :, None]).sum(axis=1)
    if pieces > 1:
        _pull_pairs(probe, poses, pull)
    return pull


def _pull_pairs(probe: Probe, poses: FloatArray, pull: _Pull) -> None:
    """Add every ordered pair of neighbours: the points of one against the border of the other."""
    apart = np.hypot(
        poses[:, :, None, 0] - poses[:, None, :, 0], poses[:, :, None, 1] - poses[:, None, :, 1]
    )
    near = apart < 2 * probe.reach_in
    near[:, np.arange(poses.shape[1]), np.arange(poses.shape[1])] = False
    start, one, other = np.nonzero(near)
    if not len(start):
        return
    mine, theirs = poses[start, one], poses[start, other]
    zero = np.zeros(len(mine), dtype=np.intp)
    points = probe.placed(mine, zero)
    beyond, by_other = probe.outside_with_slope(theirs, zero, points)
    value = beyond - probe.depths
    np.minimum.at(pull.worst, start, value.min(axis=1))
    short = np.maximum(_AIM_IN - value, 0.0)
    np.add.at(pull.want, start, (short**2).sum(axis=1))
    active = (short > 0).any(axis=1)
    if not active.any():
        return
    start, one, other, short = start[active], one[active], other[active], short[active]
    by_other = by_other[active] * (short > 0)[:, :, None]
    arm = points[active] - mine[active][:, None, :2]
    gx, gy = -by_other[:, :, 0], -by_other[:, :, 1]
    by_one = np.stack([gx, gy, gy * arm[:, :, 0] - gx * arm[:, :, 1]], axis=2)
    by_one_t, by_other_t = by_one.transpose(0, 2, 1), by_other.transpose(0, 2, 1)
    pull.add(start, one, one, by_one_t @ by_one)
    pull.add(start, other, other, by_other_t @ by_other)
    pull.add(start, one, other, by_one_t @ by_other)
    pull.add(start, other, one, by_other_t @ by_one)
    np.add.at(pull.vector, (start, one), (by_one * short[:, :, None]).sum(axis=1))
    np.add.at(pull.vector, (start, other), (by_other * short[:, :, None]).sum(axis=1))
