"""What stands on a page of templates beside the shape: name, size, check squares, key, cautions."""

from __future__ import annotations

import math
from collections.abc import Sequence

from stash.drawing.paper import MARGIN_IN
from stash.drawing.pdf_lettering import text_width
from stash.drawing.pdf_page import Pdf, Pen, Point
from stash.drawing.template_lines import TemplateLines, notches_of, shown_name
from stash.quilt.cautions import cautions_for
from stash.shape.templates.template import Template

__all__ = [
    "CUT",
    "FOOT_IN",
    "HEAD_IN",
    "draw_check_squares",
    "draw_foot",
    "draw_head",
    "draw_lines",
]

CUT = Pen(1.6)
_SEAM = Pen(1.0, 0.35, (5.0, 3.0))
_GRAIN = Pen(1.4, 0.25)
HEAD_IN, FOOT_IN = 1.25, 2.45


def draw_check_squares(pdf: Pdf, at: Point) -> None:
    """Draw the 1-inch and the 5-cm square with their lower left corners on one line."""
    x, y = at
    for size_in, words in ((1.0, "1 in"), (5 / 2.54, "5 cm")):
        pdf.rectangle((x, y), (size_in, size_in), Pen(0.8))
        pdf.text((x + size_in / 2, y + size_in / 2 - 0.06), words, size_pt=13, align="middle")
        x += size_in + 0.3


def draw_head(pdf: Pdf, template: Template, part: str) -> None:
    """Write name and size on top; ``part`` says which of several pages this is."""
    top = pdf.height_in - MARGIN_IN
    pdf.text((MARGIN_IN, top - 0.36), shown_name(template, unit=pdf.unit), size_pt=26, bold=True)
    if part:
        pdf.text((pdf.width_in - MARGIN_IN, top - 0.36), part, size_pt=26, bold=True, align="right")
    left, bottom, right, high = template.cut_polygon().bounds
    size = pdf.size(right - left, high - bottom)
    pdf.text((MARGIN_IN, top - 0.72), f"Cut {size}, seam allowance included", size_pt=14)
    pdf.text(
        (MARGIN_IN, top - 0.98),
        "Print at 100 %, then measure both squares below before you cut.",
        size_pt=12,
        grey=0.25,
    )


def draw_foot(pdf: Pdf, template: Template) -> None:
    """Draw the check squares, what the lines mean, and the cautions, at the bottom."""
    draw_check_squares(pdf, (MARGIN_IN, MARGIN_IN))
    x = MARGIN_IN + 3.65
    width = pdf.width_in - MARGIN_IN - x
    y = MARGIN_IN + 1.86
    for pen, words in ((CUT, "cut here"), (_SEAM, _seam_words(pdf, template)), (_GRAIN, "grain")):
        if pen is _GRAIN:
            pdf.arrow((x, y + 0.05), (x + 0.6, y + 0.05), pen, both=True)
        else:
            pdf.line([(x, y + 0.05), (x + 0.6, y + 0.05)], pen)
        pdf.text((x + 0.75, y), words, size_pt=12)
        y -= 0.27
    if notches_of(template):
        pdf.line([(x + 0.3, y - 0.02), (x + 0.3, y + 0.12)], CUT)
        pdf.text((x + 0.75, y), "middle of the curve: snip no deeper", size_pt=12)
        y -= 0.27
    if not template.mirror_symmetric:
        pdf.text((x + 0.75, y), "this side up, on the cloth's right side", size_pt=12)
        y -= 0.27
    y -= 0.06
    for words in cautions_for("cut")[:1]:
        y = pdf.paragraph((x, y), words, width_in=width, size_pt=11, grey=0.2)


def draw_lines(pdf: Pdf, shape: TemplateLines, at: Point) -> None:
    """Draw cut and seam line, notches, grain and name; ``at`` is the cut shape's lower left."""

    def put(points: Sequence[Point]) -> list[Point]:
        """Move points to where the template stands on the page, inches."""
        return [(x + at[0], y + at[1]) for x, y in points]

    pdf.polygon(put(shape.cut), CUT)
    if shape.seam:
        pdf.polygon(put(shape.seam), _SEAM)
    for notch in shape.notches:
        pdf.line(put(notch), CUT)
    start, end = put(shape.grain)
    if math.dist(start, end) > 0.3:
        pdf.arrow(start, end, _GRAIN, both=True)
    _draw_label(pdf, shape, put([shape.label])[0])


def _draw_label(pdf: Pdf, shape: TemplateLines, at: Point) -> None:
    words = shown_name(shape.template, unit=pdf.unit)
    upright = abs(shape.grain[0][0] - shape.grain[1][0]) < 0.01
    for size_pt in (16, 13, 10, 8):
        if text_width(words, size_pt=size_pt, bold=True) < 0.9 * shape.label_room_in:
            x, y = (at[0] - 0.12, at[1]) if upright else (at[0], at[1] + 0.12)
            turn = 90.0 if upright else 0.0
            pdf.text((x, y), words, size_pt=size_pt, bold=True, align="middle", turn_deg=turn)
            return


def _seam_words(pdf: Pdf, template: Template) -> str:
    return f"sew here, {pdf.long(template.seam_allowance_in)} inside the cut"
