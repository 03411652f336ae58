"""Laying leftovers on a board beside the card, without looking: positions from a seed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from stash.colour.spaces import FloatArray
from stash.demo.chart import CHART_FRAME
from stash.demo.leftovers import cut_leftover
from stash.demo.lens import MadeLens

__all__ = ["Beforehand", "Laid", "LaidBoard", "Leftover", "lay"]

_GAP_IN = 0.3  # a finger's width between scraps, unless they are meant to touch
_TRIES = 300


@dataclass(frozen=True, slots=True)
class Leftover:
    """A scrap to lay down.

    Attributes
    ----------
    fabric : str
        Name of a fabric in ``stash.demo.fabrics``.
    kind : str
        Kind of leftover, see ``stash.demo.leftovers``.
    size_in : float
        Its length, inches.
    frayed, creased : bool
        Threads stick out of its edges; folds run across it.
    over_last_in : float or None
        Laid against the scrap before it: 0 just touches, more overlaps by that much.
    cut_off : bool
        Laid so that the photo's border cuts it.
    selvage_in : float
        Width of a selvage along its lower side, inches; 0 for none.
    selvage : str
        How that looks, one of ``stash.demo.selvages.SELVAGES``.
    """

    fabric: str
    kind: str = "crumb"
    size_in: float = 4.0
    frayed: bool = False
    creased: bool = False
    over_last_in: float | None = None
    cut_off: bool = False
    selvage_in: float = 0.0
    selvage: str = "lettered"


@dataclass(frozen=True, slots=True)
class Laid:
    """A leftover and where it lies: its shape in board inches, its texture's turn in degrees."""

    leftover: Leftover
    shape: Polygon
    turn_deg: float


@dataclass(frozen=True)
class LaidBoard:
    """The board as the phone sees it; the card's centre in board inches, its turn in degrees."""

    lens: MadeLens
    card_at: FloatArray
    card_turn_deg: float
    scraps: tuple[Laid, ...]


@dataclass(frozen=True, slots=True)
class Beforehand:
    """What is settled before anything is laid: room that stays free, the card's place and turn."""

    taken: BaseGeometry = field(default_factory=Polygon)
    card_at: tuple[float, float] | None = None
    card_turn_deg: float | None = None


def lay(
    leftovers: tuple[Leftover, ...],
    board_in: tuple[float, float],
    *,
    pitch_in: float,
    lens_for: Callable[[tuple[float, float]], MadeLens],
    rng: np.random.Generator,
    beforehand: Beforehand | None = None,
) -> LaidBoard:
    """Lay everything down; a board too small for all of it grows until it holds them."""
    size, given = board_in, beforehand or Beforehand()
    while True:
        board = _try_to_lay(leftovers, (size, given), pitch_in, lens_for(size), rng)
        if board is not None:
            return board
        size = (size[0] * 1.08, size[1] * 1.08)


def _try_to_lay(
    leftovers: tuple[Leftover, ...],
    table: tuple[tuple[float, float], Beforehand],
    pitch_in: float,
    lens: MadeLens,
    rng: np.random.Generator,
) -> LaidBoard | None:
    size, beforehand = table
    taken = beforehand.taken
    room = box(0, 0, *size).buffer(-0.25)
    half_x, half_y = (half * pitch_in for half in CHART_FRAME)
    turn = float(rng.uniform(-30, 30))
    if beforehand.card_turn_deg is not None:
        turn = beforehand.card_turn_deg
    card = affinity.rotate(box(-half_x, -half_y, half_x, half_y), turn, origin=(0, 0))
    at = beforehand.card_at or _free_place(card, room, taken, rng)
    if at is None:
        return None
    taken, laid = unary_union([taken, affinity.translate(card, *at)]), list[Laid]()
    for leftover in _widest_first(leftovers):
        turn_deg = float(rng.uniform(0, 360))
        cut = cut_leftover(leftover.kind, leftover.size_in, rng=rng)
        shape = affinity.rotate(cut, turn_deg, origin=(0, 0))
        spot = _spot(leftover, shape, (lens, room, taken), laid, rng)
        if spot is None:
            return None
        laid.append(Laid(leftover, affinity.translate(shape, *spot), turn_deg))
        taken = unary_union([taken, laid[-1].shape])
    return LaidBoard(lens, np.asarray(at), turn, tuple(laid))


def _widest_first(leftovers: tuple[Leftover, ...]) -> list[Leftover]:
    """Big ones first, because they are hard to place; one laid on another stays behind it."""
    heaps: list[list[Leftover]] = []
    for leftover in leftovers:
        if leftover.over_last_in is not None and heaps:
            heaps[-1].append(leftover)
        else:
            heaps.append([leftover])
    heaps.sort(key=lambda heap: -heap[0].size_in)
    return [leftover for heap in heaps for leftover in heap]


def _spot(
    leftover: Leftover,
    shape: Polygon,
    board: tuple[MadeLens, Polygon, BaseGeometry],
    laid: list[Laid],
    rng: np.random.Generator,
) -> tuple[float, float] | None:
    lens, room, taken = board
    if leftover.over_last_in is not None and laid:
        others = unary_union([taken.difference(laid[-1].shape.buffer(0.01))])
        return _against(shape, laid[-1].shape, leftover.over_last_in, (room, others), rng)
    if leftover.cut_off:
        return _across_border(shape, lens, taken, rng)
    return _free_place(shape, room, taken, rng)


def _free_place(
    shape: Polygon, room: Polygon, taken: BaseGeometry, rng: np.random.Generator
) -> tuple[float, float] | None:
    left, top, right, bottom = room.bounds
    wide = shape.buffer(_GAP_IN)
    for _ in range(_TRIES):
        at = (float(rng.uniform(left, right)), float(rng.uniform(top, bottom)))
        moved = affinity.translate(shape, *at)
        if room.contains(moved) and not affinity.translate(wide, *at).intersects(taken):
            return at
    return None


def _across_border(
    shape: Polygon, lens: MadeLens, taken: BaseGeometry, rng: np.random.Generator
) -> tuple[float, float] | None:
    """Find a place where the middle of the shape falls on the photo's border."""
    width, height = lens.size_px
    for _ in range(_TRIES):
        along = rng.uniform(0.15, 0.85, 2) * [width, height]
        along[int(rng.integers(2))] *= 0
        x, y = (float(value) for value in lens.to_board(along)[0])
        if not affinity.translate(shape.buffer(_GAP_IN), x, y).intersects(taken):
            return x, y
    return None


def _against(
    shape: Polygon,
    other: Polygon,
    overlap_in: float,
    board: tuple[Polygon, BaseGeometry],
    rng: np.random.Generator,
) -> tuple[float, float] | None:
    """Slide the shape towards the other until they touch, then on by the overlap."""
    room, others = board
    for _ in range(_TRIES):
        angle = rng.uniform(0, 2 * np.pi)
        way = np.array([np.cos(angle), np.sin(angle)])
        middle = np.asarray(other.centroid.coords[0])
        near, far = 0.0, 40.0
        while far - near > 1e-3:
            half = (near + far) / 2
            apart = not affinity.translate(shape, *(middle + half * way)).intersects(other)
            near, far = (near, half) if apart else (half, far)
        x, y = (float(value) for value in middle + (far - overlap_in) * way)
        moved = affinity.translate(shape, x, y)
        if room.contains(moved) and moved.distance(others) > _GAP_IN:
            return x, y
    return None
