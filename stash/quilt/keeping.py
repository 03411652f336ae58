"""Lay pieces so that what is left of the scrap is worth most tomorrow.

A full layout says how many pieces the scrap holds. Of it those are cut first that lie at an edge,
in a corner or at an end, moved up against the border; for each choice the leftovers are worked
out as they will be recorded, and the choice wins that keeps the most further pieces, or of many
nearly the most; of those, the one with the largest straight rectangle in one part, then the one
with the shortest border.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from stash.quilt.first_pieces import Choice, Sweep, promising
from stash.quilt.remainder import KNIFE_ERROR_IN, LEAST_IN, remainders
from stash.shape.containment.piece_fit import FitAnswer, Placement, find_placement
from stash.shape.nesting.filling import Effort, fill
from stash.shape.nesting.layout import is_sound
from stash.shape.nesting.rows import rings_of
from stash.shape.nesting.straight_cuts import edge_directions
from stash.shape.plane.outline import Outline, outline_of
from stash.shape.plane.straight_room import straight_room
from stash.shape.templates.template import Template
from stash.shape.templates.turning import Turning

__all__ = ["TableRule", "lay_to_keep"]

_DIRECTIONS = 8
_OF_ONE = 4  # sides a scrap for one piece alone is tried from
_CORNERS = 6
_COUNTED = 6  # choices whose leftovers are laid out in earnest, the most promising first
_COUNTED_OF_MANY, _MANY = 4, 12
_COUNTED_OF_CURVES = 2  # of many curved pieces, where each count takes seconds
_AS_MANY = 0.98  # of the most further pieces: as good where a larger rectangle stays (judgement)
_ACROSS = 0.02  # how much nearness to one side counts among pieces that lie equally far out
_LINES = 2  # of the directions pieces lie along, those rectangles are measured along
_FEW = 4  # up to so many pieces are moved up against the border in every choice
# Against the border, along it to a side, and against it again; turns off the way, radians.
_SLIDES = (0.0, 0.5, 1.0, 1.5, 0.0)
_STEP_IN = 0.004
_ASKEW_DEG = 3.0  # a straight edge this little off the border or the grain is laid along it
_HALVINGS = 10
_TOUCH_IN = 1e-7
_QUICK, _AS_THEY_COME = Effort(steps=12), Effort(steps=0)
_LARGE = 24  # pieces by area from which rows and lattices are taken as they come
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
    choices = _Table(outline, rule, full, least_in).choices(pieces)
    if not further:
        return choices[0].placements, 0
    most = _COUNTED if further <= _MANY else _COUNTED_OF_MANY
    if further > _MANY and rule.template.flattening_error_in > 0:
        most = _COUNTED_OF_CURVES
    counted = [(_keeps(one, rule, further), one) for one in promising(choices, most)]
    enough = _AS_MANY * max(count for count, _ in counted)
    kept, best = max(
        (pair for pair in counted if pair[0] >= enough), key=lambda pair: pair[1].looks()
    )
    return best.placements, kept


def _effort(outline: Outline, template: Template) -> Effort:
    many = outline.area_sq_in >= _LARGE * template.cut_polygon().area
    return _AS_THEY_COME if many else _QUICK


def _full(
    outline: Outline, rule: TableRule, pieces: int, known: FitAnswer
) -> tuple[Placement, ...]:
    """Lay the scrap full, with the search by which pieces are counted where the quick is short."""
    full: tuple[Placement, ...] = (known.placement,) if known.placement else ()
    if outline.area_sq_in < 2 * rule.template.cut_polygon().area:
        return full
    for effort in (_effort(outline, rule.template), _QUICK, Effort()):
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
    effort = _effort(outline, rule.template)
    found = [fill(one, grown, turning=rule.turning, effort=effort).placements for one in rings]
    placements = tuple(placement for part in found for placement in part)
    sound = is_sound(outline.sure(), rule.template, placements)
    return placements if sound and len(placements) >= len(full) else ()


def _keeps(choice: Choice, rule: TableRule, further: int) -> int:
    """Give what leftovers keep: as promised where that is all, else laid out afresh."""
    if choice.promised >= further:
        return choice.promised
    return max(choice.promised, _counted(choice.left, rule))


def _counted(left: Iterable[Outline], rule: TableRule) -> int:
    return sum(
        fill(one, rule.template, turning=rule.turning, effort=_effort(one, rule.template)).pieces
        for one in left
    )


class _Table:
    """One scrap with a full layout, from which pieces to cut are chosen."""

    def __init__(
        self, outline: Outline, rule: TableRule, full: tuple[Placement, ...], least_in: float
    ) -> None:
        self.outline, self.rule, self.full, self.least_in = outline, rule, full, least_in
        self.sure: Polygon | MultiPolygon = outline.sure()
        self.cloth = self.sure.buffer(_TOUCH_IN, join_style="mitre")
        self.lines = self._straight_lines()
        self.rings = [np.array(one.ring(rule.template)) for one in full]
        self.shapes = np.array([Polygon(one) for one in self.rings])
        self.centres = shapely.get_coordinates(shapely.centroid(self.shapes))

    def choices(self, pieces: int) -> list[Choice]:
        """Give different pieces to cut, moved up against the border, best first.

        They are the first ones of sweeps from every side and corner.
        """
        sweeps = self._sweeps()
        firsts = [np.argsort(sweep.order, kind="stable")[:pieces] for sweep in sweeps]
        where_they_lie: dict[tuple[int, ...], tuple[Choice, int]] = {}
        for k, first in enumerate(firsts):
            key = tuple(sorted(first.tolist())) if pieces > _FEW else (k,)
            if key not in where_they_lie:
                where_they_lie[key] = (self._choice(self._laid(first), first), k)
        by_choice = {id(one): k for one, k in where_they_lie.values()}
        every = sorted((one for one, _ in where_they_lie.values()), key=Choice.rank, reverse=True)
        some = promising(every, _COUNTED) if pieces > _FEW else every
        moved = []
        for k in (by_choice[id(one)] for one in some):
            laid = self._slid(self._laid(firsts[k]), sweeps[k])
            moved.append(self._choice(laid, firsts[k]))
        return sorted(moved, key=Choice.rank, reverse=True)

    def _laid(self, numbers: NDArray[np.intp]) -> tuple[Placement, ...]:
        return tuple(self.full[int(k)] for k in numbers)

    def _sweeps(self) -> list[Sweep]:
        """Give sweeps from every side, beginning at either of its ends, and from corners."""
        sweeps = []
        for turn in self._directions():
            # By how deep they reach, so that the two halves of a square come together.
            out = np.array([(one @ (math.cos(turn), math.sin(turn))).min() for one in self.rings])
            left = self.centres @ (-math.sin(turn), math.cos(turn))
            for side in (1, -1):
                sweeps.append(Sweep(-out - _ACROSS * side * left, side, turn=turn))
        for corner in self._corners() if len(self.full) > 1 else ():
            off = np.hypot(*(self.centres - corner).T)
            sweeps += [Sweep(off, side, corner=(corner[0], corner[1])) for side in (1, -1)]
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

    def _slid(self, chosen: Sequence[Placement], sweep: Sweep) -> tuple[Placement, ...]:
        """Move pieces up against the border and along it, the foremost first."""
        done = list(chosen)
        slim = [self._slim(one) for one in chosen]
        for number, placement in enumerate(chosen):
            others = slim[:number] + slim[number + 1 :]
            turn = sweep.away(placement.x, placement.y)
            moved = self._straightened(placement, others)
            for off in _SLIDES:
                moved = self._pushed(moved, turn + sweep.side * off, others)
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

    def _choice(self, placements: tuple[Placement, ...], cut: NDArray[np.intp]) -> Choice:
        rest = np.setdiff1d(np.arange(len(self.full)), cut)
        rings = [one.ring(self.rule.template) for one in placements]
        left = remainders(self.outline, rings, least_in=self.least_in)
        promised, straight = 0, 0.0
        for part in left:
            cloth = part.sure()
            shapely.prepare(cloth)
            promised += int(shapely.covers(cloth, self.shapes[rest]).sum()) if len(rest) else 0
            if cloth.area > straight:
                rooms = [straight_room(cloth, float(line)) for line in self.lines[:_LINES]]
                straight = max(straight, *rooms)
        border = sum(part.polygon.length for part in left)
        return Choice(placements, left, promised, straight, float(border))
