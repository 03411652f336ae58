"""Dense repeats of a shape, alone or with its half turn, and how they fall on a scrap."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from shapely.geometry import Polygon

from stash.shape.border import FloatArray
from stash.shape.outline import Ring

__all__ = ["Repeat", "dense_repeats", "spread"]

_SHIFTS = 24
_SAG_SAMPLES = 9


@dataclass(frozen=True)
class Repeat:
    """A repeat in a frame turned by `turn` against the template's.

    Attributes
    ----------
    turn : float
        The first piece's turn in this frame, radians; the second lies half a turn further.
    second : (x, y) or None
        Where the second piece's origin lies; None when all pieces lie alike.
    along, up : (x, y)
        The two vectors of the lattice; the first lies along x.
    density : float
        Share of the cloth covered.
    """

    turn: float
    second: tuple[float, float] | None
    along: tuple[float, float]
    up: tuple[float, float]
    density: float


@lru_cache(maxsize=64)
def dense_repeats(cut: Ring, *, half_turns: bool, most: int = 4) -> tuple[Repeat, ...]:
    """Give the densest repeats whose rows run along an edge of the shape."""
    shape = np.asarray(cut)
    rough = _roughly(cut)
    step = np.roll(rough, -1, axis=0) - rough
    if len(cut) > 12:
        turns = [k * np.pi / 12 for k in range(12)]
    else:
        turns = [-float(np.arctan2(y, x)) for x, y in step]
        turns += [turn + np.pi / 2 for turn in turns]
    rated = [
        (density, turn, sag, shift)
        for turn in sorted({round(turn % np.pi, 9) for turn in turns})
        for sag, shift, density in _promising(_turned(rough, turn), half_turns)
    ]
    rated.sort(key=lambda one: -one[0])
    made = [
        _exact(_turned(shape, turn), turn, sag, shift) for _, turn, sag, shift in rated[: 2 * most]
    ]
    made.sort(key=lambda one: -one.density)
    kept: list[Repeat] = []
    for repeat in made:
        if all(abs(repeat.turn - old.turn) > 1e-6 for old in kept) and len(kept) < most:
            kept.append(repeat)
    return tuple(kept)


def _roughly(cut: Ring) -> FloatArray:
    """Thin a many-cornered shape; only to choose among repeats."""
    rough = Polygon(cut)
    for tolerance in (0.0, 0.01, 0.02, 0.05, 0.1):
        thin = rough.simplify(tolerance)
        if len(thin.exterior.coords) <= 15:
            break
    return np.asarray(thin.exterior.coords)[:-1]


def _turned(shape: FloatArray, turn: float) -> FloatArray:
    cos, sin = np.cos(turn), np.sin(turn)
    return np.column_stack(
        [shape[:, 0] * cos - shape[:, 1] * sin, shape[:, 0] * sin + shape[:, 1] * cos]
    )


def _promising(shape: FloatArray, half_turns: bool) -> list[tuple[float | None, float, float]]:
    """Give sag of the second piece, shift of the next row (shares) and density, best two."""
    area, height = _area(shape), float(np.ptp(shape[:, 1]))
    shifts = np.arange(_SHIFTS) / _SHIFTS
    sags: list[float | None] = [None]
    if half_turns:
        sags.extend(np.linspace(-0.5, 0.5, _SAG_SAMPLES).tolist())
    made: list[tuple[float | None, float, float]] = []
    for sag in sags:
        row, period = _row(shape, sag, height)
        rise = _rises(row, period, shifts * period)
        best = int(np.argmin(rise))
        made.append((sag, float(shifts[best]), len(row) * area / (period * float(rise[best]))))
    made.sort(key=lambda one: -one[2])
    return made[:2]


def _exact(shape: FloatArray, turn: float, sag: float | None, share: float) -> Repeat:
    row, period = _row(shape, sag, float(np.ptp(shape[:, 1])))
    shifts = (share + np.linspace(-0.5, 0.5, 9) / _SHIFTS) * period
    rise = _rises(row, period, shifts)
    best = int(np.argmin(np.round(rise, 9) + 1e-9 * np.abs(np.arange(9) - 4)))
    second = None if len(row) == 1 else (float(row[1][1][0]), float(row[1][1][1]))
    return Repeat(
        turn,
        second,
        (period, 0.0),
        (float(shifts[best]), float(rise[best])),
        len(row) * _area(shape) / (period * float(rise[best])),
    )


_Piece: TypeAlias = tuple[FloatArray, FloatArray]


def _row(shape: FloatArray, sag: float | None, height: float) -> tuple[list[_Piece], float]:
    """Lay one or two pieces side by side; give them with their spots, and the row's period."""
    nothing = np.zeros(1)
    zero = np.zeros(2)
    alone = float(_contacts(shape, shape, nothing)[0])
    if sag is None:
        return [(shape, zero)], alone
    other = -shape
    lift = float(shape[:, 1].min() - other[:, 1].min()) + sag * height
    raised = other + np.array([0.0, lift])
    there = float(_contacts(shape, raised, nothing)[0])
    back = float(_contacts(raised, shape, nothing)[0])
    period = max(there + back, alone)
    return [(shape, zero), (other, np.array([there, lift]))], period


def _rises(row: list[_Piece], period: float, shifts: FloatArray) -> FloatArray:
    """Give how high the next row must lie for each shift of it along x."""
    least = np.zeros(len(shifts))
    for lower, at in row:
        for upper, spot in row:
            for k in (-2, -1, 0, 1, 2):
                aside = spot[0] - at[0] + shifts + k * period
                meets = _contacts(lower[:, ::-1], upper[:, ::-1], aside)
                least = np.maximum(least, meets + at[1] - spot[1])
    return least


def _contacts(left: FloatArray, right: FloatArray, lifts: FloatArray) -> FloatArray:
    """Give how far right, lifted by y, must move along x to stand clear of left; -inf: at once."""
    low = np.maximum(left[:, 1].min(), right[:, 1].min() + lifts) + 1e-9
    high = np.minimum(left[:, 1].max(), right[:, 1].max() + lifts) - 1e-9
    of_left = np.broadcast_to(left[:, 1], (len(lifts), len(left)))
    levels = np.concatenate([of_left, right[:, 1] + lifts[:, None]], axis=1)
    levels = np.clip(levels, low[:, None], np.maximum(high, low)[:, None])
    reach = _side(left, levels.ravel(), most=True).reshape(levels.shape)
    start = _side(right, (levels - lifts[:, None]).ravel(), most=False).reshape(levels.shape)
    return np.asarray(np.where(high > low, (reach - start).max(axis=1), -np.inf))


def _side(shape: FloatArray, levels: FloatArray, *, most: bool) -> FloatArray:
    start, end = shape, np.roll(shape, -1, axis=0)
    low = np.minimum(start[:, 1], end[:, 1])[None, :]
    high = np.maximum(start[:, 1], end[:, 1])[None, :]
    rise = end[:, 1] - start[:, 1]
    share = (levels[:, None] - start[None, :, 1]) / np.where(np.abs(rise) < 1e-12, 1.0, rise)
    x = start[None, :, 0] + np.clip(share, 0, 1) * (end[:, 0] - start[:, 0])[None, :]
    crosses = (low <= levels[:, None] + 1e-12) & (levels[:, None] <= high + 1e-12)
    if most:
        return np.asarray(np.where(crosses, x, -np.inf).max(axis=1))
    return np.asarray(np.where(crosses, x, np.inf).min(axis=1))


def _area(shape: FloatArray) -> float:
    x, y = shape[:, 0], shape[:, 1]
    return float(abs((x * np.roll(y, -1) - y * np.roll(x, -1)).sum()) / 2)


def spread(
    repeat: Repeat, direction: float, half_size: FloatArray, shares: FloatArray
) -> list[FloatArray]:
    """Lay the repeat over a box, rows along a direction, shifted by shares of its cell.

    Parameters
    ----------
    repeat : Repeat
        What to lay.
    direction : float
        Direction of the rows, radians.
    half_size : float64, shape (2,)
        Half the box; its middle is 0, 0.
    shares : float64, shape (k, 2)
        Shifts along and up, each 0 to 1.

    Returns
    -------
    list of float64, shape (pieces, 3)
        Template origin and turn of every piece whose origin falls into the box.
    """
    along, up = np.array(repeat.along), np.array(repeat.up)
    reach = float(np.hypot(*half_size)) + float(np.hypot(*along)) + float(np.hypot(*up))
    rows = int(np.ceil(reach / up[1]))
    columns = int(np.ceil(reach / along[0])) + 1
    j = np.repeat(np.arange(-rows, rows + 1), 2 * columns + 1)
    i = np.tile(np.arange(-columns, columns + 1), 2 * rows + 1)
    i = i - np.round(j * up[0] / along[0]).astype(int)
    first = i[:, None] * along + j[:, None] * up
    spots = [np.column_stack([first, np.full(len(first), repeat.turn)])]
    if repeat.second is not None:
        spots.append(
            np.column_stack([first + repeat.second, np.full(len(first), repeat.turn + np.pi)])
        )
    every = np.concatenate(spots)
    made = []
    for share in shares:
        moved = every[:, :2] + share[0] * along + share[1] * up
        turned = _turned(moved, direction)
        inside = (np.abs(turned) <= half_size).all(axis=1)
        made.append(np.column_stack([turned[inside], every[inside, 2] + direction]))
    return made
