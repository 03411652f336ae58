"""Pushing pieces apart and into the cloth until none overlaps: damped least squares."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.shape.containment.field import Field
from stash.shape.containment.probe import Probe
from stash.shape.nesting.convex_gaps import hull_of
from stash.shape.nesting.push_apart import Pull, pulled
from stash.shape.plane.border import FloatArray

__all__ = ["Crowd", "push_apart"]

_DONE_IN = 3e-5
_DAMPING = 1e-3
_HALVED_AT = (14, 29)  # rounds after which the worse half of the starts is given up
_PATIENCE = 6  # rounds in which a start must come nearer, from the first halving on
_NEARER = 0.8  # share of its want that may be left after them
_NEARLY = 6e-4  # of the inscribed circle's radius squared: a want so small is worth going on


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


def push_apart(
    area: Field, probe: Probe, crowd: Crowd, *, rounds: int = 90
) -> tuple[FloatArray, FloatArray]:
    """Push until in one start all pieces keep clear of the border and of the others.

    Starts that lag behind or come no nearer are given up; the rounds may run out.

    Returns
    -------
    (starts, pieces, 3) and (starts,)
        The poses, and the least room of each start: positive where nothing overlaps.
    """
    starts = len(crowd.poses)
    poses = crowd.poses.copy()
    best, best_worst = poses.copy(), np.full(starts, -np.inf)
    wants = np.full((rounds, starts), np.inf)
    hull = hull_of(probe)
    left = np.arange(starts)
    for number in range(rounds):
        pull = pulled(area, probe, poses[left], hull)
        better = pull.worst > best_worst[left]
        best[left[better]] = poses[left[better]]
        best_worst[left[better]] = pull.worst[better]
        if (pull.worst >= _DONE_IN).any():
            break
        wants[number] = wants[number - 1] if number else np.inf
        wants[number, left] = np.minimum(wants[number, left], pull.want)
        going = _worth_going_on(pull.want, wants[: number + 1, left], probe)
        left = left[going]
        if not len(left):
            break
        poses[left] = _moved(poses[left], probe, pull, going)
        turns = np.clip(poses[left, :, 2], crowd.low[left], crowd.high[left])
        full = crowd.high[left] - crowd.low[left] >= 2 * np.pi - 1e-9
        poses[left, :, 2] = np.where(full, poses[left, :, 2], turns)
    return best, best_worst


def _worth_going_on(want: FloatArray, wants: FloatArray, probe: Probe) -> NDArray[np.bool_]:
    """Pick the starts to push on, from what is missing now and the least of every round yet."""
    number = len(wants) - 1
    going = np.ones(len(want), dtype=np.bool_)
    if number >= _HALVED_AT[0]:
        nearer = wants[-1] <= _NEARER * wants[-1 - _PATIENCE]
        going = nearer | (want <= _NEARLY * probe.inner_radius_in**2)
    if number in _HALVED_AT:
        going &= want <= np.median(want)
    return going


def _moved(poses: FloatArray, probe: Probe, pull: Pull, going: NDArray[np.bool_]) -> FloatArray:
    """Solve for the step of all pieces of each start, no longer than is safe."""
    starts, pieces, _ = poses.shape
    blocks = pull.matrix[going].transpose(0, 1, 3, 2, 4)
    square = blocks.reshape(starts, 3 * pieces, 3 * pieces)
    damping = np.tile([_DAMPING, _DAMPING, _DAMPING * probe.reach_in**2], pieces)
    square[:, np.arange(3 * pieces), np.arange(3 * pieces)] += damping
    step = np.linalg.solve(square, pull.vector[going].reshape(starts, 3 * pieces, 1))
    limit = np.array([0.5, 0.5, 0.5 / probe.reach_in]) * probe.inner_radius_in
    return np.asarray(poses + np.clip(step.reshape(starts, pieces, 3), -limit, limit))
