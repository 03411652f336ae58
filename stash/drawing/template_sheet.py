"""Templates at true size: one page each, or several to be joined."""

from __future__ import annotations

from collections.abc import Sequence

from stash.drawing.paper import MARGIN_IN, Paper
from stash.drawing.pdf_page import Pdf
from stash.drawing.template_lines import TemplateLines, shown_name
from stash.drawing.template_page import FOOT_IN, HEAD_IN, draw_foot, draw_head, draw_lines
from stash.drawing.template_tiles import Tiling, draw_tiles
from stash.shape.templates.template import Template

__all__ = ["draw_templates", "template_pdf"]


def template_pdf(templates: Sequence[Template], paper: Paper, *, unit: str = "in") -> bytes:
    """Draw templates at true size, one after the other.

    Parameters
    ----------
    templates : sequence of Template
        What to print; one larger than a page is spread over pages with joining marks.
    paper : Paper
        Letter or A4.
    unit : str
        Lengths are written in ``in`` or ``cm``.

    Returns
    -------
    bytes
        A PDF, the same for the same templates.
    """
    title = ", ".join(shown_name(one, unit=unit) for one in templates)
    pdf = Pdf(paper, title=title, unit=unit)
    draw_templates(pdf, templates)
    return pdf.finish()


def draw_templates(pdf: Pdf, templates: Sequence[Template]) -> None:
    """Add templates to a document, each on pages of its own."""
    for template in templates:
        _draw_template(pdf, template)


def _draw_template(pdf: Pdf, template: Template) -> None:
    room = (
        pdf.width_in - 2 * MARGIN_IN,
        pdf.height_in - 2 * MARGIN_IN - HEAD_IN - FOOT_IN,
    )
    for turned in (False, True):
        shape = TemplateLines.of(template, turned=turned)
        if shape.width_in <= room[0] and shape.height_in <= room[1]:
            _draw_on_one_page(pdf, shape)
            return
    both = [Tiling.of(TemplateLines.of(template, turned=turned), pdf) for turned in (False, True)]
    draw_tiles(pdf, min(both, key=lambda tiling: tiling.count))


def _draw_on_one_page(pdf: Pdf, shape: TemplateLines) -> None:
    pdf.new_page()
    draw_head(pdf, shape.template, "")
    top = pdf.height_in - MARGIN_IN - HEAD_IN
    bottom = MARGIN_IN + FOOT_IN
    at = ((pdf.width_in - shape.width_in) / 2, (top + bottom - shape.height_in) / 2)
    draw_lines(pdf, shape, at)
    draw_foot(pdf, shape.template)
