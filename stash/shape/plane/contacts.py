"""How far a shape must move aside, or up, to stand clear of another: the exact first contact."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stash.shape.plane.border import FloatArray

__all__ = ["Profile", "contacts", "profile_of"]

_ROUNDING_IN = 1e-9


@dataclass(frozen=True)
class Profile:
    """A shape seen from its left and its right: straight pieces between the levels of its corners.

    Attributes
    ----------
    levels : float64, shape (2 k,)
        Both ends of every piece, growing; inner levels come twice.
    least, most : float64, shape (2 k,)
        Leftmost and rightmost x there.
    asked : float64, shape (2 k,)
        The same levels, just inside their pieces.
    """

    levels: FloatArray
    least: FloatArray
    most: FloatArray
    asked: FloatArray


def profile_of(shape: FloatArray) -> Profile:
    """Make the profile of corners (n, 2)."""
    start, end = shape, np.roll(shape, -1, axis=0)
    corners = np.unique(shape[:, 1])
    low, high = corners[:-1, None], corners[1:, None]
    rise = end[:, 1] - start[:, 1]
    spans = (np.minimum(start[:, 1], end[:, 1]) <= low) & (
        np.maximum(start[:, 1], end[:, 1]) >= high
    )
    per_inch = (end[:, 0] - start[:, 0]) / np.where(rise == 0, 1.0, rise)
    ends = [start[:, 0] + (level - start[:, 1]) * per_inch for level in (low, high)]
    spans &= rise != 0
    least = np.stack([np.where(spans, x, np.inf).min(axis=1) for x in ends], axis=1)
    most = np.stack([np.where(spans, x, -np.inf).max(axis=1) for x in ends], axis=1)
    levels = np.stack([corners[:-1], corners[1:]], axis=1)
    asked = levels + np.array([_ROUNDING_IN, -_ROUNDING_IN])
    return Profile(levels.ravel(), least.ravel(), most.ravel(), asked.ravel())


def contacts(left: Profile, right: Profile, lifts: FloatArray) -> FloatArray:
    """Give how far right, lifted by y, must move along x to stand clear of left; -inf: at once."""
    found = np.full(len(lifts), -np.inf)
    low = np.maximum(left.levels[0], right.levels[0] + lifts) + _ROUNDING_IN
    high = np.minimum(left.levels[-1], right.levels[-1] + lifts) - _ROUNDING_IN
    meets = high > low
    if not meets.any():
        return found
    lift = lifts[meets, None]
    shape = (len(lift), len(left.asked))
    levels = np.concatenate([np.broadcast_to(left.asked, shape), right.asked + lift], axis=1)
    levels = np.clip(levels, low[meets, None], high[meets, None])
    reach = np.interp(levels, left.levels, left.most)
    start = np.interp(levels - lift, right.levels, right.least)
    found[meets] = (reach - start).max(axis=1)
    return found
