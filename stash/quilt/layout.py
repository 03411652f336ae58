"""Which piece goes where: every class spread evenly, no fabric touching itself."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray
from stash.quilt.evenness import Evenness, Floors, Spread, make_spread
from stash.quilt.one_cloth import ALL_DECIDED, Undecided
from stash.quilt.touching import Touching, judge_seams, make_touching

__all__ = ["Arrangement", "Cells", "PieceColours", "arrange", "judge_layout", "swap"]

_TOUCH_WEIGHT = 16.0  # look-alike neighbours against unevenness; with the rule of `touching`
_LOOKS = 4_000_000  # cells times looks; a look is one cell tried against all others
_LOOKS_EACH = 30  # enough for small quilts, where more changes nothing to be seen
_LOOKS_OF_PART = 8  # in a part that is shuffled while the maker waits
_COLOURS = ("amount", "family")  # what an accent is alone of
_THIRDS = ((1 / 3, 1 / 3), (2 / 3, 2 / 3), (2 / 3, 1 / 3), (1 / 3, 2 / 3))
_PART = 3  # a reshuffle of less than a third of the cells looks at those alone
_KICKED = 6  # cells mixed up before the search goes on


@dataclass(frozen=True)
class Cells:
    """The places of a quilt: centres in inches, shape (n, 2), and pairs that share an edge."""

    centres_in: FloatArray
    pairs: Sequence[tuple[int, int]]


@dataclass(frozen=True)
class PieceColours:
    """What the layout knows of the pieces, one entry each.

    Attributes
    ----------
    labs : float64, shape (n, 3)
        Reads-as colour, CIELAB, white D65.
    fabrics : sequence of int
        Fabric numbers.
    classes : mapping
        Class of every piece by attribute: ``family``, ``value``, ``amount`` ...
    undecided : Undecided
        Fabrics that may be one cloth: they never touch unasked.
    """

    labs: FloatArray
    fabrics: Sequence[int]
    classes: Mapping[str, Sequence[str]]
    undecided: Undecided = ALL_DECIDED


@dataclass(frozen=True)
class Arrangement:
    """A layout.

    Attributes
    ----------
    piece_at : tuple of int
        The piece in every cell.
    evenness : Evenness
        How even it is, against chance and against the lower bound.
    same_fabric_pairs : int
        Neighbours of one fabric; 0 unless there is no other way.
    likeness : float
        Mean likeness of neighbours, 0 (no two closer than 12 CIEDE2000) to 1.
    cost : float
        What the search made small: discrepancy plus weighted likeness.
    undecided_pairs : int
        Neighbours whose fabrics may be one cloth; 0 unless there is no other way.
    """

    piece_at: tuple[int, ...]
    evenness: Evenness
    same_fabric_pairs: int
    likeness: float
    cost: float
    undecided_pairs: int = 0


def arrange(
    cells: Cells,
    pieces: PieceColours,
    *,
    seed: int = 0,
    start: Sequence[int] | None = None,
    fixed: Collection[int] = (),
    floors: Floors | None = None,
) -> Arrangement:
    """Lay the pieces out.

    Parameters
    ----------
    cells : Cells
        As many as there are pieces.
    pieces : PieceColours
        The pieces.
    seed : int
        The same seed gives the same layout.
    start : sequence of int, optional
        Layout to begin with; needed when cells are fixed.
    fixed : collection of int
        Cells whose piece stays: pinned ones, or all those outside the part to shuffle.
    floors : callable, optional
        What was kept for the lower bound; see `evenness.make_spread`.

    Raises
    ------
    ValueError
        If cells and pieces differ in number, or cells are fixed without a start.
    """
    n = len(pieces.fabrics)
    if len(cells.centres_in) != n or (fixed and start is None):
        raise ValueError(f"{len(cells.centres_in)} cells, {n} pieces, start {start is not None}")
    rng = np.random.default_rng(seed)
    held = set(fixed)
    movable = np.array([cell for cell in range(n) if cell not in held], dtype=np.intp)
    first = np.arange(n) if start is None else np.asarray(start, dtype=np.intp)
    few = _PART * len(movable) < n
    measure = _Measure(cells, pieces, first[movable] if few else None, floors)
    piece_at = first.copy()
    piece_at[movable] = rng.permutation(first[movable])
    placed = _set_lone_accents(cells, pieces, piece_at, movable, seed)
    free = np.array([cell for cell in movable if cell not in placed], dtype=np.intp)
    search = _Search(measure, piece_at, free, rng)
    return measure.judge(search.run())


def _set_lone_accents(
    cells: Cells,
    pieces: PieceColours,
    piece_at: NDArray[np.intp],
    movable: NDArray[np.intp],
    seed: int,
) -> set[int]:
    """Put pieces that are alone of their colour where the eye rests, and say in which cells.

    Spread evenly they could lie anywhere, the rim too. They go where lines at a third of the width
    and of the length cross, opposite each other: usual in composition (common practice, no source).
    A few are accents, many are a mixture.
    """
    lone = _lone_accents(pieces)
    if not 0 < len(lone) <= len(_THIRDS) or len(movable) < len(cells.centres_in) // 2:
        return set()
    low, high = cells.centres_in.min(axis=0), cells.centres_in.max(axis=0)
    placed: set[int] = set()
    for number, piece in enumerate(lone):
        here = int(np.flatnonzero(piece_at == piece)[0])
        spot = low + (high - low) * np.array(_THIRDS[(number + seed) % len(_THIRDS)])
        open_cells = np.array([cell for cell in movable if cell not in placed], dtype=np.intp)
        if here not in open_cells:
            continue
        apart = ((cells.centres_in[open_cells] - spot) ** 2).sum(axis=1)
        there = int(open_cells[np.argmin(apart)])
        piece_at[[here, there]] = piece_at[[there, here]]
        placed.add(there)
    return placed


def _lone_accents(pieces: PieceColours) -> list[int]:
    """Give the pieces that are alone of their colour family, or of their part of the palette."""
    found: list[int] = []
    for attribute in _COLOURS:
        classes = pieces.classes.get(attribute, ())
        counts = Counter(classes)
        found += [at for at, name in enumerate(classes) if name and counts[name] == 1]
    return list(dict.fromkeys(found))


def judge_layout(
    cells: Cells, pieces: PieceColours, piece_at: Sequence[int], *, floors: Floors | None = None
) -> Arrangement:
    """Measure a layout made by hand, or any other."""
    laid = np.asarray(piece_at, dtype=np.intp)
    return _Measure(cells, pieces, laid[:0], floors).judge(laid)


def swap(piece_at: Sequence[int], one: int, other: int) -> tuple[int, ...]:
    """Give the layout with the pieces of two cells changed over."""
    changed = list(piece_at)
    changed[one], changed[other] = changed[other], changed[one]
    return tuple(changed)


class _Measure:
    """Everything about a quilt that stays while the pieces of some cells move.

    ``moving`` are the pieces of those cells; None for all.
    """

    def __init__(
        self,
        cells: Cells,
        pieces: PieceColours,
        moving: NDArray[np.intp] | None = None,
        floors: Floors | None = None,
    ) -> None:
        self.cells, self.pieces, self.moving = cells, pieces, moving
        fabric_names = [str(fabric) for fabric in pieces.fabrics]
        classes = {**pieces.classes, "fabric": fabric_names}
        self.spread: Spread = make_spread(
            cells.centres_in, classes, floors=floors, asked_often=moving is None
        )
        self.touch_scale = _TOUCH_WEIGHT / max(1, len(cells.pairs))

    @cached_property
    def touching(self) -> Touching:
        """What every piece that may move costs beside every other."""
        pieces = self.pieces
        return make_touching(
            self.cells.pairs,
            pieces.labs,
            pieces.fabrics,
            pieces.undecided,
            families=pieces.classes.get("family", ()),
            moving=self.moving,
        )

    def judge(self, piece_at: NDArray[np.intp]) -> Arrangement:
        """Measure an arrangement."""
        pieces, evenness = self.pieces, self.spread.judge(piece_at)
        seams = judge_seams(
            self.cells.pairs,
            pieces.labs,
            pieces.fabrics,
            pieces.undecided,
            piece_at,
            families=pieces.classes.get("family", ()),
        )
        return Arrangement(
            tuple(int(piece) for piece in piece_at),
            evenness,
            seams.same_fabric,
            seams.likeness,
            evenness.discrepancy + seams.cost * self.touch_scale,
            seams.undecided,
        )


class _Search:
    """Steepest swaps from cell to cell, then kicks that are kept when they help."""

    def __init__(
        self,
        measure: _Measure,
        piece_at: NDArray[np.intp],
        movable: NDArray[np.intp],
        rng: np.random.Generator,
    ) -> None:
        self.spread, self.touching = measure.spread, measure.touching
        self.touch_scale = measure.touch_scale
        self.piece_at, self.movable, self.rng = piece_at, movable, rng
        self.n = len(piece_at)
        # The cells a piece may change over with: looking at all is quicker where most may.
        few = _PART * len(movable) < self.n
        self.others = movable if few else np.arange(self.n)
        self.open = np.flatnonzero(np.isin(self.others, movable))
        self.place_of = np.full(self.n + 1, -1)  # in what is looked at; the last for no cell
        self.place_of[self.others] = np.arange(len(self.others))
        each = _LOOKS_OF_PART if few else _LOOKS_EACH
        looks = min(_LOOKS // max(1, self.n), each * len(movable))
        self.looks = max(looks, 2 * len(movable))
        self.fields = self.spread.fields(piece_at)
        self.costs = self.touching.costs(piece_at)

    def run(self) -> NDArray[np.intp]:
        """Search until the looks are used up; gives the best arrangement found."""
        if len(self.movable) < 2:
            return self.piece_at
        self._descend(self.rng.permutation(self.movable))
        while self.looks > 0:
            before = self.piece_at.copy(), self.fields.copy(), self.costs.copy()
            if self._kick() > -1e-12:
                self.piece_at, self.fields, self.costs = before
        return self.piece_at

    def _kick(self) -> float:
        """Mix up a few cells close together and settle; give the change of cost."""
        centre = self.rng.choice(self.movable)
        kernel = self.spread.kernels.seen_from(int(centre), -1)[self.movable]
        weights = kernel + 1.0 / self.n
        few = min(_KICKED, len(self.movable))
        chosen = self.rng.choice(self.movable, few, replace=False, p=weights / weights.sum())
        change = 0.0
        for one, other in pairwise(chosen):
            change += float(self._changes(one)[self.place_of[other]])
            self._swap(one, other)
        around = self.touching.beside[chosen].ravel()
        near = np.unique(np.concatenate([chosen, around[around < self.n]]))
        return change + self._descend(np.intersect1d(near, self.movable))

    def _descend(self, cells: NDArray[np.intp]) -> float:
        """Swap while it helps, going round the cells; give the change of cost."""
        change, quiet = 0.0, 0
        while quiet < len(cells) and self.looks > 0:
            for cell in cells:
                changes = self._changes(cell)
                best = self.open[np.argmin(changes[self.open])]
                if changes[best] < -1e-12:
                    change += float(changes[best])
                    self._swap(cell, self.others[best])
                    quiet = 0
                else:
                    quiet += 1
                if quiet >= len(cells) or self.looks <= 0:
                    break
        return change

    def _changes(self, cell: int) -> FloatArray:
        """Give the change of cost if this cell's piece changed over with each other cell's."""
        self.looks -= 1
        return self._change_of_spread(cell) + self.touch_scale * self._change_of_touching(cell)

    def _change_of_spread(self, cell: int) -> FloatArray:
        spread, others = self.spread, self.others
        change = np.zeros(len(others))
        for line in spread.of_piece:
            mine, rows = line[self.piece_at[cell]], line[self.piece_at[others]]
            kernel = spread.kernels.seen_from(cell, spread.kernel_of[mine], others)
            here = spread.scale[mine] * (
                2 * (self.fields[mine, others] - self.fields[mine, cell]) + 2 - 2 * kernel
            )
            theirs = spread.scale[rows] * (
                2 * (self.fields[rows, cell] - self.fields[rows, others])
                + 2
                - 2 * spread.kernels.each_seen_from(cell, spread.kernel_of[rows], others)
            )
            change += np.where(rows == mine, 0.0, here + theirs)
        return change

    def _change_of_touching(self, cell: int) -> FloatArray:
        """As `_change_of_spread`, for the neighbours; two that touch keep their own seam."""
        beside, unwelcome, others = self.touching.beside, self.touching.unwelcome, self.others
        padded = np.append(self.piece_at, self.n)
        mine, theirs = self.piece_at[cell], self.piece_at[others]
        # Against the piece in each cell, 0 for no cell.
        by_cell = unwelcome[mine].astype(np.float64)[padded]
        there = by_cell[beside[others]].sum(axis=1)
        around = unwelcome[padded[beside[cell]]].sum(axis=0, dtype=np.float64)
        change = there + around[theirs] - self.costs[others] - self.costs[cell]
        mates = self.place_of[beside[cell]]
        mates = mates[mates >= 0]
        mate = theirs[mates]
        change[mates] += 2 * by_cell[others[mates]] - unwelcome[mine, mine] - unwelcome[mate, mate]
        return np.asarray(change)

    def _swap(self, one: int, other: int) -> None:
        spread = self.spread
        for rows in spread.of_piece[:, self.piece_at[[one, other]]]:
            if rows[0] == rows[1]:
                continue
            for row, sign in ((rows[0], 1.0), (rows[1], -1.0)):
                if row:
                    there, here = (
                        spread.kernels.seen_from(at, spread.kernel_of[row]) for at in (other, one)
                    )
                    self.fields[row] += sign * (there - here)
        self.piece_at[[one, other]] = self.piece_at[[other, one]]
        beside = self.touching.beside
        near = np.concatenate([[one, other], beside[one], beside[other]])
        near = near[near < self.n]
        self.costs[near] = self.touching.costs(self.piece_at, near)
