"""Ranges of poses: squares of positions and spans of turns, laid over scraps and split."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.shape.containment.field import Field
from stash.shape.containment.probe import Probe
from stash.shape.plane.border import FloatArray, IndexArray

__all__ = ["Blocks", "PoseRanges", "blocks_over", "quartered", "split", "with_turns"]

_SQRT2 = 1.4143
_FOUR = np.array([(-0.5, -0.5), (-0.5, 0.5), (0.5, -0.5), (0.5, 0.5)])


@dataclass
class PoseRanges:
    """Ranges still open, one a row.

    Attributes
    ----------
    window : int
        The window of turns, and with it the scrap.
    pose : float64, shape (n, 3)
        The middle: x, y and turn.
    half, turn : float64
        Half the side of the square, and half the span of turns.
    bound : float64
        No pose in the range has more clearance.
    value : float64
        What the middle has, as far as it was looked at.
    """

    window: IndexArray
    pose: FloatArray
    half: FloatArray
    turn: FloatArray
    bound: FloatArray
    value: FloatArray

    def take(self, chosen: IndexArray | NDArray[np.bool_]) -> PoseRanges:
        """Give some of them."""
        return PoseRanges(
            self.window[chosen],
            self.pose[chosen],
            self.half[chosen],
            self.turn[chosen],
            self.bound[chosen],
            self.value[chosen],
        )

    def joined(self, other: PoseRanges) -> PoseRanges:
        """Give these and others."""
        return PoseRanges.of([self, other])

    @staticmethod
    def of(some: Sequence[PoseRanges]) -> PoseRanges:
        """Put several together."""
        return PoseRanges(
            np.concatenate([one.window for one in some]),
            np.concatenate([one.pose for one in some]),
            np.concatenate([one.half for one in some]),
            np.concatenate([one.turn for one in some]),
            np.concatenate([one.bound for one in some]),
            np.concatenate([one.value for one in some]),
        )

    def sway(self) -> FloatArray:
        """Give how far a point one inch off the middle moves at most by turning."""
        return np.asarray(2 * np.sin(np.minimum(self.turn, np.pi) / 2))

    def shift(self) -> FloatArray:
        """Give how far the middle moves at most."""
        return np.asarray(_SQRT2 * self.half)


@dataclass
class Blocks:
    """Squares of positions: their scrap, middle and half side."""

    owner: IndexArray
    spots: FloatArray
    half: FloatArray

    def take(self, chosen: NDArray[np.bool_]) -> Blocks:
        """Give some of them."""
        return Blocks(self.owner[chosen], self.spots[chosen], self.half[chosen])


def blocks_over(area: Field, probe: Probe) -> Blocks:
    """Cover every scrap with squares about as large as the template's inscribed circle."""
    every = np.arange(len(area.need))
    half = np.maximum(probe.radius(every) / 2, area.half_size.max(axis=1) / 16)
    across = np.maximum(1, np.ceil(area.half_size / half[:, None])).astype(np.intp)
    counts = across[:, 0] * across[:, 1]
    owner = np.repeat(np.arange(len(half)), counts)
    number = _counted(counts)
    wide = across[owner, 0]
    place = np.column_stack([number % wide, number // wide])
    spots = (2 * place - across[owner] + 1) * half[owner, None]
    return Blocks(owner, spots, half[owner])


def quartered(blocks: Blocks) -> Blocks:
    """Cut every square in four."""
    spots = blocks.spots[:, None, :] + _FOUR[None] * blocks.half[:, None, None]
    return Blocks(np.repeat(blocks.owner, 4), spots.reshape(-1, 2), np.repeat(blocks.half / 2, 4))


def with_turns(area: Field, probe: Probe, blocks: Blocks, bound: FloatArray) -> PoseRanges:
    """Combine every block with every window of its scrap, cut into spans that matter as much."""
    of_window = area.windows[:, 0].astype(np.intp)
    first = np.searchsorted(of_window, blocks.owner)
    windows = np.searchsorted(of_window, blocks.owner, side="right") - first
    block = np.repeat(np.arange(len(blocks.owner)), windows)
    window = first[block] + _counted(windows)
    low, high = area.windows[window, 1], area.windows[window, 2]
    half = blocks.half[block]
    reach = probe.reach(blocks.owner)[block]
    count = np.maximum(1, np.ceil((high - low) * reach / (3 * half))).astype(np.intp)
    turn = (high - low) / (2 * count)
    every = np.repeat(np.arange(len(block)), count)
    turns = low[every] + turn[every] * (2 * _counted(count) + 1)
    return PoseRanges(
        window[every],
        np.column_stack([blocks.spots[block[every]], turns]),
        half[every],
        turn[every],
        bound[block[every]],
        np.full(len(every), np.inf),
    )


def _counted(sizes: IndexArray) -> IndexArray:
    """Give 0, 1, ... size - 1 for each size in turn."""
    ends = np.cumsum(sizes)
    return np.arange(int(sizes.sum())) - np.repeat(ends - sizes, sizes)


def split(ranges: PoseRanges, reach: FloatArray) -> PoseRanges:
    """Halve the turn where it matters more (reach, inches, of each), else quarter the square."""
    by_turn = ranges.turn * reach > ranges.shift()
    turned, moved = ranges.take(by_turn), ranges.take(~by_turn)
    pose = np.repeat(turned.pose, 2, axis=0)
    pose[:, 2] += (turned.turn[:, None] * np.array([-0.5, 0.5])).ravel()
    spread = np.repeat(moved.pose, 4, axis=0)
    spread[:, :2] += (moved.half[:, None, None] * _FOUR).reshape(-1, 2)

    def both(two: FloatArray, four: FloatArray) -> FloatArray:
        """Lay what belongs to two bounds and to four in one row."""
        return np.concatenate([np.repeat(two, 2), np.repeat(four, 4)])

    return PoseRanges(
        np.concatenate([np.repeat(turned.window, 2), np.repeat(moved.window, 4)]),
        np.concatenate([pose, spread]),
        both(turned.half, moved.half / 2),
        both(turned.turn / 2, moved.turn),
        both(turned.bound, moved.bound),
        np.full(len(pose) + len(spread), np.inf),
    )
