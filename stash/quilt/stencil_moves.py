"""How far a stencil is moved so that what lies under it looks the same again."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon, box

from stash.shape.plane.border import FloatArray
from stash.shape.plane.outline import Ring

__all__ = ["stencil_moves"]

_LEVEL_IN = 0.02
_SAME = 0.01  # of its area a piece may differ from the one it is moved on to


def stencil_moves(outlines: Sequence[Ring]) -> tuple[float | None, float | None]:
    """Give the shortest moves along a row and across the rows, inches, that repeat the top.

    From the piece nearest to the middle to the next one that lies the same way, with all its
    neighbours; None where no piece does. Tumblers and apple cores lie by turns, so that a move
    by one piece would bring the stencil on to one that is turned.
    """
    pieces = [Polygon(outline) for outline in outlines]
    centres = np.array([one.centroid.coords[0] for one in pieces])
    middle = (centres.min(axis=0) + centres.max(axis=0)) / 2
    first = int(np.argmin(np.hypot(*(centres - middle).T)))
    moves = centres - centres[first]
    found: list[float | None] = []
    for axis in (0, 1):
        level = np.abs(moves[:, 1 - axis]) < _LEVEL_IN
        offered = np.flatnonzero(level & (np.abs(moves[:, axis]) > _LEVEL_IN))
        nearest = sorted(offered.tolist(), key=lambda k: abs(float(moves[k, axis])))
        found.append(
            next(
                (abs(float(moves[k, axis])) for k in nearest if _repeats(pieces, first, moves[k])),
                None,
            )
        )
    return found[0], found[1]


def _repeats(pieces: Sequence[Polygon], first: int, move: FloatArray) -> bool:
    """Say whether a piece and the whole ones that touch it lie on others when moved.

    Where the move takes one beyond the top there is nothing to lie on.
    """
    top = box(*_bounds(pieces))
    for piece in pieces:
        near = piece.distance(pieces[first]) < _LEVEL_IN
        moved = affinity.translate(piece, *move.tolist())
        if not near or not _differs_little(piece.area, pieces[first].area):
            continue
        if top.contains(moved.centroid) and not any(_alike(moved, one) for one in pieces):
            return False
    return True


def _alike(moved: Polygon, other: Polygon) -> bool:
    """Say whether a piece, whole or cut off by the border, lies wholly under a moved one."""
    shared = moved.intersection(other).area
    return bool(shared > (1 - _SAME) * other.area and shared > _SAME * moved.area)


def _differs_little(area: float, usual: float) -> bool:
    return abs(area - usual) < _SAME * usual


def _bounds(pieces: Sequence[Polygon]) -> tuple[float, float, float, float]:
    boxes = np.array([one.bounds for one in pieces])
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])
