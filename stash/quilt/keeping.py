"""Lay pieces so that what is left of the scrap is worth most tomorrow.

A full layout says how many pieces the scrap holds. Of it those are cut first that lie at an edge,
in a corner or at an end, moved up against the border; for each choice the leftovers are worked
out as they will be recorded, and the choice wins that keeps the most further pieces, then the
largest square in one part, then the shortest new border.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from stash.quilt.remainder import KNIFE_ERROR_IN, LEAST_IN, remainders
from stash.shape.containment.piece_fit import FitAnswer, Placement, find_placement
from stash.shape.nesting.filling import Effort, fill
from stash.shape.nesting.layout import is_sound
from stash.shape.nesting.rows import rings_of
from stash.shape.nesting.straight_cuts import edge_directions
from stash.shape.plane.outline import Outline, outline_of
from stash.shape.templates.template import Template
from stash.shape.templates.turning import Turning

__all__ = ["TableRule", "lay_to_keep"]

_DIRECTIONS = 8
_OF_ONE = 4  # sides a scrap for one piece alone is tried from
_CORNERS = 6
_COUNTED = 6  # choices whose leftovers are laid out in earnest, the most promising first
_COUNTED_OF_MANY, _MANY = 2, 12  # where each count takes seconds
_FEW = 4  # up to so many pieces are moved up against the border in every choice
# Against the border, along it to either side, and against it again; turns off the way, radians.
_SLIDES = (0.0, 0.5, -0.5, 1.0, -1.0, 1.5, -1.5, 0.0)
_STEP_IN = 0.004
_ASKEW_DEG = 3.0  # a straight edge this little off the border or the grain is laid along it
_HALVINGS = 10
_TOUCH_IN = 1e-7
_QUICK = Effort(steps=12)
_ON_GRAIN_DEG = 0.25  # what a ruler laid on the thread is off: judgement


@dataclass(frozen=True, slots=True)
class TableRule:
    """What is cut on one scrap, and how it may lie.

    Attributes
    ----------
    template : Template
        What to cut.
    turning : Turning
        The turns allowed.
    grain_deg : float or None
        Where pieces should lie along this line although other turns are allowed: squares,
        rectangles, plaids, stripes.
    grain_known : bool
        A known grain line is kept whatever it costs; one guessed from an edge only where that
        keeps as many further pieces.
    """

    template: Template
    turning: Turning
    grain_deg: float | None = None
    grain_known: bool = False

    def on_grain(self) -> TableRule | None:
        """Give the stricter rule along the grain, where there is one."""
        if self.grain_deg is None or not self.turning.is_free:
            return None
        return replace(self, turning=Turning.grain(self.grain_deg, _ON_GRAIN_DEG))


@dataclass(frozen=True)
class _Choice:
    """Some pieces to cut, and what is known of the leftovers."""

    placements: tuple[Placement, ...]
    left: tuple[Outline, ...]
    promised: int
    roomy_in: float
    border_in: float

    def rank(self) -> tuple[float, ...]:
        """Order by pieces promised, then by room, then by a short border; the most is best."""
        return (self.promised, round(self.roomy_in, 1), -self.border_in)


def lay_to_keep(
    outline: Outline, rule: TableRule, pieces: int, *, least_in: float = LEAST_IN
) -> tuple[Placement, ...]:
    """Lay so many pieces, or as many as are found, and keep the most of the scrap.

    Parameters
    ----------
    outline : Outline
        The scrap, at the size it is cut at.
    rule : TableRule
        What is cut and how it may lie.
    pieces : int
        How many are wanted, one or more.
    least_in : float
        Leftovers narrower than this are thrown away, inches.
    """
    strict = rule.on_grain()
    straight = _best(outline, strict, pieces, least_in) if strict else ((), 0)
    if rule.grain_known and len(straight[0]) >= pieces:
        return straight[0]
    free = _best(outline, rule, pieces, least_in)
    as_many = len(straight[0]) >= len(free[0])
    return straight[0] if as_many and (rule.grain_known or straight[1] >= free[1]) else free[0]


def _best(
    outline: Outline, rule: TableRule, pieces: int, least_in: float
) -> tuple[tuple[Placement, ...], int]:
    """Give the placements that keep most, and how many further pieces they keep."""
    known = find_placement(outline, rule.template, turning=rule.turning)
    if known.placement is None:
        return (), 0
    full = _full(outline, rule, pieces, known)
    if len(full) > pieces:
        full = _apart(outline, rule, full) or full
    further = max(0, len(full) - pieces)
    table = _Table(outline, rule, full, least_in)
    choices = table.choices(pieces)
    if not further:
        return choices[0].placements, 0
    best, kept = choices[0], -1
    for choice in choices[: _COUNTED if further <= _MANY else _COUNTED_OF_MANY]:
        count = choice.promised
        if count < further:
            count = max(count, _counted(choice.left, rule))
        if count > kept:
            best, kept = choice, count
        if kept >= further:
            break
    return best.placements, kept


def _full(
    outline: Outline, rule: TableRule, pieces: int, known: FitAnswer
) -> tuple[Placement, ...]:
    """Lay the scrap full, with the search by which pieces are counted where the quick is short."""
    full: tuple[Placement, ...] = (known.placement,) if known.placement else ()
    if outline.area_sq_in < 2 * rule.template.cut_polygon().area:
        return full
    for effort in (_QUICK, Effort()):
        full = fill(
            outline, rule.template, turning=rule.turning, effort=effort, known=known
        ).placements
        if len(full) >= pieces:
            break
    return full


def _apart(outline: Outline, rule: TableRule, full: tuple[Placement, ...]) -> tuple[Placement, ...]:
    """Give as many pieces so far apart that cutting any of them spoils no other; else none."""
    half_in = max(KNIFE_ERROR_IN, outline.error_in) / 2 + _TOUCH_IN
    wide = rule.template.cut_polygon().buffer(half_in, join_style="mitre")
    grown = replace(rule.template, cut=outline_of(wide.exterior.coords).points)
    # Beside the scrap's own border nothing is cut off: there the grown piece may stick out.
    cloth = outline.polygon.buffer(half_in - outline.error_in, join_style="mitre")
    rings = [
        outline_of(part.exterior.coords, [one.coords for one in part.interiors])
        for part in shapely.get_parts(cloth)
    ]
    found = [fill(one, grown, turning=rule.turning, effort=_QUICK).placements for one in rings]
    placements = tuple(placement for part in found for placement in part)
    sound = is_sound(outline.sure(), rule.template, placements)
    return placements if sound and len(placements) >= len(full) else ()


def _counted(left: Iterable[Outline], rule: TableRule) -> int:
    return sum(fill(one, rule.template, turning=rule.turning, effort=_QUICK).pieces for one in left)


class _Table:
    """One scrap with a full layout, from which pieces to cut are chosen."""

    def __init__(
        self, outline: Outline, rule: TableRule, full: tuple[Placement, ...], least_in: float
    ) -> None:
        self.outline, self.rule, self.full, self.least_in = outline, rule, full, least_in
        self.sure: Polygon | MultiPolygon = outline.sure()
        self.cloth = self.sure.buffer(_TOUCH_IN, join_style="mitre")
        self.lines = self._straight_lines()
        self.shapes = np.array([Polygon(one.ring(rule.template)) for one in full])
        self.centres = shapely.get_coordinates(shapely.centroid(self.shapes))

    def choices(self, pieces: int) -> list[_Choice]:
        """Give different pieces to cut, moved up against the border, best first.

        They are the first ones of sweeps from every side and corner.
        """
        sweeps = self._sweeps()
        firsts = [np.argsort(along, kind="stable")[:pieces] for along, _ in sweeps]
        if pieces > _FEW:
            where_they_lie = [self._choice(self._laid(first), first) for first in firsts]
            order = sorted(range(len(sweeps)), key=lambda k: where_they_lie[k].rank(), reverse=True)
            kept: dict[tuple[int, ...], int] = {}
            for k in order:
                kept.setdefault(tuple(sorted(firsts[k].tolist())), k)
            chosen = list(kept.values())[:_COUNTED]
        else:
            chosen = list(range(len(sweeps)))
        moved = [
            self._choice(self._slid(self._laid(firsts[k]), sweeps[k][1]), firsts[k]) for k in chosen
        ]
        return sorted(moved, key=_Choice.rank, reverse=True)

    def _laid(self, numbers: NDArray[np.intp]) -> tuple[Placement, ...]:
        return tuple(self.full[int(k)] for k in numbers)

    def _sweeps(self) -> list[tuple[NDArray[np.float64], Callable[[float, float], float]]]:
        """Give orders of the pieces, each with the direction the border lies in."""
        sweeps: list[tuple[NDArray[np.float64], Callable[[float, float], float]]] = []
        for turn in self._directions():
            cos, sin = math.cos(turn), math.sin(turn)
            sweeps.append((-(self.centres @ (cos, sin)), lambda _x, _y, turn=turn: turn))  # type: ignore[misc]
        for cx, cy in self._corners() if len(self.full) > 1 else ():
            off = np.hypot(self.centres[:, 0] - cx, self.centres[:, 1] - cy)
            sweeps.append((off, lambda x, y, cx=cx, cy=cy: math.atan2(cy - y, cx - x)))  # type: ignore[misc]
        return sweeps

    def _straight_lines(self) -> NDArray[np.float64]:
        """Give the directions pieces should lie along, degrees: the grain, or the long edges."""
        if self.rule.grain_deg is not None and not self.rule.turning.is_free:
            return np.array([self.rule.grain_deg, self.rule.grain_deg + 90])
        border = self.outline.polygon.simplify(max(self.outline.error_in, 0.01))
        return np.array(edge_directions(rings_of(border), most=4))

    def _directions(self) -> list[float]:
        count = _DIRECTIONS if len(self.full) > 1 else _OF_ONE
        corners = shapely.get_coordinates(shapely.oriented_envelope(self.sure))
        first = math.atan2(*(corners[1] - corners[0])[::-1])
        return [first + k * 2 * math.pi / count for k in range(count)]

    def _corners(self) -> NDArray[np.float64]:
        hull = self.sure.convex_hull.simplify(0.3)
        corners: NDArray[np.float64] = shapely.get_coordinates(hull)[:-1]
        return corners[:: max(1, math.ceil(len(corners) / _CORNERS))]

    def _slid(
        self, chosen: Sequence[Placement], away: Callable[[float, float], float]
    ) -> tuple[Placement, ...]:
        """Move pieces up against the border and along it, the foremost first."""
        done = list(chosen)
        slim = [self._slim(one) for one in chosen]
        for number, placement in enumerate(chosen):
            others = slim[:number] + slim[number + 1 :]
            turn = away(placement.x, placement.y)
            moved = self._straightened(placement, others)
            for side in _SLIDES:
                moved = self._pushed(moved, turn + side, others)
            done[number], slim[number] = moved, self._slim(moved)
        return tuple(done)

    def _straightened(self, placement: Placement, taken: Sequence[Polygon]) -> Placement:
        """Turn a straight-edged piece along the grain or the border where it is a little askew."""
        if self.rule.template.flattening_error_in > 0:
            return placement
        edges = np.array(self.rule.template.cut)
        along = np.roll(edges, -1, axis=0) - edges
        turns = np.degrees(np.arctan2(along[:, 1], along[:, 0])) + placement.angle_deg
        off = (self.lines[:, None] - turns + 90) % 180 - 90
        least = float(off.flat[np.argmin(np.abs(off))])
        straight = replace(placement, angle_deg=placement.angle_deg + least)
        allowed = self.rule.turning.allows(straight.angle_deg)
        if abs(least) > _ASKEW_DEG or not allowed:
            return placement
        shape = Polygon(straight.ring(self.rule.template))
        return straight if self._is_free(shape, 0.0, 0.0, taken) else placement

    def _slim(self, placement: Placement) -> Polygon:
        """Give a piece a hair smaller, so that those that lie flush do not meet."""
        shape = Polygon(placement.ring(self.rule.template))
        slim = shapely.buffer(shape, -_TOUCH_IN, join_style="mitre")
        shapely.prepare(slim)
        return slim

    def _pushed(self, placement: Placement, turn: float, taken: Sequence[Polygon]) -> Placement:
        """Move a piece in a direction until it would leave the cloth or lie on another."""
        shape = Polygon(placement.ring(self.rule.template))
        cos, sin = math.cos(turn), math.sin(turn)
        if not self._is_free(shape, cos * _STEP_IN, sin * _STEP_IN, taken):
            return placement
        low, high = _STEP_IN, 1.0
        while self._is_free(shape, cos * high, sin * high, taken) and high < 64:
            low, high = high, 2 * high
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            if self._is_free(shape, cos * middle, sin * middle, taken):
                low = middle
            else:
                high = middle
        return replace(placement, x=placement.x + cos * low, y=placement.y + sin * low)

    def _is_free(self, shape: Polygon, dx: float, dy: float, taken: Sequence[Polygon]) -> bool:
        moved = shapely.transform(shape, lambda points: np.add(points, (dx, dy)))
        if not shapely.covers(self.cloth, moved):
            return False
        return not taken or not bool(shapely.intersects(moved, taken).any())

    def _choice(self, placements: tuple[Placement, ...], cut: NDArray[np.intp]) -> _Choice:
        rest = np.setdiff1d(np.arange(len(self.full)), cut)
        rings = [one.ring(self.rule.template) for one in placements]
        left = remainders(self.outline, rings, least_in=self.least_in)
        promised = 0
        roomy = 0.0
        for part in left:
            cloth = part.sure()
            promised += int(shapely.covers(cloth, self.shapes[rest]).sum()) if len(rest) else 0
            if not cloth.is_empty:
                circle = shapely.maximum_inscribed_circle(cloth, tolerance=0.05)
                roomy = max(roomy, float(shapely.length(circle)))
        border = sum(part.polygon.length for part in left)
        return _Choice(placements, left, promised, roomy, float(border))
