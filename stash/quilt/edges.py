"""Scalloped edges: the true length of an arc from what a ruler can measure."""

from __future__ import annotations

import math

from stash.errors import PlanError

__all__ = ["arc_length", "arc_radius", "scalloped_length"]


def arc_radius(chord_in: float, depth_in: float) -> float:
    """Give the radius of the arc over a chord, inches.

    Raises
    ------
    PlanError
        If the depth is more than half the chord: then the arc is more than half a circle and
        the two measures are not enough.
    """
    if not (0 < chord_in < math.inf and 0 < depth_in <= chord_in / 2):
        raise PlanError(
            f"A scallop {chord_in:g} in wide and {depth_in:g} in deep is no arc up to half a "
            "circle; the depth is at most half the width."
        )
    return chord_in**2 / (8 * depth_in) + depth_in / 2


def arc_length(chord_in: float, depth_in: float) -> float:
    """Give the length along the arc over a chord, inches.

    Examples
    --------
    >>> round(arc_length(6, 1.5), 3)
    6.955
    """
    radius_in = arc_radius(chord_in, depth_in)
    return 2 * radius_in * math.asin(min(1.0, chord_in / (2 * radius_in)))


def scalloped_length(scallops: int, scallop_in: float, *, extra_in: float = 18.0) -> float:
    """Give the binding for scallops measured along their curve, with what is added, inches."""
    return scallops * scallop_in + extra_in
