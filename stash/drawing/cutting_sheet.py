"""The cutting sheets: the list, the stacks, and per scrap where the template is laid."""

from __future__ import annotations

import io
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PIL import Image
from reportlab.lib.utils import ImageReader
from shapely.geometry import Polygon

from stash.drawing.paper import MARGIN_IN, Paper
from stash.drawing.pdf_page import Pdf, Pen, Point
from stash.drawing.stack_sheet import draw_stacks
from stash.drawing.template_lines import shown_name
from stash.quilt.cautions import cautions_for
from stash.quilt.cutting import ScrapToCut, strip_plan, strip_words
from stash.quilt.cutting_rules import pieces_per_stack, up_to_eighth
from stash.quilt.stacks import StackPlan, pass_words, stack_words
from stash.quilt.strip_nesting import TemplateStrip, template_strips
from stash.shape.template import Template
from stash.units import format_inches, format_size

__all__ = ["CutList", "cutting_pdf"]

_ROW_IN = 0.27
_PALE = 0.5  # share of white over a scrap's picture, so that lines read on any print
_PICTURE_PX = 500
_LINE = 80  # letters of a line of the list
Put = Callable[[Point], Point]


@dataclass(frozen=True, slots=True)
class CutList:
    """Everything a cutting sheet shows.

    Attributes
    ----------
    title : str
        The quilt's name.
    template : Template
        What is cut.
    scraps : tuple of ScrapToCut
        In the order they are listed.
    stacks : StackPlan
        How they are put on each other.
    """

    title: str
    template: Template
    scraps: tuple[ScrapToCut, ...]
    stacks: StackPlan


def cutting_pdf(cuts: CutList, paper: Paper) -> bytes:
    """Draw the list of scraps, the stacks, and every scrap with its pieces.

    Parameters
    ----------
    cuts : CutList
        What is cut from what.
    paper : Paper
        Letter or A4.
    """
    pdf = Pdf(paper, title=f"Cutting {cuts.title}")
    _list_pages(pdf, cuts)
    for at in range(0, len(cuts.scraps), 2):
        pdf.new_page()
        half = (pdf.height_in - 2 * MARGIN_IN) / 2
        for k, scrap in enumerate(cuts.scraps[at : at + 2]):
            top = pdf.height_in - MARGIN_IN - k * half
            if k:
                pdf.line([(MARGIN_IN, top), (pdf.width_in - MARGIN_IN, top)], Pen(0.6, 0.6))
                top -= 0.2
            _draw_scrap(pdf, cuts.template, scrap, (top - half + 0.2, top))
    names = {scrap.number: f"{scrap.fabric} {scrap.name}".strip() for scrap in cuts.scraps}
    draw_stacks(pdf, cuts.stacks, names)
    return pdf.finish()


def _list_pages(pdf: Pdf, cuts: CutList) -> None:
    y = _list_head(pdf, cuts, first=True)
    for line in _list_lines(cuts):
        if y < MARGIN_IN + 0.9:
            _list_foot(pdf)
            y = _list_head(pdf, cuts, first=False)
        _list_row(pdf, y, line)
        y -= _ROW_IN
    _list_foot(pdf)


def _list_head(pdf: Pdf, cuts: CutList, *, first: bool) -> float:
    pdf.new_page()
    top = pdf.height_in - MARGIN_IN
    pdf.text((MARGIN_IN, top - 0.36), f"Cut for {cuts.title}", size_pt=26, bold=True)
    if not first:
        return top - 0.9
    pieces = sum(len(scrap.pieces) for scrap in cuts.scraps)
    fabrics = len({scrap.fabric for scrap in cuts.scraps})
    pdf.text(
        (MARGIN_IN, top - 0.72),
        f"{shown_name(cuts.template)}: {pieces} pieces from {len(cuts.scraps)} scraps of "
        f"{fabrics} fabrics",
        size_pt=15,
    )
    y = top - 1.02
    for words in _shape_words(cuts.template):
        y = pdf.paragraph((MARGIN_IN, y), words, width_in=pdf.width_in - 2 * MARGIN_IN, size_pt=13)
    return y - 0.2


def _shape_words(template: Template) -> tuple[str, ...]:
    words = [
        _strip_sentence(template),
        "Every scrap is drawn with the side up that was photographed, its right side: lay it so.",
    ]
    if not template.mirror_symmetric:
        words.append("Turned over it is another shape: all layers right side up, none folded.")
    return tuple(words)


def _strip_sentence(template: Template) -> str:
    plan = strip_plan(template)
    if plan is None:
        wide, *narrow = sorted(template_strips(template), key=lambda one: -one.width_in)
        lying = "".join(
            f"; {_up(one.width_in)} in lying along, {_gives(one)}"
            for one in narrow
            if _up(one.width_in) != _up(wide.width_in)
        )
        folded = (
            f" Three cloths folded once give {pieces_per_stack(3)} a cut."
            if template.mirror_symmetric
            else ""
        )
        return (
            f"A strip {_up(wide.width_in)} in wide just takes it standing across, {_gives(wide)}"
            f"{lying}. Cut round the template with a small blade, the layers pinned or weighted."
            f"{folded}"
        )
    strip = f"Or cut strips {_up(plan.width_in)} in wide"
    each = f"40 in of strip give {plan.per_strip}"
    if plan.cross_cut_in is not None:
        at = "" if plan.angle_deg > 89.5 else f" at {plan.angle_deg:.0f}°"
        return f"{strip}, then cut {_up(plan.cross_cut_in)} in apart{at}: {each}."
    halves = ", every second one turned by half" if plan.by_halves else ""
    return f"{strip}, then cut by the template{halves}: {each}."


def _gives(strip: TemplateStrip) -> str:
    halves = ", every second one turned by half" if strip.by_halves else ""
    return f"{strip.pieces} from 40 in{halves}"


def _up(inches: float) -> str:
    """Write a width up to the next eighth, as rulers are marked: never too narrow."""
    return format_inches(up_to_eighth(inches))


_Line = tuple[str, ...]
_COLUMNS_IN = (0.0, 0.42, 1.3, 4.55, 6.2)


def _list_lines(cuts: CutList) -> list[_Line]:
    lines: list[_Line] = [("#", "scrap", "fabric", "bin", "pieces")]
    for scrap in cuts.scraps:
        fabric = f"{scrap.fabric}  {scrap.name}".strip()
        lines.append(("", str(scrap.number), fabric, scrap.place, str(len(scrap.pieces))))
    lines.append(())
    lines.append(("=", "Stacks, right sides up"))
    for number, stack in enumerate(cuts.stacks.stacks, start=1):
        head, *more = textwrap.wrap(stack_words(stack), _LINE)
        lines.append(("-", f"{number}", head))
        lines += [("-", "", words) for words in more]
    lines += [("-", "", words) for words in textwrap.wrap(pass_words(cuts.stacks), _LINE)]
    return lines


def _list_row(pdf: Pdf, y: float, line: _Line) -> None:
    if not line:
        return
    kind = line[0]
    if kind == "=":
        pdf.text((MARGIN_IN, y), line[1], size_pt=15, bold=True)
        return
    if kind == "-":
        pdf.text((MARGIN_IN, y), line[1], size_pt=13, bold=True)
        pdf.text((MARGIN_IN + 0.42, y), line[2], size_pt=13)
        return
    head = kind == "#"
    if head:
        pdf.line([(MARGIN_IN, y - 0.08), (pdf.width_in - MARGIN_IN, y - 0.08)], Pen(1.0))
    else:
        pdf.rectangle((MARGIN_IN + 0.03, y - 0.02), (0.15, 0.15), Pen(0.9))
    for x, words, most in zip(_COLUMNS_IN[1:], line[1:], (8, 34, 16, 8), strict=True):
        pdf.text((MARGIN_IN + x, y), _short(words, most), size_pt=13, bold=head)


def _short(words: str, most: int) -> str:
    return words if len(words) <= most else words[: most - 1] + "…"


def _list_foot(pdf: Pdf) -> None:
    y = MARGIN_IN + 0.5
    for words in cautions_for("cut"):
        y = pdf.paragraph(
            (MARGIN_IN, y), words, width_in=pdf.width_in - 2 * MARGIN_IN, size_pt=10.5, grey=0.2
        )


def _draw_scrap(pdf: Pdf, template: Template, scrap: ScrapToCut, band: tuple[float, float]) -> None:
    bottom, top = band
    bin_words = f"   bin {scrap.place}" if scrap.place else ""
    pdf.text((MARGIN_IN, top - 0.3), f"Scrap {scrap.number}", size_pt=22, bold=True)
    fabric = f"fabric {scrap.fabric} {scrap.name}".strip()
    pdf.text((MARGIN_IN + 2.0, top - 0.3), _short(fabric + bin_words, 46), size_pt=15)
    words_in = 2.15
    frame = (
        MARGIN_IN + 0.3,
        bottom + 0.35,
        pdf.width_in - MARGIN_IN - words_in - 0.25,
        top - 0.5,
    )
    put, scale = _fit(scrap, frame)
    _draw_picture(pdf, scrap, put, scale)
    _draw_ruler(pdf, scrap, put)
    _draw_outline(pdf, scrap, put)
    for number, ring in enumerate(scrap.pieces, start=1):
        _draw_piece(pdf, [put(point) for point in ring], number)
        place = scrap.places[number - 1] if scrap.places else ""
        if place:
            _draw_place(pdf, [put(point) for point in ring], place)
    _scrap_words(pdf, template, scrap, (pdf.width_in - MARGIN_IN - words_in, top - 0.75, words_in))


def _fit(scrap: ScrapToCut, frame: tuple[float, float, float, float]) -> tuple[Put, float]:
    left, bottom, right, top = scrap.outline.bounds
    scale = min((frame[2] - frame[0]) / (right - left), (frame[3] - frame[1]) / (top - bottom), 1.0)
    x0 = frame[0] - scale * left
    y0 = (frame[1] + frame[3] - scale * (bottom + top)) / 2
    return (lambda point: (x0 + scale * point[0], y0 + scale * point[1])), scale


def _draw_picture(pdf: Pdf, scrap: ScrapToCut, put: Put, scale: float) -> None:
    if not scrap.picture or scrap.px_per_in <= 0:
        return
    with Image.open(io.BytesIO(scrap.picture)) as opened:
        width_in, height_in = (side / scrap.px_per_in for side in opened.size)
        opened.thumbnail((_PICTURE_PX, _PICTURE_PX))
        shown = opened.convert("RGB")
    pale = Image.blend(shown, Image.new("RGB", shown.size, "white"), _PALE)
    data = io.BytesIO()
    pale.save(data, "JPEG", quality=80)
    data.seek(0)
    corner = put((scrap.left_in, scrap.top_in - height_in))
    pdf.image(ImageReader(data), corner, (width_in * scale, height_in * scale))


def _draw_outline(pdf: Pdf, scrap: ScrapToCut, put: Put) -> None:
    fill = None if scrap.picture else 0.93
    pdf.polygon([put(point) for point in scrap.outline.points], Pen(1.0, 0.35), fill_grey=fill)
    for hole in scrap.outline.holes:
        pdf.polygon([put(point) for point in hole], Pen(1.0, 0.35), fill_grey=1.0)


def _draw_ruler(pdf: Pdf, scrap: ScrapToCut, put: Put) -> None:
    """Draw inches along the bottom and the left, from the scrap's own corner."""
    left, bottom, right, top = scrap.outline.bounds
    for inch in range(int(right - left) + 1):
        x, y = put((left + inch, bottom))
        pdf.line([(x, y - 0.06), (x, y - (0.16 if inch % 2 == 0 else 0.11))], Pen(0.7))
        if inch % 2 == 0:
            pdf.text((x, y - 0.3), str(inch), size_pt=9, align="middle")
    for inch in range(int(top - bottom) + 1):
        x, y = put((left, bottom + inch))
        pdf.line([(x - 0.06, y), (x - (0.16 if inch % 2 == 0 else 0.11), y)], Pen(0.7))
        if inch % 2 == 0 and inch:
            pdf.text((x - 0.19, y - 0.04), str(inch), size_pt=9, align="right")


def _draw_piece(pdf: Pdf, ring: Sequence[Point], number: int) -> None:
    pdf.polygon(ring, Pen(3.2, 1.0))
    pdf.polygon(ring, Pen(1.7))
    spot = Polygon(ring).representative_point()
    x, y = float(spot.x), float(spot.y)
    pdf.circle((x, y), 0.15, Pen(1.0), fill_grey=1.0)
    pdf.text((x, y - 0.06), str(number), size_pt=12, bold=True, align="middle")


def _draw_place(pdf: Pdf, ring: Sequence[Point], place: str) -> None:
    """Write the row and the piece under the number, white behind."""
    spot = Polygon(ring).representative_point()
    x, y = float(spot.x), float(spot.y) - 0.31
    half = 0.05 * len(place) + 0.03
    pdf.rectangle((x - half, y - 0.04), (2 * half, 0.16), Pen(0.5), fill_grey=1.0)
    pdf.text((x, y), place, size_pt=9, align="middle")


def _scrap_words(
    pdf: Pdf, template: Template, scrap: ScrapToCut, at: tuple[float, float, float]
) -> None:
    x, y, width = at
    count = len(scrap.pieces)
    pdf.text((x, y), f"{count} piece{'s' if count != 1 else ''}", size_pt=17, bold=True)
    left, bottom, right, top = scrap.outline.bounds
    y -= 0.32
    y = pdf.paragraph(
        (x, y), f"Scrap {format_size(right - left, top - bottom)} in", width_in=width, size_pt=12
    )
    for words in _notes(template, scrap):
        y = pdf.paragraph((x, y - 0.08), words, width_in=width, size_pt=12)


def _notes(template: Template, scrap: ScrapToCut) -> list[str]:
    notes = []
    if not scrap.washed:
        notes.append(
            "Not washed: the spaces are drawn larger for the shrinkage. Wash and press it, then "
            "lay the template as drawn."
        )
        notes += [words.split(":")[0] + "." for words in cautions_for("wash")]
    if scrap.grain_deg is not None:
        notes.append(f"Grain at {scrap.grain_deg % 180:.0f}° to the lower edge of the drawing.")
    if scrap.strips is not None:
        words = "; ".join(strip_words(template, scrap.strips))
        notes.append(f"With straight cuts: {words}.")
    return notes
