"""Turns at which a piece could lie on a scrap at all, from widths alone.

A piece that keeps d inside a scrap is at least 2 d narrower than the scrap in every direction, and
its area with a margin of d round it is at most the scrap's. Both are cheap, and they settle most
scraps that are too small or too narrow before any place is looked at.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from stash.shape.containment.field import Field
from stash.shape.containment.probe import Probe
from stash.shape.plane.border import FloatArray, IndexArray

__all__ = ["Narrowed", "narrowed"]

_DIRECTIONS = 30  # over half a circle
_STEP = np.radians(3.0)  # windows are cut into steps about this wide
_FLUSH_IN = 1e-3  # a piece that fits without any room is still looked for
_TABLE = 720  # widths of the template over half a circle


@dataclass(frozen=True)
class Narrowed:
    """A field whose windows hold every turn that could keep the clearance needed.

    Attributes
    ----------
    area : Field
        The same scraps; some may have no window left.
    bound : float64, shape (scraps,)
        No turn left out keeps more than this, inches; -inf where none was.
    turn : float64, shape (scraps,)
        The turn at which the widths leave most room.
    window : int, shape (scraps,)
        The window it lies in; 0 for scraps that have none left.
    """

    area: Field
    bound: FloatArray
    turn: FloatArray
    window: IndexArray


def narrowed(area: Field, probe: Probe) -> Narrowed:
    """Leave out the turns at which the piece is too wide for the scrap in some direction."""
    owner, low, high, of_window = _steps(area.windows)
    room = _room_by_width(area, probe, owner, (low + high) / 2, (high - low) / 2)
    room = np.minimum(room, _room_by_area(area, probe)[owner])
    kept = room >= area.need[owner] - _FLUSH_IN
    bound = np.full(len(area.need), -np.inf)
    np.maximum.at(bound, owner[~kept], room[~kept])
    # neighbouring steps of one window become one window again
    begins = kept & ~np.concatenate([[False], kept[:-1] & (of_window[1:] == of_window[:-1])])
    ends = kept & ~np.concatenate([kept[1:] & (of_window[1:] == of_window[:-1]), [False]])
    windows = np.column_stack([owner[begins], low[begins], high[ends]])
    best = np.lexsort((-room, owner))
    best = best[np.flatnonzero(np.diff(owner[best], prepend=-1))]
    turn, window = np.zeros(len(area.need)), np.zeros(len(area.need), dtype=np.intp)
    turn[owner[best]] = ((low + high) / 2)[best]
    window[owner[best]] = np.maximum(np.cumsum(begins) - 1, 0)[best]
    return Narrowed(replace(area, windows=windows), bound, turn, window)


def _steps(windows: FloatArray) -> tuple[IndexArray, FloatArray, FloatArray, IndexArray]:
    """Cut windows into steps: their scrap, lowest and highest turn, and window."""
    counts = np.maximum(1, np.ceil((windows[:, 2] - windows[:, 1]) / _STEP)).astype(np.intp)
    of_window = np.repeat(np.arange(len(windows)), counts)
    number = np.arange(len(of_window)) - np.repeat(np.cumsum(counts) - counts, counts)
    each = ((windows[:, 2] - windows[:, 1]) / counts)[of_window]
    low = windows[of_window, 1] + number * each
    return windows[of_window, 0].astype(np.intp), low, low + each, of_window


def _room_by_width(
    area: Field, probe: Probe, owner: IndexArray, turn: FloatArray, half: FloatArray
) -> FloatArray:
    """Bound the clearance over turns within half of the given ones."""
    directions = np.arange(_DIRECTIONS) * np.pi / _DIRECTIONS
    along = np.column_stack([np.cos(directions), np.sin(directions)]) @ area.border.starts.T
    first = area.border.first[:-1]
    widths = np.maximum.reduceat(along, first, axis=1) - np.minimum.reduceat(along, first, axis=1)
    own = _own_widths(probe)
    number = probe.number(owner)
    # a width changes by at most the longest width for each radian of turn
    slack = 1.001 * own.max(axis=1)[number] * (half + np.pi / _TABLE / 2)
    kinds, kind = np.unique(turn, return_inverse=True)  # free scraps are asked the same turns
    entry = np.rint((directions - kinds[:, None]) * (_TABLE / np.pi)).astype(np.intp) % _TABLE
    room = np.full(len(owner), np.inf)
    for width, at in zip(widths, entry.T, strict=True):
        widest = own[0].take(at).take(kind) if len(own) == 1 else own[number, at.take(kind)]
        np.minimum(room, width.take(owner) - widest, out=room)
    return np.asarray(room + slack) / 2


def _own_widths(probe: Probe) -> FloatArray:
    """Give the widths of each template over half a circle."""
    turns = np.arange(_TABLE) * np.pi / _TABLE
    corners = probe.points[:, (probe.depths == 0).all(axis=0)]
    return np.asarray(np.ptp(corners @ np.array([np.cos(turns), np.sin(turns)]), axis=1))


def _room_by_area(area: Field, probe: Probe) -> FloatArray:
    """Bound the clearance: with a margin d, area a grows to (sqrt(a) + sqrt(pi) d)^2 or more.

    That is the inequality of Brunn and Minkowski; a disc grows by just so much.
    """
    border = area.border
    x, y = border.starts.T
    ux, uy, half = border.table[:, 0], border.table[:, 1], border.table[:, 4]
    whole = np.add.reduceat((x * uy - y * ux) * half, border.first[:-1])
    return np.asarray((np.sqrt(whole) - np.sqrt(probe.areas)) / np.sqrt(np.pi))
