"""What overlapping pieces want: to keep clear of the border and of each other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.shape.containment.field import Field
from stash.shape.containment.pose_room import with_slopes
from stash.shape.containment.probe import Probe
from stash.shape.nesting.convex_gaps import Gaps, Hull, best_edges, gaps_beyond
from stash.shape.plane.border import FloatArray, IndexArray, signed_distance

__all__ = ["Pull", "pulled"]

_AIM_IN = 2e-4  # room aimed at; single precision needs a tenth of it
_MANY = 9  # of more pieces some lie deep in the cloth


@dataclass(frozen=True)
class Pull:
    """What the pieces of each start want, as normal equations of damped least squares.

    Attributes
    ----------
    matrix, vector : float64, shape (starts, pieces, pieces, 3, 3) and (starts, pieces, 3)
        Squares of the growth with every two poses; growth times what is missing.
    worst : float64, shape (starts,)
        Least room of any piece, inches; negative where one sticks out or two overlap.
    want : float64, shape (starts,)
        Sum of the squares of what is missing, square inches.
    """

    matrix: FloatArray
    vector: FloatArray
    worst: FloatArray
    want: FloatArray

    @staticmethod
    def none(starts: int, pieces: int) -> Pull:
        """Want nothing yet."""
        return Pull(
            np.zeros((starts, pieces, pieces, 3, 3)),
            np.zeros((starts, pieces, 3)),
            np.full(starts, np.inf),
            np.zeros(starts),
        )

    def add_pairs(self, pairs: _Pairs, gaps: Gaps) -> None:
        """Add what pairs want, each ordered pair given once at most."""
        np.minimum.at(self.worst, pairs.start, gaps.value.min(axis=1))
        short = np.maximum(_AIM_IN - gaps.value, 0.0)
        np.add.at(self.want, pairs.start, (short**2).sum(axis=1))
        active = (short > 0).any(axis=1)
        start, one, other = pairs.start[active], pairs.one[active], pairs.other[active]
        short = short[active]
        by_one = gaps.by_one[active] * (short > 0)[:, :, None]
        by_other = gaps.by_other[active] * (short > 0)[:, :, None]
        by_one_t, by_other_t = by_one.transpose(0, 2, 1), by_other.transpose(0, 2, 1)
        across = by_one_t @ by_other
        self.matrix[start, one, other] += across
        self.matrix[start, other, one] += across.transpose(0, 2, 1)
        own, wish = np.zeros_like(self.matrix), np.zeros((*self.matrix.shape[:3], 3))
        own[start, one, other] = by_one_t @ by_one
        own[start, other, one] += by_other_t @ by_other
        wish[start, one, other] = (by_one * short[:, :, None]).sum(axis=1)
        wish[start, other, one] += (by_other * short[:, :, None]).sum(axis=1)
        number = np.arange(self.matrix.shape[1])
        self.matrix[:, number, number] += own.sum(axis=2)
        self.vector[:] += wish.sum(axis=2)


@dataclass(frozen=True)
class _Pairs:
    """Pieces near each other: the start they belong to, and their numbers in it."""

    start: IndexArray
    one: IndexArray
    other: IndexArray

    def chosen(self, kept: NDArray[np.bool_]) -> _Pairs:
        """Keep some of the pairs."""
        return _Pairs(self.start[kept], self.one[kept], self.other[kept])


def pulled(area: Field, probe: Probe, poses: FloatArray, hull: Hull) -> Pull:
    """Say what every piece wants of the cloth and of its neighbours."""
    starts, pieces, _ = poses.shape
    pull = Pull.none(starts, pieces)
    _add_border(area, probe, poses, pull)
    pairs, edge = _overlapping(probe, poses, hull)
    if len(pairs.start):
        mine, theirs = poses[pairs.start, pairs.one], poses[pairs.start, pairs.other]
        if hull.is_whole:
            pull.add_pairs(pairs, gaps_beyond(hull.corners, edge, mine, theirs))
        else:
            pull.add_pairs(pairs, _gaps_by_points(probe, mine, theirs))
    return pull


def _add_border(area: Field, probe: Probe, poses: FloatArray, pull: Pull) -> None:
    """Add what the pieces want of the border; those deep in the cloth want nothing."""
    start, number = np.nonzero(np.ones(poses.shape[:2], dtype=np.bool_))
    if poses.shape[1] > _MANY:
        centres = poses[:, :, None, :2].reshape(-1, 1, 2)
        depth = signed_distance(area.border, np.zeros(len(start), dtype=np.intp), centres)[:, 0]
        shallow = depth < probe.reach_in + _AIM_IN
        start, number = start[shallow], number[shallow]
    zero = np.zeros(len(start), dtype=np.intp)
    value, slope = with_slopes(area, probe, zero, poses[start, number], probe.pushed)
    np.minimum.at(pull.worst, start, value.min(axis=1))
    short = np.maximum(_AIM_IN - value, 0.0)
    np.add.at(pull.want, start, (short**2).sum(axis=1))
    weighted = slope * (short > 0)[:, :, None]
    pull.matrix[start, number, number] = weighted.transpose(0, 2, 1) @ weighted
    pull.vector[start, number] = (weighted * short[:, :, None]).sum(axis=1)


def _overlapping(probe: Probe, poses: FloatArray, hull: Hull) -> tuple[_Pairs, IndexArray]:
    """Give the pairs whose hulls overlap, and the edge of one that parts them best.

    Every pair once if the hull is the shape itself, else in both orders.
    """
    pairs = _near_pairs(probe, poses)
    edge, gap = best_edges(
        hull.corners, poses[pairs.start, pairs.one], poses[pairs.start, pairs.other]
    )
    each = np.full((*poses.shape[:2], poses.shape[1]), -np.inf)
    each[pairs.start, pairs.one, pairs.other] = gap
    turned = each[pairs.start, pairs.other, pairs.one]
    kept = np.maximum(gap, turned) < _AIM_IN
    if hull.is_whole:
        kept &= (gap > turned) | ((gap == turned) & (pairs.one < pairs.other))
    return pairs.chosen(kept), edge[kept]


def _near_pairs(probe: Probe, poses: FloatArray) -> _Pairs:
    """Give every ordered pair of neighbours."""
    apart = np.hypot(
        poses[:, :, None, 0] - poses[:, None, :, 0], poses[:, :, None, 1] - poses[:, None, :, 1]
    )
    near = apart < 2 * probe.reach_in
    near[:, np.arange(poses.shape[1]), np.arange(poses.shape[1])] = False
    return _Pairs(*np.nonzero(near))


def _gaps_by_points(probe: Probe, mine: FloatArray, theirs: FloatArray) -> Gaps:
    """Measure the points of one piece against the border of the other."""
    zero = np.zeros(len(mine), dtype=np.intp)
    points = probe.placed(mine, zero)
    beyond, by_other = probe.outside_with_slope(theirs, zero, points)
    arm = points - mine[:, None, :2]
    gx, gy = -by_other[:, :, 0], -by_other[:, :, 1]
    by_one = np.stack([gx, gy, gy * arm[:, :, 0] - gx * arm[:, :, 1]], axis=2)
    return Gaps(beyond - probe.depths, by_one, by_other)
