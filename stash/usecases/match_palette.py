"""Which scraps can go in this quilt: palette and template against every fabric."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import overload

import numpy as np
from numpy.typing import NDArray

from stash.colour.keeping_company import OddOneOut, keep_company
from stash.colour.palette import Palette
from stash.colour.spaces import FloatArray
from stash.colour.verdict import FabricVerdict, Judgement, Reason, judge, judge_table
from stash.scrap import Scrap
from stash.shape.template import Template, families, make_template
from stash.units import format_inches
from stash.usecases.ground import Ground, fabric_colours, ground_of
from stash.usecases.piece_counts import CutRule, largest_sizes, piece_counts
from stash.usecases.ports import Store

__all__ = [
    "FabricMatch",
    "MatchAnswer",
    "MatchRequest",
    "ScrapMatch",
    "clashes",
    "fabric_colours",
    "has_stored_sizes",
    "match",
    "odd_ones",
    "verdicts",
]

# A fabric this much too small is told as a near miss; judgement: half an inch is what a quilter
# can win by choosing a slightly smaller template.
NEAR_MISS_IN = 0.5
# A fabric that clashes with less than this outside is told as a near miss; judgement.
NEAR_SHARE = 0.6


@dataclass(frozen=True, slots=True)
class MatchRequest:
    """A question: these colours, this piece, so many of them.

    Attributes
    ----------
    palette : Palette
    template : Template
    rule : CutRule
        Seam allowance, grain and shrinkage.
    needed : int or None
        Fabrics (charm) or pieces wanted; None leaves it open.
    """

    palette: Palette
    template: Template
    rule: CutRule
    needed: int | None = None


@dataclass(frozen=True, slots=True)
class ScrapMatch:
    """One scrap: pieces it gives at the asked size, and the largest finished size, inches."""

    scrap: int
    pieces: int
    largest_size_in: float
    place: str = ""


@dataclass(frozen=True, slots=True)
class FabricMatch:
    """One fabric's line of the answer, with its verdict and plain reasons."""

    fabric: int
    verdict: str
    reasons: tuple[Reason, ...]
    scraps: tuple[ScrapMatch, ...]
    largest_size_in: float
    near_miss: bool = False


@dataclass(frozen=True, slots=True)
class MatchAnswer:
    """All fabrics, in two groups."""

    needed: int | None
    can_go_in: Sequence[FabricMatch]
    cannot: Sequence[FabricMatch]


def verdicts(scraps: Sequence[Scrap], palette: Palette) -> tuple[FabricVerdict, ...]:
    """Judge every fabric of these scraps against a palette."""
    return judge(fabric_colours(scraps), palette)


def clashes(store: Store, palette: Palette) -> tuple[FabricVerdict, ...]:
    """Say of every fabric whether it clashes with a palette, worst first."""
    judged = judge_table(ground_of(store).table, palette)
    order = np.lexsort((-judged.shares.outside, -judged.grade))
    return tuple(judged.verdict(int(row)) for row in order)


def odd_ones(store: Store, scraps: Sequence[int]) -> tuple[OddOneOut, ...]:
    """Find among chosen scraps the fabrics that do not keep company with the rest.

    Raises
    ------
    NotFoundError
        If a scrap is not in the stash.
    """
    return keep_company(fabric_colours([store.scrap(number) for number in scraps]))


def match(store: Store, request: MatchRequest) -> MatchAnswer:
    """Answer which fabrics can go in: not clashing, and large enough for one piece at least.

    The lines are worded when they are looked at, so that thousands of fabrics stay quick.
    """
    ground = ground_of(store)
    if not len(ground.starts):
        return MatchAnswer(request.needed, (), ())
    sizes, counts = _sizes_and_counts(store, ground, request)
    judged = judge_table(ground.table, request.palette)
    largest = np.maximum.reduceat(sizes, ground.starts)
    fits = np.maximum.reduceat(counts, ground.starts) > 0
    missing = request.template.size_in - largest
    near = np.where(
        fits, judged.shares.outside < NEAR_SHARE, (judged.grade < 2) & (missing <= NEAR_MISS_IN)
    )
    can = fits & (judged.grade < 2)
    lines = _Lines(ground, judged, _Columns(sizes, counts, largest, near), request.template.size_in)
    can_rows, cannot_rows = np.flatnonzero(can), np.flatnonzero(~can)
    best_first = np.lexsort((-largest[can_rows], judged.grade[can_rows] > 0))
    near_first = np.lexsort((-largest[cannot_rows], ~near[cannot_rows]))
    return MatchAnswer(
        request.needed,
        _Worded(lines, can_rows[best_first]),
        _Worded(lines, cannot_rows[near_first]),
    )


def _sizes_and_counts(
    store: Store, ground: Ground, request: MatchRequest
) -> tuple[FloatArray, FloatArray]:
    """Give the largest size and the pieces of every scrap, in the ground's order."""
    template, rule = request.template, request.rule
    if not has_stored_sizes(template):
        # No stored sizes: each scrap is asked for this very shape, which it holds or not.
        found = piece_counts(store, ground.scraps, template=template, rule=rule)
        counts = ground.column(found)
        return np.where(counts > 0, template.size_in, 0.0), counts
    sizes = ground.column(largest_sizes(store, ground.scraps, family=template.family, rule=rule))
    large = np.flatnonzero(sizes >= template.size_in)
    wanted = [ground.scraps[place] for place in large.tolist()]
    counts = ground.column(piece_counts(store, wanted, template=template, rule=rule))
    return sizes, np.where(sizes >= template.size_in, counts, 0.0)


def has_stored_sizes(template: Template) -> bool:
    """Tell shapes of the library in their usual proportions: only those have stored sizes."""
    if template.family not in families():
        return False
    usual = make_template(
        template.family, template.size_in, seam_allowance_in=template.seam_allowance_in
    )
    return usual.cut == template.cut


@dataclass(frozen=True, eq=False)
class _Columns:
    """Sizes and pieces by scrap; largest size and nearness by fabric."""

    sizes: FloatArray
    counts: FloatArray
    largest: FloatArray
    near: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class _Lines:
    """Words a fabric's line when it is asked for."""

    ground: Ground
    judged: Judgement
    columns: _Columns
    wanted_in: float

    def line(self, row: int) -> FabricMatch:
        verdict = self.judged.verdict(row)
        largest = float(self.columns.largest[row])
        scraps = tuple(self._scraps(row))
        reasons = verdict.reasons if scraps else (*verdict.reasons, self._too_small(largest))
        return FabricMatch(
            verdict.fabric,
            verdict.verdict,
            reasons,
            scraps,
            largest,
            bool(self.columns.near[row]) and not (scraps and verdict.verdict != "clashes"),
        )

    def _scraps(self, row: int) -> Iterator[ScrapMatch]:
        for place in self.ground.scraps_of(row):
            if self.columns.counts[place] > 0:
                scrap = self.ground.scraps[place]
                pieces = int(self.columns.counts[place])
                yield ScrapMatch(
                    scrap.number, pieces, float(self.columns.sizes[place]), scrap.place
                )

    def _too_small(self, largest: float) -> Reason:
        if largest <= 0:
            text = f"too small for this shape (asked {format_inches(self.wanted_in, step=16)} in)"
        else:
            short = format_inches(max(self.wanted_in - largest, 1 / 16), step=16)
            gives = format_inches(largest, step=16)
            text = f"{short} in too small: {gives} in is the largest it gives"
        return Reason("size", text, largest, self.wanted_in)


class _Worded(Sequence[FabricMatch]):
    """Lines of an answer, worded one by one."""

    def __init__(self, lines: _Lines, rows: NDArray[np.intp]) -> None:
        self._lines, self._rows = lines, rows

    def __len__(self) -> int:
        return len(self._rows)

    @overload
    def __getitem__(self, place: int) -> FabricMatch: ...

    @overload
    def __getitem__(self, place: slice) -> Sequence[FabricMatch]: ...

    def __getitem__(self, place: int | slice) -> FabricMatch | Sequence[FabricMatch]:
        if isinstance(place, slice):
            return _Worded(self._lines, self._rows[place])
        return self._lines.line(int(self._rows[place]))
