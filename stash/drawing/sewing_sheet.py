"""The sewing sheet: rows drawn with their pressing, curved and set-in seams explained."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from shapely.geometry import Polygon

from stash.drawing.paper import MARGIN_IN, Paper
from stash.drawing.pdf_lettering import wrap
from stash.drawing.pdf_page import Pdf, Pen, Point
from stash.drawing.template_lines import path_points, shown_name
from stash.quilt.cautions import cautions_for
from stash.quilt.pattern import Place
from stash.quilt.sewing_order_and_pressing import Joint, SewingPlan, SewnSeam, Way
from stash.quilt.sewing_steps import Step, curve_steps, sewing_steps
from stash.shape.templates.curve import Arc, Path
from stash.shape.templates.template import Template

__all__ = ["draw_pressed", "draw_sewing", "sewing_pdf"]

PIECE = Pen(1.4)
SEAM = Pen(0.8, 0.45, (4.0, 2.5))
PRESS = Pen(1.6, 0.0)
_TEXT_PT, _SMALL_PT = 13, 10.5
_LEAST_PT = 4.5  # type that can still be read
_STEP_INDENT_IN, _HEADING_IN = 1.8, 1.45
Put = Callable[[Point], Point]


def sewing_pdf(plan: SewingPlan, template: Template, paper: Paper, *, unit: str = "in") -> bytes:
    """Draw how a shape in a setting is sewn.

    Parameters
    ----------
    plan : SewingPlan
        The plan of a small top of this shape and setting, three or four rows at most.
    template : Template
        The shape.
    paper : Paper
        Letter or A4.
    unit : str
        Lengths are written in ``in`` or ``cm``.
    """
    pdf = Pdf(paper, title=f"Sewing {shown_name(template, unit=unit)}", unit=unit)
    draw_sewing(pdf, plan, template)
    return pdf.finish()


def draw_sewing(pdf: Pdf, plan: SewingPlan, template: Template) -> None:
    """Add the sewing sheets to a document."""
    _first_page(pdf, plan, template)
    if plan.curved:
        _curve_page(pdf, plan)
    if plan.way in (Way.SET_IN, Way.SHELLS, Way.CURVED):
        _part_page(pdf, plan)


def _first_page(pdf: Pdf, plan: SewingPlan, template: Template) -> None:
    pdf.new_page()
    setting = plan.pattern.setting.name
    y = _head(
        pdf, f"Sewing: {shown_name(template, unit=pdf.unit)}", f"{setting} setting, row by row"
    )
    steps = sewing_steps(plan, seam_in=template.seam_allowance_in, unit=pdf.unit)
    room = _steps_height(pdf, steps)
    low = MARGIN_IN + room + 0.55
    frame = (MARGIN_IN + 0.55, low, pdf.width_in - MARGIN_IN, y)
    _draw_rows(pdf, plan, _fit(plan, frame))
    _legend(pdf, plan, low - 0.32)
    _write_steps(pdf, steps, low - 0.72)


def _head(pdf: Pdf, title: str, below: str) -> float:
    top = pdf.height_in - MARGIN_IN
    pdf.text((MARGIN_IN, top - 0.36), title, size_pt=26, bold=True)
    pdf.text((MARGIN_IN, top - 0.7), below, size_pt=15)
    return top - 0.95


def _steps_height(pdf: Pdf, steps: Sequence[Step]) -> float:
    cautions_in = 3 * 1.32 * _SMALL_PT / 72 + 0.1
    return sum(_step_height(pdf, step) for step in steps) + cautions_in


def _step_height(pdf: Pdf, step: Step) -> float:
    width = pdf.width_in - 2 * MARGIN_IN - _STEP_INDENT_IN
    text = len(wrap(step.text, width, size_pt=_TEXT_PT))
    heads = len(wrap(step.heading, _HEADING_IN, size_pt=_TEXT_PT, bold=True))
    return max(text, heads) * 1.32 * _TEXT_PT / 72 + 0.08


def _write_steps(pdf: Pdf, steps: Sequence[Step], y: float) -> None:
    width = pdf.width_in - 2 * MARGIN_IN
    for number, step in enumerate(steps, start=1):
        pdf.text((MARGIN_IN, y), str(number), size_pt=_TEXT_PT + 2, bold=True)
        pdf.paragraph(
            (MARGIN_IN + 0.3, y), step.heading, width_in=_HEADING_IN, size_pt=_TEXT_PT, bold=True
        )
        pdf.paragraph(
            (MARGIN_IN + _STEP_INDENT_IN, y),
            step.text,
            width_in=width - _STEP_INDENT_IN,
            size_pt=_TEXT_PT,
        )
        y -= _step_height(pdf, step)
    y -= 0.06
    for words in (*cautions_for("press"), *cautions_for("sew")):
        y = pdf.paragraph((MARGIN_IN, y), words, width_in=width, size_pt=_SMALL_PT, grey=0.2)


def _fit(plan: SewingPlan, frame: tuple[float, float, float, float]) -> tuple[Put, float]:
    left, bottom, right, top = frame
    wide, high = plan.pattern.size_in
    scale = min((right - left) / wide, (top - bottom) / high, 2.0)
    x0 = left + ((right - left) - scale * wide) / 2
    y0 = bottom + ((top - bottom) - scale * high) / 2
    return (lambda point: (x0 + point[0] * scale, y0 + point[1] * scale)), scale


def draw_pressed(pdf: Pdf, plan: SewingPlan, frame: tuple[float, float, float, float]) -> None:
    """Draw a whole top with the pressing of every seam into a frame: left, bottom, right, top."""
    _draw_rows(pdf, plan, _fit(plan, frame))


def _draw_rows(pdf: Pdf, plan: SewingPlan, fitted: tuple[Put, float]) -> None:
    put, scale = fitted
    for piece, place in enumerate(plan.pattern.places):
        tint = (1.0, 0.9)[plan.row_of[piece] % 2]
        pdf.polygon([put(point) for point in place.outline], None, fill_grey=tint)
    for place in plan.pattern.places:
        pdf.polygon([put(point) for point in place.outline], Pen(1.0 if scale > 0.3 else 0.5, 0.3))
    for place, centre in zip(plan.pattern.places, plan.pattern.centres_in, strict=True):
        _place_name(pdf, place, put((float(centre[0]), float(centre[1]))), scale)
    for row, pieces in enumerate(plan.rows):
        _row_number(pdf, plan, put, row, pieces)
    for one in plan.seams:
        _press_mark(pdf, one, put, scale)


def _place_name(pdf: Pdf, place: Place, at: Point, scale: float) -> None:
    """Write row and piece into a piece, where there is room for it beside the arrows."""
    across = [x for x, _ in place.outline]
    size_pt = min(9.0, 72 * 0.3 * scale * (max(across) - min(across)) / 1.8)
    if size_pt >= _LEAST_PT:
        at = (at[0], at[1] - 0.35 * size_pt / 72)
        pdf.text(at, place.name, size_pt=size_pt, align="middle", grey=0.3)


def _row_number(pdf: Pdf, plan: SewingPlan, put: Put, row: int, pieces: Sequence[int]) -> None:
    centres = plan.pattern.centres_in
    if plan.diagonal:
        x, y = put((float(centres[pieces[0]][0]), float(centres[pieces[0]][1])))
    else:
        x, y = MARGIN_IN + 0.22, put((0.0, float(centres[list(pieces), 1].mean())))[1]
    apart = abs(put((0.0, plan.pattern.length_in))[1] - put((0.0, 0.0))[1]) / len(plan.rows)
    radius = min(0.19, 0.45 * apart)
    pdf.circle((x, y), radius, Pen(1.2 if radius > 0.12 else 0.6), fill_grey=1.0)
    size_pt = 15 * radius / 0.19
    at = (x, y - 0.36 * size_pt / 72)
    pdf.text(at, str(row + 1), size_pt=size_pt, bold=True, align="middle")


def _press_mark(pdf: Pdf, one: SewnSeam, put: Put, scale: float) -> None:
    """Draw an arrow over a seam to the side it is pressed to, or two small ones if it is open."""
    middle = one.seam.segment.point_at(0.5)
    along = one.seam.segment.direction_at(0.5)
    inwards = (-along[1], along[0])  # to the left of the first piece's travel: into it
    reach = min(0.19, 0.16 * one.seam.segment.length_in * scale)
    at = put(middle)

    def to(side: float) -> Point:
        """Give the point so far to one side of a seam, -1 to 1."""
        return (at[0] + side * reach * inwards[0], at[1] + side * reach * inwards[1])

    if one.press_to is None:
        pdf.arrow(at, to(1), Pen(0.9))
        pdf.arrow(at, to(-1), Pen(0.9))
    else:
        side = 1.0 if one.press_to == one.seam.first else -1.0
        pen = PRESS if one.joint is not Joint.BETWEEN else Pen(1.1, 0.25)
        pdf.arrow(to(-side), to(side), pen)


def _legend(pdf: Pdf, plan: SewingPlan, y: float) -> None:
    x = MARGIN_IN
    pdf.arrow((x, y + 0.05), (x + 0.34, y + 0.05), PRESS)
    pdf.text((x + 0.45, y), "pressed this way", size_pt=12)
    opened = any(one.press_to is None for one in plan.seams)
    if opened:
        x += 2.3
        pdf.arrow((x + 0.17, y + 0.05), (x, y + 0.05), Pen(0.9))
        pdf.arrow((x + 0.17, y + 0.05), (x + 0.34, y + 0.05), Pen(0.9))
        pdf.text((x + 0.45, y), "pressed open", size_pt=12)
    x += 2.3
    pdf.circle((x + 0.12, y + 0.05), 0.12, Pen(1.0))
    pdf.text((x + 0.12, y), "1", size_pt=10, bold=True, align="middle")
    pdf.text((x + 0.34, y), "diagonal row" if plan.diagonal else "row", size_pt=12)


def _curve_page(pdf: Pdf, plan: SewingPlan) -> None:
    pdf.new_page()
    top = _head(pdf, "A curved seam", "hollow piece on top, pins at the middle and at both ends")
    steps = curve_steps(plan)
    y = MARGIN_IN + _steps_height(pdf, steps)
    # where the tallest seam of the top is: any, they are all alike
    one = next(one for one in plan.seams if one.on_top is not None)
    assert one.on_top is not None
    assert one.press_to is not None
    _draw_pinned(pdf, plan, one, (MARGIN_IN, y + 0.45, pdf.width_in - MARGIN_IN, top))
    _write_steps(pdf, steps, y)


def _draw_pinned(
    pdf: Pdf,
    plan: SewingPlan,
    one: SewnSeam,
    frame: tuple[float, float, float, float],
) -> None:
    """Draw both pieces with their cut edges, the arc upwards, the hollow one drawn over."""
    assert one.on_top is not None
    assert one.press_to is not None
    arc = one.seam.segment
    assert isinstance(arc, Arc)
    top_path, low_path = plan.map.paths[one.on_top], plan.map.paths[one.press_to]
    middle = arc.point_at(0.5)
    turn = math.pi / 2 - math.atan2(middle[1] - arc.centre[1], middle[0] - arc.centre[0])
    cos, sin = math.cos(turn), math.sin(turn)

    def stand(point: Point) -> Point:
        """Turn a point about the arc's middle, so that the arc bulges upwards."""
        x, y = point[0] - middle[0], point[1] - middle[1]
        return (x * cos - y * sin, x * sin + y * cos)

    # right sides together: the top piece is turned over along the seam, so both lie below it
    low = [stand(point) for point in path_points(low_path)]
    upper = [stand(point) for point in path_points(top_path)]
    edge = [stand(arc.point_at(k / 24)) for k in range(25)]
    points = low + upper
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    bottom, high = min(y for _, y in points), max(y for _, y in points)
    scale = min(
        (frame[2] - frame[0] - 2.2) / (right - left), (frame[3] - frame[1]) / (high - bottom)
    )
    x0 = (frame[0] + frame[2] - scale * (left + right)) / 2
    y0 = frame[1] - scale * bottom

    def put(point: Point) -> Point:
        return (x0 + point[0] * scale, y0 + point[1] * scale)

    pdf.polygon([put(point) for point in low], PIECE, fill_grey=0.88)
    pdf.polygon([put(point) for point in upper], PIECE, fill_grey=1.0)
    pdf.line([put(point) for point in edge], Pen(2.6))
    for k, words in ((0, "end"), (12, "middle"), (24, "end")):
        _pin(pdf, put(edge[k]), edge, k, words)
    _tag(pdf, [put(point) for point in upper], ("hollow: on top",), rise_in=0.3)
    _tag(pdf, [put(point) for point in low], ("bulging: below,", "pressed to"))


def _pin(pdf: Pdf, at: Point, edge: Sequence[Point], k: int, words: str) -> None:
    """Draw a pin across the seam, its head outside the edge and its name beside the head."""
    before, after = edge[max(0, k - 1)], edge[min(len(edge) - 1, k + 1)]
    size = math.dist(before, after)
    across = (-(after[1] - before[1]) / size, (after[0] - before[0]) / size)
    if across[1] < 0:
        across = (-across[0], -across[1])
    tip = (at[0] - 0.22 * across[0], at[1] - 0.22 * across[1])
    head = (at[0] + 0.34 * across[0], at[1] + 0.34 * across[1])
    pdf.line([tip, head], Pen(1.2))
    pdf.circle(head, 0.07, None, fill_grey=0.0)
    if abs(across[0]) < 0.1:
        pdf.text((head[0], head[1] + 0.14), words, size_pt=14, align="middle")
    elif across[0] < 0:
        pdf.text((head[0] - 0.14, head[1] - 0.05), words, size_pt=14, align="right")
    else:
        pdf.text((head[0] + 0.14, head[1] - 0.05), words, size_pt=14)


def _tag(pdf: Pdf, ring: Sequence[Point], lines: Sequence[str], *, rise_in: float = 0.0) -> None:
    """Write lines in the middle of a piece, or a little over it."""
    inside = Polygon(ring).representative_point()
    x, y = float(inside.x), float(inside.y) + rise_in + 0.13 * (len(lines) - 1)
    for words in lines:
        pdf.text((x, y - 0.07), words, size_pt=15, bold=True, align="middle")
        y -= 0.26


def _part_page(pdf: Pdf, plan: SewingPlan) -> None:
    pdf.new_page()
    titles = {
        Way.SET_IN: ("Set-in seams", "every edge between rows on its own, dot to dot"),
        Way.SHELLS: ("Shell by shell", "from the middle of each dome outwards"),
        Way.CURVED: ("Joining two rows", "arc by arc, from crossing to crossing"),
    }
    top = _head(pdf, *titles[plan.way])
    rows = sorted(plan.row_of.values())
    last = 1 if rows and max(rows) >= 1 else 0
    shown = [piece for piece, row in plan.row_of.items() if row <= last]
    words = _part_words(plan)
    low = MARGIN_IN + 1.7
    put = _fit_pieces(
        [plan.map.paths[piece] for piece in shown], (MARGIN_IN, low, pdf.width_in - MARGIN_IN, top)
    )
    for piece in shown:
        ring = [put(point) for point in plan.pattern.places[piece].outline]
        pdf.polygon(ring, Pen(1.0, 0.4), fill_grey=(1.0, 0.9)[plan.row_of[piece] % 2])
    between = [
        one
        for one in plan.seams
        if one.joint is Joint.BETWEEN and {one.seam.first, one.seam.second} <= set(shown)
    ]
    between.sort(key=lambda one: min(one.seam.segment.start[0], one.seam.segment.end[0]))
    for number, one in enumerate(between, start=1):
        _draw_part(pdf, one, put, number)
    pdf.paragraph((MARGIN_IN, low - 0.45), words, width_in=pdf.width_in - 2 * MARGIN_IN, size_pt=15)


def _part_words(plan: SewingPlan) -> str:
    if plan.way is Way.SET_IN:
        return (
            "Follow the numbers. Each arrow is one part: begin on the seam line, stop on the "
            "seam line, needle down, turn, next. Never sew into an allowance at a dot."
        )
    if plan.way is Way.SHELLS:
        return (
            "Follow the numbers. Each arrow is one part, begun at the middle of a dome; its "
            "number stands on the hollow piece, which lies on top. Stop on the seam line at the "
            "dots."
        )
    return (
        "Follow the numbers; each stands on the hollow piece, which lies on top: turn the rows "
        "over when it changes sides. Stop on the crossing, a seam allowance in from the edge."
    )


def _fit_pieces(paths: Sequence[Path], frame: tuple[float, float, float, float]) -> Put:
    points = [point for path in paths for point in path_points(path)]
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    bottom, high = min(y for _, y in points), max(y for _, y in points)
    scale = min((frame[2] - frame[0]) / (right - left), (frame[3] - frame[1]) / (high - bottom), 2)
    x0 = (frame[0] + frame[2] - scale * (left + right)) / 2
    y0 = (frame[1] + frame[3] - scale * (bottom + high)) / 2
    return lambda point: (x0 + point[0] * scale, y0 + point[1] * scale)


def _draw_part(pdf: Pdf, one: SewnSeam, put: Put, number: int) -> None:
    segment = one.seam.segment
    shares = [0.1 + 0.8 * k / 16 for k in range(17)]
    if one.from_end:
        shares.reverse()
    line = [put(segment.point_at(share)) for share in shares]
    pdf.line(line, Pen(2.4))
    pdf.arrow(line[-2], line[-1], Pen(2.4))
    for end, stop in zip((segment.start, segment.end), one.stops, strict=True):
        if stop:
            pdf.circle(put(end), 0.06, None, fill_grey=0.0)
    middle, along = segment.point_at(0.5), segment.direction_at(0.5)
    upwards = 1.0 if along[0] >= 0 else -1.0
    if one.on_top is not None:
        upwards = 1.0 if one.on_top == one.seam.first else -1.0
    x, y = put(middle)
    at = (x - 0.22 * upwards * along[1], y + 0.22 * upwards * along[0] - 0.07)
    pdf.text(at, str(number), size_pt=14, bold=True, align="middle")
