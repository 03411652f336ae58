"""The quilting guide: the whole top as SVG and on a page, and a stencil at true size."""

from __future__ import annotations

import math
from collections.abc import Sequence
from xml.sax.saxutils import escape

from stash.drawing.paper import MARGIN_IN, Paper
from stash.drawing.pdf_lettering import PT_PER_IN, wrap
from stash.drawing.pdf_page import LEADING, Pdf, Pen, Point
from stash.drawing.template_page import draw_check_squares
from stash.quilt.quilting_lines import LineStyle, QuiltingGuide
from stash.quilt.seams import SeamMap
from stash.quilt.stencil_moves import stencil_moves
from stash.quilt.thread import BOBBIN_M, STITCHES_A_MINUTE, quilting_thread
from stash.units import CM_PER_INCH, length_words

__all__ = ["draw_guide", "guide_svg", "guide_words", "stencil_pdf", "thread_words"]

LINE = Pen(2.0)
SEAM = Pen(0.7, 0.6, (3.0, 2.5))
_FOOT_IN = 2.3
_ARROWS = 12  # arrows along the way at most, so that the eye can follow it
_NUMBER_APART_IN = 0.21
_CORNER_IN = 3.3  # from the corner of a vine to the middle of its stencil
_APART_IN = 0.5  # on paper from arrow to arrow at least, so that a short way is not hidden by them

_FREE = (LineStyle.STRAIGHT, LineStyle.CROSSHATCH, LineStyle.VINE)  # follow no seam
_TITLES = {
    LineStyle.ARCS: "arcs from crossing to crossing",
    LineStyle.PEEL: "petals about the straight line from crossing to crossing",
    LineStyle.ECHO: "echo lines on both sides of every seam",
    LineStyle.SEAMS: "along the seams",
    LineStyle.STRAIGHT: "straight lines along the rows",
    LineStyle.CROSSHATCH: "crosshatch, corner to corner",
    LineStyle.VINE: "a vine along the edge",
}


def guide_words(guide: QuiltingGuide, *, unit: str = "in") -> str:
    """Say how long the lines are and how often the needle is set down anew."""
    starts = "in one pass" if guide.passes == 1 else f"in {guide.passes} passes"
    twice = ""
    if guide.repeated_in > 0.05:
        twice = f", {_run(guide.repeated_in, unit)} of it stitched twice"
    lines = f" in {len(guide.lines)} lines" if len(guide.lines) > 1 else ""
    edge = ""
    if guide.edge_in > 0.5:
        edge = f"; {_run(guide.edge_in, unit)} of it along the edge from line to line"
    yards = "" if unit == "cm" else f" ({guide.length_in / 36:.1f} yd)"
    return f"{_run(guide.length_in, unit)}{yards} of stitching{lines} {starts}{twice}{edge}"


def thread_words(guide: QuiltingGuide) -> str:
    """Say what thread, bobbins and minutes the lines take, with what was assumed."""
    taken = quilting_thread(guide.length_in)
    bobbins = "one bobbin" if taken.bobbins == 1 else f"{taken.bobbins} bobbins"
    return (
        f"About {taken.thread_m:.0f} m of thread, needle and bobbin together, {bobbins} and "
        f"{max(1, round(taken.minutes))} min of sewing: {taken.stitch_mm:g} mm a stitch, "
        f"{STITCHES_A_MINUTE:.0f} stitches a minute, {BOBBIN_M:.0f} m on a bobbin."
    )


def _run(inches: float, unit: str) -> str:
    """Write a long way sewn: whole inches, or metres."""
    return f"{inches * CM_PER_INCH / 100:.2f} m" if unit == "cm" else f"{inches:.0f} in"


def guide_svg(guide: QuiltingGuide, seams: SeamMap, title: str, *, unit: str = "in") -> str:
    """Draw the guide as SVG, one user unit to the inch, one path to a pass.

    Parameters
    ----------
    guide : QuiltingGuide
        The lines.
    seams : SeamMap
        The top below them.
    title : str
        What it is, for the file's title.
    unit : str
        Its length is written in ``in`` or ``cm``.
    """
    left, bottom, right, top = _bounds(seams, guide)
    wide, high = right - left + 1, top - bottom + 1

    def put(point: Point) -> str:
        return f"{point[0] - left + 0.5:.3f},{top - point[1] + 0.5:.3f}"

    pieces = "\n".join(
        f'<path d="M{" ".join(put(point) for point in outline)}Z"/>' for outline in seams.outlines
    )
    runs = "\n".join(
        f'<path id="pass-{number}" d="M{" ".join(put(point) for point in run)}"/>'
        for number, run in enumerate(guide.runs, start=1)
    )
    spots = "\n".join(
        '<circle cx="{}" cy="{}" r="0.05"/>'.format(*put(point).split(","))
        for point in guide.crossings
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.3f}in" height="{high:.3f}in" '
        f'viewBox="0 0 {wide:.3f} {high:.3f}">\n'
        f"<title>{escape(title)}: {escape(_TITLES[guide.style])}, "
        f"{escape(guide_words(guide, unit=unit))}</title>\n"
        f'<g fill="none" stroke="#999" stroke-width="0.015">\n{pieces}\n</g>\n'
        f'<g fill="none" stroke="#000" stroke-width="0.04" stroke-linejoin="round">\n{runs}\n</g>\n'
        f'<g fill="#000">\n{spots}\n</g>\n</svg>\n'
    )


def stencil_pdf(
    guide: QuiltingGuide, seams: SeamMap, title: str, paper: Paper, *, unit: str = "in"
) -> bytes:
    """Draw the way over the whole top on one page, and a stencil of its middle at true size."""
    pdf = Pdf(paper, title=f"Quilting {title}", unit=unit)
    draw_guide(pdf, guide, seams, title)
    return pdf.finish()


def draw_guide(pdf: Pdf, guide: QuiltingGuide, seams: SeamMap, title: str) -> None:
    """Add the way over the top, and the stencil, to a document."""
    _draw_overview(pdf, guide, seams, title)
    _draw_stencil(pdf, guide, seams, title)


def _draw_overview(pdf: Pdf, guide: QuiltingGuide, seams: SeamMap, title: str) -> None:
    pdf.new_page()
    top = pdf.height_in - MARGIN_IN
    pdf.text((MARGIN_IN, top - 0.36), f"Quilting: {title}", size_pt=26, bold=True)
    pdf.text((MARGIN_IN, top - 0.7), _TITLES[guide.style], size_pt=15)
    words = _overview_words(guide, pdf.unit)
    words_in = sum(_words_in(pdf, text, size_pt) for text, size_pt in words)
    frame = (MARGIN_IN, MARGIN_IN + words_in + 0.3, pdf.width_in - MARGIN_IN, top - 0.95)
    left, bottom, right, high = _bounds(seams, guide)
    scale = min((frame[2] - frame[0]) / (right - left), (frame[3] - frame[1]) / (high - bottom), 1)
    x0 = (frame[0] + frame[2] - scale * (left + right)) / 2
    y0 = (frame[1] + frame[3] - scale * (bottom + high)) / 2

    def put(point: Point) -> Point:
        return (x0 + point[0] * scale, y0 + point[1] * scale)

    for outline in seams.outlines:
        pdf.polygon([put(point) for point in outline], Pen(0.6, 0.65))
    for run in guide.runs:
        _draw_run(pdf, [put(point) for point in run])
    _draw_numbers(pdf, [put(one.start) for one in guide.lines], frame)
    y = MARGIN_IN + words_in
    for text, size_pt in words:
        y = pdf.paragraph(
            (MARGIN_IN, y), text, width_in=pdf.width_in - 2 * MARGIN_IN, size_pt=size_pt
        )


def _overview_words(guide: QuiltingGuide, unit: str) -> tuple[tuple[str, float], ...]:
    """Give what stands under the way, each paragraph with its size of type, points."""
    way = f"{guide_words(guide, unit=unit)}. Begin at 1 and follow the arrows."
    last = {
        LineStyle.ECHO: "Go once round every piece; the short ways through crossings are sewn out "
        "and back.",
        LineStyle.STRAIGHT: "Mark the first line with a ruler, the others by its width.",
        LineStyle.CROSSHATCH: "Mark the first line of each way with a ruler, the others by its "
        "width.",
        LineStyle.VINE: "The vine ends where it began; each leaf is sewn out and back.",
    }.get(
        guide.style,
        "A number is a line: go straight on at every crossing, turn at the edge and come back on "
        "the other side; then along the edge, where the binding or the border's seam hides it, to "
        "the next number.",
    )
    return (way, 15), (thread_words(guide), 12), (last, 12)


def _words_in(pdf: Pdf, text: str, size_pt: float) -> float:
    """Give how high a paragraph over the whole width comes out, inches."""
    lines = wrap(text, pdf.width_in - 2 * MARGIN_IN, size_pt=size_pt)
    return len(lines) * LEADING * size_pt / PT_PER_IN


def _draw_run(pdf: Pdf, run: Sequence[Point]) -> None:
    pdf.line(run, Pen(1.4))
    total = sum(math.dist(run[k], run[k + 1]) for k in range(len(run) - 1))
    every, done = max(total / _ARROWS, _APART_IN), 0.0
    due = 0.25 * every
    for k in range(len(run) - 1):
        step = math.dist(run[k], run[k + 1])
        while step > 0 and done + step >= due:
            share = max(0.0, (due - done) / step)
            x = run[k][0] + (run[k + 1][0] - run[k][0]) * share
            y = run[k][1] + (run[k + 1][1] - run[k][1]) * share
            back = (
                x - (run[k + 1][0] - run[k][0]) / step * 0.02,
                y - (run[k + 1][1] - run[k][1]) / step * 0.02,
            )
            pdf.arrow(back, (x, y), Pen(1.8))
            due += every
        done += step


def _draw_numbers(
    pdf: Pdf, starts: Sequence[Point], frame: tuple[float, float, float, float]
) -> None:
    """Number the lines where they begin; a number too near to another is left out."""
    drawn: list[Point] = []
    for number, (x, y) in enumerate(starts, start=1):
        at = (min(max(x, frame[0]), frame[2]), min(max(y, frame[1]), frame[3]))
        if any(math.dist(at, other) < _NUMBER_APART_IN for other in drawn):
            continue
        drawn.append(at)
        pdf.circle(at, 0.1, Pen(1.2), fill_grey=1.0)
        pdf.text((at[0], at[1] - 0.042), str(number), size_pt=8.5, bold=True, align="middle")


def _draw_stencil(pdf: Pdf, guide: QuiltingGuide, seams: SeamMap, title: str) -> None:
    pdf.new_page()
    top = pdf.height_in - MARGIN_IN
    pdf.text((MARGIN_IN, top - 0.36), f"Stencil: {title}", size_pt=26, bold=True)
    corner = (MARGIN_IN, MARGIN_IN + _FOOT_IN)
    size = (pdf.width_in - 2 * MARGIN_IN, top - 0.6 - corner[1])
    middle = _middle_of_stencil(guide, seams)
    at = (corner[0] + size[0] / 2 - middle[0], corner[1] + size[1] / 2 - middle[1])

    def put(point: Point) -> Point:
        return (point[0] + at[0], point[1] + at[1])

    pdf.clip(corner, size)
    for outline in seams.outlines:
        pdf.polygon([put(point) for point in outline], SEAM)
    for run in guide.runs:
        pdf.line([put(point) for point in run], LINE)
    for crossing in guide.crossings:
        _register(pdf, put(crossing))
    pdf.unclip()
    pdf.rectangle(corner, size, Pen(0.5, 0.5))
    draw_check_squares(pdf, (MARGIN_IN, MARGIN_IN))
    pdf.paragraph(
        (MARGIN_IN + 3.65, MARGIN_IN + 1.8),
        "True size: print at 100 % and measure the squares. Lay the ringed crosses on the "
        f"crossings of the quilt and mark the thick lines.{_move_words(guide, seams, pdf.unit)}",
        width_in=pdf.width_in - 2 * MARGIN_IN - 3.65,
        size_pt=13,
    )


def _move_words(guide: QuiltingGuide, seams: SeamMap, unit: str) -> str:
    """Say how far the stencil is moved on; nothing where no piece lies like the middle one."""
    if guide.style in _FREE:
        return ""
    along, across = stencil_moves(seams.outlines)
    ways = [
        f"{length_words(move, step=16, unit=unit)} {way}"
        for move, way in ((along, "along a row"), (across, "across the rows"))
        if move is not None
    ]
    if not ways:
        return ""
    return f" Then move it on by {' or '.join(ways)}: there the pieces lie the same way again."


def _register(pdf: Pdf, at: Point) -> None:
    x, y = at
    pdf.circle(at, 0.09, Pen(0.8))
    pdf.line([(x - 0.16, y), (x + 0.16, y)], Pen(0.8))
    pdf.line([(x, y - 0.16), (x, y + 0.16)], Pen(0.8))


def _middle_of_stencil(guide: QuiltingGuide, seams: SeamMap) -> Point:
    """Give the crossing in the middle of the top; for a vine a corner of it, where it turns."""
    left, bottom, right, top = _bounds(seams, guide)
    if guide.style is LineStyle.VINE:
        return (left + _CORNER_IN, bottom + _CORNER_IN)
    middle = ((left + right) / 2, (bottom + top) / 2)
    return min(guide.crossings, key=lambda point: math.dist(point, middle), default=middle)


def _bounds(seams: SeamMap, guide: QuiltingGuide) -> tuple[float, float, float, float]:
    points = [point for lines in (seams.outlines, guide.runs) for one in lines for point in one]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (min(xs), min(ys), max(xs), max(ys))
