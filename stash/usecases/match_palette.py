"""Which scraps can go in this quilt: palette and template against every fabric."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from stash.colour.fabric_table import FabricColours
from stash.colour.keeping_company import OddOneOut, keep_company
from stash.colour.palette import Palette
from stash.colour.verdict import FabricVerdict, Reason, judge
from stash.scrap import Scrap, ScrapState
from stash.shape.template import Template, families, make_template
from stash.units import format_inches
from stash.usecases.piece_counts import CutRule, largest_sizes, piece_counts
from stash.usecases.ports import Store

__all__ = [
    "FabricMatch",
    "MatchAnswer",
    "MatchRequest",
    "ScrapMatch",
    "clashes",
    "fabric_colours",
    "match",
    "odd_ones",
    "verdicts",
]

# A fabric this much too small is told as a near miss; judgement: half an inch is what a quilter
# can win by choosing a slightly smaller template.
NEAR_MISS_IN = 0.5


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
    can_go_in: tuple[FabricMatch, ...]
    cannot: tuple[FabricMatch, ...]


def verdicts(scraps: Sequence[Scrap], palette: Palette) -> tuple[FabricVerdict, ...]:
    """Judge every fabric of these scraps against a palette."""
    return judge(fabric_colours(scraps), palette)


def fabric_colours(scraps: Sequence[Scrap]) -> tuple[FabricColours, ...]:
    """Give the colours of each fabric: those of its largest scrap."""
    ordered = sorted(scraps, key=lambda scrap: scrap.fabric)
    return tuple(
        FabricColours(number, max(group, key=lambda scrap: scrap.outline.area_sq_in).appearance)
        for number, group in groupby(ordered, key=lambda scrap: scrap.fabric)
    )


def clashes(store: Store, palette: Palette) -> tuple[FabricVerdict, ...]:
    """Say of every fabric whether it clashes with a palette, worst first."""
    order = {"clashes": 0, "borderline": 1, "belongs": 2}
    found = verdicts(_usable(store), palette)
    return tuple(sorted(found, key=lambda one: (order[one.verdict], -one.outside_share)))


def odd_ones(store: Store, scraps: Sequence[int]) -> tuple[OddOneOut, ...]:
    """Find among chosen scraps the fabrics that do not keep company with the rest.

    Raises
    ------
    NotFoundError
        If a scrap is not in the stash.
    """
    return keep_company(fabric_colours([store.scrap(number) for number in scraps]))


def match(store: Store, request: MatchRequest) -> MatchAnswer:
    """Answer which fabrics can go in: not clashing, and large enough for one piece at least."""
    scraps = _usable(store)
    wanted = request.template.size_in
    sizes, counts = _sizes_and_counts(store, scraps, request)
    by_fabric: dict[int, list[Scrap]] = {}
    for scrap in scraps:
        by_fabric.setdefault(scrap.fabric, []).append(scrap)
    lines = [
        _line(one, by_fabric[one.fabric], sizes, counts, wanted)
        for one in verdicts(scraps, request.palette)
    ]
    can = [line for line in lines if line.scraps and line.verdict != "clashes"]
    cannot = [line for line in lines if not (line.scraps and line.verdict != "clashes")]
    return MatchAnswer(
        request.needed,
        tuple(sorted(can, key=lambda line: (line.verdict != "belongs", -line.largest_size_in))),
        tuple(sorted(cannot, key=lambda line: (not line.near_miss, -line.largest_size_in))),
    )


def _sizes_and_counts(
    store: Store, scraps: Sequence[Scrap], request: MatchRequest
) -> tuple[Mapping[int, float], Mapping[int, int]]:
    template, rule = request.template, request.rule
    if not _has_stored_sizes(template):
        # No stored sizes: each scrap is asked for this very shape, which it holds or not.
        counts = piece_counts(store, scraps, template=template, rule=rule)
        sizes = {number: template.size_in if count else 0.0 for number, count in counts.items()}
        return sizes, counts
    sizes = dict(largest_sizes(store, scraps, family=template.family, rule=rule))
    large = [scrap for scrap in scraps if sizes[scrap.number] >= template.size_in]
    return sizes, piece_counts(store, large, template=template, rule=rule)


def _has_stored_sizes(template: Template) -> bool:
    """Tell shapes of the library in their usual proportions: only those have stored sizes."""
    if template.family not in families():
        return False
    usual = make_template(
        template.family, template.size_in, seam_allowance_in=template.seam_allowance_in
    )
    return usual.cut == template.cut


def _usable(store: Store) -> list[Scrap]:
    return [scrap for scrap in store.scraps() if scrap.state is not ScrapState.CUT_UP]


def _line(
    verdict: FabricVerdict,
    scraps: Sequence[Scrap],
    sizes: Mapping[int, float],
    counts: Mapping[int, int],
    wanted: float,
) -> FabricMatch:
    largest = max(sizes[scrap.number] for scrap in scraps)
    large = tuple(
        ScrapMatch(scrap.number, counts[scrap.number], sizes[scrap.number], scrap.place)
        for scrap in scraps
        if counts.get(scrap.number)
    )
    reasons = verdict.reasons
    near = bool(large) and verdict.verdict == "clashes" and verdict.outside_share < 0.6
    if not large:
        missing = wanted - largest
        near = verdict.verdict != "clashes" and missing <= NEAR_MISS_IN
        reasons = (*reasons, _too_small(largest, wanted))
    return FabricMatch(verdict.fabric, verdict.verdict, reasons, large, largest, near)


def _too_small(largest: float, wanted: float) -> Reason:
    if largest <= 0:
        text = f"too small for this shape at any size (asked {format_inches(wanted)} in)"
    else:
        short = format_inches(max(wanted - largest, 1 / 16), step=16)
        text = f"{short} in too small: {format_inches(largest, step=16)} in is the largest it gives"
    return Reason("size", text, largest, wanted)
