"""The first page of a quilt's papers: plan, contents, and what comes before cutting."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image
from reportlab.lib.utils import ImageReader

from stash.drawing.paper import MARGIN_IN
from stash.drawing.pdf_lettering import wrap
from stash.drawing.pdf_page import Pdf, Pen, Point
from stash.quilt.cautions import cautions_for

__all__ = ["PlanPage", "draw_contents", "draw_plan", "start_list"]

_CONTENTS = "contents"
_PT, _SMALL_PT = 12.5, 10.5
_LEADING = 1.32 / 72
_PICTURE_IN = 3.4  # most height of the quilt's picture
_MOST_NUMBERS = 24  # scraps that are named one by one


@dataclass(frozen=True, slots=True)
class PlanPage:
    """What the first page says.

    Attributes
    ----------
    title : str
        The quilt's name.
    words : tuple of str
        Its plan in sentences.
    picture : PIL image or None
        The quilt, mode RGBA.
    start : tuple of str
        What is done before cutting, one box to tick each.
    left_out : tuple of str
        Which sheets are not there yet, and why.
    """

    title: str
    words: tuple[str, ...]
    picture: Image.Image | None
    start: tuple[str, ...]
    left_out: tuple[str, ...] = ()


def start_list(unwashed: Sequence[int], bleeding: Sequence[int]) -> tuple[str, ...]:
    """Say what is done before cutting: washed, dried, starched if wanted, and the tools.

    Parameters
    ----------
    unwashed : sequence of int
        Scraps that are not washed.
    bleeding : sequence of int
        Of those, which are of colours that often run.

    Notes
    -----
    Common practice, no source; the dye test from the caution for washing.
    """
    lines = []
    if bleeding:
        lines.append(f"Dye tested: {_numbers(bleeding)}. {cautions_for('wash')[0]}")
    if unwashed:
        lines.append(
            f"Washed: {_numbers(unwashed)}. Small scraps go into a net bag, so that they do not "
            "fray to nothing."
        )
    else:
        lines.append("Washed: every scrap is noted as washed.")
    lines += [
        "Dried flat, not stretched.",
        "Starched, if wanted: it steadies bias edges. Spray, let it soak in, press.",
        "Pressed flat, the iron set down and lifted, not pushed. " + cautions_for("press")[0],
        "Template printed at 100 % and both squares measured.",
        "A sharp blade in the cutter, a mat, a ruler, pins or weights.",
        "Thread, a new needle, and the seam allowance tried on waste cloth.",
    ]
    return tuple(lines)


def _numbers(scraps: Sequence[int]) -> str:
    shown = ", ".join(map(str, scraps[:_MOST_NUMBERS]))
    more = len(scraps) - _MOST_NUMBERS
    return f"scrap{'s' * (len(scraps) > 1)} {shown}" + (f" and {more} more" if more > 0 else "")


def draw_plan(pdf: Pdf, page: PlanPage, *, entries: int) -> float:
    """Draw the plan with room for a table of contents of so many entries; gives where, inches."""
    pdf.new_page()
    pdf.mark("Plan")
    width_in = pdf.width_in - 2 * MARGIN_IN
    y = pdf.height_in - MARGIN_IN - 0.36
    for line in wrap(page.title, width_in, size_pt=26, bold=True):
        pdf.text((MARGIN_IN, y), line, size_pt=26, bold=True)
        y -= 0.42
    for words in page.words:
        y = pdf.paragraph((MARGIN_IN, y), words, width_in=width_in, size_pt=_PT)
    needed = _PT * _LEADING * (entries + len(page.left_out)) + 0.5 + _start_in(page.start, width_in)
    room_in = min(_PICTURE_IN, y - MARGIN_IN - needed)
    if page.picture is not None and room_in > 1:
        y = _draw_picture(pdf, page.picture, y, room_in)
    pdf.later(_CONTENTS)
    contents_y = y - 0.2
    y = contents_y - _PT * _LEADING * entries
    for words in page.left_out:
        y = pdf.paragraph((MARGIN_IN, y), words, width_in=width_in, size_pt=_SMALL_PT, grey=0.25)
    y -= 0.12
    pdf.text((MARGIN_IN, y), "Before cutting", size_pt=15, bold=True)
    _tick_list(pdf, page.start, y - 0.28)
    return contents_y


def draw_contents(pdf: Pdf, y: float, entries: Sequence[tuple[str, int]]) -> None:
    """Fill in the table of contents where `draw_plan` left room: titles and their first pages."""
    with pdf.now(_CONTENTS):
        for title, number in entries:
            pdf.text((MARGIN_IN, y), title, size_pt=_PT)
            pdf.text((MARGIN_IN + 3.2, y), f"page {number}", size_pt=_PT, align="right")
            y -= _PT * _LEADING


def _start_in(lines: Sequence[str], width_in: float) -> float:
    counts = (len(wrap(words, width_in - 0.3, size_pt=_SMALL_PT)) for words in lines)
    return sum(_SMALL_PT * _LEADING * count + 0.05 for count in counts)


def _tick_list(pdf: Pdf, lines: Sequence[str], y: float) -> None:
    for words in lines:
        pdf.rectangle((MARGIN_IN + 0.02, y - 0.02), (0.13, 0.13), Pen(0.9))
        width_in = pdf.width_in - 2 * MARGIN_IN - 0.3
        y = pdf.paragraph((MARGIN_IN + 0.3, y), words, width_in=width_in, size_pt=_SMALL_PT) - 0.05


def _draw_picture(pdf: Pdf, picture: Image.Image, y: float, room_in: float) -> float:
    solid = Image.new("RGB", picture.size, "white")
    solid.paste(picture, mask=picture.getchannel("A"))
    solid.thumbnail((1000, 1000))
    data = io.BytesIO()
    solid.save(data, "JPEG", quality=85)
    data.seek(0)
    wide_in = pdf.width_in - 2 * MARGIN_IN
    scale = min(wide_in / solid.width, room_in / solid.height)
    size: Point = (solid.width * scale, solid.height * scale)
    pdf.image(ImageReader(data), ((pdf.width_in - size[0]) / 2, y - size[1]), size)
    return y - size[1] - 0.1
