"""Which scraps can go in this quilt: palette and template against every fabric."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import overload

import numpy as np
from numpy.typing import NDArray

from stash.colour.palette import Palette
from stash.colour.spaces import FloatArray
from stash.colour.verdict import FabricVerdict, Judgement, Reason, judge, judge_table
from stash.colour.wild_one import OddOneOut, keep_company
from stash.quilt.one_cloth import FabricCount
from stash.scrap import Scrap
from stash.shape.templates.template import Template
from stash.units import CM_PER_INCH, down_words, length_words, round_down
from stash.usecases.pieces.piece_counts import CutRule
from stash.usecases.pieces.usable_fabrics import UsableFabrics, fabric_colours, usable_fabrics
from stash.usecases.pieces.what_scraps_give import Given, largest_of_all, what_scraps_give
from stash.usecases.ports import AskedStore, Store
from stash.usecases.twins.one_cloth_questions import count_fabrics

__all__ = [
    "FabricMatch",
    "MatchAnswer",
    "MatchRequest",
    "ScrapMatch",
    "clashes",
    "fabric_colours",
    "judged_by",
    "largest_of_fabrics",
    "match",
    "odd_ones",
    "side_words",
    "verdicts",
]

# A fabric this much too small is told as a near miss; judgement: half an inch is what a quilter
# can win by choosing a slightly smaller template.
NEAR_MISS_IN = 0.5
# A fabric that clashes with less than this outside, by nothing ruled out, is told as a near miss;
# judgement.
NEAR_PART = 0.65


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
    unit : str
        Reasons tell lengths in ``in`` or ``cm``.
    """

    palette: Palette
    template: Template
    rule: CutRule
    needed: int | None = None
    unit: str = "in"


@dataclass(frozen=True, slots=True)
class ScrapMatch:
    """One scrap: pieces it gives at the asked size, and the largest finished size, inches.

    Where they are not worked out yet (``counted``, ``sized``), it gives at least these.
    """

    scrap: int
    pieces: int
    largest_size_in: float
    place: str = ""
    counted: bool = True
    sized: bool = True


@dataclass(frozen=True, slots=True)
class FabricMatch:
    """One fabric's line of the answer, with its verdict and plain reasons."""

    fabric: int
    verdict: str
    reasons: tuple[Reason, ...]
    scraps: tuple[ScrapMatch, ...]
    largest_size_in: float
    near_miss: bool = False
    sized: bool = True


@dataclass(frozen=True, slots=True)
class MatchAnswer:
    """All fabrics, in three groups.

    Attributes
    ----------
    needed : int or None
        As asked.
    can_go_in : sequence of FabricMatch
        Those that belong and give a piece, the largest first.
    look_twice : sequence of FabricMatch
        Borderline ones that give a piece, the best first.
    cannot : sequence of FabricMatch
        Those that clash or give no piece, near misses first.
    side_up : str
        "right side", or "either" where the piece is its own mirror image or may be turned over.
    counting : callable
        Gives ``count``; only done where somebody reads it, since a crowd of look-alikes takes long.
    uncounted, unsized : int
        Scraps whose pieces are not counted yet, or whose largest size is not worked out.
    near_misses : int
        So many of ``cannot`` miss by little; they are its first.
    """

    needed: int | None
    can_go_in: Sequence[FabricMatch]
    look_twice: Sequence[FabricMatch]
    cannot: Sequence[FabricMatch]
    side_up: str
    counting: Callable[[], FabricCount]
    uncounted: int = 0
    unsized: int = 0
    near_misses: int = 0

    @property
    def count(self) -> FabricCount:
        """How many different fabrics can go in: what may be one cloth counts once."""
        return self.counting()


def verdicts(scraps: Sequence[Scrap], palette: Palette) -> tuple[FabricVerdict, ...]:
    """Judge every fabric of these scraps against a palette."""
    return judge(fabric_colours(scraps), palette)


def clashes(store: AskedStore, palette: Palette) -> tuple[FabricVerdict, ...]:
    """Say of every fabric whether it clashes with a palette, worst first."""
    judged = judged_by(store, palette)
    return tuple(judged.verdicts(np.lexsort((-judged.measures.outside, -judged.grade))))


def judged_by(store: AskedStore, palette: Palette) -> Judgement:
    """Judge all fabrics by a palette; remembered until something is written."""
    table = usable_fabrics(store).table
    return store.derived(("judged", palette), lambda: judge_table(table, palette))


def odd_ones(store: Store, scraps: Sequence[int]) -> tuple[OddOneOut, ...]:
    """Find among chosen scraps the fabrics that do not keep company with the rest.

    Raises
    ------
    NotFoundError
        If a scrap is not in the stash.
    """
    return keep_company(fabric_colours([store.scrap(number) for number in scraps]))


def match(store: AskedStore, request: MatchRequest) -> MatchAnswer:
    """Answer which fabrics can go in: of the palette, and large enough for one piece at least.

    The lines are worded when they are looked at, so that thousands of fabrics stay quick.
    """
    usable = usable_fabrics(store)
    if not len(usable.numbers):
        side_up = _side_up(request.template)
        return MatchAnswer(request.needed, (), (), (), side_up, partial(count_fabrics, store, ()))
    given = what_scraps_give(store, request.template, request.rule)
    judged = judged_by(store, request.palette)
    largest = np.maximum.reduceat(given.sizes, usable.starts)
    fits = np.maximum.reduceat(given.pieces, usable.starts) > 0
    missing = request.template.size_in - largest
    near = np.where(fits, _nearly_belongs(judged), (judged.grade < 2) & (missing <= NEAR_MISS_IN))
    sized = np.logical_and.reduceat(given.sized, usable.starts)
    columns = _Columns(given, largest, sized, fits, near)
    lines = _Lines(usable, judged, columns, request.template.size_in, request.unit)
    can, twice = np.flatnonzero(fits & (judged.grade == 0)), fits & (judged.grade == 1)
    cannot = np.flatnonzero(~fits | (judged.grade == 2))
    return MatchAnswer(
        request.needed,
        _Worded(lines, can[np.argsort(-largest[can], kind="stable")]),
        _Worded(lines, judged.order[twice[judged.order]]),
        _Worded(lines, cannot[np.lexsort((-largest[cannot], ~near[cannot]))]),
        _side_up(request.template),
        partial(count_fabrics, store, usable.table.fabric[can].tolist()),
        int((~given.counted).sum()),
        int((~given.sized).sum()),
        int(near[cannot].sum()),
    )


def _side_up(template: Template) -> str:
    either = template.mirror_symmetric or template.may_turn_over
    return "either" if either else "right side"


def side_words(template: Template) -> str:
    """Say which side of the cloth lies up; nothing for a shape that is its own mirror image."""
    if template.mirror_symmetric:
        return ""
    if template.may_turn_over:
        return (
            "Pieces may lie face down as well as right side up, as you asked: that is for cloth "
            "which looks the same on both sides."
        )
    return (
        "Turned over this shape is another one: every piece is laid with the cloth's right side, "
        "the side that was photographed, up."
    )


def _nearly_belongs(judged: Judgement) -> NDArray[np.bool_]:
    """Which fabrics clash by little, and by nothing that is ruled out."""
    measures, limits = judged.measures, judged.palette.thresholds
    allowed = measures.ruled_out <= limits.ruled_out_clash
    return np.asarray(allowed & (measures.outside < NEAR_PART))


def largest_of_fabrics(
    store: AskedStore, usable: UsableFabrics, request: MatchRequest
) -> FloatArray:
    """Give the largest finished size each usable fabric allows, inches."""
    sizes = largest_of_all(store, request.template, request.rule)
    return np.maximum.reduceat(sizes, usable.starts)


@dataclass(frozen=True, eq=False)
class _Columns:
    """What each scrap gives; largest size (if known), whether a piece fits, nearness by fabric."""

    given: Given
    largest: FloatArray
    sized: NDArray[np.bool_]
    fits: NDArray[np.bool_]
    near: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class _Lines:
    """Words fabrics' lines when they are asked for."""

    usable: UsableFabrics
    judged: Judgement
    columns: _Columns
    wanted_in: float
    unit: str

    def lines(self, rows: NDArray[np.intp]) -> Iterator[FabricMatch]:
        """Give the answer on the fabrics of these rows, in their order."""
        for row, verdict, largest, sized, near in zip(
            rows.tolist(),
            self.judged.verdicts(rows),
            self.columns.largest[rows].tolist(),
            self.columns.sized[rows].tolist(),
            self.columns.near[rows].tolist(),
            strict=True,
        ):
            scraps = self._scraps(row) if self.columns.fits[row] else ()
            reasons = verdict.reasons if scraps else (*verdict.reasons, self._too_small(largest))
            yield FabricMatch(
                verdict.fabric,
                verdict.verdict,
                reasons,
                scraps,
                largest,
                near and not (scraps and verdict.verdict != "clashes"),
                sized,
            )

    @cached_property
    def _ends(self) -> NDArray[np.intp]:
        return np.append(self.usable.starts, len(self.usable.numbers))

    def _scraps(self, row: int) -> tuple[ScrapMatch, ...]:
        """Give a fabric's scraps that give a piece."""
        given, scraps = self.columns.given, slice(self._ends[row], self._ends[row + 1])
        return tuple(
            ScrapMatch(
                int(given.numbers[place]),
                int(given.pieces[place]),
                float(given.sizes[place]),
                self.usable.places[place],
                counted=bool(given.counted[place]),
                sized=bool(given.sized[place]),
            )
            for place in (np.flatnonzero(given.fits[scraps]) + scraps.start).tolist()
        )

    def _too_small(self, largest: float) -> Reason:
        if largest <= 0:
            asked = length_words(self.wanted_in, step=16, unit=self.unit)
            text = f"too small for this shape (asked {asked})"
        else:
            step = 10 * CM_PER_INCH if self.unit == "cm" else 16
            missing = max(self.wanted_in - round_down(largest, step=step), 1 / step)
            short = length_words(missing, step=16, unit=self.unit)
            text = (
                f"{short} too small: {down_words(largest, unit=self.unit)} is the largest it gives"
            )
        return Reason("size", text, largest, self.wanted_in)


class _Worded(Sequence[FabricMatch]):
    """Lines of an answer, worded as they are asked for."""

    def __init__(self, lines: _Lines, rows: NDArray[np.intp]) -> None:
        self._lines, self._rows = lines, rows

    def __len__(self) -> int:
        return len(self._rows)

    def __iter__(self) -> Iterator[FabricMatch]:
        return self._lines.lines(self._rows)

    @overload
    def __getitem__(self, place: int) -> FabricMatch: ...

    @overload
    def __getitem__(self, place: slice) -> Sequence[FabricMatch]: ...

    def __getitem__(self, place: int | slice) -> FabricMatch | Sequence[FabricMatch]:
        if isinstance(place, slice):
            return _Worded(self._lines, self._rows[place])
        return next(self._lines.lines(self._rows[[place]]))
