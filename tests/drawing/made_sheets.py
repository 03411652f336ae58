"""Small sheets of every kind, each of something whose measures are known by hand."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from stash.drawing.bin_label import BinLabel, labels_pdf
from stash.drawing.card_sheet import card_sheet_pdf
from stash.drawing.corner_sheet import corner_sheet_pdf
from stash.drawing.cutting_sheet import CutList, cutting_pdf
from stash.drawing.layout_chart import layout_chart
from stash.drawing.lists_page import draw_finishing, draw_pressing
from stash.drawing.paper import A4, LETTER, Paper
from stash.drawing.pdf_page import Pdf
from stash.drawing.plan_page import PlanPage, draw_contents, draw_plan, start_list
from stash.drawing.quilting_sheet import stencil_pdf
from stash.drawing.sewing_sheet import sewing_pdf
from stash.drawing.template_sheet import template_pdf
from stash.drawing.twin_sheet import TwinCloth, TwinRow, twins_pdf
from stash.quilt.cutting import ScrapToCut
from stash.quilt.pattern import Pattern, make_pattern
from stash.quilt.plan import Plan, Quilt, QuiltPiece
from stash.quilt.quilting_lines import LineStyle, quilting_guide
from stash.quilt.seams import SeamMap, seams_of
from stash.quilt.setting import setting_named
from stash.quilt.sewing_order_and_pressing import SewingPlan, sewing_plan
from stash.quilt.stacks import ToStack, stacks_of
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import Template, make_template
from tests.drawing.reading_pdf import Page, pages

NAVY = (30.0, 4.0, -30.0)
SIZES = {"rectangle": "2x4", "wedge": "3x5"}


def top(
    family: str, size: float | str, rows: int, across: int
) -> tuple[Template, Pattern, SeamMap]:
    template = make_template(family, size)
    pattern = make_pattern(template.finished_ring(), setting_named(family), rows, across)
    return template, pattern, seams_of(pattern, template.finished)


def sewn(family: str, size: float | str, rows: int, across: int) -> tuple[Template, SewingPlan]:
    template, pattern, seams = top(family, size, rows, across)
    return template, sewing_plan(pattern, seams)


def quilt(pattern: Pattern, name: str = "Tidewater") -> Quilt:
    """Place k shows the piece of scrap 100 + k."""
    pieces = tuple(
        QuiltPiece(100 + k, k + 1, NAVY, "blue", "dark") for k in range(len(pattern.places))
    )
    plan = Plan(pattern.setting.family, "2", pattern.setting.name, False, 1, 1)
    return Quilt(name, plan, pieces, piece_at=tuple(range(len(pieces))))


def three_scraps() -> CutList:
    """Three scraps of 7 x 5 in, corner at 1, 1; each gives two 2 1/2-in squares (2 in finished).

    Their lower left corners lie at 1 1/2, 1 1/2 and at 4 1/2, 2. What is left is 2 x 5 in, and
    lies under the second; a drawing has room for 4.8 in in the width of a letter page.
    """
    template = make_template("square", 2)
    rings = tuple(
        ((x, y), (x + 2.5, y), (x + 2.5, y + 2.5), (x, y + 2.5))
        for x, y in ((1.5, 1.5), (4.5, 2.0))
    )
    outline = outline_of([(1, 1), (8, 1), (8, 6), (1, 6)])
    scraps = tuple(
        ScrapToCut(
            number, 10 + number, "navy", "Jar 3", outline, rings, washed=True,
            places=(f"1-{number}", f"2-{number}"),
        )
        for number in (1, 2, 3)
    )  # fmt: skip
    to_stack = [ToStack(one.number, one.outline, one.pieces) for one in scraps]
    return CutList("Tidewater", template, scraps, stacks_of(to_stack, template.cut, layers=4))


def _lists(paper: Paper) -> bytes:
    pdf = Pdf(paper, title="lists", numbered=True)
    _, plan = sewn("square", 2, 5, 4)
    draw_pressing(pdf, "Tidewater", plan)
    said = [("binding", ["cut 4 strips 2½ in wide", "join them on the bias"]), ("backing", ["one"])]
    draw_finishing(pdf, "Tidewater", said)
    return pdf.finish()


def _plan(paper: Paper) -> bytes:
    pdf = Pdf(paper, title="papers", numbered=True)
    start = start_list([3, 4], [4])
    page = PlanPage("Tidewater", ("Twenty squares.",), None, start, ("No chart yet.",))
    y = draw_plan(pdf, page, entries=2)
    pdf.new_page()
    draw_contents(pdf, y, [("Cutting", 2), ("Sewing", 7)])
    return pdf.finish()


def _chart(paper: Paper) -> bytes:
    _, pattern, _ = top("square", 2, 3, 4)
    bins = {100: "A"}
    return layout_chart(quilt(pattern), pattern, paper, bins=bins)


def _stencil(paper: Paper) -> bytes:
    _, _, seams = top("square", 2, 9, 9)
    return stencil_pdf(quilting_guide(seams, LineStyle.SEAMS), seams, "Tidewater", paper)


def _twins(paper: Paper) -> bytes:
    cloths = tuple(TwinCloth(k, ("blue", "5 × 5 in"), b"") for k in range(1, 8))
    return twins_pdf([TwinRow(cloths[:2], "2 in"), TwinRow(cloths, "2 in")], paper)


def _labels(paper: Paper) -> bytes:
    lines = ("blue 12, teal 4", "9 at least 6 in wide")
    places = ("Jar 3", "Tin", "C", "D")
    return labels_pdf([BinLabel(one, 20, 1, lines, f"bin:{one}") for one in places], paper)


def _sewing(family: str, size: float | str) -> Callable[[Paper], bytes]:
    def drawn(paper: Paper) -> bytes:
        template, plan = sewn(family, size, 3, 4)
        return sewing_pdf(plan, template, paper)

    return drawn


def _template(family: str, size: float | str) -> Callable[[Paper], bytes]:
    return lambda paper: template_pdf([make_template(family, size)], paper)


SHEETS: dict[str, Callable[[Paper], bytes]] = {
    "square template": _template("square", 3),
    "clamshell template": _template("clamshell", 4),
    "template on four pages": _template("square", 12),
    "cutting": lambda paper: cutting_pdf(three_scraps(), paper),
    "squares sewn": _sewing("square", 2),
    "clamshells sewn": _sewing("clamshell", 4),
    "apple cores sewn": _sewing("apple-core", 4),
    "hexagons sewn": _sewing("hexagon", 2),
    "pressing and finishing": _lists,
    "plan": _plan,
    "chart": _chart,
    "stencil": _stencil,
    "twins": _twins,
    "labels": _labels,
    "card": lambda paper: card_sheet_pdf(paper.name),
    "corner markers": lambda paper: corner_sheet_pdf(paper.name),
}


@cache
def sheet(name: str, paper_name: str = "letter") -> tuple[Page, ...]:
    """Draw a sheet once and read its pages."""
    return tuple(pages(SHEETS[name]({"letter": LETTER, "a4": A4}[paper_name])))
