"""Sheets of a quilt and of the bins, worked out from the stash and drawn as PDF."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from shlex import quote

from stash.colour.cloth_family import cloth_families
from stash.colour.dye import may_bleed
from stash.drawing.bin_label import BinLabel, labels_pdf
from stash.drawing.cutting_sheet import CutList, cutting_pdf
from stash.drawing.paper import Paper
from stash.drawing.quilting_sheet import guide_svg, stencil_pdf
from stash.drawing.sewing_sheet import sewing_pdf
from stash.drawing.template_lines import shown_name
from stash.errors import NotFoundError, PlanError, StorageError
from stash.quilt.cutting import RULER_STEPS, ScrapToCut, fewest_strips
from stash.quilt.finishing import Edge, Finishing, FinishingWish, finish, trim
from stash.quilt.pattern import Pattern, make_pattern
from stash.quilt.plan import Plan, Quilt
from stash.quilt.quilting_lines import LineWish, QuiltingGuide, quilting_guide
from stash.quilt.remainder import LEAST_IN, remainders
from stash.quilt.seams import SeamMap, seams_of
from stash.quilt.setting import setting_named
from stash.quilt.sewing_order_and_pressing import SewingPlan, sewing_plan
from stash.quilt.stacks import ToStack, stacks_of
from stash.quilt.thread import Thread, thread_for
from stash.scrap import Scrap, ScrapState
from stash.shape.nesting.straight_cuts import StripCuts, strip_cuts
from stash.shape.plane.outline import Ring
from stash.shape.templates.curve import Arc
from stash.shape.templates.template import Template
from stash.units import CM_PER_INCH, length_words, size_words
from stash.usecases.pieces.grain import grain_of
from stash.usecases.pieces.piece_counts import CutRule, one_way_scraps, usable_outline
from stash.usecases.ports import Store
from stash.usecases.quilts.plan_quilt import pattern_of, quilt_named, template_of
from stash.usecases.quilts.quilt_cut import cut_ring
from stash.usecases.quilts.quilt_stock import cut_rule
from stash.usecases.quilts.regrets import regrets_of
from stash.usecases.scraps.review_scraps import words_for_fabrics

__all__ = [
    "BIN_CODE",
    "Top",
    "bin_labels",
    "cut_list",
    "cut_sheets",
    "find_by_code",
    "finishing_of",
    "first_rows_of",
    "guide_of",
    "label_sheet",
    "sewing_of",
    "sewing_sheet",
    "stencil_sheet",
    "thread_of",
    "top_of_quilt",
    "top_of_shape",
]

BIN_CODE = "bin:"
# Steps a person sorts by, round in either unit: a choice of ours.
_SIZE_STEPS_IN = {"in": (3.0, 6.0), "cm": (8 / CM_PER_INCH, 15 / CM_PER_INCH)}


@dataclass(frozen=True)
class Top:
    """A quilt top, or a small sample of a shape in a setting.

    Attributes
    ----------
    title : str
        What it is called.
    template : Template
        Its shape.
    pattern : Pattern
        Its pieces.
    seams : SeamMap
        Its edges.
    border_in : float
        Finished width of the border round it.
    """

    title: str
    template: Template
    pattern: Pattern
    seams: SeamMap
    border_in: float = 0.0


def top_of_quilt(store: Store, name: str) -> Top:
    """Give the top of a quilt by its name; raises NotFoundError."""
    quilt = quilt_named(store, name)
    template, pattern = template_of(quilt.plan), pattern_of(quilt.plan)
    seams = seams_of(pattern, template.finished)
    return Top(name, template, pattern, seams, quilt.border_in)


def top_of_shape(
    template: Template, setting: str | None, *, rows: int = 3, across: int | None = None
) -> Top:
    """Give a small top of a shape, as samples are drawn; raises SettingError."""
    found = setting_named(template.family, setting or None)
    across = across or 4 * found.group
    ring = template.finished_ring()
    rows = 1 if found.window is None else rows
    pattern = make_pattern(ring, found, rows, across)
    return Top(shown_name(template), template, pattern, seams_of(pattern, template.finished))


def finishing_of(top: Top, wish: FinishingWish) -> Finishing:
    """Work out how a top is finished, along its true edge; a border is sewn to a straight one."""
    if top.border_in > 0:
        left, bottom, right, upper = trim(top.pattern.polygons)
        wider = 2 * top.border_in
        return finish(Edge.straight(right - left + wider, upper - bottom + wider), wish)
    edge = Edge(
        top.pattern.width_in,
        top.pattern.length_in,
        top.seams.edge_in,
        top.seams.curved_edge,
        top.seams.inner_corners,
    )
    return finish(edge, wish, pieces=top.pattern.polygons)


def thread_of(top: Top) -> Thread:
    """Work out the thread that piecing a top takes."""
    return thread_for(sum(seam.segment.length_in for seam in top.seams.seams))


def sewing_of(top: Top) -> SewingPlan:
    """Work out how a top is sewn."""
    return sewing_plan(top.pattern, top.seams)


def first_rows_of(top: Top) -> Top:
    """Give the first three rows of a top, four pieces or groups wide: a top of its own to draw.

    It is never larger than the top itself, so that what is named on it is there to be sewn.
    """
    whole = top.pattern
    across = min(4 * whole.setting.group, whole.across)
    some = make_pattern(
        top.template.finished_ring(),
        whole.setting,
        min(3, whole.rows),
        across,
        straight=whole.straight,
    )
    return Top(top.title, top.template, some, seams_of(some, top.template.finished))


def sewing_sheet(top: Top, paper: Paper, *, unit: str = "in") -> bytes:
    """Draw how a shape in the top's setting is sewn, on its first rows."""
    return sewing_pdf(sewing_of(first_rows_of(top)), top.template, paper, unit=unit)


def guide_of(top: Top, wish: LineWish) -> QuiltingGuide:
    """Find the quilting lines of a top."""
    return quilting_guide(top.seams, wish, border_in=top.border_in)


def stencil_sheet(
    top: Top, guide: QuiltingGuide, paper: Paper | None, *, unit: str = "in"
) -> bytes:
    """Draw the lines: a PDF on a paper, or an SVG when none is named."""
    if paper is None:
        return guide_svg(guide, top.seams, top.title, unit=unit).encode()
    return stencil_pdf(guide, top.seams, top.title, paper, unit=unit)


def cut_list(store: Store, name: str, *, layers: int, unit: str = "in") -> CutList:
    """Gather where the pieces still to be cut for a quilt lie on their scraps.

    Strips are laid out for a ruler marked in ``unit``: sixteenths of an inch, or millimetres.

    Raises
    ------
    NotFoundError
        If there is no such quilt.
    PlanError
        If nothing is allotted, all is cut, or a scrap is gone.
    """
    quilt = quilt_named(store, name)
    if not quilt.pieces:
        raise PlanError(
            f"No scrap is chosen for “{name}” yet.",
            at_terminal=f"First: stash quilt allot {quote(name)}.",
        )
    rings: dict[int, list[Ring]] = defaultdict(list)
    places: dict[int, list[str]] = defaultdict(list)
    named = _places_of(quilt)
    for number, piece in enumerate(quilt.pieces):
        if not piece.cut and piece.crop is not None:
            rings[piece.scrap].append(cut_ring(quilt.plan, piece.crop))
            places[piece.scrap].append(named.get(number, ""))
    if not rings:
        raise PlanError(f"Every piece of “{name}” is cut already.")
    names = words_for_fabrics(store)
    template = template_of(quilt.plan)
    whole = [_whole(store, number, name) for number in sorted(rings)]
    scraps = [
        replace(
            _to_cut(store, scrap, quilt.plan, rings[scrap.number], names),
            strips=_strips(store, scrap, quilt.plan, len(rings[scrap.number]), unit),
            places=tuple(places[scrap.number]),
        )
        for scrap in whole
    ]
    scraps.sort(key=lambda scrap: (scrap.place, scrap.number))
    to_stack = [ToStack(one.number, one.outline, tuple(rings[one.number])) for one in whole]
    stacks = stacks_of(to_stack, template.cut, layers=layers)
    regrets = regrets_of(
        store,
        {one.number: one.left for one in scraps},
        {one.fabric: one.name for one in scraps},
        template,
        cut_rule(quilt.plan),
    )
    return CutList(name, template, tuple(scraps), stacks, regrets)


def _places_of(quilt: Quilt) -> dict[int, str]:
    """Give the place of every piece that is laid out, row and piece, by the piece's number."""
    places = pattern_of(quilt.plan).places
    return {piece: places[k].name for k, piece in enumerate(quilt.piece_at)}


def cut_sheets(cuts: CutList, paper: Paper, *, unit: str = "in") -> bytes:
    """Draw the cutting sheets; made for `cut_list` in the same unit."""
    return cutting_pdf(cuts, paper, unit=unit)


def bin_labels(
    store: Store, places: Sequence[str] = (), *, unit: str = "in"
) -> tuple[BinLabel, ...]:
    """Say what lies in each bin, or in those named; lengths in the unit ``in`` or ``cm``.

    Raises
    ------
    NotFoundError
        If a bin holds nothing; names those that do.
    """
    inside: dict[str, list[Scrap]] = defaultdict(list)
    for scrap in store.scraps():
        if scrap.place and scrap.state is not ScrapState.CUT_UP:
            inside[scrap.place].append(scrap)
    wanted = list(places) or sorted(inside)
    for place in wanted:
        if place not in inside:
            known = ", ".join(sorted(inside)) or "none yet"
            raise NotFoundError("bin", place, hint=f"Bins with scraps: {known}.")
    return tuple(_label(place, inside[place], unit) for place in wanted)


def label_sheet(labels: Sequence[BinLabel], paper: Paper) -> bytes:
    """Draw labels for bins."""
    return labels_pdf(labels, paper)


def find_by_code(store: Store, code: str) -> tuple[Scrap, ...]:
    """Give the scraps in the bin whose label carries a code; raises NotFoundError."""
    place = code.strip().removeprefix(BIN_CODE)
    found = tuple(
        scrap
        for scrap in store.scraps()
        if scrap.place == place and scrap.state is not ScrapState.CUT_UP
    )
    if not found:
        raise NotFoundError("bin", place, hint="Read the code on the label again.")
    return found


def _whole(store: Store, number: int, name: str) -> Scrap:
    try:
        scrap = store.scrap(number)
    except NotFoundError:
        scrap = None
    if scrap is None or scrap.state is ScrapState.CUT_UP:
        raise PlanError(
            f"Scrap {number} is no longer there to be cut. Choose the quilt's scraps again.",
            at_terminal=f"That is: stash quilt allot {quote(name)}.",
        )
    return scrap


def _to_cut(
    store: Store, scrap: Scrap, plan: Plan, rings: Sequence[Ring], names: Mapping[int, str]
) -> ScrapToCut:
    picture = _picture(store, scrap)
    shown = scrap.picture if picture else None
    return ScrapToCut(
        number=scrap.number,
        fabric=scrap.fabric,
        name=names.get(scrap.fabric, ""),
        place=scrap.place,
        outline=scrap.outline,
        pieces=tuple(rings),
        washed=scrap.washed or plan.shrink_share == 0,
        grain=grain_of(scrap).words(),
        left=remainders(scrap.outline, rings, least_in=LEAST_IN),
        may_bleed=not scrap.washed and may_bleed(scrap.appearance),
        picture=picture,
        px_per_in=shown.px_per_in if shown else 0.0,
        left_in=shown.left_in if shown else 0.0,
        top_in=shown.top_in if shown else 0.0,
    )


def _picture(store: Store, scrap: Scrap) -> bytes:
    if scrap.picture is None:
        return b""
    try:
        return store.picture(scrap.picture.sha256)
    except StorageError:
        return b""  # the outline is enough to cut by


def _strips(store: Store, scrap: Scrap, plan: Plan, wanted: int, unit: str) -> StripCuts | None:
    """Give straight cuts that yield at least the pieces wanted, for straight-edged shapes."""
    template = template_of(plan)
    if any(isinstance(segment, Arc) for segment in template.finished):
        return None
    rule = CutRule(plan.seam_allowance_in, plan.grain_tolerance_deg, plan.shrink_share)
    turning = rule.turning(scrap, one_way=scrap.number in one_way_scraps(store))
    usable, step = usable_outline(scrap, rule), RULER_STEPS[unit]
    cuts = strip_cuts(usable, template, turning=turning, ruler_step=step)
    if cuts is None or len(cuts.placements) < wanted:
        return None
    return fewest_strips(cuts, wanted)


def _label(place: str, scraps: Sequence[Scrap], unit: str) -> BinLabel:
    families = Counter(cloth_families([scrap.appearance for scrap in scraps]))
    named = ", ".join(f"{family} {count}" for family, count in families.most_common())
    widths = [_width_in(scrap) for scrap in scraps]
    low, high = _SIZE_STEPS_IN[unit]
    more, some = (length_words(one, unit=unit) for one in (high, low))
    counts = (
        (sum(width >= high for width in widths), f"at least {more} wide"),
        (sum(low <= width < high for width in widths), f"at least {some}"),
        (sum(width < low for width in widths), f"under {some}"),
    )
    sizes = ", ".join(f"{count} {words}" for count, words in counts if count)
    largest = max(scraps, key=lambda scrap: scrap.outline.area_sq_in)
    return BinLabel(
        place,
        len(scraps),
        len({scrap.fabric for scrap in scraps}),
        (named, sizes, f"largest {size_words(*largest.outline.least_box_in(), unit=unit)}"),
        f"{BIN_CODE}{place}",
    )


def _width_in(scrap: Scrap) -> float:
    """Give the width across the narrow way of a scrap."""
    return scrap.outline.least_box_in()[0]
