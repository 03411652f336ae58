"""Dense repeats of a shape, alone or with a turned second piece, and how they fall on a scrap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from shapely.geometry import Polygon

from stash.shape.plane.border import FloatArray, IndexArray
from stash.shape.plane.contacts import Profile, contacts, profile_of
from stash.shape.plane.outline import Ring

__all__ = ["Repeat", "dense_repeats", "spread"]

_SHIFTS = 24
_SAGS = 11
_FEW_CORNERS = 12  # of a straight shape: rows along an edge or across it are the dense ones
_HALVINGS = 6
_EVEN_TURNS = 12
_FULL = 0.9995  # so dense there is nothing to gain


@dataclass(frozen=True)
class Repeat:
    """A repeat in a frame turned by `turn` against the template's.

    Attributes
    ----------
    turn : float
        The first piece's turn in this frame, radians.
    second : (x, y, turn) or None
        Where the second piece's origin lies, and how much further it is turned; None when all
        pieces lie alike.
    along, up : (x, y)
        The two vectors of the lattice; the first lies along x.
    density : float
        Share of the cloth covered.
    """

    turn: float
    second: tuple[float, float, float] | None
    along: tuple[float, float]
    up: tuple[float, float]
    density: float


@dataclass(frozen=True)
class _Idea:
    """What a repeat is made from.

    The turn of the frame; that of the second piece beyond the first, None without one, and how
    much higher it lies as a share of the height; the shift of the next row as a share of the
    period; the density found.
    """

    turn: float
    second_turn: float | None
    sag: float
    shift: float
    density: float = 0.0


@lru_cache(maxsize=64)
def dense_repeats(
    cut: Ring, *, period: float, second_turns: tuple[float, ...], most: int = 4
) -> tuple[Repeat, ...]:
    """Give the densest repeats, the first row's direction along x.

    Parameters
    ----------
    cut : Ring
        The shape.
    period : float
        After this turn the shape looks the same, radians.
    second_turns : tuple of float
        How a second piece may lie against the first, radians.
    most : int
        How many repeats; each has a turn of its own.
    """
    rough = _roughly(cut)
    straight = len(cut) <= _FEW_CORNERS
    ideas: list[_Idea] = []
    for second_turn in (None, *second_turns):
        if second_turn is None or max(idea.density for idea in ideas) < _FULL:
            for turn in _turns(rough, period, straight=straight):
                ideas.extend(_promising(rough, turn, second_turn))
    ideas.sort(key=lambda one: -one.density)
    refined = [_refined(rough, idea, turn_too=not straight) for idea in ideas[: 2 * most]]
    made = [_exact(np.asarray(cut), idea) for idea in refined]
    made.sort(key=lambda one: -round(one.density, 6))
    kept: list[Repeat] = []
    for repeat in made:
        if all(abs(repeat.turn - old.turn) > 1e-3 for old in kept) and len(kept) < most:
            kept.append(repeat)
    return tuple(kept)


def _turns(rough: FloatArray, period: float, *, straight: bool) -> list[float]:
    """Give the turns that lay an edge along x or across it; even ones for a curved shape."""
    period = min(period, np.pi)
    if not straight:
        return [k * np.pi / _EVEN_TURNS for k in range(round(_EVEN_TURNS * period / np.pi))]
    step = np.roll(rough, -1, axis=0) - rough
    along = [-float(np.arctan2(y, x)) for x, y in step]
    both = np.array([*along, *(one + np.pi / 2 for one in along)])
    return sorted(set((np.round(both / period, 9) % 1 * period).tolist()))


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


def _promising(shape: FloatArray, turn: float, second_turn: float | None) -> list[_Idea]:
    """Give the best two ideas with this turn and kind of second piece."""
    pair = _Pair(shape, turn, second_turn)
    shares = np.arange(_SHIFTS) / _SHIFTS
    made = []
    for sag in [0.0] if second_turn is None else np.linspace(-0.6, 0.6, _SAGS).tolist():
        row = pair.row(sag)
        rises = row.rises(shares * row.period)
        best = int(np.argmin(rises))
        density = row.area / (row.period * float(rises[best]))
        made.append(_Idea(turn, second_turn, sag, float(shares[best]), density))
    made.sort(key=lambda one: -one.density)
    return made[:2]


def _refined(shape: FloatArray, idea: _Idea, *, turn_too: bool) -> _Idea:
    """Move sag, shift and perhaps turn by ever smaller steps while that makes it denser."""
    steps = {"shift": 0.5 / _SHIFTS}
    if idea.second_turn is not None:
        steps["sag"] = 0.6 / _SAGS
    if turn_too:
        steps["turn"] = np.pi / _EVEN_TURNS / 2
    best = idea
    for halving in range(0 if idea.density > _FULL else _HALVINGS):
        for name, step in steps.items():
            for aside in (-step / 2**halving, step / 2**halving):
                tried = replace(best, **{name: getattr(best, name) + aside})
                tried = replace(tried, density=_density(shape, tried))
                best = max(best, tried, key=lambda one: one.density)
    return best


def _density(shape: FloatArray, idea: _Idea) -> float:
    row = _Pair(shape, idea.turn, idea.second_turn).row(idea.sag)
    return row.area / (row.period * float(row.rises(np.array([idea.shift * row.period]))[0]))


def _exact(shape: FloatArray, idea: _Idea) -> Repeat:
    """Lay the true outline as the idea says, with the best shift about the idea's."""
    row = _Pair(shape, idea.turn, idea.second_turn).row(idea.sag)
    aside = np.linspace(-0.5, 0.5, 33) / _SHIFTS
    shifts = (idea.shift + aside) * row.period
    rises = row.rises(shifts)
    best = int(np.argmin(np.round(rises, 9) + 1e-9 * np.abs(np.arange(33) - 16)))
    second = None
    if idea.second_turn is not None:
        there, lift = row.spots[1]
        second = (float(there), float(lift), idea.second_turn)
    return Repeat(
        idea.turn,
        second,
        (row.period, 0.0),
        (float(shifts[best]), float(rises[best])),
        row.area / (row.period * float(rises[best])),
    )


_Views: TypeAlias = tuple[Profile, Profile]  # from the side, and from below


class _Pair:
    """One piece in its turn, or two, that can be laid in rows."""

    def __init__(self, shape: FloatArray, turn: float, second_turn: float | None) -> None:
        turns = [turn] if second_turn is None else [turn, turn + second_turn]
        self.shapes = [_turned(shape, one) for one in turns]
        self.views = [(profile_of(one), profile_of(one[:, ::-1])) for one in self.shapes]
        self.area = len(turns) * Polygon(shape).area

    def row(self, sag: float) -> _Row:
        """Lay the pieces side by side, the second raised by a share of the first's height."""
        sides = [side for side, _ in self.views]
        nothing = np.zeros(1)
        alone = max(float(contacts(side, side, nothing)[0]) for side in sides)
        if len(sides) == 1:
            return _Row(self.views, [(0.0, 0.0)], alone, self.area)
        first, other = (shape[:, 1] for shape in self.shapes)
        lift = float(first.min() - other.min() + sag * np.ptp(first))
        there = float(contacts(sides[0], sides[1], np.array([lift]))[0])
        back = float(contacts(sides[1], sides[0], np.array([-lift]))[0])
        if not np.isfinite(there + back):  # above each other, not side by side
            there, back = alone / 2, alone / 2
        return _Row(self.views, [(0.0, 0.0), (there, lift)], max(there + back, alone), self.area)


@dataclass(frozen=True)
class _Row:
    """Pieces of a row: their views, the spots of their origins, the period, the area in it."""

    views: Sequence[_Views]
    spots: Sequence[tuple[float, float]]
    period: float
    area: float

    @property
    def height(self) -> float:
        """Height of the row, inches."""
        ends = [
            (y + float(view.levels[0]), y + float(view.levels[-1]))
            for (view, _), (_, y) in zip(self.views, self.spots, strict=True)
        ]
        return max(high for _, high in ends) - min(low for low, _ in ends)

    def rises(self, shifts: FloatArray) -> FloatArray:
        """Give how high the next row must lie for each shift of it; the one after is clear too."""
        once = self._contacts(shifts)
        low = 2 * once < self.height
        once[low] = np.maximum(once[low], self._contacts(2 * shifts[low]) / 2)
        return once

    def _contacts(self, shifts: FloatArray) -> FloatArray:
        """Give how high a row must lie to be clear of this one, for each shift along x."""
        least = np.zeros(len(shifts))
        repeats = np.arange(-2, 3)[:, None] * self.period
        for (_, lower), (x0, y0) in zip(self.views, self.spots, strict=True):
            for (_, upper), (x1, y1) in zip(self.views, self.spots, strict=True):
                aside = x1 - x0 + shifts + repeats
                meets = contacts(lower, upper, aside.ravel()).reshape(aside.shape)
                least = np.maximum(least, meets.max(axis=0) + y0 - y1)
        return least


def spread(
    repeat: Repeat, direction: float, half_size: FloatArray, shares: FloatArray
) -> tuple[FloatArray, IndexArray]:
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
    float64, shape (m, 3), and int, shape (m,)
        Template origin and turn of every piece whose origin falls into the box, and the number
        of the shift it belongs to, growing.
    """
    along, up = np.array(repeat.along), np.array(repeat.up)
    reach = float(np.hypot(*half_size)) + float(np.hypot(*along)) + float(np.hypot(*up))
    rows = int(np.ceil(reach / up[1]))
    columns = int(np.ceil(reach / along[0])) + 1
    j = np.repeat(np.arange(-rows, rows + 1), 2 * columns + 1)
    i = np.tile(np.arange(-columns, columns + 1), 2 * rows + 1)
    i = i - np.round(j * up[0] / along[0]).astype(int)
    spots = i[:, None] * along + j[:, None] * up
    turns = np.full(len(spots), repeat.turn)
    if repeat.second is not None:
        spots = np.concatenate([spots, spots + repeat.second[:2]])
        turns = np.concatenate([turns, turns + repeat.second[2]])
    shifts = _turned(shares @ np.stack([along, up]), direction)
    moved = _turned(spots, direction) + shifts[:, None]
    number, piece = np.nonzero((np.abs(moved) <= half_size).all(axis=2))
    return np.column_stack([moved[number, piece], turns[piece] + direction]), number
