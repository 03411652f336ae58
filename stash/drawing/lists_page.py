"""Pages of plain lists: how every row is pressed, and what finishing takes."""

from __future__ import annotations

from collections.abc import Sequence

from stash.drawing.page_flow import Flow
from stash.drawing.paper import MARGIN_IN
from stash.drawing.pdf_lettering import wrap
from stash.drawing.pdf_page import Pdf, Pen
from stash.drawing.sewing_sheet import draw_pressed
from stash.quilt.cautions import cautions_for
from stash.quilt.sewing_order_and_pressing import SewingPlan

__all__ = ["draw_finishing", "draw_pressing"]

_PT, _SMALL_PT = 12.5, 10.5
_LEADING = 1.32 / 72
_HEAD_IN = 1.3
_ROW_IN = 0.3
_LEAST_DRAWING_IN = 4.0


def draw_pressing(pdf: Pdf, title: str, plan: SewingPlan) -> None:
    """Draw this very quilt with its pressing, and one line a row to tick."""

    def head(first: bool) -> float:
        """Write a page's heading, with the cautions on the first; gives where lines begin."""
        y = _heading(pdf, f"Pressing: {title}", first)
        if first:
            for words in cautions_for("press"):
                y = _paragraph(pdf, words, y, _SMALL_PT)
        return y - 0.05

    flow = Flow(pdf, head)
    lines = -(-len(plan.rows) // 2)
    room_in = max(_LEAST_DRAWING_IN, flow.left_in - lines * _ROW_IN - 0.2)
    wide_in = pdf.width_in - 2 * MARGIN_IN - 0.55
    high_in = min(room_in, plan.pattern.length_in * min(2.0, wide_in / plan.pattern.width_in))
    low, top = flow.take(high_in + 0.15)
    draw_pressed(pdf, plan, (MARGIN_IN + 0.55, low + 0.15, pdf.width_in - MARGIN_IN, top))
    half_in = (pdf.width_in - 2 * MARGIN_IN) / 2
    for at in range(0, len(plan.rows), 2):
        low, top = flow.take(_ROW_IN)
        for k, row in enumerate(range(at, min(at + 2, len(plan.rows)))):
            x, y = MARGIN_IN + k * half_in, low + 0.08
            pdf.rectangle((x + 0.02, y), (0.13, 0.13), Pen(0.9))
            pdf.text((x + 0.28, y), f"Row {row + 1}", size_pt=_PT, bold=True)
            pdf.text((x + 1.08, y), _pieces(plan, row), size_pt=_PT)
            pdf.text((x + half_in - 0.2, y), plan.pressing_of_row(row), size_pt=_PT, align="right")
        pdf.line([(MARGIN_IN, top), (pdf.width_in - MARGIN_IN, top)], Pen(0.4, 0.75))


def _pieces(plan: SewingPlan, row: int) -> str:
    first, last = (plan.pattern.places[plan.rows[row][end]].name for end in (0, -1))
    return first if first == last else f"{first} to {last}"


def draw_finishing(pdf: Pdf, title: str, said: Sequence[tuple[str, Sequence[str]]]) -> None:
    """Draw what finishing takes: short headings with their lines, one box each to tick."""
    flow = Flow(pdf, lambda first: _heading(pdf, f"Finishing: {title}", first))
    width_in = pdf.width_in - 2 * MARGIN_IN - _HEAD_IN - 0.3
    for head, lines in said:
        wrapped = [one for line in lines for one in wrap(line, width_in, size_pt=_PT)]
        _, top = flow.take(_PT * _LEADING * len(wrapped) + 0.12)
        y = top - 0.2
        pdf.rectangle((MARGIN_IN + 0.02, y - 0.02), (0.13, 0.13), Pen(0.9))
        pdf.text((MARGIN_IN + 0.3, y), head.strip().capitalize(), size_pt=_PT, bold=True)
        for line in wrapped:
            pdf.text((MARGIN_IN + _HEAD_IN + 0.3, y), line, size_pt=_PT)
            y -= _PT * _LEADING
    for words in (*cautions_for("cut"), *cautions_for("press"), *cautions_for("sew")):
        count = len(wrap(words, pdf.width_in - 2 * MARGIN_IN, size_pt=_SMALL_PT))
        _, top = flow.take(_SMALL_PT * _LEADING * count + 0.04)
        _paragraph(pdf, words, top - 0.16, _SMALL_PT)


def _heading(pdf: Pdf, title: str, first: bool) -> float:
    y = pdf.height_in - MARGIN_IN - (0.36 if first else 0.2)
    size_pt = 26 if first else 13
    for line in wrap(title, pdf.width_in - 2 * MARGIN_IN, size_pt=size_pt, bold=True):
        pdf.text((MARGIN_IN, y), line, size_pt=size_pt, bold=True)
        y -= 1.2 * size_pt / 72
    return y


def _paragraph(pdf: Pdf, words: str, y: float, size_pt: float) -> float:
    width_in = pdf.width_in - 2 * MARGIN_IN
    return pdf.paragraph((MARGIN_IN, y), words, width_in=width_in, size_pt=size_pt, grey=0.2)
