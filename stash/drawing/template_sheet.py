"""Templates at true size: cut line, seam line, grain arrow, notches, check squares."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shapely import contains_xy

from stash.drawing.pdf_page import MARGIN_IN, Paper, Pdf, Pen, Point, arc_points, text_width
from stash.quilt.cautions import cautions_for
from stash.shape.curve import Arc, Line, Path, Segment
from stash.shape.template import Template
from stash.units import format_inches, format_size

__all__ = ["Notch", "draw_check_squares", "notches_of", "path_points", "shown_name", "template_pdf"]

CUT = Pen(1.6)
SEAM = Pen(1.0, 0.35, (5.0, 3.0))
GRAIN = Pen(1.4, 0.25)
FINE = Pen(0.5, 0.45)
_HEAD_IN, _FOOT_IN = 1.25, 2.45
_BLEED_IN = 0.25  # what neighbouring pages of a large template show twice, each side of the joint
_CLEAR_IN = 0.1  # a notch ends at least this far from the seam line


@dataclass(frozen=True, slots=True)
class Notch:
    """A snip at a curved edge, from the cut line inwards; it never reaches the seam line."""

    outer: Point
    inner: Point


def template_pdf(templates: Sequence[Template], paper: Paper) -> bytes:
    """Draw templates at true size, one after the other.

    Parameters
    ----------
    templates : sequence of Template
        What to print; one larger than a page is spread over pages with joining marks.
    paper : Paper
        Letter or A4.

    Returns
    -------
    bytes
        A PDF, the same for the same templates.
    """
    pdf = Pdf(paper, title=", ".join(shown_name(one) for one in templates))
    for template in templates:
        _draw_template(pdf, template)
    return pdf.finish()


def shown_name(template: Template) -> str:
    """Write a template's name for a heading.

    Examples
    --------
    >>> from stash.shape.template import make_template
    >>> shown_name(make_template("tumbler", 4.5))
    'Tumbler 4½ in'
    """
    words = template.name.replace("-", " ").split(" ")
    shown = [format_inches(float(word)) if _number(word) else word for word in words]
    text = " ".join(shown).replace(" x ", " × ")
    return f"{text[:1].upper()}{text[1:]}" + (" in" if any(map(_number, words)) else "")


def notches_of(template: Template) -> tuple[Notch, ...]:
    """Place a notch at the middle of each curved edge, and at the quarters of a half circle.

    The quarters are there because the two hollows that meet on a dome are one quarter each.
    A notch is half as deep as the seam allowance, so that it ends well before the seam line.
    """
    allowance_in = template.seam_allowance_in
    depth_in = min(0.5 * allowance_in, allowance_in - _CLEAR_IN)
    if depth_in <= 0:
        return ()
    notches = []
    for segment in template.finished:
        if isinstance(segment, Arc):
            shares = (0.25, 0.5, 0.75) if abs(segment.sweep_deg) > 135 else (0.5,)
            notches += [_notch(segment, share, allowance_in, depth_in) for share in shares]
    return tuple(notches)


def path_points(path: Path | Sequence[Segment]) -> list[Point]:
    """Give points along a path, arcs finer than print shows."""
    points: list[Point] = []
    for segment in path:
        if isinstance(segment, Line):
            points += [segment.start, segment.end]
        else:
            points += arc_points(
                segment.centre, segment.radius_in, segment.start_deg, segment.sweep_deg
            )
    return [
        point for k, point in enumerate(points) if k == 0 or math.dist(point, points[k - 1]) > 1e-9
    ]


def draw_check_squares(pdf: Pdf, at: Point) -> None:
    """Draw the 1-inch and the 5-cm square with their lower left corners on one line."""
    x, y = at
    for size_in, words in ((1.0, "1 in"), (5 / 2.54, "5 cm")):
        pdf.rectangle((x, y), (size_in, size_in), Pen(0.8))
        pdf.text((x + size_in / 2, y + size_in / 2 - 0.06), words, size_pt=13, align="middle")
        x += size_in + 0.3


def _draw_template(pdf: Pdf, template: Template) -> None:
    room = (
        pdf.width_in - 2 * MARGIN_IN,
        pdf.height_in - 2 * MARGIN_IN - _HEAD_IN - _FOOT_IN,
    )
    for turned in (False, True):
        shape = _Shape.of(template, turned=turned)
        if shape.width_in <= room[0] and shape.height_in <= room[1]:
            _draw_on_one_page(pdf, shape)
            return
    both = [_Shape.of(template, turned=turned) for turned in (False, True)]
    _draw_on_many_pages(pdf, min(both, key=lambda shape: math.prod(_grid(pdf, shape))))


@dataclass(frozen=True, slots=True)
class _Shape:
    """A template's lines with the lower left corner of the cut shape at 0, 0."""

    template: Template
    cut: list[Point]
    seam: list[Point]
    notches: tuple[tuple[Point, Point], ...]
    grain: tuple[Point, Point]
    label: Point
    label_room_in: float
    width_in: float
    height_in: float

    @classmethod
    def of(cls, template: Template, *, turned: bool) -> _Shape:
        def turn(point: Point) -> Point:
            return (-point[1], point[0]) if turned else point

        cut = [turn(point) for point in path_points(template.cut_path)]
        left, bottom = min(x for x, _ in cut), min(y for _, y in cut)
        width = max(x for x, _ in cut) - left
        height = max(y for _, y in cut) - bottom

        def put(point: Point) -> Point:
            x, y = turn(point)
            return (x - left, y - bottom)

        seam = path_points(template.finished) if template.seam_allowance_in > 0 else []
        middle, reach = _grain_line(template)
        return cls(
            template,
            [(x - left, y - bottom) for x, y in cut],
            [put(point) for point in seam],
            tuple((put(one.outer), put(one.inner)) for one in notches_of(template)),
            (put((middle[0] - reach, middle[1])), put((middle[0] + reach, middle[1]))),
            put(middle),
            2 * reach,
            width,
            height,
        )


def _grain_line(template: Template) -> tuple[Point, float]:
    """Give the middle and half the length of the grain arrow, well inside the finished shape."""
    inside = template.cut_polygon().buffer(-template.seam_allowance_in)
    shape = inside if not inside.is_empty else template.cut_polygon()
    centre = shape.representative_point()
    left, _, right, _ = shape.bounds
    if shape.contains(shape.centroid):
        centre = shape.centroid
    reach = 0.02 * (right - left)
    for share in range(1, 20):
        longer = share / 40 * (right - left)
        ends = [(centre.x - longer, centre.y), (centre.x + longer, centre.y)]
        if not all(contains_xy(shape, *end) for end in ends):
            break
        reach = longer
    return (centre.x, centre.y), 0.8 * min(reach, 2.0)


def _draw_on_one_page(pdf: Pdf, shape: _Shape) -> None:
    pdf.new_page()
    _draw_head(pdf, shape.template, "")
    top = pdf.height_in - MARGIN_IN - _HEAD_IN
    bottom = MARGIN_IN + _FOOT_IN
    at = ((pdf.width_in - shape.width_in) / 2, (top + bottom - shape.height_in) / 2)
    _draw_shape(pdf, shape, at)
    _draw_foot(pdf, shape.template)


def _draw_head(pdf: Pdf, template: Template, part: str) -> None:
    top = pdf.height_in - MARGIN_IN
    pdf.text((MARGIN_IN, top - 0.36), shown_name(template), size_pt=26, bold=True)
    if part:
        pdf.text((pdf.width_in - MARGIN_IN, top - 0.36), part, size_pt=26, bold=True, align="right")
    size = _box_text(template)
    pdf.text((MARGIN_IN, top - 0.72), f"Cut {size} in, seam allowance included", size_pt=14)
    pdf.text(
        (MARGIN_IN, top - 0.98),
        "Print at 100 %, then measure both squares below before you cut.",
        size_pt=12,
        grey=0.25,
    )


def _draw_foot(pdf: Pdf, template: Template) -> None:
    draw_check_squares(pdf, (MARGIN_IN, MARGIN_IN))
    x = MARGIN_IN + 3.65
    width = pdf.width_in - MARGIN_IN - x
    y = MARGIN_IN + 1.86
    for pen, words in ((CUT, "cut here"), (SEAM, _seam_words(template)), (GRAIN, "grain")):
        if pen is GRAIN:
            pdf.arrow((x, y + 0.05), (x + 0.6, y + 0.05), pen, both=True)
        else:
            pdf.line([(x, y + 0.05), (x + 0.6, y + 0.05)], pen)
        pdf.text((x + 0.75, y), words, size_pt=12)
        y -= 0.27
    if notches_of(template):
        pdf.line([(x + 0.3, y - 0.02), (x + 0.3, y + 0.12)], CUT)
        pdf.text((x + 0.75, y), "middle of the curve: snip no deeper", size_pt=12)
        y -= 0.27
    y -= 0.06
    for words in cautions_for("cut")[:1]:
        y = pdf.paragraph((x, y), words, width_in=width, size_pt=11, grey=0.2)


def _seam_words(template: Template) -> str:
    return f"sew here, {format_inches(template.seam_allowance_in)} in inside the cut"


def _draw_shape(pdf: Pdf, shape: _Shape, at: Point) -> None:
    def put(points: Sequence[Point]) -> list[Point]:
        return [(x + at[0], y + at[1]) for x, y in points]

    pdf.polygon(put(shape.cut), CUT)
    if shape.seam:
        pdf.polygon(put(shape.seam), SEAM)
    for notch in shape.notches:
        pdf.line(put(notch), CUT)
    start, end = put(shape.grain)
    if math.dist(start, end) > 0.3:
        pdf.arrow(start, end, GRAIN, both=True)
    _draw_label(pdf, shape, put([shape.label])[0])


def _draw_label(pdf: Pdf, shape: _Shape, at: Point) -> None:
    words = shown_name(shape.template)
    upright = abs(shape.grain[0][0] - shape.grain[1][0]) < 0.01
    for size_pt in (16, 13, 10, 8):
        if text_width(words, size_pt=size_pt, bold=True) < 0.9 * shape.label_room_in:
            x, y = (at[0] - 0.12, at[1]) if upright else (at[0], at[1] + 0.12)
            turn = 90.0 if upright else 0.0
            pdf.text((x, y), words, size_pt=size_pt, bold=True, align="middle", turn_deg=turn)
            return


def _draw_on_many_pages(pdf: Pdf, shape: _Shape) -> None:
    cell, (across, down) = _cell(pdf), _grid(pdf, shape)
    # centred, so that no page holds a sliver only
    start = (
        (shape.width_in - across * cell[0]) / 2,
        (shape.height_in - down * cell[1]) / 2,
    )
    _draw_cover(pdf, shape, (across, down), cell, start)
    for row in range(down):
        for column in range(across):
            _draw_tile(pdf, shape, (column, row), (across, down), cell, start)


def _cell(pdf: Pdf) -> tuple[float, float]:
    """Give what one page adds to a large template, inches."""
    around = 2 * MARGIN_IN + 2 * _BLEED_IN
    return (pdf.width_in - around, pdf.height_in - around - 0.6)


def _grid(pdf: Pdf, shape: _Shape) -> tuple[int, int]:
    cell = _cell(pdf)
    return (math.ceil(shape.width_in / cell[0]), math.ceil(shape.height_in / cell[1]))


def _tile_name(column: int, row: int) -> str:
    return f"{chr(ord('A') + row % 26)}{column + 1}"


def _draw_cover(
    pdf: Pdf,
    shape: _Shape,
    grid: tuple[int, int],
    cell: tuple[float, float],
    start: Point,
) -> None:
    pdf.new_page()
    across, down = grid
    _draw_head(pdf, shape.template, f"{across * down} pages")
    top, bottom = pdf.height_in - MARGIN_IN - _HEAD_IN, MARGIN_IN + _FOOT_IN + 1.15
    scale = min(
        (pdf.width_in - 2 * MARGIN_IN) / (across * cell[0]), (top - bottom) / (down * cell[1])
    )
    left = (pdf.width_in - scale * across * cell[0]) / 2
    low = (top + bottom - scale * down * cell[1]) / 2

    def put(point: Point) -> Point:
        return (left + (point[0] - start[0]) * scale, low + (point[1] - start[1]) * scale)

    for row in range(down):
        for column in range(across):
            corner = (start[0] + column * cell[0], start[1] + (down - 1 - row) * cell[1])
            pdf.rectangle(put(corner), (cell[0] * scale, cell[1] * scale), FINE)
            middle = put((corner[0] + cell[0] / 2, corner[1] + cell[1] / 2))
            pdf.text(
                middle, _tile_name(column, row), size_pt=24, bold=True, align="middle", grey=0.55
            )
    pdf.polygon([put(point) for point in shape.cut], CUT)
    pdf.paragraph(
        (MARGIN_IN, MARGIN_IN + _FOOT_IN + 0.75),
        "Cut each page along its fine frame where it meets another page, or lay one page over "
        "the next so that the diamonds with the same letters lie on each other. Tape, then cut "
        "the template out.",
        width_in=pdf.width_in - 2 * MARGIN_IN,
        size_pt=13,
    )
    _draw_foot(pdf, shape.template)


def _draw_tile(
    pdf: Pdf,
    shape: _Shape,
    place: tuple[int, int],
    grid: tuple[int, int],
    cell: tuple[float, float],
    start: Point,
) -> None:
    column, row = place
    across, down = grid
    pdf.new_page()
    name = f"{_tile_name(column, row)} of {_tile_name(across - 1, down - 1)}"
    pdf.text(
        (MARGIN_IN, pdf.height_in - MARGIN_IN - 0.3),
        f"{shown_name(shape.template)}: page {name}",
        size_pt=18,
        bold=True,
    )
    corner = (start[0] + column * cell[0], start[1] + (down - 1 - row) * cell[1])
    frame = (MARGIN_IN + _BLEED_IN, MARGIN_IN + _BLEED_IN)
    at = (frame[0] - corner[0], frame[1] - corner[1])
    pdf.clip((MARGIN_IN, MARGIN_IN), (cell[0] + 2 * _BLEED_IN, cell[1] + 2 * _BLEED_IN))
    _draw_shape(pdf, shape, at)
    pdf.unclip()
    _draw_joints(pdf, place, grid, cell, frame)
    pdf.text(
        (pdf.width_in - MARGIN_IN - 1.15, pdf.height_in - MARGIN_IN - 0.3),
        "1 in",
        size_pt=12,
        align="right",
    )
    ruler_y = pdf.height_in - MARGIN_IN - 0.25
    x = pdf.width_in - MARGIN_IN - 1.05
    pdf.line([(x, ruler_y), (x + 1, ruler_y)], Pen(0.8))
    for end in (x, x + 1):
        pdf.line([(end, ruler_y - 0.08), (end, ruler_y + 0.08)], Pen(0.8))


def _draw_joints(
    pdf: Pdf,
    place: tuple[int, int],
    grid: tuple[int, int],
    cell: tuple[float, float],
    frame: Point,
) -> None:
    (column, row), (across, down) = place, grid
    x, y = frame
    sides = (
        (column > 0, [(x, y), (x, y + cell[1])], (column - 1, row, "r")),
        (column < across - 1, [(x + cell[0], y), (x + cell[0], y + cell[1])], (column, row, "r")),
        (row > 0, [(x, y + cell[1]), (x + cell[0], y + cell[1])], (column, row - 1, "b")),
        (row < down - 1, [(x, y), (x + cell[0], y)], (column, row, "b")),
    )
    for joined, (start, end), (owner_column, owner_row, side) in sides:
        if not joined:
            continue
        pdf.line([start, end], FINE)
        for k, share in enumerate((0.2, 0.5, 0.8)):
            at = (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)
            letter = f"{_tile_name(owner_column, owner_row)}{side}{k + 1}"
            _draw_diamond(pdf, at, letter)


def _draw_diamond(pdf: Pdf, at: Point, letters: str) -> None:
    x, y = at
    size = 0.16
    pdf.polygon([(x - size, y), (x, y - size), (x + size, y), (x, y + size)], FINE)
    pdf.text((x + size + 0.03, y + 0.03), letters, size_pt=10, grey=0.35)


def _notch(arc: Arc, share: float, allowance_in: float, depth_in: float) -> Notch:
    (x, y), (along_x, along_y) = arc.point_at(share), arc.direction_at(share)
    out_x, out_y = along_y, -along_x  # outwards of a counter-clockwise path
    inner = allowance_in - depth_in
    return Notch(
        (x + allowance_in * out_x, y + allowance_in * out_y),
        (x + inner * out_x, y + inner * out_y),
    )


def _box_text(template: Template) -> str:
    left, bottom, right, top = template.cut_polygon().bounds
    return format_size(right - left, top - bottom)


def _number(word: str) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return True
