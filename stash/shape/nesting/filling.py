"""How many pieces one scrap gives, with a layout that proves it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from stash.shape.containment.piece_fit import FitAnswer, Placement, find_placement, turned_over
from stash.shape.nesting.cutting_table import CuttingTable
from stash.shape.nesting.jostling import Jostle
from stash.shape.nesting.lattice_falls import best_falls, lies_inside
from stash.shape.nesting.layout import Layout, is_sound
from stash.shape.nesting.pushing import Crowd, push_apart
from stash.shape.nesting.rows import bases_of
from stash.shape.nesting.starts import Starts
from stash.shape.nesting.straight_cuts import strip_placements
from stash.shape.nesting.upper_bound import most_pieces
from stash.shape.plane.border import FloatArray
from stash.shape.plane.outline import Outline, outline_of
from stash.shape.templates.template import Template
from stash.shape.templates.turning import Turning

__all__ = ["Effort", "fill"]

_STEPS_FOR_ONE = 72
_SOON = 4  # so many pieces are found among the first starts or not at all: a third of the steps
_MANY = 20  # pieces from which the grid finds all that pushed starts would, in less time
_FEW = 8  # pieces from which a grid finds one more sooner than starts that are pushed
# Moves of each piece on the grid, for each step of the effort: rows leave little to be found.
_MOVES, _MOVES_IN_ROWS = 9, 4
_MOST_TRIED = 20_000  # moves times turns: five seconds for a fat quarter of curved pieces
_MOST_PUSHED = 48  # of more pieces one more is 2 % or less, and pushing hundreds takes minutes


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to look for one more piece, counted in steps so that answers repeat.

    Attributes
    ----------
    steps : int
        Starts tried for one more piece, a third of them for the first four; 0 takes rows and
        lattices as they come, and so does a cloth that gives more than 48.
    """

    steps: int = 36


def fill(
    outline: Outline,
    template: Template,
    *,
    turning: Turning,
    effort: Effort | None = None,
    known: FitAnswer | None = None,
) -> Layout:
    """Lay as many pieces on the scrap as can be found; none overlap, all lie in sure cloth.

    Parameters
    ----------
    outline : Outline
        The scrap; pieces keep its error away from the measured border.
    template : Template
        What to cut. Face down too if it may be turned over: as many as can be on one side,
        and the other side in what is left.
    turning : Turning
        The turns allowed.
    effort : Effort
        How long to look; the same effort gives the same layout.
    known : FitAnswer
        What `find_placement` said, if it was asked already.
    """
    answer = known or find_placement(outline, template, turning=turning)
    steps = (effort or Effort()).steps
    if template.may_turn_over and not template.mirror_symmetric:
        return _fill_both_sides(outline, template, turning, steps, answer)
    return _fill_one_side(outline, template, turning, steps, answer)


def _fill_one_side(
    outline: Outline, template: Template, turning: Turning, steps: int, answer: FitAnswer
) -> Layout:
    sure = outline.sure()
    if answer.fits == "no" or sure.is_empty:
        return Layout((), 0)
    single = (answer.placement,) if answer.placement else ()
    bound = max(most_pieces(sure, template), len(single))
    filling = _Filling(sure, template, turning)
    best = max((filling.rows(), single), key=len)
    if len(best) < bound and (steps > 0 or not bases_of(template.cut)):
        best = max((filling.lattice(), best), key=len)
    if len(best) == 1 and not is_sound(sure, template, best):
        best = filling.one_more((), 1, _STEPS_FOR_ONE) or best  # clear of sharp inner corners too
    if len(best) < bound and len(best) <= _MOST_PUSHED:
        best = filling.one_more(best, bound, steps)
    return Layout(tuple(best), bound)


def _fill_both_sides(
    outline: Outline, template: Template, turning: Turning, steps: int, answer: FitAnswer
) -> Layout:
    """Fill with the side that gives more, then what is left over with the other side."""
    if answer.fits == "no":
        return Layout((), 0)
    sides = (replace(template, may_turn_over=False), turned_over(template))
    layouts = []
    for side in sides:
        found = find_placement(outline, side, turning=turning)
        layouts.append(_fill_one_side(outline, side, turning, steps, found))
    down = layouts[1].pieces > layouts[0].pieces
    first = _facing(layouts[down].placements, down=down)
    more: list[Placement] = []
    for rest in _left_over(outline.sure(), template, first):
        found = find_placement(rest, sides[not down], turning=turning)
        laid = _fill_one_side(rest, sides[not down], turning, steps, found)
        more.extend(_facing(laid.placements, down=not down))
    both = (*first, *more)
    kept = both if is_sound(outline.sure(), template, both) else first
    return Layout(kept, max(layout.upper_bound for layout in layouts))


def _facing(placements: Sequence[Placement], *, down: bool) -> tuple[Placement, ...]:
    return tuple(replace(one, turned_over=down) for one in placements)


def _left_over(
    sure: Polygon | MultiPolygon, template: Template, laid: Sequence[Placement]
) -> list[Outline]:
    """Give the parts of the cloth between laid pieces that are no smaller than a piece."""
    taken = shapely.union_all([Polygon(one.ring(template)) for one in laid])
    parts = shapely.get_parts(sure.difference(taken))
    least = Polygon(template.cut).area
    return [
        outline_of(part.exterior.coords, [ring.coords for ring in part.interiors])
        for part in parts
        if part.area >= least
    ]


class _Filling:
    """The ways to fill one scrap, each ending in a checked layout or none."""

    def __init__(self, sure: Polygon | MultiPolygon, template: Template, turning: Turning) -> None:
        self.table = CuttingTable(sure, template, turning)
        self.random = np.random.default_rng(20)
        self.lattices: list[FloatArray] = []

    def rows(self) -> tuple[Placement, ...]:
        """Give straight rows where the shape allows them."""
        cuts = strip_placements(self.table.sure, self.table.template, turning=self.table.turning)
        return self.table.checked(cuts.placements if cuts else ())

    def lattice(self) -> tuple[Placement, ...]:
        """Give the best fall of the densest repeats, and remember good ones as starts."""
        fallen = best_falls(self.table)
        self.lattices = [poses for poses, _ in fallen]
        poses, room = fallen[0] if fallen else (np.empty((0, 3)), np.empty(0))
        return self.table.checked(self.table.placements(poses[lies_inside(room)]))

    def _is_rectangle(self) -> bool:
        """Say whether rows are good enough: nothing more was found on the rectangles tried."""
        piece = self.table.template.cut_polygon()
        return math.isclose(piece.area, piece.minimum_rotated_rectangle.area, rel_tol=1e-9)

    def jostled(self, best: tuple[Placement, ...], bound: int, steps: int) -> tuple[Placement, ...]:
        """Let one piece more than the best jostle for room on a grid, again and again."""
        if len(best) < _FEW or not steps or self._is_rectangle():
            return best
        each = _MOVES_IN_ROWS if bases_of(self.table.template.cut) else _MOVES
        jostle = Jostle(self.table, self.random)
        more = best if len(jostle.turns) else ()
        while more and len(best) < bound:
            more = ()
            starts = Starts(self.table, (), self.random)
            count = len(best) + 1
            moves = min(each * count * steps, _MOST_TRIED // len(jostle.turns))
            for poses in jostle.crowds(count, self.table.poses_of(best), moves):
                low, high = starts.limits(poses[None, :, 2])
                crowd = Crowd(poses[None], low, high)
                pushed, worst = push_apart(self.table.area, self.table.probe, crowd, rounds=60)
                if worst[0] > 0:
                    more = self.table.checked(self.table.placements(pushed[0]))
                if more:
                    best = more
                    break
        return best

    def one_more(
        self, best: tuple[Placement, ...], bound: int, steps: int
    ) -> tuple[Placement, ...]:
        """Push one piece more than the best into the cloth, again and again."""
        best = self.jostled(best, bound, steps)
        starts = Starts(self.table, self.lattices, self.random)
        tried = 0
        while tried < _starts_for(len(best) + 1, steps) and len(best) < min(bound, _MANY):
            crowd = starts.crowd(best, tried)
            poses, worst = push_apart(self.table.area, self.table.probe, crowd)
            tried += len(worst)
            for k in np.argsort(-worst, kind="stable"):
                if worst[k] <= 0:
                    break
                found = self.table.checked(self.table.placements(poses[k]))
                if len(found) > len(best):
                    best, tried = found, 0
                    break
        return best


def _starts_for(count: int, steps: int) -> int:
    return math.ceil(steps / 3) if count <= _SOON else steps
