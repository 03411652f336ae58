"""All papers of one quilt in one PDF, from the plan to finishing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from stash.colour.dye import may_bleed
from stash.drawing.cutting_sheet import draw_cutting
from stash.drawing.layout_chart import draw_chart
from stash.drawing.lists_page import draw_finishing, draw_pressing
from stash.drawing.paper import Paper
from stash.drawing.pdf_page import Pdf
from stash.drawing.plan_page import PlanPage, draw_contents, draw_plan, start_list
from stash.drawing.quilt_picture import quilt_image
from stash.drawing.quilting_sheet import draw_guide
from stash.drawing.sewing_sheet import draw_sewing
from stash.drawing.template_sheet import draw_templates
from stash.errors import NotFoundError, PlanError
from stash.quilt.cutting import MOST_LAYERS
from stash.quilt.finishing import FinishingWish
from stash.quilt.finishing_words import finishing_words
from stash.quilt.plan import Quilt
from stash.quilt.plan_words import plan_words
from stash.quilt.quilting_lines import LineWish
from stash.scrap import Scrap
from stash.usecases.papers.draw_quilt import check_laid_out, pictures_of
from stash.usecases.papers.print_sheets import (
    Top,
    cut_list,
    finishing_of,
    first_rows_of,
    guide_of,
    sewing_of,
    thread_of,
    top_of_quilt,
)
from stash.usecases.ports import Store
from stash.usecases.quilts.plan_quilt import plan_record, quilt_named

__all__ = ["PapersWish", "QuiltPapers", "quilt_papers"]


@dataclass(frozen=True, slots=True)
class PapersWish:
    """How a quilt's papers are made.

    Attributes
    ----------
    paper : Paper
        Letter or A4.
    unit : str
        Lengths are written in ``in`` or ``cm``.
    layers : int
        Most layers of cloth in a stack.
    lines : LineWish
        Which quilting lines.
    finishing : FinishingWish
        How it is bound and backed.
    """

    paper: Paper
    unit: str = "in"
    layers: int = MOST_LAYERS
    lines: LineWish = field(default_factory=LineWish)
    finishing: FinishingWish = field(default_factory=FinishingWish)


@dataclass(frozen=True, slots=True)
class QuiltPapers:
    """The document and what it holds.

    Attributes
    ----------
    pdf : bytes
        The PDF.
    pages : int
        How many pages.
    sections : tuple of (str, int)
        Title and first page of each section.
    left_out : tuple of str
        Which sections are not there, and why, a sentence each.
    """

    pdf: bytes
    pages: int
    sections: tuple[tuple[str, int], ...]
    left_out: tuple[str, ...]


Draw = Callable[[Pdf], None]


def quilt_papers(store: Store, name: str, wish: PapersWish) -> QuiltPapers:
    """Draw every paper of a quilt; what cannot be drawn yet is left out with its reason.

    Raises
    ------
    NotFoundError
        If there is no such quilt.
    PlanError
        If a wish makes no sense.
    """
    quilt = quilt_named(store, name)
    top = top_of_quilt(store, name)
    sections, left_out = _sections(store, quilt, top, wish)
    pdf = Pdf(wish.paper, title=quilt.name, unit=wish.unit, numbered=True)
    page = _plan_page(store, quilt, top, wish, left_out)
    contents_y = draw_plan(pdf, page, entries=len(sections))
    begun: list[tuple[str, int]] = []
    for title, draw in sections:
        begun.append((title, pdf.pages + 1))
        draw(pdf)
    draw_contents(pdf, contents_y, begun)
    return QuiltPapers(pdf.finish(), pdf.pages, tuple(begun), left_out)


def _sections(
    store: Store, quilt: Quilt, top: Top, wish: PapersWish
) -> tuple[list[tuple[str, Draw]], tuple[str, ...]]:
    made: list[tuple[str, Draw]] = [("Template", lambda pdf: draw_templates(pdf, [top.template]))]
    left_out = []
    makers: list[tuple[str, Callable[[], Draw]]] = [
        ("Cutting", lambda: _cutting(store, quilt, wish)),
        ("Chart", lambda: _chart(store, quilt, top)),
        ("Sewing", lambda: _sewing(top)),
        ("Pressing", lambda: _pressing(top)),
        ("Quilting", lambda: _quilting(top, wish)),
        ("Finishing", lambda: _finishing(top, wish)),
    ]
    for title, make in makers:
        try:
            made.append((title, make()))
        except PlanError as problem:
            left_out.append(f"{title} is left out: {problem.plain}")
    return made, tuple(left_out)


def _cutting(store: Store, quilt: Quilt, wish: PapersWish) -> Draw:
    cuts = cut_list(store, quilt.name, layers=wish.layers, unit=wish.unit)
    return lambda pdf: draw_cutting(pdf, cuts)


def _chart(store: Store, quilt: Quilt, top: Top) -> Draw:
    check_laid_out(quilt)
    bins = {scrap.number: scrap.place for scrap in store.scraps()}
    picture_of = pictures_of(store)
    return lambda pdf: draw_chart(pdf, quilt, top.pattern, picture_of=picture_of, bins=bins)


def _sewing(top: Top) -> Draw:
    plan = sewing_of(first_rows_of(top))
    return lambda pdf: draw_sewing(pdf, plan, top.template)


def _pressing(top: Top) -> Draw:
    plan = sewing_of(top)
    return lambda pdf: draw_pressing(pdf, top.title, plan)


def _quilting(top: Top, wish: PapersWish) -> Draw:
    guide = guide_of(top, wish.lines)
    return lambda pdf: draw_guide(pdf, guide, top.seams, top.title)


def _finishing(top: Top, wish: PapersWish) -> Draw:
    said = finishing_words(finishing_of(top, wish.finishing), thread_of(top), unit=wish.unit)
    return lambda pdf: draw_finishing(pdf, top.title, said)


def _plan_page(
    store: Store, quilt: Quilt, top: Top, wish: PapersWish, left_out: tuple[str, ...]
) -> PlanPage:
    held = [_found(store, number) for number in sorted(quilt.held_scraps)]
    unwashed = [scrap for scrap in held if scrap is not None and not scrap.washed]
    return PlanPage(
        quilt.name,
        plan_words(plan_record(quilt, top.pattern), unit=wish.unit),
        quilt_image(quilt, top.pattern, pictures_of(store), long_side_px=1000),
        start_list(
            [scrap.number for scrap in unwashed],
            [scrap.number for scrap in unwashed if may_bleed(scrap.appearance)],
        ),
        left_out,
    )


def _found(store: Store, number: int) -> Scrap | None:
    try:
        return store.scrap(number)
    except NotFoundError:
        return None
