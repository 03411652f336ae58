"""How far a whole outline may lie off because the card does not tell the plane exactly.

An outline's error is how far one border reaches from the other. A shift along a side moves no
border, one across it does; so likely planes are tried on the ring itself, instead of taking the
widest spread of its worst point.
"""

from __future__ import annotations

import numpy as np

from stash.colour.spaces import FloatArray
from stash.photo.inches.plane import Plane

__all__ = ["border_moved_in", "placed_in"]

_HELD = 95.0  # per cent of the planes that the card allows
_LIKELY = np.random.default_rng(0).standard_normal((400, 8))  # the same ones for every outline


def placed_in(ring_in: FloatArray, plane: Plane) -> float:
    """Give the distance within which the true border lies, 95 times in 100, inches.

    Parameters
    ----------
    ring_in : float64, shape (n, 2)
        Corners of the outline, inches.
    plane : Plane
        What it was measured on. Only the place is meant, not the finding of the edge.
    """
    moves = np.tensordot(_LIKELY, plane.shifts_in(ring_in), axes=1)
    return float(np.percentile(border_moved_in(ring_in, moves), _HELD)) + plane.floor_in


def border_moved_in(ring_in: FloatArray, moves_in: FloatArray) -> FloatArray:
    """Give the Hausdorff distance (m,) of a ring (n, 2) to itself with corners moved (m, n, 2).

    Moves are taken to be short beside the sides and nearly alike along a side, so that the
    farthest place is a corner: its distance to the two sides that met there.
    """
    ahead = np.roll(ring_in, -1, axis=0) - ring_in
    ahead = ahead / np.maximum(np.hypot(*ahead.T), 1e-12)[:, None]
    back = -np.roll(ahead, 1, axis=0)
    there = np.minimum(_to_side(moves_in, ahead), _to_side(moves_in, back))
    and_back = np.minimum(_to_side(-moves_in, ahead), _to_side(-moves_in, back))
    return np.asarray(np.maximum(there, and_back).max(axis=1))


def _to_side(moves_in: FloatArray, way: FloatArray) -> FloatArray:
    """Distance (m, n) of moved corners from a side that leaves the old corner along ``way``."""
    along = (moves_in * way).sum(axis=2)
    across = np.abs(moves_in[..., 0] * way[:, 1] - moves_in[..., 1] * way[:, 0])
    return np.where(along >= 0, across, np.hypot(moves_in[..., 0], moves_in[..., 1]))
