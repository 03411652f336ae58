"""Notches, short slits and tips of cloth that never looks like what it lies on.

Finding scraps bridges what may be a stripe in the backing's colour and leaves off what may be a
thread. Where no such stripe is seen inside a scrap, a gap in its border is a cut; and what tapers
out of it in the scrap's own colours is its tip.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.photo.table.backing_model import Float32Array, Mask
from stash.photo.table.mask_sizes import disc, parts_of
from stash.photo.table.thin_parts import without_bridges, without_spurs

__all__ = ["Look", "own_colours", "true_shapes"]

_INSIDE_IN = 0.2  # so deep inside a scrap neither gap nor edge is met
_LEAST_INSIDE_SQ_IN = 0.15
_LEAST_SQ_IN = 0.3  # smaller pieces are no scraps
_LIKE_BACKING = 0.001  # share of the inside above which gaps may be parts of its print
_BIN = 8.0  # CIELAB; colours are told apart by cubes of this size ...
_LOWEST, _CUBES = (0, -128, -128), (14, 32, 32)  # ... from here, so many of L*, a* and b*
_TIP_IN = 0.4  # longest tip that is grown back
_RIM_IN = 0.03  # how wide an edge of cloth is blurred


@dataclass(frozen=True)
class Look:
    """What pixels look like.

    Attributes
    ----------
    seen : bool, shape (height, width)
        What does not look like the backing, nothing bridged.
    bold : bool, shape (height, width)
        What is far from the backing's colour.
    lab : float32, shape (height, width, 3)
        CIELAB.
    """

    seen: Mask
    bold: Mask
    lab: Float32Array

    def within(self, box: tuple[slice, slice]) -> Look:
        """Give the part of it in a box, rows first."""
        return Look(self.seen[box], self.bold[box], self.lab[box])


def true_shapes(part: Mask, look: Look, free: Mask, step: float) -> list[Mask]:
    """Cut a region to what is seen of it, one scrap or several that a guess had bridged.

    None at all where its cloth may look like the backing.

    Parameters
    ----------
    part : bool, shape (height, width)
        The region in a box with room for its tips.
    look : Look
        The box.
    free : bool, shape (height, width)
        Where tips may grow: no other scrap, no card.
    step : float
        Pixels an inch.
    """
    inside = cv2.erode(part.astype(np.uint8), disc(_INSIDE_IN * step)) > 0
    if inside.sum() < _LEAST_INSIDE_SQ_IN * step**2:
        return []
    if (inside & ~(look.seen & look.bold)).sum() > _LIKE_BACKING * inside.sum():
        return []
    whole = _with_tips(part & look.seen, look.seen & free, own_colours(look.lab, inside), step)
    apart = without_bridges(_holes_filled(whole, part), look.bold, step)
    shapes = parts_of(apart, _LEAST_SQ_IN * step**2)
    return [_without_threads(shape, look.bold, step) for shape in shapes]


def _without_threads(shape: Mask, bold: Mask, step: float) -> Mask:
    """Cut off threads by their bold cores: the rest of a thread is a blur as wide as a tip."""
    core = without_spurs(shape & bold, step)
    rim = cv2.dilate(core.astype(np.uint8), disc(_RIM_IN * step)) > 0
    return without_spurs(shape & rim, step)


def own_colours(lab: Float32Array, inside: Mask, *, least: float = 0.0) -> Mask:
    """Tell which pixels have a colour met inside the scrap, or one much like it.

    ``least`` is the share of the inside from which on a colour counts.
    """
    at = np.zeros(inside.shape, dtype=np.int32)
    for plane, low, cubes in zip(cv2.split(lab), _LOWEST, _CUBES, strict=True):
        place = np.clip((plane - np.float32(low)) / np.float32(_BIN), 0, cubes - 1)
        at = at * cubes + place.astype(np.int32)
    met = np.zeros(_CUBES, dtype=bool)
    counts = np.bincount(at[inside], minlength=met.size)
    met.ravel()[counts > least * inside.sum()] = True
    near = met.copy()
    for axis in range(3):
        near |= np.roll(near, 1, axis) | np.roll(near, -1, axis)
    return np.asarray(near.take(at), dtype=bool)


def _with_tips(kept: Mask, seen: Mask, own: Mask, step: float) -> Mask:
    three = np.ones((3, 3), np.uint8)
    grown: NDArray[np.uint8] = kept.astype(np.uint8)
    limit = np.maximum((seen & own).astype(np.uint8), grown)
    for _ in range(round(_TIP_IN * step / 2)):
        grown = np.minimum(cv2.dilate(grown, three, iterations=2), limit)
    rim = (cv2.dilate(grown, three) > 0) & (seen | kept)
    return np.asarray((grown > 0) | rim, dtype=bool)


def _holes_filled(whole: Mask, part: Mask) -> Mask:
    """Fill what the outside does not reach."""
    count, gaps = cv2.connectedComponents((~whole).astype(np.uint8), connectivity=4)
    shut = np.ones(count, dtype=bool)
    shut[gaps[~whole & ~part]] = False
    return np.asarray(whole | shut.take(np.asarray(gaps)), dtype=bool)
