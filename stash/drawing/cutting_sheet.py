"""The cutting sheets: the list, the stacks, and per scrap where the template is laid."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PIL import Image
from reportlab.lib.utils import ImageReader
from shapely.geometry import Polygon
from shapely.ops import polylabel

from stash.drawing.page_flow import Flow
from stash.drawing.paper import MARGIN_IN, Paper
from stash.drawing.pdf_lettering import text_width, wrap
from stash.drawing.pdf_page import Pdf, Pen, Point
from stash.drawing.stack_sheet import draw_stacks
from stash.drawing.template_lines import shown_name
from stash.quilt.cautions import cautions_for
from stash.quilt.cutting import (
    NARROW_STRIP_IN,
    RULER_STEPS,
    STRIP_IN,
    ScrapToCut,
    strip_plan,
    strip_words,
)
from stash.quilt.regret import Regret, regret_words
from stash.quilt.stacks import StackPlan, pass_words, stack_words
from stash.quilt.strip_nesting import TemplateStrip, template_strips
from stash.shape.nesting.straight_cuts import up_to_mark
from stash.shape.plane.outline import Outline
from stash.shape.templates.template import Template
from stash.units import CM_PER_INCH, length_words, size_words
from stash.wording import counted

__all__ = ["CutList", "cutting_pdf", "draw_cutting"]

_WORDS_IN = 2.15
_RULER_IN = 0.5  # the ruler under a drawing with its numbers
_SMALLEST = 0.6  # a drawing is made so much smaller at most to end a page
# Radius a piece is drawn with at least, to hold its number in a circle, and its place as well.
_NUMBER_ROOM_IN, _PLACE_ROOM_IN = 0.2, 0.36
_PALE = 0.5  # share of white over a scrap's picture, so that lines read on any print
_PICTURE_PX = 500
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
    regrets : tuple of Regret
        What the cuts take for good.
    """

    title: str
    template: Template
    scraps: tuple[ScrapToCut, ...]
    stacks: StackPlan
    regrets: tuple[Regret, ...] = ()


def cutting_pdf(cuts: CutList, paper: Paper, *, unit: str = "in") -> bytes:
    """Draw the list of scraps, the stacks, and every scrap with its pieces.

    Parameters
    ----------
    cuts : CutList
        What is cut from what.
    paper : Paper
        Letter or A4.
    unit : str
        Lengths are written in ``in`` or ``cm``.
    """
    pdf = Pdf(paper, title=f"Cutting {cuts.title}", unit=unit)
    draw_cutting(pdf, cuts)
    return pdf.finish()


def draw_cutting(pdf: Pdf, cuts: CutList) -> None:
    """Add the cutting sheets to a document: the list, then scraps and stacks, page by page."""
    flow = Flow(pdf, lambda first: _list_head(pdf, cuts, first=first))
    for line in _list_lines(pdf, cuts):
        _list_row(pdf, flow, line)
    for scrap in cuts.scraps:
        words_in, drawing_in = _room_of(pdf, cuts.template, scrap)
        block_in = max(words_in, drawing_in)
        if flow.left_in < block_in and flow.left_in >= max(words_in, _SMALLEST * drawing_in):
            block_in = flow.left_in  # a little smaller, rather than white paper below it
        block_in = min(block_in, flow.full_in)
        _draw_scrap(pdf, cuts.template, scrap, flow.take(block_in, ruled=True))
    draw_stacks(pdf, flow, cuts.stacks, {scrap.number: scrap for scrap in cuts.scraps})


def _list_head(pdf: Pdf, cuts: CutList, *, first: bool) -> float:
    top = pdf.height_in - MARGIN_IN
    if not first:
        pdf.text((MARGIN_IN, top - 0.2), f"Cut for {cuts.title}", size_pt=13, bold=True)
        return top - 0.36
    pdf.text((MARGIN_IN, top - 0.36), f"Cut for {cuts.title}", size_pt=26, bold=True)
    pieces = sum(len(scrap.pieces) for scrap in cuts.scraps)
    fabrics = len({scrap.fabric for scrap in cuts.scraps})
    pdf.text(
        (MARGIN_IN, top - 0.72),
        f"{shown_name(cuts.template, unit=pdf.unit)}: {counted(pieces, 'piece')} from "
        f"{counted(len(cuts.scraps), 'scrap')} of {counted(fabrics, 'fabric')}",
        size_pt=15,
    )
    y = top - 1.02
    width_in = pdf.width_in - 2 * MARGIN_IN
    for words in _shape_words(cuts.template, pdf.unit):
        y = pdf.paragraph((MARGIN_IN, y), words, width_in=width_in, size_pt=13)
    y -= 0.05
    for words in cautions_for("cut"):
        y = pdf.paragraph((MARGIN_IN, y), words, width_in=width_in, size_pt=10.5, grey=0.2)
    return y - 0.05


def _shape_words(template: Template, unit: str) -> tuple[str, ...]:
    words = [
        _strip_sentence(template, unit),
        *(cautions_for("narrow") if _narrowest(template) < NARROW_STRIP_IN else ()),
        "Every scrap is drawn with the side up that was photographed, its right side: lay it so.",
    ]
    if not template.mirror_symmetric:
        words.append("Turned over it is another shape: all layers right side up, none folded.")
    return tuple(words)


def _narrowest(template: Template) -> float:
    plan = strip_plan(template)
    if plan is not None:
        return plan.width_in
    return min(one.width_in for one in template_strips(template))


def _strip_sentence(template: Template, unit: str) -> str:
    plan = strip_plan(template)
    if plan is None:
        wide, *narrow = sorted(template_strips(template), key=lambda one: -one.width_in)
        lying = "".join(
            f"; {_up(one.width_in, unit)} lying along, {_gives(one, unit)}"
            for one in narrow
            if _up(one.width_in, unit) != _up(wide.width_in, unit)
        )
        folded = " Three cloths folded once give 6 a cut." if template.mirror_symmetric else ""
        return (
            f"A strip {_up(wide.width_in, unit)} wide just takes it standing across, "
            f"{_gives(wide, unit)}{lying}. Cut round the template with a small blade, the layers "
            f"pinned or weighted.{folded}"
        )
    strip = f"Or cut strips {_up(plan.width_in, unit)} wide"
    count = plan.pieces_at_marks(RULER_STEPS[unit])
    each = f"{length_words(STRIP_IN, unit=unit)} of strip give {count}"
    if plan.cross_cut_in is not None:
        at = "" if plan.angle_deg > 89.5 else f" at {plan.angle_deg:.0f}°"
        return f"{strip}, then cut {_up(plan.cross_cut_in, unit)} apart{at}: {each}."
    halves = ", every second one turned by half" if plan.by_halves else ""
    return f"{strip}, then cut by the template{halves}: {each}."


def _gives(strip: TemplateStrip, unit: str) -> str:
    halves = ", every second one turned by half" if strip.by_halves else ""
    return f"{strip.pieces} from {length_words(STRIP_IN, unit=unit)}{halves}"


def _up(inches: float, unit: str) -> str:
    """Write a width up to the ruler's next mark, never too narrow."""
    return length_words(up_to_mark(inches, RULER_STEPS[unit]), unit=unit)


_Line = tuple[str, ...]
_COLUMNS_IN = (0.42, 1.3, 4.55, 6.6)
_ROW_PT, _LEADING_IN = 13, 0.22


def _list_lines(pdf: Pdf, cuts: CutList) -> list[_Line]:
    lines: list[_Line] = [("#", "scrap", "fabric", "bin", "pieces")]
    for scrap in cuts.scraps:
        fabric = f"{scrap.fabric}  {scrap.name}".strip()
        lines.append(("", str(scrap.number), fabric, scrap.place, str(len(scrap.pieces))))
    lines.append(("=", "Stacks, right sides up"))
    width_in = pdf.width_in - 2 * MARGIN_IN - _COLUMNS_IN[0]
    for number, stack in enumerate(cuts.stacks.stacks, start=1):
        head, *more = wrap(stack_words(stack), width_in, size_pt=_ROW_PT)
        lines.append(("-", f"{number}", head))
        lines += [("-", "", words) for words in more]
    lines += [
        ("-", "", words) for words in wrap(pass_words(cuts.stacks), width_in, size_pt=_ROW_PT)
    ]
    if cuts.regrets:
        lines.append(("=", "Think twice"))
    for said in regret_words(cuts.regrets, unit=pdf.unit):
        told = wrap(said, width_in, size_pt=_ROW_PT)
        lines += [("-", "", words) for words in told]
    return lines


def _list_row(pdf: Pdf, flow: Flow, line: _Line) -> None:
    kind = line[0]
    if kind == "=":
        low, _ = flow.take(0.42)
        pdf.text((MARGIN_IN, low + 0.09), line[1], size_pt=15, bold=True)
        return
    if kind == "-":
        low, _ = flow.take(0.25)
        pdf.text((MARGIN_IN, low + 0.07), line[1], size_pt=_ROW_PT, bold=True)
        pdf.text((MARGIN_IN + _COLUMNS_IN[0], low + 0.07), line[2], size_pt=_ROW_PT)
        return
    ends = (*_COLUMNS_IN[1:], pdf.width_in - 2 * MARGIN_IN)
    cells = [
        wrap(words, end - x - 0.1, size_pt=_ROW_PT, bold=kind == "#")
        for x, end, words in zip(_COLUMNS_IN, ends, line[1:], strict=True)
    ]
    low, top = flow.take(0.05 + _LEADING_IN * max(map(len, cells)))
    y = top - 0.19
    if kind == "#":
        pdf.line([(MARGIN_IN, low), (pdf.width_in - MARGIN_IN, low)], Pen(1.0))
    else:
        pdf.rectangle((MARGIN_IN + 0.03, y - 0.02), (0.15, 0.15), Pen(0.9))
    for x, texts in zip(_COLUMNS_IN, cells, strict=True):
        for k, words in enumerate(texts):
            at = (MARGIN_IN + x, y - k * _LEADING_IN)
            pdf.text(at, words, size_pt=_ROW_PT, bold=kind == "#")


def _places_need_words(pdf: Pdf, template: Template, scrap: ScrapToCut) -> bool:
    """Say whether places may not fit into the pieces, however small the page ends up drawing it."""
    _, bottom, _, top = scrap.outline.bounds
    scale = _drawing_in(pdf, scrap)[1] / (top - bottom)
    fits = _deepest(template) * scale * _SMALLEST >= _PLACE_ROOM_IN
    return any(scrap.places) and not fits


def _deepest(template: Template) -> float:
    """Radius of the largest circle in the cut shape, inches."""
    shape = template.cut_polygon()
    return float(shape.exterior.distance(polylabel(shape, 0.02)))


def _drawing_in(pdf: Pdf, scrap: ScrapToCut) -> tuple[float, float]:
    """Give the room a drawing has: as wide as the words leave, as high as it comes out."""
    left, bottom, right, top = scrap.outline.bounds
    wide_in = pdf.width_in - 2 * MARGIN_IN - 0.3 - _WORDS_IN - 0.25
    most_in = (pdf.height_in - 2 * MARGIN_IN) / 2 - 1.0
    scale = min(wide_in / (right - left), most_in / (top - bottom), 1.0)
    return wide_in, scale * (top - bottom)


def _room_of(pdf: Pdf, template: Template, scrap: ScrapToCut) -> tuple[float, float]:
    """Give how high a scrap's words come out with its heading, and how high its drawing."""
    notes = _notes(pdf, template, scrap)
    lines = sum(len(wrap(words, _WORDS_IN, size_pt=12)) for words in notes)
    words_in = 0.4 + 1.32 * 12 / 72 * lines + 0.08 * len(notes)
    head_in = 0.5 + 0.24 * (len(_head_lines(pdf, scrap)) - 1)
    return head_in + words_in, head_in + _drawing_in(pdf, scrap)[1] + _RULER_IN


def _head_lines(pdf: Pdf, scrap: ScrapToCut) -> list[str]:
    kept = scrap.place if scrap.place.lower().startswith("bin") else f"bin {scrap.place}"
    bin_words = f", {kept}" if scrap.place else ""
    words = f"fabric {scrap.fabric} {scrap.name}".strip() + bin_words
    return wrap(words, pdf.width_in - 2 * MARGIN_IN - 2.0, size_pt=15)


def _draw_scrap(pdf: Pdf, template: Template, scrap: ScrapToCut, band: tuple[float, float]) -> None:
    bottom, top = band
    pdf.text((MARGIN_IN, top - 0.34), f"Scrap {scrap.number}", size_pt=22, bold=True)
    heads = _head_lines(pdf, scrap)
    for k, words in enumerate(heads):
        pdf.text((MARGIN_IN + 2.0, top - 0.34 - 0.24 * k), words, size_pt=15)
    top -= 0.24 * (len(heads) - 1)
    wide_in, high_in = _drawing_in(pdf, scrap)
    low = max(bottom + _RULER_IN - 0.1, top - 0.5 - high_in)
    frame = (MARGIN_IN + 0.3, low, MARGIN_IN + 0.3 + wide_in, top - 0.5)
    put, scale = _fit(scrap, frame)
    _draw_picture(pdf, scrap, put, scale)
    _draw_ruler(pdf, scrap, put)
    _draw_outline(pdf, scrap, put)
    for rest in scrap.left:
        _draw_left(pdf, rest, put)
    numbered = _deepest(template) * scale >= _NUMBER_ROOM_IN
    named = _deepest(template) * scale >= _PLACE_ROOM_IN
    for number, ring in enumerate(scrap.pieces, start=1):
        _draw_piece(pdf, [put(point) for point in ring], number, small=not numbered)
        place = scrap.places[number - 1] if scrap.places else ""
        if place and named:
            _draw_place(pdf, [put(point) for point in ring], place)
    _scrap_words(pdf, template, scrap, (pdf.width_in - MARGIN_IN - _WORDS_IN, top - 0.75))


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
    """Draw inches, or centimetres, along the bottom and the left, from the scrap's own corner."""
    left, bottom, right, top = scrap.outline.bounds
    step_in, every = (1.0, 2) if pdf.unit == "in" else (1 / CM_PER_INCH, 5)
    for mark in range(int((right - left) / step_in) + 1):
        x, y = put((left + mark * step_in, bottom))
        pdf.line([(x, y - 0.06), (x, y - (0.16 if mark % every == 0 else 0.11))], Pen(0.7))
        if mark % every == 0:
            pdf.text((x, y - 0.3), str(mark), size_pt=9, align="middle")
    for mark in range(int((top - bottom) / step_in) + 1):
        x, y = put((left, bottom + mark * step_in))
        pdf.line([(x - 0.06, y), (x - (0.16 if mark % every == 0 else 0.11), y)], Pen(0.7))
        if mark % every == 0 and mark:
            pdf.text((x - 0.19, y - 0.04), str(mark), size_pt=9, align="right")


def _draw_left(pdf: Pdf, rest: Outline, put: Put) -> None:
    """Draw the border of what stays in the stash, and say so where there is room."""
    pdf.polygon([put(point) for point in rest.points], Pen(0.9, 0.2, (1.0, 2.2)))
    ring = Polygon([put(point) for point in rest.points], [[put(p) for p in h] for h in rest.holes])
    spot = polylabel(ring, 0.02)
    if ring.exterior.distance(spot) < 0.09:
        return
    words = "keep" if ring.exterior.distance(spot) > 0.2 else "k"
    half = text_width(words, size_pt=9) / 2 + 0.03
    x, y = float(spot.x), float(spot.y)
    pdf.rectangle((x - half, y - 0.08), (2 * half, 0.16), None, fill_grey=1.0)
    pdf.text((x, y - 0.04), words, size_pt=9, align="middle", grey=0.2)


def _draw_piece(pdf: Pdf, ring: Sequence[Point], number: int, *, small: bool) -> None:
    pdf.polygon(ring, Pen(3.2, 1.0))
    pdf.polygon(ring, Pen(1.7))
    spot = Polygon(ring).representative_point()
    x, y = float(spot.x), float(spot.y)
    if small:
        pdf.text((x, y - 0.04), str(number), size_pt=8, bold=True, align="middle")
        return
    pdf.circle((x, y), 0.15, Pen(1.0), fill_grey=1.0)
    pdf.text((x, y - 0.06), str(number), size_pt=12, bold=True, align="middle")


def _draw_place(pdf: Pdf, ring: Sequence[Point], place: str) -> None:
    """Write the row and the piece under the number, white behind."""
    spot = Polygon(ring).representative_point()
    x, y = float(spot.x), float(spot.y) - 0.31
    half = 0.05 * len(place) + 0.03
    pdf.rectangle((x - half, y - 0.04), (2 * half, 0.16), Pen(0.5), fill_grey=1.0)
    pdf.text((x, y), place, size_pt=9, align="middle")


def _scrap_words(pdf: Pdf, template: Template, scrap: ScrapToCut, at: Point) -> None:
    x, y = at
    count = len(scrap.pieces)
    pdf.text((x, y), counted(count, "piece"), size_pt=17, bold=True)
    y -= 0.24
    for words in _notes(pdf, template, scrap):
        y = pdf.paragraph((x, y - 0.08), words, width_in=_WORDS_IN, size_pt=12)


def _notes(pdf: Pdf, template: Template, scrap: ScrapToCut) -> list[str]:
    unit = pdf.unit
    side = "right side up" if template.mirror_symmetric else "right side up, not turned over"
    notes = [f"{size_words(*scrap.outline.least_box_in(), unit=unit)}; drawn {side}."]
    if _places_need_words(pdf, template, scrap):
        told = ", ".join(f"{number} to {place}" for number, place in enumerate(scrap.places, 1))
        notes.append(f"Row and piece it is for: {told}.")
    if scrap.left:
        sizes = "; ".join(size_words(*one.least_box_in(), unit=unit) for one in scrap.left)
        notes.append(f"Dotted, to keep: {sizes}.")
    elif scrap.pieces:
        notes.append("Nothing is left that is worth keeping.")
    if not scrap.washed:
        notes.append(
            "Not washed: the spaces are drawn larger for the shrinkage. Wash and press it, then "
            "lay the template as drawn."
        )
    if scrap.may_bleed:
        notes += [words.split(":")[0] + "." for words in cautions_for("wash")]
    if scrap.grain:
        grain = f"{scrap.grain[:1].upper()}{scrap.grain[1:]}"
        notes.append(f"{grain}; degrees are counted from the drawing's lower edge.")
    if scrap.strips is not None:
        words = "; ".join(strip_words(template, scrap.strips, unit=unit))
        notes.append(f"With straight cuts: {words}.")
    return notes
