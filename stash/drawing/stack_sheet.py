"""The stacks, drawn once each: every layer's border where it lies under the template."""

from __future__ import annotations

import itertools
import math
import string
from collections.abc import Callable, Mapping, Sequence
from typing import TypeAlias

from shapely.geometry import LineString, Polygon, box
from shapely.geometry import Point as PlanePoint

from stash.drawing.page_flow import Flow
from stash.drawing.paper import MARGIN_IN
from stash.drawing.pdf_lettering import wrap
from stash.drawing.pdf_page import Pdf, Pen, Point
from stash.quilt.cutting import ScrapToCut
from stash.quilt.stacks import Layer, Stack, StackPlan
from stash.shape.plane.outline import Ring

__all__ = ["draw_stacks"]

_Put: TypeAlias = Callable[[Point], Point]
_WORDS_IN = 2.6
_PT = 9.5
_INTRO = "Right sides up, number 1 at the bottom."
_GOES_ON = "Cloth goes on beyond the fine frame."
_ON_TOP = "The top one lies inside all others: its edge shows where the template goes."
_SMALLEST = 0.6  # a drawing is made so much smaller at most to end a page
# Room for the longest that is said of a layer's edge.
_LONGEST_EDGE = (
    " Its edge of 123.4 cm marked 6 lies 123.4 cm from the template, the dot at its end 123.4 cm."
)
_DASHES = ((), (6, 2), (2, 2), (8, 2, 2, 2), (4, 4), (1, 2))
_AROUND_IN = 0.75  # what is shown round the template and the corners that are told
_CLOSER = 1.25  # only a part is drawn where that draws it so much larger
_STRAIGHT_IN = 0.05  # how far a border may bend and still be told as one edge to align by


def draw_stacks(pdf: Pdf, flow: Flow, plan: StackPlan, scraps: Mapping[int, ScrapToCut]) -> None:
    """Draw the stacks one under another.

    Parameters
    ----------
    pdf, flow : Pdf, Flow
        The document, and where the next stack goes.
    plan : StackPlan
        The stacks in the order they are cut.
    scraps : mapping
        The scraps by number.
    """
    for number, stack in enumerate(plan.stacks, start=1):
        words_in, drawing_in = _room_of(pdf, stack, scraps)
        block_in = max(words_in, drawing_in)
        if flow.left_in < block_in and flow.left_in >= max(words_in, _SMALLEST * drawing_in):
            block_in = flow.left_in  # a little smaller, rather than white paper below it
        block_in = min(block_in, flow.full_in)
        _draw_stack(pdf, stack, number, flow.take(block_in, ruled=True), scraps)


def _room_of(pdf: Pdf, stack: Stack, scraps: Mapping[int, ScrapToCut]) -> tuple[float, float]:
    """Give how high a stack's words come out with its heading, and how high its drawing."""
    words = [
        _INTRO,
        *(_layer_name(one, k, scraps) + _LONGEST_EDGE for k, one in enumerate(stack.layers, 1)),
        *([_ON_TOP] if stack.smallest_on_top else ()),
        "Drawn at 50 %.",
        _GOES_ON,
    ]
    lines = sum(len(wrap(one, _WORDS_IN, size_pt=_PT)) for one in words)
    words_in = 1.32 * _PT / 72 * lines + 0.04 * len(words)
    return 0.6 + words_in, 0.6 + _drawing_in(pdf, stack)[1]


_Box: TypeAlias = tuple[float, float, float, float]


def _drawing_in(pdf: Pdf, stack: Stack) -> tuple[float, float]:
    left, bottom, right, top = _shown(pdf, stack)
    wide_in, most_in = _room(pdf)
    scale = min(wide_in / (right - left), most_in / (top - bottom), 1.0)
    return wide_in, (top - bottom) * scale


def _room(pdf: Pdf) -> tuple[float, float]:
    wide_in = pdf.width_in - 2 * MARGIN_IN - _WORDS_IN - 0.2
    return wide_in, (pdf.height_in - 2 * MARGIN_IN) / 2 - 0.95


def _shown(pdf: Pdf, stack: Stack) -> _Box:
    """Give what is drawn of a stack: all of it, or round the template where cloth is large."""
    whole = _box([point for layer in stack.layers for point in layer.outline])
    told = [point for ring in stack.cuts for point in ring]
    told += [_corner_to_tell(layer.outline, stack.cuts)[0] for layer in stack.layers]
    low_x, low_y, high_x, high_y = _box(told)
    part = (
        max(whole[0], low_x - _AROUND_IN),
        max(whole[1], low_y - _AROUND_IN),
        min(whole[2], high_x + _AROUND_IN),
        min(whole[3], high_y + _AROUND_IN),
    )
    wide_in, high_in = _room(pdf)
    scales = [
        min(wide_in / (box[2] - box[0]), high_in / (box[3] - box[1]), 1.0) for box in (part, whole)
    ]
    return part if scales[0] > _CLOSER * scales[1] else whole


def _box(points: Sequence[Point]) -> _Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _draw_stack(
    pdf: Pdf,
    stack: Stack,
    number: int,
    band: tuple[float, float],
    scraps: Mapping[int, ScrapToCut],
) -> None:
    bottom, top = band
    times = "cut once" if len(stack.cuts) == 1 else f"cut {len(stack.cuts)} times"
    pdf.text((MARGIN_IN, top - 0.34), f"Stack {number}", size_pt=22, bold=True)
    pdf.text((MARGIN_IN + 1.6, top - 0.34), f"{times}, {stack.pieces} pieces", size_pt=15)
    wide_in, high_in = _drawing_in(pdf, stack)
    frame = (MARGIN_IN, max(bottom + 0.1, top - 0.5 - high_in), MARGIN_IN + wide_in, top - 0.5)
    shown = _shown(pdf, stack)
    put, scale = _fit(shown, frame)
    for ring in stack.cuts:
        pdf.polygon([put(point) for point in ring], None, fill_grey=0.9)
    cut_off = _draw_layers(pdf, stack, shown, put)
    for letter, ring in zip(string.ascii_uppercase, stack.cuts, strict=False):
        points = [put(point) for point in ring]
        pdf.polygon(points, Pen(2.2))
        if len(stack.cuts) > 1:
            spot = Polygon(points).representative_point()
            at = (float(spot.x), float(spot.y) - 0.07)
            pdf.text(at, letter, size_pt=14, bold=True, align="middle")
    words = [_INTRO]
    spots = []
    for index, layer in enumerate(stack.layers, start=1):
        edge = _layer_words(pdf, stack, layer, index)
        words.append(f"{_layer_name(layer, index, scraps)} {edge}")
        spots.append(_mark_edge(pdf, stack, layer, index, (shown, put)))
    for index, (x, y) in enumerate(spots, start=1):  # over all lines, so that each is read
        pdf.circle((x, y), 0.1, Pen(0.8), fill_grey=1.0)
        pdf.text((x, y - 0.045), str(index), size_pt=9, bold=True, align="middle")
    if stack.smallest_on_top:
        words.append(_ON_TOP)
    words += [f"Drawn at {100 * scale:.0f} %."] if scale < 0.995 else []
    words += [_GOES_ON] if cut_off else []
    x, y = pdf.width_in - MARGIN_IN - _WORDS_IN, top - 0.6
    for one in words:
        y = pdf.paragraph((x, y), one, width_in=_WORDS_IN, size_pt=_PT) - 0.04


def _draw_layers(pdf: Pdf, stack: Stack, shown: _Box, put: _Put) -> bool:
    """Draw the borders of all layers; says whether some run on beyond what is shown."""
    whole = _box([point for layer in stack.layers for point in layer.outline])
    cut_off = shown != whole
    low, high = put((shown[0], shown[1])), put((shown[2], shown[3]))
    size = (high[0] - low[0], high[1] - low[1])
    if cut_off:
        pdf.rectangle(low, size, Pen(0.4, 0.6))
        pdf.clip((low[0] - 0.02, low[1] - 0.02), (size[0] + 0.04, size[1] + 0.04))
    for index, layer in enumerate(stack.layers):
        points = [put(point) for point in layer.outline]
        pdf.polygon(points, Pen(0.9, 0.25, _DASHES[index % len(_DASHES)]))
    if cut_off:
        pdf.unclip()
    return cut_off


def _layer_name(layer: Layer, index: int, scraps: Mapping[int, ScrapToCut]) -> str:
    """Say which scrap a layer is, and where in the quilt what is cut from it goes."""
    scrap = scraps[layer.scrap]
    name = f"scrap {layer.scrap}" + (f", {scrap.name}" if scrap.name else "")
    if not scrap.places:
        return f"{index}: {name}."
    places = [scrap.places[piece] for piece in layer.pieces]
    if len(places) == 1:
        return f"{index}: {name}, for place {places[0]}."
    named = zip(string.ascii_uppercase, places, strict=False)
    told = ", ".join(f"{letter} {place}" for letter, place in named)
    return f"{index}: {name}, for places {told}."


def _mark_edge(pdf: Pdf, stack: Stack, layer: Layer, index: int, view: tuple[_Box, _Put]) -> Point:
    """Draw a layer's edge to align by, with a dot at the end told; gives where its number goes."""
    shown, put = view
    corner, other = _corner_to_tell(layer.outline, stack.cuts)
    edge = LineString([corner, other])
    seen = edge.intersection(box(*shown))
    line = seen if isinstance(seen, LineString) and seen.length > 0 else edge
    (x0, y0), (x1, y1) = (put((x, y)) for x, y in (line.coords[0], line.coords[-1]))
    pdf.line([(x0, y0), (x1, y1)], Pen(2.0, 0.2))
    pdf.circle(put(corner), 0.05, None, fill_grey=0.0)
    share = 0.2 + 0.12 * (index - 1)
    return x0 + share * (x1 - x0), y0 + share * (y1 - y0)


def _layer_words(pdf: Pdf, stack: Stack, layer: Layer, index: int) -> str:
    """Say how far the template lies from a layer's marked edge and from the dot at its end."""
    corner, other = _corner_to_tell(layer.outline, stack.cuts)
    edge = LineString([corner, other])
    apart = min(Polygon(ring).distance(edge) for ring in stack.cuts)
    off = min(Polygon(ring).distance(PlanePoint(corner)) for ring in stack.cuts)
    return (
        f"Its edge of {pdf.long(edge.length)} marked {index} lies {pdf.long(apart, step=16)} from "
        f"the template, the dot at its end {pdf.long(off, step=16)}."
    )


def _corner_to_tell(outline: Ring, cuts: Sequence[Ring]) -> tuple[Point, Point]:
    """Give the end of a straight edge to align by, and its other end.

    Of the edges that are half as long as the longest, or more, the one whose end lies nearest.
    """
    simple = Polygon(outline).exterior.simplify(_STRAIGHT_IN).coords
    edges = [((a[0], a[1]), (b[0], b[1])) for a, b in itertools.pairwise(simple)]
    longest = max(math.dist(*edge) for edge in edges)
    pieces = [Polygon(ring) for ring in cuts]

    def nearness(ends: tuple[Point, Point]) -> tuple[float, float]:
        off = min(piece.distance(PlanePoint(ends[0])) for piece in pieces)
        return round(off, 3), -math.dist(*ends)

    long = [edge for edge in edges if math.dist(*edge) >= longest / 2]
    return min((ends for a, b in long for ends in ((a, b), (b, a))), key=nearness)


def _fit(shown: _Box, frame: _Box) -> tuple[_Put, float]:
    left, bottom, right, top = shown
    scale = min((frame[2] - frame[0]) / (right - left), (frame[3] - frame[1]) / (top - bottom), 1.0)
    x0 = frame[0] - scale * left
    y0 = (frame[1] + frame[3] - scale * (bottom + top)) / 2
    return (lambda point: (x0 + scale * point[0], y0 + scale * point[1])), scale
