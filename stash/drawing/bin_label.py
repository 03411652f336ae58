"""Labels for bins: what is inside, in large type, and a code that finds the bin again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import segno

from stash.drawing.paper import MARGIN_IN, Paper
from stash.drawing.pdf_lettering import text_width
from stash.drawing.pdf_page import Pdf, Pen, Point

__all__ = ["BinLabel", "labels_pdf"]

_LABEL_HEIGHT_IN = 3.2
_CODE_IN = 1.5


@dataclass(frozen=True, slots=True)
class BinLabel:
    """What one label says.

    Attributes
    ----------
    place : str
        The bin.
    scraps, fabrics : int
        How many are inside.
    lines : tuple of str
        Families and sizes, most first.
    code : str
        What the code holds, and what is typed to find the bin.
    """

    place: str
    scraps: int
    fabrics: int
    lines: tuple[str, ...]
    code: str


def labels_pdf(labels: Sequence[BinLabel], paper: Paper) -> bytes:
    """Print labels, three to a page, to cut out along their frames."""
    pdf = Pdf(paper, title="Labels for bins")
    per_page = int((paper.height_in - 2 * MARGIN_IN) / (_LABEL_HEIGHT_IN + 0.05))
    for at, label in enumerate(labels):
        if at % per_page == 0:
            pdf.new_page()
        top = pdf.height_in - MARGIN_IN - (at % per_page) * (_LABEL_HEIGHT_IN + 0.05)
        _draw_label(pdf, label, (MARGIN_IN, top - _LABEL_HEIGHT_IN))
    return pdf.finish()


def _draw_label(pdf: Pdf, label: BinLabel, corner: Point) -> None:
    x, y = corner
    width = pdf.width_in - 2 * MARGIN_IN
    pdf.rectangle(corner, (width, _LABEL_HEIGHT_IN), Pen(0.8, 0.5, (5, 4)))
    room = width - _CODE_IN - 0.75
    size_pt = 54.0
    while size_pt > 18 and text_width(label.place, size_pt=size_pt, bold=True) > room:
        size_pt -= 2
    top = y + _LABEL_HEIGHT_IN
    pdf.text((x + 0.25, top - 0.3 - size_pt / 100), label.place, size_pt=size_pt, bold=True)
    below = top - 0.55 - size_pt / 72
    many = "scrap" if label.scraps == 1 else "scraps"
    cloth = "fabric" if label.fabrics == 1 else "fabrics"
    pdf.text((x + 0.25, below), f"{label.scraps} {many} of {label.fabrics} {cloth}", size_pt=18)
    below -= 0.34
    for line in label.lines:
        if below < y + 0.15:
            break
        below = pdf.paragraph((x + 0.25, below), line, width_in=room, size_pt=15)
    _draw_code(pdf, label.code, (x + width - _CODE_IN - 0.25, y + 0.62))


def _draw_code(pdf: Pdf, code: str, corner: Point) -> None:
    rows = [list(row) for row in segno.make(code, error="m", micro=False).matrix]
    module = _CODE_IN / (len(rows) + 8)  # four modules of quiet zone, ISO/IEC 18004
    for down, row in enumerate(rows):
        start = None
        for along, dark in enumerate([*row, 0]):
            if dark and start is None:
                start = along
            if not dark and start is not None:
                at = (
                    corner[0] + (4 + start) * module,
                    corner[1] + _CODE_IN - (5 + down) * module,
                )
                pdf.rectangle(at, ((along - start) * module, module), None, fill_grey=0.0)
                start = None
    pdf.text((corner[0] + _CODE_IN / 2, corner[1] - 0.2), code, size_pt=12, align="middle")
